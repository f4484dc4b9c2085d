#include "cli/lamp/lamp_plot_track.h"

#include "cli/lamp/symbols.h"
#include "cli/message/text.h"
#include "lamp/lamp.h"

// Rails, and the height at which the tone goes from part to part.
#define TOP 70.0
#define TONE 230.0
#define GROUND 330.0

// From left to right: channel 2, behind C1, behind D, R2, base, collector.
#define INPUT 60.0
#define CLAMP 170.0
#define STORE 270.0
#define LEAK 360.0
#define BASE 450.0
#define COLLECTOR 478.0
#define REACH 35.0

// Between the LED and its resistor.
#define BELOW_LED 128.0

/// From channel 2 to the voltage across C2.
static void
draw_detector(Sheet* sheet) {
  symbol_label(
    sheet, (VwPoint){INPUT, TONE - 8.0}, VW_ALIGN_MIDDLE, "channel 2");
  symbol_dot(sheet, (VwPoint){INPUT, TONE});
  symbol_capacitor(sheet, (VwPoint){INPUT, TONE}, (VwPoint){CLAMP, TONE});
  symbol_label(
    sheet, (VwPoint){115.0, TONE - 18.0}, VW_ALIGN_MIDDLE, "C1 1 uF");
  symbol_dot(sheet, (VwPoint){CLAMP, TONE});
  symbol_diode(sheet, (VwPoint){CLAMP, GROUND}, (VwPoint){CLAMP, TONE});
  symbol_label(sheet, (VwPoint){CLAMP - 14.0, 284.0}, VW_ALIGN_RIGHT, "D1");
  symbol_diode(sheet, (VwPoint){CLAMP, TONE}, (VwPoint){STORE, TONE});
  symbol_label(sheet, (VwPoint){220.0, TONE - 14.0}, VW_ALIGN_MIDDLE, "D2");
  symbol_dot(sheet, (VwPoint){STORE, TONE});
  symbol_capacitor(sheet, (VwPoint){STORE, TONE}, (VwPoint){STORE, GROUND});
  symbol_label(sheet, (VwPoint){STORE + 18.0, 284.0}, VW_ALIGN_LEFT, "C2 1 uF");
}

/// From there to the transistor.
static void
draw_base(Sheet* sheet) {
  symbol_wire(sheet, (VwPoint){STORE, TONE}, (VwPoint){LEAK, TONE});
  symbol_dot(sheet, (VwPoint){LEAK, TONE});
  symbol_resistor(sheet, (VwPoint){LEAK, TONE}, (VwPoint){LEAK, GROUND});
  symbol_label(
    sheet, (VwPoint){LEAK + 14.0, 284.0}, VW_ALIGN_LEFT, "R2 10 kohm");
  symbol_resistor(sheet, (VwPoint){LEAK, TONE}, (VwPoint){BASE, TONE});
  symbol_label(
    sheet, (VwPoint){405.0, TONE - 14.0}, VW_ALIGN_MIDDLE, "R1 4.7 kohm");
  symbol_transistor(sheet, (VwPoint){BASE, TONE});
  symbol_label(
    sheet, (VwPoint){COLLECTOR + 12.0, TONE + 4.0}, VW_ALIGN_LEFT, "T");
  symbol_wire(
    sheet, (VwPoint){COLLECTOR, TONE + REACH}, (VwPoint){COLLECTOR, GROUND});
}

/// From the supply to the collector.
static void
draw_lamp(const LampReport* report, Sheet* sheet) {
  VwLed led = {0};
  char  ohm[40];
  symbol_wire(
    sheet, (VwPoint){COLLECTOR - 20.0, TOP}, (VwPoint){COLLECTOR + 20.0, TOP});
  symbol_label_made(sheet,
                    (VwPoint){COLLECTOR, TOP - 6.0},
                    VW_ALIGN_MIDDLE,
                    text_format("+%.4g V", report->settings->lamp.supply_v));
  symbol_diode(
    sheet, (VwPoint){COLLECTOR, TOP}, (VwPoint){COLLECTOR, BELOW_LED});
  symbol_label(sheet,
               (VwPoint){COLLECTOR + 14.0, (TOP + BELOW_LED) / 2.0 + 4.0},
               VW_ALIGN_LEFT,
               "LED");
  symbol_resistor(
    sheet, (VwPoint){COLLECTOR, BELOW_LED}, (VwPoint){COLLECTOR, TONE - REACH});
  symbol_label_made(
    sheet,
    (VwPoint){COLLECTOR + 14.0, (BELOW_LED + TONE - REACH) / 2.0 + 4.0},
    VW_ALIGN_LEFT,
    lamp_track_led(report, &led)
      ? text_format("R")
      : text_format("R %s", lamp_ohm(ohm, led.next_ohm)));
}

void
lamp_plot_track(const LampReport* report, Sheet* sheet) {
  draw_detector(sheet);
  draw_base(sheet);
  draw_lamp(report, sheet);
  symbol_wire(sheet, (VwPoint){INPUT, GROUND}, (VwPoint){COLLECTOR, GROUND});
  symbol_label(sheet, (VwPoint){INPUT, GROUND + 14.0}, VW_ALIGN_MIDDLE, "0 V");
  symbol_dot(sheet, (VwPoint){CLAMP, GROUND});
  symbol_dot(sheet, (VwPoint){STORE, GROUND});
  symbol_dot(sheet, (VwPoint){LEAK, GROUND});
}

char*
lamp_plot_track_words(const LampReport* report) {
  return text_format(
    "The loop's track switches it: channel 2, %.0f Hz, 3 V from peak to peak. "
    "D1, D2: small Schottky diodes. T: a small NPN transistor with a gain of "
    "%.0f or more at %.3g mA. No speaker on channel 2: the tone is heard.",
    report->track.tone_hz,
    lamp_track_gain(report),
    1000.0 * report->settings->lamp.led_current_a);
}
