#include "base/units.h"
#include "signal/signal.h"

#include <math.h>
#include <stdlib.h>

// One side is late from 1 ms on, since two microphones side by side lie less
// apart; and up to 20 ms, since later is heard as an echo (common practice).
#define LATE_LEAST_S 0.001
#define LATE_MOST_S 0.020
#define LATE_HEARD_S 10.0

// It is if both sides are so alike at that lag, by so much more than at none,
// and than at all lags beyond the valleys about it: then no tone repeats there
// (chosen here, by 34 real recordings with a side delayed, and as they are).
#define LATE_ALIKE 0.9
#define LATE_OVER_NONE 0.2
#define LATE_OVER_OTHERS 0.01

/// The stretch about the loudest frame that tells.
static VwSound
telling(const VwSound* sound) {
  const size_t most = vw_frames_of_s(LATE_HEARD_S, sound->rate_hz);
  VwSound      view = *sound;
  size_t       loudest = 0;
  if (sound->n_frames <= most) {
    return view;
  }
  for (size_t i = 1; i < sound->n_frames; ++i) {
    if (vw_sound_height(sound, i) > vw_sound_height(sound, loudest)) {
      loudest = i;
    }
  }
  const size_t before = loudest < most / 2U ? loudest : most / 2U;
  const size_t last = sound->n_frames - most;
  const size_t from = loudest - before < last ? loudest - before : last;
  view.values += from * sound->n_channels;
  view.n_frames = most;
  return view;
}

/// One channel, as if the sound were played on, from `lead` frames before its
/// start to as many behind its end.
static VwStatus
side_of(const VwSound* sound, unsigned channel, size_t lead, VwSound* side) {
  const size_t   n = sound->n_frames;
  const VwStatus st = vw_sound_init(side, n + 2U * lead, 1U, sound->rate_hz);
  for (size_t i = 0; !st && i < side->n_frames; ++i) {
    const size_t from = (i + n - lead) % n;
    side->values[i] = sound->values[from * sound->n_channels + channel];
  }
  return st;
}

/// The greatest of some likenesses, but for those of the hill at `at`.
static double
most_beside(const double* alike, size_t n, size_t at) {
  size_t from = at;
  size_t to = at + 1U;
  double most = -1.0;
  while (from && alike[from - 1U] <= alike[from]) {
    --from;
  }
  while (to < n && alike[to] <= alike[to - 1U]) {
    ++to;
  }
  for (size_t i = 0; i < n; ++i) {
    most = i < from || i >= to ? fmax(most, alike[i]) : most;
  }
  return most;
}

/// Set by how many frames one side is late, if it is: lag `none` is none.
static VwStatus
find_late(const VwSlide* sides, size_t none, double* late_frames) {
  double* const  alike = calloc(sides->n_lags, sizeof(double));
  const VwStatus st = alike ? vw_slide_over_lag(sides, alike) : VW_NO_MEMORY;
  size_t         at = none;
  for (size_t i = 0; !st && i < sides->n_lags; ++i) {
    at = alike[i] > alike[at] ? i : at;
  }
  const double lag = (double)at - (double)none;
  const double least = LATE_LEAST_S * sides->one->rate_hz;
  if (!st && fabs(lag) >= least && alike[at] >= LATE_ALIKE &&
      alike[at] >= alike[none] + LATE_OVER_NONE &&
      alike[at] >= most_beside(alike, sides->n_lags, at) + LATE_OVER_OTHERS) {
    *late_frames = lag;
  }
  free(alike);
  return st;
}

VwStatus
vw_side_late(const VwSound* sound, double* late_ms) {
  const size_t lead = vw_frames_of_s(LATE_MOST_S, sound->rate_hz);
  double       late_frames = 0.0;
  VwSound      one = {0};
  VwSound      other = {0};
  *late_ms = 0.0;
  if (sound->n_channels != 2U || sound->n_frames < 2U * lead) {
    return VW_OK;
  }
  const VwSound part = telling(sound);
  VwStatus      st = side_of(&part, 0U, 0U, &one);
  st = st ? st : side_of(&part, 1U, lead, &other);
  const VwSlide sides = {&one, 0U, &other, 0U, part.n_frames, 2U * lead + 1U};
  st = st ? st : find_late(&sides, lead, &late_frames);
  *late_ms = 1000.0 * late_frames / sound->rate_hz;
  vw_sound_clear(&one);
  vw_sound_clear(&other);
  return st;
}
