#include "cli/message/message.h"
#include "cli/plot/scene.h"
#include "signal/signal.h"
#include "take/take.h"

#include <math.h>

// About a dot of the picture, of a panel that shows full scale.
#define OFFSET_SEEN 0.005

/// A take on its way onto a page.
typedef struct {
  Scene        scene;
  const Input* input;
  PlotSpan     span;
  PlotUnit     unit;
} Work;

/* Facts */

static void
add_facts(Work* work, const Report* report) {
  const VwSound* const sound = &work->input->take.sound;
  Figures* const       all = report_figures(report);
  figures_set(
    all, "take_ms", 1000.0 * (double)sound->n_frames / sound->rate_hz);
  figures_set(all, "sample_rate", sound->rate_hz);
  figures_set(all, "channels", sound->n_channels);
  figures_set(
    all, "at_start", work->input->facts.attack_ms < 1000.0 * VW_PRE_ROLL_S);
  scene_tell(&work->scene,
             all,
             "{take_ms}, {sample_rate} Hz, {channels} channel{channels:s}; "
             "{shot?{shot.kind}}{!shot?no shot found}"
             "{shot.places?, {shot.shots_in_take} shots{shot.rapid? at "
             "{shot.rapid.fire_rate_per_s:.2f} per second}}");
  if (work->input->has_shot) {
    scene_tell(&work->scene,
               all,
               "length {shot.length_ms} from {at_start?the take's start}"
               "{!at_start?2 ms before the attack} to the tail's end; rise "
               "time {shot.rise_ms}; "
               "{shot.pitch_attack_hz?pitch {shot.pitch_attack_hz}}"
               "{!shot.pitch_attack_hz?no pitch} at the attack");
  }
  if (work->input->has_shot && work->input->facts.kind != VW_KIND_SUSTAINED) {
    scene_tell(&work->scene,
               all,
               "{shot.fastest_fire_rate_per_s?fastest without tightening "
               "{shot.fastest_fire_rate_per_s:.1f}/s}"
               "{!shot.fastest_fire_rate_per_s?without tightening below 4.0/s "
               "only: its tail is long}");
  }
  figures_free(all);
}

/// Mark each shot of a take that has several.
static void
mark_events(const PlotMarking* on, const Input* input) {
  const VwEvents* const events = &input->events;
  const double          per_frame = 1000.0 / input->take.sound.rate_hz;
  for (size_t i = 0; input->facts.shots_in_take > 1U && i < events->n_events;
       ++i) {
    const PlotMark mark = {per_frame * (double)events->events[i].start_frame,
                           NULL,
                           plot_pen_attack,
                           true};
    plot_mark(on, &mark);
  }
}

/// Mark the shot, where there is one, with labels on the first panel.
static void
add_marks(Work* work, ScenePanel* panel) {
  const PlotMarking on = {
    &work->scene, panel, work->unit, panel == &work->scene.panels[0]};
  if (work->input->has_shot) {
    plot_shot_marks(&on, &work->input->facts);
    mark_events(&on, work->input);
  }
}

/* Panels */

static void
add_noise(Work* work, ScenePanel* panel) {
  const double  noise = work->input->facts.noise_floor_dbfs;
  const VwTrace style = {
    .name = scene_text(&work->scene, "noise floor %.1f dBFS", noise),
    .pen = {VW_INK_BLACK, VW_STROKE_DOTTED, 1.2}};
  const VwPoint ends[2] = {{panel->panel.x.from, noise},
                           {panel->panel.x.to, noise}};
  if (work->input->has_shot && isfinite(noise)) {
    scene_line(&work->scene, panel, &style, ends);
  }
}

static void
add_decay(Work* work, ScenePanel* panel) {
  const VwShotFacts* const facts = &work->input->facts;
  const VwDecayLine* const line = &facts->decay_line;
  const bool               is_t30 = isfinite(facts->decay_t30_s);
  const double             per_ms = work->unit.per_s / 1000.0;
  const VwTrace            style = {
               .name = scene_text(&work->scene,
                       "decay by 60 dB in %.3f s (%s)",
                       is_t30 ? facts->decay_t30_s : facts->decay_t20_s,
                       is_t30 ? "T30" : "T20"),
               .pen = {VW_INK_BLACK, VW_STROKE_DASHED, 1.8}};
  const VwPoint ends[2] = {{per_ms * line->from_ms, line->from_dbfs},
                           {per_ms * line->to_ms, line->to_dbfs}};
  if (work->input->has_shot && isfinite(line->from_ms)) {
    scene_line(&work->scene, panel, &style, ends);
  }
}

static VwStatus
add_level(Work* work) {
  ScenePanel* const panel =
    scene_panel(&work->scene, "Level over 10 ms, dBFS", 120.0);
  plot_axis(panel, &work->span, &work->unit, NULL);
  PlotSpan span = work->span;
  span.name = "above 100 Hz";
  span.pen.width = 1.2;
  const VwStatus st = plot_level(&work->scene, panel, &span, &work->unit);
  plot_fit_level(&work->scene,
                 panel,
                 work->input->has_shot ? work->input->facts.noise_floor_dbfs
                                       : (double)NAN);
  add_noise(work, panel);
  add_decay(work, panel);
  add_marks(work, panel);
  return st;
}

/// The pitch of the shot, or of a take without one.
static VwStatus
add_pitch(Work* work) {
  const VwShotFacts* const facts = &work->input->facts;
  const bool               shot = work->input->has_shot;
  const size_t             n_panels = work->scene.n_panels;
  const VwStretch pitched = {shot ? facts->attack_frame : work->span.from_frame,
                             shot ? facts->end_frame : work->span.to_frame,
                             0U};
  const VwStatus st =
    pitched.to_frame > pitched.from_frame
      ? plot_pitch(&work->scene, &work->span, &pitched, &work->unit)
      : VW_OK;
  if (work->scene.n_panels > n_panels) {
    add_marks(work, &work->scene.panels[n_panels]);
  }
  return st;
}

static VwStatus
add_spectrum(Work* work) {
  ScenePanel* const panel = scene_panel(&work->scene, "Frequencies, Hz", 120.0);
  plot_axis(panel,
            &work->span,
            &work->unit,
            scene_text(&work->scene, "time in the take, %s", work->unit.word));
  const VwStatus st = plot_spectrum(&work->scene, panel, &work->span);
  add_marks(work, panel);
  return st;
}

static VwStatus
add_panels(Work* work) {
  ScenePanel* const panel =
    scene_panel(&work->scene, "Waveform, full scale is 1", 120.0);
  plot_axis(panel, &work->span, &work->unit, NULL);
  plot_wave(&work->scene, panel, &work->span, &work->unit);
  add_marks(work, panel);
  // An entry of the legend alone.
  if (work->input->has_shot && work->input->facts.shots_in_take > 1U) {
    scene_trace(
      &work->scene, panel, &(VwTrace){.name = "shots", .pen = plot_pen_attack});
  }
  VwStatus st = add_level(work);
  st = st ? st : add_pitch(work);
  return st ? st : add_spectrum(work);
}

VwStatus
plot_inspect(const Report* report, VwBytes* bytes) {
  const Input* const   input = &report->inputs[0];
  const VwSound* const sound = &input->take.sound;
  // What lies outside of the stretch asked for is left out.
  VwSound used = *sound;
  (void)vw_stretch_view(sound, &report->settings->family.find, &used);
  const size_t from = (size_t)(used.values - sound->values) / sound->n_channels;
  Work         work = {.input = input,
                       .span = {.sound = sound,
                                .from_frame = from,
                                .to_frame = from + used.n_frames,
                                .pen = {VW_INK_BLUE, VW_STROKE_SOLID, 0.7}},
                       .unit = plot_unit((double)used.n_frames / sound->rate_hz)};
  const SceneTitle title = {
    input->path,
    fabs(input->take.dc_offset) > OFFSET_SEEN
      ? "The take as it came, without its offset, and what was found in it"
      : "The take as it came, and what was found in it",
    "A take: its waveform, its level and its frequencies over time."};
  add_facts(&work, report);
  plot_family_warnings(&work.scene, report);
  VwStatus st = add_panels(&work);
  st = st ? st : scene_draw(&work.scene, &title, report->settings->plot, bytes);
  scene_clear(&work.scene);
  return st;
}
