#ifndef VW_ALONE_H
#define VW_ALONE_H

#include "volleyweave/volleyweave.h"

/**
 * Make the single shot of a take in the board's format: cut, channels, sample
 * rate, closed ends, even bytes.
 *
 * @param format With its sample rate filled in.
 * @param alone Filled in on success; free it with vw_sound_clear().
 * @param use Its down-mix and crest are set on success.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_alone_make(const VwTake*      take,
                       const VwShotFacts* facts,
                       const VwFormat*    format,
                       VwSound*           alone,
                       VwTakeUse*         use);

#endif
