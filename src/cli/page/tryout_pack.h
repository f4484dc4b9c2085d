/// @file
/// The page on which packs can be tried.
#ifndef VW_CLI_TRYOUT_PACK_H
#define VW_CLI_TRYOUT_PACK_H

#include "cli/packing/packing.h"

/// What is shown, and where. Nothing in it is owned.
typedef struct {
  const Settings* settings;
  const char*     title; ///< Or NULL.
  const PackRun*  runs;
  size_t          n_runs;
  const char*     path;
} TryoutPack;

/**
 * Write the page of the packs that were made; a pack that was not is named.
 *
 * A page that was made from the same is left alone. Where no pack was made
 * nothing is written.
 *
 * @return False, and said, where it could not be written.
 */
bool tryout_pack_write(const TryoutPack* shown);

#endif
