#include "take/events.h"

#include "base/units.h"
#include "take/internal.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

// An event's bands rise by so much, its crest lies no farther below the
// loudest, and between two the level falls by so much (chosen here, as are all
// figures below).
#define RISE_DB 5.0
#define LEVEL_DB (-20.0)
#define DIP_DB 4.0

// Levels before and after a start are taken so far from it, but for a gap.
#define STEP_S 0.030
#define STEP_GAP_S 0.004
#define STEP_MOST_DB 60.0

// Of two nearer than this one is dropped.
#define APART_S 0.025

// A comb alone is rapid fire if so many lie on its line.
#define COMB_EVENTS 10U

// The start of a shot that is looked for lies nearer to its rise.
#define WEAK_START_S 0.008

// The crest lies within so much after the start.
#define CREST_S 0.060

// What follows so soon and is so much less loud is an echo.
#define ECHO_S 0.075
#define ECHO_DB 4.0

// An event is over when it has sunk so far below its crest, or down to so much
// above the quietest there is.
#define SUNK_DB 60.0
#define ABOVE_QUIET_DB 3.0

// Starts that are placed by the first shot are kept if their line's jitter
// grows by no more.
#define JITTER_WORSE_MS 0.5

/// All that events are found by.
typedef struct {
  const VwSound* sound;
  const VwCurve* curve;
  VwOnsets       onsets;
  double         loudest; ///< Power.
  VwEvent*       events;  ///< Room for as many as the curve may hold.
  size_t         n;
  double*        room; ///< Of vw_start_about().
  VwRapidFire    comb;
} Search;

static VwHeardTake
heard_of(const Search* search) {
  return (VwHeardTake){
    .curve = search->curve,
    .onsets = &search->onsets,
    .rate_hz = search->sound->rate_hz,
    .comb_s = search->comb.n ? 1.0 / search->comb.fire_rate_per_s : HUGE_VAL};
}

static size_t
step_of(const Search* search, size_t frame) {
  const size_t step = frame / search->curve->n_step;
  return step < search->curve->n_steps ? step : search->curve->n_steps - 1U;
}

/* Candidates */

static void
find_peaks(Search* search) {
  const VwOnsets* const onsets = &search->onsets;
  for (size_t i = 0; i < onsets->n; ++i) {
    if (onsets->rise_db[i] >= RISE_DB && vw_onsets_is_peak(onsets, i)) {
      search->events[search->n++] =
        (VwEvent){.start_frame = vw_onsets_frame(search->sound, i),
                  .rise_db = onsets->attack_db[i]};
    }
  }
}

/// Look for the crest of an event after its start, before the next.
static void
find_crest(const Search* search, size_t i) {
  const VwCurve* const curve = search->curve;
  VwEvent* const       event = &search->events[i];
  const size_t         from = step_of(search, event->start_frame);
  const size_t         most = from + vw_curve_steps(curve, CREST_S);
  const size_t         next = i + 1U < search->n
                                ? step_of(search, search->events[i + 1U].start_frame)
                                : curve->n_steps;
  const size_t crest = vw_curve_crest(curve, from, next < most ? next : most);
  const size_t frame = crest * curve->n_step;
  event->crest_frame = frame > event->start_frame ? frame : event->start_frame;
  event->level_db =
    vw_db_of_power(fmax(curve->level[crest] / search->loudest, 1e-12));
}

static void
find_crests(Search* search) {
  for (size_t i = 0; i < search->n; ++i) {
    find_crest(search, i);
  }
}

static void
drop_low(Search* search) {
  size_t n = 0;
  for (size_t i = 0; i < search->n; ++i) {
    if (search->events[i].level_db >= LEVEL_DB) {
      search->events[n++] = search->events[i];
    }
  }
  search->n = n;
}

/// How far the level falls between two events below the lower crest, dB.
static double
dip_between(const Search* search, const VwEvent* one, const VwEvent* next) {
  const VwCurve* const curve = search->curve;
  const size_t         from = step_of(search, one->crest_frame);
  const size_t         to = step_of(search, next->crest_frame);
  double               least = curve->level[from];
  for (size_t i = from; i <= to; ++i) {
    least = fmin(least, curve->level[i]);
  }
  const double lower = fmin(one->level_db, next->level_db);
  const double least_db = vw_db_of_power(fmax(least / search->loudest, 1e-12));
  return fmax(lower - least_db, 0.0);
}

/// Mean level of steps [from, to), silence outside of the take.
static double
mean_level(const VwCurve* curve, ptrdiff_t from, ptrdiff_t to) {
  double sum = 0.0;
  for (ptrdiff_t i = from; i < to; ++i) {
    sum += i >= 0 && i < (ptrdiff_t)curve->n_steps ? curve->level[i] : 0.0;
  }
  return sum / (double)(to - from);
}

/// How much louder it is after a start than before it, dB.
static double
step_at(const Search* search, size_t frame) {
  const VwCurve* const curve = search->curve;
  const ptrdiff_t      at = (ptrdiff_t)step_of(search, frame);
  const ptrdiff_t      gap = (ptrdiff_t)vw_curve_steps(curve, STEP_GAP_S);
  const ptrdiff_t      reach = (ptrdiff_t)vw_curve_steps(curve, STEP_S);
  const double         before = mean_level(curve, at - reach, at - gap);
  const double         after = mean_level(curve, at, at + reach);
  const double         least = after * vw_power_of_db(-STEP_MOST_DB);
  return after > 0.0 ? vw_db_of_power(after / fmax(before, least)) : 0.0;
}

static void
find_dips(Search* search) {
  for (size_t i = 1; i < search->n; ++i) {
    search->events[i].dip_db =
      dip_between(search, &search->events[i - 1U], &search->events[i]);
  }
}

/// Make one of neighbours that are one: the one that rises more.
static void
merge_near(Search* search) {
  const size_t apart = vw_frames_of_s(APART_S, search->sound->rate_hz);
  VwEvent*     events = search->events;
  size_t       n = 0;
  for (size_t i = 0; i < search->n; ++i) {
    events[n++] = events[i];
    while (n > 1U) {
      VwEvent* const one = &events[n - 2U];
      VwEvent* const next = &events[n - 1U];
      next->dip_db = dip_between(search, one, next);
      if (next->dip_db >= DIP_DB &&
          next->start_frame - one->start_frame >= apart) {
        break;
      }
      const bool    first = one->rise_db >= next->rise_db;
      const bool    louder = next->level_db > one->level_db;
      const VwEvent loud = louder ? *next : *one;
      if (!first) {
        *one = *next;
      }
      one->crest_frame = loud.crest_frame;
      one->level_db = loud.level_db;
      --n;
    }
  }
  search->n = n;
}

/// Whether an event adds so little to what rings of the one before, so soon
/// after it, that it is an echo: as if both were in phase.
static bool
is_echo(const Search* search, const VwEvent* before, const VwEvent* event) {
  const size_t near = vw_frames_of_s(ECHO_S, search->sound->rate_hz);
  const double rings_db =
    fmin(before->level_db, event->level_db) - event->dip_db;
  const double added = vw_gain_of_db(event->level_db) - vw_gain_of_db(rings_db);
  return event->start_frame - before->start_frame <= near &&
         added <= vw_gain_of_db(before->level_db - ECHO_DB);
}

/// @param fires Of rapid fire nothing on its line is an echo.
static void
drop_echoes(Search* search, bool fires) {
  size_t n = 0;
  for (size_t i = 0; i < search->n; ++i) {
    VwEvent* const       event = &search->events[i];
    const VwEvent* const before = n ? &search->events[n - 1U] : NULL;
    event->dip_db = before ? dip_between(search, before, event) : NAN;
    if (!before || (fires && event->on_line) ||
        !is_echo(search, before, event)) {
      search->events[n++] = *event;
    }
  }
  search->n = n;
}

/* Rapid fire */

/// Leave nothing but the event that rises most.
static void
leave_strongest(Search* search) {
  size_t best = 0;
  for (size_t i = 1; i < search->n; ++i) {
    best = search->events[i].rise_db > search->events[best].rise_db ? i : best;
  }
  search->events[0] = search->events[best];
  search->n = 1;
}

/* Starts and ends */

static void
find_starts(Search* search, double reach_s) {
  for (size_t i = 0; i < search->n; ++i) {
    VwEvent* const event = &search->events[i];
    const size_t   start =
      vw_start_about(search->sound, event->start_frame, reach_s, search->room);
    const size_t earliest = i ? search->events[i - 1U].start_frame + 1U : 0U;
    event->start_frame = start > earliest ? start : earliest;
    if (event->crest_frame < event->start_frame) {
      event->crest_frame = event->start_frame;
    }
  }
}

static void
find_ends(Search* search) {
  const VwCurve* const curve = search->curve;
  double               quiet = HUGE_VAL;
  for (size_t i = 0; i < curve->n_steps; ++i) {
    quiet = fmin(quiet, curve->level[i]);
  }
  quiet *= vw_power_of_db(ABOVE_QUIET_DB);
  for (size_t i = 0; i < search->n; ++i) {
    VwEvent* const event = &search->events[i];
    const size_t   crest = step_of(search, event->crest_frame);
    const size_t limit = i + 1U < search->n ? search->events[i + 1U].start_frame
                                            : search->sound->n_frames;
    const double sunk =
      fmax(curve->level[crest] * vw_power_of_db(-SUNK_DB), quiet);
    size_t end = step_of(search, limit);
    while (end > crest && curve->level[end] <= sunk) {
      --end;
    }
    const size_t frame = (end + 1U) * curve->n_step;
    event->step_db = step_at(search, event->start_frame);
    event->end_frame = frame < limit ? frame : limit;
  }
}

/// What does not rise by so much anywhere is one event: at its crest.
static void
take_whole(Search* search) {
  const size_t crest =
    vw_curve_crest(search->curve, 0, search->curve->n_steps) *
    search->curve->n_step;
  search->events[search->n++] =
    (VwEvent){.start_frame = crest, .crest_frame = crest};
}

static void
find_all(Search* search) {
  find_peaks(search);
  find_crests(search);
  drop_low(search);
  merge_near(search);
  if (!search->n) {
    take_whole(search);
  }
  find_starts(search, VW_START_S);
}

/// Find ends, steps and the line through all events that are left.
static void
measure(Search* search, VwEvents* events) {
  find_ends(search);
  search->events[0].dip_db = NAN;
  events->n_events = search->n;
  vw_rapid_find(
    search->events, search->n, search->sound->rate_hz, &events->rapid);
}

/// Add the weak shots of a line, if more lie on it then and it is one of rapid
/// fire; to all events, or to the strongest alone.
static VwStatus
try_filled(Search*            search,
           const VwRapidFire* line,
           bool               alone,
           VwEvents*          events) {
  const VwHeardTake heard = heard_of(search);
  const size_t      n = search->n;
  const VwRapidFire was =
    vw_rapid_holds(&heard, events) ? events->rapid : (VwRapidFire){0};
  VwEvent* const before = malloc(n * sizeof(VwEvent));
  if (!before) {
    return VW_NO_MEMORY;
  }
  memcpy(before, search->events, n * sizeof(VwEvent));
  if (alone) {
    leave_strongest(search);
  }
  VwEvents all = {.events = search->events, .n_events = search->n};
  vw_places_fill(search->sound, &search->onsets, line, &all);
  search->n = all.n_events;
  find_crests(search);
  drop_low(search);
  find_starts(search, WEAK_START_S);
  find_dips(search);
  measure(search, events);
  const size_t least =
    alone && was.n_on_line < COMB_EVENTS ? COMB_EVENTS : was.n_on_line;
  if (!vw_rapid_holds(&heard, events) || events->rapid.n_on_line < least) {
    memcpy(search->events, before, n * sizeof(VwEvent));
    search->n = n;
    measure(search, events);
  }
  free(before);
  return VW_OK;
}

/// Find the weak shots of rapid fire: those of its line, and those of the comb
/// that its rises make.
static VwStatus
find_weak(Search* search, VwEvents* events) {
  const VwRapidFire line = events->rapid;
  VwStatus          st = VW_OK;
  if (vw_rapid_is_near(events)) {
    st = try_filled(search, &line, false, events);
  }
  if (!st && search->comb.n) {
    st = try_filled(search, &search->comb, true, events);
  }
  return st;
}

/* Swells */

/// Leave out the swells of several shots, or of rapid fire if what is left is
/// steadier.
static VwStatus
find_swells(Search* search, VwEvents* events) {
  const VwHeardTake heard = heard_of(search);
  const VwEvents    was = *events;
  const size_t      n = search->n;
  const bool        fires = was.kind == VW_KIND_RAPID_FIRE;
  VwEvent* const    before = malloc(n * sizeof(VwEvent));
  if (!before) {
    return VW_NO_MEMORY;
  }
  memcpy(before, search->events, n * sizeof(VwEvent));
  VwStatus st =
    vw_swells_drop(search->sound->rate_hz, fires, search->events, &search->n);
  if (!st) {
    find_dips(search);
    measure(search, events);
    const bool rapid = vw_rapid_holds(&heard, events);
    const bool whole = events->rapid.n_on_line == search->n &&
                       events->rapid.n_places == search->n;
    if (fires ? !rapid || !whole : search->n < 2U) {
      memcpy(search->events, before, n * sizeof(VwEvent));
      search->n = n;
      *events = was;
    } else if (rapid) {
      vw_kind_judge(&heard, events);
    }
  }
  free(before);
  return st;
}

static bool
are_in_order(const Search* search) {
  for (size_t i = 1; i < search->n; ++i) {
    if (search->events[i].start_frame <= search->events[i - 1U].start_frame) {
      return false;
    }
  }
  return true;
}

/// Place the shots of rapid fire by the first, unless their line is worse then
/// or two change places.
static VwStatus
place_by_first(Search* search, VwEvents* events) {
  const size_t      n_bytes = search->n * sizeof(VwEvent);
  const VwRapidFire was = events->rapid;
  VwEvent* const    before = malloc(n_bytes);
  if (!before) {
    return VW_NO_MEMORY;
  }
  memcpy(before, search->events, n_bytes);
  const VwStatus st = vw_pattern_place(search->sound, search->curve, events);
  const bool     ordered = are_in_order(search);
  if (ordered) {
    measure(search, events);
  }
  // There is no jitter without a line.
  if (!ordered ||
      !(events->rapid.jitter_ms <= was.jitter_ms + JITTER_WORSE_MS)) {
    memcpy(search->events, before, n_bytes);
    measure(search, events);
  }
  if (!events->rapid.n) {
    events->rapid = was;
  }
  free(before);
  return st;
}

/// Look for the crest of each event anew whose start, or the next, was moved
/// onto it or past it.
static void
settle_crests(Search* search) {
  for (size_t i = 0; i < search->n; ++i) {
    const VwEvent* const event = &search->events[i];
    if (event->crest_frame <= event->start_frame ||
        event->crest_frame >= event->end_frame) {
      find_crest(search, i);
    }
  }
}

/// The events of the part of a sound that starts and ends with no digital
/// silence.
static VwStatus
events_of(const VwSound* whole,
          const VwSound* sound,
          const VwCurve* curve,
          VwEvents*      events) {
  Search   search = {.sound = sound, .curve = curve};
  VwEvents out = {0};
  VwStatus st = vw_onsets_take(sound, &search.onsets);
  search.loudest = curve->level[vw_curve_crest(curve, 0, curve->n_steps)];
  search.events =
    st ? NULL : calloc(search.onsets.n / 4U + 4U, sizeof(VwEvent));
  search.room = calloc(vw_start_room(sound->rate_hz), sizeof(double));
  st = st || (search.events && search.room) ? st : VW_NO_MEMORY;
  if (!st) {
    out.events = search.events;
    vw_onsets_end(whole, search.loudest, &search.onsets);
    search.comb = vw_comb_find(&search.onsets);
    find_all(&search);
    measure(&search, &out);
    const VwHeardTake heard = heard_of(&search);
    st = find_weak(&search, &out);
    if (!st) {
      drop_echoes(&search, vw_rapid_holds(&heard, &out));
      measure(&search, &out);
    }
    vw_kind_judge(&heard, &out);
    if (!st && vw_events_are_shots(&out)) {
      st = find_swells(&search, &out);
    }
  }
  if (!st && out.kind == VW_KIND_RAPID_FIRE) {
    vw_line_keep(&out);
    search.n = out.n_events;
    st = place_by_first(&search, &out);
  }
  if (!st) {
    settle_crests(&search);
    *events = out;
  }
  if (st) {
    free(search.events);
  }
  free(search.room);
  vw_onsets_clear(&search.onsets);
  return st;
}

VwStatus
vw_events_find(const VwSound* sound, VwEvents* events) {
  assert(sound && events);
  const VwSound part = vw_sound_sounding(sound);
  const size_t  first =
    (size_t)(part.values - sound->values) / sound->n_channels;
  VwCurve  curve = {0};
  VwStatus st = vw_curve_take(&part, &curve);
  st = st ? st : events_of(sound, &part, &curve, events);
  vw_curve_clear(&curve);
  for (size_t i = 0; !st && i < events->n_events; ++i) {
    events->events[i].start_frame += first;
    events->events[i].crest_frame += first;
    events->events[i].end_frame += first;
  }
  return st;
}

void
vw_events_overrule(const VwFindOptions* options, VwEvents* events) {
  if (options->has_kind) {
    if (options->kind == VW_KIND_RAPID_FIRE) {
      vw_line_keep(events);
    }
    events->kind = options->kind;
    events->other_kind = options->kind;
    events->sure = 1.0;
  }
}

void
vw_events_clear(VwEvents* events) {
  if (events) {
    free(events->events);
    memset(events, 0, sizeof(*events));
  }
}
