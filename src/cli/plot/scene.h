/// @file
/// What the pictures of this room are put together from.
#ifndef VW_CLI_PLOT_SCENE_H
#define VW_CLI_PLOT_SCENE_H

#include "burst/burst.h"
#include "cli/message/message.h"
#include "cli/plot/plot.h"
#include "signal/signal.h"

#define SCENE_PANELS 6U
#define SCENE_TEXTS 16U

/// A panel with room that grows.
typedef struct {
  VwPanel  panel; ///< What is in it is filled in in the end.
  VwBand*  bands; ///< Owned.
  size_t   n_bands;
  VwTrace* traces; ///< Owned.
  size_t   n_traces;
  VwMark*  marks; ///< Owned.
  size_t   n_marks;
  VwRaster raster;
} ScenePanel;

/// A chart and all that it owns. Start from all zero.
typedef struct {
  ScenePanel  panels[SCENE_PANELS];
  size_t      n_panels;
  const char* facts[SCENE_TEXTS]; ///< Owned by `owned`.
  size_t      n_facts;
  const char* notes[SCENE_TEXTS]; ///< The same.
  size_t      n_notes;
  void**      owned; ///< Freed in the end.
  size_t      n_owned;
  bool        full; ///< Memory ran out; nothing more is added.
} Scene;

/// Room of zeros that the scene frees; NULL without memory.
void* scene_room(Scene* scene, size_t n, size_t size);

/// A text that the scene frees; returns it, or "" without memory.
const char* scene_text(Scene* scene, const char* format, ...) TEXT_FORMAT(2, 3);

/// A line of facts under the title, of which the scene frees a copy.
void scene_fact(Scene* scene, const char* text);

/// The same of words with figures in them.
void scene_tell(Scene* scene, const Figures* figures, const char* words);

/// A line under all panels; the same.
void scene_note(Scene* scene, const char* text);

/// One more panel, or the last where there is no room.
ScenePanel* scene_panel(Scene* scene, const char* heading, double height);

void scene_band(Scene* scene, ScenePanel* panel, const VwBand* band);

void scene_trace(Scene* scene, ScenePanel* panel, const VwTrace* trace);

void scene_mark(Scene* scene, ScenePanel* panel, const VwMark* mark);

/// A straight line from one point to another, in the panel's units.
void scene_line(Scene*         scene,
                ScenePanel*    panel,
                const VwTrace* style,
                const VwPoint  ends[2]);

/// The title of a scene.
typedef struct {
  const char* path;     ///< Of the take or file; its folder is left out.
  const char* headline; ///< What the picture shows.
  const char* description;
} SceneTitle;

/**
 * Draw it.
 *
 * @param path Tells the format by its ending.
 * @param bytes Filled in on success.
 * @return As vw_chart_draw().
 */
VwStatus scene_draw(Scene*            scene,
                    const SceneTitle* title,
                    const char*       path,
                    VwBytes*          bytes);

/// Free what it owns. NULL is accepted.
void scene_clear(Scene* scene);

/// How times are told along x.
typedef struct {
  double      per_s; ///< Units in a second.
  const char* word;  ///< "ms" or "s".
} PlotUnit;

/// ms for what is short, s for what is long.
PlotUnit plot_unit(double seconds);

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

/// A stretch of a sound along x.
typedef struct {
  const VwSound* sound;
  size_t         from_frame;
  size_t         to_frame; ///< May lie behind the sound's end: silence.
  double         zero_s;   ///< The sound's time that x calls 0.
  const char*    name;     ///< For the legend.
  VwPen          pen;
} PlotSpan;

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

/// Add the frequencies of a span.
VwStatus plot_spectrum(Scene* scene, ScenePanel* panel, const PlotSpan* span);

/// Add a panel with the pitch of a span's stretch, where it has any.
VwStatus plot_pitch(Scene*           scene,
                    const PlotSpan*  span,
                    const VwStretch* pitched,
                    const PlotUnit*  unit);

/// Facts on format and level.
void plot_family_level(Scene* scene, const Report* report);

/// Facts on what is not as good as it could be in the first take.
void plot_family_warnings(Scene* scene, const Report* report);

/// A note on how loud a small speaker is near an ear.
void plot_family_caution(Scene* scene);

#endif
