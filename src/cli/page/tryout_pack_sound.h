/// @file
/// From a sound of a pack to one of the page.
#ifndef VW_CLI_TRYOUT_PACK_SOUND_H
#define VW_CLI_TRYOUT_PACK_SOUND_H

#include "cli/packing/packing.h"
#include "cli/page/tryout_page.h"
#include "pack/pack.h"

/// What is told of a sound, as --json has it. To be freed; NULL without memory.
char* tryout_report_of(const PackRun* run, const VwPackSound* sound);

/// What the prop asks of a sound alone, and its takes. To be freed; NULL
/// without memory.
char* tryout_made_with(const PackRun* run, const VwPackSound* sound);

/**
 * Add what a sound made; where it failed, the reason.
 *
 * @param board Index of the pack's board in the page.
 */
void tryout_pack_sound_add(const PackRun*     run,
                           size_t             board,
                           const VwPackSound* sound,
                           TryoutPage*        page);

#endif
