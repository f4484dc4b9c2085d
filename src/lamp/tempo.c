// The fire rate of a sound that holds many shots.

#include "base/units.h"
#include "lamp/lamp.h"
#include "lamp/pulse.h"
#include "take/heard.h"
#include "take/take.h"

#include <math.h>
#include <string.h>

// A shot before the line is so many periods before it at most (chosen here).
#define BEFORE_MOST 1.5

// Whether a loop sounds on is heard over so long: more than twice the longest
// that a bound of the kinds needs.
#define KIND_S 2.0

// Shots that the events tell nothing of change the level by more all the same.
// Set between loops of 34 recordings, heard as one sound that goes on, from 9.8
// dB on, and hums, up to 4.2 dB.
#define FLAT_DB 7.0

// Shots with less in common than this may be the beats of a sound that goes on
// (set as what the shots of a loop have in common at least).
#define COMMON_SURE 0.66

// What goes on may fade at its ends, within so long, and that share of it
// (chosen here).
#define ENDS_MS 64.0
#define ENDS_SHARE 0.125

/// The line's first event, or one before it that is no farther off than the
/// next: the first shot of a loop starts with no quiet before it, and is found
/// less exactly.
static const VwEvent*
first_of(const VwSound* sound, const VwEvents* events) {
  const VwRapidFire* const rapid = &events->rapid;
  const VwEvent* const     first = &events->events[rapid->first];
  const double period = (double)sound->rate_hz / rapid->fire_rate_per_s;
  const bool   has_before =
    rapid->first &&
    (double)(first->start_frame - first[-1].start_frame) < BEFORE_MOST * period;
  return has_before ? first - 1 : first;
}

VwStatus
vw_rate_of_events(const VwSound*  sound,
                  const VwEvents* events,
                  VwRateFound*    found) {
  const VwRapidFire* const rapid = &events->rapid;
  found->kind = events->kind;
  found->events = events->n_events;
  if (events->kind != VW_KIND_RAPID_FIRE || rapid->n < 2U) {
    return VW_NO_STEADY_RATE;
  }
  const VwEvent* const first = first_of(sound, events);
  const VwEvent* const last = &events->events[rapid->first + rapid->n - 1U];
  *found = (VwRateFound){
    .fire_rate_per_s = rapid->fire_rate_per_s,
    .shots = events->n_events,
    .uncertainty_per_s = rapid->uncertainty_per_s,
    .first_s = (double)first->start_frame / sound->rate_hz,
    .left_s = (double)(sound->n_frames - last->start_frame) / sound->rate_hz,
    .jitter_ms = rapid->jitter_ms,
    .kind = events->kind,
    .events = events->n_events};
  return VW_OK;
}

VwStatus
vw_events_heard(const VwSound* sound, VwEvents* events) {
  VwSound    first = {0};
  VwTake     take = {0};
  const bool track = vw_has_lamp_track(sound);
  VwStatus   st = track ? vw_sound_channel(sound, 0U, &first) : VW_OK;
  st = st ? st : vw_take_prepare(track ? &first : sound, &take);
  st = st ? st : vw_events_find(&take.sound, events);
  vw_take_clear(&take);
  vw_sound_clear(&first);
  return st;
}

VwStatus
vw_rate_of_recording(const VwSound*       sound,
                     const VwFindOptions* options,
                     VwRateFound*         found) {
  VwEvents events = {0};
  VwStatus st = vw_events_heard(sound, &events);
  // Too short or silent.
  if (st && st != VW_NO_MEMORY) {
    st = VW_NO_STEADY_RATE;
  }
  if (!st) {
    vw_events_overrule(options, &events);
  }
  st = st ? st : vw_rate_of_events(sound, &events, found);
  vw_events_clear(&events);
  return st;
}

VwLoopKnown
vw_loop_unknown(void) {
  return (VwLoopKnown){0U, NAN};
}

VwStatus
vw_loop_events(const VwSound* loop, VwEvents* events) {
  const size_t n_least = vw_frames_of_s(KIND_S, (double)loop->rate_hz);
  const size_t n = n_least / loop->n_frames + 1U;
  const size_t n_values = loop->n_frames * loop->n_channels;
  VwSound      repeated = {0};
  VwStatus     st = vw_sound_init(
    &repeated, n * loop->n_frames, loop->n_channels, loop->rate_hz);
  for (size_t i = 0; !st && i < n; ++i) {
    memcpy(
      repeated.values + i * n_values, loop->values, n_values * sizeof(float));
  }
  st = st ? st : vw_events_find(&repeated, events);
  vw_sound_clear(&repeated);
  return st;
}

/// Whether the level of a loop changes little, but for its ends.
static VwStatus
is_flat(const VwSound* mono, bool* flat) {
  VwHeard        heard = {0};
  const VwStatus st = vw_heard_take(mono, 0, &heard);
  double         most = -VW_HEARD_RANGE_DB;
  double         least = 0.0;
  const double   ends_ms = fmin(ENDS_MS, ENDS_SHARE * heard.length_ms);
  for (double at_ms = ends_ms; !st && at_ms < heard.length_ms - ends_ms;
       at_ms += 1.0) {
    most = fmax(most, vw_heard_level_db(&heard, at_ms));
    least = fmin(least, vw_heard_level_db(&heard, at_ms));
  }
  *flat = most - least < FLAT_DB;
  vw_heard_clear(&heard);
  return st;
}

/// Whether events are surely those of one sound that goes on; cleared.
static bool
surely_go_on(VwEvents* events) {
  const bool go_on = events->kind == VW_KIND_SUSTAINED &&
                     events->n_events == 1U && events->sure > VW_SURE_LEAST;
  vw_events_clear(events);
  return go_on;
}

/// As it is told of one channel, played once or on and on.
static VwStatus
channel_sounds_on(const VwSound* mono, bool* sounds_on) {
  VwEvents events = {0};
  VwStatus st = is_flat(mono, sounds_on);
  if (st || !*sounds_on) {
    return st;
  }
  st = vw_events_find(mono, &events);
  *sounds_on = !st && surely_go_on(&events);
  if (!*sounds_on && st != VW_NO_MEMORY) {
    st = vw_loop_events(mono, &events);
    *sounds_on = !st && surely_go_on(&events);
  }
  return st == VW_NO_MEMORY ? st : VW_OK;
}

VwStatus
vw_loop_sounds_on(const VwSound* loop, bool* sounds_on) {
  VwSound  mono = {0};
  VwStatus st = vw_pulse_channel(loop, &mono);
  *sounds_on = false;
  if (!st && vw_sound_peak(&mono) > 0.0) {
    st = channel_sounds_on(&mono, sounds_on);
  }
  vw_sound_clear(&mono);
  return st;
}

/// Whether the events of a sound leave the shots that are counted in its loop:
/// one is a shot, and several of which it is not sure no sound that goes on.
static VwStatus
agree(const VwSound* loop, const VwRateFound* found) {
  VwEvents events = {0};
  if (found->shots > 1U && found->common >= COMMON_SURE) {
    return VW_OK;
  }
  const VwStatus st = vw_events_heard(loop, &events);
  const bool     leave = found->shots == 1U ? events.kind == VW_KIND_SHOT
                                            : events.kind != VW_KIND_SUSTAINED;
  vw_events_clear(&events);
  return st == VW_NO_MEMORY ? st : st || leave ? VW_OK : VW_NO_STEADY_RATE;
}

VwStatus
vw_rate_of_loop(const VwSound*     loop,
                const VwLoopKnown* known,
                VwRateFound*       found) {
  VwSound     mono = {0};
  VwRateFound made = {0};
  bool        sounds_on = false;
  VwStatus    st = vw_pulse_channel(loop, &mono);
  if (!st && !(vw_sound_peak(&mono) > 0.0)) {
    st = VW_NO_STEADY_RATE;
  }
  if (!st && !known->shots) {
    st = channel_sounds_on(&mono, &sounds_on);
  }
  if (!st && sounds_on) {
    st = VW_NO_STEADY_RATE;
  }
  st = st ? st : vw_loop_count(&mono, known, &made);
  if (!st && !known->shots) {
    st = agree(loop, &made);
  }
  if (!st) {
    *found = made;
  }
  vw_sound_clear(&mono);
  return st;
}
