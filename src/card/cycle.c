#include "card/loop.h"
#include "signal/signal.h"
#include "take/internal.h"

#include <math.h>
#include <stdlib.h>

// Longer loops are not searched for what repeats, nor are longer lags.
#define LOOP_MOST_S 20.0
#define LAG_MOST_S 4.0

// The shortest period, and what of a loop has to be left beside a lag.
#define PERIOD_LEAST_S 0.025
#define BESIDE_LEAST_S 0.015
#define BESIDE_PERIODS 0.4

// Periods are tried in steps of this share; those whose levels agree best are
// compared by their wave as well, which is done over so many frames.
#define TRY_STEP 0.002
#define TRIED_MOST 8U
#define WAVE_FRAMES 32768U

// What repeats over the seam has to be so much worse than what does not; and
// below these likenesses nothing repeats. Set on loops of 34 recordings, as
// they were made and with half a period cut off.
#define WORSE 0.25
#define WHOLE_LEAST 0.75
#define OTHER_LEAST 0.8
#define SURE_LEAST 1.3

// With fewer periods nothing tells. Two events lie at a period if they are so
// near to it.
#define PERIODS_LEAST 1.47
#define EVENT_NEAR 0.12

// A part of a period, whose levels agree by this share of those of the whole
// one, is the period: shots vary, and some come again alike.
#define PART_SHARE 0.8
#define PARTS_MOST 8.0

// The period is looked for again, to a frame, within this share of itself.
#define REFINE_SHARE 0.05
#define REFINE_FRAMES 3.0
#define LIKE_WAVE 0.6
#define TURNS_MOST 4.0

// Of what is left over a whole number of periods so much tells nothing: shots
// that vary start up to 2 ms off (common practice).
#define LEFT_S 0.003

// Real fire is uneven by this or more (chosen here).
#define JITTER_LEAST_MS 0.6

// If waves differ, a period is looked for in the course of the level instead,
// in steps of so much of itself: that of 2 ms, every 0.5 ms, down to so far
// below the loudest (chosen here). Likenesses count by their cubes: shots that
// take turns are alike at every second period only.
#define COURSE_STEP_S 0.0005
#define COURSE_LENGTH 4U
#define COURSE_LEAST 1e-4
#define COURSE_TRY 0.001
#define COURSE_POWER 3.0

/// A loop, and how alike its levels are to themselves, lag by lag.
typedef struct {
  const double* wave; ///< The first channel.
  size_t        n_frames;
  double        rate_hz;
  double        length; ///< Of a cycle, the board's gap with it, frames.
  double        step;   ///< Frames from lag to lag.
  double*       alike;  ///< Owned.
  size_t        n_lags;
  float*        course;      ///< Its level, its mean taken from it. Owned.
  double        course_step; ///< Frames from value to value.
  size_t        n_course;
} Loop;

/// A period, and how well it repeats.
typedef struct {
  double period; ///< Frames.
  double score;
} Tried;

/* Likeness */

/// Take each band's mean from it.
static void
take_means(VwOnsets* onsets) {
  for (size_t b = 0; b < onsets->n_bands; ++b) {
    double mean = 0.0;
    for (size_t i = 0; i < onsets->n; ++i) {
      mean += (double)onsets->band_db[i * onsets->n_bands + b];
    }
    mean /= (double)onsets->n;
    for (size_t i = 0; i < onsets->n; ++i) {
      onsets->band_db[i * onsets->n_bands + b] -= (float)mean;
    }
  }
}

/// The correlation of a series with itself, `lag` values later.
static double
alike_at(const float* values, size_t n, size_t lag) {
  double ab = 0.0;
  double aa = 1e-12;
  double bb = 1e-12;
  for (size_t i = 0; i + lag < n; ++i) {
    const double a = (double)values[i];
    const double b = (double)values[i + lag];
    ab += a * b;
    aa += a * a;
    bb += b * b;
  }
  return ab / sqrt(aa * bb);
}

static VwStatus
take_alike(const VwSound* sound, Loop* loop) {
  VwOnsets onsets = {0};
  VwStatus st = vw_onsets_take(sound, &onsets);
  if (st) {
    return st;
  }
  const size_t most = (size_t)(LAG_MOST_S / VW_ONSET_STEP_S);
  loop->n_lags = onsets.n < most ? onsets.n : most;
  loop->step = VW_ONSET_STEP_S * loop->rate_hz;
  loop->alike = calloc(loop->n_lags + 1U, sizeof(double));
  st = loop->alike ? VW_OK : VW_NO_MEMORY;
  take_means(&onsets);
  for (size_t i = 0; !st && i < loop->n_lags; ++i) {
    loop->alike[i] =
      alike_at(onsets.band_db, onsets.n * onsets.n_bands, i * onsets.n_bands);
  }
  vw_onsets_clear(&onsets);
  return st;
}

/// Leave a course in the logarithm, its mean taken from it.
static void
level_course(Loop* loop, double most) {
  double mean = 0.0;
  for (size_t i = 0; i < loop->n_course; ++i) {
    float* const value = &loop->course[i];
    *value = (float)log10((double)*value / most + COURSE_LEAST);
    mean += (double)*value / (double)loop->n_course;
  }
  for (size_t i = 0; i < loop->n_course; ++i) {
    loop->course[i] -= (float)mean;
  }
}

/// Take the course of the level, without silence at its ends.
static VwStatus
take_course(Loop* loop) {
  size_t from = 0;
  size_t to = loop->n_frames;
  double most = 1e-12;
  while (from < to && fabs(loop->wave[from]) <= 0.0) {
    ++from;
  }
  while (to > from && fabs(loop->wave[to - 1U]) <= 0.0) {
    --to;
  }
  loop->course_step = COURSE_STEP_S * loop->rate_hz;
  const size_t n = (size_t)((double)(to - from) / loop->course_step);
  loop->n_course = n > COURSE_LENGTH ? n - COURSE_LENGTH : 0U;
  loop->course = calloc(loop->n_course + 1U, sizeof(float));
  for (size_t i = 0; loop->course && i < loop->n_course; ++i) {
    const double first = (double)i * loop->course_step;
    const double last = first + COURSE_LENGTH * loop->course_step;
    double       power = 0.0;
    for (size_t k = from + (size_t)first; k < from + (size_t)last; ++k) {
      power += loop->wave[k] * loop->wave[k];
    }
    most = fmax(most, power);
    loop->course[i] = (float)power;
  }
  if (loop->course) {
    level_course(loop, most);
  }
  return loop->course ? VW_OK : VW_NO_MEMORY;
}

/// How alike the levels are at a lag in frames.
static double
levels_at(const Loop* loop, double lag) {
  const double at = lag / loop->step;
  const size_t i = (size_t)at;
  const double share = at - (double)i;
  return i + 1U < loop->n_lags
           ? loop->alike[i] * (1.0 - share) + loop->alike[i + 1U] * share
           : 0.0;
}

/// How alike the wave is at a lag.
static double
wave_at(const Loop* loop, size_t lag) {
  double       ab = 0.0;
  double       aa = 1e-12;
  double       bb = 1e-12;
  const size_t n = loop->n_frames > lag ? loop->n_frames - lag : 0U;
  for (size_t i = 0; i < n && i < WAVE_FRAMES; ++i) {
    ab += loop->wave[i] * loop->wave[i + lag];
    aa += loop->wave[i] * loop->wave[i];
    bb += loop->wave[i + lag] * loop->wave[i + lag];
  }
  return ab / sqrt(aa * bb);
}

/// How alike the course of the level is at a lag in frames.
static double
course_at(const Loop* loop, double lag) {
  const double at = lag / loop->course_step;
  const size_t i = (size_t)at;
  const double share = at - (double)i;
  return i + 1U < loop->n_course
           ? alike_at(loop->course, loop->n_course, i) * (1.0 - share) +
               alike_at(loop->course, loop->n_course, i + 1U) * share
           : 0.0;
}

/// The lag within `reach` frames of one at which levels and wave agree best; a
/// wave that is less alike than `least` does not count.
static Tried
best_near(const Loop* loop, double lag, double reach, double least) {
  Tried best = {lag, -2.0};
  for (double i = ceil(lag - reach); i <= lag + reach; i += 1.0) {
    const double wave = i >= 1.0 ? wave_at(loop, (size_t)i) : -2.0;
    const double score = (wave >= least ? wave : 0.0) + levels_at(loop, i);
    best = score > best.score ? (Tried){i, score} : best;
  }
  return best;
}

/// The longest lag at which enough of a loop is left to be compared.
static double
lag_most(const Loop* loop, double period) {
  const double beside =
    fmax(BESIDE_PERIODS * period, BESIDE_LEAST_S * loop->rate_hz);
  return fmin((double)loop->n_frames - beside,
              loop->step * (double)(loop->n_lags - 1U));
}

/// How much more alike the levels are at whole periods than half-way between.
static double
levels_score(const Loop* loop, double period) {
  const double most = lag_most(loop, period);
  double       sum = 0.0;
  double       n = 0.0;
  for (double lag = period; lag <= most; lag += period) {
    sum += levels_at(loop, lag) - levels_at(loop, lag - 0.5 * period);
    n += 1.0;
  }
  return n > 0.0 ? sum / n : -2.0;
}

/* Periods */

/// The periods whose levels agree best, the best first.
typedef struct {
  Tried  tried[TRIED_MOST];
  size_t n;
} Best;

static void
keep(Best* best, const Tried* tried) {
  size_t at = best->n;
  if (at == TRIED_MOST && tried->score <= best->tried[at - 1U].score) {
    return;
  }
  at = at < TRIED_MOST ? best->n++ : at - 1U;
  for (; at && best->tried[at - 1U].score < tried->score; --at) {
    best->tried[at] = best->tried[at - 1U];
  }
  best->tried[at] = *tried;
}

/// The shortest part of a period that repeats as well.
static double
shortest(const Loop* loop, double period) {
  const double least = PART_SHARE * levels_score(loop, period);
  double       parts = 1.0;
  for (double k = 2.0; k <= PARTS_MOST; k += 1.0) {
    const double part = period / k;
    if (part >= PERIOD_LEAST_S * loop->rate_hz &&
        levels_score(loop, part) >= least) {
      parts = k;
    }
  }
  return period / parts;
}

/// The best, its wave counted.
static Tried
choose(const Loop* loop, const Best* best, double reach) {
  Tried chosen = {NAN, -2.0};
  for (size_t i = 0; i < best->n; ++i) {
    const Tried* const tried = &best->tried[i];
    const double       score = tried->score +
                         best_near(loop, tried->period, reach, -1.0).score -
                         levels_at(loop, tried->period);
    chosen = score > chosen.score ? (Tried){tried->period, score} : chosen;
  }
  if (best->n) {
    chosen.period = shortest(loop, chosen.period);
  }
  return chosen;
}

/// The best period of which the cycle is a whole number.
static Tried
choose_whole(const Loop* loop) {
  Best best = {.n = 0};
  for (double m = 2.0; loop->length / m >= PERIOD_LEAST_S * loop->rate_hz;
       m += 1.0) {
    const double period = loop->length / m;
    keep(&best, &(Tried){period, levels_score(loop, period)});
  }
  return choose(loop, &best, REFINE_FRAMES);
}

/// The best of all periods.
static Tried
choose_other(const Loop* loop) {
  Best   best = {.n = 0};
  double before = -2.0;
  double score = -2.0;
  for (double period = PERIOD_LEAST_S * loop->rate_hz;
       period < loop->length / PERIODS_LEAST;
       period *= 1.0 + TRY_STEP) {
    const double next = levels_score(loop, period);
    if (score >= before && score > next) {
      keep(&best, &(Tried){period / (1.0 + TRY_STEP), score});
    }
    before = score;
    score = next;
  }
  return choose(loop, &best, fmax(REFINE_FRAMES, 0.7 * loop->step));
}

/// Find a period again by the course of the level, for shots whose waves
/// differ.
static double
refine_by_course(const Loop* loop, double period) {
  const double most = lag_most(loop, period);
  Tried        best = {period, -2.0};
  for (double share = 1.0 - REFINE_SHARE; share <= 1.0 + REFINE_SHARE;
       share += COURSE_TRY) {
    double score = 0.0;
    for (double lag = share * period; lag <= most * share;
         lag += share * period) {
      score += pow(course_at(loop, lag), COURSE_POWER);
    }
    best = score > best.score ? (Tried){share * period, score} : best;
  }
  return best.period;
}

/// Find a period again, by its longest multiple at which the waves are alike,
/// also if shots take turns; or else by the course of the level.
///
/// @param exact Set to whether waves are alike.
static double
refine(const Loop* loop, double period, bool* exact) {
  const double most = lag_most(loop, period) / period;
  double       one = period;
  *exact = false;
  for (double k = 1.0; !*exact && k <= fmin(most, TURNS_MOST); k += 1.0) {
    const double lag =
      best_near(loop, k * period, REFINE_SHARE * period, LIKE_WAVE).period;
    *exact = wave_at(loop, (size_t)lag) >= LIKE_WAVE;
    one = lag / k;
  }
  for (double k = floor(most); *exact && k > 1.0; k -= 1.0) {
    const double far = best_near(loop, k * one, k, LIKE_WAVE).period;
    if (wave_at(loop, (size_t)far) >= LIKE_WAVE) {
      return far / k;
    }
  }
  return *exact ? one : refine_by_course(loop, period);
}

/// Whether half of the events follow each other at whole periods.
static bool
has_events_at(const VwEvents* events, double period) {
  size_t n = 0;
  for (size_t i = 1; i < events->n_events; ++i) {
    const double apart = (double)(events->events[i].start_frame -
                                  events->events[i - 1U].start_frame) /
                         period;
    const double whole = fmax(floor(apart + 0.5), 1.0);
    n += fabs(apart - whole) <= EVENT_NEAR;
  }
  return n && 2U * n + 1U >= events->n_events;
}

/// A period, or that of steady fire if it is several of these.
static double
single_period(const Loop* loop, const VwEvents* events, double period) {
  const double one = loop->rate_hz / events->rapid.fire_rate_per_s;
  const double several = period / one;
  return several > 1.5 && fabs(several - floor(several + 0.5)) <= EVENT_NEAR
           ? one
           : period;
}

static void
find(const Loop* loop, const VwEvents* events, VwCycle* cycle) {
  const Tried whole = choose_whole(loop);
  const Tried other = choose_other(loop);
  const bool  even =
    whole.score >= WHOLE_LEAST && whole.score >= other.score - WORSE;
  const bool none =
    (events->kind == VW_KIND_SUSTAINED && events->n_events == 1U) ||
    other.score < OTHER_LEAST ||
    (other.score < SURE_LEAST && !has_events_at(events, other.period));
  if (!even && none) {
    return;
  }
  bool         exact = false;
  const double period =
    refine(loop,
           even ? whole.period : single_period(loop, events, other.period),
           &exact);
  const double shots = floor(loop->length / period + 0.5);
  const double left = loop->length - shots * period;
  const bool   nothing = fabs(left) <= LEFT_S * loop->rate_hz;
  const bool   real = events->rapid.jitter_ms >= JITTER_LEAST_MS &&
                    fabs(left) <= VW_LEFT_SHARE * period;
  *cycle = (VwCycle){
    period, left, (size_t)shots, even || nothing || real, nothing, exact};
}

VwStatus
vw_cycle_find(const VwSound*  loop,
              const VwEvents* events,
              size_t          gap_frames,
              VwCycle*        cycle) {
  Loop    of = {.n_frames = loop->n_frames,
                .rate_hz = loop->rate_hz,
                .length = (double)(loop->n_frames + gap_frames)};
  VwCycle made = {.period_frames = NAN, .left_frames = NAN};
  if ((double)loop->n_frames > LOOP_MOST_S * of.rate_hz ||
      (double)loop->n_frames < 2.0 * PERIOD_LEAST_S * of.rate_hz) {
    *cycle = made;
    return VW_OK;
  }
  double* const wave = malloc(loop->n_frames * sizeof(double));
  VwStatus      st = wave ? VW_OK : VW_NO_MEMORY;
  for (size_t i = 0; wave && i < loop->n_frames; ++i) {
    wave[i] = (double)loop->values[i * loop->n_channels];
  }
  of.wave = wave;
  st = st ? st : take_alike(loop, &of);
  st = st ? st : take_course(&of);
  if (!st) {
    find(&of, events, &made);
    *cycle = made;
  }
  free(of.alike);
  free(of.course);
  free(wave);
  return st;
}
