// The files that are written beside a report: the C header and the picture.

#include "cli/lamp/lamp.h"

#include "cli/message/figures.h"
#include "cli/plot/plot.h"
#include "store/store.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const Line first_lines[] = {
  {NULL,
   "/*\n * A lamp that flashes {lamp.pulse_hz:.6g} times a second"
   "{lamp.uneven? on average}, on for {lamp.on_ms:.1f} ms."},
};

static const Line lines[] = {
  {NULL,
   " */\n#ifndef {guard}\n#define {guard}\n\n/* Microseconds. */\n"
   "#define LAMP_ON_US {microcontroller.on_us}UL"},
  {NULL,
   "#define LAMP_PERIOD_US {microcontroller.period_us}UL",
   "!lamp.uneven"},
  {NULL,
   "/* From flash to flash, and behind the last of so many. */\n"
   "#define LAMP_FLASHES {lamp.uneven.shots}U\n"
   "#define LAMP_INTERVAL_US {microcontroller.period_us}UL\n"
   "#define LAMP_LAST_INTERVAL_US {microcontroller.last_us}UL",
   "lamp.uneven"},
  {NULL,
   "/* From the trigger to the sound. */\n"
   "#define LAMP_HOLD_BACK_US {hold_back_us}UL",
   "hold_back_us"},
  {NULL,
   "\n/* Of a timer of {clock} Hz and {bits:.0f} bits: "
   "{microcontroller.counts.error_ppm:.3g} ppm off. The top register gets\n"
   "   one count less. */\n"
   "#define LAMP_PRESCALER {microcontroller.counts.prescaler}U\n"
   "#define LAMP_ON_COUNTS {microcontroller.counts.on_counts}ULL",
   "microcontroller.counts"},
  {NULL,
   "#define LAMP_PERIOD_COUNTS {microcontroller.counts.period_counts}ULL",
   "microcontroller.counts !lamp.uneven"},
  {NULL,
   "#define LAMP_INTERVAL_COUNTS {microcontroller.counts.period_counts}ULL\n"
   "#define LAMP_LAST_INTERVAL_COUNTS "
   "{microcontroller.counts.last_counts}ULL",
   "microcontroller.counts lamp.uneven"},
};

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

/// What guards a header by its name, so that several go into one program. To be
/// freed.
static char*
guard_of(const char* path) {
  char* const guard = text_format("LAMP_OF_%s", vw_path_name(path));
  for (char* at = guard; *at; ++at) {
    *at =
      (char)(isalnum((unsigned char)*at) ? toupper((unsigned char)*at) : '_');
  }
  return guard;
}

/// The C header, written into memory first: whole or not at all. To be freed;
/// NULL without memory.
static char*
header(const LampReport* report) {
  char*            text = NULL;
  size_t           n = 0;
  FILE* const      out = open_memstream(&text, &n);
  Figures* const   all = lamp_told(report);
  const double     delay_ms = figures_get(all, "lamp.hold_back_ms").number;
  const VwCaution* caution = NULL;
  if (!out) {
    figures_free(all);
    return NULL;
  }
  figures_set_made(all, "guard", guard_of(report->settings->lamp.header));
  figures_set_some(all, "hold_back_us", (uint64_t)llround(1000.0 * delay_ms));
  figures_lines(all, LINES(first_lines), out);
  for (size_t i = 0; (caution = vw_caution(lamp_cautions(report), i)); ++i) {
    vw_caution_comment(caution, out);
  }
  figures_lines(all, LINES(lines), out);
  table(report, out);
  fprintf(out, "\n#endif\n");
  figures_free(all);
  if (fclose(out)) {
    free(text);
    return NULL;
  }
  return text;
}

/// The name of what failed goes into `at`.
static VwStatus
write_all(const LampReport* report, char* text, const char** at) {
  const Settings* const settings = report->settings;
  const VwWriteOptions  options = {.force = settings->force,
                                   .dry_run = settings->dry_run,
                                   .takes = settings->takes,
                                   .n_takes = settings->n_takes};
  VwBytes               drawn = {0};
  VwOutput              outputs[2];
  size_t                n = 0;
  size_t                failed = 0;
  VwStatus              st = VW_OK;
  if (text) {
    outputs[n++] = (VwOutput){.path = settings->lamp.header,
                              .bytes = {(unsigned char*)text, strlen(text)}};
  }
  if (settings->plot) {
    *at = settings->plot;
    st = lamp_plot(report, settings->plot, &drawn);
    outputs[n++] = (VwOutput){.path = settings->plot, .bytes = drawn};
  }
  if (!st && n) {
    st = vw_write(outputs, n, &options, &failed);
    *at = outputs[failed < n ? failed : 0U].path;
  }
  vw_bytes_clear(&drawn);
  return st;
}

bool
lamp_write(const LampReport* report) {
  const char* const path = report->settings->lamp.header;
  char* const       text = path ? header(report) : NULL;
  const char*       at = path ? path : report->subject;
  const VwStatus    st =
    path && !text ? VW_NO_MEMORY : write_all(report, text, &at);
  if (st) {
    plot_say(at, st);
  }
  free(text);
  return !st;
}
