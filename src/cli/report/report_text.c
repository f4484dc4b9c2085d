#include "cli/message/caution.h"
#include "cli/message/flash.h"
#include "cli/message/line.h"
#include "cli/message/text.h"
#include "cli/report/report.h"
#include "cli/report/report_board.h"
#include "cli/report/report_curve.h"
#include "cli/report/report_level.h"
#include "cli/report/report_next.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// Better than this is as good as exact; the library's own word for exact.
#define EXACT_DB (-199.95)

/// A name that is safe to show. To be freed.
static char*
shown(const char* name) {
  char* const safe = text_safe(name);
  return safe ? safe : text_format("?");
}

/* Found */

static void
found_decay(const VwShotFacts* facts, FILE* out) {
  char t20[40];
  char t30[40];
  line_print(out,
             "decay",
             "%s to fall by 60 dB (T20), %s (T30)",
             line_value(t20, facts->decay_t20_s, 3, "s"),
             line_value(t30, facts->decay_t30_s, 3, "s"));
}

static void
found_pitch(const VwShotFacts* facts, FILE* out) {
  char attack[40];
  char tail[40];
  line_print(out,
             "pitch",
             "%s at the attack, %s in the tail",
             line_value(attack, facts->pitch_attack_hz, 1, "Hz"),
             line_value(tail, facts->pitch_tail_hz, 1, "Hz"));
}

static void
found_fastest(const VwShotFacts* facts, FILE* out) {
  if (isfinite(facts->fastest_fire_rate_per_s)) {
    line_print(out,
               "fires",
               "up to %.1f shots per second untouched",
               facts->fastest_fire_rate_per_s);
  } else {
    line_print(out,
               "fires",
               "untouched below 4 shots per second only, its tail is long");
  }
}

static void
found_shot(const VwShotFacts* facts, FILE* out) {
  char text[40];
  char rise[40];
  line_print(out, "kind", "%s", vw_kind_name(facts->kind));
  line_print(out,
             "attack",
             "at %s, full level after %s",
             line_duration(text, facts->attack_ms),
             line_duration(rise, facts->rise_ms));
  line_print(out, "length", "%s", line_duration(text, facts->length_ms));
  found_decay(facts, out);
  found_pitch(facts, out);
  line_print(out,
             "noise floor",
             "%s",
             line_value(text, facts->noise_floor_dbfs, 1, "dBFS"));
  found_fastest(facts, out);
}

static void
found(const Input* input, FILE* out) {
  const VwSound* const sound = &input->take.sound;
  char* const          name = shown(input->path);
  char                 text[40];
  fprintf(out, "Found in %s\n", name);
  line_print(
    out,
    "take",
    "%s, %u Hz, %u channel%s",
    line_duration(text, 1000.0 * (double)sound->n_frames / sound->rate_hz),
    sound->rate_hz,
    sound->n_channels,
    sound->n_channels == 1U ? "" : "s");
  if (input->has_shot) {
    found_shot(&input->facts, out);
  }
  if (input->has_loudness) {
    report_loudness(&input->loudness, sound->n_channels, out);
  }
  free(name);
}

/* Made */

static void
made_rate(const Report* report, FILE* out) {
  const VwPlan* const plan = &report->family->plan;
  const char* const   asked = report->settings->loop.fire_rate_text;
  line_print(out,
             "fire rate",
             "%.6g shots per second %s%s%s, %.6g made",
             plan->fire_rate_asked_per_s,
             plan->chosen ? "chosen" : "asked (",
             plan->chosen ? "" : asked,
             plan->chosen ? "" : ")",
             plan->fire_rate_per_s);
}

static void
made_cycle(const VwFamily* family, FILE* out) {
  const VwPlan* const plan = &family->plan;
  line_print(out,
             "period",
             "%.4f ms from shot to shot%s",
             1000.0 / plan->fire_rate_per_s,
             plan->uneven ? " on average" : "");
  if (family->form == VW_FORM_BURST) {
    return;
  }
  line_print(out,
             "cycle",
             "%u shot%s, %zu frames at %u Hz, after a run-in of %u shot%s",
             plan->shots,
             plan->shots == 1U ? "" : "s",
             plan->n_frames - plan->gap_frames,
             plan->rate_hz,
             family->run_in_shots,
             family->run_in_shots == 1U ? "" : "s");
}

static void
made_valley(const VwFamily* family, FILE* out) {
  char reached[40];
  line_value(reached, family->valley_db, 1, "dB");
  if (isfinite(family->valley_asked_db)) {
    line_print(out,
               "valley",
               "%.6g dB asked, %s reached",
               family->valley_asked_db,
               reached);
  } else {
    line_print(out, "valley", "none asked, %s as it is", reached);
  }
  if (family->tightening_db > 0.0) {
    line_print(out,
               "tightening",
               "tails %.1f dB lower by the next shot",
               family->tightening_db);
  } else {
    line_print(out, "tightening", "none, tails are as recorded");
  }
}

static void
made_late(const Report* report, FILE* out) {
  double latest_ms = 0.0;
  for (size_t i = 0; i < report->n_inputs; ++i) {
    latest_ms = fmax(latest_ms, report->family->uses[i].late_start_ms);
  }
  if (latest_ms > 0.0) {
    line_print(out, "late start", "%.1f ms into the shot", latest_ms);
  } else {
    line_print(out, "late start", "none, shots start at their attack");
  }
}

static void
made_seam(const VwFamily* family, FILE* out) {
  const char* const faded = family->form == VW_FORM_WHOLE_FILE
                              ? ", but for 2 ms of fade at each end"
                              : "";
  if (family->join_residual_db <= EXACT_DB) {
    line_print(out, "seam", "exact%s", faded);
  } else {
    char text[40];
    line_value(text, family->join_residual_db, 1, "dB");
    line_print(out, "seam", "%s relative to the loop%s", text, faded);
  }
}

/// One line on which form suits which board.
static void
made_form(const VwFamily* family, FILE* out) {
  static const char* const suits[] = {
    [VW_FORM_PIECES] =
      "pieces, for boards that play three files; whole-file repeats one",
    [VW_FORM_WHOLE_FILE] =
      "whole-file, for boards that repeat one file; --burst 3 is finished",
    [VW_FORM_LOOP_POINTS] =
      "loop-points, for boards that read them; whole-file for others",
    [VW_FORM_BURST] =
      "burst, for boards that play a file to its end; whole-file repeats",
  };
  line_print(out, "form", "%s", suits[family->form]);
}

static void
made(const Report* report, FILE* out) {
  const VwFamily* const family = report->family;
  fprintf(out, "Made\n");
  made_rate(report, out);
  made_cycle(family, out);
  made_valley(family, out);
  made_late(report, out);
  if (family->form != VW_FORM_BURST) {
    made_seam(family, out);
  }
  if (!report->settings->has_board) {
    made_form(family, out);
  }
  report_board(report, out);
}

static void
lamp_track(const VwFamily* family, FILE* out) {
  const VwLampTrack* const track = &family->lamp_track;
  char                     level[40];
  if (!track->pulses) {
    return;
  }
  line_print(out,
             "lamp track",
             "channel 2, a tone of %.2f Hz at %s",
             track->tone_hz,
             line_value(level, track->level_dbfs, 1, "dBFS"));
  line_print(out,
             "",
             "%u pulse%s of %.1f ms in the %s",
             track->pulses,
             track->pulses == 1U ? "" : "s",
             track->on_ms,
             family->form == VW_FORM_BURST ? "burst" : "loop");
  if (family->form != VW_FORM_BURST) {
    line_print(out, "", "`volleyweave lamp` on the loop draws what to wire");
  }
}

static void
lamp(const VwFamily* family, FILE* out) {
  const char* const caution = caution_flash(family->lamp.pulse_hz);
  fprintf(out, "Lamp\n");
  line_print(out,
             "flashes",
             "%.6g per second, one every %.2f ms",
             family->lamp.pulse_hz,
             family->lamp.period_ms);
  line_print(out,
             "on-time",
             "%.1f ms, a duty of %.0f %%",
             family->lamp.on_ms,
             100.0 * family->lamp.duty);
  line_wrap(out, "because", flash_reason(family->on_time.reason));
  lamp_track(family, out);
  if (caution) {
    line_wrap(out, "CAUTION", caution);
  }
}

/* Files */

static int
longest_name(const Report* report) {
  size_t longest = 0;
  for (size_t i = 0; i < report->n_files; ++i) {
    char* const  name = shown(report->files[i].path);
    const size_t n = strlen(name);
    longest = n > longest ? n : longest;
    free(name);
  }
  return longest > 60U ? 60 : (int)longest;
}

static void
files(const Report* report, FILE* out) {
  const int width = longest_name(report);
  size_t    n_bytes = 0;
  fprintf(out,
          "Files (%s, %u Hz, %s)%s\n",
          report->family->format.n_channels == 1U ? "mono" : "stereo",
          report->family->format.rate_hz,
          vw_encoding_name(report->family->format.encoding),
          report->settings->dry_run ? ", not written: a dry run" : "");
  for (size_t i = 0; i < report->n_files; ++i) {
    const MadeFile* const file = &report->files[i];
    char* const           name =
      shown(strcmp(file->path, "-") ? file->path : "standard output");
    fprintf(out,
            "  %-*s %8zu frames %9zu bytes\n",
            width,
            name,
            file->n_frames,
            file->bytes.n_bytes);
    n_bytes += file->bytes.n_bytes;
    free(name);
  }
  if (report->n_files > 1U) {
    fprintf(out, "  %-*s %25zu bytes\n", width, "together", n_bytes);
  }
}

/// Of a single take: between several, figures are compared more easily.
static void
curve(const Report* report, FILE* out) {
  const Terminal terminal = terminal_of(out);
  if (report->command->bit == COMMAND_INSPECT &&
      report->settings->n_takes == 1U) {
    report_curve(&report->inputs[0], &terminal, out);
  }
}

void
report_text(const Report* report, FILE* out) {
  for (size_t i = 0; i < report->n_inputs; ++i) {
    found(&report->inputs[i], out);
  }
  curve(report, out);
  if (report->family) {
    if (report->family->plan.shots) {
      made(report, out);
    }
    report_level(report, out);
    if (report->family->plan.shots) {
      lamp(report->family, out);
    }
    files(report, out);
  }
  report_next(report, out);
}
