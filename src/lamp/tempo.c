// The fire rate of a sound that holds many shots.

#include "base/units.h"
#include "lamp/heard.h"
#include "lamp/lamp.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// Bounds without a source beside them are simulated here: with them the test of
// found rates reads every loop made there right, and rapid fire within its
// limits.

/* A recording */

// Fire rates that are looked for.
#define RECORDED_LEAST_PER_S 2.5
#define RECORDED_MOST_PER_S 25.0

#define SHOTS_LEAST 4U

// Levels farther below the crest count as silence.
#define FLOOR_DB 25.0

// The rise of a level is taken over twice this.
#define HALF_RISE_S 0.005

// A rise belongs to a shot where it is so large beside those of the loudest.
#define RISE_SHARE 0.4

// Shots lie at least so far apart, and at most, in parts of the period; a
// person hears one displaced by less as even.
#define NEAREST_SHARE 0.7
#define FARTHEST_SHARE 1.3
#define JITTER_SHARE_MOST 0.12

// The crest of a shot lies within so much of its steepest rise.
#define CREST_AFTER_S 0.012

/// What is known of a recording.
typedef struct {
  VwCurve curve;
  double* rise;  ///< How much the level rises about each step, dB. Owned.
  size_t* shots; ///< Steps of the shots' rises. Owned.
  size_t  n_shots;
  double  floor; ///< Power that counts as silence.
} Recording;

static double
db_at(const Recording* recording, size_t step) {
  return vw_db_of_power(fmax(recording->curve.level[step], recording->floor));
}

static VwStatus
take_rises(Recording* recording) {
  const VwCurve* const curve = &recording->curve;
  const size_t         reach = vw_curve_steps(curve, HALF_RISE_S);
  const double crest = curve->level[vw_curve_crest(curve, 0, curve->n_steps)];
  recording->floor = crest * vw_power_of_db(-FLOOR_DB);
  recording->rise = calloc(curve->n_steps + 1U, sizeof(double));
  recording->shots = calloc(curve->n_steps + 1U, sizeof(size_t));
  if (!recording->rise || !recording->shots) {
    return VW_NO_MEMORY;
  }
  if (!(crest > 0.0)) {
    return VW_NO_STEADY_RATE;
  }
  for (size_t i = 0; i + reach < curve->n_steps; ++i) {
    const size_t before = i > reach ? i - reach : 0U;
    recording->rise[i] =
      fmax(db_at(recording, i + reach) - db_at(recording, before), 0.0);
  }
  return VW_OK;
}

/* Period */

static double
correlation(const Recording* recording, size_t lag) {
  const size_t n = recording->curve.n_steps;
  double       sum = 0.0;
  for (size_t i = 0; i + lag < n; ++i) {
    sum += recording->rise[i] * recording->rise[i + lag];
  }
  // The overlap shrinks with the lag; so does the sum.
  return sum * (double)n / (double)(n - lag);
}

/// The shortest lag that fits nearly as well as any, or 0.
static size_t
coarse_period(const Recording* recording) {
  const size_t shortest =
    vw_curve_steps(&recording->curve, 1.0 / RECORDED_MOST_PER_S);
  const size_t longest =
    vw_curve_steps(&recording->curve, 1.0 / RECORDED_LEAST_PER_S);
  double  best = 0.0;
  size_t  period = 0;
  double* values = calloc(longest + 2U, sizeof(double));
  for (size_t lag = shortest;
       values && lag <= longest && lag + shortest < recording->curve.n_steps;
       ++lag) {
    values[lag] = correlation(recording, lag);
    best = fmax(best, values[lag]);
  }
  for (size_t lag = shortest + 1U; values && !period && lag < longest; ++lag) {
    const bool top =
      values[lag] >= values[lag - 1U] && values[lag] > values[lag + 1U];
    period = top && values[lag] >= 0.7 * best ? lag : 0U;
  }
  free(values);
  return period;
}

/* Shots */

/// The highest rise in [from, to).
static size_t
highest_rise(const Recording* recording, size_t from, size_t to) {
  size_t best = from;
  for (size_t i = from; i < to && i < recording->curve.n_steps; ++i) {
    best = recording->rise[i] > recording->rise[best] ? i : best;
  }
  return best;
}

/// Every step whose rise is the highest within `reach` of it, and high.
static void
pick_shots(Recording* recording, size_t period) {
  const size_t n = recording->curve.n_steps;
  const size_t reach = (size_t)(NEAREST_SHARE * (double)period);
  const double least =
    RISE_SHARE * recording->rise[highest_rise(recording, 0, n)];
  recording->n_shots = 0;
  for (size_t i = 0; i < n; ++i) {
    const size_t from = i > reach ? i - reach : 0U;
    if (recording->rise[i] >= least &&
        highest_rise(recording, from, i + reach + 1U) == i) {
      recording->shots[recording->n_shots++] = i;
    }
  }
}

/// Where the level of a shot comes to half its first crest, in steps: its
/// attack, since the window is symmetrical.
static double
attack_of(const Recording* recording, size_t shot, size_t period) {
  const VwCurve* const curve = &recording->curve;
  const size_t         rise = recording->shots[shot];
  const size_t         window = vw_curve_steps(curve, CREST_AFTER_S);
  const size_t         crest = vw_curve_crest(curve, rise, rise + window);
  const size_t         first = rise > period / 2U ? rise - period / 2U : 0U;
  size_t               low = crest;
  while (low > first && curve->level[low - 1U] < curve->level[low]) {
    --low;
  }
  const double half = 0.5 * (curve->level[crest] + curve->level[low]);
  size_t       at = low;
  while (at + 1U < crest && curve->level[at + 1U] < half) {
    ++at;
  }
  const double here = curve->level[at];
  const double next = curve->level[at + 1U];
  return (double)at + (next > here ? (half - here) / (next - here) : 0.0);
}

/// Mean period of the shots and how uneven they are. False where they are not
/// steady.
static bool
fit(const Recording* recording, size_t period, VwRateFound* found) {
  const size_t n = recording->n_shots;
  if (n < SHOTS_LEAST) {
    return false;
  }
  const double first = attack_of(recording, 0, period);
  const double last = attack_of(recording, n - 1U, period);
  const double mean = (last - first) / (double)(n - 1U);
  double       square = 0.0;
  double       before = first;
  for (size_t i = 1; i < n; ++i) {
    const double at = attack_of(recording, i, period);
    const double off = at - first - mean * (double)i;
    if (at - before < NEAREST_SHARE * mean ||
        at - before > FARTHEST_SHARE * mean) {
      return false;
    }
    square += off * off / (double)n;
    before = at;
  }
  const double jitter = sqrt(square);
  found->fire_rate_per_s = 1.0 / (mean * recording->curve.step_s);
  found->shots = n;
  found->jitter_ms = 1000.0 * jitter * recording->curve.step_s;
  return jitter <= JITTER_SHARE_MOST * mean;
}

static VwStatus
find_recorded(Recording* recording, VwRateFound* found) {
  const VwStatus st = take_rises(recording);
  if (st) {
    return st;
  }
  const size_t period = coarse_period(recording);
  VwRateFound  out = {0};
  if (!period) {
    return VW_NO_STEADY_RATE;
  }
  pick_shots(recording, period);
  if (!fit(recording, period, &out)) {
    return VW_NO_STEADY_RATE;
  }
  *found = out;
  return VW_OK;
}

VwStatus
vw_rate_of_recording(const VwSound* sound, VwRateFound* found) {
  VwSound   mono = {0};
  Recording recording = {0};
  VwStatus  st = vw_pulse_channel(sound, &mono);
  st = st ? st : vw_curve_take(&mono, &recording.curve);
  st = st ? st : find_recorded(&recording, found);
  vw_curve_clear(&recording.curve);
  free(recording.rise);
  free(recording.shots);
  vw_sound_clear(&mono);
  return st;
}

/* A loop */

#define SHOTS_MOST 64U

// Fire rates that a loop may have.
#define RATE_LEAST_PER_S 0.25
#define RATE_MOST_PER_S 50.0

// Fainter than the loudest by more the first is no shot, but what is before
// one.
#define FAINT_DB 12.0

// Different takes are told apart up to this rate.
#define TURNS_MOST_PER_S 22.0

// A gap is hidden in the last 0.4 of a period; there is room for its rounding.
#define GAP_MOST 0.42

// A gap that is not known has to be this long and to make the shots so much
// more alike; of few shots, which chance may bring together, alike at all.
#define GAP_LEAST_S 0.003
#define GAP_LEAD 0.02
#define GAP_FEW 3U
#define GAP_FEW_LIKE 0.9

// Shots of one take: how much the level rises at each of them, how alike a shot
// and the next are, this and how much of the level one course explains, and how
// near that comes to the best spacing.
#define ONE_RISE_DB 1.0
#define ONE_LIKE 0.2
#define ONE_ENOUGH 0.68
#define ONE_SHARE 0.68
#define ONE_COURSE 0.2

// Above 20 a second shots fuse (common practice): they have to be alike.
#define FAST_LIKE 0.9

// Takes in turn: two thirds of them rise by so much (one may be far fainter
// than the one before it), each has one that is like it, and twice the shots
// have to make them so much more alike.
#define TURNS_RISE_DB 3.0
#define TURNS_LIKE 0.62
#define TURNS_PER_OCTAVE 0.08

// Takes take turns where partners are by so much more alike than neighbours.
#define TURNS_BETTER 0.18

// What speaks for more shots between those that are alike, two takes that
// alternate, say: the level rises, and all run a similar course, not that of
// one take.
#define BETWEEN_DB 8.0
#define BETWEEN_MOST_DB 12.0
#define BETWEEN_ENOUGH 1.95

// Between these it is left open.
#define BETWEEN_UNSURE 1.4
#define BETWEEN_SURE 2.4

// A level that changes by less has no shots in it.
#define RANGE_LEAST_DB 4.0

// A single shot may be a shallow one.
#define RISE_SINGLE_DB 4.0

/// What is known of a loop and of all the spacings that it may have.
typedef struct {
  VwHeard   heard;
  VwLags    lags;                 ///< Taken where the gap is not known.
  double    gap_s;                ///< NaN: not known.
  VwSpacing best[SHOTS_MOST + 1]; ///< For each number of shots the likelier.
} Count;

static double
rate_of(const VwSpacing* spacing) {
  return 1.0 / spacing->period_s;
}

/* Spacings */

/// Judge a spacing and keep it where it is likelier than that of as many shots.
static VwStatus
add(Count* count, VwSpacing spacing) {
  VwSpacing* const best = &count->best[spacing.shots];
  const VwStatus   st = vw_spacing_judge(&count->heard, &spacing);
  const bool       guessed = !spacing.wraps && isnan(count->gap_s);
  const double     lead = guessed ? GAP_LEAD : 0.0;
  const bool       few = guessed && spacing.shots <= GAP_FEW;
  const bool       alike = !few || spacing.next >= GAP_FEW_LIKE;
  if (!st && alike &&
      (!best->shots || fmax(spacing.next, spacing.partner) >
                         fmax(best->next, best->partner) + lead)) {
    *best = spacing;
  }
  return st;
}

/// The period of so many shots with a gap behind the last.
static double
period_with_gap_s(const Count* count, size_t shots) {
  const double length_s = count->heard.bands.length_s;
  const double n = (double)shots;
  if (!isnan(count->gap_s)) {
    return (length_s + count->gap_s) / n;
  }
  return vw_lags_period_s(&count->lags,
                          shots,
                          (length_s + GAP_LEAST_S) / n,
                          length_s / (n - GAP_MOST));
}

/// Judge so many shots, spread over the file and spread over file and gap.
static VwStatus
add_shots(Count* count, size_t shots) {
  const double length_s = count->heard.bands.length_s;
  const double n = (double)shots;
  const bool   gap = isnan(count->gap_s) ? shots > 1U : count->gap_s > 0.0;
  VwStatus     st =
    add(count,
        (VwSpacing){.shots = shots, .period_s = length_s / n, .wraps = true});
  if (!st && gap) {
    const double period_s = period_with_gap_s(count, shots);
    if (n * period_s - length_s <= GAP_MOST * period_s) {
      st = add(count, (VwSpacing){.shots = shots, .period_s = period_s});
    }
  }
  return st;
}

static VwStatus
add_all(Count* count) {
  const double most = RATE_MOST_PER_S * count->heard.bands.length_s;
  VwStatus     st = isnan(count->gap_s)
                      ? vw_lags_take(&count->heard.bands, &count->lags)
                      : VW_OK;
  for (size_t n = 1; !st && n <= SHOTS_MOST && (n == 1U || (double)n <= most);
       ++n) {
    st = add_shots(count, n);
  }
  return st;
}

/* Choice */

/// Whether the file starts with a shot. A recording seldom does.
static bool
starts(const VwSpacing* spacing) {
  return spacing->first_db <= FAINT_DB;
}

/// What speaks for shots of one take, 0 where nothing does.
static double
of_one(const VwSpacing* spacing) {
  const double likely = spacing->next + spacing->one_course;
  const double alike =
    rate_of(spacing) > TURNS_MOST_PER_S ? FAST_LIKE : ONE_LIKE;
  return starts(spacing) && spacing->least_db >= ONE_RISE_DB &&
             spacing->next >= alike && spacing->one_course >= ONE_COURSE &&
             likely >= ONE_ENOUGH
           ? likely
           : 0.0;
}

/// The most shots of one take, or NULL.
static const VwSpacing*
most_of_one(const Count* count) {
  const VwSpacing* found = NULL;
  double           best = 0.0;
  for (size_t n = 2; n <= SHOTS_MOST; ++n) {
    best = fmax(best, of_one(&count->best[n]));
  }
  for (size_t n = 2; best > 0.0 && n <= SHOTS_MOST; ++n) {
    const VwSpacing* const spacing = &count->best[n];
    found = of_one(spacing) >= ONE_SHARE * best ? spacing : found;
  }
  return found;
}

/// The likeliest number of shots of takes that take turns, or NULL.
static const VwSpacing*
best_of_turns(const Count* count) {
  const VwSpacing* found = NULL;
  double           best = 0.0;
  for (size_t n = 2; n <= SHOTS_MOST; ++n) {
    const VwSpacing* const spacing = &count->best[n];
    const double likely = spacing->partner - TURNS_PER_OCTAVE * log2((double)n);
    if (spacing->shots && starts(spacing) &&
        rate_of(spacing) <= TURNS_MOST_PER_S &&
        spacing->third_db >= TURNS_RISE_DB && spacing->partner >= TURNS_LIKE &&
        (!found || likely > best)) {
      best = likely;
      found = spacing;
    }
  }
  return found;
}

/// The spacing of the shots that are alike; of one shot where none are.
static const VwSpacing*
choose_alike(const Count* count) {
  const VwSpacing* const one = most_of_one(count);
  const VwSpacing* const turns = best_of_turns(count);
  if (!one || (turns && turns->partner >= one->next + TURNS_BETTER)) {
    return turns ? turns : &count->best[1];
  }
  return one;
}

/// What speaks for shots between those that are alike.
static double
between(const VwSpacing* spacing) {
  return fmin(spacing->least_db, BETWEEN_MOST_DB) / BETWEEN_DB +
         2.0 * spacing->one_course - 0.5 * spacing->next;
}

/// A multiple of the shots that are alike.
static VwSpacing
multiple_of(const VwSpacing* alike, size_t times) {
  return (VwSpacing){.shots = alike->shots * times,
                     .period_s = alike->period_s / (double)times,
                     .wraps = alike->wraps};
}

/// Whether a gap is hidden in the last period, if there is one.
static bool
hides_gap(const Count* count, const VwSpacing* spacing) {
  const double length_s = (double)spacing->shots * spacing->period_s;
  return length_s - count->heard.bands.length_s <= GAP_MOST * spacing->period_s;
}

/// The shots themselves, those between the alike ones counted in.
static VwStatus
choose(const Count* count, VwSpacing* chosen, VwRateFound* found) {
  const VwSpacing* const alike = choose_alike(count);
  double                 best = 0.0;
  VwStatus               st = VW_OK;
  *chosen = *alike;
  for (size_t times = 2; !st && times * alike->shots <= SHOTS_MOST; ++times) {
    VwSpacing more = multiple_of(alike, times);
    if (rate_of(&more) > TURNS_MOST_PER_S || !hides_gap(count, &more)) {
      break;
    }
    st = vw_spacing_judge(&count->heard, &more);
    if (!st && between(&more) >= BETWEEN_ENOUGH) {
      *chosen = more;
      best = between(&more);
      found->other_shots = best < BETWEEN_SURE ? alike->shots : 0U;
    } else if (!st && between(&more) >= fmax(BETWEEN_UNSURE, best)) {
      found->other_shots = more.shots;
    }
  }
  return st;
}

/* Rate */

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

/// The spacing of as many shots as are known.
static VwStatus
choose_known(Count* count, size_t shots, VwSpacing* chosen) {
  VwStatus st = isnan(count->gap_s)
                  ? vw_lags_take(&count->heard.bands, &count->lags)
                  : VW_OK;
  st = st ? st : add_shots(count, shots);
  if (!st) {
    *chosen = count->best[shots];
  }
  return st;
}

static VwStatus
count_shots(Count* count, size_t known, VwSpacing* chosen, VwRateFound* found) {
  if (!has_shots(&count->heard.pulses)) {
    return VW_NO_STEADY_RATE;
  }
  if (known) {
    return choose_known(count, known, chosen);
  }
  VwStatus st = add_all(count);
  st = st ? st : choose(count, chosen, found);
  if (!st && chosen->shots == 1U && chosen->least_db < RISE_SINGLE_DB) {
    st = VW_NO_STEADY_RATE;
  }
  return st;
}

/// The rate is exact once the number is: the whole cycle in seconds first.
static VwStatus
find_rate(const VwSound*     mono,
          const VwLoopKnown* known,
          Count*             count,
          VwRateFound*       found) {
  VwSpacing   chosen = {0};
  VwRateFound out = {0};
  VwStatus    st = count_shots(count, known->shots, &chosen, &out);
  if (st) {
    return st;
  }
  out.gap_ms = known->gap_ms;
  if (isnan(known->gap_ms)) {
    out.gap_ms = chosen.wraps
                   ? 0.0
                   : 1000.0 * vw_gap_found_s(mono, &count->heard, &chosen);
  }
  out.uneven = chosen.wraps && out.gap_ms > 0.0;
  out.shots = chosen.shots;
  out.fire_rate_per_s =
    (double)chosen.shots * (double)mono->rate_hz /
    ((double)mono->n_frames + out.gap_ms / 1000.0 * mono->rate_hz);
  if (out.fire_rate_per_s < RATE_LEAST_PER_S) {
    return VW_NO_STEADY_RATE;
  }
  *found = out;
  return VW_OK;
}

VwLoopKnown
vw_loop_unknown(void) {
  return (VwLoopKnown){0U, NAN};
}

VwStatus
vw_rate_of_loop(const VwSound*     loop,
                const VwLoopKnown* known,
                VwRateFound*       found) {
  VwSound      mono = {0};
  Count* const count = calloc(1U, sizeof(Count));
  VwStatus     st = count ? vw_pulse_channel(loop, &mono) : VW_NO_MEMORY;
  st = st ? st : vw_heard_take(&mono, &count->heard);
  if (!st) {
    count->gap_s = known->gap_ms / 1000.0;
    st = find_rate(&mono, known, count, found);
  }
  if (count) {
    vw_heard_clear(&count->heard);
    vw_lags_clear(&count->lags);
  }
  free(count);
  vw_sound_clear(&mono);
  return st == VW_SILENT ? VW_NO_STEADY_RATE : st;
}
