/// @file
/// What is drawn in an SVG, read by itself.
#ifndef TESTS_SVG_H
#define TESTS_SVG_H

#include <stdbool.h>
#include <stddef.h>

/// A rectangle, in points of the page.
typedef struct {
  double left;
  double top;
  double right;
  double bottom;
} SvgBox;

typedef enum {
  SVG_LINE, ///< A stroke along points.
  SVG_FILL, ///< What lies between them.
  SVG_TEXT, ///< Letters about a point.
  SVG_IMAGE ///< A chart of greys.
} SvgKind;

/// One thing drawn.
typedef struct {
  SvgKind  kind;
  SvgBox   box;      ///< Of the points, or of what is seen of the letters.
  unsigned colour;   ///< 0xRRGGBB.
  double   width;    ///< Of a stroke.
  char     dash[40]; ///< Of a stroke, as it is written; "" for a whole line.
  double*  points;   ///< x and y in turns.
  size_t   n_points;
  char*    text; ///< Of letters.
} SvgItem;

/// A page, its items from the lowest to the highest.
typedef struct {
  double   width;
  double   height;
  SvgItem* items;
  size_t   n_items;
  char*    text; ///< The file.
} Svg;

/// Read a file. False where it is no SVG.
bool svg_read(const char* path, Svg* svg);

void svg_clear(Svg* svg);

/// The number behind these words in a text of a file's picture; NaN without.
double svg_number(const char* path, const char* words);

/// Width of a text, as the font that pictures ask for has it.
double svg_text_width(double size, const char* text);

/// Whether two boxes share a place.
bool svg_overlap(const SvgBox* a, const SvgBox* b);

/// The panels of a chart, from top to bottom: the black frames. Returns how
/// many, `n_most` at most.
size_t svg_panels(const Svg* svg, SvgBox* panels, size_t n_most);

#endif // TESTS_SVG_H
