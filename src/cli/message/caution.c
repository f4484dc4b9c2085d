#include "cli/message/figures.h"

#include <stdlib.h>

unsigned
caution_of_flashes(double pulse_hz) {
  // A rate that whole frames made 1,000 ppm slower is still the same.
  return 1000.0 * pulse_hz >= 999.0 * CAUTION_FLASHES_PER_S ? VW_CAUTION_FLASH
                                                            : 0U;
}

const char*
caution_text(unsigned caution) {
  const VwCaution* const of = vw_caution(caution, 0);
  return of ? of->text : NULL;
}

Figures*
caution_figures(unsigned which) {
  Figures* const   made = figures_new();
  const VwCaution* of = NULL;
  for (size_t i = 0; (of = vw_caution(which, i)); ++i) {
    figures_set(made, of->key, of->text);
  }
  return made;
}

void
caution_lines(unsigned which, unsigned* said, FILE* out) {
  const VwCaution* of = NULL;
  for (size_t i = 0; (of = vw_caution(which, i)); ++i) {
    if (!said || !(*said & of->which)) {
      line_wrap(out, "CAUTION", of->text);
    }
  }
  if (said) {
    *said |= which;
  }
}
