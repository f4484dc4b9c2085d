/// @file
/// What the pictures of all that was made have in common.
#ifndef VW_CLI_PLOT_FAMILY_H
#define VW_CLI_PLOT_FAMILY_H

#include "cli/plot/plot_scene.h"
#include "cli/report/report.h"

#include <volleyweave/volleyweave.h>

/// A piece as it is heard: without the lamp's track.
///
/// @param heard Filled in on success; free it with vw_sound_clear().
/// @return #VW_OK or #VW_NO_MEMORY.
VwStatus plot_family_heard(const VwFamily* family,
                           const VwSound*  piece,
                           VwSound*        heard);

/// Facts on format and level.
void plot_family_level(Scene* scene, const VwFamily* family);

/// Facts on what is not as good as it could be in the first take.
void plot_family_warnings(Scene* scene, const Report* report);

/// A note on how loud a small speaker is near an ear.
void plot_family_caution(Scene* scene);

#endif
