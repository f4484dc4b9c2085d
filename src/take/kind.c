#include "base/units.h"
#include "take/internal.h"

#include <math.h>

// Every figure is chosen here, by synthetic takes and by recordings.

// Rapid fire: so many events on a line, at this rate or faster, that part of
// them and of the line's places, and their jitter no more than this part of the
// period.
#define RAPID_LEAST 4.0
#define RAPID_PER_S 3.5
#define RAPID_ON_LINE 0.70
#define RAPID_FILLED 0.75
#define RAPID_JITTER 0.07

// Several shots: a silence so deep and long between stretches that are so loud;
// or three events; or two with a dip so deep, or less deep if they are alike.
#define SILENCE_DB (-38.0)
#define SILENCE_S 0.060
#define LOUD_DB (-12.0)
#define SEVERAL_LEAST 3.0
#define TWO_DIP_DB 20.0
#define ALIKE_DIP_DB 12.0
#define ALIKE 0.55
#define ALIKE_STEPS 60U

// Sustained: so long, with so little fall from its start to its end; or so long
// within 12 dB of its crest; and between its events no dip so deep.
#define SUSTAINED_S 0.35
#define TREND_DB (-9.0)
#define NEAR_CREST_S 1.2
#define NEAR_CREST_DB (-12.0)
#define SUSTAINED_DIP_DB 25.0

// What is within this of the crest, from first to last, is the sound.
#define SOUND_DB (-30.0)

// How far a figure may lie from its bound before it cannot be mistaken: a ratio
// of so much, or so many dB.
#define SURE_RATIO 2.0
#define SURE_DB 12.0

static double
within_one(double x) {
  return fmin(fmax(x, -1.0), 1.0);
}

/// How far a figure is above a bound, in its logarithm: 1 at twice the bound.
static double
over(double value, double bound) {
  return value > 0.0 ? within_one(log(value / bound) / log(SURE_RATIO)) : -1.0;
}

static double
over_db(double value_db, double bound_db) {
  return isnan(value_db) ? -1.0 : within_one((value_db - bound_db) / SURE_DB);
}

/* Rapid fire */

static double
rapid_margin(const VwRapidFire* rapid, size_t n_events) {
  if (!rapid->n_on_line) {
    return -1.0;
  }
  const double n = (double)rapid->n_on_line;
  const double jitter =
    fmax(rapid->jitter_ms * 1e-3 * rapid->fire_rate_per_s, 1e-4);
  // A whole number passes its bound by half a step.
  double margin = over(n, RAPID_LEAST - 0.5);
  margin = fmin(margin, over(rapid->fire_rate_per_s, RAPID_PER_S));
  margin = fmin(
    margin,
    within_one((n / (double)n_events - RAPID_ON_LINE) / (1.0 - RAPID_ON_LINE)));
  margin = fmin(margin,
                within_one((n / (double)rapid->n_places - RAPID_FILLED) /
                           (1.0 - RAPID_FILLED)));
  return fmin(margin, over(RAPID_JITTER, jitter));
}

bool
vw_rapid_holds(const VwRapidFire* rapid, size_t n_events) {
  return rapid_margin(rapid, n_events) > 0.0;
}

/* Several shots */

/// How alike the onsets of two events are: the correlation of their bands over
/// 60 ms.
static double
likeness(const VwHeardTake* heard, const VwEvent* one, const VwEvent* next) {
  const VwOnsets* const onsets = heard->onsets;
  const double          step_frames = VW_ONSET_STEP_S * heard->rate_hz;
  const size_t          a = (size_t)((double)one->start_frame / step_frames);
  const size_t          b = (size_t)((double)next->start_frame / step_frames);
  double                n = 0.0, x = 0.0, y = 0.0, xx = 0.0, yy = 0.0, xy = 0.0;
  const size_t          most = onsets->n - (b < onsets->n ? b : onsets->n);
  const size_t          n_steps = most < ALIKE_STEPS ? most : ALIKE_STEPS;
  for (size_t i = 0; i < n_steps * onsets->n_bands; ++i) {
    const double p = (double)onsets->band_db[a * onsets->n_bands + i];
    const double q = (double)onsets->band_db[b * onsets->n_bands + i];
    n += 1.0;
    x += p;
    y += q;
    xx += p * p;
    yy += q * q;
    xy += p * q;
  }
  const double spread = (n * xx - x * x) * (n * yy - y * y);
  return spread > 0.0 ? (n * xy - x * y) / sqrt(spread) : 0.0;
}

/// The longest silence between loud stretches, seconds.
static double
silence_s(const VwCurve* curve, double loudest) {
  const double loud = loudest * vw_power_of_db(LOUD_DB);
  const double low = loudest * vw_power_of_db(SILENCE_DB);
  size_t       n_low = 0;
  size_t       longest = 0; // since the last loud step
  size_t       kept = 0;
  bool         any = false;
  for (size_t i = 0; i < curve->n_steps; ++i) {
    const double level = curve->level[i];
    n_low = level < low ? n_low + 1U : 0U;
    longest = n_low > longest ? n_low : longest;
    if (level >= loud) {
      kept = any && longest > kept ? longest : kept;
      longest = 0;
      any = true;
    }
  }
  return (double)kept * curve->step_s;
}

static double
two_margin(const VwHeardTake* heard, const VwEvents* events) {
  double margin = -1.0;
  for (size_t i = 1; i < events->n_events; ++i) {
    const VwEvent* const next = &events->events[i];
    const double         alike = likeness(heard, &events->events[i - 1U], next);
    const double         two = fmax(over_db(next->dip_db, TWO_DIP_DB),
                            fmin(over_db(next->dip_db, ALIKE_DIP_DB),
                                 within_one((alike - ALIKE) / (1.0 - ALIKE))));
    margin = fmax(margin, two);
  }
  return margin;
}

static double
several_margin(const VwHeardTake* heard,
               const VwEvents*    events,
               double             loudest) {
  double margin = over((double)events->n_events, SEVERAL_LEAST - 0.5);
  margin = fmax(margin, over(silence_s(heard->curve, loudest), SILENCE_S));
  return fmax(margin, two_margin(heard, events));
}

/* Sustained */

/// The steps within 30 dB of the crest, from first to last.
static void
sounding(const VwCurve* curve, double loudest, size_t* from, size_t* to) {
  const double least = loudest * vw_power_of_db(SOUND_DB);
  *from = 0;
  *to = curve->n_steps;
  while (curve->level[*from] < least) {
    ++*from;
  }
  while (curve->level[*to - 1U] < least) {
    --*to;
  }
}

/// How much the level rises over the sound by a line through it, dB.
static double
trend_db(const VwCurve* curve, double loudest, size_t from, size_t to) {
  const double n = (double)(to - from);
  double       x = 0.0, y = 0.0, xx = 0.0, xy = 0.0;
  for (size_t i = from; i < to; ++i) {
    const double at = (double)(i - from) / n - 0.5;
    const double db = fmax(vw_db_of_power(curve->level[i] / loudest), -60.0);
    x += at;
    y += db;
    xx += at * at;
    xy += at * db;
  }
  const double spread = n * xx - x * x;
  return spread > 0.0 ? (n * xy - x * y) / spread : 0.0;
}

static double
sustained_margin(const VwCurve* curve, const VwEvents* events, double loudest) {
  size_t from = 0;
  size_t to = 0;
  size_t n_near = 0;
  double deepest_db = 0.0;
  sounding(curve, loudest, &from, &to);
  for (size_t i = from; i < to; ++i) {
    n_near +=
      curve->level[i] >= loudest * vw_power_of_db(NEAR_CREST_DB) ? 1U : 0U;
  }
  for (size_t i = 1; i < events->n_events; ++i) {
    deepest_db = fmax(deepest_db, events->events[i].dip_db);
  }
  const double long_enough =
    over((double)(to - from) * curve->step_s, SUSTAINED_S);
  const double steady = over_db(trend_db(curve, loudest, from, to), TREND_DB);
  const double near = over((double)n_near * curve->step_s, NEAR_CREST_S);
  return fmin(fmax(fmin(long_enough, steady), near),
              -over_db(deepest_db, SUSTAINED_DIP_DB));
}

/* The kind */

void
vw_kind_judge(const VwHeardTake* heard, VwEvents* events) {
  const VwCurve* const curve = heard->curve;
  const double loudest = curve->level[vw_curve_crest(curve, 0, curve->n_steps)];
  // The first that holds is the kind; what is left is a shot.
  const struct {
    VwKind kind;
    double margin;
  } judged[] = {
    {VW_KIND_RAPID_FIRE, rapid_margin(&events->rapid, events->n_events)},
    {VW_KIND_SUSTAINED, sustained_margin(curve, events, loudest)},
    {VW_KIND_SEVERAL_SHOTS, several_margin(heard, events, loudest)},
    {VW_KIND_SHOT, 1.0}};
  size_t at = 0;
  events->sure = 1.0;
  events->other_kind = VW_KIND_SHOT;
  for (; judged[at].margin <= 0.0; ++at) {
    if (-judged[at].margin < events->sure) {
      events->sure = -judged[at].margin;
      events->other_kind = judged[at].kind;
    }
  }
  events->kind = judged[at].kind;
  if (judged[at].margin < events->sure) {
    size_t next = at + 1U;
    while (judged[next].margin <= 0.0) {
      ++next;
    }
    events->sure = judged[at].margin;
    events->other_kind = judged[next].kind;
  }
}
