/// @file
/// From a sound of a pack to one of the page.
#ifndef VW_CLI_TRYOUT_PACK_SOUND_H
#define VW_CLI_TRYOUT_PACK_SOUND_H

#include "cli/packing/pack_report.h"
#include "cli/page/tryout_page.h"
#include "pack/pack.h"

/// What is told of a sound.
typedef struct {
  char* report;  ///< As --json has it, or NULL without memory. Owned.
  char* made_by; ///< The command that makes it, or NULL. Owned.
} TryoutTexts;

/// Free them with tryout_texts_clear().
TryoutTexts tryout_texts_of(const PackReport* report, const VwPackSound* sound);

void tryout_texts_clear(TryoutTexts* texts);

/**
 * Add what a sound made; where it failed, the reason.
 *
 * @param board Index of the pack's board in the page.
 */
void tryout_pack_sound_add(const PackReport*  report,
                           size_t             board,
                           const VwPackSound* sound,
                           TryoutPage*        page);

#endif
