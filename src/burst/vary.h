#ifndef VW_VARY_H
#define VW_VARY_H

#include "base/random.h"

#include "volleyweave/volleyweave.h"

/// How one shot differs from the take's.
typedef struct {
  double detune_cents;
  double gain_db;
} VwVariant;

/**
 * Draw variants for the shots of a cycle.
 *
 * Both measures are spread evenly from the least to the greatest and dealt out
 * at random, so that no two shots are alike; the mean energy is unchanged.
 */
void vw_vary_draw(const VwFamilyOptions* options,
                  size_t                 n_shots,
                  VwRandom*              random,
                  VwVariant*             variants);

/**
 * Make a variant of a shot; its attack stays where it is.
 *
 * @param out Filled in on success; free it with vw_sound_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_vary(const VwSound* shot, const VwVariant* variant, VwSound* out);

#endif
