/// @file
/// A family's files as the board is going to play them, codes and all.
#ifndef VW_CLI_TRYOUT_SOUNDS_H
#define VW_CLI_TRYOUT_SOUNDS_H

#include "settings.h"

/// The files of a family and what a trigger makes of them.
typedef struct {
  VwSound     written[4]; ///< By part, from #VW_PART_SHOT on. Owned.
  size_t*     attacks;    ///< Of all files, one after the other. Owned.
  VwRehearsal single;     ///< Points to the above.
  VwRehearsal rapid;      ///< The same.
} TryoutSounds;

/**
 * Take the files of a family as they are written.
 *
 * @param sounds Filled in; free it with tryout_sounds_clear(), also after a
 * failure.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus tryout_sounds_make(const VwFamily* family,
                            const Settings* settings,
                            TryoutSounds*   sounds);

/// Free what `sounds` owns.
void tryout_sounds_clear(TryoutSounds* sounds);

#endif
