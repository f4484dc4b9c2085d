// The circuit of a timer, or what is behind a lamp track, as a picture.

#include "cli/lamp/symbols.h"

#include "cli/lamp/lamp.h"
#include "cli/message/figures.h"
#include "cli/plot/plot.h"

#include <stdlib.h>
#include <string.h>

#define WIDTH 640.0
#define MARGIN 8.0
#define TITLE 14.0

// Where the small print begins, and characters of it in a line.
#define PRINT_TOP 363.0
#define COLUMNS 108

#define GROUND 330.0

/* Timer */

// The upper rail, the column of RA, RB and C, and the chip.
#define TOP 60.0
#define LEFT 118.0
#define CHIP_LEFT 270.0
#define CHIP_RIGHT 420.0
#define CHIP_TOP 105.0
#define CHIP_BOTTOM 290.0
#define PIN_7 150.0
#define PIN_6 232.0
#define PIN_2 256.0
#define PIN_3 195.0
#define PIN_8_X 315.0
#define PIN_4_X 375.0

// Between fixed resistor and trimmer, in RA's place and in RB's.
#define HALF_RA 105.0
#define HALF_RB 191.0

// The capacitor beside the chip.
#define NEAR_X 440.0
#define NEAR_END 104.0

// Where the resistor at pin 3 ends, and the LED or its supply.
#define BASE_X 500.0
#define LED_X 560.0

// Where the lower rail has its sign.
#define SIGN_X 200.0

#define LEDS "{led.several?{led.n_leds} LEDs}{!led.several?LED}"

// Beside the middle of a part in the column.
#define BESIDE(from, to)                                                       \
  { LEFT - 18.0, ((from) + (to)) / 2.0 + 4.0 }

static const Symbol timer_symbols[] = {
  // Rails, with dots where wires meet them but for corners.
  {SYMBOL_SWITCH, {20.0, TOP}, {100.0, TOP}},
  {SYMBOL_WIRE, {100.0, TOP}, {NEAR_X, TOP}},
  {SYMBOL_WIRE, {NEAR_X, TOP}, {LED_X, TOP}, "above"},
  {SYMBOL_WIRE, {60.0, GROUND}, {PIN_4_X, GROUND}},
  {SYMBOL_WIRE, {PIN_4_X, GROUND}, {LED_X, GROUND}, "below"},
  {SYMBOL_DOT, {LEFT, TOP}},
  {SYMBOL_DOT, {PIN_8_X, TOP}},
  {SYMBOL_DOT, {PIN_4_X, TOP}},
  {SYMBOL_DOT, {LEFT, GROUND}},
  {SYMBOL_DOT, {SIGN_X, GROUND}},
  {SYMBOL_DOT, {PIN_8_X, GROUND}},
  {SYMBOL_DOT, {NEAR_X, TOP}, .when = "above"},
  {SYMBOL_DOT, {PIN_4_X, GROUND}, .when = "below"},
  {SYMBOL_GROUND, {SIGN_X, GROUND}},
  // What charges the capacitor.
  {SYMBOL_WIRE, {LEFT, PIN_7}, {CHIP_LEFT, PIN_7}},
  {SYMBOL_WIRE, {LEFT, PIN_6}, {CHIP_LEFT, PIN_6}},
  {SYMBOL_WIRE, {250.0, PIN_6}, {250.0, PIN_2}},
  {SYMBOL_WIRE, {250.0, PIN_2}, {CHIP_LEFT, PIN_2}},
  {SYMBOL_TRIMMER, {LEFT, TOP}, {LEFT, HALF_RA}, "trims_ra"},
  {SYMBOL_RESISTOR, {LEFT, HALF_RA}, {LEFT, PIN_7}, "trims_ra"},
  {SYMBOL_RESISTOR, {LEFT, PIN_7}, {LEFT, PIN_6}, "trims_ra"},
  {SYMBOL_RESISTOR, {LEFT, TOP}, {LEFT, PIN_7}, "!trims_ra"},
  {SYMBOL_RESISTOR, {LEFT, PIN_7}, {LEFT, HALF_RB}, "!trims_ra"},
  {SYMBOL_TRIMMER, {LEFT, HALF_RB}, {LEFT, PIN_6}, "!trims_ra"},
  {SYMBOL_DOT, {LEFT + SYMBOL_WIPER, PIN_6}, .when = "!trims_ra"},
  {SYMBOL_CAPACITOR, {LEFT, PIN_6}, {LEFT, GROUND}},
  {SYMBOL_DOT, {LEFT, PIN_7}},
  {SYMBOL_DOT, {LEFT, PIN_6}},
  {SYMBOL_DOT, {250.0, PIN_6}},
  {SYMBOL_DIODE, {170.0, PIN_7}, {170.0, PIN_6}, "diode"},
  {SYMBOL_DOT, {170.0, PIN_7}, .when = "diode"},
  {SYMBOL_DOT, {170.0, PIN_6}, .when = "diode"},
  // The chip.
  {SYMBOL_FRAME, {CHIP_LEFT, CHIP_TOP}, {CHIP_RIGHT, CHIP_BOTTOM}},
  {SYMBOL_WIRE, {PIN_8_X, TOP}, {PIN_8_X, CHIP_TOP}},
  {SYMBOL_WIRE, {PIN_4_X, TOP}, {PIN_4_X, CHIP_TOP}},
  {SYMBOL_WIRE, {PIN_8_X, CHIP_BOTTOM}, {PIN_8_X, GROUND}},
  {SYMBOL_CAPACITOR, {PIN_4_X, CHIP_BOTTOM}, {PIN_4_X, GROUND}},
  {SYMBOL_CAPACITOR, {NEAR_X, TOP}, {NEAR_X, NEAR_END}},
  {SYMBOL_GROUND, {NEAR_X, NEAR_END}},
  // The lamp.
  {SYMBOL_RESISTOR, {CHIP_RIGHT, PIN_3}, {BASE_X, PIN_3}},
  {SYMBOL_DIODE, {LED_X, PIN_3}, {BASE_X, PIN_3}, "hangs"},
  {SYMBOL_DIODE, {BASE_X, PIN_3}, {LED_X, PIN_3}, "stands"},
  {SYMBOL_WIRE, {LED_X, PIN_3}, {LED_X, TOP}, "hangs"},
  {SYMBOL_WIRE, {LED_X, PIN_3}, {LED_X, GROUND}, "stands"},
  {SYMBOL_TRANSISTOR, {LED_X - 28.0, PIN_3}, .when = "led.transistor"},
  {SYMBOL_WIRE, {BASE_X, PIN_3}, {LED_X - 28.0, PIN_3}, "led.transistor"},
  {SYMBOL_DIODE, {LED_X, TOP}, {LED_X, 112.0}, "led.transistor"},
  {SYMBOL_RESISTOR, {LED_X, 112.0}, {LED_X, PIN_3 - 35.0}, "led.transistor"},
  {SYMBOL_WIRE, {LED_X, PIN_3 + 35.0}, {LED_X, GROUND}, "led.transistor"},
};

static const Label timer_labels[] = {
  {{20.0, TOP - 12.0}, "+{supply_v:.4g} V"},
  {{74.0, TOP - 12.0}, "trigger"},
  {{60.0, GROUND + 14.0}, "0 V"},
  {{182.0, 195.0}, "D", VW_ALIGN_LEFT, "diode"},
  {{182.0, 206.0}, "{diode_name}", VW_ALIGN_LEFT, "diode", LETTERS_SMALL},
  {{345.0, 190.0}, "555", VW_ALIGN_MIDDLE},
  {{345.0, 206.0}, "{chip_name}", VW_ALIGN_MIDDLE},
  {{CHIP_LEFT + 4.0, PIN_7 + 3.0}, "7", VW_ALIGN_LEFT, NULL, LETTERS_SMALL},
  {{CHIP_LEFT + 4.0, PIN_6 + 3.0}, "6", VW_ALIGN_LEFT, NULL, LETTERS_SMALL},
  {{CHIP_LEFT + 4.0, PIN_2 + 3.0}, "2", VW_ALIGN_LEFT, NULL, LETTERS_SMALL},
  {{CHIP_RIGHT - 4.0, PIN_3 + 3.0}, "3", VW_ALIGN_RIGHT, NULL, LETTERS_SMALL},
  {{PIN_8_X, CHIP_TOP + 12.0}, "8", VW_ALIGN_MIDDLE, NULL, LETTERS_SMALL},
  {{PIN_4_X, CHIP_TOP + 12.0}, "4", VW_ALIGN_MIDDLE, NULL, LETTERS_SMALL},
  {{PIN_8_X, CHIP_BOTTOM - 5.0}, "1", VW_ALIGN_MIDDLE, NULL, LETTERS_SMALL},
  {{PIN_4_X, CHIP_BOTTOM - 5.0}, "5", VW_ALIGN_MIDDLE, NULL, LETTERS_SMALL},
  {{PIN_4_X + 18.0, 315.0}, "C5 {c_pin_5}"},
  {{NEAR_X + 18.0, 86.0}, "C8 {c_pin_8}"},
  {{NEAR_X + 18.0, NEAR_END + 8.0}, "0 V"},
  {{530.0, PIN_3 - 12.0}, LEDS, VW_ALIGN_MIDDLE, "!led.transistor"},
  {{460.0, PIN_3 - 12.0}, "{led.next}", VW_ALIGN_MIDDLE, "!led.transistor"},
  {{460.0, PIN_3 - 12.0}, "RC {led.base}", VW_ALIGN_MIDDLE, "led.transistor"},
  {{LED_X + 14.0, 90.0}, LEDS, VW_ALIGN_LEFT, "led.transistor"},
  {{LED_X + 14.0, 140.0}, "{led.next}", VW_ALIGN_LEFT, "led.transistor"},
  {{LED_X + 12.0, PIN_3 + 4.0}, "T", VW_ALIGN_LEFT, "led.transistor"},
  {BESIDE(HALF_RA, PIN_7), "RA {fixed}", VW_ALIGN_RIGHT, "trims_ra"},
  {BESIDE(TOP, PIN_7), "RA {plain}", VW_ALIGN_RIGHT, "!trims_ra"},
  {BESIDE(PIN_7, PIN_6), "RB {plain}", VW_ALIGN_RIGHT, "trims_ra"},
  {BESIDE(PIN_7, HALF_RB), "RB {fixed}", VW_ALIGN_RIGHT, "!trims_ra"},
  {BESIDE(TOP, HALF_RA), "P {whole}", VW_ALIGN_RIGHT, "trims_ra"},
  {BESIDE(HALF_RB, PIN_6), "P {whole}", VW_ALIGN_RIGHT, "!trims_ra"},
  {BESIDE(PIN_6, GROUND), "C {c}", VW_ALIGN_RIGHT},
};

/* Track */

// The upper rail, and the height at which the tone goes from part to part.
#define LAMP_TOP 70.0
#define TONE 230.0

// From left to right: channel 2, behind C1, behind D2, R2, base, collector.
#define INPUT 60.0
#define CLAMP 170.0
#define STORE 270.0
#define LEAK 360.0
#define BASE 450.0
#define COLLECTOR 478.0
#define REACH 35.0

// Between the LED and its resistor.
#define BELOW_LED 128.0

// Beside the middle of a part above the collector.
#define ABOVE(from, to)                                                        \
  { COLLECTOR + 14.0, ((from) + (to)) / 2.0 + 4.0 }

static const Symbol track_symbols[] = {
  // From channel 2 to the voltage across C2.
  {SYMBOL_DOT, {INPUT, TONE}},
  {SYMBOL_CAPACITOR, {INPUT, TONE}, {CLAMP, TONE}},
  {SYMBOL_DOT, {CLAMP, TONE}},
  {SYMBOL_DIODE, {CLAMP, GROUND}, {CLAMP, TONE}},
  {SYMBOL_DIODE, {CLAMP, TONE}, {STORE, TONE}},
  {SYMBOL_DOT, {STORE, TONE}},
  {SYMBOL_CAPACITOR, {STORE, TONE}, {STORE, GROUND}},
  // From there to the transistor.
  {SYMBOL_WIRE, {STORE, TONE}, {LEAK, TONE}},
  {SYMBOL_DOT, {LEAK, TONE}},
  {SYMBOL_RESISTOR, {LEAK, TONE}, {LEAK, GROUND}},
  {SYMBOL_RESISTOR, {LEAK, TONE}, {BASE, TONE}},
  {SYMBOL_TRANSISTOR, {BASE, TONE}},
  {SYMBOL_WIRE, {COLLECTOR, TONE + REACH}, {COLLECTOR, GROUND}},
  // From the supply to the collector.
  {SYMBOL_WIRE, {COLLECTOR - 20.0, LAMP_TOP}, {COLLECTOR + 20.0, LAMP_TOP}},
  {SYMBOL_DIODE, {COLLECTOR, LAMP_TOP}, {COLLECTOR, BELOW_LED}},
  {SYMBOL_RESISTOR, {COLLECTOR, BELOW_LED}, {COLLECTOR, TONE - REACH}},
  // The lower rail.
  {SYMBOL_WIRE, {INPUT, GROUND}, {COLLECTOR, GROUND}},
  {SYMBOL_DOT, {CLAMP, GROUND}},
  {SYMBOL_DOT, {STORE, GROUND}},
  {SYMBOL_DOT, {LEAK, GROUND}},
};

static const Label track_labels[] = {
  {{INPUT, TONE - 8.0}, "channel 2", VW_ALIGN_MIDDLE},
  {{115.0, TONE - 18.0}, "C1 {c1_c2}", VW_ALIGN_MIDDLE},
  {{CLAMP - 14.0, 284.0}, "D1", VW_ALIGN_RIGHT},
  {{220.0, TONE - 14.0}, "D2", VW_ALIGN_MIDDLE},
  {{STORE + 18.0, 284.0}, "C2 {c1_c2}"},
  {{LEAK + 14.0, 284.0}, "R2 {r2}"},
  {{405.0, TONE - 14.0}, "R1 {r1}", VW_ALIGN_MIDDLE},
  {{COLLECTOR + 12.0, TONE + 4.0}, "T"},
  {{COLLECTOR, LAMP_TOP - 6.0}, "+{led.supply_v:.4g} V", VW_ALIGN_MIDDLE},
  {ABOVE(LAMP_TOP, BELOW_LED), LEDS},
  {ABOVE(BELOW_LED, TONE - REACH), "R{!led.error? {led.next}}"},
  {{INPUT, GROUND + 14.0}, "0 V", VW_ALIGN_MIDDLE},
};

/* Notes */

/// What stands below, in the figures of timer or track; NULL ends it.
static const char* const timer_notes[] = {
  "P: a trimmer, set to {set} with an ohmmeter between its middle pin and the "
  "outer one not joined to it, before it is soldered in. These parts make "
  "{rate_hz.middle:.4g} per second, on for {on_ms.middle:.1f} ms. C8: "
  "{c_pin_8_place}.",
  "{diode?D: a {diode_name} diode; the ring marks its cathode, toward pins 2 "
  "and 6. }LED: the long lead is its anode, toward "
  "{above?+Vcc}{!above?the resistor}; its resistor stands {led.rating}. "
  "{led.transistor?T: {led.part} for "
  "{led.wished_ma:.4g} mA, gain {led.gain_least:.0f} or more. }Trigger: a "
  "contact that closes and switches nothing else"
  "{low?; never at pin 4: this one is lit while it is reset}"
  "{!low?; for one that opens, a wire in its place, {r_pin_4} from pin 4 to "
  "+Vcc instead of the wire there, and the contact from pin 4 to 0 V}.",
  NULL};

static const char* const track_notes[] = {
  "The loop's track switches it: channel 2, {tone_hz:.0f} Hz, {swing}. "
  "D1, D2: {d1_d2}. T: {t} with a gain of "
  "{gain:.0f} or more at {led_ma:.4g} mA. No speaker on channel 2: the tone "
  "is heard.",
  NULL};

/// A picture as it is drawn.
typedef struct {
  Sheet  sheet;
  double y;     ///< Where the next line of small print goes.
  char*  notes; ///< All of them in one text. Owned; NULL without memory.
} Drawing;

/// Write a line that has no figures in it; NULL where memory ran out.
static void
put_line(Sheet* sheet, double y, double size, const char* line) {
  const Label label = {{20.0, y}, line, VW_ALIGN_LEFT, NULL, size};
  if (line) {
    labels_write(sheet, NULL, &label, 1U);
  }
  sheet->full |= !line;
}

/// Add a note: small print in lines, and words for who cannot see it. Frees
/// `note`.
static void
add_note(Drawing* drawing, char* note) {
  const char* at = note;
  drawing->y += 3.0;
  while (at && *at) {
    int n = (int)strlen(at);
    if (n > COLUMNS) {
      n = COLUMNS;
      while (n > 1 && at[n] != ' ') {
        --n;
      }
    }
    char* const line = text_format("%.*s", n, at);
    put_line(&drawing->sheet, drawing->y, LETTERS_SMALL, line);
    free(line);
    drawing->y += LETTERS_SMALL + 3.0;
    at += n + (at[n] == ' ' ? 1 : 0);
  }
  drawing->notes = text_more(drawing->notes, " ", "%s", note ? note : "");
  drawing->sheet.full |= !note;
  free(note);
}

VwStatus
lamp_plot(const LampReport* report, const char* path, VwBytes* bytes) {
  Figures* const       all = lamp_told(report);
  const bool           track = report->track.pulses != 0;
  const Figures* const of = figures_at(all, track ? "track" : "timer");
  char* const          title =
    text_format("A lamp that flashes %.6g times a second, on for %.1f ms",
                report->lamp.pulse_hz,
                track ? report->track.on_ms : report->lamp.on_ms);
  if (figures_hold(of, "led.error")) {
    // What is drawn without a resistor would be built so.
    free(title);
    figures_free(all);
    return track ? VW_LED_CURRENT : report->timer.led.status;
  }
  const char* const* note = track ? track_notes : timer_notes;
  const VwCaution*   caution = NULL;
  Drawing            drawing = {.y = PRINT_TOP};
  if (track) {
    symbols_draw(&drawing.sheet, of, LINES(track_symbols));
    labels_write(&drawing.sheet, of, LINES(track_labels));
  } else {
    symbols_draw(&drawing.sheet, of, LINES(timer_symbols));
    labels_write(&drawing.sheet, of, LINES(timer_labels));
  }
  put_line(&drawing.sheet, 26.0, TITLE, title);
  if (!track && report->beat.shots > 1U) {
    add_note(&drawing, figures_words(all, "Uneven: " LAMP_UNEVEN "."));
  }
  for (; *note; ++note) {
    add_note(&drawing, figures_words(of, *note));
  }
  for (size_t i = 0; (caution = vw_caution(lamp_cautions(report), i)); ++i) {
    add_note(&drawing, text_format("CAUTION: %s.", caution->text));
  }
  const VwPicture picture = {WIDTH,
                             drawing.y + MARGIN,
                             title,
                             drawing.notes,
                             drawing.sheet.shapes,
                             drawing.sheet.n_shapes};
  const VwStatus  st = drawing.sheet.full || !drawing.notes
                         ? VW_NO_MEMORY
                         : vw_picture_draw(&picture, plot_format(path), bytes);
  sheet_clear(&drawing.sheet);
  free(drawing.notes);
  free(title);
  figures_free(all);
  return st;
}
