/**
 * @file pictures.h
 * Charts of sounds, and pictures from lines, discs and texts, as SVG or PNG.
 *
 * What draws PNG is a library of its own, `libvolleyweave-pictures`, which is
 * loaded when one is asked for. The rules are those of `volleyweave.h`.
 */
#ifndef VOLLEYWEAVE_PICTURES_H
#define VOLLEYWEAVE_PICTURES_H

#include <volleyweave/volleyweave.h>

#ifdef __cplusplus
extern "C" {
#endif

/* ------------------------------------------------------------------------ */
/* Pictures                                                                  */

/// What a shape is.
typedef enum {
  VW_SHAPE_LINE, ///< Through all its points.
  VW_SHAPE_AREA, ///< The same, closed and filled.
  VW_SHAPE_DISC, ///< About its first point.
  VW_SHAPE_TEXT  ///< From its first point.
} VwShapeKind;

/// Where a text lies about its point.
typedef enum {
  VW_ALIGN_LEFT,   ///< It starts there.
  VW_ALIGN_MIDDLE, ///< It is centred there.
  VW_ALIGN_RIGHT   ///< It ends there.
} VwAlign;

/// A place, right and down from the upper left corner, in points of 1/72 inch.
typedef struct {
  double x;
  double y;
} VwPoint;

/// Something drawn. Nothing in it is owned.
typedef struct {
  VwShapeKind    kind;
  const VwPoint* points; ///< `n_points` of them.
  size_t         n_points;
  double         size; ///< Width of a line, radius of a disc, height of a
                       ///< text; points.
  unsigned    colour;  ///< 0xRRGGBB.
  const char* text;    ///< UTF-8, of a text alone.
  VwAlign     align;   ///< Of a text.
} VwShape;

/// A picture on white. Nothing in it is owned.
typedef struct {
  double         width;       ///< Points.
  double         height;      ///< Points.
  const char*    title;       ///< What it shows; UTF-8.
  const char*    description; ///< What a person should know who cannot see it.
  const VwShape* shapes;      ///< `n_shapes` of them, the lowest first.
  size_t         n_shapes;
} VwPicture;

/// What a picture becomes.
typedef enum {
  VW_PICTURE_SVG, ///< Title, description and all texts stand in it as text.
  VW_PICTURE_PNG  ///< 2 pixels a point.
} VwPictureFormat;

/**
 * Draw a picture.
 *
 * @param bytes Filled in on success; free it with vw_bytes_clear().
 * @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION (a text that is not UTF-8, no
 * size, or one above 20,000 points), #VW_MISSING (what draws PNG).
 */
VW_API VwStatus vw_picture_draw(const VwPicture* picture,
                                VwPictureFormat  format,
                                VwBytes*         bytes);

/* ------------------------------------------------------------------------ */
/* Charts                                                                    */

/// Colours that people of any colour vision tell apart ("Color Universal Design
/// (CUD): How to make figures and presentations that are friendly to colorblind
/// people", 2008), and three greys. What differs by colour differs by its
/// stroke or its label too.
typedef enum {
  VW_INK_BLACK,
  VW_INK_ORANGE,
  VW_INK_SKY_BLUE,
  VW_INK_GREEN,
  VW_INK_YELLOW,
  VW_INK_BLUE,
  VW_INK_VERMILION,
  VW_INK_PURPLE,
  VW_INK_GREY,
  VW_INK_PALE,
  VW_INK_SILVER
} VwInk;

/// How a line is drawn.
typedef enum {
  VW_STROKE_SOLID,
  VW_STROKE_DASHED,
  VW_STROKE_DOTTED,
  VW_STROKE_DASH_DOT
} VwStroke;

/// What a line is drawn with.
typedef struct {
  VwInk    ink;
  VwStroke stroke;
  double   width; ///< Points.
} VwPen;

/// An axis of a panel.
typedef struct {
  double      from;        ///< At the left or at the bottom.
  double      to;          ///< At the right or at the top, above `from`.
  bool        logarithmic; ///< Both are then above 0.
  const char* label;       ///< What it measures, with its unit; or NULL.
  double      unit_s;      ///< Seconds in its unit, where it is time; else 0.
} VwAxis;

/// Values in even steps along x: a line through them, or what lies between two
/// such lines. NaN leaves a hole in a line, and has no place between two.
typedef struct {
  const char*  name; ///< For the legend, or NULL.
  VwPen        pen;
  double       x_first; ///< Of the first value.
  double       x_step;  ///< From value to value.
  const float* high;    ///< `n` of them.
  const float* low;     ///< As many, or NULL: a line.
  size_t       n;
} VwTrace;

/// How a stretch of x is filled.
typedef enum {
  VW_FILL_HATCHED, ///< Pale, with slanting lines.
  VW_FILL_PLAIN,   ///< In one colour.
  VW_FILL_GREYS    ///< From white to black: the scale of a raster.
} VwFill;

/// A stretch of x, as high as its panel, beneath all else. One without extent
/// is an entry of the legend alone.
typedef struct {
  const char* name; ///< For the legend, or NULL.
  double      from;
  double      to;
  VwFill      fill;
  VwInk       ink;
} VwBand;

/// A place on x: an upright line through its panel.
typedef struct {
  double      x;
  const char* label; ///< Beside it, above the panel; or NULL.
  VwPen       pen;
  bool        brief; ///< A short line at the top only.
} VwMark;

/// A chart of greys beneath lines and marks, as high as its panel.
typedef struct {
  double               from;  ///< Along x.
  double               to;    ///< The same.
  const unsigned char* greys; ///< 0 (black) to 255, row after row from the top.
  unsigned             n_columns;
  unsigned             n_rows;
} VwRaster;

/// One pair of axes and what is drawn between them. Nothing in it is owned.
typedef struct {
  const char*     heading; ///< Above it, with the unit of y.
  double          height;  ///< Between the axes, points.
  VwAxis          x;
  VwAxis          y;
  bool            y_bare; ///< Without a scale along y.
  bool            x_bare; ///< Without one along x: the panel below has it.
  const VwBand*   bands;
  size_t          n_bands;
  const VwRaster* raster; ///< Or NULL.
  const VwTrace*  traces;
  size_t          n_traces;
  const VwMark*   marks;
  size_t          n_marks;
} VwPanel;

/// A page of panels. Nothing in it is owned. All texts are UTF-8 without
/// control characters.
typedef struct {
  double width;     ///< Points, 120 to 2000; 600 are 1200 pixels. The height
                    ///< follows from what there is.
  const char* name; ///< Of what is shown; shortened in its middle where it has
                    ///< to be. NULL: no title is drawn.
  const char*        headline; ///< Beside the name: what the page shows.
  const char* const* facts; ///< Under the title, `n_facts` lines, which wrap.
  size_t             n_facts;
  const VwPanel*     panels; ///< From top to bottom.
  size_t             n_panels;
  const char* const* notes; ///< Under the panels; the same.
  size_t             n_notes;
  const char*        description; ///< As in #VwPicture.
} VwChart;

/**
 * Lay out a chart and draw it. The same chart gives the same bytes.
 *
 * Texts are measured first: labels of marks get as many rows as they need so
 * that none lies on another, and everything else wraps or is shortened.
 *
 * @param bytes Filled in on success; free it with vw_bytes_clear().
 * @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION (a text that is not UTF-8, an
 * axis or a raster without extent, one above 65,534 columns, a page above
 * 20,000 points), #VW_MISSING (what draws PNG).
 */
VW_API VwStatus vw_chart_draw(const VwChart*  chart,
                              VwPictureFormat format,
                              VwBytes*        bytes);

#ifdef __cplusplus
}
#endif

#endif /* VOLLEYWEAVE_PICTURES_H */
