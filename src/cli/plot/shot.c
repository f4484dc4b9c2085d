#include "cli/message/figures.h"
#include "cli/plot/scene.h"
#include "signal/signal.h"
#include "take/take.h"

#include <math.h>
#include <stdlib.h>

// So much of the take is shown about a shot, in lengths of it.
#define ABOUT 0.2

/// A take and what was made of it, on their way onto a page.
typedef struct {
  Scene          scene;
  const Report*  report;
  const Input*   input;
  const VwSound* after; ///< What was made.
  PlotSpan       before;
  PlotSpan       made;
  double         start_s; ///< Where in the take it begins.
  double         from_s;  ///< What is shown, in the take's time.
  double         to_s;
} Work;

static const VwPen pen_before = {VW_INK_SILVER, VW_STROKE_SOLID, 0.7};
static const VwPen pen_after = {VW_INK_BLUE, VW_STROKE_SOLID, 0.7};

/* Time */

/// Frames of the take that are shown.
static size_t
frame_shown(const VwSound* take, double seconds) {
  return (size_t)(fmax(seconds, 0.0) * take->rate_hz + 0.5);
}

/// Choose what is shown: the shot and something about it, or all.
static void
choose_span(Work* work) {
  const VwSound* const take = work->before.sound;
  const double length_s = (double)work->after->n_frames / work->after->rate_hz;
  const double take_s = (double)take->n_frames / take->rate_hz;
  const double about_s = work->input->has_shot ? ABOUT * length_s : take_s;
  const double end_s = work->start_s + length_s;
  work->from_s = fmin(fmax(work->start_s - about_s, 0.0), work->start_s);
  work->to_s = fmax(fmin(end_s + about_s, take_s), end_s);
  work->before.from_frame = frame_shown(take, work->from_s);
  work->before.to_frame = frame_shown(take, work->to_s);
}

/// Let a panel show that, in the take's time or in that of the shot.
static PlotUnit
show_span(Work* work, ScenePanel* panel, bool in_take) {
  const double   zero_s = in_take ? 0.0 : work->start_s;
  const PlotUnit unit =
    plot_unit(in_take ? work->to_s : work->to_s - work->from_s);
  const char* const of = in_take                 ? "take"
                         : work->input->has_shot ? "shot"
                                                 : "file";
  panel->panel.x =
    (VwAxis){(work->from_s - zero_s) * unit.per_s,
             (work->to_s - zero_s) * unit.per_s,
             false,
             scene_text(&work->scene, "time in the %s, %s", of, unit.word),
             1.0 / unit.per_s};
  return unit;
}

/* Panels */

static ScenePanel*
add_before(Work* work) {
  ScenePanel* const panel =
    scene_panel(&work->scene, "Before: the take, full scale is 1", 105.0);
  const PlotUnit unit = show_span(work, panel, true);
  plot_wave(&work->scene, panel, &work->before, &unit);
  if (work->input->has_shot) {
    const PlotMarking on = {&work->scene, panel, unit, true};
    plot_shot_marks(&on, &work->input->facts);
  }
  return panel;
}

/// Mark attack, crest and end of the shot as it was cut; beside the take's
/// level hatch what is no part of it.
static void
add_marks(Work* work, const PlotMarking* on) {
  const VwTakeUse* const use = &work->report->family->uses[0];
  const double           per_frame = 1000.0 / work->after->rate_hz;
  const double           length_ms = per_frame * (double)work->after->n_frames;
  const double   end_ms = work->input->facts.end_ms - 1000.0 * work->start_s;
  const double   before[2] = {-HUGE_VAL, 0.0};
  const double   behind[2] = {length_ms, HUGE_VAL};
  const PlotMark marks[] = {
    {1000.0 * VW_PRE_ROLL_S, "attack", plot_pen_attack, false},
    {per_frame * (double)use->crest_frame, "crest", plot_pen_crest, false},
    {fmin(end_ms, length_ms), "tail ends", plot_pen_end, false}};
  if (!work->input->has_shot) {
    return;
  }
  if (!on->named) {
    (void)plot_hatch(on, before, NULL);
    (void)plot_hatch(on, behind, NULL);
  }
  for (size_t i = 0; i < sizeof(marks) / sizeof(marks[0]); ++i) {
    plot_mark(on, &marks[i]);
  }
}

static ScenePanel*
add_after(Work* work) {
  ScenePanel* const panel =
    scene_panel(&work->scene, "After: as written, full scale is 1", 105.0);
  const PlotUnit    unit = show_span(work, panel, false);
  const PlotMarking on = {&work->scene, panel, unit, true};
  plot_wave(&work->scene, panel, &work->made, &unit);
  add_marks(work, &on);
  return panel;
}

/// The same height for both.
static void
add_waves(Work* work) {
  ScenePanel* const before = add_before(work);
  ScenePanel* const after = add_after(work);
  VwAxis* const     y = &before->panel.y;
  *y = after->panel.y.to > y->to ? after->panel.y : *y;
  after->panel.y = *y;
}

/// The take's level where the shot lies, as a band under that of the shot.
static VwStatus
add_level(Work* work) {
  ScenePanel* const panel =
    scene_panel(&work->scene, "Level over 10 ms above 100 Hz, dBFS", 120.0);
  const PlotUnit    unit = show_span(work, panel, false);
  const PlotMarking on = {&work->scene, panel, unit, false};
  PlotSpan          before = work->before;
  PlotSpan          after = work->made;
  before.zero_s = work->start_s;
  before.name = "before";
  before.pen.width = 5.0;
  after.name = "after";
  after.pen.width = 1.4;
  VwStatus st = plot_level(&work->scene, panel, &before, &unit);
  st = st ? st : plot_level(&work->scene, panel, &after, &unit);
  plot_fit_level(&work->scene, panel, NAN);
  add_marks(work, &on);
  return st;
}

static void
add_facts(Work* work) {
  plot_family_level(&work->scene, work->report);
  if (work->input->has_shot) {
    Figures* const all = report_figures(work->report);
    // Where the take begins later, silence takes the place of what is missing.
    figures_set(all, "inside", work->start_s > 0.0);
    figures_set(all, "start_ms", 1000.0 * work->start_s);
    scene_tell(&work->scene,
               all,
               "{inside?cut from {start_ms}, 2 ms before the attack, to "
               "{shot.end_ms} in the take: the attack lies 2 ms behind the "
               "start}{!inside?cut from the take's start to {shot.end_ms}; "
               "quiet is put before it, for the attack to lie 2 ms behind the "
               "start}");
    figures_free(all);
  }
  plot_family_warnings(&work->scene, work->report);
}

VwStatus
plot_shot(const Report* report, VwBytes* bytes) {
  const Input* const input = &report->inputs[0];
  VwSound            heard = {0};
  VwStatus           st = vw_sound_heard(&report->family->pieces[0].sound,
                               report->family->lamp_track.pulses,
                               &heard);
  Work               work = {
                  .report = report,
                  .input = input,
                  .after = &heard,
                  .before = {.sound = &input->take.sound, .pen = pen_before},
                  .made = {.sound = &heard, .to_frame = heard.n_frames, .pen = pen_after},
                  .start_s =
      input->has_shot ? input->facts.attack_ms / 1000.0 - VW_PRE_ROLL_S : 0.0};
  const SceneTitle title = {input->path,
                            input->has_shot
                              ? "The shot, cut out of its take and brought to "
                                "its level"
                              : "The sound, converted for the board",
                            "A sound before and after: waveforms and levels."};
  if (!st) {
    choose_span(&work);
    add_facts(&work);
    add_waves(&work);
    st = add_level(&work);
    plot_family_caution(&work.scene);
  }
  st = st ? st : scene_draw(&work.scene, &title, report->settings->plot, bytes);
  scene_clear(&work.scene);
  vw_sound_clear(&heard);
  return st;
}

void
plot_family_level(Scene* scene, const Report* report) {
  const VwFamily* const family = report->family;
  Figures* const        all = report_figures(report);
  figures_set(all, "stereo", family->format.n_channels > 1U);
  figures_set(all, "sample_rate", family->format.rate_hz);
  figures_set(all, "encoding", vw_encoding_name(family->format.encoding));
  // What is joined has no shot by itself.
  figures_set(all,
              "whole",
              family->pieces[0].part == VW_PART_WHOLE ||
                family->join.n_frames > 0U);
  scene_tell(scene,
             all,
             "{stereo?stereo}{!stereo?mono}, {sample_rate} Hz, {encoding}; "
             "gain {level.gain_db:.1f} dB, limiting {level.limiting_db:.1f} dB "
             "(over 1 dB: {level.limiting_share:%} of the time); "
             "{whole?sound}{!whole?shot} {level.shot_loudness_lufs}, true peak "
             "{level.true_peak_dbtp}");
  figures_free(all);
}

void
plot_family_warnings(Scene* scene, const Report* report) {
  const char* const take = report->inputs[0].path;
  for (size_t i = 0; i < report->n_warnings; ++i) {
    const Warning* const warning = &report->warnings[i];
    if (warning->take == take) {
      scene_fact(scene, scene_text(scene, "warning: %s", warning->text));
    }
  }
}

void
plot_family_caution(Scene* scene) {
  scene_note(
    scene, scene_text(scene, "CAUTION: %s.", caution_text(VW_CAUTION_HEARING)));
}
