// One shot: where it lies in its take, and what it is like.

#include "take/search.h"

#include "base/units.h"
#include "signal/signal.h"
#include "take/take.h"

#include <math.h>
#include <stdlib.h>

// A shot's crest is looked for from where it is first within this of it.
#define CREST_RANGE_DB VW_SHOT_RANGE_DB

// What rings of one shot hides the attack of the next unless it is so far down
// (as vw_attack_find() tells loud from quiet).
#define RINGS_DB 43.0

// One whose attack is found so long before its event has no quiet before it:
// the event's start is its attack, unless the take begins with a swell. Of
// rises of 80 ms the attack came up to 26 ms before (simulated here).
#define LOST_S 0.030

// Of several each is looked for from so long before its start up to so long
// after that of the next.
#define BEFORE_S 2.0
#define AFTER_S 1.0

// A shot ends so long before the next one, whose start is known to 1 ms.
#define BEFORE_NEXT_S 0.001

// Between two shots it is nearly as low up to so much above the quietest, and
// sounds on, or swells, from so much above it and from so far below the crest.
#define NEARLY_AS_LOW_DB 6.0
#define SOUNDS_ON_DB 10.0
#define SOUNDS_LOW_DB (-15.0)

// Nothing but noise: its loudest 10 ms are no more than this above its quiet.
#define NOISE_ONLY_DB 6.0

// A steady take shorter than this is a shot cut tight.
#define NOISE_ONLY_S 0.3

// The quiet of what may be noise alone: low enough to lie in it where there is
// little, high enough not to be its one quietest moment.
#define QUIET_SHARE 0.1

// The tail's pitch is taken where the level has fallen so far.
#define TAIL_PITCH_DB 20.0

// With the highest value of a shot here, the board's noise lies at its level.
#define PEAK_DBFS (-1.0)

/// Time in the take of a frame.
static double
ms_of_frame(const VwShotSearch* search, size_t frame) {
  return 1000.0 * (double)(search->first + frame) /
         (double)search->sound.rate_hz;
}

static size_t
frame_of_step(const VwShotSearch* search, size_t step) {
  const size_t frame = step * search->curve.n_step;
  const size_t n_frames = search->sound.n_frames;
  return frame < n_frames ? frame : n_frames;
}

/// The step of a frame of the take.
static size_t
step_of_frame(const VwShotSearch* search, size_t frame) {
  const size_t from = frame > search->first ? frame - search->first : 0U;
  const size_t step = from / search->curve.n_step;
  return step < search->curve.n_steps ? step : search->curve.n_steps - 1U;
}

/// Where the level is lowest from the crest of an event to the next. A dip in
/// what sounds on is none: then it is where the level is last as low, or
/// nearly.
static size_t
quietest_after(const VwShotSearch* search, size_t event) {
  const VwCurve* const curve = &search->curve;
  const VwEvent* const events = search->events->events;
  const size_t         from = step_of_frame(search, events[event].crest_frame);
  const size_t to = step_of_frame(search, events[event + 1U].start_frame);
  size_t       quietest = from;
  for (size_t i = from; i <= to; ++i) {
    quietest = curve->level[i] < curve->level[quietest] ? i : quietest;
  }
  const double least = curve->level[quietest];
  const double sound = fmax(least * vw_power_of_db(SOUNDS_ON_DB),
                            curve->level[from] * vw_power_of_db(SOUNDS_LOW_DB));
  size_t       last = to;
  while (last > quietest &&
         curve->level[last] > least * vw_power_of_db(NEARLY_AS_LOW_DB)) {
    --last;
  }
  const size_t between = vw_curve_crest(curve, quietest, last + 1U);
  return curve->level[between] < sound ? quietest : last;
}

/// Bound the shot that is meant: of several from its event up to the next. What
/// was said to be one starts with the first event.
static void
find_shot(VwShotSearch* search) {
  const VwCurve* const  curve = &search->curve;
  const VwEvents* const events = search->events;
  const size_t          event = search->event;
  const bool            several = vw_events_are_shots(events);
  const size_t          n = curve->n_steps;
  const bool            said = search->options->has_kind && !several;
  VwMeantShot* const    shot = &search->shot;
  shot->limit = several && event + 1U < events->n_events
                  ? quietest_after(search, event)
                  : n;
  if (several) {
    const VwEvent* const of = &events->events[event];
    shot->rise = step_of_frame(search, of->start_frame);
    shot->start = of->dip_db < RINGS_DB ? of->start_frame - search->first : 0U;
  } else if (said) {
    shot->rise = step_of_frame(search, events->events[0].start_frame);
  }
  shot->crest = vw_curve_crest(curve, shot->rise, shot->limit);
  // One of several that is softer is told by its own crest.
  const double first_db = said ? events->events[0].level_db : 0.0;
  const double near =
    fmin(search->loudest * vw_power_of_db(first_db - CREST_RANGE_DB),
         curve->level[shot->crest]);
  while (shot->rise + 1U < shot->limit && curve->level[shot->rise] < near) {
    ++shot->rise;
  }
}

/// Whether a sound swells between two frames; noise does not.
static bool
swells(const VwShotSearch* search, size_t from_frame, size_t to_frame) {
  const VwCurve* const curve = &search->curve;
  const size_t         from = from_frame / curve->n_step;
  const size_t crest = vw_curve_crest(curve, from, to_frame / curve->n_step);
  return curve->level[crest] >=
         curve->level[from] * vw_power_of_db(SOUNDS_ON_DB);
}

/// The attack: of several shots none that lies in another or in noise.
static VwAttack
attack_of(const VwShotSearch* search) {
  const size_t   lost = vw_frames_of_s(LOST_S, search->sound.rate_hz);
  const size_t   start = search->events->events[search->event].start_frame;
  VwMeantShot    shot = search->shot;
  const VwAttack attack =
    vw_attack_find(&search->sound, &search->curve, &shot, search->before);
  const size_t near = search->first + attack.frame + lost;
  if (!vw_events_are_shots(search->events) || near >= start ||
      (!search->event &&
       swells(search, attack.frame, attack.frame + start - near))) {
    return attack;
  }
  shot.start = start - search->first;
  return vw_attack_find(&search->sound, &search->curve, &shot, search->before);
}

/// Note the crest, which the attack may share a step with.
static void
note_crest(VwShotSearch* search) {
  VwShotFacts* const facts = &search->facts;
  const size_t       n_step = search->curve.n_step;
  const size_t       middle = search->shot.crest * n_step + n_step / 2U;
  facts->crest_frame =
    middle > facts->attack_frame ? middle : facts->attack_frame;
}

static void
find_attack(VwShotSearch* search) {
  const VwCurve* const curve = &search->curve;
  search->before =
    vw_noise_before(curve, search->shot.rise, search->shot.crest);
  const VwAttack     attack = attack_of(search);
  VwShotFacts* const facts = &search->facts;
  facts->attack_frame = attack.frame;
  facts->rise_ms = 1000.0 * attack.rise_s;
  facts->slow = attack.rise_s > VW_FAST_RISE_S;
  // Whoever picks a shot knows of those before it.
  const bool known = search->options->pick > 0U;
  facts->earlier_sound_db = known ? (double)NAN : attack.earlier_db;
  facts->earlier_sound_ms = known ? (double)NAN : 1000.0 * attack.earlier_s;
  note_crest(search);
}

/// Where in the take the shot is asked to start.
static size_t
asked_start(const VwShotSearch* search) {
  return vw_frames_of_s(1e-3 * search->options->start_ms,
                        search->sound.rate_hz);
}

/// Have the search start its shot at a step of the curve.
static void
start_at(VwShotSearch* search, size_t step) {
  const VwCurve* const curve = &search->curve;
  VwShotFacts* const   facts = &search->facts;
  search->shot.crest =
    vw_curve_crest(curve, step, facts->end_frame / curve->n_step);
  facts->rise_ms = 1000.0 * vw_attack_rise_s(curve, &search->shot, step);
  facts->slow = facts->rise_ms > 1000.0 * VW_FAST_RISE_S;
}

/// Find from which whole millisecond of the take on a slow shot would be fast.
static void
find_brisk(VwShotSearch* search) {
  VwShotFacts* const facts = &search->facts;
  const double       rate_hz = search->sound.rate_hz;
  const size_t       shortest = vw_frames_of_s(VW_SHORTEST_S, rate_hz);
  VwShotSearch       later = *search;
  facts->brisk_ms = NAN;
  if (!facts->slow) {
    return;
  }
  for (double ms = ceil(ms_of_frame(search, facts->attack_frame));
       later.facts.slow;
       ms += 1.0) {
    const size_t frame = vw_frames_of_s(1e-3 * ms, rate_hz) - search->first;
    if (frame + shortest > facts->end_frame) {
      return;
    }
    start_at(&later, frame / search->curve.n_step);
    facts->brisk_ms = later.facts.slow ? (double)NAN : ms;
  }
}

/// Have the shot start where it was asked to.
static VwStatus
move_start(VwShotSearch* search) {
  VwShotFacts* const facts = &search->facts;
  const size_t       asked = asked_start(search);
  const size_t       start = asked > search->first ? asked - search->first : 0U;
  if (!search->options->has_start) {
    return VW_OK;
  }
  if (start + vw_frames_of_s(VW_SHORTEST_S, search->sound.rate_hz) >
      facts->end_frame) {
    return VW_BAD_START;
  }
  start_at(search, start / search->curve.n_step);
  facts->attack_frame = start;
  note_crest(search);
  facts->earlier_sound_db = NAN;
  facts->earlier_sound_ms = NAN;
  return VW_OK;
}

/// Power of the board's noise where the take is as loud as it came.
static double
board_power(const VwShotSearch* search, size_t limit_frame) {
  const VwSound* const sound = &search->sound;
  float                peak = 0.0F;
  for (size_t i = search->facts.attack_frame * sound->n_channels;
       i < limit_frame * sound->n_channels;
       ++i) {
    peak = fmaxf(peak, fabsf(sound->values[i]));
  }
  const double below_db = search->options->board_noise_dbfs - PEAK_DBFS;
  return (double)peak * (double)peak * vw_power_of_db(below_db);
}

/// A line whose times count from the crest's step.
static VwDecayLine
line_in_take(const VwShotSearch* search, const VwDecayLine* line) {
  const double crest_ms =
    ms_of_frame(search, search->shot.crest * search->curve.n_step);
  return (VwDecayLine){crest_ms + line->from_ms,
                       crest_ms + line->to_ms,
                       line->from_dbfs,
                       line->to_dbfs};
}

static VwStatus
find_tail(VwShotSearch* search) {
  const size_t limit = frame_of_step(search, search->shot.limit);
  search->after = vw_noise_after(
    &search->curve, search->shot.crest, search->shot.limit, search->before);
  const double noise = isnan(search->after) ? search->before : search->after;
  const VwTailFloors floors = {isnan(noise) ? 0.0 : noise,
                               board_power(search, limit)};
  VwDecay        tail = {0};
  const VwStatus st =
    vw_tail_find(&search->curve, &search->shot, &floors, &tail);
  if (st) {
    return st;
  }
  VwShotFacts* const facts = &search->facts;
  const size_t       shortest =
    facts->attack_frame + vw_frames_of_s(VW_SHORTEST_S, search->sound.rate_hz);
  const size_t end = frame_of_step(search, tail.end);
  facts->end_frame = shortest < limit && end < shortest ? shortest : end;
  facts->decay_t20_s = tail.t20_s;
  facts->decay_t30_s = tail.t30_s;
  facts->decay_line = line_in_take(search, &tail.line);
  facts->end_db = tail.end_db;
  facts->cut_off = tail.cut_off;
  facts->choked =
    tail.end == search->shot.limit && limit < search->sound.n_frames;
  return VW_OK;
}

/// The frame from which 40 ms lie about the fall of the level by 20 dB.
static size_t
tail_pitch_frame(const VwShotSearch* search) {
  const VwCurve* const curve = &search->curve;
  const double         fallen =
    curve->level[search->shot.crest] * vw_power_of_db(-TAIL_PITCH_DB);
  size_t step = search->shot.crest;
  while (step < search->shot.limit && curve->level[step] > fallen) {
    ++step;
  }
  const size_t half =
    vw_frames_of_s(VW_PITCH_WINDOW_S / 2.0, search->sound.rate_hz);
  const size_t middle = step * curve->n_step;
  return step == search->shot.limit ? search->sound.n_frames
         : middle > half            ? middle - half
                                    : 0U;
}

static VwStatus
find_pitch(VwShotSearch* search) {
  const VwSound* const sound = &search->sound;
  VwShotFacts* const   facts = &search->facts;
  const VwStatus       st =
    vw_pitch_find(sound, facts->attack_frame, 0.0, &facts->pitch_attack_hz);
  return st ? st
            : vw_pitch_find(sound,
                            tail_pitch_frame(search),
                            VW_PITCH_WINDOW_S / 2.0,
                            &facts->pitch_tail_hz);
}

/// The step before which the next shot comes; 0 where none does.
static size_t
next_shot(const VwShotSearch* search) {
  const VwShotFacts* const facts = &search->facts;
  const size_t             n_steps = search->curve.n_steps;
  if (search->shot.limit < n_steps) {
    return search->shot.limit + 1U; // the quietest there is before it
  }
  if (isnan(facts->fastest_fire_rate_per_s)) {
    return 0;
  }
  const size_t next =
    facts->attack_frame / search->curve.n_step +
    vw_curve_steps(&search->curve,
                   1.0 / facts->fastest_fire_rate_per_s - VW_PRE_ROLL_S);
  return next < n_steps ? next : n_steps;
}

static void
find_valley(VwShotSearch* search) {
  const VwCurve* const curve = &search->curve;
  const size_t         next = next_shot(search);
  size_t               lowest = search->shot.crest;
  for (size_t i = lowest; i < next; ++i) {
    lowest = curve->level[i] < curve->level[lowest] ? i : lowest;
  }
  search->facts.valley_ms =
    lowest > search->shot.crest
      ? ms_of_frame(search, lowest * curve->n_step + curve->n_step / 2U)
      : NAN;
}

/// Whether nothing stands out of the noise, in level or by a pitch: there is no
/// shot then, unless what is heard sounds on.
static VwStatus
check_noise(VwShotSearch* search) {
  const VwCurve* const curve = &search->curve;
  const double         length_s = (double)curve->n_steps * curve->step_s;
  double               quiet = 0.0;
  double               before = 0.0;
  VwStatus             st =
    vw_noise_quietest(curve, 0, curve->n_steps, QUIET_SHARE, &quiet);
  st = st ? st : vw_noise_quietest(curve, 0, search->shot.crest, 0.0, &before);
  if (st) {
    return st;
  }
  quiet = before > 0.0 ? fmin(quiet, before) : quiet;
  const bool is_noise =
    length_s >= NOISE_ONLY_S && isnan(search->facts.pitch_attack_hz) &&
    curve->level[search->shot.crest] < quiet * vw_power_of_db(NOISE_ONLY_DB);
  search->facts.is_noise = is_noise;
  return is_noise && search->events->kind != VW_KIND_SUSTAINED ? VW_NO_SHOT
                                                               : VW_OK;
}

/// The facts, their frames and times those of the take.
static VwShotFacts
facts_of_take(const VwShotSearch* search) {
  VwShotFacts  facts = search->facts;
  const double noise = isnan(search->before) ? search->after : search->before;
  facts.attack_ms = ms_of_frame(search, facts.attack_frame);
  facts.crest_ms = ms_of_frame(search, facts.crest_frame);
  facts.end_ms = ms_of_frame(search, facts.end_frame);
  facts.length_ms =
    facts.end_ms - fmax(facts.attack_ms - 1000.0 * VW_PRE_ROLL_S, 0.0);
  facts.first_frame =
    vw_frames_of_s(search->options->from_s, search->sound.rate_hz);
  facts.attack_frame += search->first;
  facts.crest_frame += search->first;
  facts.end_frame += search->first;
  facts.begins_frame = facts.attack_frame;
  facts.ends_frame = facts.end_frame;
  facts.noise_floor_dbfs = isnan(noise) ? NAN : vw_db_of_power(noise);
  facts.dc_offset = search->take->dc_offset;
  facts.n_clipped_frames = search->take->n_clipped_frames;
  facts.side_late_ms = search->take->side_late_ms;
  return facts;
}

/// The search with nothing in sight but an event and what is about it.
static VwShotSearch
search_near(const VwShotSearch* whole, size_t event) {
  const VwCurve* const curve = &whole->curve;
  const VwEvent* const of = &whole->events->events[event];
  const bool           last = event + 1U == whole->events->n_events;
  const size_t         start = step_of_frame(whole, of->start_frame);
  const size_t         before = vw_curve_steps(curve, BEFORE_S);
  const size_t         wanted = whole->options->has_start
                                  ? step_of_frame(whole, asked_start(whole))
                                  : start;
  const size_t         near_from = start > before ? start - before : 0U;
  const size_t         from = wanted < near_from ? wanted : near_from;
  const size_t         to = last ? curve->n_steps
                                 : step_of_frame(whole, of[1].start_frame) +
                             vw_curve_steps(curve, AFTER_S);
  VwShotSearch         near = *whole;
  near.curve.level += from;
  near.curve.power += from;
  near.curve.n_steps = (to < curve->n_steps ? to : curve->n_steps) - from;
  const size_t from_frame = frame_of_step(whole, from);
  const size_t to_frame = frame_of_step(whole, from + near.curve.n_steps);
  near.first += from_frame;
  near.sound.values += from_frame * whole->sound.n_channels;
  near.sound.n_frames = to_frame - from_frame;
  return near;
}

VwStatus
vw_shot_find(const VwShotSearch* whole, size_t event, VwShotFacts* facts) {
  VwShotSearch one =
    vw_events_are_shots(whole->events) ? search_near(whole, event) : *whole;
  VwShotSearch* const search = &one;
  search->event = event;
  vw_facts_note_events(search->events, &search->facts);
  find_shot(search);
  find_attack(search);
  VwStatus st = find_tail(search);
  st = st ? st : move_start(search);
  find_brisk(search);
  st = st ? st : find_pitch(search);
  st =
    st ? st : vw_fastest_find(search, &search->facts.fastest_fire_rate_per_s);
  if (!st) {
    find_valley(search);
  }
  // Where there are shots there is more than noise, and that may be wanted.
  const bool noise_is_wanted =
    search->options->has_kind && search->options->kind == VW_KIND_SUSTAINED;
  st = st || noise_is_wanted || vw_events_are_shots(search->events)
         ? st
         : check_noise(search);
  if (!st || st == VW_BAD_START) {
    *facts = facts_of_take(search);
  }
  return st;
}
