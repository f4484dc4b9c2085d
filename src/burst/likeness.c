#include "base/ranges.h"
#include "base/units.h"
#include "burst/burst.h"
#include "burst/internal.h"
#include "signal/signal.h"
#include "take/take.h"

#include <math.h>
#include <stdlib.h>

// What is so far below the crest moves no level (chosen here).
#define DEEPEST_DB 40.0

// A power that no file holds.
#define SILENCE 1e-20

double
vw_shot_body(const VwSound* sound, size_t from, size_t n_period) {
  const size_t n_all = sound->n_frames;
  const size_t n_body = vw_frames_of_s(VW_BODY_S, sound->rate_hz);
  const size_t n = n_body < n_period ? n_body : n_period;
  const size_t n_late =
    vw_shot_pre_roll(sound->rate_hz) +
    vw_frames_of_s(2e-3 * VW_VARIANT_TIMING_MS, sound->rate_hz);
  double energy = 0.0;
  double most = 0.0;
  for (size_t i = 0; i < n + n_late; ++i) {
    energy += vw_sound_power_at(sound, (from + i) % n_all);
    if (i >= n) {
      energy -= vw_sound_power_at(sound, (from + i - n) % n_all);
    }
    most = fmax(most, energy);
  }
  return vw_db_of_power(fmax(most / (double)n, SILENCE));
}

VwStatus
vw_shot_levels(const VwSound* cycle,
               const VwPlan*  plan,
               unsigned       shot,
               VwShotLevels*  levels) {
  VwSound      heard = *cycle; // a view
  const size_t from = vw_plan_start(plan, shot);
  heard.values += from * cycle->n_channels;
  const size_t to = vw_plan_start(plan, shot + 1U);
  const size_t n_file = vw_plan_file_frames(plan); // what follows is the gap
  heard.n_frames = (to < n_file ? to : n_file) - from;
  levels->body_db = vw_shot_body(cycle, from, heard.n_frames);
  const VwStatus st = vw_loudness_of_effect(&heard, &levels->lufs);
  levels->lufs = fmax(levels->lufs, vw_db_of_power(SILENCE)); // of NaN too
  return st;
}

/// Correlation of `n` values.
static double
correlation(const double* one, const double* other, size_t n) {
  double product = 0.0;
  double energy = 0.0;
  double energy_of_other = 0.0;
  for (size_t i = 0; i < n; ++i) {
    product += one[i] * other[i];
    energy += one[i] * one[i];
    energy_of_other += other[i] * other[i];
  }
  const double norm = sqrt(energy * energy_of_other);
  return norm > 0.0 ? product / norm : 1.0;
}

/// A cycle's frames, and how its level moves from frame to frame in dB.
typedef struct {
  double* wave;
  double* rise;
} Courses;

/// The cycle three times over, so that a window finds what lies about it.
static void
repeat(const VwSound* cycle, double* wave, double* power) {
  const size_t n = cycle->n_frames;
  for (size_t i = 0; i < 3U * n; ++i) {
    const float* const frame =
      cycle->values + i % n * (size_t)cycle->n_channels;
    double sum = 0.0;
    for (unsigned c = 0; c < cycle->n_channels; ++c) {
      sum += (double)frame[c];
    }
    wave[i] = sum;
    power[i] = vw_sound_power_at(cycle, i % n);
  }
}

static VwStatus
follow(const VwSound* cycle, double* power, double* rise) {
  const size_t n = cycle->n_frames;
  const size_t n_window = vw_frames_of_s(VW_LEVEL_WINDOW_S, cycle->rate_hz);
  VwHann       hann = {0};
  double       crest = 0.0;
  if (vw_hann_init(&hann, power, 3U * n, n_window)) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i <= n; ++i) {
    rise[i] = vw_hann_mean(&hann, n + i);
    crest = fmax(crest, rise[i]);
  }
  const double least =
    fmax(crest, 1e-30) * vw_power_of_db(-DEEPEST_DB); // of silence too
  for (size_t i = 0; i <= n; ++i) {
    rise[i] = vw_db_of_power(fmax(rise[i], least));
  }
  for (size_t i = 0; i < n; ++i) {
    rise[i] = rise[i + 1U] - rise[i];
  }
  vw_hann_clear(&hann);
  return VW_OK;
}

static void
compare(const Courses* courses, const VwPlan* plan, VwLikeness* most) {
  for (unsigned shot = 0; shot < plan->shots; ++shot) {
    const size_t from = vw_plan_start(plan, shot);
    const size_t to = vw_plan_start(plan, shot + 1U);
    const size_t next = to % plan->n_frames;
    const size_t end = vw_plan_start(plan, shot + 2U);
    const size_t n = end - to < to - from ? end - to : to - from;
    most->waveform =
      fmax(most->waveform,
           correlation(courses->wave + from, courses->wave + next, n));
    // One less: the last step leads to the next shot.
    most->envelope =
      fmax(most->envelope,
           correlation(courses->rise + from, courses->rise + next, n - 1U));
  }
}

/// By how much neighbours differ.
static VwStatus
weigh(const VwSound* cycle, const VwPlan* plan, VwLikeness* most) {
  VwShotLevels one;
  VwStatus     st = vw_shot_levels(cycle, plan, plan->shots - 1U, &one);
  for (unsigned i = 0; !st && i < plan->shots; ++i) {
    const VwShotLevels last = one;
    st = vw_shot_levels(cycle, plan, i, &one);
    most->body_db = fmax(most->body_db, fabs(one.body_db - last.body_db));
    most->loudness_lu = fmax(most->loudness_lu, fabs(one.lufs - last.lufs));
  }
  return st;
}

VwStatus
vw_likeness_of_cycle(const VwSound* cycle,
                     const VwPlan*  plan,
                     VwLikeness*    likeness) {
  const size_t  n = cycle->n_frames;
  double* const room = calloc(3U * (3U * n + 1U), sizeof(double));
  if (!room) {
    return VW_NO_MEMORY;
  }
  const Courses courses = {room, room + 3U * n};
  double* const power = courses.rise + 3U * n + 1U;
  repeat(cycle, courses.wave, power);
  VwLikeness most = {-1.0, -1.0, 0.0, 0.0};
  VwStatus   st = follow(cycle, power, courses.rise);
  st = st ? st : weigh(cycle, plan, &most);
  if (!st) {
    compare(&courses, plan, &most);
    *likeness = most;
  }
  free(room);
  return st;
}
