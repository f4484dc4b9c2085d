/// @file
/// A prop's way to one board.
#ifndef VW_CLI_PACK_RUN_H
#define VW_CLI_PACK_RUN_H

#include "prop.h"

/// What is packed, and for what.
typedef struct {
  const CommandName* command;
  const Settings*    settings;
  Prop*              prop;
  const VwBoard*     board;
  const char*        board_asked; ///< How it is found again.
  const char*        folder;      ///< Where the pack goes: OUT/BOARD.
  double             found_lufs;  ///< Loudness to keep to, or NaN: find it. Set
                                  ///< to what was found.
} PackRun;

/// Pack, and report it. Returns #EXIT_DONE or #EXIT_FILE.
int pack_run(PackRun* run);

#endif
