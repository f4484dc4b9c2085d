#include "base/units.h"
#include "lamp/heard.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// The quiet before a shot lies from here to there about its start: a choked
// tail fades for 5 ms after it, and the level's window is 10 ms long.
#define BEFORE_S 0.008
#define AFTER_S VW_LEVEL_WINDOW_S

// The part of the period in which a crest lies.
#define CREST_SHARE 0.45

// Levels farther below the loudest crest count as silence.
#define FLOOR_DB 24.0
#define RANGE_DB 90.0

VwStatus
vw_heard_take(const VwSound* mono, VwHeard* heard) {
  VwHeard  out = {0};
  VwStatus st = vw_pulses_take(mono, 1U, &out.pulses);
  st = st ? st : vw_bands_take(mono, &out.bands);
  if (st) {
    vw_heard_clear(&out);
    return st;
  }
  const VwCurve* const curve = &out.pulses.curve;
  out.loudest = curve->level[vw_curve_crest(curve, 0, curve->n_steps)];
  *heard = out;
  return VW_OK;
}

void
vw_heard_clear(VwHeard* heard) {
  if (heard) {
    vw_pulses_clear(&heard->pulses);
    vw_bands_clear(&heard->bands);
  }
}

/* Levels */

/// The curve's step at a time of the cycle.
static size_t
step_at(const VwHeard* heard, double s) {
  const VwCurve* const curve = &heard->pulses.curve;
  const double         at = (heard->bands.length_s + s) / curve->step_s;
  const size_t         step = at > 0.0 ? (size_t)(at + 0.5) : 0U;
  return step < curve->n_steps ? step : curve->n_steps - 1U;
}

/// Level below the loudest crest, dB.
static double
db_at(const VwHeard* heard, size_t step) {
  return fmax(vw_db_of_power(heard->pulses.curve.level[step] / heard->loudest),
              -RANGE_DB);
}

/// How much the level rises at the start of a shot, dB.
static double
rise_db(const VwHeard* heard, const VwSpacing* spacing, size_t shot) {
  const VwCurve* const curve = &heard->pulses.curve;
  const double         start_s = (double)shot * spacing->period_s;
  const double         crest_s = start_s + CREST_SHARE * spacing->period_s;
  const size_t         last = step_at(heard, start_s + AFTER_S);
  const size_t after = step_at(heard, fmin(crest_s, heard->bands.length_s));
  size_t       quiet = step_at(heard, start_s - BEFORE_S);
  for (size_t i = quiet; i < last && i < after; ++i) {
    quiet = curve->level[i] < curve->level[quiet] ? i : quiet;
  }
  if (quiet >= after) {
    return 0.0;
  }
  const size_t crest = vw_curve_crest(curve, quiet, after);
  return db_at(heard, crest) - db_at(heard, quiet);
}

/// How far the first crest is below the loudest, dB.
static double
first_db(const VwHeard* heard, const VwSpacing* spacing) {
  const double crest_s = CREST_SHARE * spacing->period_s;
  const size_t crest = vw_curve_crest(
    &heard->pulses.curve, step_at(heard, 0.0), step_at(heard, crest_s));
  return -db_at(heard, crest);
}

static int
compare(const void* a, const void* b) {
  const double x = *(const double*)a;
  const double y = *(const double*)b;
  return x < y ? -1 : x > y;
}

static VwStatus
judge_rises(const VwHeard* heard, VwSpacing* spacing) {
  double* const rises = calloc(spacing->shots, sizeof(double));
  if (!rises) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < spacing->shots; ++i) {
    rises[i] = rise_db(heard, spacing, i);
  }
  spacing->first_db = first_db(heard, spacing);
  qsort(rises, spacing->shots, sizeof(double), compare);
  spacing->least_db = rises[0];
  spacing->third_db = rises[spacing->shots / 3U];
  free(rises);
  return VW_OK;
}

/// Sums over the shots at one part of the period.
typedef struct {
  double sum;
  double square;
  double n;
} Sums;

/// The levels of all shots so many steps after their starts.
static Sums
sums_at(const VwHeard* heard, const VwSpacing* spacing, size_t after) {
  const double after_s = (double)after * heard->pulses.curve.step_s;
  const double last_s = heard->bands.length_s - VW_LOOP_END_S;
  Sums         sums = {0.0, 0.0, 0.0};
  for (size_t i = 0; i < spacing->shots; ++i) {
    const double at_s = (double)i * spacing->period_s + after_s;
    if (spacing->wraps || at_s <= last_s) {
      const double db = fmax(db_at(heard, step_at(heard, at_s)), -FLOOR_DB);
      sums.sum += db;
      sums.square += db * db;
      sums.n += 1.0;
    }
  }
  return sums;
}

static double
one_course(const VwHeard* heard, const VwSpacing* spacing) {
  const size_t n =
    (size_t)(spacing->period_s / heard->pulses.curve.step_s) - 1U;
  Sums   all = {0.0, 0.0, 0.0};
  double left = 0.0;
  for (size_t k = 0; k < n; ++k) {
    const Sums here = sums_at(heard, spacing, k);
    all.sum += here.sum;
    all.square += here.square;
    all.n += here.n;
    left += here.square - here.sum * here.sum / fmax(here.n, 1.0);
  }
  const double spread = all.square - all.sum * all.sum / fmax(all.n, 1.0);
  return spread > 0.0 ? 1.0 - left / spread : 0.0;
}

/* Likeness */

static double
likeness(const VwHeard* heard, const VwSpacing* spacing, size_t i, size_t j) {
  const VwBandsPair pair = {(double)i * spacing->period_s,
                            (double)j * spacing->period_s,
                            spacing->period_s,
                            spacing->wraps};
  return vw_bands_likeness(&heard->bands, &pair);
}

static VwStatus
judge_likeness(const VwHeard* heard, VwSpacing* spacing) {
  const size_t  n = spacing->shots;
  double* const best = calloc(n, sizeof(double));
  double        next = 0.0;
  double        n_next = 0.0;
  if (!best) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < n; ++i) {
    best[i] = -1.0;
  }
  for (size_t i = 0; i < n; ++i) {
    for (size_t j = i + 1U; j < n; ++j) {
      const double alike = likeness(heard, spacing, i, j);
      const bool   seam = spacing->wraps && n > 2U && !i && j + 1U == n;
      best[i] = fmax(best[i], alike);
      best[j] = fmax(best[j], alike);
      next += j == i + 1U || seam ? alike : 0.0;
      n_next += j == i + 1U || seam ? 1.0 : 0.0;
    }
  }
  for (size_t i = 0; i < n; ++i) {
    spacing->partner += best[i] / (double)n;
  }
  spacing->next = next / n_next;
  free(best);
  return VW_OK;
}

VwStatus
vw_spacing_judge(const VwHeard* heard, VwSpacing* spacing) {
  *spacing = (VwSpacing){.shots = spacing->shots,
                         .period_s = spacing->period_s,
                         .wraps = spacing->wraps};
  VwStatus st = judge_rises(heard, spacing);
  if (!st && spacing->shots > 1U && spacing->third_db > 0.0) {
    st = judge_likeness(heard, spacing);
    spacing->one_course = one_course(heard, spacing);
  }
  return st;
}

// Shots as much alike as this may have the same wave, and have it where their
// waves are as much alike as that.
#define SAME_COURSE 0.8
#define SAME_WAVE 0.9

// A spacing is that exact, and a bit more.
#define NEAR_S 0.003

// So much of the period is compared.
#define SHARE 0.5

/// How alike two pieces of so many frames are, 1 for the same wave.
static double
wave_likeness(const VwSound* mono, size_t from, size_t other, size_t n) {
  double product = 0.0;
  double energy = 1e-30;
  for (size_t i = 0; i < n; ++i) {
    const double x = (double)mono->values[from + i];
    const double y = (double)mono->values[other + i];
    product += x * y;
    energy += 0.5 * (x * x + y * y);
  }
  return product / energy;
}

/// The period, in frames, by the waves of two shots; 0 where they differ.
static double
period_by(const VwSound*   mono,
          const VwSpacing* spacing,
          size_t           shot,
          size_t           later) {
  const double period = spacing->period_s * mono->rate_hz;
  const size_t from = (size_t)((double)shot * period + 0.5);
  const size_t n = (size_t)(SHARE * period);
  const size_t near = vw_frames_of_s(NEAR_S, mono->rate_hz);
  const size_t middle = (size_t)((double)later * period + 0.5);
  double       best = 0.0;
  size_t       at = 0;
  for (size_t i = middle > near ? middle - near : 0U;
       i <= middle + near && i + n <= mono->n_frames;
       ++i) {
    const double alike = wave_likeness(mono, from, i, n);
    at = alike > best ? i : at;
    best = fmax(alike, best);
  }
  return best >= SAME_WAVE ? (double)(at - from) / (double)(later - shot) : 0.0;
}

static bool
are_alike(const VwHeard*   heard,
          const VwSpacing* spacing,
          size_t           shot,
          size_t           later) {
  const VwBandsPair pair = {(double)shot * spacing->period_s,
                            (double)later * spacing->period_s,
                            SHARE * spacing->period_s,
                            false};
  return vw_bands_likeness(&heard->bands, &pair) >= SAME_COURSE;
}

double
vw_gap_found_s(const VwSound*   mono,
               const VwHeard*   heard,
               const VwSpacing* spacing) {
  const size_t n = spacing->shots;
  double       period = 0.0;
  // The farther they are apart, the more exact.
  for (size_t apart = n - 1U; !(period > 0.0) && apart > 0U; --apart) {
    for (size_t i = 0; !(period > 0.0) && i + apart < n; ++i) {
      if (are_alike(heard, spacing, i, i + apart)) {
        period = period_by(mono, spacing, i, i + apart);
      }
    }
  }
  const double wanted =
    (double)n * (period > 0.0 ? period : spacing->period_s * mono->rate_hz);
  return fmax(round(wanted - (double)mono->n_frames), 0.0) / mono->rate_hz;
}
