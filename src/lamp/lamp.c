#include "lamp/lamp.h"

#include "base/units.h"
#include "burst/burst.h"
#include "lamp/pulse.h"
#include "signal/signal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// The first channel counts unless another is 20 dB stronger (chosen here): the
// second may be a lamp track.
#define FAINT_POWER 0.01

static double
energy_of(const VwSound* sound, unsigned channel) {
  double energy = 0.0;
  for (size_t i = 0; i < sound->n_frames; ++i) {
    const double x = (double)sound->values[i * sound->n_channels + channel];
    energy += x * x;
  }
  return energy;
}

VwStatus
vw_pulse_channel(const VwSound* sound, VwSound* mono) {
  const unsigned strongest = vw_sound_strongest(sound, 0, sound->n_frames);
  const double   energy = energy_of(sound, 0);
  // A lamp track is no sound, however faint that is.
  const bool faint = energy < FAINT_POWER * energy_of(sound, strongest) &&
                     !(energy > 0.0 && vw_has_lamp_track(sound));
  return vw_sound_channel(sound, faint ? strongest : 0U, mono);
}

static VwStatus
play(const VwSound* mono, size_t n_more, VwSound* played) {
  const size_t   n = mono->n_frames;
  const VwStatus st = vw_sound_init(played, n + 2U * n_more, 1U, mono->rate_hz);
  for (size_t i = 0; !st && i < played->n_frames; ++i) {
    played->values[i] = mono->values[(i + n - n_more % n) % n];
  }
  return st;
}

VwStatus
vw_pulses_take(const VwSound* loop, size_t shots, VwPulses* pulses) {
  VwPulses out = {.n_cycle = loop->n_frames, .shots = shots};
  VwSound  mono = {0};
  VwSound  played = {0};
  VwStatus st = loop->n_frames ? vw_pulse_channel(loop, &mono) : VW_SILENT;
  // One cycle to read, and one on each side for the level's window to reach
  // into.
  st = st ? st : play(&mono, mono.n_frames, &played);
  st = st ? st : vw_curve_take(&played, &out.curve);
  vw_sound_clear(&mono);
  vw_sound_clear(&played);
  if (st) {
    return st;
  }
  const size_t crest = vw_curve_crest(&out.curve, 0, out.curve.n_steps);
  if (!(out.curve.level[crest] > 0.0)) {
    vw_pulses_clear(&out);
    return VW_SILENT;
  }
  *pulses = out;
  return VW_OK;
}

void
vw_pulses_clear(VwPulses* pulses) {
  if (pulses) {
    vw_curve_clear(&pulses->curve);
    memset(pulses, 0, sizeof(*pulses));
  }
}

size_t
vw_pulses_step(const VwPulses* pulses, size_t shot, double share) {
  const double cycle = (double)pulses->n_cycle / (double)pulses->curve.n_step;
  const double at =
    cycle * (1.0 + ((double)shot + share) / (double)pulses->shots);
  const size_t step = (size_t)(at + 0.5);
  return step < pulses->curve.n_steps ? step : pulses->curve.n_steps - 1U;
}

// A flash of 20 to 50 ms reads well, and the lamp should be dark for at least
// half the period (common practice).
#define ON_MS 30.0
#define ON_SHARE 0.4
#define ON_LEAST_MS 20.0
#define ON_MOST_MS 50.0
#define ON_SHARE_MOST 0.5

// The lamp of a single shot has no period. 2 per second leave it its on-time:
// 0.4 of their period is more than that, and half of it the most (closed form).
#define LONE_PER_S 2.0

// So far below its crest a shot still counts as loud (chosen here).
#define NEAR_DB 12.0

VwLamp
vw_lamp_with(double fire_rate_per_s, double on_ms) {
  const double period_ms = 1000.0 / fire_rate_per_s;
  return (VwLamp){fire_rate_per_s, period_ms, on_ms, on_ms / period_ms};
}

VwLamp
vw_lamp(double fire_rate_per_s) {
  const double period_ms = 1000.0 / fire_rate_per_s;
  return vw_lamp_with(fire_rate_per_s, fmin(ON_MS, ON_SHARE * period_ms));
}

/// Where the level passes a value on the way from one step to the next, as a
/// share of it.
static double
passes_at(const VwCurve* curve, size_t step, double level) {
  const double low = curve->level[step];
  const double high = curve->level[step + 1U];
  return fabs(high - low) > 0.0 ? (level - low) / (high - low) : 0.0;
}

/// For how long about a shot's crest the level lies within 12 dB of it, in
/// steps, a period at most.
static double
near_steps(const VwPulses* pulses, size_t shot) {
  const VwCurve* const curve = &pulses->curve;
  const size_t         from = vw_pulses_step(pulses, shot, 0.0);
  const size_t         to = vw_pulses_step(pulses, shot, 1.0);
  const size_t         crest = vw_curve_crest(curve, from, to);
  const double         least = curve->level[crest] * vw_power_of_db(-NEAR_DB);
  size_t               first = crest;
  size_t               last = crest;
  while (first > 0U && crest - first < to - from &&
         curve->level[first - 1U] >= least) {
    --first;
  }
  while (last + 1U < curve->n_steps && last - first < to - from &&
         curve->level[last + 1U] >= least) {
    ++last;
  }
  if (!first || last + 1U == curve->n_steps || last - first >= to - from) {
    return (double)(to - from);
  }
  return (double)(last - first) + passes_at(curve, last, least) +
         (1.0 - passes_at(curve, first - 1U, least));
}

/// An on-time, but for one that is longer than half the period.
static VwOnTime
held(double on_ms, double near_ms, double period_ms, VwOnReason reason) {
  const double most_ms = ON_SHARE_MOST * period_ms;
  return on_ms > most_ms ? (VwOnTime){most_ms, near_ms, most_ms, VW_ON_HALF}
                         : (VwOnTime){on_ms, near_ms, most_ms, reason};
}

/// A flash that reads well, of a shot that is loud for so long.
static VwOnTime
on_time_for(double near_ms, double period_ms) {
  return near_ms < ON_LEAST_MS
           ? held(ON_LEAST_MS, near_ms, period_ms, VW_ON_LEAST)
         : near_ms > ON_MOST_MS
           ? held(ON_MOST_MS, near_ms, period_ms, VW_ON_MOST)
           : held(near_ms, near_ms, period_ms, VW_ON_SOUND);
}

VwOnTime
vw_on_time_usual(double period_ms) {
  return held(
    vw_lamp(1000.0 / period_ms).on_ms, (double)NAN, period_ms, VW_ON_USUAL);
}

void
vw_on_time_ask(double asked_ms, VwOnTime* on_time) {
  if (asked_ms > 0.0) {
    *on_time = held(asked_ms,
                    on_time->near_ms,
                    on_time->most_ms / ON_SHARE_MOST,
                    VW_ON_ASKED);
  }
}

/// A loop with the gap behind it.
static VwStatus
add_gap(const VwSound* loop, size_t n_gap, VwSound* heard) {
  VwSound        out = {0};
  const VwStatus st = vw_sound_init(
    &out, loop->n_frames + n_gap, loop->n_channels, loop->rate_hz);
  if (!st) {
    memcpy(out.values,
           loop->values,
           loop->n_frames * loop->n_channels * sizeof(float));
    *heard = out;
  }
  return st;
}

/// The mean of all shots.
static double
near_ms(const VwPulses* pulses) {
  double steps = 0.0;
  for (size_t i = 0; i < pulses->shots; ++i) {
    steps += near_steps(pulses, i);
  }
  return 1000.0 * pulses->curve.step_s * steps / (double)pulses->shots;
}

VwStatus
vw_on_time_of_loop(const VwSound* loop,
                   size_t         shots,
                   double         gap_ms,
                   VwOnTime*      on_time) {
  VwPulses pulses = {0};
  VwSound  heard = {0};
  VwStatus st =
    add_gap(loop, vw_frames_of_s(gap_ms / 1000.0, loop->rate_hz), &heard);
  st = st ? st : vw_pulses_take(&heard, shots, &pulses);
  vw_sound_clear(&heard);
  if (st) {
    return st;
  }
  const double period_ms =
    1000.0 * (double)loop->n_frames / loop->rate_hz / (double)shots;
  *on_time = on_time_for(near_ms(&pulses), period_ms);
  vw_pulses_clear(&pulses);
  return VW_OK;
}

VwOnTime
vw_on_time_of_shot(const VwFamilyOptions* options) {
  VwOnTime on_time = vw_on_time_usual(1000.0 / LONE_PER_S);
  vw_on_time_ask(options->lamp_on_ms, &on_time);
  return on_time;
}

/* Of a family */

/// The cycle that is written, or NULL: a finished burst repeats nothing.
static const VwPiece*
loop_of(const VwFamily* family) {
  for (size_t i = 0; i < family->n_pieces; ++i) {
    if (family->pieces[i].part == VW_PART_LOOP) {
      return &family->pieces[i];
    }
  }
  return NULL;
}

/// The loop that a piece marks, or all of it. Owns nothing.
static VwSound
marked(const VwPiece* piece) {
  VwSound sound = piece->sound;
  if (piece->has_loop) {
    sound.values += piece->loop_start * sound.n_channels;
    sound.n_frames = piece->loop_end - piece->loop_start;
  }
  return sound;
}

VwStatus
vw_lamp_of_family(const VwFamilyOptions* options, VwFamily* family) {
  const VwPlan* const  plan = &family->plan;
  const VwPiece* const loop = loop_of(family);
  // A heard gap makes it shorter than the lamp's mean period.
  const double period_ms = 1000.0 * vw_plan_period_s(plan);
  VwOnTime     on_time = vw_on_time_usual(period_ms);
  if (loop) {
    const VwSound  sound = marked(loop);
    const double   gap_ms = 1000.0 * (double)plan->gap_frames / plan->rate_hz;
    const VwStatus st =
      vw_on_time_of_loop(&sound, plan->shots, gap_ms, &on_time);
    if (st && st != VW_SILENT) {
      return st;
    }
  }
  vw_on_time_ask(options->lamp_on_ms, &on_time);
  family->on_time = on_time;
  family->lamp = vw_lamp_with(plan->fire_rate_per_s, on_time.on_ms);
  return VW_OK;
}

// Loudness over power: it doubles every 10 dB (S. S. Stevens, "The measurement
// of loudness", J. Acoust. Soc. Am. 27, 1955), lg 2 in decades.
#define LOUDNESS_POWER 0.30102999566398120

#define BRIGHTEST 255.0

// A level falls by so much in the on-time, as that of a loop does whose on-time
// was taken from it (chosen here).
#define FALL_DB 12.0

static unsigned char
brightness_of(double power, double gamma) {
  const double share = pow(fmin(fmax(power, 0.0), 1.0), LOUDNESS_POWER * gamma);
  return (unsigned char)(BRIGHTEST * share + 0.5);
}

/// Mean level of a step of the period over all shots.
static double
level_in(const VwPulses* pulses, size_t step, size_t n_steps) {
  double sum = 0.0;
  for (size_t shot = 0; shot < pulses->shots; ++shot) {
    const double share = (double)step / (double)n_steps;
    const size_t from = vw_pulses_step(pulses, shot, share);
    const size_t next =
      vw_pulses_step(pulses, shot, share + 1.0 / (double)n_steps);
    const size_t to = next > from ? next : from + 1U;
    double       mean = 0.0;
    for (size_t i = from; i < to; ++i) {
      mean += pulses->curve.level[i] / (double)(to - from);
    }
    sum += mean;
  }
  return sum / (double)pulses->shots;
}

static VwStatus
set_steps(const VwPulses* pulses,
          double          gamma,
          size_t          n_steps,
          unsigned char*  steps) {
  double* const levels = calloc(n_steps, sizeof(double));
  double        most = 0.0;
  if (!levels) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < n_steps; ++i) {
    levels[i] = level_in(pulses, i, n_steps);
    most = fmax(most, levels[i]);
  }
  for (size_t i = 0; i < n_steps; ++i) {
    steps[i] = brightness_of(levels[i] / most, gamma);
  }
  free(levels);
  return VW_OK;
}

VwStatus
vw_brightness_of_loop(const VwSound* loop,
                      size_t         shots,
                      double         gamma,
                      size_t         n_steps,
                      unsigned char* steps) {
  VwPulses pulses = {0};
  VwStatus st = vw_pulses_take(loop, shots, &pulses);
  st = st ? st : set_steps(&pulses, gamma, n_steps, steps);
  vw_pulses_clear(&pulses);
  return st;
}

void
vw_brightness_of_decay(const VwLamp*  lamp,
                       double         gamma,
                       size_t         n_steps,
                       unsigned char* steps) {
  for (size_t i = 0; i < n_steps; ++i) {
    const double at_ms = lamp->period_ms * (double)i / (double)n_steps;
    const double fallen_db = FALL_DB * at_ms / lamp->on_ms;
    steps[i] = brightness_of(vw_power_of_db(-fallen_db), gamma);
  }
}
