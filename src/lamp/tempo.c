// The fire rate of a sound that holds many shots.

#include "lamp/lamp.h"
#include "lamp/pulse.h"

#include <math.h>

// A shot before the line is so many periods before it at most (chosen here).
#define BEFORE_MOST 1.5

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

/// What the line through the shots' starts tells.
static VwStatus
rate_of_events(const VwSound*  sound,
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
    .shots = rapid->n_on_line,
    .uncertainty_per_s = rapid->uncertainty_per_s,
    .first_s = (double)first->start_frame / sound->rate_hz,
    .left_s = (double)(sound->n_frames - last->start_frame) / sound->rate_hz,
    .jitter_ms = rapid->jitter_ms,
    .kind = events->kind,
    .events = events->n_events};
  return VW_OK;
}

VwStatus
vw_rate_of_recording(const VwSound*       sound,
                     const VwFindOptions* options,
                     VwRateFound*         found) {
  VwSound  mono = {0};
  VwTake   take = {0};
  VwEvents events = {0};
  VwStatus st = vw_pulse_channel(sound, &mono);
  st = st ? st : vw_take_prepare(&mono, &take);
  st = st ? st : vw_events_find(&take.sound, &events);
  // Too short or silent.
  if (st && st != VW_NO_MEMORY) {
    st = VW_NO_STEADY_RATE;
  }
  if (!st) {
    vw_events_overrule(options, &events);
  }
  st = st ? st : rate_of_events(&take.sound, &events, found);
  vw_events_clear(&events);
  vw_take_clear(&take);
  vw_sound_clear(&mono);
  return st;
}

VwLoopKnown
vw_loop_unknown(void) {
  return (VwLoopKnown){0U, NAN};
}

VwStatus
vw_rate_of_loop(const VwSound*     loop,
                const VwLoopKnown* known,
                VwRateFound*       found) {
  VwSound  mono = {0};
  VwStatus st = vw_pulse_channel(loop, &mono);
  if (!st && !(vw_sound_peak(&mono) > 0.0)) {
    st = VW_NO_STEADY_RATE;
  }
  st = st ? st : vw_loop_count(&mono, known, found);
  vw_sound_clear(&mono);
  return st;
}
