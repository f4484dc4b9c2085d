#ifndef VW_PICTURES_INTERNAL_H
#define VW_PICTURES_INTERNAL_H

#include "volleyweave/pictures.h"

/// Bytes that grow. Start from all zero.
typedef struct {
  VwBytes bytes; ///< Owned; a zero stands behind them.
  size_t  room;  ///< Allocated, the zero included.
  bool    full;  ///< Memory ran out; nothing more is added.
} VwSink;

/// Add bytes.
void vw_sink_put(VwSink* sink, const void* data, size_t n_bytes);

/// Add a text.
void vw_sink_put_text(VwSink* sink, const char* text);

/// Add a number, rounded to so many decimals (1 to 6) and without zeros at its
/// end.
void vw_sink_put_number(VwSink* sink, double value, unsigned decimals);

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
  double      width;
  double      height;
  const char* title;
  const char* description;
} VwPage;

/// A page as SVG, on its way.
typedef struct {
  VwSink   sink;
  unsigned n_clips;
  bool     refused; ///< For a text or raster that cannot be drawn.
} VwCanvas;

/// Begin a page, all white.
///
/// @return #VW_OK or #VW_BAD_OPTION (no size or one too large).
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

/// Draw only within a box until vw_canvas_close().
void vw_canvas_clip(VwCanvas* canvas, const VwBox* box);

/// Begin what belongs to a panel, until vw_canvas_close(); it tells programs
/// where time lies along x.
void vw_canvas_panel(VwCanvas* canvas, const VwAxis* x, const VwBox* box);

void vw_canvas_close(VwCanvas* canvas);

/// End the page and hand over its bytes; without them all is freed.
///
/// @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION (a text that is not UTF-8, a
/// raster without extent or above 65,534 columns).
VwStatus vw_canvas_end(VwCanvas* canvas, VwBytes* bytes);

/// Put greys as the address of an image that holds them all. False where they
/// have no extent, or one too large.
bool vw_raster_put(const VwRaster* raster, VwSink* sink);

/// Pixels in memory, of 0xRRGGBB in the machine's own order.
typedef struct {
  unsigned char* data;
  size_t         stride; ///< Bytes from row to row.
  unsigned       width;
  unsigned       height;
} VwPixels;

/// Make the bytes of a PNG file. False without memory.
bool vw_png_put(const VwPixels* pixels, VwSink* sink);

/// Draw an SVG as PNG, 2 pixels a point, by a library that is loaded for it.
///
/// @return #VW_OK, #VW_NO_MEMORY, #VW_MISSING (without that library).
VwStatus vw_png_load(const VwBytes* svg, VwBytes* png);

/// What is loaded, all else in it being hidden.
///
/// @return #VW_OK or #VW_NO_MEMORY.
VW_API VwStatus vw_png_draw(const VwBytes* svg, VwBytes* png);

/// The colour of an ink, 0xRRGGBB.
unsigned vw_ink_colour(VwInk ink);

/// Width of a text, as that of the letters that SVG asks for.
double vw_text_width(double size, const char* text);

/// A text that fits into a width: as it is, or with what is too much left out
/// of its middle. To be freed; NULL without memory.
char* vw_text_shorten(double size, double width, const char* text);

/// How many bytes of a text go into a line of that width, at least one
/// character: up to a space or the end, or else as much as fits. What follows,
/// without spaces, is the next line.
size_t vw_text_in_line(double size, double width, const char* text);

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
void vw_flags_lay(const VwPanel* panel, const VwBox* box, VwFlags* flags);

#define VW_LEGEND_ROW 11.0

/// Where a legend goes.
typedef struct {
  double left;  ///< Of every row but the first.
  double first; ///< Of the first, behind the heading.
  double right;
  double y; ///< Base line of the first row.
} VwLegendPlace;

/// How many rows the legend of a panel takes, at least 1.
unsigned vw_legend_rows(const VwPanel* panel, const VwLegendPlace* place);

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
void vw_panel_lay(const VwPanel* panel, const VwBox* strip, VwPanelPlan* plan);

/// Draw it. False without memory.
bool vw_panel_draw(VwCanvas*          canvas,
                   const VwPanel*     panel,
                   const VwPanelPlan* plan);

#endif
