#include "base/units.h"
#include "lamp/lamp.h"

#include "volleyweave/volleyweave.h"

#include <assert.h>
#include <math.h>

// What tracks have, 2000 to 4000 Hz, with room for a mean that noise pulls off
// and for a tone lowered to 0.4 of a low sample rate (simulated here).
#define TONE_LEAST_HZ 1500.0
#define TONE_MOST_HZ 4200.0

// Of the frames at which the tone is there, so many have it in full: edges of
// 1 ms leave 80 % of the shortest pulse (closed form). Of a decay it is less
// than half: from 1 to 0.25 it takes ln 4, to 0.85 ln(1 / 0.85), an eighth of
// that.
#define THERE 0.25
#define HALF 0.5
#define FULL 0.85
#define SHARE_FULL_LEAST 0.7

static double
value_at(const VwSound* sound, size_t frame) {
  return (double)sound->values[2U * frame + 1U];
}

/// Half of what a frame's neighbours have in common.
static double
middle_at(const VwSound* sound, size_t frame) {
  return 0.5 * (value_at(sound, frame - 1U) + value_at(sound, frame + 1U));
}

/// The cosine of the mean turn from frame to frame; NaN where all is silent.
static double
turn_of(const VwSound* sound) {
  double energy = 0.0;
  double common = 0.0;
  for (size_t i = 1; i + 1U < sound->n_frames; ++i) {
    const double x = value_at(sound, i);
    energy += x * x;
    common += x * middle_at(sound, i);
  }
  return common / energy;
}

static double
hz_of(const VwSound* sound, double turn) {
  return acos(turn) / (2.0 * VW_PI) * sound->rate_hz;
}

/// The tone's amplitude at a frame.
static double
height_at(const VwSound* sound, size_t frame, double sine) {
  const double across =
    0.5 * (value_at(sound, frame + 1U) - value_at(sound, frame - 1U)) / sine;
  return hypot(value_at(sound, frame), across);
}

static double
highest(const VwSound* sound, double sine) {
  double most = 0.0;
  for (size_t i = 1; i + 1U < sound->n_frames; ++i) {
    most = fmax(most, height_at(sound, i, sine));
  }
  return most;
}

/// Whether the tone is there in full, or not at all.
static bool
is_keyed(const VwSound* sound, double sine) {
  const double most = highest(sound, sine);
  size_t       n_there = 0;
  size_t       n_full = 0;
  for (size_t i = 1; i + 1U < sound->n_frames; ++i) {
    const double height = height_at(sound, i, sine);
    n_there += height > THERE * most ? 1U : 0U;
    n_full += height > FULL * most ? 1U : 0U;
  }
  return (double)n_full >= SHARE_FULL_LEAST * (double)n_there;
}

/// Count the pulses and how long they are in all.
static void
count_pulses(const VwSound* sound, double sine, VwLampTrack* track) {
  const double most = highest(sound, sine);
  size_t       n_lit = 0;
  bool         on = false;
  for (size_t i = 1; i + 1U < sound->n_frames; ++i) {
    const double height = height_at(sound, i, sine);
    const bool   lit = height > HALF * most;
    track->pulses += lit && !on ? 1U : 0U;
    on = lit || (on && height > THERE * most);
    n_lit += lit ? 1U : 0U;
  }
  track->level_dbfs = vw_db_of_power(most * most);
  track->on_ms =
    1000.0 * (double)n_lit / (double)track->pulses / sound->rate_hz;
}

/// The cosine of the tone's turn from frame to frame; NaN where there is no
/// track.
static double
turn_of_track(const VwSound* sound) {
  if (sound->n_channels != 2U || sound->n_frames < 3U) {
    return (double)NAN;
  }
  const double turn = turn_of(sound);
  if (!(fabs(turn) < 1.0)) {
    return (double)NAN;
  }
  const double hz = hz_of(sound, turn);
  return hz >= TONE_LEAST_HZ && hz <= TONE_MOST_HZ &&
             is_keyed(sound, sqrt(1.0 - turn * turn))
           ? turn
           : (double)NAN;
}

bool
vw_has_lamp_track(const VwSound* sound) {
  assert(sound);
  return isfinite(turn_of_track(sound));
}

bool
vw_lamp_track_find(const VwSound* sound, VwLampTrack* track) {
  assert(sound && track);
  const double turn = turn_of_track(sound);
  if (!isfinite(turn)) {
    return false;
  }
  *track = (VwLampTrack){.tone_hz = hz_of(sound, turn)};
  count_pulses(sound, sqrt(1.0 - turn * turn), track);
  return true;
}
