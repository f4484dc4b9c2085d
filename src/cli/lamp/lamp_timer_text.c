// A timer chip's circuit for a person: what to get, wire, and set.

#include "board/board.h"
#include "cli/lamp/lamp_report.h"
#include "cli/message/line.h"
#include "cli/message/status.h"
#include "lamp/lamp.h"

#include <math.h>

/* Parts */

static void
resistors(const VwTimer* timer, FILE* out) {
  const char* const trimmed = timer->trims_ra ? "RA" : "RB";
  const char* const plain = timer->trims_ra ? "RB" : "RA";
  const double      percent = 100.0 * timer->resistor_tolerance;
  char              text[40];
  line_print(
    out, plain, "%s, +-%.0f %%", lamp_ohm(text, timer->plain_ohm), percent);
  line_print(
    out, trimmed, "%s, +-%.0f %%", lamp_ohm(text, timer->fixed_ohm), percent);
  char set[40];
  line_print(out,
             "P",
             "a trimmer of %s, set to %s, %.0f %% of its travel",
             lamp_ohm(text, timer->trimmer_ohm),
             lamp_ohm(set, timer->set_ohm),
             100.0 * timer->set_share);
}

static void
diode_line(const LampReport* report, const VwTimer* timer, FILE* out) {
  line_wrap_made(
    out,
    "D",
    text_format("%s diode, %.4g V at 1 mA; with its drop the lamp is on for "
                "%.1f ms, where 0.693 RA C, the formula without it, says %.1f",
                report->settings->lamp.schottky ? "Schottky" : "small-signal",
                report->timer.wish.diode.drop_v,
                timer->on_ms.middle,
                timer->textbook_on_ms));
}

void
lamp_led_text(const LampTimer* of, FILE* out) {
  const LampLed* const led = &of->led;
  char                 next[40];
  char                 exact[40];
  if (led->status) {
    line_wrap_made(out, "R", status_message(led->status));
    return;
  }
  line_wrap_made(
    out,
    "R",
    text_format("%s (%.3g W, %.3g mA), next in E24 to %s: %.4g V less %u x "
                "%.4g V of the LED and about %.4g V in the output",
                lamp_ohm(next, led->led.next_ohm),
                led->led.next_w,
                1000.0 * led->led.current_a,
                lamp_ohm(exact, led->led.resistor_ohm),
                led->wish.supply_v,
                led->wish.n_leds,
                led->wish.forward_v,
                led->wish.driver_drop_v));
}

static void
parts(const LampReport* report, const LampTimer* of, FILE* out) {
  const VwTimer* const timer = &of->timer;
  char                 text[40];
  line_print(out,
             "chip",
             "%s, at %.4g V%s",
             of->wish.chip == VW_CHIP_CMOS ? "CMOS" : "bipolar",
             of->wish.supply_v,
             of->wish.supply_v < 4.5 ? " (a bipolar one needs 4.5 V)" : "");
  line_print(out,
             "C",
             "%s, +-%.0f %%",
             lamp_farad(text, timer->c_farad),
             100.0 * timer->capacitor_tolerance);
  resistors(timer, out);
  if (timer->wiring == VW_WIRING_DIODE) {
    diode_line(report, timer, out);
  }
  lamp_led_text(of, out);
}

void
lamp_hold_back_text(const VwBoard* board, FILE* out) {
  if (board->delay_ms > 0.0) {
    line_wrap_made(
      out,
      "hold back",
      text_format("%.4g ms, so late %s is after the trigger: only a "
                  "microcontroller or the lamp track can; with the timer the "
                  "lamp leads by %.4g ms",
                  board->delay_ms,
                  board->name,
                  board->delay_ms));
  } else {
    line_print(out,
               "hold back",
               "nothing, if 0 ms was measured: %s states no delay",
               board->name);
  }
}

/* What it does */

static void
outcome(const VwTimer* timer, FILE* out) {
  line_print(out,
             "makes",
             "%.4g per second, on for %.1f ms",
             timer->rate_hz.middle,
             timer->on_ms.middle);
  line_print(out,
             "untrimmed",
             "%.3g to %.3g per second, on for %.1f to %.1f ms, by tolerance",
             timer->rate_hz.least,
             timer->rate_hz.most,
             timer->on_ms.least,
             timer->on_ms.most);
  line_print(out,
             "trimmed",
             "%.3g to %.3g per second are reached whatever the tolerances",
             timer->rate_sure_hz.least,
             timer->rate_sure_hz.most);
  line_print(out,
             "0 to 40 C",
             "%.4g to %.4g per second, on for %.1f to %.1f ms",
             timer->rate_warm_hz.least,
             timer->rate_warm_hz.most,
             timer->on_warm_ms.least,
             timer->on_warm_ms.most);
}

/* How to build it */

/// What is soldered to each pin. Which leg of the LED is which: common
/// practice.
static void
joints(const VwTimer* timer, FILE* out) {
  const bool diode = timer->wiring == VW_WIRING_DIODE;
  line_print(out, "pin 1", "0 V");
  line_print(out, "pin 2", "pin 6");
  line_wrap(out,
            "pin 3",
            timer->lit_while_low
              ? "R, then the LED's short leg; its long leg, the anode, to +Vcc"
              : "R, then the LED's long leg, the anode; its short leg to 0 V");
  line_print(out, "pin 4", "+Vcc");
  line_print(out, "pin 5", "10 nF, to 0 V");
  line_print(out,
             "pin 6",
             "C, to 0 V%s",
             diode ? "; D's end with the ring, its cathode" : "");
  line_print(out,
             "pin 7",
             "%s%s",
             timer->trims_ra ? "RA, then P, to +Vcc; RB, to pin 6"
                             : "RA, to +Vcc; RB, then P, to pin 6",
             diode ? "; D's other end" : "");
  line_print(out, "pin 8", "+Vcc; 100 nF, to 0 V, close to pins 8 and 1");
  line_wrap(out,
            "P",
            "its middle leg goes to one of its outer ones, so that it is a "
            "resistor that can be turned");
}

/// How to set the trimmer, by flashes counted in 10 s.
static void
trimming(const VwTimer* timer, FILE* out) {
  const double n = round(10.0 * timer->rate_range_hz.middle);
  char         ohm[40];
  line_wrap_made(
    out,
    "set",
    text_format(
      "P before it is soldered in, with an ohmmeter between its middle "
      "leg and the outer one not joined to it: %s. Then film 10 s with "
      "a phone at 60 frames a second or more, step through, and turn "
      "P until there are %.0f flashes: more ohms, fewer flashes; one "
      "too many is %.2g %%. Or turn it until a multimeter's Hz range, "
      "if it goes so low, says %.4g at pin 3",
      lamp_ohm(ohm, timer->set_ohm),
      n,
      100.0 / n,
      timer->rate_range_hz.middle));
}

/// How the trigger starts it. Pin 4: LM555 data sheet SNAS548D, 5: resets when
/// low, to the supply when not used. Its current, 1.5 mA at most when low and
/// 0.4 mA when high, and that it resets below 0.3 V: NE555, from memory.
static void
restarting(const LampTimer* of, FILE* out) {
  const VwAstable      parts = vw_timer_parts(&of->wish, &of->timer);
  const VwAstableTimes times = vw_astable_times(&parts);
  if (of->timer.lit_while_low) {
    line_wrap_made(
      out,
      "trigger",
      text_format("this one is lit while it is reset: leave pin 4 at +Vcc, and "
                  "let the trigger switch +Vcc; the first flash comes %.0f ms "
                  "after that",
                  times.first_high_ms));
    return;
  }
  line_wrap_made(
    out,
    "trigger",
    text_format(
      "so joined the lamp flashes all the time. To start it anew with "
      "each pull, cut pin 4 (reset, active low) from +Vcc; put 4.7 "
      "kohm from it to +Vcc, and to 0 V a contact that is closed "
      "until the trigger is pulled. Join pin 4 to 0 V by the contact "
      "itself: behind a resistor the pin stays too high, and the lamp "
      "flashes on. The first flash lasts %.0f ms, and all others come %.0f "
      "ms later for that",
      times.first_high_ms,
      times.first_high_ms - times.high_ms));
}

void
lamp_timer_text(const LampReport* report, FILE* out) {
  const LampTimer* const of = &report->timer;
  const bool             diode = of->wish.wiring == VW_WIRING_DIODE;
  fprintf(out,
          "Timer chip (555), %s\n",
          diode ? "a diode across RB" : "two resistors");
  if (report->no_diode) {
    line_wrap_made(out, "no diode", status_message(report->no_diode));
  }
  parts(report, of, out);
  outcome(&of->timer, out);
  line_print(out, "circuit", "drawn with --plot, as in --plot lamp.svg");
  joints(&of->timer, out);
  trimming(&of->timer, out);
  restarting(of, out);
  if (of->wish.chip == VW_CHIP_CMOS && !of->timer.lit_while_low) {
    line_wrap(out,
              "output",
              "a CMOS chip gives little current when high: see its data sheet, "
              "or let a transistor switch the LED");
  }
  if (diode) {
    line_print(out, "or else", "without a diode: --wiring two-resistors");
  }
}
