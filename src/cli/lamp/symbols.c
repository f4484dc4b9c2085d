#include "cli/lamp/symbols.h"

#include "cli/message/message.h"

#include <stdlib.h>
#include <string.h>

#define THIN 1.2
#define THICK 2.2
#define DOT_RADIUS 2.5

/* Shapes */

/// Add a shape; its points and text are copied.
static void
add(Sheet* sheet, VwShape shape) {
  VwShape* const grown =
    sheet->full
      ? NULL
      : realloc(sheet->shapes, (sheet->n_shapes + 1U) * sizeof(VwShape));
  VwPoint* const points = malloc(shape.n_points * sizeof(VwPoint));
  char* const    text = shape.text ? text_format("%s", shape.text) : NULL;
  sheet->shapes = grown ? grown : sheet->shapes;
  if (!grown || !points || (shape.text && !text)) {
    free(points);
    free(text);
    sheet->full = true;
    return;
  }
  memcpy(points, shape.points, shape.n_points * sizeof(VwPoint));
  shape.points = points;
  shape.text = text;
  sheet->shapes[sheet->n_shapes++] = shape;
}

static void
line(Sheet* sheet, double width, VwPoint from, VwPoint to) {
  const VwPoint points[] = {from, to};
  add(
    sheet,
    (VwShape){
      .kind = VW_SHAPE_LINE, .points = points, .n_points = 2U, .size = width});
}

static void
wire(Sheet* sheet, VwPoint from, VwPoint to) {
  line(sheet, THIN, from, to);
}

static void
plate(Sheet* sheet, VwPoint from, VwPoint to) {
  line(sheet, THICK, from, to);
}

/// A filled triangle.
static void
triangle(Sheet* sheet, VwPoint a, VwPoint b, VwPoint c) {
  const VwPoint points[] = {a, b, c};
  add(sheet,
      (VwShape){.kind = VW_SHAPE_AREA, .points = points, .n_points = 3U});
}

static void
dot(Sheet* sheet, VwPoint at, VwPoint unused) {
  (void)unused;
  add(sheet,
      (VwShape){.kind = VW_SHAPE_DISC,
                .points = &at,
                .n_points = 1U,
                .size = DOT_RADIUS});
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

/* Parts */

static void
frame(Sheet* sheet, VwPoint from, VwPoint to) {
  wire(sheet, (VwPoint){from.x, from.y}, (VwPoint){to.x, from.y});
  wire(sheet, (VwPoint){to.x, from.y}, (VwPoint){to.x, to.y});
  wire(sheet, (VwPoint){to.x, to.y}, (VwPoint){from.x, to.y});
  wire(sheet, (VwPoint){from.x, to.y}, (VwPoint){from.x, from.y});
}

/// The middle of a part, and a step of `along` towards its second end.
typedef struct {
  VwPoint middle;
  VwPoint step;
} Place;

static Place
place_of(VwPoint from, VwPoint to, double along) {
  const double sign = from.x + from.y < to.x + to.y ? 1.0 : -1.0;
  const bool   upright = from.x == to.x;
  return (Place){{(from.x + to.x) / 2.0, (from.y + to.y) / 2.0},
                 {upright ? 0.0 : along * sign, upright ? along * sign : 0.0}};
}

/// A point so many steps along a part, and so far across it.
static VwPoint
at(const Place* place, double steps, double across) {
  const bool upright = place->step.x == 0.0;
  return (VwPoint){
    place->middle.x + steps * place->step.x + (upright ? across : 0.0),
    place->middle.y + steps * place->step.y + (upright ? 0.0 : across)};
}

static void
resistor(Sheet* sheet, VwPoint from, VwPoint to) {
  const Place place = place_of(from, to, 15.0);
  wire(sheet, from, at(&place, -1.0, 0.0));
  frame(sheet, at(&place, -1.0, -6.0), at(&place, 1.0, 6.0));
  wire(sheet, at(&place, 1.0, 0.0), to);
}

static void
trimmer(Sheet* sheet, VwPoint from, VwPoint to) {
  const double x = from.x;
  const double wiper = x + SYMBOL_WIPER;
  const double middle = (from.y + to.y) / 2.0;
  resistor(sheet, from, to);
  triangle(sheet,
           (VwPoint){x + 13.0, middle - 4.0},
           (VwPoint){x + 13.0, middle + 4.0},
           (VwPoint){x + 6.0, middle});
  wire(sheet, (VwPoint){x + 13.0, middle}, (VwPoint){wiper, middle});
  wire(sheet, (VwPoint){wiper, middle}, (VwPoint){wiper, to.y});
  wire(sheet, (VwPoint){wiper, to.y}, to);
  dot(sheet, to, to);
}

static void
capacitor(Sheet* sheet, VwPoint from, VwPoint to) {
  const Place place = place_of(from, to, 3.0);
  wire(sheet, from, at(&place, -1.0, 0.0));
  plate(sheet, at(&place, -1.0, -12.0), at(&place, -1.0, 12.0));
  plate(sheet, at(&place, 1.0, -12.0), at(&place, 1.0, 12.0));
  wire(sheet, at(&place, 1.0, 0.0), to);
}

static void
diode(Sheet* sheet, VwPoint anode, VwPoint cathode) {
  const Place place = place_of(anode, cathode, 7.0);
  wire(sheet, anode, at(&place, -1.0, 0.0));
  wire(sheet, at(&place, 1.0, 0.0), cathode);
  triangle(
    sheet, at(&place, -1.0, -7.0), at(&place, -1.0, 7.0), at(&place, 1.0, 0.0));
  plate(sheet, at(&place, 1.0, -7.0), at(&place, 1.0, 7.0));
}

/// A contact that closes.
static void
contact(Sheet* sheet, VwPoint from, VwPoint to) {
  const double  middle = (from.x + to.x) / 2.0;
  const VwPoint left = {middle - 11.0, from.y};
  const VwPoint right = {middle + 11.0, from.y};
  wire(sheet, from, left);
  wire(sheet, left, (VwPoint){right.x - 1.0, from.y - 9.0});
  wire(sheet, right, to);
  dot(sheet, left, left);
  dot(sheet, right, right);
}

static void
ground(Sheet* sheet, VwPoint top, VwPoint unused) {
  (void)unused;
  wire(sheet, top, (VwPoint){top.x, top.y + 5.0});
  for (unsigned i = 0; i < 3U; ++i) {
    const double half = 9.0 - 3.0 * i;
    const double y = top.y + 5.0 + 3.0 * i;
    plate(sheet, (VwPoint){top.x - half, y}, (VwPoint){top.x + half, y});
  }
}

static void
transistor(Sheet* sheet, VwPoint base, VwPoint unused) {
  (void)unused;
  const double x = base.x + 10.0;
  const double y = base.y;
  const double end = base.x + 28.0;
  wire(sheet, base, (VwPoint){x, y});
  plate(sheet, (VwPoint){x, y - 18.0}, (VwPoint){x, y + 18.0});
  wire(sheet, (VwPoint){x, y - 9.0}, (VwPoint){end, y - 26.0});
  wire(sheet, (VwPoint){end, y - 26.0}, (VwPoint){end, y - 35.0});
  wire(sheet, (VwPoint){x, y + 9.0}, (VwPoint){end, y + 26.0});
  wire(sheet, (VwPoint){end, y + 26.0}, (VwPoint){end, y + 35.0});
  triangle(sheet,
           (VwPoint){end, y + 26.0},
           (VwPoint){end - 9.0, y + 23.0},
           (VwPoint){end - 4.5, y + 16.5});
}

/* Symbols */

static void (*const parts[])(Sheet* sheet, VwPoint from, VwPoint to) = {
  [SYMBOL_WIRE] = wire,
  [SYMBOL_DOT] = dot,
  [SYMBOL_FRAME] = frame,
  [SYMBOL_RESISTOR] = resistor,
  [SYMBOL_TRIMMER] = trimmer,
  [SYMBOL_CAPACITOR] = capacitor,
  [SYMBOL_DIODE] = diode,
  [SYMBOL_SWITCH] = contact,
  [SYMBOL_GROUND] = ground,
  [SYMBOL_TRANSISTOR] = transistor,
};

void
symbols_draw(Sheet*         sheet,
             const Figures* of,
             const Symbol*  symbols,
             size_t         n_symbols) {
  for (size_t i = 0; i < n_symbols; ++i) {
    const Symbol* const symbol = &symbols[i];
    if (!symbol->when || figures_hold(of, symbol->when)) {
      parts[symbol->kind](sheet, symbol->from, symbol->to);
    }
  }
}

static void
write_label(Sheet* sheet, const Figures* of, const Label* label) {
  char* const words = figures_words(of, label->words);
  add(sheet,
      (VwShape){.kind = VW_SHAPE_TEXT,
                .points = &label->at,
                .n_points = 1U,
                .size = label->size > 0.0 ? label->size : LETTERS_USUAL,
                .text = words,
                .align = label->align});
  sheet->full |= !words;
  free(words);
}

void
labels_write(Sheet*         sheet,
             const Figures* of,
             const Label*   labels,
             size_t         n_labels) {
  for (size_t i = 0; i < n_labels; ++i) {
    if (!labels[i].when || figures_hold(of, labels[i].when)) {
      write_label(sheet, of, &labels[i]);
    }
  }
}
