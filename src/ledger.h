#ifndef VW_LEDGER_H
#define VW_LEDGER_H

#include "volleyweave/volleyweave.h"

/**
 * Whether the list in the folder of `path` names this file with this digest.
 *
 * The list is a text file of lines "DIGEST  NAME", 16 hexadecimal digits each.
 */
bool vw_ledger_holds(const char* path, uint64_t digest);

/**
 * Remember files in the list of their folder; they must share one.
 *
 * @param outputs,n_outputs What is going to be written.
 * @param before Set to the list as it was (no data where there was none), for
 * vw_ledger_restore(); free it with vw_bytes_clear().
 * @return #VW_OK, #VW_NO_MEMORY, or what vw_file_status() says.
 */
VwStatus vw_ledger_remember(const VwOutput* outputs,
                            size_t          n_outputs,
                            VwBytes*        before);

/// Put the list in the folder of `path` back to what it was.
void vw_ledger_restore(const char* path, const VwBytes* before);

#endif
