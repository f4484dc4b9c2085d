/// @file
/// A picture that grows, shape by shape.
#ifndef VW_CLI_SHEET_H
#define VW_CLI_SHEET_H

#include <volleyweave/pictures.h>

#include <stdbool.h>

#define SHEET_POINTS 4U

/// Lines, discs and texts so far. Start from all zero.
typedef struct {
  VwShape* shapes; ///< Owned, as are their points and texts.
  size_t   n_shapes;
  bool     full; ///< Memory ran out; nothing more is added.
} Sheet;

/// A line through up to #SHEET_POINTS points.
void sheet_line(Sheet* sheet, double width, const VwPoint* points, size_t n);

/// A filled shape of up to #SHEET_POINTS corners.
void sheet_area(Sheet* sheet, const VwPoint* points, size_t n);

/// A dot.
void sheet_dot(Sheet* sheet, VwPoint at);

/// How a text is set.
typedef struct {
  double  size; ///< Its height.
  VwAlign align;
} SheetLetters;

/// A text, which is copied.
void sheet_text(Sheet*       sheet,
                VwPoint      at,
                SheetLetters letters,
                const char*  text);

/// Free what it owns. NULL is accepted.
void sheet_clear(Sheet* sheet);

#endif
