#include "limiter.h"

#include "peak.h"
#include "shot.h"
#include "units.h"

#include <math.h>
#include <stdlib.h>

#define AHEAD_S 0.0015
#define HOLD_S 0.006

// The reduction falls to a tenth within this time, once it is let go.
#define RELEASE_S 0.050

// A reduction below this is let go altogether: a gain of 1 - 1e-8.
#define LEAST_DB 1e-7

// A gain that brings a peak to the ceiling is off by the rounding of floats.
#define ROUNDING 1e-6

// Decibels of an amplitude ratio of e.
#define DB_OF_E 8.685889638065036

// From here on a reduction counts as limiting.
#define COUNTED_DB 0.1

/// Reductions wanted at the frames themselves, in dB.
static void
wanted_at_peaks(double ceiling, double* reduction, size_t n_frames) {
  for (size_t i = 0; i < n_frames; ++i) {
    reduction[i] = reduction[i] > ceiling
                     ? vw_db_of_power(reduction[i] * reduction[i]) -
                         vw_db_of_power(ceiling * ceiling)
                     : 0.0;
  }
}

/// Hold every reduction for `n_hold` frames after it.
static void
hold(const double* wanted, size_t n_frames, size_t n_hold, double* held) {
  size_t highest = 0;
  for (size_t i = 0; i < n_frames; ++i) {
    if (wanted[i] >= wanted[highest]) {
      highest = i;
    } else if (highest + n_hold < i) {
      highest = i - n_hold;
      for (size_t j = highest + 1U; j <= i; ++j) {
        highest = wanted[j] >= wanted[highest] ? j : highest;
      }
    }
    held[i] = wanted[highest];
  }
}

/// Lead up to every reduction on a straight line over `n_ahead` frames.
static void
lead(const double* wanted, size_t n_frames, size_t n_ahead, double* held) {
  for (size_t i = 0; i < n_frames; ++i) {
    if (wanted[i] <= 0.0) {
      continue;
    }
    for (size_t back = 1; back < n_ahead && back <= i; ++back) {
      const double part = 1.0 - (double)back / (double)n_ahead;
      held[i - back] = fmax(held[i - back], wanted[i] * part);
    }
  }
}

static void
release(double* held, size_t n_frames, double rate_hz) {
  const double keep = pow(10.0, -1.0 / (RELEASE_S * rate_hz));
  double       reduction = 0.0;
  for (size_t i = 0; i < n_frames; ++i) {
    reduction *= keep;
    reduction = reduction < LEAST_DB ? 0.0 : reduction;
    reduction = held[i] > reduction ? held[i] : reduction;
    held[i] = reduction;
  }
}

static VwLimited
apply(const double* reduction, VwSound* sound) {
  VwLimited limited = {0.0, 0.0};
  size_t    n_counted = 0;
  for (size_t i = 0; i < sound->n_frames; ++i) {
    if (reduction[i] > 0.0) {
      vw_shot_scale_frame(sound, i, exp(-reduction[i] / DB_OF_E));
      limited.most_db = fmax(limited.most_db, reduction[i]);
      n_counted += reduction[i] > COUNTED_DB ? 1U : 0U;
    }
  }
  limited.time_ms = 1000.0 * (double)n_counted / sound->rate_hz;
  return limited;
}

VwStatus
vw_limiter_run(double ceiling, VwSound* sound, VwLimited* limited) {
  const size_t  n_frames = sound->n_frames;
  double* const wanted = calloc(2U * n_frames + 1U, sizeof(double));
  if (!wanted) {
    return VW_NO_MEMORY;
  }
  double* const held = wanted + n_frames;
  *limited = (VwLimited){0.0, 0.0};
  const double peak = vw_peak_find(sound, ceiling / 2.0, wanted);
  if (peak > ceiling * (1.0 + ROUNDING)) {
    wanted_at_peaks(ceiling, wanted, n_frames);
    hold(wanted, n_frames, vw_frames_of_s(HOLD_S, sound->rate_hz), held);
    lead(wanted, n_frames, vw_frames_of_s(AHEAD_S, sound->rate_hz), held);
    release(held, n_frames, sound->rate_hz);
    *limited = apply(held, sound);
  }
  free(wanted);
  return VW_OK;
}
