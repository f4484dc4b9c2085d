#include "plot.h"

#include "line.h"
#include "plot_family.h"
#include "plot_marks.h"

#include <math.h>

#define PRE_ROLL_S 0.002

/// A take and what was made of it, on their way onto a page.
typedef struct {
  Scene          scene;
  const Report*  report;
  const Input*   input;
  const VwSound* after; ///< What was made.
  PlotSpan       before;
  PlotSpan       made;
  double         start_s; ///< Where in the take it begins.
} Work;

static const VwPen pen_before = {VW_INK_GREY, VW_STROKE_SOLID, 0.7};
static const VwPen pen_after = {VW_INK_BLUE, VW_STROKE_SOLID, 0.7};

static void
add_before(Work* work) {
  ScenePanel* const panel =
    scene_panel(&work->scene, "Before: the take, full scale is 1", 105.0);
  const VwSound* const sound = work->before.sound;
  const PlotUnit unit = plot_unit((double)sound->n_frames / sound->rate_hz);
  plot_axis(panel,
            &work->before,
            &unit,
            scene_text(&work->scene, "time in the take, %s", unit.word));
  plot_wave(&work->scene, panel, &work->before, &unit);
  if (work->input->has_shot) {
    const PlotMarking on = {&work->scene, panel, unit, true};
    plot_shot_marks(&on, &work->input->facts);
  }
}

static PlotUnit
unit_after(const Work* work) {
  return plot_unit((double)work->after->n_frames / work->after->rate_hz);
}

/// Mark attack and crest of the shot as it was cut.
static void
add_marks(Work* work, ScenePanel* panel, bool named) {
  const PlotMarking      on = {&work->scene, panel, unit_after(work), named};
  const VwTakeUse* const use = &work->report->family->uses[0];
  const double           crest_ms =
    1000.0 * (double)use->crest_frame / work->after->rate_hz;
  const PlotMark attack = {
    1000.0 * PRE_ROLL_S, "attack", plot_pen_attack, false};
  const PlotMark crest = {crest_ms, "crest", plot_pen_crest, false};
  if (work->input->has_shot) {
    plot_mark(&on, &attack);
    plot_mark(&on, &crest);
  }
}

static void
add_after(Work* work) {
  ScenePanel* const panel =
    scene_panel(&work->scene, "After: as written, full scale is 1", 105.0);
  const PlotUnit unit = unit_after(work);
  plot_axis(panel, &work->made, &unit, NULL);
  plot_wave(&work->scene, panel, &work->made, &unit);
  add_marks(work, panel, true);
}

/// The take's level where the shot lies, under that of the shot.
static VwStatus
add_level(Work* work) {
  const PlotUnit       unit = unit_after(work);
  const VwSound* const take = work->before.sound;
  ScenePanel* const    panel =
    scene_panel(&work->scene, "Level over 10 ms above 100 Hz, dBFS", 120.0);
  const double seconds = (double)work->after->n_frames / work->after->rate_hz;
  const double from_s = fmax(work->start_s, 0.0);
  PlotSpan     before = {
        .sound = take,
        .from_frame = (size_t)(from_s * take->rate_hz + 0.5),
        .to_frame = (size_t)((work->start_s + seconds) * take->rate_hz + 0.5),
        .zero_s = work->start_s,
        .name = "before",
        .pen = {VW_INK_GREY, VW_STROKE_DASHED, 1.4}};
  PlotSpan after = work->made;
  after.name = "after";
  after.pen.width = 1.4;
  plot_axis(panel,
            &work->made,
            &unit,
            scene_text(&work->scene,
                       "time in the %s, %s",
                       work->input->has_shot ? "shot" : "file",
                       unit.word));
  VwStatus st = plot_level(&work->scene, panel, &before, &unit);
  st = st ? st : plot_level(&work->scene, panel, &after, &unit);
  plot_fit_level(panel, NAN);
  add_marks(work, panel, false);
  return st;
}

static void
add_facts(Work* work) {
  const VwShotFacts* const facts = &work->input->facts;
  char                     start[40];
  char                     end[40];
  plot_family_level(&work->scene, work->report->family);
  if (work->input->has_shot) {
    // Where the take begins later, silence takes the place of what is missing.
    scene_fact(&work->scene,
               work->start_s > 0.0
                 ? scene_text(&work->scene,
                              "cut from %s, 2 ms before the attack, to %s in "
                              "the take",
                              line_duration(start, 1000.0 * work->start_s),
                              line_duration(end, facts->end_ms))
                 : scene_text(&work->scene,
                              "cut from the take's start to %s",
                              line_duration(end, facts->end_ms)));
  }
}

VwStatus
plot_shot(const Report* report, VwBytes* bytes) {
  const Input* const input = &report->inputs[0];
  VwSound            heard = {0};
  VwStatus           st =
    plot_family_heard(report->family, &report->family->pieces[0].sound, &heard);
  Work work = {
    .report = report,
    .input = input,
    .after = &heard,
    .before = {.sound = &input->take.sound,
               .to_frame = input->take.sound.n_frames,
               .pen = pen_before},
    .made = {.sound = &heard, .to_frame = heard.n_frames, .pen = pen_after},
    .start_s =
      input->has_shot ? input->facts.attack_ms / 1000.0 - PRE_ROLL_S : 0.0};
  const SceneTitle title = {input->path,
                            input->has_shot
                              ? "The shot, cut out of its take and brought to "
                                "its level"
                              : "The sound, converted for the board",
                            "A sound before and after: waveforms and levels."};
  if (!st) {
    add_facts(&work);
    add_before(&work);
    add_after(&work);
    st = add_level(&work);
    plot_family_caution(&work.scene);
  }
  st = st ? st : scene_draw(&work.scene, &title, report->settings->plot, bytes);
  scene_clear(&work.scene);
  vw_sound_clear(&heard);
  return st;
}
