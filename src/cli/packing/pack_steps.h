/// @file
/// The steps of a pack that are taken on all cores.
#ifndef VW_CLI_PACK_STEPS_H
#define VW_CLI_PACK_STEPS_H

#include "cli/options/settings.h"
#include "pack/pack.h"

/// What steps are taken with.
typedef struct {
  const Settings* settings;
  VwPack*         pack;
  bool            write; ///< What is made is written: it is worth a line.
} PackSteps;

/// Measure every sound that is not measured. #VW_OK or #VW_NO_MEMORY; what
/// becomes of a sound is its status.
VwStatus pack_steps_measure(const PackSteps* steps);

/// Make every sound that is due. #VW_OK or #VW_NO_MEMORY.
VwStatus pack_steps_render(const PackSteps* steps);

#endif
