#ifndef VW_PACK_TAKES_H
#define VW_PACK_TAKES_H

#include "pack/pack.h"

#include "volleyweave/volleyweave.h"

/// The takes of a sound, and what was found in them.
typedef struct {
  VwTake*      takes; ///< Owned.
  VwShotFacts* facts; ///< Owned.
  size_t       n_takes;
} VwPackTakes;

/**
 * Read a sound's takes, prepare them, and find their shots where it is made of
 * such.
 *
 * @param sound Its subject and fault are set where a take is at fault.
 * @param takes Filled in on success; free it with vw_pack_takes_clear().
 */
VwStatus vw_pack_takes_load(const VwReadOptions* reading,
                            VwPackSound*         sound,
                            VwPackTakes*         takes);

/// Free what `takes` owns and set it to zero. NULL is accepted.
void vw_pack_takes_clear(VwPackTakes* takes);

#endif
