// The fire rate of a loop that was written: how many shots lie in it.

#include "pulse.h"

#include "units.h"

#include "volleyweave/volleyweave.h"

#include <math.h>
#include <stdlib.h>

// Bounds without a source beside them are simulated here: with them the test
// of found rates reads every made loop right, and all but one of real takes.

#define SHOTS_MOST 64U

// Fire rates that a loop may have.
#define RATE_LEAST_PER_S 0.25
#define RATE_MOST_PER_S 50.0

// Waves as much alike as this are the same shot.
#define SAME_WAVE 0.97

// So much does the level rise at least where shots start whose waves are the
// same.
#define RISE_SAME_DB 1.5

// Where the waves differ, a shot within a shot has to be told from shots of
// different takes: these rise by nearly the 9 dB that common practice leaves
// between shots, not much less than the loop's first shot, and their levels run
// a similar course; above 20 a second they fuse (common practice), and somewhat
// below only like ones are told apart.
#define RISE_DB 6.5
#define RISE_SHARE 0.6
#define RISE_COUNTED_DB 14.4
#define SAME_COURSE 0.28
#define SAME_COURSE_FAST 0.6
#define FAST_PER_S 15.5
#define VARIED_MOST_PER_S 20.5

// A single shot may be a shallow one.
#define RISE_SINGLE_DB 4.0

// The quiet before a shot lies from here to there about its start: a choked
// tail fades for 5 ms after it, and the level's window is 10 ms long.
#define BEFORE_S 0.008
#define AFTER_S 0.010

// The part of the period in which a crest lies.
#define CREST_SHARE 0.45

// Fainter than the loudest by more than this it is no shot.
#define FAINT_DB 12.0

// Levels farther below the crest count as silence.
#define FLOOR_DB 24.0

// A level that changes by less has no shots in it.
#define RANGE_LEAST_DB 4.0

/* Waves */

/// Start of shot `i` in a cycle of so many.
static size_t
start_of(const VwSound* loop, size_t shots, size_t i) {
  return (2U * i * loop->n_frames + shots) / (2U * shots);
}

/// How alike every shot of a loop is to the one after it, 1 for the same wave.
static double
wave_likeness(const VwSound* loop, size_t shots) {
  const size_t n_cycle = loop->n_frames;
  const size_t n = n_cycle / shots;
  double       product = 0.0;
  double       energy = 1e-30;
  for (size_t i = 0; i < shots; ++i) {
    const size_t a = start_of(loop, shots, i);
    const size_t b = start_of(loop, shots, i + 1U);
    for (size_t k = 0; k < n; ++k) {
      const double x = (double)loop->values[(a + k) % n_cycle];
      const double y = (double)loop->values[(b + k) % n_cycle];
      product += x * y;
      energy += 0.5 * (x * x + y * y);
    }
  }
  return product / energy;
}

/* Levels */

/// The same level, divided into another number of shots.
static VwPulses
divided(const VwPulses* pulses, size_t shots) {
  return (VwPulses){pulses->curve, pulses->n_cycle, shots};
}

/// How much the level rises at the start of a shot, dB; 0 where it does not
/// become loud.
static double
rise_db(const VwPulses* all, size_t shot) {
  const VwCurve* const curve = &all->curve;
  const size_t         start = vw_pulses_step(all, shot, 0.0);
  const size_t         after = vw_pulses_step(all, shot, CREST_SHARE);
  const size_t         last = start + vw_curve_steps(curve, AFTER_S);
  size_t               quiet = start - vw_curve_steps(curve, BEFORE_S);
  for (size_t i = quiet; i < last && i < after; ++i) {
    quiet = curve->level[i] < curve->level[quiet] ? i : quiet;
  }
  const double crest = curve->level[vw_curve_crest(curve, quiet, after)];
  const double loudest = curve->level[vw_curve_crest(curve, 0, curve->n_steps)];
  if (crest < loudest * vw_power_of_db(-FAINT_DB)) {
    return 0.0;
  }
  return vw_db_of_power(crest / fmax(curve->level[quiet], 1e-9 * crest));
}

/// The least rise of all shots, dB.
static double
least_rise_db(const VwPulses* all) {
  double least = HUGE_VAL;
  for (size_t i = 0; i < all->shots; ++i) {
    least = fmin(least, rise_db(all, i));
  }
  return least;
}

/// A level in dB above the floor.
static double
db_at(const VwPulses* all, double floor, size_t step) {
  return vw_db_of_power(fmax(all->curve.level[step] / floor, 1.0));
}

/// The part of the level's variance that the mean of all shots explains.
static double
course_likeness(const VwPulses* all) {
  const VwCurve* const curve = &all->curve;
  const size_t         first = vw_pulses_step(all, 0, 0.0);
  const size_t         n = vw_pulses_step(all, 1, 0.0) - first - 1U;
  const double         shots = (double)all->shots;
  const double floor = curve->level[vw_curve_crest(curve, 0, curve->n_steps)] *
                       vw_power_of_db(-FLOOR_DB);
  double sum = 0.0;
  double square = 0.0;
  double left = 0.0;
  for (size_t k = 0; k < n; ++k) {
    double at_once = 0.0;
    double at_once_square = 0.0;
    for (size_t i = 0; i < all->shots; ++i) {
      const double db = db_at(all, floor, vw_pulses_step(all, i, 0.0) + k);
      at_once += db;
      at_once_square += db * db;
    }
    sum += at_once;
    square += at_once_square;
    left += at_once_square - at_once * at_once / shots;
  }
  const double spread = square - sum * sum / (shots * (double)n);
  return spread > 0.0 ? 1.0 - left / spread : 0.0;
}

/// Whether the level changes at all.
static bool
has_shots(const VwPulses* pulses) {
  const VwCurve* const curve = &pulses->curve;
  const size_t         from = vw_pulses_step(pulses, 0, 0.0);
  const size_t         to = vw_pulses_step(pulses, 0, 1.0);
  const double         crest = curve->level[vw_curve_crest(curve, from, to)];
  double               least = crest;
  for (size_t i = from; i < to; ++i) {
    least = fmin(least, curve->level[i]);
  }
  return vw_db_of_power(crest / fmax(least, 1e-9 * crest)) >= RANGE_LEAST_DB;
}

/* Number of shots */

static double
rate_of(const VwSound* mono, size_t shots) {
  return (double)shots * (double)mono->rate_hz / (double)mono->n_frames;
}

/// The greatest number of equal parts that each start with a shot: every
/// smaller number that divides it fits as well. 1 fits always.
static size_t
count_equal(const VwSound* mono, const VwPulses* pulses) {
  for (size_t shots = SHOTS_MOST; shots > 1U; --shots) {
    const VwPulses all = divided(pulses, shots);
    if (rate_of(mono, shots) <= RATE_MOST_PER_S &&
        least_rise_db(&all) >= RISE_SAME_DB &&
        wave_likeness(mono, shots) >= SAME_WAVE) {
      return shots;
    }
  }
  return 1U;
}

/// Whether so many shots of different takes, or varied ones, make up the loop.
static bool
are_varied(const VwSound* mono, const VwPulses* pulses, size_t shots) {
  const VwPulses all = divided(pulses, shots);
  const double   first_db = fmin(rise_db(pulses, 0), RISE_COUNTED_DB);
  const double   rate = rate_of(mono, shots);
  return rate <= VARIED_MOST_PER_S &&
         least_rise_db(&all) >= fmax(RISE_DB, RISE_SHARE * first_db) &&
         course_likeness(&all) >=
           (rate > FAST_PER_S ? SAME_COURSE_FAST : SAME_COURSE);
}

/// How many shots there are. 0: none.
static size_t
count_shots(const VwSound* mono, const VwPulses* pulses) {
  const size_t equal = count_equal(mono, pulses);
  for (size_t shots = SHOTS_MOST / equal * equal; shots > equal;
       shots -= equal) {
    if (are_varied(mono, pulses, shots)) {
      return shots;
    }
  }
  return equal > 1U || rise_db(pulses, 0) >= RISE_SINGLE_DB ? equal : 0U;
}

static VwStatus
find_rate(const VwSound* mono, double gap_ms, VwRateFound* found) {
  VwPulses       pulses = {0};
  const VwStatus st = vw_pulses_take(mono, 1U, &pulses);
  if (st) {
    return st == VW_SILENT ? VW_NO_STEADY_RATE : st;
  }
  const size_t shots = has_shots(&pulses) ? count_shots(mono, &pulses) : 0U;
  vw_pulses_clear(&pulses);
  if (!shots || rate_of(mono, shots) < RATE_LEAST_PER_S) {
    return VW_NO_STEADY_RATE;
  }
  // The whole cycle in seconds first: as exact as the plan's own figure.
  const double n_gap = gap_ms / 1000.0 * mono->rate_hz;
  *found = (VwRateFound){(double)shots * (double)mono->rate_hz /
                           ((double)mono->n_frames + n_gap),
                         shots,
                         0.0};
  return VW_OK;
}

VwStatus
vw_rate_of_loop(const VwSound* loop, double gap_ms, VwRateFound* found) {
  VwSound  mono = {0};
  VwStatus st = vw_pulse_channel(loop, &mono);
  st = st ? st : find_rate(&mono, gap_ms, found);
  vw_sound_clear(&mono);
  return st;
}
