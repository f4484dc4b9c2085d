#include "cli/plot/plot_marks.h"

#include "cli/message/line.h"

#include <math.h>

// Every shot carries so much before its attack.
#define PRE_ROLL_MS 2.0

const VwPen plot_pen_attack = {VW_INK_VERMILION, VW_STROKE_SOLID, 1.2};
const VwPen plot_pen_crest = {VW_INK_GREEN, VW_STROKE_DOTTED, 1.4};
const VwPen plot_pen_end = {VW_INK_BLACK, VW_STROKE_DASHED, 1.2};
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
  static const char name[] = "cut away by shot and loop";
  const double      before[2] = {-HUGE_VAL, facts->attack_ms - PRE_ROLL_MS};
  const double      after[2] = {facts->end_ms, HUGE_VAL};
  const PlotMark    marks[] = {
       {facts->attack_ms, "attack", plot_pen_attack, false},
       {facts->crest_ms, "crest", plot_pen_crest, false},
       {facts->end_ms, "tail ends", plot_pen_end, false}};
  const bool hatched = plot_hatch(on, before, name);
  (void)plot_hatch(on, after, hatched ? NULL : name);
  for (size_t i = 0; i < sizeof(marks) / sizeof(marks[0]); ++i) {
    plot_mark(on, &marks[i]);
  }
}
