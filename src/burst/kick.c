// A kick: a short low tone under a shot, which is felt in the hand.

#include "base/ranges.h"
#include "base/units.h"
#include "burst/internal.h"
#include "signal/signal.h"

#include <math.h>

#define RISE_S 0.003
#define END_S 0.002 // of its end, faded to zero

// No kick sounds on for longer, whatever the period (chosen here).
#define LONGEST_S 0.120

// Its level is that of its own frequency over so long from the attack on.
#define HEARD_S 0.020

// A shot that has less than this at the kick's frequency, beside its level over
// that time, counts as having so much (chosen here): a kick of 12 dB is then as
// strong as all of the shot.
#define LEAST_DB (-12.0)

// A low tone that small bodies still give on to the hand, unless the resonance
// of a transducer is known (chosen here).
#define USUAL_HZ 120.0

VwKickTone
vw_kick_tone(const VwFamilyOptions* options, double period_s) {
  const VwSpeaker* const speaker = &options->level.speaker;
  const bool             shakes = speaker->resonance_hz > 0.0;
  const bool             is_short = period_s > 0.0 && period_s < LONGEST_S;
  VwKickTone             tone = {.db = options->kick_db};
  tone.hz = shakes ? speaker->resonance_hz : USUAL_HZ;
  tone.decay_s = is_short ? period_s : LONGEST_S;
  tone.is_laid = tone.db > 0.0 && speaker->corner_hz <= tone.hz;
  return tone;
}

size_t
vw_kick_body(const VwPlan* plan) {
  const double body_s =
    fmin(HEARD_S, VW_ATTACK_SHARE_MOST * vw_plan_period_s(plan));
  return vw_shot_pre_roll(plan->rate_hz) +
         vw_frames_of_s(body_s, plan->rate_hz);
}

/// A rise from zero, a decay by 60 dB, and an end in zero.
static double
envelope(const VwKickTone* tone, double at_s) {
  const double rise = fmin(at_s / RISE_S, 1.0);
  const double end = fmin((tone->decay_s - at_s) / END_S, 1.0);
  return end <= 0.0
           ? 0.0
           : 0.25 * (1.0 - cos(VW_PI * rise)) * (1.0 - cos(VW_PI * end)) *
               vw_gain_of_db(-60.0 * at_s / tone->decay_s);
}

/// A sum over the window at one frequency.
typedef struct {
  double real;
  double imaginary;
} Bin;

/// What a shot has in a Hann window from its attack on, and what the two tones
/// would have of which a kick is made up.
typedef struct {
  Bin    shot;
  Bin    cosine;
  Bin    sine;
  double least; ///< What the shot counts as having.
} Heard;

static void
add(Bin* bin, double value, double angle) {
  bin->real += value * cos(angle);
  bin->imaginary -= value * sin(angle);
}

static Heard
hear(const VwKickTone* tone, const VwSound* shot, size_t from) {
  const size_t n = vw_frames_of_s(HEARD_S, shot->rate_hz);
  Heard        heard = {0};
  double       weights = 0.0;
  double       squares = 0.0;
  double       power = 0.0;
  for (size_t i = 0; i < n; ++i) {
    const double at_s = (double)i / shot->rate_hz;
    const double angle = 2.0 * VW_PI * tone->hz * at_s;
    const double weight = 1.0 - cos(2.0 * VW_PI * (double)i / (double)n);
    const double kick = weight * envelope(tone, at_s);
    const size_t at = (from + i) * shot->n_channels;
    const bool   there = from + i < shot->n_frames;
    for (unsigned c = 0; there && c < shot->n_channels; ++c) {
      const double value = (double)shot->values[at + c];
      add(&heard.shot, weight * value / shot->n_channels, angle);
    }
    add(&heard.cosine, kick * cos(angle), angle);
    add(&heard.sine, kick * sin(angle), angle);
    weights += weight;
    squares += weight * weight;
    power += there ? weight * weight * vw_sound_power_at(shot, from + i) : 0.0;
  }
  // A tone of that RMS has half its amplitude, times the weights, in the bin.
  heard.least = sqrt(power / squares / 2.0) * weights * vw_gain_of_db(LEAST_DB);
  return heard;
}

VwStatus
vw_kick_lay(const VwKickTone* tone,
            size_t            from,
            size_t            frames_unit,
            VwSound*          shot) {
  const Heard  heard = hear(tone, shot, from);
  const Bin    shape[] = {heard.cosine, heard.sine};
  const double there = hypot(heard.shot.real, heard.shot.imaginary);
  const double more =
    vw_gain_of_db(tone->db) * fmax(there, heard.least) - there;
  // In phase with what is there; both tones together have that.
  const Bin aim = {there > 0.0 ? more * heard.shot.real / there : more,
                   there > 0.0 ? more * heard.shot.imaginary / there : 0.0};
  const double apart =
    shape[0].real * shape[1].imaginary - shape[0].imaginary * shape[1].real;
  const double cosine =
    (aim.real * shape[1].imaginary - aim.imaginary * shape[1].real) / apart;
  const double sine =
    (shape[0].real * aim.imaginary - shape[0].imaginary * aim.real) / apart;
  const size_t   n = vw_frames_of_s(tone->decay_s, shot->rate_hz) + 1U;
  const size_t   least = from + n;
  const VwStatus st = vw_sound_pad(
    shot, frames_unit, shot->n_frames > least ? shot->n_frames : least);
  for (size_t i = 0; !st && i < n; ++i) {
    const double at_s = (double)i / shot->rate_hz;
    const double angle = 2.0 * VW_PI * tone->hz * at_s;
    const double kick =
      envelope(tone, at_s) * (cosine * cos(angle) + sine * sin(angle));
    for (unsigned c = 0; c < shot->n_channels; ++c) {
      shot->values[(from + i) * shot->n_channels + c] += (float)kick;
    }
  }
  return st;
}

VwStatus
vw_kick_measure(const VwKickTone* tone,
                const VwSound*    plain,
                const VwSound*    kicked,
                VwKick*           kick) {
  double   before_lufs = 0.0;
  double   after_lufs = 0.0;
  double   before = 0.0;
  double   after = 0.0;
  VwStatus st = vw_loudness_of_effect(plain, &before_lufs);
  st = st ? st : vw_loudness_of_effect(kicked, &after_lufs);
  for (size_t i = 0; !st && i < kicked->n_frames; ++i) {
    before += i < plain->n_frames ? vw_sound_power_at(plain, i) : 0.0;
    after += vw_sound_power_at(kicked, i);
  }
  if (!st && after > 0.0) {
    *kick = (VwKick){.hz = tone->hz,
                     .share = fmax(1.0 - before / after, 0.0),
                     .loudness_lu = after_lufs - before_lufs};
  }
  return st;
}
