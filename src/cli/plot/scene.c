#include "cli/plot/scene.h"

#include "cli/message/figures.h"
#include "store/store.h"
#include "take/take.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// 1200 pixels.
#define WIDTH 600.0

/* Room */

/// Keep what is to be freed in the end.
static void*
keep(Scene* scene, void* made) {
  void** const grown =
    made ? realloc(scene->owned, (scene->n_owned + 1U) * sizeof(void*)) : NULL;
  if (!grown) {
    free(made);
    scene->full = true;
    return NULL;
  }
  scene->owned = grown;
  scene->owned[scene->n_owned++] = made;
  return made;
}

void*
scene_room(Scene* scene, size_t n, size_t size) {
  return keep(scene, calloc(n + 1U, size));
}

const char*
scene_text(Scene* scene, const char* format, ...) {
  va_list arguments;
  va_start(arguments, format);
  const char* const text = keep(scene, text_format_list(format, arguments));
  va_end(arguments);
  return text ? text : "";
}

static void
add_text(Scene* scene, const char** list, size_t* n, const char* text) {
  if (*n < SCENE_TEXTS) {
    list[(*n)++] = scene_text(scene, "%s", text);
  }
}

void
scene_fact(Scene* scene, const char* text) {
  add_text(scene, scene->facts, &scene->n_facts, text);
}

void
scene_tell(Scene* scene, const Figures* figures, const char* words) {
  char* const text = figures_words(figures, words);
  scene_fact(scene, text);
  free(text);
}

void
scene_note(Scene* scene, const char* text) {
  add_text(scene, scene->notes, &scene->n_notes, text);
}

/* Panels */

ScenePanel*
scene_panel(Scene* scene, const char* heading, double height) {
  scene->n_panels += scene->n_panels < SCENE_PANELS;
  ScenePanel* const panel = &scene->panels[scene->n_panels - 1U];
  panel->panel.heading = heading;
  panel->panel.height = height;
  return panel;
}

/// Room for one more item in a list; the list as it was without memory.
static void*
grow(Scene* scene, void* list, size_t n_bytes) {
  void* const grown = scene->full ? NULL : realloc(list, n_bytes);
  scene->full = scene->full || !grown;
  return grown ? grown : list;
}

void
scene_band(Scene* scene, ScenePanel* panel, const VwBand* band) {
  panel->bands =
    grow(scene, panel->bands, (panel->n_bands + 1U) * sizeof(VwBand));
  if (!scene->full) {
    panel->bands[panel->n_bands++] = *band;
  }
}

void
scene_trace(Scene* scene, ScenePanel* panel, const VwTrace* trace) {
  panel->traces =
    grow(scene, panel->traces, (panel->n_traces + 1U) * sizeof(VwTrace));
  if (!scene->full) {
    panel->traces[panel->n_traces++] = *trace;
  }
}

void
scene_mark(Scene* scene, ScenePanel* panel, const VwMark* mark) {
  panel->marks =
    grow(scene, panel->marks, (panel->n_marks + 1U) * sizeof(VwMark));
  if (!scene->full) {
    panel->marks[panel->n_marks++] = *mark;
  }
}

void
scene_line(Scene*         scene,
           ScenePanel*    panel,
           const VwTrace* style,
           const VwPoint  ends[2]) {
  float* const values = scene_room(scene, 2U, sizeof(float));
  VwTrace      line = *style;
  if (values) {
    values[0] = (float)ends[0].y;
    values[1] = (float)ends[1].y;
    line.x_first = ends[0].x;
    line.x_step = ends[1].x - ends[0].x;
    line.high = values;
    line.n = 2U;
    scene_trace(scene, panel, &line);
  }
}

/* Draw */

static void
fill_in(Scene* scene, VwPanel* panels) {
  for (size_t i = 0; i < scene->n_panels; ++i) {
    ScenePanel* const panel = &scene->panels[i];
    panel->panel.bands = panel->bands;
    panel->panel.n_bands = panel->n_bands;
    panel->panel.traces = panel->traces;
    panel->panel.n_traces = panel->n_traces;
    panel->panel.marks = panel->marks;
    panel->panel.n_marks = panel->n_marks;
    panel->panel.raster = panel->raster.greys ? &panel->raster : NULL;
    panels[i] = panel->panel;
  }
}

/// The description, and the cautions for who does not see them. To be freed;
/// NULL without memory.
static char*
described(const Scene* scene, const char* description) {
  char* all = text_format("%s", description);
  for (size_t i = 0; all && i < scene->n_notes; ++i) {
    if (!strncmp(scene->notes[i], "CAUTION", strlen("CAUTION"))) {
      char* const more = text_format("%s %s", all, scene->notes[i]);
      free(all);
      all = more;
    }
  }
  return all;
}

VwStatus
scene_draw(Scene*            scene,
           const SceneTitle* title,
           const char*       path,
           VwBytes*          bytes) {
  char* const name = text_safe(vw_path_name(title->path));
  char* const told = described(scene, title->description);
  VwPanel     panels[SCENE_PANELS];
  fill_in(scene, panels);
  const VwChart  chart = {.width = WIDTH,
                          .name = name,
                          .headline = title->headline,
                          .facts = scene->facts,
                          .n_facts = scene->n_facts,
                          .panels = panels,
                          .n_panels = scene->n_panels,
                          .notes = scene->notes,
                          .n_notes = scene->n_notes,
                          .description = told};
  const VwStatus st = scene->full || !name || !told
                        ? VW_NO_MEMORY
                        : vw_chart_draw(&chart, plot_format(path), bytes);
  free(name);
  free(told);
  return st;
}

void
scene_clear(Scene* scene) {
  if (!scene) {
    return;
  }
  for (size_t i = 0; i < scene->n_panels; ++i) {
    free(scene->panels[i].bands);
    free(scene->panels[i].traces);
    free(scene->panels[i].marks);
  }
  for (size_t i = 0; i < scene->n_owned; ++i) {
    free(scene->owned[i]);
  }
  free(scene->owned);
  *scene = (Scene){0};
}

const VwPen plot_pen_attack = {VW_INK_VERMILION, VW_STROKE_SOLID, 1.2};
const VwPen plot_pen_crest = {VW_INK_GREEN, VW_STROKE_DOTTED, 1.4};
const VwPen plot_pen_end = {VW_INK_BLACK, VW_STROKE_DASH_DOT, 1.2};
const VwPen plot_pen_valley = {VW_INK_PURPLE, VW_STROKE_DASH_DOT, 1.4};

void
plot_mark(const PlotMarking* on, const PlotMark* mark) {
  char         text[40];
  const bool   named = on->named && mark->word;
  const VwMark made = {.x = mark->ms * on->unit.per_s / 1000.0,
                       .label = named
                                  ? scene_text(on->scene,
                                               "%s at %s",
                                               mark->word,
                                               line_duration(text, mark->ms))
                                  : NULL,
                       .pen = mark->pen,
                       .brief = mark->brief};
  scene_mark(on->scene, on->panel, &made);
}

bool
plot_hatch(const PlotMarking* on, const double ends_ms[2], const char* name) {
  const double        per_ms = on->unit.per_s / 1000.0;
  const VwAxis* const x = &on->panel->panel.x;
  const VwBand        band = {on->named ? name : NULL,
                       fmax(per_ms * ends_ms[0], x->from),
                       fmin(per_ms * ends_ms[1], x->to),
                       VW_FILL_HATCHED,
                       VW_INK_PALE};
  if (band.to <= band.from) {
    return false;
  }
  scene_band(on->scene, on->panel, &band);
  return true;
}

void
plot_shot_marks(const PlotMarking* on, const VwShotFacts* facts) {
  const bool kept =
    facts->kind == VW_KIND_SUSTAINED || facts->kind == VW_KIND_RAPID_FIRE;
  const char* const name =
    kept ? "cut away by shot" : "cut away by shot and loop";
  const double   before[2] = {-HUGE_VAL,
                              facts->attack_ms - 1000.0 * VW_PRE_ROLL_S};
  const double   after[2] = {facts->end_ms, HUGE_VAL};
  const PlotMark marks[] = {
    {facts->attack_ms, "attack", plot_pen_attack, false},
    {facts->crest_ms, "crest", plot_pen_crest, false},
    {facts->end_ms, "tail ends", plot_pen_end, false}};
  const bool hatched = plot_hatch(on, before, name);
  (void)plot_hatch(on, after, hatched ? NULL : name);
  for (size_t i = 0; i < sizeof(marks) / sizeof(marks[0]); ++i) {
    plot_mark(on, &marks[i]);
  }
}
