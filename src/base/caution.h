/// @file
/// What is said of the dangers of sound, lamps, batteries and props, wherever
/// they are handed out.
#ifndef VW_CAUTION_H
#define VW_CAUTION_H

#include <stddef.h>
#include <stdio.h>

/// Cautions, to be put together; the most serious first.
enum {
  VW_CAUTION_FLASH = 1U << 0U,      ///< A lamp that flashes fast.
  VW_CAUTION_LAMP_FLASH = 1U << 1U, ///< The same, to who builds it.
  VW_CAUTION_UNTRIMMED = 1U << 2U,  ///< One that may be fast before it is set.
  VW_CAUTION_LOOK_ALIKE = 1U << 3U, ///< A prop.
  VW_CAUTION_WIRING = 1U << 4U,     ///< A circuit and its battery.
  VW_CAUTION_SWEEP = 1U << 6U,      ///< A sweep that is to be played.
  VW_CAUTION_HEARING = 1U << 5U,    ///< Whatever a small speaker is to play.
};

/// A caution.
typedef struct {
  unsigned    which;
  const char* key; ///< What programs know it by.
  const char* text;
} VwCaution;

/// The `index`th of those asked for; NULL past the last. Static.
const VwCaution* vw_caution(unsigned which, size_t index);

/// Print one as lines of a C comment that was begun.
void vw_caution_comment(const VwCaution* caution, FILE* to);

#endif
