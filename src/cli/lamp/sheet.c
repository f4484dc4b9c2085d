#include "cli/lamp/sheet.h"

#include "cli/message/text.h"

#include <stdlib.h>
#include <string.h>

#define DOT_RADIUS 2.5

/// Room for one more shape with its points, or NULL.
static VwShape*
add(Sheet* sheet, VwShapeKind kind, const VwPoint* points, size_t n) {
  VwShape* const grown =
    sheet->full
      ? NULL
      : realloc(sheet->shapes, (sheet->n_shapes + 1U) * sizeof(VwShape));
  VwPoint* const copy = malloc((n + 1U) * sizeof(VwPoint));
  sheet->shapes = grown ? grown : sheet->shapes;
  if (!grown || !copy) {
    free(copy);
    sheet->full = true;
    return NULL;
  }
  memcpy(copy, points, n * sizeof(VwPoint));
  VwShape* const shape = &sheet->shapes[sheet->n_shapes++];
  *shape = (VwShape){.kind = kind, .points = copy, .n_points = n};
  return shape;
}

void
sheet_line(Sheet* sheet, double width, const VwPoint* points, size_t n) {
  VwShape* const shape = add(sheet, VW_SHAPE_LINE, points, n);
  if (shape) {
    shape->size = width;
  }
}

void
sheet_area(Sheet* sheet, const VwPoint* points, size_t n) {
  (void)add(sheet, VW_SHAPE_AREA, points, n);
}

void
sheet_dot(Sheet* sheet, VwPoint at) {
  VwShape* const shape = add(sheet, VW_SHAPE_DISC, &at, 1U);
  if (shape) {
    shape->size = DOT_RADIUS;
  }
}

void
sheet_text(Sheet* sheet, VwPoint at, SheetLetters letters, const char* text) {
  VwShape* const shape = add(sheet, VW_SHAPE_TEXT, &at, 1U);
  if (shape) {
    shape->size = letters.size;
    shape->align = letters.align;
    shape->text = text_format("%s", text);
    sheet->full = sheet->full || !shape->text;
  }
}

void
sheet_clear(Sheet* sheet) {
  for (size_t i = 0; sheet && i < sheet->n_shapes; ++i) {
    free((void*)(uintptr_t)sheet->shapes[i].points);
    free((void*)(uintptr_t)sheet->shapes[i].text);
  }
  if (sheet) {
    free(sheet->shapes);
    *sheet = (Sheet){0};
  }
}
