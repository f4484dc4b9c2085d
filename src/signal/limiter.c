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

/// A limiter as it runs.
typedef struct {
  double  ceiling;
  double  ceiling_db;
  double  keep;    ///< What is left of a reduction after a frame.
  size_t  n_hold;  ///< Frames.
  size_t  n_ahead; ///< Frames, at least 1.
  size_t  n_ring;  ///< A power of two.
  double* ring;    ///< What is held at the frames to come, dB. Owned.
  double  reduction_db;
} Limiter;

static VwStatus
limiter_init(double ceiling, unsigned rate_hz, Limiter* limiter) {
  *limiter = (Limiter){
    .ceiling = ceiling,
    .ceiling_db = vw_db_of_power(ceiling * ceiling),
    .keep = pow(10.0, -1.0 / (VW_LIMITER_RELEASE_S * (double)rate_hz)),
    .n_hold = vw_frames_of_s(HOLD_S, rate_hz),
    .n_ahead = vw_frames_of_s(AHEAD_S, rate_hz),
    .n_ring = 1};
  while (limiter->n_ring < limiter->n_hold + limiter->n_ahead) {
    limiter->n_ring *= 2U;
  }
  limiter->ring = calloc(limiter->n_ring, sizeof(double));
  return limiter->ring ? VW_OK : VW_NO_MEMORY;
}

static double*
held_at(const Limiter* limiter, size_t frame) {
  return &limiter->ring[frame & (limiter->n_ring - 1U)];
}

/// Lead up to a reduction on a straight line, and hold it.
static void
hold(const Limiter* limiter, double wanted_db, size_t frame) {
  const size_t n_ahead = limiter->n_ahead;
  for (size_t back = 1; back < n_ahead && back <= frame; ++back) {
    double* const held = held_at(limiter, frame - back);
    const double  part = 1.0 - (double)back / (double)n_ahead;
    const double  led = wanted_db * part;
    *held = *held > led ? *held : led;
  }
  // What is held for earlier peaks never rises.
  for (size_t i = frame + limiter->n_hold + 1U;
       i-- > frame && *held_at(limiter, i) < wanted_db;) {
    *held_at(limiter, i) = wanted_db;
  }
}

/// Take in the peak of a frame. Returns the reduction of the frame `n_ahead -
/// 1` before it, in dB.
static double
limiter_step(Limiter* limiter, double peak, size_t frame) {
  if (peak > limiter->ceiling) {
    hold(limiter, vw_db_of_power(peak * peak) - limiter->ceiling_db, frame);
  }
  double* const held = held_at(limiter, frame + 1U - limiter->n_ahead);
  const double  kept = limiter->reduction_db * limiter->keep;
  const double  most = *held > kept ? *held : kept;
  *held = 0.0;
  limiter->reduction_db = most;
  if (most < LEAST_DB) {
    limiter->reduction_db = 0.0;
  }
  return limiter->reduction_db;
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

/// Highest values about frames, again and again.
typedef struct {
  float* values;
  size_t n;
  size_t n_before; ///< So many come before those about a sound's own frames.
} Peaks;

/// Turn a sound down by the peaks about its frames.
static VwStatus
turn_down(double       ceiling,
          const Peaks* peaks,
          VwSound*     sound,
          VwLimited*   limited) {
  Limiter        limiter;
  const VwStatus st = limiter_init(ceiling, sound->rate_hz, &limiter);
  if (st) {
    return st;
  }
  const size_t from = peaks->n_before + limiter.n_ahead - 1U;
  double       highest = 0.0;
  size_t       n_counted = 0;
  size_t       n_audible = 0;
  size_t       at = 0;
  for (size_t i = 0; i < from + sound->n_frames; ++i) {
    const double reduction = limiter_step(&limiter, peaks->values[at], i);
    at = at + 1U < peaks->n ? at + 1U : 0U;
    if (reduction > 0.0 && i >= from) {
      vw_sound_scale_frame(sound, i - from, gain_of(reduction));
      highest = reduction > highest ? reduction : highest;
      n_counted += reduction > COUNTED_DB ? 1U : 0U;
      n_audible += reduction > AUDIBLE_DB ? 1U : 0U;
    }
  }
  free(limiter.ring);
  *limited = (VwLimited){highest,
                         1000.0 * (double)n_counted / sound->rate_hz,
                         (double)n_audible / (double)sound->n_frames};
  return VW_OK;
}

VwStatus
vw_limiter_run(double ceiling, VwSound* sound, VwLimited* limited) {
  *limited = (VwLimited){0};
  if (ceiling == HUGE_VAL) {
    return VW_OK;
  }
  const size_t n = sound->n_frames + vw_frames_of_s(AHEAD_S, sound->rate_hz);
  const Peaks  peaks = {calloc(n, sizeof(float)), n, 0U};
  if (!peaks.values) {
    return VW_NO_MEMORY;
  }
  const double   peak = vw_peak_find(sound, ceiling / 2.0, peaks.values);
  const VwStatus st = peak > ceiling * (1.0 + ROUNDING)
                        ? turn_down(ceiling, &peaks, sound, limited)
                        : VW_OK;
  free(peaks.values);
  return st;
}

/* A steady cycle */

/// A cycle, and so much more as its peaks need about them.
static VwStatus
repeat(const VwSound* cycle, VwSound* more) {
  const size_t   n = (cycle->n_frames + 2U * VW_PEAK_LOBES) * cycle->n_channels;
  const size_t   n_cycle = cycle->n_frames * cycle->n_channels;
  const VwStatus st =
    vw_sound_part(cycle, 0U, cycle->n_frames + 2U * VW_PEAK_LOBES, more);
  for (size_t i = n_cycle; !st && i < n; ++i) {
    more->values[i] = more->values[i - n_cycle];
  }
  return st;
}

VwStatus
vw_limiter_run_steady(double ceiling, double most_db, VwSound* cycle) {
  const size_t n = cycle->n_frames;
  const double share = vw_gain_of_db(-most_db);
  const double least =
    fmax(ceiling, share * vw_sound_peak(cycle)) * LOOKED_ABOUT;
  VwSound   more = {0};
  VwLimited limited;
  if (ceiling == HUGE_VAL) {
    return VW_OK;
  }
  Peaks    peaks = {calloc(n + 2U * VW_PEAK_LOBES, sizeof(float)), n, n};
  VwStatus st = peaks.values ? repeat(cycle, &more) : VW_NO_MEMORY;
  if (!st) {
    const double peak = vw_peak_find(&more, least, peaks.values);
    const double held = fmax(ceiling, share * peak);
    // About the first frames lies what the last ones have about them.
    memcpy(peaks.values, peaks.values + n, VW_PEAK_LOBES * sizeof(float));
    // From the second turn on it is the same in all of them.
    st = peak > held * (1.0 + ROUNDING)
           ? turn_down(held, &peaks, cycle, &limited)
           : VW_OK;
  }
  vw_sound_clear(&more);
  free(peaks.values);
  return st;
}
