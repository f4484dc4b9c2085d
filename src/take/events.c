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
#define LEVEL_DB (-18.0)
#define DIP_DB 4.0

// Of two nearer than this one is dropped.
#define APART_S 0.025

// Rises are compared so far to both sides.
#define PEAK_S 0.008

// The end of a sound does not count: what is cut off rises nowhere.
#define END_S 0.012

// The crest lies within so much after the start.
#define CREST_S 0.060

// What follows so soon and is so much less loud is an echo.
#define ECHO_S 0.075
#define ECHO_DB 4.0

// An event is over when it has sunk so far below its crest, or down to so much
// above the quietest there is.
#define SUNK_DB 60.0
#define ABOVE_QUIET_DB 3.0

// Its start is looked for so far about the rise; what rings before is taken
// from so far before that, and what it rises to over the loudest so much.
#define START_S 0.010
#define RINGS_S 0.015
#define RISEN_S 0.003

// One frame tells so much at most, lest a click outweigh what follows, and
// nothing is taken as farther down than this.
#define MOST_EVIDENCE 8.0
#define LEAST_DB (-50.0)

// A straight rise is supposed so long at most, its start tried in such steps.
#define RISE_S 0.003
#define GRID_S 0.00015

/// All that events are found by.
typedef struct {
  const VwSound* sound;
  const VwCurve* curve;
  VwOnsets       onsets;
  double         loudest; ///< Power.
  VwEvent*       events;  ///< Room for as many as the curve may hold.
  size_t         n;
} Search;

static size_t
frame_of(const Search* search, size_t onset) {
  const size_t frame =
    vw_frames_of_s((double)onset * VW_ONSET_STEP_S, search->sound->rate_hz);
  const size_t n_frames = search->sound->n_frames;
  return frame < n_frames ? frame : n_frames - 1U;
}

static size_t
step_of(const Search* search, size_t frame) {
  const size_t step = frame / search->curve->n_step;
  return step < search->curve->n_steps ? step : search->curve->n_steps - 1U;
}

/* Candidates */

static bool
is_peak(const VwOnsets* onsets, size_t at) {
  const size_t reach = (size_t)(PEAK_S / VW_ONSET_STEP_S + 0.5);
  for (size_t i = at > reach ? at - reach : 0U;
       i < onsets->n && i <= at + reach;
       ++i) {
    const bool higher = i < at ? onsets->rise_db[i] >= onsets->rise_db[at]
                               : onsets->rise_db[i] > onsets->rise_db[at];
    if (i != at && higher) {
      return false;
    }
  }
  return true;
}

static void
find_peaks(Search* search) {
  const VwOnsets* const onsets = &search->onsets;
  const size_t          end = (size_t)(END_S / VW_ONSET_STEP_S + 0.5);
  for (size_t i = 0; i + end < onsets->n; ++i) {
    if (onsets->rise_db[i] >= RISE_DB && is_peak(onsets, i)) {
      search->events[search->n++] = (VwEvent){
        .start_frame = frame_of(search, i), .rise_db = onsets->rise_db[i]};
    }
  }
}

/// Where the level is highest after a start, before the next.
static void
find_crests(Search* search) {
  const VwCurve* const curve = search->curve;
  for (size_t i = 0; i < search->n; ++i) {
    VwEvent* const event = &search->events[i];
    const size_t   from = step_of(search, event->start_frame);
    const size_t   most = from + vw_curve_steps(curve, CREST_S);
    const size_t   next = i + 1U < search->n
                            ? step_of(search, search->events[i + 1U].start_frame)
                            : curve->n_steps;
    const size_t crest = vw_curve_crest(curve, from, next < most ? next : most);
    event->crest_frame = crest * curve->n_step;
    event->level_db =
      vw_db_of_power(fmax(curve->level[crest] / search->loudest, 1e-12));
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

static void
drop_echoes(Search* search) {
  size_t n = 0;
  for (size_t i = 0; i < search->n; ++i) {
    VwEvent* const       event = &search->events[i];
    const VwEvent* const before = n ? &search->events[n - 1U] : NULL;
    event->dip_db = before ? dip_between(search, before, event) : NAN;
    if (!before || !is_echo(search, before, event)) {
      search->events[n++] = *event;
    }
  }
  search->n = n;
}

/* Starts and ends */

static double
mean_power(const VwSound* sound, size_t from, size_t to) {
  double sum = 0.0;
  for (size_t i = from; i < to; ++i) {
    sum += vw_sound_power_at(sound, i);
  }
  return to > from ? sum / (double)(to - from) : 0.0;
}

/// The greatest mean over 3 ms in [from, to).
static double
risen_power(const VwSound* sound, size_t from, size_t to) {
  const size_t n = vw_frames_of_s(RISEN_S, sound->rate_hz);
  double       highest = 0.0;
  for (size_t i = from; i + n <= to; i += n / 2U + 1U) {
    highest = fmax(highest, mean_power(sound, i, i + n));
  }
  return highest;
}

/// What is known of a rise where its start is looked for.
typedef struct {
  const VwSound* sound;
  size_t         from, to; ///< Frames looked at.
  double         before;   ///< Power of what rings.
  double         risen;    ///< Power to which it rises.
} Rise;

/// The frame from which the power is that of the event and not of what rings
/// before: Page's change point, as in vw_attack_find().
static size_t
change_point(const Rise* rise) {
  const double slope = 0.5 * (1.0 / rise->before - 1.0 / rise->risen);
  const double offset = 0.5 * log(rise->risen / rise->before);
  double       sum = 0.0;
  double       lowest = 0.0;
  size_t       change = rise->from;
  for (size_t i = rise->from; i < rise->to; ++i) {
    const double power = vw_sound_power_at(rise->sound, i);
    sum += fmin(slope * power - offset, MOST_EVIDENCE);
    if (sum < lowest) {
      lowest = sum;
      change = i + 1U;
    }
  }
  return change;
}

/// How likely a straight rise of so many frames from a start is, beside none.
static double
likelihood(const Rise* rise, size_t start, size_t n_rise) {
  const double added = rise->risen - rise->before;
  double       sum = 0.0;
  for (size_t i = start; i < rise->to; ++i) {
    const double part =
      fmin((double)(i + 1U - start) / (double)(n_rise + 1U), 1.0);
    const double variance = rise->before + added * part * part;
    const double power = vw_sound_power_at(rise->sound, i);
    sum += fmin(power / rise->before - power / variance -
                  log(variance / rise->before),
                2.0 * MOST_EVIDENCE);
  }
  return sum;
}

/// The likeliest start of a rise of up to 3 ms that what rings hides in part.
static size_t
likeliest_start(const Rise* rise, size_t change) {
  const size_t grid = vw_frames_of_s(GRID_S, rise->sound->rate_hz) + 1U;
  const size_t most = vw_frames_of_s(RISE_S, rise->sound->rate_hz);
  double       highest = -HUGE_VAL;
  size_t       best = change;
  for (size_t n_rise = 0; n_rise <= most; n_rise += most / 3U + 1U) {
    for (size_t back = 0; back <= most && change >= rise->from + back;
         back += grid) {
      const double likely = likelihood(rise, change - back, n_rise);
      if (likely > highest) {
        highest = likely;
        best = change - back;
      }
    }
  }
  return best;
}

static size_t
start_about(const VwSound* sound, size_t about) {
  const size_t reach = vw_frames_of_s(START_S, sound->rate_hz);
  const size_t rings = vw_frames_of_s(RINGS_S, sound->rate_hz);
  Rise         rise = {.sound = sound};
  rise.from = about > reach ? about - reach : 0U;
  rise.to = about + reach < sound->n_frames ? about + reach : sound->n_frames;
  rise.risen = risen_power(sound, rise.from, rise.to);
  rise.before = fmax(
    mean_power(sound, rise.from > rings ? rise.from - rings : 0U, rise.from),
    rise.risen * vw_power_of_db(LEAST_DB));
  if (rise.risen <= rise.before) {
    return about;
  }
  const size_t change = change_point(&rise);
  return change >= sound->n_frames ? about : likeliest_start(&rise, change);
}

static void
find_starts(Search* search) {
  for (size_t i = 0; i < search->n; ++i) {
    VwEvent* const event = &search->events[i];
    const size_t   start = start_about(search->sound, event->start_frame);
    const size_t   earliest = i ? search->events[i - 1U].start_frame + 1U : 0U;
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
  find_starts(search);
}

VwStatus
vw_events_of(const VwSound* sound, const VwCurve* curve, VwEvents* events) {
  Search   search = {.sound = sound, .curve = curve};
  VwStatus st = vw_onsets_take(sound, &search.onsets);
  search.loudest = curve->level[vw_curve_crest(curve, 0, curve->n_steps)];
  search.events =
    st ? NULL : calloc(search.onsets.n / 8U + 2U, sizeof(VwEvent));
  st = st || search.events ? st : VW_NO_MEMORY;
  if (!st) {
    VwEvents out = {.events = search.events};
    find_all(&search);
    vw_rapid_find(search.events, search.n, sound->rate_hz, &out.rapid);
    if (!vw_rapid_holds(&out.rapid, search.n)) {
      drop_echoes(&search);
      vw_rapid_find(search.events, search.n, sound->rate_hz, &out.rapid);
    }
    find_ends(&search);
    search.events[0].dip_db = NAN;
    out.n_events = search.n;
    const VwHeardTake heard = {curve, &search.onsets, sound->rate_hz};
    vw_kind_judge(&heard, &out);
    *events = out;
  }
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
  st = st ? st : vw_events_of(&part, &curve, events);
  vw_curve_clear(&curve);
  for (size_t i = 0; !st && i < events->n_events; ++i) {
    events->events[i].start_frame += first;
    events->events[i].crest_frame += first;
    events->events[i].end_frame += first;
  }
  return st;
}

void
vw_events_clear(VwEvents* events) {
  if (events) {
    free(events->events);
    memset(events, 0, sizeof(*events));
  }
}
