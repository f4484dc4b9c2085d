// A lamp for a person: what it does, what to get, join and set.

#include "cli/lamp/lamp.h"

#include "cli/message/figures.h"

#include <math.h>

// Steps of brightness in a line.
#define STEPS_IN_LINE 16U

static const Line source_lines[] = {
  {NULL, "Lamp for {subject}"},
  {"read as",
   "a loop of {found.shots} shot{found.shots:s} in {cycle_s:.4g} s, "
   "{found.fire_rate_per_s:.4g} per second",
   "loop"},
  {"known", "as written when it was made", "made"},
  {"known", "as --shots says", "said"},
  {"not sure",
   "counted in the sound, and {found.other_shots} "
   "{one_other?shot is}{!one_other?shots are} nearly as likely: give --shots "
   "{found.shots} or --shots {found.other_shots}",
   "counted found.other_shots",
   true},
  {"counted",
   "in the sound; if it is another number, give --shots",
   "counted !found.other_shots"},
  {"gap",
   "{found.gap_ms:.1f} ms between the repeats are counted "
   "in{!found.gap_known?, as the distances of the shots tell: give --board or "
   "--gap for another}",
   "gap",
   true},
  {"read as",
   "a recording of {found.shots} shots, even to {found.jitter_ms:.1f} ms",
   "recording"},
  {"heard",
   "{heard.fire_rate_per_s:.6g} per second: {board_name} plays whole frames, "
   "{heard.shots} shot{heard.shots:s} in {heard.frames} of "
   "{heard.sample_rate_hz} Hz{heard_gap_ms? and {heard_gap_ms:.1f} ms of gap}",
   "heard",
   true},
  {"uneven",
   "the gap is heard between the repeats, and a lamp with its own timer "
   "flashes through it: restart it with each repeat, or give it a lamp track",
   "uneven",
   true},
  {"note",
   "a board plays whole frames, and may have a gap between repeats: give "
   "--board, or the loop that it plays, for the rate that is heard",
   "rate !heard",
   true},
  {"flashes",
   "{lamp.pulse_hz:.6g} per second, one every {lamp.period_ms:.3f} ms"},
  {"on-time", "{lamp.on_ms:.1f} ms, a duty of {lamp.duty:%}"},
  {"because", "{because}", NULL, true},
  {"",
   "(the shots are loud for {lamp.shot_near_ms:.1f} ms)",
   "lamp.shot_near_ms"},
  {"note",
   "a loop of yours may get up to 50 ms, and other parts for that: name it "
   "instead of its rate",
   "usual",
   true},
};

static const Line hold_back_lines[] = {
  {"hold back",
   "nothing: the track comes with the sound",
   "hold_back_ms track"},
  {"hold back",
   "{hold_back_ms:.4g} ms, so late {board} is after the trigger: only a "
   "microcontroller or the lamp track can; with the timer the lamp leads by "
   "{hold_back_ms:.4g} ms",
   "hold_back_ms !track",
   true},
  {"hold back",
   "nothing, if 0 ms was measured: {board} states no delay",
   "!hold_back_ms"},
};

static const Line part_lines[] = {
  {NULL, "Timer chip (555), {diode?a diode across RB}{!diode?two resistors}"},
  {"no diode", "{no_diode.message}", "no_diode", true},
  {"chip",
   "{chip_name}, at {supply_v:.4g} V"
   "{bipolar_v? (a bipolar one needs {bipolar_v:.4g} V)}"},
  {"C", "{c}, +-{capacitor_tolerance:%}"},
  {"{trims_ra?RB}{!trims_ra?RA}", "{plain}, +-{resistor_tolerance:%}"},
  {"{trims_ra?RA}{!trims_ra?RB}", "{fixed}, +-{resistor_tolerance:%}"},
  {"P", "a trimmer of {whole}, set to {set}, {set_share:%} of its travel"},
  {"D",
   "{diode_name} diode, {diode_drop_v:.4g} V at 1 mA; with its drop the lamp "
   "is on for {on_ms.middle:.1f} ms, where 0.693 RA C, the formula without "
   "it, says {textbook_on_ms:.1f}",
   "diode",
   true},
};

static const Line led_lines[] = {
  {"R", "{error.message}", "error", true},
  {"R",
   "{next} ({next_e24_w:.3g} W, {current_ma:.3g} mA), next in E24 to {exact}: "
   "{supply_v:.4g} V less {n_leds} x {forward_v:.4g} V of the LED and about "
   "{driver_drop_v:.4g} V in the output",
   "!error",
   true},
};

// Which leg is which: common practice. Pin 4: LM555 data sheet SNAS548D, 5:
// resets when low, to the supply when not used. Its current, 1.5 mA at most
// when low and 0.4 mA when high, and that it resets below 0.3 V: NE555, from
// memory.
static const Line timer_lines[] = {
  {"makes", "{rate_hz.middle:.4g} per second, on for {on_ms.middle:.1f} ms"},
  {"untrimmed",
   "{rate_hz.least:.3g} to {rate_hz.most:.3g} per second, on for "
   "{on_ms.least:.1f} to {on_ms.most:.1f} ms, by tolerance"},
  {"trimmed",
   "{rate_sure_hz.least:.3g} to {rate_sure_hz.most:.3g} per second are reached "
   "whatever the tolerances"},
  {"0 to 40 C",
   "{rate_0_to_40_c_hz.least:.4g} to {rate_0_to_40_c_hz.most:.4g} per second, "
   "on for {on_0_to_40_c_ms.least:.1f} to {on_0_to_40_c_ms.most:.1f} ms"},
  {"circuit", "drawn with --plot, as in --plot lamp.svg"},
  {"pin 1", "0 V"},
  {"pin 2", "pin 6"},
  {"pin 3",
   "R, then the LED's {low?short leg; its long leg, the anode, to +Vcc}"
   "{!low?long leg, the anode; its short leg to 0 V}"},
  {"pin 4", "+Vcc"},
  {"pin 5", "{c_pin_5}, to 0 V"},
  {"pin 6", "C, to 0 V{diode?; D's end with the ring, its cathode}"},
  {"pin 7",
   "{trims_ra?RA, then P, to +Vcc; RB, to pin 6}"
   "{!trims_ra?RA, to +Vcc; RB, then P, to pin 6}{diode?; D's other end}"},
  {"pin 8", "+Vcc; {c_pin_8}, to 0 V, {c_pin_8_place}"},
  {"P",
   "its middle leg goes to one of its outer ones, so that it is a resistor "
   "that can be turned",
   NULL,
   true},
  {"set",
   "P before it is soldered in, with an ohmmeter between its middle leg and "
   "the outer one not joined to it: {set}. Then film 10 s with a phone at 60 "
   "frames a second or more, step through, and turn P until there are "
   "{flashes_10_s:.0f} flashes: more ohms, fewer flashes; one too many is "
   "{too_many_percent:.2g} %. Or turn it until a multimeter's Hz range, if it "
   "goes so low, says {rate_range_hz.middle:.4g} at pin 3",
   NULL,
   true},
  {"trigger",
   "this one is lit while it is reset: leave pin 4 at +Vcc, and let the "
   "trigger switch +Vcc; the first flash comes {first_high_ms:.0f} ms after "
   "that",
   "low",
   true},
  {"trigger",
   "so joined the lamp flashes all the time. To start it anew with each pull, "
   "cut pin 4 (reset, active low) from +Vcc; put {r_pin_4} from it to +Vcc, "
   "and to 0 V {trigger_contact}. Join pin 4 to 0 V by the contact itself: "
   "behind a resistor the pin stays too high, and "
   "the lamp flashes on. The first flash lasts {first_high_ms:.0f} ms, and all "
   "others come {later_ms:.0f} ms later for that",
   "!low",
   true},
  {"output",
   "a CMOS chip gives little current when high: see its data sheet, or let a "
   "transistor switch the LED",
   "weak",
   true},
  {"or else", "without a diode: --wiring two-resistors", "diode"},
};

static const Line controller_lines[] = {
  {NULL, "Microcontroller"},
  {"times",
   "period {microcontroller.period_us} us, on-time {microcontroller.on_us} us"},
  {"counts", "with --clock, as in --clock 12MHz", "!clocked"},
  {"counts", "{microcontroller.error.message}", "microcontroller.error", true},
  {"counts",
   "prescaler {microcontroller.counts.prescaler}, period "
   "{microcontroller.counts.period_counts}, on "
   "{microcontroller.counts.on_counts} (top register: {top})",
   "microcontroller.counts"},
  {"makes",
   "{microcontroller.counts.rate_hz:.7g} per second, "
   "{microcontroller.counts.error_ppm:.3g} ppm off, on for "
   "{microcontroller.counts.on_ms:.3f} ms",
   "microcontroller.counts"},
};

static const Line track_lines[] = {
  {NULL, "Lamp track: the loop has one, and nothing has to be set"},
  {"track",
   "channel 2: {tone_hz:.0f} Hz at {level_dbfs:.1f} dBFS, {pulses} "
   "pulse{pulses:s} of {on_ms:.1f} ms"},
  {"", "which is how long the lamp is on, whatever is said above", "other_on"},
  {"C1, C2", "{c1_c2} each"},
  {"D1, D2", "{d1_d2}"},
  {"R1, R2", "{r1} and {r2}"},
  {"T",
   "{t} with a gain of {gain:.0f} or more at "
   "{led_ma:.3g} mA"},
  {"R", "{led.error.message}", "led.error", true},
  {"R",
   "{led.next} ({led.next_e24_w:.3g} W, {led.current_ma:.3g} mA) for "
   "{led.n_leds} x {led.forward_v:.4g} V at {led.supply_v:.4g} V",
   "!led.error"},
  {"channel 2", "C1"},
  {"behind C1", "D1's end with the ring, its cathode; D2's other"},
  {"D2's ring", "C2, R2, R1"},
  {"behind R1", "T's base"},
  {"collector",
   "R, then the LED's short leg; its long leg, the anode, to +Vcc"},
  {"0 V", "D1's other end, C2, R2, T's emitter, the board's 0 V"},
  {"needs",
   "{swing} of the tone, from a headphone output or one side of "
   "a speaker output; where it is less, make the loop with --track-level 0",
   NULL,
   true},
  {"follows",
   "the tone within 4 ms; no speaker on channel 2, the tone is heard",
   NULL,
   true},
};

static const Line instead_lines[] = {
  {"or else",
   "with a timer chip or a microcontroller of its own: `volleyweave lamp "
   "{lamp.pulse_hz:.6g}/s`",
   NULL,
   true},
};

void
lamp_led_text(const Figures* led, FILE* out) {
  figures_lines(led, LINES(led_lines), out);
}

void
lamp_hold_back_text(const VwBoard* board, bool track, FILE* out) {
  const double   delay_ms = board->delay_ms;
  Figures* const told = figures_new();
  figures_set(told, "board", board->name);
  figures_set(told, "hold_back_ms", delay_ms > 0.0 ? delay_ms : (double)NAN);
  figures_set(told, "track", track);
  figures_lines(told, LINES(hold_back_lines), out);
  figures_free(told);
}

static void
drift(const Figures* all, FILE* out) {
  const double half_ms = 0.5 * figures_get(all, "lamp.period_ms").number;
  fprintf(out,
          "Drift: until light and sound are 45 ms apart (Rec. ITU-R "
          "BT.1359-1)\n");
  const Figures* const list = figures_at(all, "drift");
  const Figures*       of = NULL;
  for (size_t i = 0; (of = figures_entry(list, i)); ++i) {
    const char* const words = figures_get(of, "words").text;
    const double      error = figures_get(of, "error").number;
    const Figure      apart = figures_get(of, "seconds_to_45_ms");
    if (!(error > 0.0)) {
      line_print(out, words, "never, the sound itself switches it");
    } else if (apart.kind == FIGURE_NONE) {
      line_print(out,
                 words,
                 "%.3g %% off: out of step in %.3g s, never more than %.1f ms",
                 100.0 * error,
                 half_ms / 1000.0 / error,
                 half_ms);
    } else {
      line_print(
        out, words, "%.3g %% off: %.3g s", 100.0 * error, apart.number);
    }
  }
  line_wrap(
    out,
    "cure",
    "start the lamp anew with each pull of the trigger: a timer chip as "
    "said above, a microcontroller by its program");
}

static void
brightness(const LampReport* report, FILE* out) {
  if (!report->n_steps) {
    return;
  }
  fprintf(out,
          "Brightness over the period, %zu steps, gamma %.4g, after %s\n",
          report->n_steps,
          report->settings->lamp.gamma,
          report->source == LAMP_FROM_LOOP ? "the shots' loudness"
                                           : "a fall by 12 dB in the on-time");
  for (size_t i = 0; i < report->n_steps; ++i) {
    const bool last = i + 1U == report->n_steps;
    const bool end = last || i % STEPS_IN_LINE == STEPS_IN_LINE - 1U;
    fprintf(out,
            "%s%4d%s",
            i % STEPS_IN_LINE ? "" : "  ",
            report->steps[i],
            end ? "\n" : "");
  }
}

void
lamp_text(const LampReport* report, FILE* out) {
  Figures* const       all = lamp_told(report);
  const Figures* const timer = figures_at(all, "timer");
  figures_lines(all, LINES(source_lines), out);
  if (report->settings->has_board) {
    lamp_hold_back_text(
      &report->settings->board, report->track.pulses != 0, out);
  }
  if (report->track.pulses) {
    figures_lines(figures_at(all, "track"), LINES(track_lines), out);
    figures_lines(all, LINES(instead_lines), out);
  } else {
    figures_lines(timer, LINES(part_lines), out);
    lamp_led_text(figures_at(timer, "led"), out);
    figures_lines(timer, LINES(timer_lines), out);
    figures_lines(all, LINES(controller_lines), out);
    drift(all, out);
  }
  brightness(report, out);
  caution_lines(lamp_cautions(report), out);
  figures_free(all);
}
