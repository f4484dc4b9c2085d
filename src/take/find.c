#include "take/search.h"

#include "container/container.h"
#include "signal/signal.h"
#include "take/take.h"

#include <assert.h>
#include <math.h>

// A click is heard with the silence up to here: over twice the 20 ms by which
// tails are followed.
#define CLICK_S 0.050

// Whether a stretch starts within a shot is told by so much before and behind
// its start; one that starts so near to it is not torn (chosen here, as what
// follows).
#define TORN_BEFORE_S 3.0
#define TORN_BEHIND_S 1.0
#define TORN_EARLY_S 0.001
#define TORN_LATE_S 0.025

// What rings so far below the loudest is no shot.
#define TORN_DB (-20.0)
#define TORN_WINDOW_S 0.010

VwFindOptions
vw_find_defaults(void) {
  return (VwFindOptions){.board_noise_dbfs =
                           vw_encoding_noise_dbfs(VW_ENCODING_S16)};
}

/// The first event whose crest is within 6 dB of the loudest.
static size_t
first_loud(const VwEvents* events) {
  assert(events && events->n_events);
  size_t i = 0;
  while (i + 1U < events->n_events &&
         events->events[i].level_db < -VW_SHOT_RANGE_DB) {
    ++i;
  }
  return i;
}

bool
vw_events_are_shots(const VwEvents* events) {
  assert(events);
  return events->kind == VW_KIND_SEVERAL_SHOTS ||
         events->kind == VW_KIND_RAPID_FIRE;
}

bool
vw_events_are_uneven(const VwEvents* events, size_t shots) {
  return events->kind == VW_KIND_SEVERAL_SHOTS &&
         events->sure > VW_SURE_LEAST && events->n_events > 1U &&
         events->n_events != shots;
}

void
vw_facts_note_events(const VwEvents* events, VwShotFacts* facts) {
  const bool rapid = events->kind == VW_KIND_RAPID_FIRE;
  facts->kind = events->kind;
  facts->other_kind = events->other_kind;
  facts->sure = events->sure;
  facts->torn_ms = NAN;
  facts->shots_in_take =
    vw_events_are_shots(events) ? (unsigned)events->n_events : 1U;
  facts->rapid_per_s = rapid ? events->rapid.fire_rate_per_s : (double)NAN;
  facts->rapid_uncertainty_per_s =
    rapid ? events->rapid.uncertainty_per_s : (double)NAN;
  facts->rapid_jitter_ms = rapid ? events->rapid.jitter_ms : (double)NAN;
}

/// The sound of a take; one too short for a shot has the silence behind it.
static VwSound
heard_of(const VwSound* take) {
  VwSound      sound = vw_sound_sounding(take);
  const size_t at = (size_t)(sound.values - take->values) / take->n_channels;
  const size_t left = take->n_frames - at;
  const size_t behind = vw_frames_of_s(CLICK_S, take->rate_hz);
  if (sound.n_frames < vw_frames_of_s(VW_SHORTEST_S, take->rate_hz)) {
    sound.n_frames = behind < left ? behind : left;
  }
  return sound;
}

/// Start a search, whose curve is to be cleared also after a failure.
static VwStatus
search_begin(const VwTake*        take,
             const VwFindOptions* options,
             const VwEvents*      events,
             VwShotSearch*        search) {
  *search = (VwShotSearch){.take = take,
                           .options = options,
                           .events = events,
                           .sound = heard_of(&take->sound)};
  search->first = (size_t)(search->sound.values - take->sound.values) /
                  take->sound.n_channels;
  const VwStatus       st = vw_curve_take(&search->sound, &search->curve);
  const VwCurve* const curve = &search->curve;
  search->loudest =
    st ? 0.0 : curve->level[vw_curve_crest(curve, 0, curve->n_steps)];
  return st;
}

/// Find where rapid fire begins and ends.
static VwStatus
find_whole(const VwShotSearch* search, VwShotFacts* facts) {
  const VwEvents* const events = search->events;
  VwShotSearch          whole = *search;
  VwFindOptions         plain = *search->options;
  VwShotFacts           one = {0};
  if (events->kind != VW_KIND_RAPID_FIRE) {
    return VW_OK;
  }
  plain.has_start = false;
  whole.options = &plain;
  VwStatus st = vw_shot_find(&whole, events->rapid.first, &one);
  if (!st && !search->options->has_start) {
    facts->begins_frame = one.attack_frame;
  }
  st = st ? st : vw_shot_find(&whole, events->n_events - 1U, &one);
  facts->ends_frame = st ? facts->ends_frame : one.end_frame;
  return st;
}

/// Whether the start asked for lies before the shot picked, in the one before;
/// the facts then are those of the shot as it is.
static VwStatus
check_start(const VwShotSearch* search, size_t event, VwShotFacts* facts) {
  const VwFindOptions* const asked = search->options;
  VwFindOptions              plain = *asked;
  VwShotSearch               found = *search;
  VwShotFacts                before = {0};
  VwShotFacts                meant = {0};
  if (!asked->has_start || !asked->pick || !event) {
    return VW_OK;
  }
  plain.has_start = false;
  found.options = &plain;
  VwStatus st = vw_shot_find(&found, event - 1U, &before);
  st = st ? st : vw_shot_find(&found, event, &meant);
  if (!st && asked->start_ms < before.end_ms &&
      asked->start_ms < meant.attack_ms - 1000.0 * VW_START_S) {
    *facts = meant;
    st = VW_BAD_START;
  }
  return st;
}

VwStatus
vw_find_among(const VwTake*        take,
              const VwFindOptions* options,
              const VwEvents*      events,
              VwShotFacts*         facts) {
  assert(take && options && events && facts);
  const unsigned pick = options->pick;
  VwShotSearch   search;
  if (pick > (vw_events_are_shots(events) ? events->n_events : 1U)) {
    vw_facts_note_events(events, facts);
    return VW_BAD_PICK;
  }
  VwStatus     st = search_begin(take, options, events, &search);
  const size_t event = pick ? pick - 1U : first_loud(events);
  st = st ? st : check_start(&search, event, facts);
  st = st ? st : vw_shot_find(&search, event, facts);
  st = st ? st : find_whole(&search, facts);
  vw_curve_clear(&search.curve);
  return st;
}

VwStatus
vw_find_each(const VwTake*        take,
             const VwFindOptions* options,
             const VwEvents*      events,
             VwShotFacts*         facts) {
  assert(take && options && events && facts);
  const size_t  n = vw_events_are_shots(events) ? events->n_events : 1U;
  VwFindOptions each = *options;
  VwShotSearch  search;
  each.pick = n > 1U ? 1U : 0U; // those before it are known
  VwStatus st = search_begin(take, &each, events, &search);
  for (size_t i = 0; !st && i < n; ++i) {
    st = vw_shot_find(&search, n > 1U ? i : first_loud(events), &facts[i]);
  }
  vw_curve_clear(&search.curve);
  return st;
}

static double
power_from(const VwSound* sound, size_t from, size_t n) {
  double sum = 0.0;
  for (size_t i = from; i < from + n && i < sound->n_frames; ++i) {
    sum += vw_sound_power_at(sound, i);
  }
  return sum;
}

/// Whether what sounds at a frame is no shot beside what comes later.
static bool
is_low(const VwSound* sound, size_t at) {
  const size_t n = vw_frames_of_s(TORN_WINDOW_S, sound->rate_hz);
  const double most = power_from(sound, at, n) * vw_power_of_db(-TORN_DB);
  for (size_t i = at; i < sound->n_frames; i += n) {
    if (power_from(sound, i, n) > most) {
      return true;
    }
  }
  return false;
}

/// The event that sounds at a frame, which it does not start near; or NULL.
static const VwEvent*
torn_event(const VwEvents* events, size_t at, unsigned rate_hz) {
  const size_t   early = vw_frames_of_s(TORN_EARLY_S, rate_hz);
  const size_t   late = vw_frames_of_s(TORN_LATE_S, rate_hz);
  const VwEvent* torn = NULL;
  for (size_t i = 0; i < events->n_events; ++i) {
    const VwEvent* const event = &events->events[i];
    if (event->start_frame <= at + late) {
      torn =
        event->start_frame + early < at && event->end_frame > at ? event : NULL;
    }
  }
  return events->kind == VW_KIND_SUSTAINED ? NULL : torn;
}

VwStatus
vw_torn_find(const VwSound*       raw,
             const VwTake*        take,
             const VwFindOptions* options,
             VwShotFacts*         facts) {
  const size_t from = vw_frames_of_s(options->from_s, raw->rate_hz);
  const size_t before = vw_frames_of_s(TORN_BEFORE_S, raw->rate_hz);
  const size_t behind = vw_frames_of_s(TORN_BEHIND_S, raw->rate_hz);
  const size_t first = from > before ? from - before : 0U;
  const size_t left = raw->n_frames - from;
  VwSound      view = *raw;
  VwTake       about = {0};
  VwEvents     events = {0};
  const bool goes_on = options->has_kind && options->kind == VW_KIND_SUSTAINED;
  if (!from || goes_on || is_low(&take->sound, from)) {
    return VW_OK;
  }
  view.values += first * raw->n_channels;
  view.n_frames = from - first + (left < behind ? left : behind);
  VwStatus st = vw_take_prepare(&view, &about);
  st = st ? st : vw_events_find(&about.sound, &events);
  const VwEvent* const torn =
    st ? NULL : torn_event(&events, from - first, raw->rate_hz);
  if (torn) {
    facts->torn_ms =
      1000.0 * (double)(first + torn->start_frame) / raw->rate_hz;
  }
  vw_events_clear(&events);
  vw_take_clear(&about);
  return st == VW_NO_MEMORY ? st : VW_OK;
}

VwStatus
vw_find(const VwTake* take, const VwFindOptions* options, VwShotFacts* facts) {
  assert(take && options && facts);
  VwEvents events = {0};
  VwStatus st = vw_events_find(&take->sound, &events);
  if (!st) {
    vw_events_overrule(options, &events);
    st = vw_find_among(take, options, &events, facts);
  }
  vw_events_clear(&events);
  return st;
}

VwShotFacts
vw_facts_of_whole(const VwTake* take) {
  assert(take);
  return (VwShotFacts){.end_frame = take->sound.n_frames,
                       .ends_frame = take->sound.n_frames,
                       .end_ms = 1000.0 * (double)take->sound.n_frames /
                                 (double)take->sound.rate_hz,
                       .valley_ms = NAN,
                       .decay_t20_s = NAN,
                       .decay_t30_s = NAN,
                       .decay_line = {NAN, NAN, NAN, NAN},
                       .pitch_attack_hz = NAN,
                       .pitch_tail_hz = NAN,
                       .noise_floor_dbfs = NAN,
                       .dc_offset = take->dc_offset,
                       .n_clipped_frames = take->n_clipped_frames,
                       .side_late_ms = take->side_late_ms,
                       .sure = 1.0,
                       .rapid_per_s = NAN,
                       .rapid_uncertainty_per_s = NAN,
                       .rapid_jitter_ms = NAN,
                       .fastest_fire_rate_per_s = NAN,
                       .earlier_sound_db = NAN,
                       .earlier_sound_ms = NAN,
                       .end_db = NAN,
                       .torn_ms = NAN};
}
