// What a speaker plays, before and after, and what is cut, as a picture.

#include "base/units.h"
#include "cli/gauging/speaker.h"
#include "cli/plot/scene.h"

#include <math.h>

// Values along x lie evenly, and the frequencies do not: enough of them for the
// lowest octave.
#define STEP_HZ 5.0
#define FROM_HZ 80.0
#define TO_HZ 16000.0

#define DEEPEST_DB (-40.0)

/// A response between its points; NaN outside of them.
static double
between(const VwSpeakerGauged* of, const double* db, double hz) {
  const double at = VW_RESPONSE_FINE * log2(hz / of->fine[0].hz);
  const size_t i = (size_t)fmax(at, 0.0);
  const double part = at - (double)i;
  return at < 0.0 || i + 1U >= of->n_fine
           ? (double)NAN
           : (1.0 - part) * db[i] + part * db[i + 1U];
}

/// A line through values that lie at the response's points.
static void
add_line(Scene*                 scene,
         ScenePanel*            panel,
         const VwSpeakerGauged* of,
         const double*          db,
         VwTrace                style) {
  const size_t n = (size_t)((TO_HZ - FROM_HZ) / STEP_HZ) + 1U;
  float* const values = scene_room(scene, n, sizeof(float));
  for (size_t i = 0; values && i < n; ++i) {
    const double hz = FROM_HZ + STEP_HZ * (double)i;
    const double value = between(of, db, hz);
    values[i] = (float)fmax(value, isnan(value) ? value : panel->panel.y.from);
  }
  if (values) {
    style.x_first = FROM_HZ;
    style.x_step = STEP_HZ;
    style.high = values;
    style.n = n;
    scene_trace(scene, panel, &style);
  }
}

static void
add_marks(Scene* scene, ScenePanel* panel, const VwSpeakerGauged* of) {
  const VwMark corner = {of->corner_hz,
                         scene_text(scene, "corner %.0f Hz", of->corner_hz),
                         {VW_INK_BLACK, VW_STROKE_DOTTED, 1.0},
                         false};
  if (!isnan(of->corner_hz)) {
    scene_mark(scene, panel, &corner);
  }
  for (size_t i = 0; i < of->n_resonances; ++i) {
    const VwResonance* const at = &of->resonances[i];
    const VwMark             mark = {at->hz,
                                     scene_text(scene, "%.0f Hz %+.1f dB", at->hz, at->db),
                                     {VW_INK_GREY, VW_STROKE_SOLID, 1.0},
                                     true};
    scene_mark(scene, panel, &mark);
  }
}

VwStatus
speaker_plot(const SpeakerReport* report, VwBytes* bytes) {
  const VwSpeakerGauged* const of = &report->gauged;
  Scene                        scene = {0};
  double                       before[VW_RESPONSE_MOST];
  double                       does[VW_RESPONSE_MOST];
  double                       most = 0.0;
  for (size_t i = 0; i < of->n_fine; ++i) {
    before[i] = of->fine[i].db;
    does[i] =
      vw_speaker_db(&of->proposed, of->fine[i].hz, VW_SAMPLE_RATE_USUAL_HZ);
    most = fmax(most, before[i]);
  }
  ScenePanel* const panel =
    scene_panel(&scene, "Response, dB to its mean from 300 Hz to 4 kHz", 220.0);
  panel->panel.x = (VwAxis){FROM_HZ, TO_HZ, true, "frequency, Hz", 0.0};
  panel->panel.y =
    (VwAxis){DEEPEST_DB, 5.0 * ceil(most / 5.0 + 0.5), false, NULL, 0.0};
  add_line(&scene,
           panel,
           of,
           before,
           (VwTrace){.name = "as it plays",
                     .pen = {VW_INK_BLUE, VW_STROKE_SOLID, 1.4}});
  add_line(&scene,
           panel,
           of,
           of->after_db,
           (VwTrace){.name = "made for it",
                     .pen = {VW_INK_VERMILION, VW_STROKE_DASHED, 1.4}});
  add_line(&scene,
           panel,
           of,
           does,
           (VwTrace){.name = "what is cut",
                     .pen = {VW_INK_BLACK, VW_STROKE_DOTTED, 1.2}});
  add_marks(&scene, panel, of);
  const SceneTitle title = {
    report->saved ? report->saved : report->recordings[report->best].path,
    "A speaker, and what is made for it",
    "A speaker's response over frequency: as it plays, with sounds made for "
    "it, and what is cut."};
  plot_family_caution(&scene);
  const VwStatus st = scene_draw(&scene, &title, report->settings->plot, bytes);
  scene_clear(&scene);
  return st;
}
