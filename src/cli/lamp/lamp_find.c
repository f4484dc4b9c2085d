// What goes with a lamp that is known: parts, counts, drifts.

#include "cli/lamp/lamp_report.h"
#include "cli/message/say.h"
#include "cli/message/status.h"
#include "lamp/lamp.h"

#include <math.h>
#include <string.h>

#define BIPOLAR_LEAST_V 4.5 // LM555 data sheet SNAS548D.

// Errors of a microcontroller's own clock and of a crystal: common practice.
#define ERROR_INTERNAL 0.02
#define ERROR_CRYSTAL 100e-6

/* Timer */

static VwTimerWish
timer_wish(const LampReport* report, VwWiring wiring) {
  const LampSettings* const asked = &report->settings->lamp;
  VwTimerWish               wish = vw_timer_defaults(&report->lamp);
  wish.wiring = wiring;
  wish.supply_v = asked->supply_v;
  wish.chip = asked->chip >= 0                    ? (VwChip)asked->chip
              : asked->supply_v < BIPOLAR_LEAST_V ? VW_CHIP_CMOS
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
  const bool low = timer->timer.lit_while_low;
  LampLed    led = {.wish = {asked->supply_v,
                             vw_chip_drop_v(timer->wish.chip, low),
                             asked->led_forward_v,
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

/* The rest */

static void
find_counts(LampReport* report) {
  const LampSettings* const asked = &report->settings->lamp;
  VwCounter                 counter = asked->counter;
  report->has_counts = counter.clock_hz > 0.0;
  if (report->has_counts) {
    counter.bits = (unsigned)asked->timer_bits;
    report->counts_status =
      vw_counts_find(&report->lamp, &counter, &report->counts);
  }
}

/// How far a rate may be from the one wanted.
static double
error_of(const VwSpread* rate) {
  return fmax(rate->most / rate->middle, rate->middle / rate->least) - 1.0;
}

static void
find_drifts(LampReport* report) {
  const VwTimer* const timer = &report->timer.timer;
  const LampDrift      ways[LAMP_DRIFTS] = {
         {"as built", "timer_untrimmed", error_of(&timer->rate_hz), NAN},
         {"trimmed", "timer_trimmed", error_of(&timer->rate_warm_hz), NAN},
         {"own clock", "internal_clock", ERROR_INTERNAL, NAN},
         {"crystal", "crystal", ERROR_CRYSTAL, NAN},
         {"lamp track", "lamp_track", 0.0, NAN}};
  for (size_t i = 0; i < LAMP_DRIFTS; ++i) {
    report->drifts[i] = ways[i];
    report->drifts[i].seconds =
      vw_drift_s(ways[i].error, report->lamp.period_ms);
  }
}

/// Say why no timer can be built.
static void
say_none(const LampReport* report) {
  const double supply_v = report->settings->lamp.supply_v;
  if (report->timer.status == VW_SUPPLY_LOW &&
      report->timer.wish.wiring == VW_WIRING_TWO_RESISTORS) {
    say("--supply",
        "%.4g V are too low: a bipolar chip needs 4.5 V, a CMOS one 2 V: give "
        "more, or a chip that needs less",
        supply_v);
  } else {
    say_status("timer chip", report->timer.status);
  }
}

bool
lamp_find(LampReport* report) {
  const int asked = report->settings->lamp.wiring;
  find_timer(report, asked >= 0 ? (VwWiring)asked : VW_WIRING_DIODE);
  if (asked < 0 && report->timer.status) {
    report->no_diode = report->timer.status;
    find_timer(report, VW_WIRING_TWO_RESISTORS);
  }
  if (report->timer.status) {
    say_none(report);
    return false;
  }
  find_counts(report);
  find_drifts(report);
  return true;
}
