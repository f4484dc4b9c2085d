// The circuit of a timer as a picture.

#include "lamp_report.h"

#include "pictures.h"
#include "sheet.h"
#include "text.h"

#include <stdlib.h>
#include <string.h>

#define WIDTH 640.0
#define HEIGHT 480.0

#define THIN 1.2
#define THICK 2.2
#define SMALL 9.0
#define LARGE 11.0
#define TITLE 14.0

// Rails, the column of RA, RB and C, and the chip.
#define TOP 60.0
#define GROUND 330.0
#define LEFT 110.0
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

// Characters of the small print in a line.
#define COLUMNS 108

/// A sheet and what is drawn on it.
typedef struct {
  Sheet             sheet;
  const LampReport* report;
  const LampTimer*  timer;
} Plot;

/* Symbols */

static void
wire(Plot* plot, VwPoint from, VwPoint to) {
  const VwPoint points[] = {from, to};
  sheet_line(&plot->sheet, THIN, points, 2U);
}

static void
dot(Plot* plot, double x, double y) {
  sheet_dot(&plot->sheet, (VwPoint){x, y});
}

static void
label(Plot* plot, VwPoint at, VwAlign align, const char* text) {
  sheet_text(&plot->sheet, at, (SheetLetters){LARGE, align}, text);
}

/// A label that is made here and freed.
static void
label_made(Plot* plot, VwPoint at, VwAlign align, char* text) {
  if (text) {
    label(plot, at, align, text);
  } else {
    plot->sheet.full = true;
  }
  free(text);
}

static void
frame(Plot* plot, VwPoint from, VwPoint to) {
  wire(plot, (VwPoint){from.x, from.y}, (VwPoint){to.x, from.y});
  wire(plot, (VwPoint){to.x, from.y}, (VwPoint){to.x, to.y});
  wire(plot, (VwPoint){to.x, to.y}, (VwPoint){from.x, to.y});
  wire(plot, (VwPoint){from.x, to.y}, (VwPoint){from.x, from.y});
}

/// A resistor from top to bottom.
static void
resistor(Plot* plot, double x, double from, double to) {
  const double middle = (from + to) / 2.0;
  wire(plot, (VwPoint){x, from}, (VwPoint){x, middle - 15.0});
  frame(
    plot, (VwPoint){x - 6.0, middle - 15.0}, (VwPoint){x + 6.0, middle + 15.0});
  wire(plot, (VwPoint){x, middle + 15.0}, (VwPoint){x, to});
}

/// A trimmer from top to bottom, its middle leg led round to its lower end.
static void
trimmer(Plot* plot, double x, double from, double to) {
  const double  middle = (from + to) / 2.0;
  const VwPoint head[] = {
    {x + 13.0, middle - 4.0}, {x + 13.0, middle + 4.0}, {x + 6.0, middle}};
  resistor(plot, x, from, to);
  sheet_area(&plot->sheet, head, 3U);
  wire(plot, (VwPoint){x + 13.0, middle}, (VwPoint){x + 22.0, middle});
  wire(plot, (VwPoint){x + 22.0, middle}, (VwPoint){x + 22.0, to});
  wire(plot, (VwPoint){x + 22.0, to}, (VwPoint){x, to});
  dot(plot, x, to);
}

/// A capacitor from top to bottom.
static void
capacitor(Plot* plot, double x, double from, double to) {
  const double  middle = (from + to) / 2.0;
  const VwPoint upper[] = {{x - 12.0, middle - 3.0}, {x + 12.0, middle - 3.0}};
  const VwPoint lower[] = {{x - 12.0, middle + 3.0}, {x + 12.0, middle + 3.0}};
  wire(plot, (VwPoint){x, from}, (VwPoint){x, middle - 3.0});
  sheet_line(&plot->sheet, THICK, upper, 2U);
  sheet_line(&plot->sheet, THICK, lower, 2U);
  wire(plot, (VwPoint){x, middle + 3.0}, (VwPoint){x, to});
}

/// A diode from its anode to its cathode, upright or level.
static void
diode(Plot* plot, VwPoint anode, VwPoint cathode) {
  const bool    upright = anode.x == cathode.x;
  const double  sign = anode.x + anode.y < cathode.x + cathode.y ? 1.0 : -1.0;
  const double  x = (anode.x + cathode.x) / 2.0;
  const double  y = (anode.y + cathode.y) / 2.0;
  const double  along = 7.0 * sign;
  const double  dx = upright ? 0.0 : along;
  const double  dy = upright ? along : 0.0;
  const double  ax = upright ? 7.0 : 0.0;
  const double  ay = upright ? 0.0 : 7.0;
  const VwPoint body[] = {
    {x - dx - ax, y - dy - ay}, {x - dx + ax, y - dy + ay}, {x + dx, y + dy}};
  const VwPoint bar[] = {{x + dx - ax, y + dy - ay},
                         {x + dx + ax, y + dy + ay}};
  wire(plot, (VwPoint){anode.x, anode.y}, (VwPoint){x - dx, y - dy});
  wire(plot, (VwPoint){x + dx, y + dy}, (VwPoint){cathode.x, cathode.y});
  sheet_area(&plot->sheet, body, 3U);
  sheet_line(&plot->sheet, THICK, bar, 2U);
}

/* Circuit */

static void
pin(Plot* plot, VwPoint at, VwAlign align, const char* number) {
  sheet_text(&plot->sheet, at, (SheetLetters){SMALL, align}, number);
}

static void
chip(Plot* plot) {
  frame(
    plot, (VwPoint){CHIP_LEFT, CHIP_TOP}, (VwPoint){CHIP_RIGHT, CHIP_BOTTOM});
  label(plot, (VwPoint){345.0, 190.0}, VW_ALIGN_MIDDLE, "555");
  label(plot,
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
  wire(plot, (VwPoint){PIN_8_X, TOP}, (VwPoint){PIN_8_X, CHIP_TOP});
  wire(plot, (VwPoint){PIN_4_X, TOP}, (VwPoint){PIN_4_X, CHIP_TOP});
  wire(plot, (VwPoint){PIN_8_X, CHIP_BOTTOM}, (VwPoint){PIN_8_X, GROUND});
  capacitor(plot, PIN_4_X, CHIP_BOTTOM, GROUND);
  label(plot, (VwPoint){PIN_4_X + 18.0, 315.0}, VW_ALIGN_LEFT, "10 nF");
  capacitor(plot, NEAR_X, TOP, NEAR_END);
  label(plot, (VwPoint){NEAR_X + 18.0, 86.0}, VW_ALIGN_LEFT, "100 nF");
  label(plot, (VwPoint){NEAR_X, NEAR_END + 12.0}, VW_ALIGN_MIDDLE, "0 V");
}

static void
charging(Plot* plot) {
  wire(plot, (VwPoint){LEFT, PIN_7}, (VwPoint){CHIP_LEFT, PIN_7});
  wire(plot, (VwPoint){LEFT, PIN_6}, (VwPoint){CHIP_LEFT, PIN_6});
  wire(plot, (VwPoint){250.0, PIN_6}, (VwPoint){250.0, PIN_2});
  wire(plot, (VwPoint){250.0, PIN_2}, (VwPoint){CHIP_LEFT, PIN_2});
  if (plot->timer->timer.trims_ra) {
    trimmer(plot, LEFT, TOP, HALF_RA);
    resistor(plot, LEFT, HALF_RA, PIN_7);
    resistor(plot, LEFT, PIN_7, PIN_6);
  } else {
    resistor(plot, LEFT, TOP, PIN_7);
    resistor(plot, LEFT, PIN_7, HALF_RB);
    trimmer(plot, LEFT, HALF_RB, PIN_6);
  }
  capacitor(plot, LEFT, PIN_6, GROUND);
  dot(plot, LEFT, PIN_7);
  dot(plot, LEFT, PIN_6);
  dot(plot, 250.0, PIN_6);
  if (plot->timer->wish.wiring == VW_WIRING_DIODE) {
    diode(plot, (VwPoint){170.0, PIN_7}, (VwPoint){170.0, PIN_6});
    dot(plot, 170.0, PIN_7);
    dot(plot, 170.0, PIN_6);
    label(plot, (VwPoint){182.0, 195.0}, VW_ALIGN_LEFT, "D");
  }
}

/// A part's name and value beside the middle of two ends.
static void
value(Plot* plot, double from, double to, char* text) {
  label_made(
    plot, (VwPoint){90.0, (from + to) / 2.0 + 4.0}, VW_ALIGN_RIGHT, text);
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
  wire(plot, (VwPoint){CHIP_RIGHT, PIN_3}, (VwPoint){445.0, PIN_3});
  frame(plot, (VwPoint){445.0, PIN_3 - 6.0}, (VwPoint){475.0, PIN_3 + 6.0});
  wire(plot, (VwPoint){475.0, PIN_3}, (VwPoint){500.0, PIN_3});
  if (low) {
    diode(plot, (VwPoint){560.0, PIN_3}, (VwPoint){500.0, PIN_3});
  } else {
    diode(plot, (VwPoint){500.0, PIN_3}, (VwPoint){560.0, PIN_3});
  }
  wire(plot, (VwPoint){560.0, PIN_3}, (VwPoint){560.0, end_y});
  label(plot, (VwPoint){530.0, PIN_3 - 12.0}, VW_ALIGN_MIDDLE, "LED");
  label(plot,
        (VwPoint){460.0, PIN_3 - 12.0},
        VW_ALIGN_MIDDLE,
        plot->timer->led.status
          ? "R"
          : lamp_ohm(text, plot->timer->led.led.next_ohm));
}

static void
rails(Plot* plot) {
  const bool low = plot->timer->timer.lit_while_low;
  wire(plot, (VwPoint){60.0, TOP}, (VwPoint){low ? 560.0 : NEAR_X, TOP});
  wire(plot, (VwPoint){60.0, GROUND}, (VwPoint){low ? PIN_4_X : 560.0, GROUND});
  label_made(plot,
             (VwPoint){60.0, TOP - 6.0},
             VW_ALIGN_LEFT,
             text_format("+%.4g V", plot->timer->wish.supply_v));
  label(plot, (VwPoint){60.0, GROUND + 14.0}, VW_ALIGN_LEFT, "0 V");
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

/// All cautions in one text. To be freed.
static char*
all_cautions(const LampReport* report) {
  const char* text = NULL;
  char*       all = text_format("%s", "");
  for (size_t i = 0; all && (text = lamp_caution(report, i)); ++i) {
    char* const longer =
      text_format("%s%sCAUTION: %s.", all, i ? " " : "", text);
    free(all);
    all = longer;
  }
  return all;
}

static void
words(Plot* plot, const char* title) {
  const VwTimer* const timer = &plot->timer->timer;
  const char*          text = NULL;
  char                 set[40];
  char* const          trimmer =
    text_format("P: a trimmer, set to %s, %.0f %% of its travel: %.4g per "
                "second, on for %.1f ms. 100 nF: close to pins 8 and 1",
                lamp_ohm(set, timer->set_ohm),
                100.0 * timer->set_share,
                timer->rate_hz.middle,
                timer->on_ms.middle);
  sheet_text(&plot->sheet,
             (VwPoint){20.0, 26.0},
             (SheetLetters){TITLE, VW_ALIGN_LEFT},
             title);
  double y = small_print(plot, 366.0, trimmer ? trimmer : "");
  for (size_t i = 0; (text = lamp_caution(plot->report, i)); ++i) {
    char* const caution = text_format("CAUTION: %s.", text);
    y = small_print(plot, y + 3.0, caution ? caution : text);
    free(caution);
  }
  free(trimmer);
}

VwStatus
lamp_plot(const LampReport* report, const char* path, VwBytes* bytes) {
  Plot        plot = {.report = report,
                      .timer = report->diode.status ? &report->plain : &report->diode};
  char* const title =
    text_format("A lamp that flashes %.6g times a second, on for %.1f ms",
                report->lamp.pulse_hz,
                report->lamp.on_ms);
  char* const cautions = all_cautions(report);
  VwStatus    st = title && cautions ? VW_OK : VW_NO_MEMORY;
  if (!st) {
    rails(&plot);
    charging(&plot);
    chip(&plot);
    lamp(&plot);
    values(&plot);
    words(&plot, title);
    const VwPicture picture = {
      WIDTH, HEIGHT, title, cautions, plot.sheet.shapes, plot.sheet.n_shapes};
    st = plot.sheet.full ? VW_NO_MEMORY : pictures_draw(&picture, path, bytes);
  }
  sheet_clear(&plot.sheet);
  free(title);
  free(cautions);
  return st;
}
