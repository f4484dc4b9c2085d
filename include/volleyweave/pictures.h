/**
 * @file pictures.h
 * Pictures as SVG or PNG, from lines, discs and texts.
 *
 * They are drawn by a library of its own, `libvolleyweave-pictures`, so that
 * whoever wants none need not load what draws them. Its rules are those of
 * `volleyweave.h`.
 */
#ifndef VOLLEYWEAVE_PICTURES_H
#define VOLLEYWEAVE_PICTURES_H

#include <volleyweave/volleyweave.h>

#ifdef __cplusplus
extern "C" {
#endif

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
  VW_PICTURE_SVG, ///< Title and description stand in it as text.
  VW_PICTURE_PNG  ///< 2 pixels a point.
} VwPictureFormat;

/**
 * Draw a picture.
 *
 * @param bytes Filled in on success; free it with vw_bytes_clear().
 * @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION (no size, or one above 20,000
 * points).
 */
VW_API VwStatus vw_picture_draw(const VwPicture* picture,
                                VwPictureFormat  format,
                                VwBytes*         bytes);

#ifdef __cplusplus
}
#endif

#endif /* VOLLEYWEAVE_PICTURES_H */
