// What stands beside the drawing of a timer's circuit.

#include "cli/lamp/lamp_plot_track.h"
#include "cli/message/text.h"
#include "lamp/lamp.h"

/// How the trimmer is set, and what the parts make.
static char*
setting(const VwTimer* timer) {
  char set[40];
  return text_format(
    "P: a trimmer, set to %s, %.0f %% of its travel, with an ohmmeter between "
    "its middle leg and the outer one not joined to it, before it is soldered "
    "in. "
    "These parts make %.4g per second, on for %.1f ms. 100 nF: close to pins 8 "
    "and 1.",
    lamp_ohm(set, timer->set_ohm),
    100.0 * timer->set_share,
    timer->rate_hz.middle,
    timer->on_ms.middle);
}

/// What the drawing leaves open: diodes' legs and the trigger.
static char*
legs(const LampReport* report, const VwTimer* timer) {
  const bool diode = timer->wiring == VW_WIRING_DIODE;
  return text_format(
    "%s%s%sLED: the long leg is its anode, toward %s. Pin 4: %s.",
    diode ? "D: a " : "",
    diode ? report->settings->lamp.schottky ? "Schottky" : "small-signal" : "",
    diode ? " diode; the ring marks its cathode, toward pins 2 and 6. " : "",
    timer->lit_while_low ? "+Vcc" : "the resistor",
    timer->lit_while_low
      ? "stays at +Vcc, and the trigger switches +Vcc"
      : "as drawn the lamp flashes all the time; to start it with the trigger "
        "put 4.7 kohm from pin 4 to +Vcc instead of the wire, and to 0 V a "
        "contact that is closed until the trigger is pulled");
}

/// How many notes come before the cautions.
static size_t
n_own(const LampReport* report) {
  return report->track.pulses ? 1U : 2U;
}

size_t
lamp_n_notes(const LampReport* report) {
  size_t n = 0;
  while (lamp_caution(report, n)) {
    ++n;
  }
  return n_own(report) + n;
}

char*
lamp_note(const LampReport* report, size_t index) {
  const VwTimer* const timer = &report->timer.timer;
  if (index >= n_own(report)) {
    return text_format("CAUTION: %s.",
                       lamp_caution(report, index - n_own(report)));
  }
  return report->track.pulses ? lamp_plot_track_words(report)
         : index              ? legs(report, timer)
                              : setting(timer);
}
