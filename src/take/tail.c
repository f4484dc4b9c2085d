// A shot's tail: how it decays, and how soon the next shot may follow.

#include "take/search.h"

#include "base/line.h"
#include "base/units.h"
#include "signal/limiter.h"
#include "signal/signal.h"
#include "take/take.h"

#include <math.h>
#include <stdlib.h>

// Power is taken over so much time where a tail is followed (chosen here; half
// and twice as much meet the tests of decays and recordings, simulated here).
#define LOOK_S 0.020

// The shot ends where so little of its energy is left: the range by which ISO
// 3382-1:2009 defines reverberation time.
#define END_DB (-60.0)

// The late decay is the line through what lies this far below the crest, where
// ISO 3382-1:2009 begins to look, and above the noise, where A. Lundeby et al.
// (Acustica 81, 1995) have 5 to 10 dB (from memory). 2 and 10 dB meet the tests
// as well (simulated here).
#define LINE_BELOW_CREST_DB 5.0
#define LINE_ABOVE_NOISE_DB 5.0

// A decay time needs so much range beyond its last point (ISO 3382-1:2009, from
// memory).
#define NOISE_MARGIN_DB 10.0

// A tail broken off below this is not missed once it is faded out (chosen here;
// it decides on a warning alone).
#define MISSED_DB (-35.0)

// From such a valley of the energy sum on, neither how tails add up nor a
// limiter leaves less than is asked (simulated here).
#define BEYOND_DOUBT_DB 18.0

// So many turns of a cycle bring its level to what it is in a steady burst: the
// level looks back for some 10 ms, a period is longer.
#define N_TURNS 3U

/* Decay */

/// The decay at hand: steps [crest, knee) rise out of the noise.
typedef struct {
  const VwCurve* curve;
  size_t         crest;
  size_t         knee;  ///< One past the last step above the noise.
  double         noise; ///< Power.
  double*        look;  ///< Power about each step over 20 ms.
  double*        left;  ///< Energy from each step on, in step-powers.
} Decay;

static void
look_over(const VwCurve* curve, double* look) {
  const size_t n_look = vw_curve_steps(curve, LOOK_S);
  const size_t half = n_look / 2U;
  double       sum = 0.0;
  for (size_t i = 0; i < curve->n_steps + half; ++i) {
    sum += i < curve->n_steps ? curve->power[i] : 0.0;
    sum -= i >= n_look ? curve->power[i - n_look] : 0.0;
    if (i >= half) {
      const size_t at = i - half;
      const size_t from = i + 1U > n_look ? i + 1U - n_look : 0U;
      const size_t to = i + 1U < curve->n_steps ? i + 1U : curve->n_steps;
      look[at] = fmax(sum, 0.0) / (double)(to - from);
    }
  }
}

/// One past the last step from the crest on whose power exceeds `power`.
static size_t
last_above(const Decay* decay, size_t limit, double power) {
  size_t end = limit;
  while (end > decay->crest + 1U && decay->look[end - 1U] <= power) {
    --end;
  }
  return end;
}

/// Energy that the decay's line holds beyond the knee, in step-powers.
static double
energy_beyond(const Decay* decay) {
  const double highest =
    decay->look[decay->crest] * vw_power_of_db(-LINE_BELOW_CREST_DB);
  const double lowest = decay->noise * vw_power_of_db(LINE_ABOVE_NOISE_DB);
  VwLine       line = {0};
  for (size_t i = decay->crest; i < decay->knee; ++i) {
    if (decay->look[i] < highest && decay->look[i] > lowest) {
      vw_line_add(&line, (double)(i - decay->crest), log(decay->look[i]));
    }
  }
  const double slope = vw_line_slope(&line);
  if (slope >= 0.0 || line.n < 3.0) {
    return 0.0;
  }
  const double start = (line.y - slope * line.x) / line.n;
  const double at_knee =
    exp(start + slope * (double)(decay->knee - decay->crest));
  return at_knee / (1.0 - exp(slope));
}

static void
integrate(const Decay* decay) {
  double left = energy_beyond(decay);
  for (size_t i = decay->knee; i-- > decay->crest;) {
    left += decay->curve->power[i] - decay->noise;
    decay->left[i] = left;
  }
}

/// No line.
static const VwDecayLine no_line = {NAN, NAN, NAN, NAN};

/// The line through what is left of the energy between two levels, laid through
/// the middle of the power there.
static VwDecayLine
line_between(const Decay* decay, double from_db, double to_db) {
  const double crest = decay->look[decay->crest];
  const double deepest = decay->look[decay->knee - 1U];
  if (vw_db_of_power(crest / fmax(deepest, decay->noise)) <
      NOISE_MARGIN_DB - to_db) {
    return no_line;
  }
  const double step_s = decay->curve->step_s;
  VwLine       line = {0};
  double       level_sum = 0.0;
  double       from_s = NAN;
  double       to_s = NAN;
  for (size_t i = decay->crest; i < decay->knee; ++i) {
    const double s = (double)(i - decay->crest) * step_s;
    const double db =
      vw_db_of_power(fmax(decay->left[i] / decay->left[decay->crest], 1e-20));
    if (db <= from_db && db >= to_db) {
      vw_line_add(&line, s, db);
      level_sum += vw_db_of_power(fmax(decay->look[i], 1e-20));
      from_s = isnan(from_s) ? s : from_s;
      to_s = s;
    }
  }
  const double slope = vw_line_slope(&line);
  if (!(slope < 0.0)) {
    return no_line;
  }
  const double middle = level_sum / line.n;
  const double half_db = slope * (to_s - from_s) / 2.0;
  return (VwDecayLine){
    1000.0 * from_s, 1000.0 * to_s, middle - half_db, middle + half_db};
}

/// Decay time by 60 dB along a line, or NaN.
static double
decay_time(const VwDecayLine* line) {
  return -60.0 * (line->to_ms - line->from_ms) / 1000.0 /
         (line->to_dbfs - line->from_dbfs);
}

static size_t
end_of(const Decay* decay, const VwTailFloors* floors) {
  const size_t board = last_above(decay, decay->knee, floors->board);
  const double least = decay->left[decay->crest] * vw_power_of_db(END_DB);
  size_t       end = decay->crest + 1U;
  while (end < board && decay->left[end] > least) {
    ++end;
  }
  return end;
}

/// Level of the 20 ms from step `end` on, or of the last ones that are nearer
/// to the limit than to the crest, dB relative to the crest; NaN of digital
/// silence.
static double
end_level(const Decay* decay, size_t end, size_t limit) {
  const size_t look = vw_curve_steps(decay->curve, LOOK_S);
  const size_t half = (limit - decay->crest + 1U) / 2U;
  const size_t n = look < half ? look : half;
  const size_t from = end + n < limit ? end : limit - n;
  double       sum = 0.0;
  for (size_t i = from; i < from + n; ++i) {
    sum += decay->curve->power[i];
  }
  const double level = sum / (double)n;
  return level > 0.0
           ? fmin(vw_db_of_power(level / decay->look[decay->crest]), 0.0)
           : NAN;
}

VwStatus
vw_tail_find(const VwCurve*      curve,
             const VwMeantShot*  shot,
             const VwTailFloors* floors,
             VwDecay*            tail) {
  double* const buffer = calloc(2U * curve->n_steps, sizeof(double));
  if (!buffer) {
    return VW_NO_MEMORY;
  }
  Decay decay = {
    curve, shot->crest, 0U, floors->noise, buffer, buffer + curve->n_steps};
  look_over(curve, decay.look);
  // Where the sound is as strong as the noise, the sum is twice the noise.
  decay.knee = last_above(&decay, shot->limit, 2.0 * floors->noise);
  integrate(&decay);
  const VwDecayLine t20 = line_between(&decay, -5.0, -25.0);
  const VwDecayLine t30 = line_between(&decay, -5.0, -35.0);
  const size_t      end = end_of(&decay, floors);
  const double      end_db = end_level(&decay, end, shot->limit);
  *tail = (VwDecay){end,
                    decay_time(&t20),
                    decay_time(&t30),
                    end_db,
                    decay.knee == curve->n_steps && end_db > MISSED_DB,
                    isnan(t30.from_ms) ? t20 : t30};
  free(buffer);
  return VW_OK;
}

/* The fastest fire rate without tightening */

/// A shot, and room for a period of its levels.
typedef struct {
  const VwSound* sound;
  const VwCurve* curve;
  size_t         from; ///< Step of the curve that its first 2 ms start with.
  size_t         to;
  double*        levels;
} Shot;

/// The level `at` steps into the shot, between steps on a straight line.
static double
level_at(const Shot* shot, double at) {
  const size_t        step = (size_t)at;
  const double* const level = shot->curve->level;
  if (step + 1U >= shot->to) {
    return 0.0;
  }
  const double part = at - (double)step;
  return level[step] * (1.0 - part) + level[step + 1U] * part;
}

/// Valley of the energy sum at one fire rate.
static double
valley_at(const Shot* shot, double period) {
  const size_t n = (size_t)period;
  for (size_t i = 0; i < n; ++i) {
    shot->levels[i] = 0.0;
    for (double at = (double)(shot->from + i); at < (double)shot->to;
         at += period) {
      shot->levels[i] += level_at(shot, at);
    }
  }
  return vw_valley_of_levels(shot->levels, n);
}

/// Lay the shot down into each turn of `turns` as into a burst that goes on.
static void
lay(const Shot* shot, size_t n_period, VwSound* turns) {
  const size_t n = n_period * turns->n_channels;
  const size_t n_step = shot->curve->n_step * turns->n_channels;
  const float* value = shot->sound->values + shot->from * n_step;
  for (size_t left = (shot->to - shot->from) * n_step; left > 0U;) {
    const size_t n_here = left < n ? left : n;
    for (size_t i = 0; i < n_here; ++i) {
      turns->values[i] += *value++;
    }
    left -= n_here;
  }
}

/// Fill all turns with the first.
static void
repeat(size_t n_period, VwSound* turns) {
  const size_t n = n_period * turns->n_channels;
  for (size_t i = n; i < turns->n_frames * turns->n_channels; ++i) {
    turns->values[i] = turns->values[i - n];
  }
}

/// Valley of the steady burst at one fire rate, limited as by default.
static VwStatus
valley_limited(const Shot* shot, double rate_per_s, double* valley_db) {
  const size_t n_period =
    (size_t)((double)shot->sound->rate_hz / rate_per_s + 0.5);
  VwSound  turns = {0};
  VwCurve  curve = {0};
  VwStatus st = vw_sound_init(
    &turns, N_TURNS * n_period, shot->sound->n_channels, shot->sound->rate_hz);
  if (!st) {
    VwSound cycle = turns; // a view
    cycle.n_frames = n_period;
    lay(shot, n_period, &turns);
    st = vw_limiter_run_steady(0.0, VW_LIMITING_USUAL_DB, &cycle);
    repeat(n_period, &turns);
  }
  st = st ? st : vw_curve_take(&turns, &curve);
  if (!st) {
    const size_t n = n_period / curve.n_step;
    const size_t first = n_period * (N_TURNS - 2U) / curve.n_step;
    *valley_db = vw_valley_of_levels(curve.level + first, n);
  }
  vw_curve_clear(&curve);
  vw_sound_clear(&turns);
  return st;
}

/// Whether each shot is heard on its own at one fire rate.
static VwStatus
find_apart(const Shot* shot, double rate_per_s, bool* apart) {
  double valley_db = valley_at(shot, 1.0 / rate_per_s / shot->curve->step_s);
  const VwStatus st =
    valley_db >= VW_VALLEY_APART_DB && valley_db < BEYOND_DOUBT_DB
      ? valley_limited(shot, rate_per_s, &valley_db)
      : VW_OK;
  *apart = valley_db >= VW_VALLEY_APART_DB;
  return st;
}

VwStatus
vw_fastest_find(const VwShotSearch* search, double* fire_rate_per_s) {
  const VwCurve* const curve = &search->curve;
  const size_t         reach = vw_curve_steps(curve, VW_PRE_ROLL_S);
  const size_t         attack = search->facts.attack_frame / curve->n_step;
  const double         longest = 1.0 / VW_FASTEST_LEAST_PER_S / curve->step_s;
  const Shot           shot = {&search->sound,
                               curve,
                     attack > reach ? attack - reach : 0U,
                               search->facts.end_frame / curve->n_step,
                               calloc((size_t)longest + 1U, sizeof(double))};
  VwStatus             st = shot.levels ? VW_OK : VW_NO_MEMORY;
  double               fastest = NAN;
  bool                 apart = true;
  for (double rate = VW_FASTEST_LEAST_PER_S;
       !st && apart && rate <= VW_FASTEST_MOST_PER_S;
       rate += VW_FASTEST_STEP_PER_S) {
    st = find_apart(&shot, rate, &apart);
    fastest = apart ? rate : fastest;
  }
  free(shot.levels);
  *fire_rate_per_s = st ? NAN : fastest;
  return st;
}
