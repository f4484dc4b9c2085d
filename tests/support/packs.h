/// @file
/// Packs made in tests, by any number of threads.
#ifndef TESTS_PACKS_H
#define TESTS_PACKS_H

#include "board/board.h"
#include "pack/pack.h"

#include "volleyweave/volleyweave.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/// Write a take: noise that decays, `seed` telling one from another.
void packs_put_take(const char* path, unsigned seed, double seconds);

/// A wish for one take; the name is not copied.
VwSoundWish packs_wish(const char* name, VwMake make, const char* const* take);

/// A board of WAV files, 22.05 kHz, 16 bit, mono, played by name.
VwBoard packs_board(void);

/// Options for such a board.
VwPackOptions packs_options(const VwBoard* board, const char* folder);

/// Open, measure and settle. False, and said, where a step fails.
bool packs_settle(const VwSoundWish*   wishes,
                  size_t               n_wishes,
                  const VwPackOptions* options,
                  size_t               n_threads,
                  VwPack*              pack);

/// All steps but clearing. False, and said, where one fails; sounds may have.
bool packs_make(const VwSoundWish*   wishes,
                size_t               n_wishes,
                const VwPackOptions* options,
                size_t               n_threads,
                VwPack*              pack);

/// FNV-1a over the names and bytes of all files in a folder and its folders,
/// lists and all that is hidden left out; `n_files` is set to their number.
uint64_t packs_digest(const char* folder, size_t* n_files);

#endif // TESTS_PACKS_H
