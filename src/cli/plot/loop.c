#include "burst/burst.h"
#include "cli/message/figures.h"
#include "cli/plot/scene.h"
#include "store/store.h"
#include "take/take.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// So much of the loop is played before and after what is shown, for its level
// to be that of a loop without end.
#define LEAD_S 0.1

/// What is drawn of a family, and where its shallowest valley lies.
typedef struct {
  VwSound sound;   ///< The cycle again and again, gaps included; of a finished
                   ///< burst that burst. Owned.
  PlotSpan span;   ///< Two cycles of it, or the burst.
  VwValley valley; ///< Of no use for a burst.
  bool     burst;  ///< It is a finished burst.
} PlotRepeats;

/// A loop on its way onto a page.
typedef struct {
  Scene           scene;
  const Report*   report;
  const VwFamily* family;
  PlotRepeats     repeats;
  PlotUnit        unit;
} Work;

/* What is drawn */

/// The piece of a family that is one part, or NULL.
static const VwPiece*
piece_of(const VwFamily* family, VwPart part) {
  for (size_t i = 0; i < family->n_pieces; ++i) {
    if (family->pieces[i].part == part) {
      return &family->pieces[i];
    }
  }
  return NULL;
}

/// A view of the frames that make one cycle.
static VwSound
cycle_of(const VwPiece* piece, const VwSound* heard) {
  VwSound cycle = *heard;
  if (piece->has_loop) {
    cycle.values += piece->loop_start * cycle.n_channels;
    cycle.n_frames = piece->loop_end - piece->loop_start;
  }
  return cycle;
}

/// Repeat a cycle for as long as is shown and measured.
static VwStatus
repeat(const VwSound* cycle, const VwPlan* plan, PlotRepeats* repeats) {
  const size_t n = plan->n_frames;
  const size_t n_lead = (size_t)(LEAD_S * cycle->rate_hz) / n + 1U;
  const size_t n_times = n_lead + 2U + n_lead;
  VwStatus     st = vw_sound_init(
    &repeats->sound, n_times * n, cycle->n_channels, cycle->rate_hz);
  for (size_t i = 0; !st && i < n_times; ++i) {
    memcpy(repeats->sound.values + i * n * cycle->n_channels,
           cycle->values,
           cycle->n_frames * cycle->n_channels * sizeof(float));
  }
  repeats->span = (PlotSpan){.sound = &repeats->sound,
                             .from_frame = n_lead * n,
                             .to_frame = (n_lead + 2U) * n,
                             .zero_s = (double)(n_lead * n) / cycle->rate_hz};
  repeats->valley.crest_dbfs = NAN;
  return st || !plan->shots ? st
                            : vw_valley_of_loop(cycle, plan, &repeats->valley);
}

/// Take the sound of a loop or burst, to be freed also after a failure.
static VwStatus
repeats_take(const VwFamily* family, PlotRepeats* repeats) {
  const bool           burst = family->form == VW_FORM_BURST;
  const VwPiece* const piece =
    piece_of(family, burst ? VW_PART_BURST : VW_PART_LOOP);
  VwSound  heard = {0};
  VwStatus st =
    vw_sound_heard(&piece->sound, family->lamp_track.pulses, &heard);
  *repeats = (PlotRepeats){.burst = burst};
  if (!st && burst) {
    repeats->sound = heard;
    repeats->span =
      (PlotSpan){.sound = &repeats->sound, .to_frame = heard.n_frames};
  } else if (!st) {
    const VwSound   cycle = cycle_of(piece, &heard);
    VwValley* const valley = &repeats->valley;
    st = repeat(&cycle, &family->plan, repeats);
    // Of 8 bits the noise may fill it.
    valley->depth_db = family->plan.shots ? family->valley_db : (double)NAN;
    valley->quiet_dbfs = valley->crest_dbfs - valley->depth_db;
    vw_sound_clear(&heard);
  }
  return st;
}

static void
repeats_clear(PlotRepeats* repeats) {
  if (repeats) {
    vw_sound_clear(&repeats->sound);
    *repeats = (PlotRepeats){0};
  }
}

/* Places */

static double
ms_of(const Work* work, double frames) {
  return 1000.0 * frames / work->family->plan.rate_hz;
}

static size_t
n_shown(const Work* work) {
  return !work->family->plan.shots ? 0U
         : work->repeats.burst     ? work->report->settings->family.burst_shots
                                   : 2U * work->family->plan.shots;
}

/// When the attack of a shot sounds, ms.
static double
attack_ms(const Work* work, size_t shot) {
  return ms_of(work, (double)vw_plan_start(&work->family->plan, shot)) +
         1000.0 * VW_PRE_ROLL_S;
}

/// Mark the seam and the board's gaps.
static void
add_seam(Work* work, const PlotMarking* on) {
  const VwPlan* const plan = &work->family->plan;
  const double        cycle_ms = ms_of(work, (double)plan->n_frames);
  const double        gap_ms = ms_of(work, (double)plan->gap_frames);
  const PlotMark      seam = {
         cycle_ms, "seam", {VW_INK_BLACK, VW_STROKE_SOLID, 1.6}, false};
  for (unsigned i = 1; plan->gap_frames && i <= 2U; ++i) {
    const double ends[2] = {cycle_ms * i - gap_ms, cycle_ms * i};
    (void)plot_hatch(
      on,
      ends,
      i == 1U ? scene_text(&work->scene, "the board's gap, %.1f ms", gap_ms)
              : NULL);
  }
  plot_mark(on, &seam);
}

/// Mark the shallowest shot's crest and valley.
static void
add_valley(Work* work, const PlotMarking* on) {
  const VwValley* const valley = &work->repeats.valley;
  const PlotMark        crest = {
           ms_of(work, (double)valley->crest_frame), "crest", plot_pen_crest, false};
  const PlotMark quiet = {
    ms_of(work, (double)valley->quiet_frame), "valley", plot_pen_valley, false};
  if (isfinite(valley->depth_db)) {
    plot_mark(on, &crest);
    plot_mark(on, &quiet);
  }
}

static void
add_marks(Work* work, ScenePanel* panel, bool named) {
  const PlotMarking on = {&work->scene, panel, work->unit, named};
  for (size_t i = 0; i < n_shown(work); ++i) {
    const PlotMark attack = {
      attack_ms(work, i), i ? NULL : "first attack", plot_pen_attack, true};
    plot_mark(&on, &attack);
  }
  if (!work->repeats.burst) {
    add_seam(work, &on);
    add_valley(work, &on);
  }
}

/* Panels */

static void
add_wave(Work* work) {
  ScenePanel* const panel =
    scene_panel(&work->scene,
                work->repeats.burst ? "The burst, full scale is 1"
                                    : "Two repeats, full scale is 1",
                110.0);
  PlotSpan span = work->repeats.span;
  span.pen = (VwPen){VW_INK_BLUE, VW_STROKE_SOLID, 0.7};
  plot_axis(panel, &span, &work->unit, NULL);
  plot_wave(&work->scene, panel, &span, &work->unit);
  add_marks(work, panel, true);
  // An entry of the legend alone.
  if (n_shown(work)) {
    scene_trace(&work->scene,
                panel,
                &(VwTrace){.name = "attacks", .pen = plot_pen_attack});
  }
}

/// How alike the sound is to itself so much later, and the length taken.
static void
add_likeness(Work* work) {
  const VwJoin* const join = &work->family->join;
  const double        taken_s = ms_of(work, (double)join->n_frames) / 1000.0;
  const double step_s = (join->lag_to_s - join->lag_from_s) / VW_JOIN_POINTS;
  ScenePanel* const panel =
    scene_panel(&work->scene, "Likeness of the sound to itself, later", 90.0);
  const double from_s = fmin(join->lag_from_s, taken_s);
  const double to_s = fmax(join->lag_to_s, taken_s);
  double       least = 0.0;
  for (size_t i = 0; i < VW_JOIN_POINTS; ++i) {
    least = fmin(least, (double)join->over_lag[i]);
  }
  panel->panel.x =
    (VwAxis){from_s, to_s > from_s ? to_s : from_s + 0.001, false, "lag, s"};
  panel->panel.y = (VwAxis){floor(least * 5.0) / 5.0, 1.05, false, NULL};
  scene_trace(&work->scene,
              panel,
              &(VwTrace){.name = "highest about each lag",
                         .pen = {VW_INK_BLUE, VW_STROKE_SOLID, 1.0},
                         .x_first = join->lag_from_s + 0.5 * step_s,
                         .x_step = step_s,
                         .high = join->over_lag,
                         .n = VW_JOIN_POINTS});
  const PlotMarking on = {&work->scene, panel, (PlotUnit){1.0, "s"}, true};
  const PlotMark    taken = {
       1000.0 * taken_s, "taken", {VW_INK_BLACK, VW_STROKE_SOLID, 1.6}, false};
  plot_mark(&on, &taken);
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
  plot_axis(panel, &work->repeats.span, &work->unit, NULL);
  panel->panel.y = (VwAxis){0.0, 1.0, false, NULL};
  panel->panel.y_bare = true;
  for (size_t i = 0; i < n_shown(work); ++i) {
    const double from = attack_ms(work, i) * work->unit.per_s / 1000.0;
    const VwBand band = {i ? NULL : "lamp on",
                         from,
                         from + lamp->on_ms * work->unit.per_s / 1000.0,
                         VW_FILL_PLAIN,
                         VW_INK_ORANGE};
    scene_band(&work->scene, panel, &band);
  }
}

/// The levels between which the valley is told.
static void
add_depth(Work* work, ScenePanel* panel) {
  const VwValley* const valley = &work->repeats.valley;
  const VwTrace         crest = {
            .name = scene_text(&work->scene, "crest %.1f dBFS", valley->crest_dbfs),
            .pen = plot_pen_crest};
  const VwTrace quiet = {.name = scene_text(&work->scene,
                                            "valley %.1f dBFS, %.1f dB below",
                                            valley->quiet_dbfs,
                                            valley->depth_db),
                         .pen = plot_pen_valley};
  const VwPoint high[2] = {{panel->panel.x.from, valley->crest_dbfs},
                           {panel->panel.x.to, valley->crest_dbfs}};
  const VwPoint low[2] = {{panel->panel.x.from, valley->quiet_dbfs},
                          {panel->panel.x.to, valley->quiet_dbfs}};
  if (isfinite(valley->depth_db)) {
    scene_line(&work->scene, panel, &crest, high);
    scene_line(&work->scene, panel, &quiet, low);
  }
}

static VwStatus
add_level(Work* work) {
  ScenePanel* const panel =
    scene_panel(&work->scene, "Level over 10 ms above 100 Hz, dBFS", 110.0);
  PlotSpan span = work->repeats.span;
  span.pen = (VwPen){VW_INK_BLUE, VW_STROKE_SOLID, 1.4};
  plot_axis(panel,
            &span,
            &work->unit,
            scene_text(&work->scene,
                       "time from the start of the %s, %s",
                       work->repeats.burst ? "burst" : "loop",
                       work->unit.word));
  const VwStatus st = plot_level(&work->scene, panel, &span, &work->unit);
  plot_fit_level(&work->scene,
                 panel,
                 work->repeats.burst ? (double)NAN
                                     : work->repeats.valley.quiet_dbfs);
  if (!work->repeats.burst) {
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
  const VwStatus st =
    vw_sound_heard(&piece->sound, work->family->lamp_track.pulses, &heard);
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
  if (work->family->plan.shots) {
    add_lamp(work);
  }
  VwStatus st = add_level(work);
  if (work->family->join.n_frames && !work->family->join.shots) {
    add_likeness(work);
  }
  st = st ? st : add_piece(work, VW_PART_RUN_IN, "Run-in, before the loop");
  return st ? st
            : add_piece(work, VW_PART_RING_OUT, "Ring-out, after the loop");
}

/* Words */

static void
add_facts(Work* work) {
  const VwFamily* const family = work->family;
  const VwPlan* const   plan = &family->plan;
  Figures* const        all = report_figures(work->report);
  figures_set(all, "shots", work->report->settings->family.burst_shots);
  figures_set(all, "gap", plan->gap_frames);
  figures_set(all, "whole_ms", ms_of(work, (double)plan->n_frames));
  figures_set(all, "exact", family->join_residual_db <= EXACT_DB);
  figures_set(all, "faded", family->form == VW_FORM_WHOLE_FILE);
  figures_set(all, "fade_ms", 1000.0 * VW_CYCLE_FADE_S);
  if (family->join.n_frames) {
    figures_set(all, "noise", family->join.kind == VW_JOIN_NOISE);
    figures_set(all, "fires", plan->shots);
    scene_tell(
      &work->scene,
      all,
      "loop of {loop.join.length_ms}, {loop.frames} frames"
      "{fires?, {loop.shots} shots at {loop.fire_rate_per_s} per second}; "
      "joined {fires?in the quiet before a shot}{!fires?at a likeness of "
      "{loop.join.likeness:.4f} ({loop.join.kind}), level about it "
      "{loop.join.level_db:+.1f} dB}, crossfaded over {loop.join.blend_ms}; "
      "seam {exact?exact}{!exact?{loop.join_residual_db}}");
  } else if (work->repeats.burst) {
    scene_tell(&work->scene,
               all,
               "{shots} shots, {loop.fire_rate_per_s} per second, "
               "{loop.period_ms:.4f} ms from shot to shot");
  } else {
    scene_tell(
      &work->scene,
      all,
      "{loop.fire_rate_per_s} shots per second, {loop.period_ms:.4f} "
      "ms from shot to shot{loop.gap_heard? on average}; cycle of "
      "{loop.shots} shot{loop.shots:s}{loop.own_shots?, its own in turn}, "
      "{loop.frames} frames{gap? + "
      "{loop.gap_ms:.1f} ms of the board's gap = {whole_ms:.1f} ms}");
    scene_tell(
      &work->scene,
      all,
      "valley {loop.valley_db}; tails "
      "{loop.tightening_db:.1f} dB lower by the next shot; seam "
      "{exact?exact}{!exact?{loop.join_residual_db}}{faded? before the "
      "fade of {fade_ms:.6g} ms at each end of the file}");
  }
  plot_family_level(&work->scene, work->report);
  figures_free(all);
}

static void
add_notes(Work* work) {
  const char* const caution =
    caution_text(caution_of_flashes(work->family->lamp.pulse_hz));
  const char* const gap = report_warning(work->report, "gap_heard");
  if (gap) {
    scene_note(&work->scene, gap);
  }
  if (caution) {
    scene_note(&work->scene, scene_text(&work->scene, "CAUTION: %s.", caution));
  }
  plot_family_caution(&work->scene);
}

static SceneTitle
title_of(Work* work) {
  const Report* const report = work->report;
  const char* const   path = report->inputs[0].path;
  const char* const   name = vw_path_name(path);
  return (SceneTitle){
    report->n_inputs > 1U
      ? scene_text(
          &work->scene, "%s and %zu more in turns", name, report->n_inputs - 1U)
      : path,
    work->repeats.burst ? "The finished burst as it is written"
                        : "The loop as it repeats, its seam in the middle",
    n_shown(work) ? "A loop: waveform, lamp and level over two repeats."
                  : "A loop: waveform and level over two repeats."};
}

VwStatus
plot_loop(const Report* report, VwBytes* bytes) {
  Work     work = {.report = report, .family = report->family};
  VwStatus st = repeats_take(work.family, &work.repeats);
  if (!st) {
    const PlotSpan* const span = &work.repeats.span;
    work.unit = plot_unit((double)(span->to_frame - span->from_frame) /
                          span->sound->rate_hz);
    add_facts(&work);
    st = add_panels(&work);
    add_notes(&work);
  }
  if (!st) {
    const SceneTitle title = title_of(&work);
    st = scene_draw(&work.scene, &title, report->settings->plot, bytes);
  }
  scene_clear(&work.scene);
  repeats_clear(&work.repeats);
  return st;
}
