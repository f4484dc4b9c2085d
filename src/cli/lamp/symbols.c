#include "cli/lamp/symbols.h"

#include <stdlib.h>

#define THIN 1.2
#define THICK 2.2
#define LETTERS 11.0

void
symbol_wire(Sheet* sheet, VwPoint from, VwPoint to) {
  const VwPoint points[] = {from, to};
  sheet_line(sheet, THIN, points, 2U);
}

static void
plate(Sheet* sheet, VwPoint from, VwPoint to) {
  const VwPoint points[] = {from, to};
  sheet_line(sheet, THICK, points, 2U);
}

void
symbol_dot(Sheet* sheet, VwPoint at) {
  sheet_dot(sheet, at);
}

void
symbol_label(Sheet* sheet, VwPoint at, VwAlign align, const char* text) {
  sheet_text(sheet, at, (SheetLetters){LETTERS, align}, text);
}

void
symbol_label_made(Sheet* sheet, VwPoint at, VwAlign align, char* text) {
  if (text) {
    symbol_label(sheet, at, align, text);
  } else {
    sheet->full = true;
  }
  free(text);
}

void
symbol_frame(Sheet* sheet, VwPoint from, VwPoint to) {
  symbol_wire(sheet, (VwPoint){from.x, from.y}, (VwPoint){to.x, from.y});
  symbol_wire(sheet, (VwPoint){to.x, from.y}, (VwPoint){to.x, to.y});
  symbol_wire(sheet, (VwPoint){to.x, to.y}, (VwPoint){from.x, to.y});
  symbol_wire(sheet, (VwPoint){from.x, to.y}, (VwPoint){from.x, from.y});
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

void
symbol_resistor(Sheet* sheet, VwPoint from, VwPoint to) {
  const Place place = place_of(from, to, 15.0);
  symbol_wire(sheet, from, at(&place, -1.0, 0.0));
  symbol_frame(sheet, at(&place, -1.0, -6.0), at(&place, 1.0, 6.0));
  symbol_wire(sheet, at(&place, 1.0, 0.0), to);
}

void
symbol_trimmer(Sheet* sheet, VwPoint from, VwPoint to) {
  const double  x = from.x;
  const double  wiper = x + SYMBOL_WIPER;
  const double  middle = (from.y + to.y) / 2.0;
  const VwPoint head[] = {
    {x + 13.0, middle - 4.0}, {x + 13.0, middle + 4.0}, {x + 6.0, middle}};
  symbol_resistor(sheet, from, to);
  sheet_area(sheet, head, 3U);
  symbol_wire(sheet, (VwPoint){x + 13.0, middle}, (VwPoint){wiper, middle});
  symbol_wire(sheet, (VwPoint){wiper, middle}, (VwPoint){wiper, to.y});
  symbol_wire(sheet, (VwPoint){wiper, to.y}, to);
  symbol_dot(sheet, to);
}

void
symbol_capacitor(Sheet* sheet, VwPoint from, VwPoint to) {
  const Place place = place_of(from, to, 3.0);
  symbol_wire(sheet, from, at(&place, -1.0, 0.0));
  plate(sheet, at(&place, -1.0, -12.0), at(&place, -1.0, 12.0));
  plate(sheet, at(&place, 1.0, -12.0), at(&place, 1.0, 12.0));
  symbol_wire(sheet, at(&place, 1.0, 0.0), to);
}

void
symbol_ground(Sheet* sheet, VwPoint top) {
  symbol_wire(sheet, top, (VwPoint){top.x, top.y + 5.0});
  for (unsigned i = 0; i < 3U; ++i) {
    const double half = 9.0 - 3.0 * i;
    const double y = top.y + 5.0 + 3.0 * i;
    plate(sheet, (VwPoint){top.x - half, y}, (VwPoint){top.x + half, y});
  }
}

void
symbol_diode(Sheet* sheet, VwPoint anode, VwPoint cathode) {
  const Place   place = place_of(anode, cathode, 7.0);
  const VwPoint body[] = {
    at(&place, -1.0, -7.0), at(&place, -1.0, 7.0), at(&place, 1.0, 0.0)};
  symbol_wire(sheet, anode, at(&place, -1.0, 0.0));
  symbol_wire(sheet, at(&place, 1.0, 0.0), cathode);
  sheet_area(sheet, body, 3U);
  plate(sheet, at(&place, 1.0, -7.0), at(&place, 1.0, 7.0));
}

void
symbol_transistor(Sheet* sheet, VwPoint base) {
  const double  x = base.x + 10.0;
  const double  y = base.y;
  const double  end = base.x + 28.0;
  const VwPoint head[] = {
    {end, y + 26.0}, {end - 9.0, y + 23.0}, {end - 4.5, y + 16.5}};
  symbol_wire(sheet, base, (VwPoint){x, y});
  plate(sheet, (VwPoint){x, y - 18.0}, (VwPoint){x, y + 18.0});
  symbol_wire(sheet, (VwPoint){x, y - 9.0}, (VwPoint){end, y - 26.0});
  symbol_wire(sheet, (VwPoint){end, y - 26.0}, (VwPoint){end, y - 35.0});
  symbol_wire(sheet, (VwPoint){x, y + 9.0}, (VwPoint){end, y + 26.0});
  symbol_wire(sheet, (VwPoint){end, y + 26.0}, (VwPoint){end, y + 35.0});
  sheet_area(sheet, head, 3U);
}
