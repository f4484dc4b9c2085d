#include "cli/report/report_level.h"

#include "cli/message/caution.h"
#include "cli/message/line.h"

#include <math.h>
#include <stdlib.h>

// Of a sound that lies almost wholly below its corner, a high-pass leaves
// something else.
#define BELOW_MOST 0.9

// What the report would round away.
#define DB_SHOWN 0.05

/* Found */

void
report_loudness(const VwLoudness* loudness, unsigned n_channels, FILE* out) {
  char text[40];
  char other[40];
  line_print(out,
             "momentary",
             "%s at most, in silence%s",
             line_value(text, loudness->momentary_max_lufs, 1, "LUFS"),
             n_channels > 1U ? ", of all channels together" : "");
  line_print(
    out,
    "short-term",
    "%s",
    isfinite(loudness->short_term_max_lufs)
      ? line_value(text, loudness->short_term_max_lufs, 1, "LUFS at most")
      : "none, it is shorter than 3 s");
  line_print(out,
             "integrated",
             "%s, loudness range %s",
             line_value(text, loudness->integrated_lufs, 1, "LUFS"),
             line_value(other, loudness->range_lu, 1, "LU"));
  line_print(out,
             "true peak",
             "%s, crest factor %s",
             line_value(text, loudness->true_peak_dbtp, 1, "dBTP"),
             line_value(other, loudness->crest_factor_db, 1, "dB"));
  line_print(out,
             "energy",
             "%s below 350 Hz, %s below 800 Hz",
             line_value(text, 100.0 * loudness->energy_below_350hz, 0, "%"),
             line_value(other, 100.0 * loudness->energy_below_800hz, 0, "%"));
}

/* Made */

/// What became of the channels before the loudness was measured.
static const char*
mixed(const VwFamily* family) {
  static const char* const words[] = {
    [VW_DOWNMIX_NONE] = "",
    [VW_DOWNMIX_SUM] = " (its channels mixed)",
    [VW_DOWNMIX_STRONGER] = " (its stronger channel)",
    [VW_DOWNMIX_DUAL_MONO] = " (one of its like channels)"};
  return family->uses ? words[family->uses[0].downmix] : "";
}

static void
made_loudness(const Report* report, FILE* out) {
  const VwLevel* const level = &report->family->level;
  char                 before[40];
  char                 after[40];
  line_print(out,
             "loudness",
             "%s before%s, %s after",
             line_value(before, level->before_lufs, 1, "LUFS"),
             mixed(report->family),
             line_value(after, level->shot_loudness_lufs, 1, "LUFS"));
  if (report->family->plan.shots) {
    line_print(out,
               "in the burst",
               "%s",
               line_value(after, level->burst_loudness_lufs, 1, "LUFS"));
  }
  line_wrap(out,
            "measured as",
            "maximum momentary loudness of the sound in silence, as played");
}

static void
made_gain(const Report* report, FILE* out) {
  const VwLevel* const level = &report->family->level;
  char                 peak[40];
  line_print(out, "gain", "%+.1f dB", level->gain_db);
  if (level->limiting_db >= DB_SHOWN) {
    line_print(out,
               "limiting",
               "%.1f dB at most, for %.0f ms",
               level->limiting_db,
               level->limiting_ms);
  } else {
    line_print(out, "limiting", "none");
  }
  line_print(out,
             "true peak",
             "%s, the ceiling is %.1f dBTP",
             line_value(peak, level->true_peak_dbtp, 1, "dBTP"),
             report->settings->family.level.ceiling_dbtp);
}

static void
made_speaker(const Report* report, FILE* out) {
  const double speaker_hz = report->settings->family.level.speaker_hz;
  if (speaker_hz > 0.0) {
    line_print(out,
               "speaker",
               "what lies below its corner of %.4g Hz is left out",
               speaker_hz);
  } else {
    line_wrap_made(
      out,
      "speaker",
      text_format("none given; %.0f %% of the energy lies below 350 Hz, which "
                  "40 mm cannot play, %.0f %% below 800 Hz (20 mm)",
                  100.0 * report->written.energy_below_350hz,
                  100.0 * report->written.energy_below_800hz));
  }
}

/* What would buy more */

/// Print one line of the account where it is worth one.
static unsigned
buys(double by_db, char* text, const char* label, FILE* out) {
  char* const line =
    by_db >= DB_SHOWN && text ? text_format("%.1f dB %s", by_db, text) : NULL;
  const unsigned n = line ? 1U : 0U;
  free(text);
  line_wrap_made(out, label, line);
  return n;
}

static void
made_louder(const Report* report, FILE* out) {
  static const char   label[] = "louder by";
  const Louder* const louder = &report->louder;
  unsigned            n = 0;
  if (!louder->tried) {
    return;
  }
  n += buys(report->written.energy_below_350hz < BELOW_MOST ? louder->speaker_db
                                                            : (double)NAN,
            text_format("on a speaker of 40 mm: --speaker 40mm"),
            label,
            out);
  n += buys(louder->limiting_db,
            text_format("with more limiting: --limiting-max %.4g",
                        louder->limiting_max_db),
            n ? "" : label,
            out);
  n += buys(louder->tightening_db,
            text_format("in the burst with less tightening: --valley none"),
            n ? "" : label,
            out);
  line_wrap(out,
            n ? "" : label,
            n ? "beyond that, look at the amplifier"
              : "nothing is left in the file: look at the amplifier");
  line_wrap(out, "CAUTION", caution_hearing());
}

void
report_level(const Report* report, FILE* out) {
  fprintf(out, "Level\n");
  made_loudness(report, out);
  made_gain(report, out);
  made_speaker(report, out);
  made_louder(report, out);
}
