#include "cli/page/tryout_outline.h"

#include <math.h>

#define N_STRETCHES 96U
#define LOWEST_DB -60.0

static int
level_of(const VwSound* sound, size_t from, size_t to) {
  double most = 0.0;
  for (size_t i = from * sound->n_channels; i < to * sound->n_channels; ++i) {
    most = fmax(most, fabs((double)sound->values[i]));
  }
  const double db = most > 0.0 ? 20.0 * log10(most) : LOWEST_DB;
  return (int)lround(fmin(fmax(db, LOWEST_DB), 0.0) - LOWEST_DB);
}

void
tryout_outline_add(JsonText* page, const VwSound* sound) {
  json_text_bytes(page, "[", 1U);
  for (size_t i = 0; i < N_STRETCHES; ++i) {
    const size_t from = i * sound->n_frames / N_STRETCHES;
    const size_t to = (i + 1U) * sound->n_frames / N_STRETCHES;
    json_text_add(page, "%s%d", i ? "," : "", level_of(sound, from, to));
  }
  json_text_bytes(page, "]", 1U);
}
