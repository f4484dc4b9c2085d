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
  SYMBOL_SWITCH,     ///< Level; open.
  SYMBOL_GROUND,     ///< The sign of 0 V, below its first end.
  SYMBOL_TRANSISTOR, ///< NPN: its base at its first end, collector and emitter
                     ///< 28 to the right of it and 35 above and below.
} SymbolKind;

// The wire from a trimmer's middle leg runs down so far right of it.
#define SYMBOL_WIPER 22.0

/// One symbol.
typedef struct {
  SymbolKind  kind;
  VwPoint     from;
  VwPoint     to;
  const char* when; ///< It is drawn where these figures hold; NULL: always.
} Symbol;

/// Draw so many symbols.
void symbols_draw(Sheet*         sheet,
                  const Figures* of,
                  const Symbol*  symbols,
                  size_t         n_symbols);

// Heights of letters.
#define LETTERS_SMALL 9.0
#define LETTERS_USUAL 11.0

/// A text.
typedef struct {
  VwPoint     at;
  const char* words; ///< With figures in them.
  VwAlign     align;
  const char* when; ///< As of a symbol.
  double      size; ///< 0: #LETTERS_USUAL.
} Label;

/// Write so many labels.
void labels_write(Sheet*         sheet,
                  const Figures* of,
                  const Label*   labels,
                  size_t         n_labels);

/// Free what it owns. NULL is accepted.
void sheet_clear(Sheet* sheet);

#endif
