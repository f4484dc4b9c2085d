// Which timer circuit serves most sounds of a prop.

#include "cli/lamp/lamp_prop.h"
#include "cli/message/flash.h"
#include "lamp/lamp.h"

#include <math.h>

// What a trimmer is set to by counting flashes (chosen here).
#define SAME_RATE 0.01

static const VwTimer*
timer_of(const LampProp* prop, size_t index) {
  return &lamp_best_timer(&prop->lamps[index])->timer;
}

static bool
reaches(const LampProp* prop, size_t of, size_t index) {
  const VwSpread* const sure = &timer_of(prop, of)->rate_sure_hz;
  const double          rate = prop->lamps[index].lamp.pulse_hz;
  // Its own rate is an end of what it reaches, where the parts just do.
  return lamp_flashes(&prop->lamps[index]) &&
         (index == of || (rate >= sure->least * (1.0 - 1e-6) &&
                          rate <= sure->most * (1.0 + 1e-6)));
}

static bool
is_set(const LampProp* prop, size_t of, size_t index) {
  return reaches(prop, of, index) &&
         fabs(prop->lamps[index].lamp.pulse_hz / prop->lamps[of].lamp.pulse_hz -
              1.0) <= SAME_RATE;
}

static LampShared
shared_by(const LampProp* prop, size_t of) {
  LampShared shared = {.found = true, .of = of};
  for (size_t i = 0; i < prop->n_lamps; ++i) {
    shared.n_reached += reaches(prop, of, i) ? 1U : 0U;
    shared.n_as_set += is_set(prop, of, i) ? 1U : 0U;
  }
  return shared;
}

LampShared
lamp_shared_find(const LampProp* prop) {
  LampShared best = {.found = false};
  for (size_t i = 0; i < prop->n_lamps; ++i) {
    if (!lamp_flashes(&prop->lamps[i])) {
      continue;
    }
    const LampShared one = shared_by(prop, i);
    if (!best.found || one.n_as_set > best.n_as_set ||
        (one.n_as_set == best.n_as_set && one.n_reached > best.n_reached)) {
      best = one;
    }
  }
  return best;
}

bool
lamp_shared_reaches(const LampProp* prop, size_t index) {
  return prop->shared.found && reaches(prop, prop->shared.of, index);
}

bool
lamp_shared_is_set(const LampProp* prop, size_t index) {
  return prop->shared.found && is_set(prop, prop->shared.of, index);
}

/// Whether a lamp's flashes need the stronger caution.
static bool
is_faster(const LampReport* lamp, const LampReport* than) {
  const bool fast = flash_is_fast(lamp->lamp.pulse_hz);
  return fast != flash_is_fast(than->lamp.pulse_hz)
           ? fast
           : lamp_most_hz(lamp) > lamp_most_hz(than);
}

const LampReport*
lamp_prop_fastest(const LampProp* prop) {
  const LampReport* fastest = NULL;
  for (size_t i = 0; i < prop->n_lamps; ++i) {
    const LampReport* const lamp = &prop->lamps[i];
    if (lamp_flashes(lamp) && (!fastest || is_faster(lamp, fastest))) {
      fastest = lamp;
    }
  }
  return fastest;
}
