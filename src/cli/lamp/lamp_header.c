// The C header of a lamp. It is written into memory first: whole or not at all.

#include "cli/lamp/lamp_comment.h"
#include "lamp/lamp.h"

#include <inttypes.h>
#include <math.h>
#include <stdlib.h>

static void
table(const LampReport* report, FILE* out) {
  if (!report->n_steps) {
    return;
  }
  fprintf(out,
          "\n/* Brightness of each step of the period, 0 to 255, gamma %.4g. "
          "*/\n#define LAMP_BRIGHTNESS_STEPS %zuU\n"
          "static const unsigned char lamp_brightness[LAMP_BRIGHTNESS_STEPS] "
          "= {",
          report->settings->lamp.gamma,
          report->n_steps);
  for (size_t i = 0; i < report->n_steps; ++i) {
    fprintf(out,
            "%s%dU%s",
            i % 12U ? " " : "\n  ",
            report->steps[i],
            i + 1U < report->n_steps ? "," : "");
  }
  fprintf(out, "\n};\n");
}

static void
counts(const LampReport* report, FILE* out) {
  const VwCounter* const counter = &report->settings->lamp.counter;
  if (!report->has_counts || report->counts_status) {
    return;
  }
  fprintf(out,
          "\n/* Of a timer of %.10g Hz and %.0f bits: %.3g ppm off. The top "
          "register gets\n   LAMP_PERIOD_COUNTS - 1. */\n",
          counter->clock_hz,
          report->settings->lamp.timer_bits,
          report->counts.error_ppm);
  fprintf(out, "#define LAMP_PRESCALER %uU\n", report->counts.prescaler);
  fprintf(out,
          "#define LAMP_PERIOD_COUNTS %" PRIu64 "ULL\n",
          report->counts.period_counts);
  fprintf(
    out, "#define LAMP_ON_COUNTS %" PRIu64 "ULL\n", report->counts.on_counts);
}

static void
print(const LampReport* report, FILE* out) {
  const Settings* const settings = report->settings;
  fprintf(out,
          "/*\n * A lamp that flashes %.6g times a second, on for %.1f ms.\n",
          report->lamp.pulse_hz,
          report->lamp.on_ms);
  lamp_comment_cautions(report, out);
  fprintf(out, " */\n#ifndef LAMP_H_MADE\n#define LAMP_H_MADE\n\n");
  fprintf(out,
          "/* Microseconds. */\n#define LAMP_PERIOD_US %lldUL\n"
          "#define LAMP_ON_US %lldUL\n",
          llround(1000.0 * report->lamp.period_ms),
          llround(1000.0 * report->lamp.on_ms));
  if (settings->has_board && settings->board.delay_ms > 0.0) {
    fprintf(out,
            "/* From the trigger to the sound. */\n"
            "#define LAMP_HOLD_BACK_US %lldUL\n",
            llround(1000.0 * settings->board.delay_ms));
  }
  counts(report, out);
  table(report, out);
  fprintf(out, "\n#endif\n");
}

char*
lamp_header(const LampReport* report) {
  char*       text = NULL;
  size_t      n = 0;
  FILE* const out = open_memstream(&text, &n);
  if (!out) {
    return NULL;
  }
  print(report, out);
  if (fclose(out)) {
    free(text);
    return NULL;
  }
  return text;
}
