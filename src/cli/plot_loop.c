#include "plot.h"

#include "line.h"
#include "plot_family.h"
#include "plot_marks.h"
#include "report_board.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// Better than this is as good as exact; the library's own word for exact.
#define EXACT_DB (-199.95)

// So much of the loop is played before what is shown, for its level to settle.
#define LEAD_S 0.1

#define PRE_ROLL_S 0.002

/// A loop on its way onto a page.
typedef struct {
  Scene           scene;
  const Report*   report;
  const VwFamily* family;
  VwSound         heard;    ///< The piece that repeats, or the burst.
  VwSound         repeated; ///< The cycle again and again, gaps included.
  VwValley        valley;
  size_t          lead; ///< Frames before the two cycles shown.
  PlotSpan        span;
  PlotUnit        unit;
} Work;

/* Sounds */

static const VwPiece*
piece_of(const VwFamily* family, VwPart part) {
  for (size_t i = 0; i < family->n_pieces; ++i) {
    if (family->pieces[i].part == part) {
      return &family->pieces[i];
    }
  }
  return NULL;
}

static bool
is_burst(const Work* work) {
  return work->family->form == VW_FORM_BURST;
}

/// The frames of the piece that make one cycle.
static VwSound
cycle_of(const Work* work, const VwPiece* piece) {
  VwSound cycle = work->heard;
  if (piece->has_loop) {
    cycle.values += piece->loop_start * cycle.n_channels;
    cycle.n_frames = piece->loop_end - piece->loop_start;
  }
  return cycle;
}

/// Repeat the cycle for as long as is shown and measured.
static VwStatus
repeat(Work* work, const VwSound* cycle) {
  const size_t n = work->family->plan.n_frames;
  const size_t lead = (size_t)(LEAD_S * cycle->rate_hz) / n + 1U;
  const size_t n_times = lead + 2U + lead;
  VwStatus     st = vw_sound_init(
    &work->repeated, n_times * n, cycle->n_channels, cycle->rate_hz);
  for (size_t i = 0; !st && i < n_times; ++i) {
    memcpy(work->repeated.values + i * n * cycle->n_channels,
           cycle->values,
           cycle->n_frames * cycle->n_channels * sizeof(float));
  }
  work->lead = lead * n;
  return st;
}

static VwStatus
take_sounds(Work* work) {
  const VwPiece* const piece =
    piece_of(work->family, is_burst(work) ? VW_PART_BURST : VW_PART_LOOP);
  VwStatus st = plot_family_heard(work->family, &piece->sound, &work->heard);
  if (st || is_burst(work)) {
    work->span =
      (PlotSpan){.sound = &work->heard, .to_frame = work->heard.n_frames};
    return st;
  }
  const VwSound cycle = cycle_of(work, piece);
  st = repeat(work, &cycle);
  st = st ? st : vw_valley_of_loop(&cycle, &work->family->plan, &work->valley);
  work->span =
    (PlotSpan){.sound = &work->repeated,
               .from_frame = work->lead,
               .to_frame = work->lead + 2U * work->family->plan.n_frames,
               .zero_s = (double)work->lead / cycle.rate_hz};
  return st;
}

/* Places */

static double
ms_of(const Work* work, double frames) {
  return 1000.0 * frames / work->family->plan.rate_hz;
}

static size_t
n_shown(const Work* work) {
  return is_burst(work) ? work->report->settings->family.burst_shots
                        : 2U * work->family->plan.shots;
}

/// When the attack of a shot sounds, ms.
static double
attack_ms(const Work* work, size_t shot) {
  return ms_of(work, (double)vw_plan_start(&work->family->plan, shot)) +
         1000.0 * PRE_ROLL_S;
}

/// Mark the seam and the board's gaps.
static void
add_seam(Work* work, ScenePanel* panel, bool named) {
  const VwPlan* const plan = &work->family->plan;
  const double        cycle_ms = ms_of(work, (double)plan->n_frames);
  const double        gap_ms = ms_of(work, (double)plan->gap_frames);
  for (unsigned i = 1; plan->gap_frames && i <= 2U; ++i) {
    const double      ends[2] = {cycle_ms * i - gap_ms, cycle_ms * i};
    const char* const name =
      named && i == 1U
        ? scene_text(&work->scene, "the board's pause, %.1f ms", gap_ms)
        : NULL;
    (void)plot_hatch(&work->scene, panel, &work->unit, ends, name);
  }
  const PlotMark seam = {cycle_ms,
                         named ? "seam" : NULL,
                         {VW_INK_BLACK, VW_STROKE_SOLID, 1.6},
                         false};
  plot_mark(&work->scene, panel, &work->unit, &seam);
}

/// Mark the shallowest shot's crest and valley.
static void
add_valley(Work* work, ScenePanel* panel, bool named) {
  const VwValley* const valley = &work->valley;
  const PlotMark        crest = {ms_of(work, (double)valley->crest_frame),
                          named ? "crest" : NULL,
                                 plot_pen_crest,
                                 false};
  const PlotMark        quiet = {ms_of(work, (double)valley->quiet_frame),
                          named ? "valley" : NULL,
                                 plot_pen_valley,
                                 false};
  if (isfinite(valley->crest_dbfs)) {
    plot_mark(&work->scene, panel, &work->unit, &crest);
    plot_mark(&work->scene, panel, &work->unit, &quiet);
  }
}

static void
add_marks(Work* work, ScenePanel* panel, bool named) {
  for (size_t i = 0; i < n_shown(work); ++i) {
    const PlotMark attack = {attack_ms(work, i),
                             named && !i ? "first attack" : NULL,
                             plot_pen_attack,
                             true};
    plot_mark(&work->scene, panel, &work->unit, &attack);
  }
  if (!is_burst(work)) {
    add_seam(work, panel, named);
    add_valley(work, panel, named);
  }
}

/* Panels */

static void
add_wave(Work* work) {
  ScenePanel* const panel =
    scene_panel(&work->scene,
                is_burst(work) ? "The burst, full scale is 1"
                               : "Two repeats, full scale is 1",
                110.0);
  PlotSpan span = work->span;
  span.pen = (VwPen){VW_INK_BLUE, VW_STROKE_SOLID, 0.7};
  plot_axis(panel, &span, &work->unit, NULL);
  plot_wave(&work->scene, panel, &span, &work->unit);
  add_marks(work, panel, true);
}

/// When the lamp is on.
static void
add_lamp(Work* work) {
  const VwLamp* const lamp = &work->family->lamp;
  ScenePanel* const   panel =
    scene_panel(&work->scene,
                scene_text(&work->scene,
                           "Lamp: on for %.1f ms, %.6g times a second",
                           lamp->on_ms,
                           lamp->pulse_hz),
                12.0);
  plot_axis(panel, &work->span, &work->unit, NULL);
  panel->panel.y = (VwAxis){0.0, 1.0, false, NULL};
  panel->panel.y_bare = true;
  for (size_t i = 0; i < n_shown(work); ++i) {
    const double from = attack_ms(work, i) * work->unit.per_s / 1000.0;
    const VwBand band = {NULL,
                         from,
                         from + lamp->on_ms * work->unit.per_s / 1000.0,
                         VW_FILL_PLAIN,
                         VW_INK_BLACK};
    scene_band(&work->scene, panel, &band);
  }
}

/// The levels between which the valley is told.
static void
add_depth(Work* work, ScenePanel* panel) {
  const VwValley* const valley = &work->valley;
  const VwTrace         crest = {
            .name = scene_text(&work->scene, "crest %.1f dBFS", valley->crest_dbfs),
            .pen = plot_pen_crest};
  const VwTrace quiet = {.name = scene_text(&work->scene,
                                            "quiet %.1f dBFS, %.1f dB below",
                                            valley->quiet_dbfs,
                                            valley->depth_db),
                         .pen = plot_pen_valley};
  const VwPoint high[2] = {{panel->panel.x.from, valley->crest_dbfs},
                           {panel->panel.x.to, valley->crest_dbfs}};
  const VwPoint low[2] = {{panel->panel.x.from, valley->quiet_dbfs},
                          {panel->panel.x.to, valley->quiet_dbfs}};
  if (isfinite(valley->crest_dbfs)) {
    scene_line(&work->scene, panel, &crest, high);
    scene_line(&work->scene, panel, &quiet, low);
  }
}

static VwStatus
add_level(Work* work) {
  ScenePanel* const panel =
    scene_panel(&work->scene, "Level over 10 ms above 100 Hz, dBFS", 110.0);
  PlotSpan span = work->span;
  span.pen = (VwPen){VW_INK_BLUE, VW_STROKE_SOLID, 1.4};
  plot_axis(panel,
            &span,
            &work->unit,
            scene_text(&work->scene,
                       "time from the start of the %s, %s",
                       is_burst(work) ? "burst" : "loop",
                       work->unit.word));
  const VwStatus st = plot_level(&work->scene, panel, &span, &work->unit);
  plot_fit_level(panel, is_burst(work) ? (double)NAN : work->valley.quiet_dbfs);
  if (!is_burst(work)) {
    add_depth(work, panel);
  }
  add_marks(work, panel, false);
  return st;
}

/// A small panel of another piece.
static VwStatus
add_piece(Work* work, VwPart part, const char* heading) {
  const VwPiece* const piece = piece_of(work->family, part);
  VwSound              heard = {0};
  if (!piece || !piece->sound.n_frames) {
    return VW_OK;
  }
  const VwStatus st = plot_family_heard(work->family, &piece->sound, &heard);
  if (!st) {
    const PlotSpan    span = {.sound = &heard,
                              .to_frame = heard.n_frames,
                              .pen = {VW_INK_BLUE, VW_STROKE_SOLID, 0.7}};
    const PlotUnit    unit = plot_unit((double)heard.n_frames / heard.rate_hz);
    ScenePanel* const panel = scene_panel(&work->scene, heading, 40.0);
    plot_axis(
      panel, &span, &unit, scene_text(&work->scene, "time, %s", unit.word));
    plot_wave(&work->scene, panel, &span, &unit);
  }
  vw_sound_clear(&heard);
  return st;
}

static VwStatus
add_panels(Work* work) {
  add_wave(work);
  add_lamp(work);
  VwStatus st = add_level(work);
  st = st ? st : add_piece(work, VW_PART_RUN_IN, "Run-in, before the loop");
  return st ? st
            : add_piece(work, VW_PART_RING_OUT, "Ring-out, after the loop");
}

/* Words */

static void
add_cycle(Work* work) {
  const VwFamily* const family = work->family;
  const VwPlan* const   plan = &family->plan;
  if (is_burst(work)) {
    scene_fact(
      &work->scene,
      scene_text(&work->scene,
                 "%u shots, %.6g per second, %.4f ms from shot to shot",
                 work->report->settings->family.burst_shots,
                 plan->fire_rate_per_s,
                 1000.0 / plan->fire_rate_per_s));
    return;
  }
  scene_fact(
    &work->scene,
    scene_text(
      &work->scene,
      "%.6g shots per second, %.4f ms from shot to shot%s; cycle of %u "
      "shot%s, %zu frames",
      plan->fire_rate_per_s,
      1000.0 / plan->fire_rate_per_s,
      plan->uneven ? " on average" : "",
      plan->shots,
      plan->shots == 1U ? "" : "s",
      plan->n_frames - plan->gap_frames));
}

static void
add_seam_fact(Work* work) {
  const VwFamily* const family = work->family;
  char                  seam[40];
  char                  valley[40];
  if (is_burst(work)) {
    return;
  }
  scene_fact(
    &work->scene,
    scene_text(&work->scene,
               "valley %s%s; tails %.1f dB lower by the next shot; seam "
               "%s%s",
               line_value(valley, family->valley_db, 1, "dB"),
               family->level.limiting_db > 0.0 ? ", before limiting" : "",
               family->tightening_db,
               family->join_residual_db <= EXACT_DB
                 ? "exact"
                 : line_value(seam, family->join_residual_db, 1, "dB"),
               family->form == VW_FORM_WHOLE_FILE
                 ? ", but for 2 ms of fade at each end"
                 : ""));
}

static void
add_notes(Work* work) {
  const char* const caution = report_caution(work->family);
  char* const       gap = report_gap_warning(&work->family->plan);
  if (gap) {
    scene_note(&work->scene, gap);
  }
  if (caution) {
    scene_note(&work->scene, scene_text(&work->scene, "CAUTION: %s.", caution));
  }
  free(gap);
}

static SceneTitle
title_of(Work* work) {
  const Report* const report = work->report;
  const char* const   path = report->inputs[0].path;
  const char* const   slash = strrchr(path, '/');
  const char* const   name = slash ? slash + 1 : path;
  return (SceneTitle){
    report->n_inputs > 1U
      ? scene_text(
          &work->scene, "%s and %zu more in turns", name, report->n_inputs - 1U)
      : path,
    is_burst(work) ? "The finished burst as it is written"
                   : "The loop as it repeats, its seam in the middle",
    "A loop: waveform, lamp and level over two repeats."};
}

VwStatus
plot_loop(const Report* report, VwBytes* bytes) {
  Work     work = {.report = report, .family = report->family};
  VwStatus st = take_sounds(&work);
  if (!st) {
    const PlotSpan* const span = &work.span;
    work.unit = plot_unit((double)(span->to_frame - span->from_frame) /
                          span->sound->rate_hz);
    add_cycle(&work);
    add_seam_fact(&work);
    plot_family_level(&work.scene, work.family);
    st = add_panels(&work);
    add_notes(&work);
  }
  if (!st) {
    const SceneTitle title = title_of(&work);
    st = scene_draw(&work.scene, &title, report->settings->plot, bytes);
  }
  scene_clear(&work.scene);
  vw_sound_clear(&work.repeated);
  vw_sound_clear(&work.heard);
  return st;
}
