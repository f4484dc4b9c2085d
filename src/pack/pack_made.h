#ifndef VW_PACK_MADE_H
#define VW_PACK_MADE_H

#include "pack/pack.h"
#include "pack/pack_takes.h"

/// Files of a sound in memory. Starts all zero.
typedef struct {
  VwPackFile* files; ///< Owned.
  VwBytes*    bytes; ///< One per file. Owned.
  size_t      n_files;
} VwPackMade;

/**
 * Make the family of a sound and encode the files that it makes.
 *
 * @param sound Its figures are set.
 * @param work Its curve is set where the sound's level aims at the loudest.
 * @param made Filled in on success; free it with vw_pack_made_clear().
 */
VwStatus vw_pack_made_make(const VwPack* pack,
                           VwPackSound*  sound,
                           VwPackWork*   work,
                           VwPackMade*   made);

/// Free what `made` owns and set it to zero. NULL is accepted.
void vw_pack_made_clear(VwPackMade* made);

#endif
