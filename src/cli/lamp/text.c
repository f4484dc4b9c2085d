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
   "{verbose?{found.fire_rate_per_s:.6g}}{!verbose?{found.fire_rate_per_s:r}} "
   "per second",
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
   "in{!found.gap_known?, from the distances of the shots: give "
   "--board or --gap for another}",
   "gap",
   true},
  {"read as",
   "a recording of rapid fire: {found.shots} shots, even to "
   "{found.jitter_ms:.1f} ms; the rate is known to "
   "{found.uncertainty_per_s:.2g} per second (95 %)",
   "recording"},
  {"heard",
   "{heard.fire_rate_per_s:r} per second: {board_name} plays whole frames"
   "{verbose?, {heard.shots} shot{heard.shots:s} in {heard.frames} of "
   "{heard.sample_rate_hz} Hz}{heard_gap_ms? and {heard_gap_ms:.1f} ms of gap}",
   "heard",
   true},
  {"flashes",
   "{verbose?{lamp.pulse_hz:.6g}}{!verbose?{lamp.pulse_hz:r}} per second"
   "{lamp.uneven? on average}{!lamp.uneven?, one every "
   "{verbose?{lamp.period_ms:.3f}}{!verbose?{lamp.period_ms:.1f}} ms}"},
  {"uneven", LAMP_UNEVEN, "lamp.uneven", true},
  {"on-time",
   "{lamp.on_ms:.1f} ms, a duty cycle of {lamp.duty:%}"
   "{cut !verbose?, the most: --duty gives more}"
   "{usual !verbose?: chosen, as a rate was given. A loop has its own, up to "
   "50 ms: give the loop's file for it}",
   NULL,
   true},
  {"because", "{because}", "verbose", true},
  {"",
   "(the shots are loud for {lamp.shot_near_ms:.1f} ms)",
   "verbose lamp.shot_near_ms"},
  {"note",
   "a board plays whole frames and may have a gap{usual?, and a loop of yours "
   "may get up to 50 ms}: give --board, or the loop instead of its rate",
   "verbose rate !heard",
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
  {NULL,
   "Timer chip (555): {chip_name}, at {supply_v:.4g} V"
   "{bipolar_v? (a bipolar one needs {bipolar_v:.4g} V)}, "
   "{diode?a diode across RB}{!diode?two resistors}"},
  {"no diode", "{no_diode.message}", "no_diode", true},
  {"C", "{c}, +-{capacitor_tolerance:%}; C5 {c_pin_5}; C8 {c_pin_8}"},
  {"resistors",
   "RA {trims_ra?{fixed}}{!trims_ra?{plain}}, RB "
   "{trims_ra?{plain}}{!trims_ra?{fixed}}, +-{resistor_tolerance:%}; P, a "
   "trimmer of {whole}"},
  {"D",
   "a {diode_name} diode, {diode_drop_v:.4g} V at 1 mA{verbose? (0.693 RA C, "
   "the formula without its drop, gives {textbook_on_ms:.1f} ms)}",
   "diode",
   true},
};

static const Line led_lines[] = {
  {"R",
   "none: {error.message}{enough_v? (at {enough_v:.3g} V it works)}",
   "error",
   true},
  {"T",
   "{part} for {wished_ma:.4g} mA, gain "
   "{gain_least:.0f} or more; RC {base}{verbose?: the output alone "
   "{low_left?may lose {output_worst_v:.4g} V, so that R has less than 1 V}"
   "{!low_left?does not give so much} (by a data sheet{!read?, from "
   "memory})}",
   "!error transistor",
   true},
  {"R",
   "{next}, {rating}, in line with the LED, for {least_ma:.4g} to "
   "{current_ma:.4g} mA{verbose?: "
   "{supply_v:.4g} V less {n_leds} x {forward_v:.4g} V of the LED{n_leds:s} "
   "and {driver_drop_v:.3g} to {driver_drop_worst_v:.3g} V in "
   "{transistor?T}{!transistor?the output, as stated for {output_ma:.3g} "
   "mA{stated_v? at {stated_v:.3g} V}}}",
   "!error",
   true},
};

// Which leg is which: common practice. Pin 4: LM555 data sheet SNAS548D, 5:
// resets when low, to the supply when not used. Its current, 1.5 mA at most
// when low, and that it resets below 0.3 V: NE555, from memory; so a resistor
// would hold it too high.
static const Line timer_lines[] = {
  {"makes",
   "{rate_hz.middle:.4g} per second, on for {on_ms.middle:.1f} ms",
   "verbose"},
  {"untrimmed",
   "{rate_hz.least:.2g} to {rate_hz.most:.2g} per second, on for "
   "{on_ms.least:.0f} to {on_ms.most:.0f} ms: all tolerances, of the supply "
   "too ({supply_tolerance:%}){diode?, D ({diode_tolerance_v:.2f} V)} and the "
   "chip ({chip_percent:.3g} %{typical?, "
   "typical})",
   "verbose",
   true},
  {"trimmed",
   "{rate_sure_hz.least:.3g} to {rate_sure_hz.most:.3g} per second are reached "
   "whatever the tolerances",
   "verbose"},
  {"0 to 40 C",
   "{rate_0_to_40_c_hz.least:.3g} to {rate_0_to_40_c_hz.most:.3g} per second, "
   "on for {on_0_to_40_c_ms.least:.0f} to {on_0_to_40_c_ms.most:.0f} ms",
   "verbose"},
  {"drawn", "with --plot, as in --plot lamp.svg", "verbose !drawn"},
  {"pins 1, 2", "pin 1 to 0 V; pin 2 to pin 6"},
  {"pin 3",
   "RC, to T's base; T's emitter to 0 V, its collector through R to the "
   "LED's short lead; its long lead, the anode, to +Vcc",
   "!led.error led.transistor",
   true},
  {"pin 3",
   "R, then the LED's {low?short lead; its long lead, the anode, to +Vcc}"
   "{!low?long lead, the anode; its short lead to 0 V}",
   "!led.error !led.transistor"},
  {"LEDs",
   "in series, the short lead of each to the long lead of the next",
   "!led.error led.several"},
  {"pins 4, 5", "pin 4 to +Vcc; pin 5 through C5 to 0 V"},
  {"pin 6", "C, to 0 V{diode?; D's end with the ring, its cathode}"},
  {"pin 7",
   "{trims_ra?RA, then P, to +Vcc; RB, to pin 6}"
   "{!trims_ra?RA, to +Vcc; RB, then P, to pin 6}{diode?; D's end without "
   "ring}"},
  {"pin 8", "+Vcc; C8, to 0 V, {c_pin_8_place}"},
  {"P",
   "before it is soldered in, join its wiper, the middle pin, to an outer pin "
   "and set {set} between the joined pins and the free one, by ohmmeter; "
   "then film 10 s at 60 frames/s or more, and turn it until "
   "{flashes_10_s:.0f} flashes are seen: more ohms, fewer flashes{verbose?. Or "
   "until a multimeter's Hz range, if it goes so low, shows "
   "{rate_range_hz.middle:.3g} at pin 3}",
   NULL,
   true},
  {"trigger",
   "a contact that closes as you pull goes into the wire from the battery to "
   "+Vcc, if it switches nothing else{verbose?. "
   "{low?The first flash comes {first_high_ms:.0f} ms after that}"
   "{!low?The first flash lasts {first_high_ms:.0f} ms, and all others come "
   "{later_ms:.0f} ms later for that}}",
   NULL,
   true},
  {"",
   "for a contact that opens, +Vcc stays on: cut pin 4 (reset, active low) "
   "from it, and put {r_pin_4} from pin 4 to +Vcc and the contact, with "
   "nothing else, from pin 4 to 0 V",
   "verbose !low",
   true},
  {"", "never at pin 4: this one is lit while it is reset", "low", true},
  {"or else",
   "--wiring two-resistors, without a diode{hang?; the LED then goes from "
   "+Vcc to the output, without a transistor}",
   "verbose diode",
   true},
  {"or else",
   "--wiring diode, with which a transistor can switch the LED",
   "!diode led.error !no_diode",
   true},
};

static const Line controller_lines[] = {
  {NULL, "Microcontroller", "verbose"},
  {"{verbose?times}{!verbose?controller}",
   "{!verbose?instead of the chip: }period {microcontroller.period_us} "
   "us"
   "{lamp.uneven?, but {microcontroller.last_us} us behind the last of every "
   "{lamp.uneven.shots} flashes}, on-time {microcontroller.on_us} us",
   NULL,
   true},
  {"counts", "with --clock, as in --clock 12MHz", "verbose !clocked"},
  {"counts", "{microcontroller.error.message}", "microcontroller.error", true},
  {"counts",
   "prescaler {microcontroller.counts.prescaler}, period "
   "{microcontroller.counts.period_counts}{lamp.uneven?, then "
   "{microcontroller.counts.last_counts}}, on "
   "{microcontroller.counts.on_counts} (top register: {lamp.uneven?one less}"
   "{!lamp.uneven?{top}})",
   "microcontroller.counts",
   true},
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
   "{t} with a gain of {gain:.0f} or more at {led_ma:.4g} mA",
   "!led.error"},
  {"R",
   "none: T switches {most_ma:.4g} mA at most, and R needs 1 V of the supply",
   "led.error"},
  {"R",
   "{led.next}, {led.rating}, for {led.least_ma:.4g} to "
   "{led.current_ma:.4g} mA: {led.n_leds} x {led.forward_v:.4g} V at "
   "{led.supply_v:.4g} V",
   "!led.error"},
  {"channel 2", "C1"},
  {"behind C1", "D1's end with the ring, its cathode; D2's other"},
  {"D2's ring", "C2, R2, R1"},
  {"behind R1", "T's base"},
  {"collector",
   "R, then the LED's short lead; its long lead, the anode, to +Vcc"},
  {"0 V", "D1's other end, C2, R2, T's emitter, the board's 0 V"},
  {"needs",
   "{swing} of the tone, from a headphone output or one side of "
   "a speaker output; if it is less, make the loop with "
   "--track-level 0",
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
   "{lamp.pulse_hz:r}/s`",
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

/// How long light and sound stay together, and what keeps them so.
static const Line drift_line[] = {
  {"drift",
   "after {seconds_to_45_ms:.3g} s the lamp is 45 ms off: restart it with each "
   "pull",
   "seconds_to_45_ms",
   true},
};

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
    "start the lamp again with each pull of the trigger: a timer chip as "
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
  const bool     verbose = report->settings->verbose;
  const unsigned which = lamp_cautions(report) & ~(unsigned)VW_CAUTION_WIRING;
  caution_lines(!verbose && which == VW_CAUTION_LAMP_FLASH ? VW_CAUTION_FLASH
                                                           : which,
                NULL,
                out);
  const bool delayed = report->settings->board.delay_ms > 0.0;
  if (report->settings->has_board && (verbose || delayed)) {
    lamp_hold_back_text(
      &report->settings->board, report->track.pulses != 0, out);
  }
  if (report->track.pulses) {
    figures_lines(figures_at(all, "track"), LINES(track_lines), out);
    figures_lines(all, LINES(instead_lines), out);
    caution_lines(VW_CAUTION_WIRING, NULL, out);
  } else {
    figures_lines(timer, LINES(part_lines), out);
    lamp_led_text(figures_at(timer, "led"), out);
    figures_lines(timer, LINES(timer_lines), out);
    caution_lines(VW_CAUTION_WIRING, NULL, out);
    figures_lines(all, LINES(controller_lines), out);
    if (verbose) {
      drift(all, out);
    } else {
      const Figures* const list = figures_at(all, "drift");
      figures_lines(figures_entry(list, 1), LINES(drift_line), out);
    }
  }
  brightness(report, out);
  figures_free(all);
}
