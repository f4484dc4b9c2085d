#include "plot_marks.h"

#include "line.h"

#include <math.h>

// Every shot carries so much before its attack.
#define PRE_ROLL_MS 2.0

const VwPen plot_pen_attack = {VW_INK_VERMILION, VW_STROKE_SOLID, 1.2};
const VwPen plot_pen_crest = {VW_INK_GREEN, VW_STROKE_DOTTED, 1.4};
const VwPen plot_pen_end = {VW_INK_BLACK, VW_STROKE_DASHED, 1.2};
const VwPen plot_pen_valley = {VW_INK_PURPLE, VW_STROKE_DASH_DOT, 1.4};

void
plot_mark(Scene*          scene,
          ScenePanel*     panel,
          const PlotUnit* unit,
          const PlotMark* mark) {
  char         text[40];
  const VwMark made = {
    .x = mark->ms * unit->per_s / 1000.0,
    .label = mark->word
               ? scene_text(
                   scene, "%s at %s", mark->word, line_duration(text, mark->ms))
               : NULL,
    .pen = mark->pen,
    .brief = mark->brief};
  scene_mark(scene, panel, &made);
}

bool
plot_hatch(Scene*          scene,
           ScenePanel*     panel,
           const PlotUnit* unit,
           const double    ends_ms[2],
           const char*     name) {
  const double per_ms = unit->per_s / 1000.0;
  const VwBand band = {name,
                       fmax(per_ms * ends_ms[0], panel->panel.x.from),
                       fmin(per_ms * ends_ms[1], panel->panel.x.to),
                       VW_FILL_HATCHED,
                       VW_INK_PALE};
  if (band.to <= band.from) {
    return false;
  }
  scene_band(scene, panel, &band);
  return true;
}

void
plot_shot_marks(Scene*             scene,
                ScenePanel*        panel,
                const VwShotFacts* facts,
                const PlotUnit*    unit,
                bool               named) {
  const char* const name = named ? "cut away by `shot` and `loop`" : NULL;
  const double      before[2] = {-HUGE_VAL, facts->attack_ms - PRE_ROLL_MS};
  const double      after[2] = {facts->end_ms, HUGE_VAL};
  const PlotMark    marks[] = {
       {facts->attack_ms, named ? "attack" : NULL, plot_pen_attack, false},
       {facts->crest_ms, named ? "crest" : NULL, plot_pen_crest, false},
       {facts->end_ms, named ? "tail ends" : NULL, plot_pen_end, false}};
  const bool hatched = plot_hatch(scene, panel, unit, before, name);
  (void)plot_hatch(scene, panel, unit, after, hatched ? NULL : name);
  for (size_t i = 0; i < sizeof(marks) / sizeof(marks[0]); ++i) {
    plot_mark(scene, panel, unit, &marks[i]);
  }
}
