/// @file
/// Panels of a sound: its values, its level, its frequencies.
#ifndef VW_CLI_PLOT_SOUND_H
#define VW_CLI_PLOT_SOUND_H

#include "cli/plot/plot_scene.h"
#include "signal/signal.h"

#include <volleyweave/volleyweave.h>

/// A stretch of a sound along x.
typedef struct {
  const VwSound* sound;
  size_t         from_frame;
  size_t         to_frame; ///< May lie behind the sound's end: silence.
  double         zero_s;   ///< The sound's time that x calls 0.
  const char*    name;     ///< For the legend.
  VwPen          pen;
} PlotSpan;

/// How times are told along x.
typedef struct {
  double      per_s; ///< Units in a second.
  const char* word;  ///< "ms" or "s".
} PlotUnit;

/// ms for what is short, s for what is long.
PlotUnit plot_unit(double seconds);

/// Let a panel run along a span.
///
/// @param label What the numbers are; NULL: the panel below has them.
void plot_axis(ScenePanel*     panel,
               const PlotSpan* span,
               const PlotUnit* unit,
               const char*     label);

/// Add the values of a span, and fit the panel's height to them.
void plot_wave(Scene*          scene,
               ScenePanel*     panel,
               const PlotSpan* span,
               const PlotUnit* unit);

/// Add the level of a span. #VW_NO_MEMORY where that fails.
VwStatus plot_level(Scene*          scene,
                    ScenePanel*     panel,
                    const PlotSpan* span,
                    const PlotUnit* unit);

/// Fit a panel's height to the levels in it, and a level that is told, or NaN;
/// its heading says so where a level is lower than that.
void plot_fit_level(Scene* scene, ScenePanel* panel, double least_dbfs);

/// Add frequencies and pitch of a span.
///
/// @param pitched Where to look for a pitch; no frames: nowhere.
VwStatus plot_spectrum(Scene*           scene,
                       ScenePanel*      panel,
                       const PlotSpan*  span,
                       const VwStretch* pitched);

#endif
