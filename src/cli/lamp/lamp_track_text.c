// The circuit behind a lamp track for a person.

#include "cli/lamp/lamp_report.h"
#include "cli/message/line.h"
#include "cli/message/status.h"
#include "lamp/lamp.h"

#include <math.h>

// What the drawn parts let through R1 where the track swings by 2.8 V
// (simulated here), and what a transistor drops that is on (common practice).
#define BASE_A 0.0002
#define TRANSISTOR_DROP_V 0.2

// More than noise and rounding make of the same on-time: chosen here.
#define SAME_ON_MS 2.0

VwStatus
lamp_track_led(const LampReport* report, VwLed* led) {
  VwLedWish wish = report->timer.led.wish;
  wish.driver_drop_v = TRANSISTOR_DROP_V;
  return vw_led_find(&wish, led);
}

double
lamp_track_gain(const LampReport* report) {
  return ceil(report->settings->lamp.led_current_a / BASE_A - 1e-6);
}

static void
resistor(const LampReport* report, FILE* out) {
  const VwLedWish* const wish = &report->timer.led.wish;
  VwLed                  led = {0};
  char                   text[40];
  const VwStatus         st = lamp_track_led(report, &led);
  if (st) {
    line_wrap_made(out, "R", status_message(st));
    return;
  }
  line_print(out,
             "R",
             "%s (%.3g W, %.3g mA) for %u x %.4g V at %.4g V",
             lamp_ohm(text, led.next_ohm),
             led.next_w,
             1000.0 * led.current_a,
             wish->n_leds,
             wish->forward_v,
             wish->supply_v);
}

/// What is soldered together. Which leg of the LED is which: common practice.
static void
joints(FILE* out) {
  line_print(out, "channel 2", "C1");
  line_print(
    out, "behind C1", "D1's end with the ring, its cathode; D2's other");
  line_print(out, "D2's ring", "C2, R2, R1");
  line_print(out, "behind R1", "T's base");
  line_wrap(out,
            "collector",
            "R, then the LED's short leg; its long leg, the anode, to +Vcc");
  line_print(
    out, "0 V", "D1's other end, C2, R2, T's emitter, the board's 0 V");
}

void
lamp_track_text(const LampReport* report, FILE* out) {
  const VwLampTrack* const track = &report->track;
  fprintf(out, "Lamp track: the loop has one, and nothing has to be set\n");
  line_print(out,
             "track",
             "channel 2: %.0f Hz at %.1f dBFS, %u pulse%s of %.1f ms",
             track->tone_hz,
             track->level_dbfs,
             track->pulses,
             track->pulses == 1U ? "" : "s",
             track->on_ms);
  if (fabs(track->on_ms - report->lamp.on_ms) > SAME_ON_MS) {
    line_wrap(
      out, "", "which is how long the lamp is on, whatever is said above");
  }
  line_print(out, "C1, C2", "1 uF each");
  line_print(out, "D1, D2", "small Schottky diodes");
  line_print(out, "R1, R2", "4.7 kohm and 10 kohm");
  line_print(out,
             "T",
             "a small NPN transistor with a gain of %.0f or more at %.3g mA",
             lamp_track_gain(report),
             1000.0 * report->settings->lamp.led_current_a);
  resistor(report, out);
  joints(out);
  line_wrap(out,
            "needs",
            "3 V from peak to peak of the tone, from a headphone output or one "
            "side of a speaker output; where it is less, make the loop with "
            "--track-level 0");
  line_wrap(out,
            "follows",
            "the tone within 4 ms; no speaker on channel 2, the tone is heard");
  line_wrap_made(out,
                 "or else",
                 text_format("with a timer chip or a microcontroller of its "
                             "own: `volleyweave lamp %.6g/s`",
                             report->lamp.pulse_hz));
}
