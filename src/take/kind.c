#include "base/units.h"
#include "take/internal.h"

#include <math.h>

// Every figure is chosen here, by synthetic takes and by recordings.

// Rapid fire: so many events on a line, at this rate or faster, that part of
// them and of the line's places, their jitter no more than this part of the
// period, half of them at least with so much of a step, and less than that part
// of all off it that are shots of their own.
#define RAPID_LEAST 4.0
#define RAPID_PER_S 3.5
#define RAPID_ON_LINE 0.65
#define RAPID_FILLED 0.75
#define RAPID_JITTER 0.07
#define RAPID_STEP_DB 4.0
#define RAPID_LONE 0.1

// Of so many the jitter may be so much.
#define RAPID_MANY 8.0
#define RAPID_JITTER_S 0.0040

// A shot that is cut off has less of a step, but so deep a dip before it.
#define RAPID_DEEP_DB 15.0

// Faster than this it takes more to be none by chance, and there is no step; a
// dip is as clear.
#define RAPID_FAST_PER_S 12.0
#define RAPID_FAST_LEAST 5.0
#define RAPID_FAST_JITTER 0.058
#define RAPID_DIP_DB 3.0

// Over 5 ms or that part of the period a shot's power jumps, up or where it is
// cut off, by so many times what a swell's does that is as deep; beats and
// tremolos are swells. Or its level rises so many times as steeply as it falls.
#define JUMPS 1.95
#define STEEPER 1.8
#define STEEP_S 0.005
#define STEEP_SHARE 0.0625

// Faster than so much it is a buzz. If a multiple of the rate is so fast, up to
// the sixth, and its part of the course so near to the largest of a lower one,
// the rate is but an alias; a narrow dip has nearly as much of each.
#define BUZZ_PER_S 36.0
#define BUZZ_RANGE 4.0
#define FUSED_PER_S 32.0
#define FUSED_RANGE 0.35
#define MULTIPLES 6U

// Shots that ring on under the next are hardly told one by one: if their rises
// make a comb, and their power jumps, it is no surer that they are none.
#define COMB_DOUBT 0.2

// Weak shots are looked for where such a part of the events is on a line, and
// such a part of its places filled.
#define NEAR_ON_LINE 0.7
#define NEAR_FILLED 0.45

// Several shots: an event after the first with so much of a step, and by so
// much for each dB that it lies farther below the loudest; or a dip so deep
// before it; or a silence so deep and long between stretches that are so loud.
// Two alone are nearer than this in one shot: a click and its double.
#define STEP_DB 9.8
#define STEP_PER_DB 0.5
#define STEP_FROM_DB (-6.0)
#define DIP_DB 27.0

// A shot's crest lies no farther below the loudest. Of what is not plainly a
// shot, so large a part is nearly one.
#define SHOT_DB (-16.0)
#define SHOT_RANGE_DB 4.0
#define NEARLY_CLEAR (-0.25)
#define CLEAR_SHARE 0.3
#define CLEAR_RANGE 0.5
#define PLAINLY 0.6
#define SILENCE_DB (-38.0)
#define SILENCE_S 0.060
#define LOUD_DB (-12.0)
#define TWO_APART_S 0.119

// Sustained: so long within 12 dB of its crest, less if its quarters are nearly
// as loud as each other; that part of the sound, or quarters that differ no
// more; and no shots that are as clear.
#define NEAR_CREST_DB (-12.0)
#define SUSTAINED_S 0.80
#define FLAT_S 0.35
#define FLAT_DB 2.0
#define FLAT_RANGE_DB 3.0
#define SUSTAINED_SHARE 0.75
#define QUARTERS_DB 11.3
#define CLEAR_DIP_DB 20.0

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

/// By how much a step passes its bound.
static double
step_margin(const VwEvent* event) {
  const double lower_db = fmax(STEP_FROM_DB - event->level_db, 0.0);
  return over_db(event->step_db, STEP_DB + STEP_PER_DB * lower_db);
}

/// By how much an event is a shot of its own.
static double
own_margin(const VwEvent* event) {
  return fmax(step_margin(event), over_db(event->dip_db, DIP_DB));
}

/* Rapid fire */

/// By how much the shots on a line stand out: half of them by a step or a deep
/// dip, or by any dip before them if they come too fast for a step.
static double
clear_margin(const VwEvents* events) {
  const VwRapidFire* const rapid = &events->rapid;
  const bool               fast = rapid->fire_rate_per_s > RAPID_FAST_PER_S;
  double                   n_clear = 0.0;
  for (size_t i = rapid->first; i < rapid->first + rapid->n; ++i) {
    const VwEvent* const event = &events->events[i];
    const bool clear = event->dip_db >= (fast ? RAPID_DIP_DB : RAPID_DEEP_DB) ||
                       (!fast && event->step_db >= RAPID_STEP_DB);
    n_clear += clear ? 1.0 : 0.0;
  }
  return within_one(2.0 * n_clear / (double)rapid->n - 1.0);
}

/// Steps of a course.
enum { COURSE = 64 };

/// The mean power from shot to shot of a line, from three quarters of a period
/// before the start on.
static void
take_course(const VwCurve*  curve,
            const VwEvents* events,
            double          period_s,
            double*         course) {
  const size_t first = events->rapid.first + 1U;
  const size_t last = events->rapid.first + events->rapid.n - 1U;
  for (size_t k = 0; k < COURSE; ++k) {
    const double off_s = ((double)k / COURSE - 0.75) * period_s;
    double       sum = 0.0;
    for (size_t i = first; i <= last; ++i) {
      const double start =
        (double)(events->events[i].start_frame / curve->n_step);
      const double at = fmax(start + off_s / curve->step_s, 0.0);
      sum += curve->level[(size_t)fmin(at, (double)curve->n_steps - 1.0)];
    }
    course[k] = fmax(sum / (double)(last - first + 1U), 1e-12);
  }
}

/// By how much shots of such a course are no swells: they jump, or they rise
/// more steeply than they fall.
static double
sudden_margin(const double* course, double period_s) {
  const double share = fmax(STEEP_S / period_s, STEEP_SHARE);
  const size_t apart = (size_t)(fmin(share, 0.25) * COURSE + 0.5);
  double       jump = 0.0;
  double       rise = 1.0;
  double       fall = 1.001;
  double       highest = 0.0;
  double       lowest = HUGE_VAL;
  for (size_t k = 0; k < COURSE; ++k) {
    const double next = course[(k + apart) % COURSE];
    jump = fmax(jump, fabs(next - course[k]));
    rise = fmax(rise, next / course[k]);
    fall = fmax(fall, course[k] / next);
    highest = fmax(highest, course[k]);
    lowest = fmin(lowest, course[k]);
  }
  const double swell = (highest - lowest) * sin(VW_PI * (double)apart / COURSE);
  return fmax(within_one(jump / fmax(swell, 1e-12) / JUMPS - 1.0),
              within_one(log(rise) / log(fall) / STEEPER - 1.0));
}

/// How much of a course there is at a multiple of its rate.
static double
part_at(const double* course, size_t multiple) {
  double re = 0.0;
  double im = 0.0;
  for (size_t k = 0; k < COURSE; ++k) {
    const double turns = (double)(multiple * k % COURSE) / COURSE;
    re += course[k] * cos(2.0 * VW_PI * turns);
    im += course[k] * sin(2.0 * VW_PI * turns);
  }
  return hypot(re, im);
}

/// By how much a course is no alias of one that is too fast for shots.
static double
slow_margin(const double* course, double per_s) {
  double most = fmax(part_at(course, 1U), 1e-12);
  double margin = within_one((BUZZ_PER_S - per_s) / BUZZ_RANGE);
  for (size_t i = 2; i <= MULTIPLES; ++i) {
    const double part = part_at(course, i);
    if ((double)i * per_s > FUSED_PER_S) {
      margin = fmin(margin, within_one((1.0 - part / most) / FUSED_RANGE));
    }
    most = fmax(most, part);
  }
  return margin;
}

/// By how much the level's course is that of shots, at the rate of their line
/// or of the comb, if this is faster.
static double
struck_margin(const VwHeardTake* heard, const VwEvents* events) {
  const double period_s =
    fmin(1.0 / events->rapid.fire_rate_per_s, heard->comb_s);
  double course[COURSE];
  if (!events->rapid.n_on_line) {
    return -1.0;
  }
  take_course(heard->curve, events, period_s, course);
  return fmin(sudden_margin(course, period_s),
              slow_margin(course, 1.0 / period_s));
}

/// By how much few shots of their own lie off the line.
static double
lone_margin(const VwEvents* events) {
  double n_lone = 0.0;
  for (size_t i = 1; i < events->n_events; ++i) {
    const VwEvent* const event = &events->events[i];
    n_lone += !event->on_line && own_margin(event) > 0.0 ? 1.0 : 0.0;
  }
  return within_one(1.0 - n_lone / (RAPID_LONE * (double)events->n_events));
}

/// By how much the events are many on a line.
static double
even_margin(const VwEvents* events) {
  const VwRapidFire* const rapid = &events->rapid;
  if (!rapid->n_on_line) {
    return -1.0;
  }
  const double n = (double)rapid->n_on_line;
  const double per_s = rapid->fire_rate_per_s;
  const double jitter = fmax(rapid->jitter_ms * 1e-3 * per_s, 1e-4);
  const bool   fast = per_s > RAPID_FAST_PER_S;
  const double least = fast ? RAPID_FAST_LEAST : RAPID_LEAST;
  const double few = fast ? RAPID_FAST_JITTER : RAPID_JITTER;
  const double most =
    n < RAPID_MANY ? few : fmax(RAPID_JITTER, RAPID_JITTER_S * per_s);
  // A whole number passes its bound by half a step.
  double margin = over(n, least - 0.5);
  margin = fmin(margin, over(per_s, RAPID_PER_S));
  margin = fmin(margin,
                within_one((n / (double)events->n_events - RAPID_ON_LINE) /
                           (1.0 - RAPID_ON_LINE)));
  margin = fmin(margin,
                within_one((n / (double)rapid->n_places - RAPID_FILLED) /
                           (1.0 - RAPID_FILLED)));
  margin = fmin(margin, clear_margin(events));
  margin = fmin(margin, lone_margin(events));
  return fmin(margin, over(most, jitter));
}

bool
vw_rapid_is_near(const VwEvents* events) {
  const VwRapidFire* const rapid = &events->rapid;
  const double             n = (double)rapid->n_on_line;
  return n >= RAPID_LEAST && rapid->fire_rate_per_s >= RAPID_PER_S &&
         n >= NEAR_ON_LINE * (double)rapid->n &&
         n >= NEAR_FILLED * (double)rapid->n_places;
}

bool
vw_rapid_holds(const VwHeardTake* heard, const VwEvents* events) {
  return even_margin(events) > 0.0 && struck_margin(heard, events) > 0.0;
}

/* Several shots */

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

bool
vw_event_leads(const VwEvent* event, double apart_s) {
  return !(event->dip_db < DIP_DB) ||
         (own_margin(event) > 0.0 && apart_s >= TWO_APART_S);
}

/// How clear the clearest loud event after the first loud one is, less if few
/// are clear: what rattles on is no shot.
static double
events_margin(const VwEvents* events) {
  double margin = -1.0;
  double n_loud = 0.0;
  double n_clear = 0.0;
  for (size_t i = 0; i < events->n_events; ++i) {
    const VwEvent* const event = &events->events[i];
    const double loud = within_one((event->level_db - SHOT_DB) / SHOT_RANGE_DB);
    if (n_loud > 0.0) {
      margin = fmax(margin, fmin(own_margin(event), loud));
      n_clear += own_margin(event) > NEARLY_CLEAR ? 1.0 : 0.0;
    }
    n_loud += n_loud > 0.0 || loud > 0.0 ? 1.0 : 0.0;
  }
  const double share = n_loud > 1.0 ? n_clear / (n_loud - 1.0) : 0.0;
  const double most = (share - CLEAR_SHARE) / CLEAR_RANGE;
  const double plain = (margin - PLAINLY) / (1.0 - PLAINLY);
  return fmin(margin, fmax(within_one(most), plain));
}

static double
several_margin(const VwHeardTake* heard,
               const VwEvents*    events,
               double             loudest) {
  double margin = fmax(over(silence_s(heard->curve, loudest), SILENCE_S),
                       events_margin(events));
  if (events->n_events == 2U) {
    const size_t apart =
      events->events[1].start_frame - events->events[0].start_frame;
    margin = fmin(margin, over((double)apart / heard->rate_hz, TWO_APART_S));
  }
  return events->n_events > 1U ? margin : -1.0;
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

/// How much the quarters of steps [from, to) differ in power, dB.
static double
quarters_db(const VwCurve* curve, size_t from, size_t to) {
  double lowest = HUGE_VAL;
  double highest = 0.0;
  for (size_t i = 0; i < 4U; ++i) {
    const size_t first = from + (to - from) * i / 4U;
    const size_t last = from + (to - from) * (i + 1U) / 4U;
    double       sum = 0.0;
    for (size_t k = first; k < last; ++k) {
      sum += curve->level[k] / (double)(last - first);
    }
    lowest = fmin(lowest, sum);
    highest = fmax(highest, sum);
  }
  return lowest > 0.0 ? vw_db_of_power(highest / lowest) : -SOUND_DB;
}

/// How clear the clearest shot after the first is.
static double
clearest(const VwEvents* events) {
  double margin = -1.0;
  for (size_t i = 1; i < events->n_events; ++i) {
    const VwEvent* const event = &events->events[i];
    margin = fmax(
      margin, fmin(step_margin(event), over_db(event->dip_db, CLEAR_DIP_DB)));
  }
  return margin;
}

/// @param trembles Its events are no shots, however clear.
static double
sustained_margin(const VwCurve*  curve,
                 const VwEvents* events,
                 double          loudest,
                 bool            trembles) {
  const double near = loudest * vw_power_of_db(NEAR_CREST_DB);
  size_t       from = 0;
  size_t       to = 0;
  double       n_near = 0.0;
  sounding(curve, loudest, &from, &to);
  for (size_t i = from; i < to; ++i) {
    n_near += curve->level[i] >= near ? 1.0 : 0.0;
  }
  const double differ_db = quarters_db(curve, from, to);
  const double uneven =
    fmin(fmax((differ_db - FLAT_DB) / FLAT_RANGE_DB, 0.0), 1.0);
  const double least_s = FLAT_S + (SUSTAINED_S - FLAT_S) * uneven;
  const double share = n_near / (double)(to - from);
  const double even =
    fmax(within_one((share - SUSTAINED_SHARE) / (1.0 - SUSTAINED_SHARE)),
         -over_db(differ_db, QUARTERS_DB));
  const double held = fmin(over(n_near * curve->step_s, least_s), even);
  return trembles ? held : fmin(held, -clearest(events));
}

/* The kind */

void
vw_kind_judge(const VwHeardTake* heard, VwEvents* events) {
  const VwCurve* const curve = heard->curve;
  const double loudest = curve->level[vw_curve_crest(curve, 0, curve->n_steps)];
  const double even = even_margin(events);
  const double struck = struck_margin(heard, events);
  const bool   trembles = even > 0.0 && struck <= 0.0;
  const bool   combed = isfinite(heard->comb_s) && struck > 0.0;
  const double least = combed ? -COMB_DOUBT : -1.0;
  // The first that holds is the kind; what is left is a shot.
  const struct {
    VwKind kind;
    double margin;
  } judged[] = {
    {VW_KIND_RAPID_FIRE, fmax(fmin(even, struck), least)},
    {VW_KIND_SUSTAINED, sustained_margin(curve, events, loudest, trembles)},
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
