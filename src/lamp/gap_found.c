#include "lamp/gap_found.h"

#include "base/units.h"

#include <math.h>

// Shots as much alike as this may have the same wave, and have it where their
// waves are as much alike as that.
#define SAME_COURSE 0.8
#define SAME_WAVE 0.9

// A spacing is that exact, and a bit more.
#define NEAR_S 0.003

// So much of the period is compared.
#define SHARE 0.5

/// How alike two pieces of so many frames are, 1 for the same wave.
static double
wave_likeness(const VwSound* mono, size_t from, size_t other, size_t n) {
  double product = 0.0;
  double energy = 1e-30;
  for (size_t i = 0; i < n; ++i) {
    const double x = (double)mono->values[from + i];
    const double y = (double)mono->values[other + i];
    product += x * y;
    energy += 0.5 * (x * x + y * y);
  }
  return product / energy;
}

/// The period, in frames, by the waves of two shots; 0 where they differ.
static double
period_by(const VwSound*   mono,
          const VwSpacing* spacing,
          size_t           shot,
          size_t           later) {
  const double period = spacing->period_s * mono->rate_hz;
  const size_t from = (size_t)((double)shot * period + 0.5);
  const size_t n = (size_t)(SHARE * period);
  const size_t near = vw_frames_of_s(NEAR_S, mono->rate_hz);
  const size_t middle = (size_t)((double)later * period + 0.5);
  double       best = 0.0;
  size_t       at = 0;
  for (size_t i = middle > near ? middle - near : 0U;
       i <= middle + near && i + n <= mono->n_frames;
       ++i) {
    const double alike = wave_likeness(mono, from, i, n);
    at = alike > best ? i : at;
    best = fmax(alike, best);
  }
  return best >= SAME_WAVE ? (double)(at - from) / (double)(later - shot) : 0.0;
}

static bool
are_alike(const VwHeard*   heard,
          const VwSpacing* spacing,
          size_t           shot,
          size_t           later) {
  const VwBandsPair pair = {(double)shot * spacing->period_s,
                            (double)later * spacing->period_s,
                            SHARE * spacing->period_s,
                            false};
  return vw_bands_likeness(&heard->bands, &pair) >= SAME_COURSE;
}

double
vw_gap_found_s(const VwSound*   mono,
               const VwHeard*   heard,
               const VwSpacing* spacing) {
  const size_t n = spacing->shots;
  double       period = 0.0;
  // The farther they are apart, the more exact.
  for (size_t apart = n - 1U; !(period > 0.0) && apart > 0U; --apart) {
    for (size_t i = 0; !(period > 0.0) && i + apart < n; ++i) {
      if (are_alike(heard, spacing, i, i + apart)) {
        period = period_by(mono, spacing, i, i + apart);
      }
    }
  }
  const double wanted =
    (double)n * (period > 0.0 ? period : spacing->period_s * mono->rate_hz);
  return fmax(round(wanted - (double)mono->n_frames), 0.0) / mono->rate_hz;
}
