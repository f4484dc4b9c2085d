#include "base/line.h"
#include "base/units.h"
#include "take/events.h"
#include "take/internal.h"

#include <math.h>
#include <stdlib.h>

// An event is on the line if it is so near to its place: that part of a period,
// in the end also so many seconds, but no more than that part; after so many
// empty places the line ends (chosen here).
#define NEAR 0.15
#define NEAR_S 0.010
#define NEAR_MOST 0.35
#define REFITS 3
#define PLACES_MISSED 3

// Two events are a period apart if they are no farther from each other.
#define ONE_PERIOD 1.5

// Rises recur in a comb at lags of so many steps; a rise counts up to so much,
// and at a lag so much more of them recurs than half-way between its multiples.
// It is a comb of fast fire if no longer lag than that is a better one, at so
// much of its worth: a multiple may be as good.
#define COMB_SHORTEST 31U
#define COMB_LONGEST 286U
#define COMB_FAST 170U
#define COMB_SLOWER 0.8
#define COMB_MOST_DB 8.0
#define COMB_LEAST 0.2

// So many spacings are tried for the period, at most.
#define SEEDS 32U

// About the place of a line so much is a shot, as near as an event on it; at
// the edge a rise counts for so much less. Of two nearer than so much, or that
// part of the period, one is dropped.
#define WEAK_RISE_DB 2.5
#define FAR_DB 6.0
#define APART_S 0.025
#define APART 0.5

/// Events in order and their times from the first.
typedef struct {
  VwEvent* events;
  size_t   n;
  double   rate_hz;
} Starts;

static double
time_of(const Starts* starts, size_t i) {
  return (double)(starts->events[i].start_frame -
                  starts->events[0].start_frame) /
         starts->rate_hz;
}

/// A line as far as it is followed.
typedef struct {
  VwLine line;
  size_t first, last; ///< Events on it.
  double k_first, k_last;
} Followed;

/// Follow a line from event `from` on, or back, from a first period.
static void
follow(const Starts* starts,
       size_t        from,
       double        period_s,
       bool          back,
       Followed*     on) {
  double k = 0.0;
  double t = time_of(starts, from);
  for (size_t n = 1; back ? n <= from : from + n < starts->n; ++n) {
    const size_t i = back ? from - n : from + n;
    const bool   known = on->line.n > 3.0;
    const double slope = known ? vw_line_slope(&on->line) : period_s;
    // Between where the last one was and where the line has it.
    const double last = known ? 0.5 * (t + vw_line_at(&on->line, k)) : t;
    const double places = fabs(time_of(starts, i) - last) / slope;
    const double whole = floor(places + 0.5);
    if (whole > 1.0 + PLACES_MISSED) {
      break;
    }
    if (whole >= 1.0 && fabs(places - whole) <= NEAR) {
      k += back ? -whole : whole;
      t = time_of(starts, i);
      vw_line_add(&on->line, k, t);
      *(back ? &on->first : &on->last) = i;
      *(back ? &on->k_first : &on->k_last) = k;
    }
  }
}

/// How many events are on a line, less a tenth of its empty places (chosen
/// here: of loops and of uneven shots alike).
static double
worth_of(const Followed* on) {
  const double n_places = on->k_last - on->k_first + 1.0;
  return on->line.n - 0.1 * (n_places - on->line.n);
}

/// How near to its place an event is on a line in the end, in periods.
static double
near_of(double period_s) {
  return fmin(fmax(NEAR_S / period_s, NEAR), NEAR_MOST);
}

/// Where a line has an event, in periods.
static double
place_of(const Starts* starts, const VwLine* line, size_t i) {
  return i < starts->n
           ? (time_of(starts, i) - vw_line_at(line, 0.0)) / vw_line_slope(line)
           : HUGE_VAL;
}

/// Lay the line again through all events near a place, each place's nearest.
static void
lay_again(const Starts* starts, Followed* on) {
  const Followed was = *on;
  const double   near = near_of(vw_line_slope(&was.line));
  *on = (Followed){.k_last = -HUGE_VAL};
  for (size_t i = 0; i < starts->n; ++i) {
    const double place = place_of(starts, &was.line, i);
    const double k = floor(place + 0.5);
    const double off = fabs(place - k);
    const double next_off = fabs(place_of(starts, &was.line, i + 1U) - k);
    if (off > near || next_off <= off || k <= on->k_last) {
      continue;
    }
    if (k - on->k_last > 1.0 + PLACES_MISSED) {
      if (i > was.last) {
        break;
      }
      *on = (Followed){.first = i, .k_first = k};
    }
    vw_line_add(&on->line, k, time_of(starts, i));
    on->last = i;
    on->k_last = k;
  }
}

/// Tell events whether they are on a line: its ends, and each place's nearest.
static void
mark(const Starts* starts, const Followed* on) {
  const double near = near_of(vw_line_slope(&on->line));
  double       before = -HUGE_VAL;
  for (size_t i = 0; i < starts->n; ++i) {
    const double place = place_of(starts, &on->line, i);
    const double k = floor(place + 0.5);
    const double off = fabs(place - k);
    const double other =
      fmin(fabs(before - k), fabs(place_of(starts, &on->line, i + 1U) - k));
    starts->events[i].on_line =
      i == on->first || i == on->last ||
      (i > on->first && i < on->last && off <= near && off < other);
    before = place;
  }
}

static VwRapidFire
rapid_of(const Followed* on) {
  const VwLine* const line = &on->line;
  const double        slope = vw_line_slope(line);
  const double        spread = vw_line_spread(line);
  const double        squares = vw_line_stray(line);
  const double        per_s = 1.0 / slope;
  const double        error_s = sqrt(squares / (line->n - 2.0) / spread);
  return (VwRapidFire){.first = on->first,
                       .n = on->last - on->first + 1U,
                       .n_on_line = (size_t)line->n,
                       .n_places = (size_t)(on->k_last - on->k_first) + 1U,
                       .fire_rate_per_s = per_s,
                       .uncertainty_per_s =
                         vw_student_95(line->n - 2.0) * error_s * per_s * per_s,
                       .jitter_ms = 1000.0 * sqrt(squares / line->n)};
}

void
vw_rapid_find(VwEvent*     events,
              size_t       n_events,
              unsigned     rate_hz,
              VwRapidFire* rapid) {
  const Starts starts = {events, n_events, rate_hz};
  const size_t stride = n_events / SEEDS + 1U;
  *rapid = (VwRapidFire){
    .fire_rate_per_s = NAN, .uncertainty_per_s = NAN, .jitter_ms = NAN};
  Followed best = {0};
  for (size_t i = 0; i + 1U < n_events; i += stride) {
    const double period_s = time_of(&starts, i + 1U) - time_of(&starts, i);
    Followed     on = {.first = i, .last = i};
    vw_line_add(&on.line, 0.0, time_of(&starts, i));
    follow(&starts, i, period_s, false, &on);
    follow(&starts, i, period_s, true, &on);
    best = worth_of(&on) > worth_of(&best) ? on : best;
  }
  for (unsigned i = 0; i < REFITS && best.line.n >= 3.0 &&
                       near_of(vw_line_slope(&best.line)) > NEAR;
       ++i) {
    lay_again(&starts, &best);
  }
  if (best.line.n >= 3.0) {
    mark(&starts, &best);
    *rapid = rapid_of(&best);
  }
}

/// Whether an event is none of a line's, and a period lies about it.
static bool
is_between(const VwEvents* events, size_t i, size_t before, double period) {
  size_t next = i;
  while (!events->events[next].on_line) {
    ++next;
  }
  return next > i &&
         (double)(events->events[next].start_frame -
                  events->events[before].start_frame) < ONE_PERIOD * period;
}

void
vw_line_keep(VwEvents* events) {
  VwRapidFire* const rapid = &events->rapid;
  VwEvent* const     all = events->events;
  if (rapid->n < 3U) {
    return;
  }
  const size_t last = rapid->first + rapid->n - 1U;
  const double period =
    (double)(all[last].start_frame - all[rapid->first].start_frame) /
    (double)(rapid->n_places - 1U);
  size_t n = rapid->first + 1U;
  size_t before = rapid->first;
  for (size_t i = n; i < events->n_events; ++i) {
    VwEvent* const shot = &all[n - 1U];
    if (i < last && is_between(events, i, before, period)) {
      const bool louder = all[i].level_db > shot->level_db;
      shot->crest_frame = louder ? all[i].crest_frame : shot->crest_frame;
      shot->level_db = fmax(all[i].level_db, shot->level_db);
      shot->end_frame = all[i].end_frame;
      --rapid->n;
      continue;
    }
    before = all[i].on_line ? n : before;
    all[n++] = all[i];
  }
  events->n_events = n;
}

/* The comb */

/// How much a rise counts. A comparison is several times as fast as fmin().
static double
counted(double rise_db) {
  return rise_db < COMB_MOST_DB ? rise_db : COMB_MOST_DB;
}

/// How alike the rises are to those so many steps later.
static double
recurs(const VwOnsets* onsets, size_t lag) {
  const double* const rise_db = onsets->rise_db;
  double              sum = 0.0;
  for (size_t i = lag; i < onsets->n; ++i) {
    sum += counted(rise_db[i]) * counted(rise_db[i - lag]);
  }
  return sum;
}

VwRapidFire
vw_comb_find(const VwOnsets* onsets) {
  double      at[COMB_LONGEST * 3U / 2U + 1U];
  VwRapidFire comb = {0};
  double      most = COMB_LEAST * recurs(onsets, 0);
  size_t      n = COMB_SHORTEST / 2U;
  // Longer lags are taken for those alone that have a fast comb.
  for (size_t lag = COMB_SHORTEST;
       lag <= COMB_FAST || (comb.n && lag <= COMB_LONGEST);
       ++lag) {
    for (; n <= lag * 3U / 2U; ++n) {
      at[n] = recurs(onsets, n);
    }
    const double over = at[lag] - 0.5 * (at[lag / 2U] + at[lag * 3U / 2U]);
    const double worth = lag > COMB_FAST ? COMB_SLOWER * over : over;
    if (worth > most) {
      most = worth;
      comb =
        (VwRapidFire){.n = lag <= COMB_FAST ? 1U : 0U,
                      .fire_rate_per_s = 1.0 / (VW_ONSET_STEP_S * (double)lag)};
    }
  }
  return comb;
}

/* Places */

/// What the places of a line are filled from, and with; in frames.
typedef struct {
  const VwSound*  sound;
  const VwOnsets* onsets;
  double          reach;
  VwEvents*       to;
} Places;

/// Add what rises a little about a frame where a shot of a line should be;
/// false if nothing does.
static bool
add_at(const Places* places, double frame) {
  const VwOnsets* const onsets = places->onsets;
  const double          per_step = VW_ONSET_STEP_S * places->sound->rate_hz;
  const double          from = fmax(frame - places->reach, 0.0) / per_step;
  const double          to = (frame + places->reach) / per_step;
  double                most = -HUGE_VAL;
  size_t                best = 0;
  for (size_t i = (size_t)from; i < onsets->n && (double)i <= to; ++i) {
    const double off = ((double)i * per_step - frame) / places->reach;
    const double worth = onsets->attack_db[i] - FAR_DB * off * off;
    if (worth > most && onsets->attack_db[i] >= WEAK_RISE_DB &&
        vw_onsets_is_peak(onsets, i)) {
      most = worth;
      best = i;
    }
  }
  if (most > -HUGE_VAL) {
    places->to->events[places->to->n_events++] =
      (VwEvent){.start_frame = vw_onsets_frame(places->sound, best),
                .rise_db = onsets->attack_db[best]};
  }
  return most > -HUGE_VAL;
}

/// Add shots next to an end of a line, one period after the other.
static void
walk_on(const Places* places, size_t from, double period) {
  const VwEvents* const to = places->to;
  double                at = (double)from;
  at += period;
  while (at > 0.0 && at < (double)places->sound->n_frames &&
         add_at(places, at)) {
    at = (double)to->events[to->n_events - 1U].start_frame + period;
  }
}

static int
compare_starts(const void* a, const void* b) {
  const size_t x = ((const VwEvent*)a)->start_frame;
  const size_t y = ((const VwEvent*)b)->start_frame;
  return (x > y) - (x < y);
}

/// Bring events into order; drop what lies too near to the one before.
static void
put_in_order(VwEvents* events, double apart) {
  VwEvent* const all = events->events;
  size_t         n = 1;
  qsort(all, events->n_events, sizeof(VwEvent), compare_starts);
  for (size_t i = 1; i < events->n_events; ++i) {
    if ((double)(all[i].start_frame - all[n - 1U].start_frame) >= apart) {
      all[n++] = all[i];
    }
  }
  events->n_events = n;
}

void
vw_places_fill(const VwSound*     sound,
               const VwOnsets*    onsets,
               const VwRapidFire* line,
               VwEvents*          events) {
  const double period_s = 1.0 / line->fire_rate_per_s;
  const double period = period_s * sound->rate_hz;
  const double reach = near_of(period_s) * period;
  const Places places = {sound, onsets, reach, events};
  const size_t n = events->n_events;
  const size_t first = line->first;
  const size_t last = first + line->n - 1U;
  for (size_t i = first; i < last; ++i) {
    const double from = (double)events->events[i].start_frame;
    const double gap = (double)events->events[i + 1U].start_frame - from;
    const double n_places = floor(gap / period + 0.5);
    for (double k = 1.0; k < n_places; k += 1.0) {
      (void)add_at(&places, from + gap * k / n_places);
    }
  }
  walk_on(&places, events->events[first].start_frame, -period);
  walk_on(&places, events->events[last].start_frame, period);
  if (events->n_events > n) {
    put_in_order(events, fmin(APART_S, APART * period_s) * sound->rate_hz);
  }
}
