#include "base/units.h"
#include "take/events.h"
#include "take/internal.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

// So much of each event is compared, less where one of them is shorter, in such
// steps: as long as a shot is told by, and coarser than its start is known
// (chosen here).
#define PATTERN_S 0.200
#define PATTERN_LEAST_S 0.060
#define STEP_S 0.004

/// The patterns of all events: rows of bands over time.
typedef struct {
  float* rows; ///< Each of mean 0 and length 1, or 0 throughout. Owned.
  size_t n_row;
} Patterns;

/// As much of each event as all of them have, in steps of the onset curve.
static size_t
pattern_steps(const VwSound* sound, const VwEvents* events) {
  double least_s = PATTERN_S;
  for (size_t i = 0; i < events->n_events; ++i) {
    const VwEvent* const event = &events->events[i];
    least_s = fmin(least_s,
                   (double)(event->end_frame - event->start_frame) /
                     (double)sound->rate_hz);
  }
  return (size_t)(fmax(least_s, PATTERN_LEAST_S) / VW_ONSET_STEP_S + 0.5);
}

/// What an event's bands do; before its end, that is before the next.
static void
take_pattern(const VwOnsets* onsets, size_t from, size_t to, float* row) {
  const size_t n_bands = onsets->n_bands;
  const size_t n_step = (size_t)(STEP_S / VW_ONSET_STEP_S + 0.5);
  for (size_t i = from; i < to && i < onsets->n; ++i) {
    float* const cell = row + (i - from) / n_step * n_bands;
    for (size_t b = 0; b < n_bands; ++b) {
      cell[b] += onsets->band_db[i * n_bands + b];
    }
  }
}

/// Make a row one of mean 0 and length 1: products are then correlations.
static void
normalise(float* row, size_t n) {
  double sum = 0.0;
  double squares = 0.0;
  for (size_t i = 0; i < n; ++i) {
    sum += (double)row[i];
  }
  const double mean = sum / (double)n;
  for (size_t i = 0; i < n; ++i) {
    row[i] -= (float)mean;
    squares += (double)row[i] * (double)row[i];
  }
  for (size_t i = 0; i < n && squares > 0.0; ++i) {
    row[i] /= (float)sqrt(squares);
  }
}

static VwStatus
take_patterns(const VwSound* sound, const VwEvents* events, Patterns* out) {
  VwOnsets     onsets = {0};
  const size_t n_most = pattern_steps(sound, events);
  const size_t n_times = (size_t)(PATTERN_S / STEP_S + 0.5);
  VwStatus     st = vw_onsets_take(sound, &onsets);
  out->n_row = n_times * onsets.n_bands;
  out->rows =
    st ? NULL : calloc(events->n_events * out->n_row + 1U, sizeof(float));
  st = st || out->rows ? st : VW_NO_MEMORY;
  for (size_t i = 0; !st && i < events->n_events; ++i) {
    const double per_frame = 1.0 / (sound->rate_hz * VW_ONSET_STEP_S);
    const size_t from =
      (size_t)((double)events->events[i].start_frame * per_frame);
    const size_t to = (size_t)((double)events->events[i].end_frame * per_frame);
    float* const row = out->rows + i * out->n_row;
    take_pattern(&onsets, from, to < from + n_most ? to : from + n_most, row);
    normalise(row, out->n_row);
  }
  vw_onsets_clear(&onsets);
  return st;
}

static float
product(const float* a, const float* b, size_t n) {
  float sum = 0.0F;
  for (size_t i = 0; i < n; ++i) {
    sum += a[i] * b[i];
  }
  return fminf(fmaxf(sum, -1.0F), 1.0F);
}

VwStatus
vw_likeness_find(const VwSound*  sound,
                 const VwEvents* events,
                 float*          likeness) {
  assert(sound && events && likeness);
  const size_t   n = events->n_events;
  Patterns       patterns = {0};
  const VwStatus st = take_patterns(sound, events, &patterns);
  for (size_t i = 0; !st && i < n; ++i) {
    const float* const row = patterns.rows + i * patterns.n_row;
    likeness[i * n + i] = 1.0F;
    for (size_t k = 0; k < i; ++k) {
      const float of =
        product(row, patterns.rows + k * patterns.n_row, patterns.n_row);
      likeness[i * n + k] = of;
      likeness[k * n + i] = of;
    }
  }
  free(patterns.rows);
  return st;
}

/* Starts */

// The shot of rapid fire that rises out of quiet is the pattern of the others:
// where what rings of the one before hides their slow attacks, it tells where
// they start.

// A faster attack is found to a millisecond without a pattern, and a slower one
// is none; a shot starts no later than so much after where it was found (chosen
// here, as are all figures below).
#define FAST_S 0.003
#define SLOW_S 0.080
#define LATER_S 0.005

// The pattern's power is a mean over so many steps to either side, and its shot
// is compared up to so long after its crest.
#define SMOOTH 2U
#define AFTER_S 0.010

// The pattern rises out of what is so far below its crest, taken so long before
// it; and nothing is supposed to be lower than this.
#define QUIET_DB (-25.0)
#define QUIET_S 0.020
#define LEAST_DB (-40.0)

// What rings is taken over so long before a shot is looked for.
#define RINGS_S 0.005

// One step tells so much at most, lest what the pattern lacks outweigh it.
#define MOST_EVIDENCE 8.0

// Starts are tried in such steps of the curve, then one by one; and all of them
// again so often, as each shot's tell on its neighbours.
#define COARSE 4
#define PASSES 3

/// The shots and their pattern, in steps of the curve.
typedef struct {
  const VwCurve* curve;
  VwEvent*       events;
  size_t         n_events;
  double*        power;  ///< Of the pattern from its start on, less the quiet.
  size_t         n;      ///< Steps of it;
  double         fall;   ///< by so much each later one is lower.
  double         quiet;  ///< Power.
  size_t         crest;  ///< Steps from its start to its crest.
  double         sooner; ///< Starts are looked for so many steps before ...
  double         later;  ///< ... and after where they were found.
  double*        at;     ///< Each event's start.
  double*        others; ///< Room for what sounds beside one shot.
} Pattern;

/// Steps that tell where a shot starts.
typedef struct {
  const Pattern* pattern;
  size_t         event;
  size_t         from, to;
} Fit;

/// The power of an event at a step if it starts at `at`.
static double
power_of(const Pattern* pattern, size_t event, double at, size_t step) {
  const double along = (double)step - at;
  const double gain = vw_power_of_db(pattern->events[event].level_db -
                                     pattern->events[0].level_db);
  if (along < 0.0) {
    return 0.0;
  }
  const size_t i = (size_t)along;
  const size_t last = pattern->n - 1U;
  if (i >= last) {
    return gain * pattern->power[last] *
           pow(pattern->fall, along - (double)last);
  }
  const double part = along - (double)i;
  return gain *
         ((1.0 - part) * pattern->power[i] + part * pattern->power[i + 1U]);
}

static double
mean_power(const VwCurve* curve, size_t from, size_t to) {
  double sum = 0.0;
  for (size_t i = from; i < to; ++i) {
    sum += curve->power[i];
  }
  return to > from ? sum / (double)(to - from) : 0.0;
}

/// How much more the shot before rings where a fit begins than the pattern has
/// it ring, as after a second swell.
static double
rings_more(const Fit* fit, size_t before, double start) {
  const size_t reach = vw_curve_steps(fit->pattern->curve, RINGS_S);
  const size_t from = fit->from > reach ? fit->from - reach : 0U;
  double       sum = 0.0;
  for (size_t step = from; step < fit->from; ++step) {
    sum += fit->pattern->quiet + power_of(fit->pattern, before, start, step);
  }
  return from < fit->from
           ? fmax(mean_power(fit->pattern->curve, from, fit->from) *
                    (double)(fit->from - from) / sum,
                  1.0)
           : 1.0;
}

/// Sum up the quiet and the shots before and after the one that is laid.
static void
add_others(const Fit* fit) {
  const Pattern* const pattern = fit->pattern;
  const size_t         event = fit->event;
  const double*        at = pattern->at;
  const double         more = rings_more(fit, event - 1U, at[event - 1U]);
  for (size_t step = fit->from; step < fit->to; ++step) {
    const double after = event + 1U < pattern->n_events
                           ? power_of(pattern, event + 1U, at[event + 1U], step)
                           : 0.0;
    const double before = power_of(pattern, event - 1U, at[event - 1U], step);
    pattern->others[step - fit->from] = pattern->quiet + after + more * before;
  }
}

/// How likely normal values of the steps' powers are.
static double
likelihood(const Fit* fit, double at) {
  const Pattern* const pattern = fit->pattern;
  double               sum = 0.0;
  for (size_t step = fit->from; step < fit->to; ++step) {
    const double variance = pattern->others[step - fit->from] +
                            power_of(pattern, fit->event, at, step);
    sum -= log(variance) +
           fmin(pattern->curve->power[step] / variance, MOST_EVIDENCE);
  }
  return sum;
}

/// The likeliest of starts `by` apart in [from, to].
static double
likeliest(const Fit* fit, double from, double to, double by) {
  double best = from;
  double highest = -HUGE_VAL;
  for (double at = from; at <= to; at += by) {
    const double likely = likelihood(fit, at);
    best = likely > highest ? at : best;
    highest = fmax(likely, highest);
  }
  return best;
}

static double
found_at(const Pattern* pattern, size_t event) {
  return (double)pattern->events[event].start_frame /
         (double)pattern->curve->n_step;
}

/// Lay an event but the first again.
static void
lay(const Pattern* pattern, size_t event) {
  const double found = found_at(pattern, event);
  const double from =
    fmax(found - pattern->sooner, pattern->at[event - 1U] + 1.0);
  const double to = found + pattern->later;
  const double after =
    to + (double)pattern->crest + AFTER_S / pattern->curve->step_s;
  const double n_steps = (double)pattern->curve->n_steps;
  const Fit fit = {pattern, event, (size_t)from, (size_t)fmin(after, n_steps)};
  add_others(&fit);
  double best = likeliest(&fit, from, to, COARSE);
  best = likeliest(&fit, best - COARSE, best + COARSE, 1.0);
  pattern->at[event] = likeliest(&fit, best - 1.0, best + 1.0, 0.125);
}

/// Where the level is lowest between the first event's crest and the next.
static size_t
pattern_end(const Pattern* pattern) {
  const VwCurve* const curve = pattern->curve;
  size_t               lowest = pattern->events[0].crest_frame / curve->n_step;
  const size_t         to = (size_t)found_at(pattern, 1U);
  for (size_t i = lowest; i < to && i < curve->n_steps; ++i) {
    lowest = curve->level[i] < curve->level[lowest] ? i : lowest;
  }
  return lowest;
}

/// Take the pattern from a start on; false if it does not rise out of quiet.
static bool
begin_pattern(Pattern* pattern, size_t start, size_t end) {
  const VwCurve* const curve = pattern->curve;
  const size_t         crest = pattern->events[0].crest_frame / curve->n_step;
  const size_t         reach = vw_curve_steps(curve, QUIET_S);
  const double         highest = curve->level[crest];
  const double         before =
    mean_power(curve, start > reach ? start - reach : 0U, start);
  pattern->quiet = fmax(before, highest * vw_power_of_db(LEAST_DB));
  if (before > highest * vw_power_of_db(QUIET_DB) || end <= crest) {
    return false;
  }
  pattern->crest = crest - start;
  pattern->n = end - start;
  for (size_t i = 0; i < pattern->n; ++i) {
    const size_t at = start + i;
    pattern->power[i] =
      fmax(mean_power(curve, at > SMOOTH ? at - SMOOTH : 0U, at + SMOOTH + 1U) -
             pattern->quiet,
           0.0);
  }
  pattern->fall =
    fmin(pow(curve->level[end] / highest, 1.0 / (double)(end - crest)), 1.0);
  return true;
}

/// The attack of the first event.
static VwAttack
first_attack(const VwSound* sound, const Pattern* pattern, size_t end) {
  const VwCurve* const curve = pattern->curve;
  const VwEvent* const first = &pattern->events[0];
  const VwMeantShot    shot = {.rise = first->start_frame / curve->n_step,
                               .crest = first->crest_frame / curve->n_step,
                               .limit = end};
  return vw_attack_find(
    sound, curve, &shot, vw_noise_before(curve, shot.rise, shot.crest));
}

/// Set the starts where the pattern has them.
static void
set_starts(const Pattern* pattern, size_t first_frame) {
  for (size_t i = 0; i < pattern->n_events; ++i) {
    VwEvent* const event = &pattern->events[i];
    const double   off = pattern->at[i] - pattern->at[0];
    event->start_frame =
      first_frame + (size_t)(off * (double)pattern->curve->n_step + 0.5);
    if (event->crest_frame < event->start_frame) {
      event->crest_frame = event->start_frame;
    }
  }
}

VwStatus
vw_pattern_place(const VwSound* sound, const VwCurve* curve, VwEvents* events) {
  Pattern pattern = {
    .curve = curve, .events = events->events, .n_events = events->n_events};
  if (events->n_events < 3U) {
    return VW_OK;
  }
  const size_t   end = pattern_end(&pattern);
  const VwAttack attack = first_attack(sound, &pattern, end);
  if (attack.rise_s < FAST_S || attack.rise_s > SLOW_S) {
    return VW_OK;
  }
  const size_t start = attack.frame / curve->n_step;
  pattern.sooner = attack.rise_s / curve->step_s + COARSE;
  pattern.later = LATER_S / curve->step_s;
  pattern.power = malloc(curve->n_steps * sizeof(double));
  pattern.others = malloc(curve->n_steps * sizeof(double));
  pattern.at = malloc(events->n_events * sizeof(double));
  const VwStatus st =
    pattern.power && pattern.others && pattern.at ? VW_OK : VW_NO_MEMORY;
  if (!st && begin_pattern(&pattern, start, end)) {
    for (size_t i = 0; i < pattern.n_events; ++i) {
      pattern.at[i] = found_at(&pattern, i);
    }
    pattern.at[0] = (double)attack.frame / (double)curve->n_step;
    for (unsigned pass = 0; pass < PASSES; ++pass) {
      for (size_t i = 1; i < pattern.n_events; ++i) {
        lay(&pattern, i);
      }
    }
    set_starts(&pattern, attack.frame);
  }
  free(pattern.power);
  free(pattern.others);
  free(pattern.at);
  return st;
}
