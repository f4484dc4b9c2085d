/// @file
/// What is said, wherever they are handed out, of sounds, lamps and props.
#ifndef VW_CLI_CAUTION_H
#define VW_CLI_CAUTION_H

#include "cli/message/figures.h"

/// Cautions, to be put together.
enum {
  CAUTION_FLASH = 1U << 0U,        ///< A lamp that flashes fast.
  CAUTION_LAMP_FLASH = 1U << 1U,   ///< The same, to who builds it.
  CAUTION_UNTRIMMED = 1U << 2U,    ///< One that may be fast before it is set.
  CAUTION_HEARING = 1U << 3U,      ///< Whatever a small speaker is to play.
  CAUTION_LAMP_HEARING = 1U << 4U, ///< The same, to who builds one.
  CAUTION_LOOK_ALIKE = 1U << 5U,   ///< A prop.
  CAUTION_WIRING = 1U << 6U,       ///< A circuit and its battery.
};

/// #CAUTION_FLASH for a lamp that flashes too often, or none.
unsigned caution_of_flashes(double pulse_hz);

/// The text of one; NULL of none. Static.
const char* caution_text(unsigned caution);

/// The text of the `index`th of several; NULL past the last. Static.
const char* caution_nth(unsigned cautions, size_t index);

/// Several of them by their names.
Figures* caution_figures(unsigned cautions);

/// Print several of them, each as a line of a report.
void caution_lines(unsigned cautions, FILE* out);

#endif
