#ifndef VW_LEVEL_H
#define VW_LEVEL_H

#include "limiter.h"

#include "volleyweave/volleyweave.h"

/// What a family's level is found on: sounds before any gain.
typedef struct {
  const VwSound* alone; ///< The single shots.
  size_t         n_alone;
  const VwSound* burst;    ///< The burst with its first steady cycles, or NULL.
  size_t         steady;   ///< The burst's frame from which it is steady.
  size_t         n_steady; ///< For so many frames, whole cycles.
  size_t         n_closed; ///< Length of a cycle whose ends are faded, or 0.
} VwLevelSounds;

/**
 * The highest value that limited sound may have, full scale 1: the ceiling, and
 * below it room for what rounding adds at 8 bits.
 */
double vw_level_ceiling(const VwLevelOptions* options, VwEncoding encoding);

/**
 * Find the one gain of a family.
 *
 * The gain is found on the limited sound by the secant method, to 0.05 LU. No
 * gain is found for a sound without a loudness.
 *
 * @param ceiling What vw_level_ceiling() says.
 * @param level Its loudness before, target, gain, limiting needed and whether
 * the wish was reached are filled in on success.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_SILENT.
 */
VwStatus vw_level_find(const VwLevelSounds*  sounds,
                       const VwLevelOptions* options,
                       double                ceiling,
                       VwLevel*              level);

/// How loud a burst is at its level, once it is steady.
VwStatus vw_level_of_steady(const VwLevelSounds* sounds,
                            const VwSound*       burst,
                            double*              lufs);

/// Note what the limiter took of one more sound.
void vw_level_note(VwLevel* level, const VwLimited* limited);

#endif
