/// @file
/// A sound's files as the board is going to play them, codes and all.
#ifndef VW_CLI_TRYOUT_SOUNDS_H
#define VW_CLI_TRYOUT_SOUNDS_H

#include "board/board.h"
#include "cli/options/settings.h"

/// The files of a sound, and what a trigger makes of them. Starts all zero.
typedef struct {
  VwSound written[4]; ///< By part, from #VW_PART_SHOT on; a whole take is in
                      ///< the place of the shot, a burst in that of the loop.
                      ///< Owned.
  size_t      loop_start; ///< Of a loop that is marked.
  size_t      loop_end;
  size_t*     attacks; ///< Of all files, one after the other. Owned.
  VwRehearsal single;  ///< Points to the above; without a file: none.
  VwRehearsal rapid;   ///< The same.
} TryoutSounds;

/// Where the file of a part goes.
VwSound* tryout_sounds_place(TryoutSounds* sounds, VwPart part);

/**
 * Fill in the files of a family as they are written.
 *
 * @param sounds To be freed with tryout_sounds_clear(), also after a failure.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus tryout_sounds_fill(const VwFamily* family,
                            uint64_t        seed,
                            TryoutSounds*   sounds);

/**
 * Find out what a trigger makes of the files that are there.
 *
 * A lamp's track is no sound: only the first channel stays.
 *
 * @param family Its figures count.
 * @param options As asked.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus tryout_sounds_lay(const VwFamily*        family,
                           const VwFamilyOptions* options,
                           TryoutSounds*          sounds);

/// The trigger, or NULL where there is no file for it.
const VwRehearsal* tryout_sounds_single(const TryoutSounds* sounds);
const VwRehearsal* tryout_sounds_rapid(const TryoutSounds* sounds);

/// Free what `sounds` owns.
void tryout_sounds_clear(TryoutSounds* sounds);

#endif
