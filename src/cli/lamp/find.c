// What goes with a lamp that is known: parts and counts.

#include "cli/lamp/lamp.h"
#include "cli/message/figures.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/// The rating of a resistor: "1/4 W", "2 W".
static const char*
lamp_watt(char text[40], double watt) {
  const bool part = watt > 0.0 && watt < 1.0;
  (void)snprintf(
    text, 40, "%s%.4g W", part ? "1/" : "", part ? 1.0 / watt : watt);
  return text;
}

/// In mA, to what one can measure.
static double
milli(double ampere) {
  return lamp_rounded(1000.0 * ampere, 3);
}

Figures*
lamp_led_figures(const LampLed* of) {
  const VwLed* const led = &of->led;
  Figures* const     made = figures_new();
  figures_set(made, "error", figures_of_status(of->status));
  if (!of->status) {
    figures_set(made, "transistor", led->alone != VW_OK);
    figures_set(made, "driver_drop_v", led->drop.typical_v);
    figures_set(made, "driver_drop_worst_v", led->drop.worst_v);
    figures_set(made, "driver_drop_most_a", led->drop.most_a);
    figures_set(
      made, "base_ohm", led->base_ohm > 0.0 ? led->base_ohm : (double)NAN);
    figures_set(
      made, "gain_least", led->base_ohm > 0.0 ? led->gain : (double)NAN);
    figures_set(made, "resistor_ohm", led->resistor_ohm);
    figures_set(made, "power_w", led->power_w);
    figures_set(made, "next_e24_ohm", led->next_ohm);
    figures_set(made, "next_e24_w", led->next_w);
    figures_set(made, "rating_w", led->rating_w);
    figures_set(made, "current_a", led->current_a);
    figures_set(made, "current_least_a", led->least_a);
  }
  return made;
}

bool
lamp_led_can_hang(const LampLed* of) {
  VwLedWish wish = of->wish;
  VwLed     led = {0};
  wish.lit_while_low = true;
  return !vw_led_find(&wish, &led);
}

/// The least supply, in tenths of a volt, for an LED that needs more; NaN where
/// none that every chip stands does.
static double
enough_v(const LampLed* of) {
  VwLedWish wish = of->wish;
  VwLed     led = {0};
  VwStatus  st = of->status;
  for (double tenths = ceil(10.0 * wish.supply_v);
       st == VW_SUPPLY_LOW && tenths <= 150.0;
       ++tenths) {
    wish.supply_v = tenths / 10.0;
    st = vw_led_find(&wish, &led);
  }
  return of->status && !st ? wish.supply_v : (double)NAN;
}

Figures*
lamp_led_told(const LampLed* of, bool verbose) {
  const VwLed* const led = &of->led;
  char               text[40];
  Figures* const     made = lamp_led_figures(of);
  figures_set(made, "verbose", verbose);
  figures_set(made, "next", lamp_ohm(text, led->next_ohm));
  figures_set(made, "base", lamp_ohm(text, led->base_ohm));
  figures_set(made, "part", vw_transistor_name(of->wish.current_a));
  figures_set(made, "low_left", led->alone == VW_SUPPLY_LOW);
  figures_set(
    made, "read", of->wish.chip != VW_CHIP_CMOS && !of->wish.lit_while_low);
  figures_set(made, "rating", lamp_watt(text, led->rating_w));
  figures_set(made, "output_worst_v", led->output.worst_v);
  figures_set(made, "output_ma", 1000.0 * led->output.most_a);
  figures_set(made, "stated_v", led->output.stated_v);
  figures_set(made, "wished_ma", milli(of->wish.current_a));
  figures_set(made, "current_ma", milli(led->current_a));
  figures_set(made, "least_ma", milli(led->least_a));
  figures_set(made, "supply_v", of->wish.supply_v);
  figures_set(made, "n_leds", of->wish.n_leds);
  figures_set(made, "enough_v", enough_v(of));
  figures_set(made, "several", of->wish.n_leds > 1U);
  figures_set(made, "forward_v", of->wish.forward_v);
  return made;
}

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
