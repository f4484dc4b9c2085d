#include "commands.h"

#include "lamp_report.h"
#include "lamp_source.h"
#include "say.h"
#include "status.h"

#include <math.h>
#include <stdlib.h>
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
find_timer(const LampReport* report, VwWiring wiring, LampTimer* timer) {
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
  const VwTimer* const timer = &lamp_best_timer(report)->timer;
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

/// False, and said, where no timer can be built.
static bool
find_all(LampReport* report) {
  find_timer(report, VW_WIRING_DIODE, &report->diode);
  find_timer(report, VW_WIRING_TWO_RESISTORS, &report->plain);
  if (report->diode.status && report->plain.status) {
    say_status("timer chip", report->plain.status);
    return false;
  }
  find_counts(report);
  find_drifts(report);
  return true;
}

/* Files */

/// Draw and write what was asked for beside the report.
static VwStatus
write_files(const LampReport* report, const char** at) {
  const Settings* const settings = report->settings;
  const VwWriteOptions  options = {.force = settings->force,
                                   .dry_run = settings->dry_run,
                                   .takes = settings->takes,
                                   .n_takes = settings->n_takes};
  const char* const     header = settings->lamp.header;
  const char* const     plot = settings->plot;
  VwBytes               drawn = {0};
  VwOutput              outputs[2];
  size_t                n = 0;
  size_t                failed = 0;
  VwStatus              st = VW_OK;
  char* const           text = header ? lamp_header(report) : NULL;
  if (header) {
    outputs[n++] =
      (VwOutput){header, {(unsigned char*)text, text ? strlen(text) : 0U}};
    st = text ? VW_OK : VW_NO_MEMORY;
    *at = header;
  }
  if (!st && plot) {
    st = lamp_plot(report, plot, &drawn);
    outputs[n++] = (VwOutput){plot, drawn};
    *at = plot;
  }
  if (!st && n) {
    st = vw_write(outputs, n, &options, &failed);
    *at = outputs[failed < n ? failed : 0U].path;
  }
  free(text);
  vw_bytes_clear(&drawn);
  return st;
}

static int
say_unwritten(const char* path, VwStatus status) {
  if (status == VW_MISSING) {
    say(path,
        "the library that draws pictures is not installed: install "
        "libvolleyweave-pictures, or leave --plot out");
  } else {
    say_status(path, status);
  }
  return EXIT_FILE;
}

static int
print(const LampReport* report) {
  const Settings* const settings = report->settings;
  const char*           at = report->subject;
  const VwStatus        st = write_files(report, &at);
  if (st) {
    return say_unwritten(at, st);
  }
  if (settings->json) {
    if (!lamp_json(report, stdout)) {
      say_status(report->subject, VW_NO_MEMORY);
      return EXIT_FILE;
    }
  } else if (!settings->quiet) {
    lamp_text(report, stdout);
  }
  return EXIT_DONE;
}

int
command_lamp(const CommandName* command, const Settings* settings) {
  LampReport* const report = calloc(1U, sizeof(LampReport));
  int               status = EXIT_FILE;
  if (!report) {
    say_status(command->name, VW_NO_MEMORY);
    return status;
  }
  report->settings = settings;
  report->subject = settings->takes[0];
  status = lamp_source_find(report);
  if (status == EXIT_DONE) {
    status = find_all(report) ? print(report) : EXIT_USAGE;
  }
  free(report);
  return status;
}
