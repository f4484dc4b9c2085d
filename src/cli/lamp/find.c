// What goes with a lamp that is known: parts and counts.

#include "cli/lamp/lamp.h"

#include "cli/message/figures.h"

#include <math.h>
#include <string.h>

static VwTimerWish
timer_wish(const LampReport* report, VwWiring wiring) {
  const LampSettings* const asked = &report->settings->lamp;
  const bool  low = asked->supply_v < vw_chip_least_v(VW_CHIP_BIPOLAR);
  VwTimerWish wish = vw_timer_defaults(&report->lamp);
  wish.wiring = wiring;
  wish.supply_v = asked->supply_v;
  wish.chip = asked->chip >= 0 ? (VwChip)asked->chip
              : low            ? VW_CHIP_CMOS
                               : VW_CHIP_BIPOLAR;
  wish.diode = asked->schottky ? vw_diode_schottky() : vw_diode_small_signal();
  if (isfinite(asked->diode_drop_v)) {
    wish.diode.drop_v = asked->diode_drop_v;
  }
  wish.series = asked->series;
  wish.capacitor_tolerance = asked->capacitor_tolerance;
  if (asked->n_capacitors) {
    wish.n_capacitors = asked->n_capacitors;
    memcpy(wish.capacitors_farad,
           asked->capacitors_farad,
           sizeof(wish.capacitors_farad));
  }
  return wish;
}

/// A high output and a low one do not drop the same.
static LampLed
find_led(const LampSettings* asked, const LampTimer* timer) {
  const double forward_v = isfinite(asked->led_forward_v)
                             ? asked->led_forward_v
                             : asked->led_mv / 1000.0;
  LampLed      led = {.wish = {timer->wish.chip,
                               timer->timer.lit_while_low,
                               asked->supply_v,
                               forward_v,
                               (unsigned)asked->n_leds,
                               asked->led_current_a}};
  led.status = vw_led_find(&led.wish, &led.led);
  return led;
}

static void
find_timer(LampReport* report, VwWiring wiring) {
  LampTimer* const timer = &report->timer;
  timer->wish = timer_wish(report, wiring);
  timer->status = vw_timer_find(&timer->wish, &timer->timer);
  timer->led = find_led(&report->settings->lamp, timer);
}

/// The beat of what was found or planned.
static VwBeat
beat_of(const LampReport* report) {
  const VwPlan* const      plan = &report->plan;
  const VwRateFound* const found = &report->found;
  const double             gap_ms = plan->uneven
                                      ? 1000.0 * (double)plan->gap_frames / plan->rate_hz
                                      : (found->uneven ? found->gap_ms : 0.0);
  return vw_beat(
    &report->lamp, plan->uneven ? plan->shots : found->shots, gap_ms);
}

static void
find_counts(LampReport* report) {
  const LampSettings* const asked = &report->settings->lamp;
  VwCounter                 counter = asked->counter;
  report->has_counts = counter.clock_hz > 0.0;
  if (report->has_counts) {
    counter.bits = (unsigned)asked->timer_bits;
    report->counts_status =
      vw_counts_find(&report->lamp, &report->beat, &counter, &report->counts);
  }
}

/// Say why no timer can be built.
static void
say_none(const LampTimer* timer) {
  if (timer->wish.supply_v < vw_chip_least_v(timer->wish.chip)) {
    say("--supply",
        "%.4g V are too low: a bipolar chip needs %.4g V, a CMOS one %.4g V: "
        "give more, or a chip that needs less",
        timer->wish.supply_v,
        vw_chip_least_v(VW_CHIP_BIPOLAR),
        vw_chip_least_v(VW_CHIP_CMOS));
  } else {
    say_status("timer chip", timer->status);
  }
}

bool
lamp_find(LampReport* report) {
  const int asked = report->settings->lamp.wiring;
  report->beat = beat_of(report);
  find_timer(report, asked >= 0 ? (VwWiring)asked : VW_WIRING_DIODE);
  if (asked < 0 && report->timer.status) {
    report->no_diode = report->timer.status;
    find_timer(report, VW_WIRING_TWO_RESISTORS);
  }
  if (report->timer.status) {
    say_none(&report->timer);
    return false;
  }
  find_counts(report);
  return true;
}

bool
lamp_flashes(const LampReport* report) {
  return !report->status && report->lamp.pulse_hz > 0.0;
}

unsigned
lamp_cautions(const LampReport* report) {
  // What was not found is zero. Uneven flashes are faster than their mean.
  const double own_hz = report->beat.shots > 1U
                          ? 1000.0 / report->beat.interval_ms
                          : report->lamp.pulse_hz;
  const bool   own = caution_of_flashes(own_hz);
  const bool any = own || caution_of_flashes(report->timer.timer.rate_hz.most);
  // Either the sound's own flashes are fast, or those of its timer may be.
  return VW_CAUTION_WIRING | (!any  ? 0U
                              : own ? VW_CAUTION_LAMP_FLASH
                                    : VW_CAUTION_UNTRIMMED);
}
