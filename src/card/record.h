#ifndef VW_RECORD_H
#define VW_RECORD_H

#include "card/card.h"

#include "volleyweave/volleyweave.h"

/// In a folder that was delivered: what went to cards from it, ever.
#define VW_RECORD_NAME ".volleyweave.delivered"

/// Files by path and digest. Starts all zero.
typedef struct {
  VwDelivered* lines; ///< Owned.
  size_t       n_lines;
  bool         unfinished; ///< A list that was read says so of its pack.
} VwRecord;

/// Add a file. #VW_OK or #VW_NO_MEMORY.
VwStatus vw_record_add(VwRecord* record, const char* path, uint64_t digest);

/**
 * Add what a list of lines "DIGEST  NAME" says; a missing one says nothing.
 *
 * @param list Where the list is.
 * @param folder The folder in which its names are, or empty.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_record_read(VwRecord* record, const char* list, const char* folder);

/// Sort by path and drop what is said twice; the questions below need it.
void vw_record_sort(VwRecord* record);

/// Whether a path is in it at all, in whatever letters: cards do not tell
/// capital letters from small ones.
bool vw_record_names(const VwRecord* record, const char* path);

/// Whether a path is in it with that digest.
bool vw_record_holds(const VwRecord* record, const char* path, uint64_t digest);

/// The list of it all, one line each. Free it with vw_bytes_clear().
VwStatus vw_record_text(const VwRecord* record, VwBytes* text);

/// Free what `record` owns and set it to zero. NULL is accepted.
void vw_record_clear(VwRecord* record);

#endif
