// A recording, and where in it what was found lies, as a picture.

#include "cli/gauging/gauging.h"
#include "cli/plot/scene.h"

#include <math.h>

// Seen closely, something has so much beside it at least.
#define BESIDE_S 0.02

/// Show a stretch of the recording, and hatch in it what was found. Returns
/// what can be marked.
static PlotMarking
add_panel(Scene*              scene,
          const GaugePicture* of,
          const double        ends_s[2],
          const char*         heading) {
  const double      rate_hz = of->sound->rate_hz;
  const double      whole_s = (double)of->sound->n_frames / rate_hz;
  const double      from_s = fmax(ends_s[0], 0.0);
  const double      to_s = fmin(ends_s[1], whole_s);
  ScenePanel* const panel = scene_panel(scene, heading, 120.0);
  const PlotUnit    unit = plot_unit(to_s - from_s);
  const PlotSpan    span = {.sound = of->sound,
                            .from_frame = (size_t)(from_s * rate_hz),
                            .to_frame = (size_t)(to_s * rate_hz),
                            .pen = {VW_INK_BLUE, VW_STROKE_SOLID, 1.2}};
  const PlotMarking on = {scene, panel, unit, true};
  plot_axis(panel,
            &span,
            &unit,
            scene_text(scene, "time in the recording, %s", unit.word));
  plot_wave(scene, panel, &span, &unit);
  panel->panel.y_bare = true;
  for (size_t i = 0; i < of->n; ++i) {
    const double begins_ms = 1e3 * (of->first_s + (double)i * of->each_s);
    const double ends_ms[2] = {begins_ms, begins_ms + 1e3 * of->long_s};
    (void)plot_hatch(&on, ends_ms, i ? NULL : of->name);
  }
  return on;
}

/// Show the first of them closely, with its ends.
static void
add_closely(Scene* scene, const GaugePicture* of) {
  const double      beside_s = fmax(of->long_s, BESIDE_S);
  const double      behind_s = of->first_s + of->long_s;
  const double      ends_s[2] = {of->first_s - beside_s, behind_s + beside_s};
  const PlotMarking on =
    add_panel(scene, of, ends_s, "The first of them, closely");
  plot_mark(&on,
            &(PlotMark){1e3 * of->first_s, of->begins, plot_pen_attack, false});
  plot_mark(&on, &(PlotMark){1e3 * behind_s, of->ends, plot_pen_end, false});
}

VwStatus
gauge_plot(const GaugePicture* of, const char* plot, VwBytes* bytes) {
  Scene            scene = {0};
  const SceneTitle title = {of->path, of->headline, of->description};
  const double     whole_s =
    (double)of->sound->n_frames / (double)of->sound->rate_hz;
  const double ends_s[2] = {of->n ? of->first_s + of->long_s - of->each_s : 0.0,
                            of->n ? of->first_s + (double)of->n * of->each_s
                                  : whole_s};
  (void)add_panel(&scene, of, ends_s, of->heading);
  if (of->n) {
    add_closely(&scene, of);
  }
  const VwStatus st = scene_draw(&scene, &title, plot, bytes);
  scene_clear(&scene);
  return st;
}
