#ifndef VW_PICTURES_INTERNAL_H
#define VW_PICTURES_INTERNAL_H

#include "volleyweave/pictures.h"

/// Bytes that grow. Start from all zero.
typedef struct {
  VwBytes bytes; ///< Owned; a zero stands behind them.
  size_t  room;  ///< Allocated, the zero included.
  bool    full;  ///< Memory ran out; nothing more is added.
} VwSink;

/// Add bytes. False without memory.
bool vw_sink_put(VwSink* sink, const void* data, size_t n_bytes);

/// Add a text.
void vw_sink_put_text(VwSink* sink, const char* text);

/// Free the bytes. NULL is accepted.
void vw_sink_clear(VwSink* sink);

/// A rectangle, in points.
typedef struct {
  double x;
  double y;
  double width;
  double height;
} VwBox;

/// How a text is set.
typedef struct {
  double   size; ///< Height, points.
  VwAlign  align;
  unsigned colour;
} VwLettering;

/// How a line is drawn.
typedef struct {
  double   width;
  unsigned colour;
  VwStroke stroke;
} VwLine;

/// A page to be drawn.
typedef struct {
  double          width;
  double          height;
  VwPictureFormat format;
  const char*     title;
  const char*     description;
} VwPage;

/// What is drawn on, one page in its life; texts can be measured before.
typedef struct VwCanvas VwCanvas;

/// NULL without memory.
VwCanvas* vw_canvas_new(void);

/// Width of a text.
double vw_canvas_text_width(VwCanvas* canvas, double size, const char* text);

/// Begin a page, all white.
///
/// @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION (no size or one too large).
VwStatus vw_canvas_begin(VwCanvas* canvas, const VwPage* page);

/// A line through points.
void vw_canvas_line(VwCanvas*      canvas,
                    const VwLine*  line,
                    const VwPoint* points,
                    size_t         n);

/// What lies between points.
void vw_canvas_area(VwCanvas*      canvas,
                    unsigned       colour,
                    const VwPoint* points,
                    size_t         n);

void vw_canvas_box(VwCanvas* canvas, unsigned colour, const VwBox* box);

void vw_canvas_disc(VwCanvas* canvas,
                    unsigned  colour,
                    VwPoint   at,
                    double    radius);

void vw_canvas_text(VwCanvas*          canvas,
                    const VwLettering* lettering,
                    VwPoint            at,
                    const char*        text);

/// Greys in a box.
void vw_canvas_raster(VwCanvas*       canvas,
                      const VwBox*    box,
                      const VwRaster* raster);

/// Draw only within a box until vw_canvas_unclip().
void vw_canvas_clip(VwCanvas* canvas, const VwBox* box);

void vw_canvas_unclip(VwCanvas* canvas);

/// End the page and make its bytes.
///
/// @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION (a text that is not UTF-8).
VwStatus vw_canvas_end(VwCanvas* canvas, const VwPage* page, VwBytes* bytes);

/// Free it. NULL is accepted.
void vw_canvas_free(VwCanvas* canvas);

/// The colour of an ink, 0xRRGGBB.
unsigned vw_ink_colour(VwInk ink);

/// A text that fits into a width: as it is, or with what is too much left out
/// of its middle. To be freed; NULL without memory.
char* vw_words_shorten(VwCanvas*   canvas,
                       double      size,
                       double      width,
                       const char* text);

/// How many bytes of a text go into a line of that width, at least one
/// character: up to a space or the end, or else as much as fits. What follows,
/// without spaces, is the next line.
size_t vw_words_in_line(VwCanvas*   canvas,
                        double      size,
                        double      width,
                        const char* text);

#define VW_TICKS_MOST 48U

/// A place on an axis with its number.
typedef struct {
  double place; ///< 0 where the axis begins, 1 where it ends.
  char   text[24];
} VwTick;

/// Numbers along an axis, in rising order.
typedef struct {
  VwTick ticks[VW_TICKS_MOST];
  size_t n;
} VwTicks;

/// Where a value lies on an axis: 0 where it begins, 1 where it ends.
double vw_axis_place(const VwAxis* axis, double value);

/// Whether a place lies on an axis, its ends included.
bool vw_axis_has(double place);

/// Whether an axis has an extent that can be drawn.
bool vw_axis_is_sound(const VwAxis* axis);

/// Numbers at steps of 1, 2 or 5 times a power of ten, at most `n_most` (1 to
/// #VW_TICKS_MOST) of them.
void vw_ticks_take(const VwAxis* axis, size_t n_most, VwTicks* ticks);

#define VW_FLAG_SIZE 8.0
#define VW_FLAG_LANE 10.5

// More labels on one panel are no use to anyone.
#define VW_FLAGS_MOST 24U

/// The label of a mark, beside its line and above its panel.
typedef struct {
  const VwMark* mark;
  double        x;    ///< Of its line, points.
  double        left; ///< Of its text.
  double        right;
  unsigned      lane; ///< 0 next to the panel.
} VwFlag;

/// The labels of a panel.
typedef struct {
  VwFlag   flags[VW_FLAGS_MOST];
  size_t   n;
  unsigned n_lanes;
} VwFlags;

/**
 * Give every label a lane, so that none lies on another, nor, where that can
 * be, on another's line.
 *
 * @param box The panel; a label at its right end stands left of its line.
 */
void vw_flags_lay(VwCanvas*      canvas,
                  const VwPanel* panel,
                  const VwBox*   box,
                  VwFlags*       flags);

#define VW_LEGEND_ROW 11.0

/// Where a legend goes.
typedef struct {
  double left;  ///< Of every row but the first.
  double first; ///< Of the first, behind the heading.
  double right;
  double y; ///< Base line of the first row.
} VwLegendPlace;

/// How many rows the legend of a panel takes, at least 1.
unsigned vw_legend_rows(VwCanvas*            canvas,
                        const VwPanel*       panel,
                        const VwLegendPlace* place);

/// Draw it.
void vw_legend_draw(VwCanvas*            canvas,
                    const VwPanel*       panel,
                    const VwLegendPlace* place);

/// Fill a stretch as a band has it.
void vw_legend_fill(VwCanvas* canvas, const VwBand* band, const VwBox* box);

// Over what is filled, lines lie on a white one that is wider by so much.
#define VW_HALO 1.4
#define VW_HALO_COLOUR 0xFFFFFFU

/// Draw a trace of a panel whose axes are the sides of a box. False without
/// memory.
bool vw_trace_draw(VwCanvas*      canvas,
                   const VwPanel* panel,
                   const VwTrace* trace,
                   const VwBox*   box);

/// Where everything of a panel goes.
typedef struct {
  double        top;
  VwBox         box; ///< Between the axes.
  VwLegendPlace legend;
  VwFlags       flags;
  VwTicks       x_ticks;
  VwTicks       y_ticks;
  double        bottom;
} VwPanelPlan;

/// Give everything of a panel its place.
///
/// @param strip Where it goes; as high as it likes from `strip.y` down.
void vw_panel_lay(VwCanvas*      canvas,
                  const VwPanel* panel,
                  const VwBox*   strip,
                  VwPanelPlan*   plan);

/// Draw it. False without memory.
bool vw_panel_draw(VwCanvas*          canvas,
                   const VwPanel*     panel,
                   const VwPanelPlan* plan);

/**
 * Put title and description behind the start of the outermost element, since
 * letters are drawn as outlines, which no program reads; and name the picture's
 * parts alike however many were drawn before.
 *
 * @param drawn A picture.
 * @param title UTF-8, or NULL; so is the description.
 * @param bytes Filled in on success.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_svg_describe(const VwSink* drawn,
                         const char*   title,
                         const char*   description,
                         VwBytes*      bytes);

/// Pixels in memory, of 0xRRGGBB in the machine's own order.
typedef struct {
  unsigned char* data;
  size_t         stride; ///< Bytes from row to row.
  unsigned       width;
  unsigned       height;
} VwPixels;

/// Make the bytes of a PNG file. False without memory.
bool vw_png_put(const VwPixels* pixels, VwSink* sink);

#endif
