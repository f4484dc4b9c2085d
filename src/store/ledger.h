#ifndef VW_LEDGER_H
#define VW_LEDGER_H

#include "volleyweave/volleyweave.h"

#include <inttypes.h>

#define VW_LEDGER_NAME ".volleyweave.list"

// How the list of a pack starts, and that of one that was stopped on its way.
#define VW_LEDGER_FINISHED "pack 1 finished"
#define VW_LEDGER_UNFINISHED "pack 1 unfinished"

/**
 * Whether the list in the folder of `path` names this file at all.
 *
 * The list is a text file of lines "DIGEST  NAME", 16 hexadecimal digits each,
 * and of further lines that start with a word.
 */
bool vw_ledger_names(const char* path);

/// Whether the list in the folder of `path` names this file with this digest.
bool vw_ledger_holds(const char* path, uint64_t digest);

// A line on a loop: its digest, how many shots it holds, the pause that it was
// made for, and its name.
#define VW_LEDGER_LOOP "loop "
#define VW_LEDGER_LOOP_FORMAT VW_LEDGER_LOOP "%016" PRIx64 " %zu %.6f %s\n"

/// The name on such a line, or NULL where it is another.
const char* vw_ledger_loop_name(const char* line);

/**
 * What the list in the folder of `path` says of the loop with this digest.
 *
 * @param known Filled in on success.
 */
bool vw_ledger_knows(const char* path, uint64_t digest, VwLoopKnown* known);

/// A file for the list. Nothing in it is owned.
typedef struct {
  const char* path;
  uint64_t    digest;
  VwLoopKnown loop; ///< All zero where it is none.
} VwLedgerEntry;

/**
 * The list of a folder with files added to it.
 *
 * Of what it said about a file the last line stays as well: the list is renamed
 * before the files are, and whichever of both is there is then known.
 *
 * @param entries,n_entries What is going to be written into one folder.
 * @param list Filled in on success; free it with vw_bytes_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_ledger_with(const VwLedgerEntry* entries,
                        size_t               n_entries,
                        VwBytes*             list);

#endif
