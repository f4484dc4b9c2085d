#include "cli/lamp/lamp_loop.h"
#include "cli/lamp/lamp_report.h"
#include "cli/message/caution.h"
#include "cli/message/line.h"
#include "cli/message/status.h"
#include "cli/message/text.h"
#include "cli/message/words.h"
#include "lamp/lamp.h"

#include <inttypes.h>
#include <math.h>
#include <stdlib.h>

/* Lamp */

/// What a board makes of the fire rate asked for.
static void
heard(const LampReport* report, FILE* out) {
  const VwPlan* const plan = &report->plan;
  char* const         gap =
    plan->gap_frames
              ? text_format(" and %.1f ms of gap",
                    1000.0 * (double)plan->gap_frames / plan->rate_hz)
              : text_format("%s", "");
  line_wrap_made(
    out,
    "heard",
    text_format("%.6g per second: %s plays whole frames, %u shot%s "
                "in %zu of %u Hz%s",
                plan->fire_rate_per_s,
                report->settings->board.name,
                plan->shots,
                plan->shots == 1U ? "" : "s",
                plan->n_frames - plan->gap_frames,
                plan->rate_hz,
                gap ? gap : ""));
  free(gap);
  if (plan->uneven) {
    line_wrap(out,
              "uneven",
              "the gap is heard between the repeats, and a lamp with its own "
              "timer flashes through it: restart it with each repeat, or give "
              "it a lamp track");
  }
}

static void
source(const LampReport* report, FILE* out) {
  char* const subject = text_safe(report->subject);
  fprintf(out, "Lamp for %s\n", subject ? subject : "it");
  free(subject);
  if (report->source == LAMP_FROM_LOOP) {
    lamp_loop_text(report, out);
  } else if (report->source == LAMP_FROM_RECORDING) {
    line_print(out,
               "read as",
               "a recording of %zu shots, even to %.1f ms",
               report->found.shots,
               report->found.jitter_ms);
  } else if (report->plan.shots) {
    heard(report, out);
  } else {
    line_wrap(
      out,
      "note",
      "a board plays whole frames, and may have a gap between repeats: give "
      "--board, or the loop that it plays, for the rate that is heard");
  }
}

static void
flashes(const LampReport* report, FILE* out) {
  const VwLamp* const lamp = &report->lamp;
  char                near[40];
  line_print(out,
             "flashes",
             "%.6g per second, one every %.3f ms",
             lamp->pulse_hz,
             lamp->period_ms);
  line_print(out,
             "on-time",
             "%.1f ms, a duty of %.0f %%",
             lamp->on_ms,
             100.0 * lamp->duty);
  line_wrap(
    out, "because", choice_word(words_on_because, (int)report->on_time.reason));
  if (isfinite(report->on_time.near_ms)) {
    line_print(out,
               "",
               "(the shots are loud for %s)",
               line_value(near, report->on_time.near_ms, 1, "ms"));
  }
  if (report->source == LAMP_FROM_RATE &&
      report->on_time.reason == VW_ON_USUAL) {
    line_wrap(out,
              "note",
              "a loop of yours may get up to 50 ms, and other parts for that: "
              "name it instead of its rate");
  }
}

static void
hold_back(const LampReport* report, FILE* out) {
  const Settings* const settings = report->settings;
  if (!settings->has_board) {
    return;
  }
  if (settings->board.delay_ms > 0.0 && report->track.pulses) {
    line_wrap(out, "hold back", "nothing: the track comes with the sound");
  } else {
    lamp_hold_back_text(&settings->board, out);
  }
}

/* The rest */

static void
microcontroller(const LampReport* report, FILE* out) {
  const VwCounts* const counts = &report->counts;
  fprintf(out, "Microcontroller\n");
  line_print(out,
             "times",
             "period %.0f us, on-time %.0f us",
             1000.0 * report->lamp.period_ms,
             1000.0 * report->lamp.on_ms);
  if (!report->has_counts) {
    line_print(out, "counts", "with --clock, as in --clock 12MHz");
  } else if (report->counts_status) {
    line_wrap_made(out, "counts", status_message(report->counts_status));
  } else {
    line_print(out,
               "counts",
               "prescaler %u, period %" PRIu64 ", on %" PRIu64
               " (top register: %" PRIu64 ")",
               counts->prescaler,
               counts->period_counts,
               counts->on_counts,
               counts->period_counts - 1U);
    line_print(out,
               "makes",
               "%.7g per second, %.3g ppm off, on for %.3f ms",
               counts->rate_hz,
               counts->error_ppm,
               counts->on_ms);
  }
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
    fprintf(out, "%s%4d", i % 16U ? "" : "  ", report->steps[i]);
    if (i % 16U == 15U || i + 1U == report->n_steps) {
      fputc('\n', out);
    }
  }
}

static void
drift(const LampReport* report, FILE* out) {
  const bool close = report->lamp.period_ms / 2.0 < VW_NOTICED_MS;
  fprintf(out,
          "Drift: until light and sound are 45 ms apart (Rec. ITU-R "
          "BT.1359-1)\n");
  for (size_t i = 0; i < LAMP_DRIFTS; ++i) {
    const LampDrift* const of = &report->drifts[i];
    if (of->error > 0.0 && close) {
      line_print(out,
                 of->way,
                 "%.3g %% off: out of step in %.3g s, never more than %.1f ms",
                 100.0 * of->error,
                 0.5 * report->lamp.period_ms / 1000.0 / of->error,
                 report->lamp.period_ms / 2.0);
    } else if (of->error > 0.0) {
      line_print(
        out, of->way, "%.3g %% off: %.3g s", 100.0 * of->error, of->seconds);
    } else {
      line_print(out, of->way, "never, the sound itself switches it");
    }
  }
  line_wrap(
    out,
    "cure",
    "start the lamp anew with each pull of the trigger: a timer chip as "
    "said above, a microcontroller by its program");
}

void
lamp_text(const LampReport* report, FILE* out) {
  source(report, out);
  flashes(report, out);
  hold_back(report, out);
  if (report->track.pulses) {
    lamp_track_text(report, out);
  } else {
    lamp_timer_text(report, out);
    microcontroller(report, out);
    drift(report, out);
  }
  brightness(report, out);
  caution_lines(lamp_cautions(report), out);
}
