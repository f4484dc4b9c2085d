/// @file
/// Places in a sound, marked on a panel.
#ifndef VW_CLI_PLOT_MARKS_H
#define VW_CLI_PLOT_MARKS_H

#include "cli/plot/plot_sound.h"

/// A place in time.
typedef struct {
  double      ms;   ///< As x counts.
  const char* word; ///< What is there: "attack"; NULL: no label.
  VwPen       pen;
  bool        brief;
} PlotMark;

/// The pens by which places are told apart in every picture.
extern const VwPen plot_pen_attack;
extern const VwPen plot_pen_crest;
extern const VwPen plot_pen_end;
extern const VwPen plot_pen_valley;

/// A panel to be marked.
typedef struct {
  Scene*      scene;
  ScenePanel* panel;
  PlotUnit    unit;  ///< Of x.
  bool        named; ///< With labels and a legend, as one panel of a page.
} PlotMarking;

/// Mark a place; its label tells the time too, where the panel has such.
void plot_mark(const PlotMarking* on, const PlotMark* mark);

/// Hatch a stretch of time.
///
/// @param ends_ms Where it begins and ends; cut to what the panel shows.
/// @param name For the legend, where the panel has one; or NULL.
/// @return Whether anything of it is seen.
bool plot_hatch(const PlotMarking* on,
                const double       ends_ms[2],
                const char*        name);

/// Mark attack, crest and end of a take's shot, and what is cut away.
void plot_shot_marks(const PlotMarking* on, const VwShotFacts* facts);

#endif
