#include "signal/limiter.h"

#include "base/units.h"
#include "signal/signal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// A gain that moves over some milliseconds, beforehand, is not heard as
// distortion (common practice).
#define AHEAD_S 0.0015

// Half a turn of 60 Hz is 8.3 ms: from peak to peak of what is higher the gain
// stays as it is.
#define HOLD_S 0.009

// A reduction below this is let go altogether: a gain of 1 - 1e-8.
#define LEAST_DB 1e-7

// A gain that brings a peak to the ceiling is off by the rounding of floats.
#define ROUNDING 1e-6

// Decibels of an amplitude ratio of e.
#define DB_OF_E 8.685889638065036

// Up to these the terms of exp(-x) that are left out, after the fourth or the
// ninth, are a hundredth of a float's step.
#define SMALL 1e-2
#define MIDDLING 0.5

// In a cycle that is but tried, only what is so near to the ceiling is looked
// about: of 204 loops made of real recordings not one came out otherwise for
// it.
#define LOOKED_ABOUT 0.75

// From here on a reduction counts as limiting.
#define COUNTED_DB 0.1

// From here on it is told for how much of the time (chosen here).
#define AUDIBLE_DB 1.0

/// Hold a reduction from a frame to the last that it is held at. What earlier
/// ones hold there never rises.
static void
hold(double wanted_db, size_t from, size_t last, double* held) {
  for (size_t i = last + 1U; i-- > from && held[i] < wanted_db;) {
    held[i] = wanted_db;
  }
}

/// Lead up to a reduction on a straight line over `n_ahead` frames.
static void
lead(double wanted_db, size_t to, size_t n_ahead, double* held) {
  for (size_t back = 1; back < n_ahead && back <= to; ++back) {
    const double part = 1.0 - (double)back / (double)n_ahead;
    const double led = wanted_db * part;
    held[to - back] = held[to - back] > led ? held[to - back] : led;
  }
}

/// The reductions that bring all peaks to the ceiling, in dB; `held` is zeros.
static void
hold_all(double         ceiling,
         const float*   peaks,
         const VwSound* sound,
         double*        held) {
  const size_t n_frames = sound->n_frames;
  const size_t n_hold = vw_frames_of_s(HOLD_S, sound->rate_hz);
  const size_t n_ahead = vw_frames_of_s(AHEAD_S, sound->rate_hz);
  const double ceiling_db = vw_db_of_power(ceiling * ceiling);
  for (size_t i = 0; i < n_frames; ++i) {
    const double peak = (double)peaks[i];
    if (peak > ceiling) {
      const double wanted_db = vw_db_of_power(peak * peak) - ceiling_db;
      const size_t n_left = n_frames - 1U - i;
      hold(wanted_db, i, i + (n_hold < n_left ? n_hold : n_left), held);
      lead(wanted_db, i, n_ahead, held);
    }
  }
}

/// The gain that takes so many dB away.
static double
gain_of(double reduction_db) {
  const double x = reduction_db / DB_OF_E;
  if (x > MIDDLING) {
    return exp(-x);
  }
  double rest = 1.0 / 6.0;
  if (x > SMALL) {
    rest = 1.0 / 40320.0 - x / 362880.0;
    rest = 1.0 / 720.0 - x * (1.0 / 5040.0 - x * rest);
    rest = 1.0 / 6.0 - x * (1.0 / 24.0 - x * (1.0 / 120.0 - x * rest));
  }
  return 1.0 - x * (1.0 - x * (1.0 / 2.0 - x * rest));
}

/// Turn the frames down by what is held, and let go of it slowly.
static VwLimited
apply(const double* held, VwSound* sound) {
  const double keep =
    pow(10.0, -1.0 / (VW_LIMITER_RELEASE_S * (double)sound->rate_hz));
  double highest = 0.0;
  double reduction = 0.0;
  size_t n_counted = 0;
  size_t n_audible = 0;
  for (size_t i = 0; i < sound->n_frames; ++i) {
    reduction *= keep;
    reduction = held[i] > reduction ? held[i] : reduction;
    if (reduction >= LEAST_DB) {
      vw_sound_scale_frame(sound, i, gain_of(reduction));
      highest = reduction > highest ? reduction : highest;
      n_counted += reduction > COUNTED_DB ? 1U : 0U;
      n_audible += reduction > AUDIBLE_DB ? 1U : 0U;
    } else {
      reduction = 0.0;
    }
  }
  return (VwLimited){highest,
                     1000.0 * (double)n_counted / sound->rate_hz,
                     (double)n_audible / (double)sound->n_frames};
}

VwStatus
vw_limiter_run(double ceiling, VwSound* sound, VwLimited* limited) {
  const size_t n_frames = sound->n_frames;
  *limited = (VwLimited){0};
  if (ceiling == HUGE_VAL) {
    return VW_OK;
  }
  float* const peaks = calloc(n_frames + 1U, sizeof(float));
  if (!peaks) {
    return VW_NO_MEMORY;
  }
  const double   peak = vw_peak_find(sound, ceiling / 2.0, peaks);
  const bool     over = peak > ceiling * (1.0 + ROUNDING);
  double* const  held = over ? calloc(n_frames, sizeof(double)) : NULL;
  const VwStatus st = over && !held ? VW_NO_MEMORY : VW_OK;
  if (over && !st) {
    hold_all(ceiling, peaks, sound, held);
    *limited = apply(held, sound);
  }
  free(held);
  free(peaks);
  return st;
}

/* A steady cycle */

/// Fill `turns` with a cycle, again and again.
static void
repeat(const VwSound* cycle, VwSound* turns) {
  const size_t n_cycle = cycle->n_frames * cycle->n_channels;
  const size_t n_turns = turns->n_frames * turns->n_channels;
  for (size_t i = 0; i < n_turns; i += n_cycle) {
    const size_t n = n_turns - i < n_cycle ? n_turns - i : n_cycle;
    memcpy(turns->values + i, cycle->values, n * sizeof(float));
  }
}

/// Find the peaks of `turns` on one cycle of them, about which others lie.
/// Returns the highest.
static double
peaks_of_turns(const VwSound* turns,
               size_t         n_cycle,
               double         least,
               float*         peaks) {
  VwSound part = *turns; // a view
  part.n_frames = n_cycle + 2U * VW_PEAK_LOBES;
  const double peak = vw_peak_find(&part, least, peaks);
  for (size_t i = 0; i < VW_PEAK_LOBES; ++i) {
    peaks[i] = peaks[n_cycle + i];
  }
  for (size_t i = n_cycle; i < turns->n_frames; ++i) {
    peaks[i] = peaks[i - n_cycle];
  }
  return peak;
}

VwStatus
vw_limiter_run_steady(double ceiling, double most_db, VwSound* cycle) {
  const size_t n = cycle->n_frames;
  const double share = vw_gain_of_db(-most_db);
  const double least =
    fmax(ceiling, share * vw_sound_peak(cycle)) * LOOKED_ABOUT;
  const size_t n_all =
    2U * n + 2U * VW_PEAK_LOBES + vw_frames_of_s(AHEAD_S, cycle->rate_hz);
  VwSound turns = {0};
  if (ceiling == HUGE_VAL) {
    return VW_OK;
  }
  VwStatus st = vw_sound_init(&turns, n_all, cycle->n_channels, cycle->rate_hz);
  float* const  peaks = calloc(n_all, sizeof(float));
  double* const held = calloc(n_all, sizeof(double));
  st = st || (peaks && held) ? st : VW_NO_MEMORY;
  if (!st) {
    repeat(cycle, &turns);
    const double peak = peaks_of_turns(&turns, n, least, peaks);
    const double least_held = fmax(ceiling, share * peak);
    if (peak > least_held * (1.0 + ROUNDING)) {
      // From the second turn on it is the same in all of them.
      hold_all(least_held, peaks, &turns, held);
      (void)apply(held, &turns);
      memcpy(cycle->values,
             turns.values + n * cycle->n_channels,
             n * cycle->n_channels * sizeof(float));
    }
  }
  vw_sound_clear(&turns);
  free(held);
  free(peaks);
  return st;
}
