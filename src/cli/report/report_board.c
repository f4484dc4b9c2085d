#include "cli/report/report_board.h"

#include "board/board.h"
#include "cli/message/line.h"
#include "cli/report/overrun.h"

#include <math.h>

const char*
report_repeat_word(VwRepeat repeat) {
  static const char* const words[] = {
    "whole-file", "loop-points", "three-files", "nothing"};
  return words[repeat];
}

static size_t
frames_after_release(const VwFamily* family) {
  Overrun overrun = {0};
  for (size_t i = 0; i < family->n_pieces; ++i) {
    const VwPiece* const piece = &family->pieces[i];
    overrun_add(&overrun, piece->part, piece->sound.n_frames);
  }
  return overrun_frames(&overrun);
}

double
report_overrun_ms(const Report* report) {
  const VwFamily* const family = report->family;
  const Settings* const settings = report->settings;
  const bool            finishes = settings->has_board
                                     ? overrun_is_any(&settings->board)
                                     : settings->board_wish.overrun_max_s > 0.0;
  if (!finishes || !family || !family->plan.shots) {
    return NAN;
  }
  return 1000.0 * (double)frames_after_release(family) / family->plan.rate_hz;
}

static void
on_release(const Report* report, FILE* out) {
  const double overrun_ms = report_overrun_ms(report);
  char         text[40];
  if (isfinite(overrun_ms)) {
    line_print(out,
               "on release",
               "it plays on to the end, for %s at most",
               line_duration(text, overrun_ms));
  } else if (report->settings->has_board) {
    line_print(
      out, "on release", "it stops at once: such a step is the board's own");
  }
}

/// What the gap does, and what is done about it.
static void
on_gap(const VwFamily* family, FILE* out) {
  const VwPlan* const plan = &family->plan;
  char                text[40];
  if (!plan->gap_frames) {
    return;
  }
  line_print(
    out,
    "gap",
    "%s at the end of each cycle, %s",
    line_duration(text, 1000.0 * (double)plan->gap_frames / plan->rate_hz),
    plan->uneven ? "heard" : "where the last decay is");
  if (!plan->uneven) {
    line_print(out,
               "",
               "%s below the crest",
               line_value(text, family->gap_depth_db, 1, "dB"));
  }
  if (plan->uneven) {
    // Within the file the shots lie evenly; the gap then comes on top.
    const double period_ms = 1000.0 *
                             (double)(plan->n_frames - plan->gap_frames) /
                             plan->shots / plan->rate_hz;
    line_print(out,
               "heard",
               "%.4g ms from shot to shot, %.4g ms over the gap",
               period_ms,
               period_ms + 1000.0 * (double)plan->gap_frames / plan->rate_hz);
    return;
  }
  line_print(out,
             "heard",
             "%.6g shots per second; %.6g, had the gap not been allowed for",
             plan->fire_rate_per_s,
             plan->plain_fire_rate_per_s);
}

void
report_board(const Report* report, FILE* out) {
  const Settings* const settings = report->settings;
  const VwFamily* const family = report->family;
  if (settings->has_board) {
    line_print(out,
               "board",
               "%s, repeats: %s",
               settings->board.name,
               report_repeat_word(settings->board.repeat));
  }
  if (family->form != VW_FORM_BURST) {
    on_gap(family, out);
    if (settings->family.buffer_frames > 1U) {
      line_print(out,
                 "buffer",
                 "%u frames, the cycle is a multiple of it",
                 settings->family.buffer_frames);
    }
    if (isfinite(family->run_in_left_db)) {
      line_print(out,
                 "run-in",
                 "cut short; what it lacks is %.1f dB below the loop",
                 family->run_in_left_db);
    }
  }
  on_release(report, out);
}
