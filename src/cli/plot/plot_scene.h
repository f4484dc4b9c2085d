/// @file
/// A chart as it is put together.
#ifndef VW_CLI_PLOT_SCENE_H
#define VW_CLI_PLOT_SCENE_H

#include "cli/message/text.h"

#include <volleyweave/pictures.h>

#include <stdbool.h>

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
 * @return As vw_chart_draw(); #VW_MISSING where there is nothing to draw with.
 */
VwStatus scene_draw(Scene*            scene,
                    const SceneTitle* title,
                    const char*       path,
                    VwBytes*          bytes);

/// Free what it owns. NULL is accepted.
void scene_clear(Scene* scene);

#endif
