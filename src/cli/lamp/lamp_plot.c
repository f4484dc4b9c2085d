// The circuit of a timer, or what is behind a lamp track, as a picture.

#include "cli/lamp/lamp_plot_track.h"
#include "cli/lamp/lamp_report.h"
#include "cli/lamp/symbols.h"
#include "cli/message/text.h"
#include "cli/plot/plot.h"
#include "lamp/lamp.h"

#include <stdlib.h>
#include <string.h>

#define WIDTH 640.0
#define MARGIN 8.0

#define SMALL 9.0
#define TITLE 14.0

// Rails, the column of RA, RB and C, and the chip.
#define TOP 60.0
#define GROUND 330.0
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

// Where the lower rail has its sign.
#define SIGN_X 200.0

// Characters of the small print in a line.
#define COLUMNS 108

/// A sheet and what is drawn on it.
typedef struct {
  Sheet             sheet;
  const LampReport* report;
  const LampTimer*  timer;
} Plot;

/* Circuit */

static void
pin(Plot* plot, VwPoint at, VwAlign align, const char* number) {
  sheet_text(&plot->sheet, at, (SheetLetters){SMALL, align}, number);
}

static void
chip(Plot* plot) {
  symbol_frame(&plot->sheet,
               (VwPoint){CHIP_LEFT, CHIP_TOP},
               (VwPoint){CHIP_RIGHT, CHIP_BOTTOM});
  symbol_label(&plot->sheet, (VwPoint){345.0, 190.0}, VW_ALIGN_MIDDLE, "555");
  symbol_label(&plot->sheet,
               (VwPoint){345.0, 206.0},
               VW_ALIGN_MIDDLE,
               plot->timer->wish.chip == VW_CHIP_CMOS ? "CMOS" : "bipolar");
  pin(plot, (VwPoint){CHIP_LEFT + 4.0, PIN_7 + 3.0}, VW_ALIGN_LEFT, "7");
  pin(plot, (VwPoint){CHIP_LEFT + 4.0, PIN_6 + 3.0}, VW_ALIGN_LEFT, "6");
  pin(plot, (VwPoint){CHIP_LEFT + 4.0, PIN_2 + 3.0}, VW_ALIGN_LEFT, "2");
  pin(plot, (VwPoint){CHIP_RIGHT - 4.0, PIN_3 + 3.0}, VW_ALIGN_RIGHT, "3");
  pin(plot, (VwPoint){PIN_8_X, CHIP_TOP + 12.0}, VW_ALIGN_MIDDLE, "8");
  pin(plot, (VwPoint){PIN_4_X, CHIP_TOP + 12.0}, VW_ALIGN_MIDDLE, "4");
  pin(plot, (VwPoint){PIN_8_X, CHIP_BOTTOM - 5.0}, VW_ALIGN_MIDDLE, "1");
  pin(plot, (VwPoint){PIN_4_X, CHIP_BOTTOM - 5.0}, VW_ALIGN_MIDDLE, "5");
  symbol_wire(
    &plot->sheet, (VwPoint){PIN_8_X, TOP}, (VwPoint){PIN_8_X, CHIP_TOP});
  symbol_wire(
    &plot->sheet, (VwPoint){PIN_4_X, TOP}, (VwPoint){PIN_4_X, CHIP_TOP});
  symbol_wire(
    &plot->sheet, (VwPoint){PIN_8_X, CHIP_BOTTOM}, (VwPoint){PIN_8_X, GROUND});
  symbol_capacitor(
    &plot->sheet, (VwPoint){PIN_4_X, CHIP_BOTTOM}, (VwPoint){PIN_4_X, GROUND});
  symbol_label(
    &plot->sheet, (VwPoint){PIN_4_X + 18.0, 315.0}, VW_ALIGN_LEFT, "10 nF");
  symbol_capacitor(
    &plot->sheet, (VwPoint){NEAR_X, TOP}, (VwPoint){NEAR_X, NEAR_END});
  symbol_label(
    &plot->sheet, (VwPoint){NEAR_X + 18.0, 86.0}, VW_ALIGN_LEFT, "100 nF");
  symbol_ground(&plot->sheet, (VwPoint){NEAR_X, NEAR_END});
  symbol_label(&plot->sheet,
               (VwPoint){NEAR_X + 18.0, NEAR_END + 8.0},
               VW_ALIGN_LEFT,
               "0 V");
}

static void
charging(Plot* plot) {
  symbol_wire(
    &plot->sheet, (VwPoint){LEFT, PIN_7}, (VwPoint){CHIP_LEFT, PIN_7});
  symbol_wire(
    &plot->sheet, (VwPoint){LEFT, PIN_6}, (VwPoint){CHIP_LEFT, PIN_6});
  symbol_wire(&plot->sheet, (VwPoint){250.0, PIN_6}, (VwPoint){250.0, PIN_2});
  symbol_wire(
    &plot->sheet, (VwPoint){250.0, PIN_2}, (VwPoint){CHIP_LEFT, PIN_2});
  if (plot->timer->timer.trims_ra) {
    symbol_trimmer(
      &plot->sheet, (VwPoint){LEFT, TOP}, (VwPoint){LEFT, HALF_RA});
    symbol_resistor(
      &plot->sheet, (VwPoint){LEFT, HALF_RA}, (VwPoint){LEFT, PIN_7});
    symbol_resistor(
      &plot->sheet, (VwPoint){LEFT, PIN_7}, (VwPoint){LEFT, PIN_6});
  } else {
    symbol_resistor(&plot->sheet, (VwPoint){LEFT, TOP}, (VwPoint){LEFT, PIN_7});
    symbol_resistor(
      &plot->sheet, (VwPoint){LEFT, PIN_7}, (VwPoint){LEFT, HALF_RB});
    symbol_trimmer(
      &plot->sheet, (VwPoint){LEFT, HALF_RB}, (VwPoint){LEFT, PIN_6});
    symbol_dot(&plot->sheet, (VwPoint){LEFT + SYMBOL_WIPER, PIN_6});
  }
  symbol_capacitor(
    &plot->sheet, (VwPoint){LEFT, PIN_6}, (VwPoint){LEFT, GROUND});
  symbol_dot(&plot->sheet, (VwPoint){LEFT, PIN_7});
  symbol_dot(&plot->sheet, (VwPoint){LEFT, PIN_6});
  symbol_dot(&plot->sheet, (VwPoint){250.0, PIN_6});
  if (plot->timer->wish.wiring == VW_WIRING_DIODE) {
    symbol_diode(
      &plot->sheet, (VwPoint){170.0, PIN_7}, (VwPoint){170.0, PIN_6});
    symbol_dot(&plot->sheet, (VwPoint){170.0, PIN_7});
    symbol_dot(&plot->sheet, (VwPoint){170.0, PIN_6});
    symbol_label(&plot->sheet, (VwPoint){182.0, 195.0}, VW_ALIGN_LEFT, "D");
    pin(plot,
        (VwPoint){182.0, 206.0},
        VW_ALIGN_LEFT,
        plot->report->settings->lamp.schottky ? "Schottky" : "small-signal");
  }
}

/// A part's name and value beside the middle of two ends.
static void
value(Plot* plot, double from, double to, char* text) {
  symbol_label_made(&plot->sheet,
                    (VwPoint){LEFT - 18.0, (from + to) / 2.0 + 4.0},
                    VW_ALIGN_RIGHT,
                    text);
}

/// The values beside RA, RB, P and C.
static void
values(Plot* plot) {
  const VwTimer* const timer = &plot->timer->timer;
  const bool           ra = timer->trims_ra;
  char                 plain[40];
  char                 fixed[40];
  char                 whole[40];
  char                 c[40];
  lamp_ohm(plain, timer->plain_ohm);
  lamp_ohm(fixed, timer->fixed_ohm);
  lamp_ohm(whole, timer->trimmer_ohm);
  value(
    plot, ra ? HALF_RA : TOP, PIN_7, text_format("RA %s", ra ? fixed : plain));
  value(plot,
        PIN_7,
        ra ? PIN_6 : HALF_RB,
        text_format("RB %s", ra ? plain : fixed));
  value(
    plot, ra ? TOP : HALF_RB, ra ? HALF_RA : PIN_6, text_format("P %s", whole));
  value(
    plot, PIN_6, GROUND, text_format("C %s", lamp_farad(c, timer->c_farad)));
}

static void
lamp(Plot* plot) {
  const bool   low = plot->timer->timer.lit_while_low;
  const double end_y = low ? TOP : GROUND;
  char         text[40];
  symbol_resistor(
    &plot->sheet, (VwPoint){CHIP_RIGHT, PIN_3}, (VwPoint){500.0, PIN_3});
  if (low) {
    symbol_diode(
      &plot->sheet, (VwPoint){560.0, PIN_3}, (VwPoint){500.0, PIN_3});
  } else {
    symbol_diode(
      &plot->sheet, (VwPoint){500.0, PIN_3}, (VwPoint){560.0, PIN_3});
  }
  symbol_wire(&plot->sheet, (VwPoint){560.0, PIN_3}, (VwPoint){560.0, end_y});
  symbol_label(
    &plot->sheet, (VwPoint){530.0, PIN_3 - 12.0}, VW_ALIGN_MIDDLE, "LED");
  symbol_label(&plot->sheet,
               (VwPoint){460.0, PIN_3 - 12.0},
               VW_ALIGN_MIDDLE,
               plot->timer->led.status
                 ? "R"
                 : lamp_ohm(text, plot->timer->led.led.next_ohm));
}

/// Dots where wires meet the rails, but for corners.
static void
rail_dots(Plot* plot) {
  const bool    low = plot->timer->timer.lit_while_low;
  const VwPoint dots[] = {{LEFT, TOP},
                          {PIN_8_X, TOP},
                          {PIN_4_X, TOP},
                          {LEFT, GROUND},
                          {SIGN_X, GROUND},
                          {PIN_8_X, GROUND},
                          {low ? NEAR_X : PIN_4_X, low ? TOP : GROUND}};
  for (size_t i = 0; i < sizeof(dots) / sizeof(dots[0]); ++i) {
    symbol_dot(&plot->sheet, dots[i]);
  }
}

static void
rails(Plot* plot) {
  const bool low = plot->timer->timer.lit_while_low;
  symbol_wire(
    &plot->sheet, (VwPoint){60.0, TOP}, (VwPoint){low ? 560.0 : NEAR_X, TOP});
  symbol_wire(&plot->sheet,
              (VwPoint){60.0, GROUND},
              (VwPoint){low ? PIN_4_X : 560.0, GROUND});
  rail_dots(plot);
  symbol_ground(&plot->sheet, (VwPoint){SIGN_X, GROUND});
  symbol_label_made(&plot->sheet,
                    (VwPoint){60.0, TOP - 6.0},
                    VW_ALIGN_LEFT,
                    text_format("+%.4g V", plot->timer->wish.supply_v));
  symbol_label(
    &plot->sheet, (VwPoint){60.0, GROUND + 14.0}, VW_ALIGN_LEFT, "0 V");
}

/* Words */

/// Small print in lines; returns where the next one goes.
static double
small_print(Plot* plot, double y, const char* text) {
  while (*text) {
    int n = (int)strlen(text);
    if (n > COLUMNS) {
      n = COLUMNS;
      while (n > 1 && text[n] != ' ') {
        --n;
      }
    }
    char* const line = text_format("%.*s", n, text);
    if (line) {
      sheet_text(&plot->sheet,
                 (VwPoint){20.0, y},
                 (SheetLetters){SMALL, VW_ALIGN_LEFT},
                 line);
    }
    free(line);
    y += SMALL + 3.0;
    text += n + (text[n] == ' ' ? 1 : 0);
  }
  return y;
}

/// All notes in one text. To be freed.
static char*
all_notes(const Plot* plot) {
  char* all = text_format("%s", "");
  for (size_t i = 0; all && i < lamp_n_notes(plot->report); ++i) {
    char* const note = lamp_note(plot->report, i);
    char* const longer =
      note ? text_format("%s%s%s", all, i ? " " : "", note) : NULL;
    free(note);
    free(all);
    all = longer;
  }
  return all;
}

/// Title and small print; returns how high the page is with them.
static double
words(Plot* plot, const char* title) {
  double y = 363.0;
  sheet_text(&plot->sheet,
             (VwPoint){20.0, 26.0},
             (SheetLetters){TITLE, VW_ALIGN_LEFT},
             title);
  for (size_t i = 0; i < lamp_n_notes(plot->report); ++i) {
    char* const note = lamp_note(plot->report, i);
    plot->sheet.full |= !note;
    y = small_print(plot, y + 3.0, note ? note : "");
    free(note);
  }
  return y + MARGIN;
}

static void
draw_timer(Plot* plot) {
  rails(plot);
  charging(plot);
  chip(plot);
  lamp(plot);
  values(plot);
}

VwStatus
lamp_plot(const LampReport* report, const char* path, VwBytes* bytes) {
  Plot        plot = {.report = report, .timer = &report->timer};
  const bool  track = report->track.pulses != 0;
  char* const title =
    text_format("A lamp that flashes %.6g times a second, on for %.1f ms",
                report->lamp.pulse_hz,
                track ? report->track.on_ms : report->lamp.on_ms);
  char* const notes = all_notes(&plot);
  VwStatus    st = title && notes ? VW_OK : VW_NO_MEMORY;
  if (!st) {
    if (track) {
      lamp_plot_track(report, &plot.sheet);
    } else {
      draw_timer(&plot);
    }
    const double    height = words(&plot, title);
    const VwPicture picture = {
      WIDTH, height, title, notes, plot.sheet.shapes, plot.sheet.n_shapes};
    st = plot.sheet.full ? VW_NO_MEMORY : pictures_draw(&picture, path, bytes);
  }
  sheet_clear(&plot.sheet);
  free(title);
  free(notes);
  return st;
}
