#include "base/units.h"
#include "signal/signal.h"
#include "take/internal.h"

#include <math.h>

// A slow rise is supposed straight. Its start is looked for so far before and
// after the change point, in so many steps.
#define START_BEFORE 0.05
#define START_AFTER 0.02
#define START_STEPS 70

// No published method names the bounds below; they are chosen here. Moved one
// by one to about half and to about twice, and those in dB by 3 to 15 dB, up
// and down, each still met every bound of the tests of attacks, kinds, decays
// and recordings (simulated here): none of them is critical.

// Power is taken over so much time when quiet and loud are told apart.
#define LOOK_S 0.002

// So much quiet ends the search for what belongs to a shot.
#define QUIET_S 0.020

// Loud is so far above the noise, and no more than this below the crest: what
// is within 40 dB of it belongs to the shot, and the mean over 2 ms hides 3 dB
// of a millisecond ...
#define LOUD_ABOVE_NOISE_DB 10.0
#define LOUD_LOWEST_DB (-43.0)
// ... nor less than this.
#define LOUD_HIGHEST_DB (-10.0)

// The change point lies so far before the end of the first loud step: what
// is loud is not left out.
#define BEFORE_S 0.025

// The search for quiet starts so long after the level is near its crest: the
// level's window sees half its length ahead.
#define AHEAD_S 0.005

// The noise just before the attack is taken from so much time. What is louder
// than this below the crest is no noise: the take starts within the sound.
#define NOISE_S 0.050
#define NOISE_HIGHEST_DB (-25.0)
#define NOISE_LOWEST_DB (-60.0)

// The sound is supposed so far above the noise; one frame counts no more than
// MOST_EVIDENCE, lest a single click outweigh the quiet after it.
#define SOUND_ABOVE_NOISE_DB 20.0
#define MOST_EVIDENCE 8.0

// An earlier sound is worth a word where it is this far below the crest (chosen
// here; it decides on nothing else).
#define EARLIER_LOWEST_DB (-40.0)

// Where a rise is near its end: half its power (closed form).
#define RISE_NEAR_DB 3.0

// So much more than a straight rise holds at its start, in power, is an edge.
#define EDGE 5.0

// So much of a slow rise tells where it starts.
#define START_PART 0.5

/// A straight rise out of noise.
typedef struct {
  const VwSound* sound;
  size_t         from;  ///< The first frame looked at, still in the noise.
  size_t         to;    ///< One past the last.
  double         noise; ///< Power of the noise.
  double         near;  ///< The frame, with its fraction, where the rise ...
  double         power; ///< ... comes to this power.
} Rise;

/// Log-likelihood of normal values whose deviation rises from frame `start`.
static double
likelihood(const Rise* rise, double start) {
  const double slope = rise->power / pow(rise->near - start, 2.0);
  double       sum = 0.0;
  for (size_t i = rise->from; i < rise->to; ++i) {
    const double along = fmax((double)i - start, 0.0);
    const double variance = rise->noise + slope * along * along;
    sum -= log(variance) + vw_sound_power_at(rise->sound, i) / variance;
  }
  return sum;
}

/**
 * The likeliest start of a slow rise.
 *
 * The noise hides the beginning of a slow rise. Supposing normal values whose
 * deviation rises on a straight line, the start is where their likelihood is
 * greatest (method of maximum likelihood).
 *
 * @param change The frame from which the rise stands out of the noise.
 */
static size_t
rise_start(const Rise* rise, size_t change) {
  const double length = rise->near - (double)change;
  double       best = (double)change;
  double       highest = -HUGE_VAL;
  for (int i = 0; i <= START_STEPS; ++i) {
    const double start =
      (double)change + length * (START_AFTER - (START_BEFORE + START_AFTER) *
                                                 (double)i / START_STEPS);
    const double likely = start >= 0.0 ? likelihood(rise, start) : -HUGE_VAL;
    best = likely > highest ? start : best;
    highest = fmax(likely, highest);
  }
  return (size_t)(best + 0.5);
}

/// What quiet and loud are in one take.
typedef struct {
  const VwCurve* curve;
  size_t         n_look;  ///< Steps over which power is taken.
  double         loud;    ///< Power from which a step is loud.
  double         heard;   ///< Power from which an earlier sound is heard.
  double         lowest;  ///< Lowest noise supposed.
  double         highest; ///< Highest noise supposed.
} Scale;

static double
power_at(const Scale* scale, size_t step) {
  double sum = 0.0;
  for (size_t i = 0; i < scale->n_look; ++i) {
    sum += i <= step ? scale->curve->power[step - i] : 0.0;
  }
  return sum / (double)scale->n_look;
}

static Scale
scale_of(const VwCurve* curve, const VwMeantShot* shot, double noise_power) {
  Scale  scale = {.curve = curve, .n_look = vw_curve_steps(curve, LOOK_S)};
  double crest = 0.0;
  const size_t reach = vw_curve_steps(curve, VW_LEVEL_WINDOW_S);
  for (size_t i = shot->crest > reach ? shot->crest - reach : 0U;
       i < curve->n_steps && i <= shot->crest + reach;
       ++i) {
    crest = fmax(crest, power_at(&scale, i));
  }
  scale.lowest = crest * vw_power_of_db(NOISE_LOWEST_DB);
  scale.highest = crest * vw_power_of_db(NOISE_HIGHEST_DB);
  const double heard =
    noise_power > 0.0 ? noise_power * vw_power_of_db(LOUD_ABOVE_NOISE_DB) : 0.0;
  const double most = crest * vw_power_of_db(LOUD_HIGHEST_DB);
  scale.heard = fmin(fmax(heard, scale.lowest), most);
  scale.loud = fmin(fmax(heard, crest * vw_power_of_db(LOUD_LOWEST_DB)), most);
  return scale;
}

/// The first loud step after the last 20 ms of quiet before step `from`.
static size_t
first_loud(const Scale* scale, size_t from) {
  const size_t enough = vw_curve_steps(scale->curve, QUIET_S);
  size_t       first = from;
  size_t       n_quiet = 0;
  for (size_t i = from + 1U; i-- > 0U && n_quiet < enough;) {
    if (power_at(scale, i) >= scale->loud) {
      first = i;
      n_quiet = 0;
    } else {
      ++n_quiet;
    }
  }
  return first;
}

/// Mean power of the quiet steps in the 50 ms before the search begins.
static double
noise_before(const Scale* scale, size_t first) {
  const VwCurve* const curve = scale->curve;
  const size_t         most = vw_curve_steps(curve, BEFORE_S / 2.0);
  const size_t         gap = first / 2U < most ? first / 2U : most;
  const size_t         reach = vw_curve_steps(curve, NOISE_S) + gap;
  double               sum = 0.0;
  size_t               n = 0;
  for (size_t i = first > reach ? first - reach : 0U; i + gap < first; ++i) {
    if (curve->power[i] > 0.0 && curve->power[i] < scale->loud) {
      sum += curve->power[i];
      ++n;
    }
  }
  const double noise = n ? sum / (double)n : 0.0;
  return fmin(fmax(noise, scale->lowest), scale->highest);
}

/// The loudest frame in [from, to).
static size_t
loudest_frame(const VwSound* sound, size_t from, size_t to) {
  double highest = 0.0;
  size_t loudest = from;
  for (size_t i = from; i < to; ++i) {
    const double power = vw_sound_power_at(sound, i);
    loudest = power > highest ? i : loudest;
    highest = fmax(power, highest);
  }
  return loudest;
}

/// @param to One past the loudest frame: a click may have sunk again at once.
static size_t
change_point(const VwSound* sound, size_t from, size_t to, double noise) {
  const double ratio = vw_power_of_db(SOUND_ABOVE_NOISE_DB);
  const double slope = 0.5 * (1.0 - 1.0 / ratio) / noise;
  const double offset = 0.5 * log(ratio);
  double       sum = 0.0;
  double       lowest = 0.0;
  size_t       change = from;
  for (size_t i = from; i < to; ++i) {
    sum += fmin(slope * vw_sound_power_at(sound, i) - offset, MOST_EVIDENCE);
    if (sum < lowest) {
      lowest = sum;
      change = i + 1U;
    }
  }
  return change;
}

/// The step from which the level is within 3 dB of the crest.
static size_t
near_crest(const Scale* scale, const VwMeantShot* shot, size_t attack_step) {
  const double full =
    scale->curve->level[shot->crest] * vw_power_of_db(-RISE_NEAR_DB);
  size_t step = attack_step;
  while (step < shot->crest && power_at(scale, step) < full) {
    ++step;
  }
  return step;
}

/// Time of a straight rise from step `attack_step` to full level.
static double
rise_of(const Scale* scale, size_t attack_step, size_t near) {
  // Power over 2 ms lags by half of it.
  const double n_steps =
    (double)near - (double)attack_step - 0.5 * (double)scale->n_look;
  return fmax(n_steps, 0.0) * scale->curve->step_s *
         vw_gain_of_db(RISE_NEAR_DB);
}

/// Whether the sound is there at once: the 2 ms after the change point hold
/// five times what a straight rise would.
static bool
is_edge(const Rise* rise, size_t change) {
  const VwSound* const sound = rise->sound;
  const size_t         n = vw_frames_of_s(LOOK_S, sound->rate_hz);
  const double         length = rise->near - (double)change;
  const double         part = (double)n / length;
  double               sum = 0.0;
  for (size_t i = change; i < change + n && i < sound->n_frames; ++i) {
    sum += vw_sound_power_at(sound, i);
  }
  // The mean of a rising square is a third of its end; full is twice `power`.
  return sum / (double)n > EDGE * 2.0 * rise->power * part * part / 3.0;
}

/// Refine the attack of a slow rise: the noise hides its beginning.
static size_t
straight_start(const Scale*       scale,
               const VwMeantShot* shot,
               const VwSound*     sound,
               double             noise,
               size_t             change) {
  const VwCurve* const curve = scale->curve;
  const size_t         near = near_crest(scale, shot, change / curve->n_step);
  const size_t         length = near * curve->n_step - change;
  const size_t         before = vw_frames_of_s(BEFORE_S, sound->rate_hz);
  // Power over 2 ms lags by half of it.
  const Rise rise = {sound,
                     change > before ? change - before : 0U,
                     change + (size_t)(START_PART * (double)length),
                     noise,
                     (double)(near * curve->n_step) -
                       0.5 * (double)(scale->n_look * curve->n_step),
                     curve->level[shot->crest] * vw_power_of_db(-RISE_NEAR_DB)};
  return is_edge(&rise, change) ? change : rise_start(&rise, change);
}

static void
note_earlier(const Scale*       scale,
             const VwMeantShot* shot,
             size_t             first,
             VwAttack*          attack) {
  const VwCurve* const curve = scale->curve;
  const size_t         quiet = vw_curve_steps(curve, QUIET_S);
  double               highest = 0.0;
  size_t               last = 0;
  for (size_t i = 0; i + quiet < first; ++i) {
    if (power_at(scale, i) >= scale->heard) {
      last = i + 1U;
    }
    highest = fmax(highest, curve->level[i]);
  }
  const double db = vw_db_of_power(highest / curve->level[shot->crest]);
  if (last && db >= EARLIER_LOWEST_DB) {
    attack->earlier_db = db;
    attack->earlier_s = (double)(first - last) * curve->step_s;
  }
}

/// The attack that is known.
static VwAttack
attack_at(const Scale* scale, const VwMeantShot* shot) {
  const size_t step = shot->start / scale->curve->n_step;
  const size_t near = near_crest(scale, shot, step);
  return (VwAttack){shot->start, rise_of(scale, step, near), NAN, NAN};
}

double
vw_attack_rise_s(const VwCurve* curve, const VwMeantShot* shot, size_t step) {
  const Scale scale = scale_of(curve, shot, 0.0);
  return rise_of(&scale, step, near_crest(&scale, shot, step));
}

VwAttack
vw_attack_find(const VwSound*     sound,
               const VwCurve*     curve,
               const VwMeantShot* shot,
               double             noise_power) {
  const Scale scale = scale_of(curve, shot, noise_power);
  if (shot->start) {
    return attack_at(&scale, shot);
  }
  const size_t ahead = shot->rise + vw_curve_steps(curve, AHEAD_S);
  const size_t first =
    first_loud(&scale, ahead < shot->crest ? ahead : shot->crest);
  const double noise = noise_before(&scale, first);
  const size_t before = vw_frames_of_s(BEFORE_S, sound->rate_hz);
  const size_t frame = first * curve->n_step;
  const size_t from = frame > before ? frame - before : 0U;
  const size_t step_to = frame + curve->n_step;
  const size_t to =
    loudest_frame(
      sound, from, step_to < sound->n_frames ? step_to : sound->n_frames) +
    1U;
  VwAttack     attack = {change_point(sound, from, to, noise), 0.0, NAN, NAN};
  const size_t near = near_crest(&scale, shot, attack.frame / curve->n_step);
  if (rise_of(&scale, attack.frame / curve->n_step, near) > VW_FAST_RISE_S) {
    const size_t start =
      straight_start(&scale, shot, sound, noise, attack.frame);
    const size_t latest = attack.frame > frame ? attack.frame : frame;
    attack.frame = start < latest ? start : latest;
  }
  attack.rise_s = rise_of(&scale, attack.frame / curve->n_step, near);
  note_earlier(&scale, shot, first, &attack);
  return attack;
}
