/// @file
/// A prop's way to one board.
#ifndef VW_CLI_PACK_RUN_H
#define VW_CLI_PACK_RUN_H

#include "board/board.h"
#include "cli/packing/pack_report.h"
#include "pack/pack.h"

/// What is packed, and for what.
typedef struct {
  const CommandName* command;
  const Settings*    settings;
  Prop*              prop;
  const VwBoard*     board;
  char*              folder;     ///< Where the pack goes: OUT/BOARD. Owned.
  double             found_lufs; ///< Loudness to keep to, or NaN: find it. Set
                                 ///< to what was found.
  VwSoundWish* wishes;           ///< Starts NULL. Owned.
  VwPack       pack;             ///< Starts all zero. Owned.
  bool         written;          ///< It was made.
} PackRun;

/// Pack, and report it. Returns #EXIT_DONE or #EXIT_FILE; what the pack became
/// is kept.
int pack_run(PackRun* run);

/**
 * Make a pack, and write nothing.
 *
 * @param wishes Set to what the pack points into; to be freed after it.
 * @param pack Filled in; free it with vw_pack_clear(), also after a failure.
 * @return False, and said, where it cannot be packed. What becomes of a sound
 * is its status.
 */
bool pack_run_try(PackRun* run, VwSoundWish** wishes, VwPack* pack);

/// Say why sounds cannot be made. Returns how many.
size_t pack_run_say_failures(const PackRun* run, const VwPack* pack);

/// Free what `run` owns.
void pack_run_clear(PackRun* run);

/// What is to be reported of it.
PackReport pack_run_report(const PackRun* run);

#endif
