/// @file
/// A circuit's wires and parts, drawn from a list of them.
#ifndef VW_CLI_LAMP_SYMBOLS_H
#define VW_CLI_LAMP_SYMBOLS_H

#include "cli/message/figures.h"

#include "volleyweave/pictures.h"

/// Shapes so far. Start from all zero.
typedef struct {
  VwShape* shapes; ///< Owned, as are their points and texts.
  size_t   n_shapes;
  bool     full; ///< Memory ran out; nothing more is added.
} Sheet;

/// What is drawn. Parts lie between two ends, upright or level.
typedef enum {
  SYMBOL_WIRE,
  SYMBOL_DOT,   ///< Where wires are joined, at its first end.
  SYMBOL_FRAME, ///< A rectangle between two corners.
  SYMBOL_RESISTOR,
  SYMBOL_TRIMMER, ///< Upright, its middle leg led round to its lower end.
  SYMBOL_CAPACITOR,
  SYMBOL_DIODE,      ///< From anode to cathode.
  SYMBOL_GROUND,     ///< The sign of 0 V, below its first end.
  SYMBOL_TRANSISTOR, ///< NPN: its base at its first end, collector and emitter
                     ///< 28 to the right of it and 35 above and below.
  SYMBOL_TEXT,       ///< At its first end.
} SymbolKind;

// The wire from a trimmer's middle leg runs down so far right of it.
#define SYMBOL_WIPER 22.0

// Heights of letters.
#define SYMBOL_LABEL 11.0
#define SYMBOL_SMALL 9.0

/// One symbol.
typedef struct {
  SymbolKind  kind;
  VwPoint     from;
  VwPoint     to;
  const char* when;  ///< It is drawn where these figures hold; NULL: always.
  const char* words; ///< Of a text, with figures in them.
  VwAlign     align; ///< Of a text.
  double      size;  ///< Of a text; 0: #SYMBOL_LABEL.
} Symbol;

/// Draw so many symbols.
void symbols_draw(Sheet*         sheet,
                  const Figures* of,
                  const Symbol*  symbols,
                  size_t         n_symbols);

/// Put down a text, which is copied; NULL where memory ran out.
void sheet_text(Sheet* sheet, VwPoint at, double size, const char* text);

/// Free what it owns. NULL is accepted.
void sheet_clear(Sheet* sheet);

#endif
