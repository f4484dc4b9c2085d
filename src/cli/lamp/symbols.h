/// @file
/// A circuit's wires and parts on a sheet. Parts lie between two ends, upright
/// or level.
#ifndef VW_CLI_SYMBOLS_H
#define VW_CLI_SYMBOLS_H

#include "cli/lamp/sheet.h"

void symbol_wire(Sheet* sheet, VwPoint from, VwPoint to);

/// Where wires are joined.
void symbol_dot(Sheet* sheet, VwPoint at);

void symbol_label(Sheet* sheet, VwPoint at, VwAlign align, const char* text);

/// A label that is made here and freed; NULL where memory ran out.
void symbol_label_made(Sheet* sheet, VwPoint at, VwAlign align, char* text);

/// A rectangle between two corners.
void symbol_frame(Sheet* sheet, VwPoint from, VwPoint to);

void symbol_resistor(Sheet* sheet, VwPoint from, VwPoint to);

// The wire from a trimmer's middle leg runs down so far right of it.
#define SYMBOL_WIPER 22.0

/// A trimmer, upright, its middle leg led round to its lower end.
void symbol_trimmer(Sheet* sheet, VwPoint from, VwPoint to);

void symbol_capacitor(Sheet* sheet, VwPoint from, VwPoint to);

/// The sign of 0 V, below a wire's end.
void symbol_ground(Sheet* sheet, VwPoint top);

void symbol_diode(Sheet* sheet, VwPoint anode, VwPoint cathode);

/// An NPN transistor: its base at `base`, collector and emitter 28 to the right
/// of it and 35 above and below.
void symbol_transistor(Sheet* sheet, VwPoint base);

#endif
