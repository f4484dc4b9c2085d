#ifndef VW_TREE_H
#define VW_TREE_H

#include "volleyweave/volleyweave.h"

/// What stands under a name.
typedef enum {
  VW_ENTRY_FILE,
  VW_ENTRY_FOLDER,
  VW_ENTRY_LINK,   ///< A symbolic link; it is not followed.
  VW_ENTRY_CLOSED, ///< A folder that may not be looked into.
  VW_ENTRY_OTHER   ///< A pipe, a device.
} VwEntryKind;

/// A name in a folder or in one of its folders.
typedef struct {
  char*       path;    ///< From the folder on, with slashes. Owned.
  VwEntryKind kind;    ///< What it is.
  uint64_t    n_bytes; ///< Of a file.
  int64_t     written; ///< When it was changed, seconds.
  size_t      place;   ///< Where its folder names it, counted over all.
} VwEntry;

/// All names in a folder and its folders. Starts all zero.
typedef struct {
  VwEntry* entries; ///< By name; a folder, then what is in it. Owned.
  size_t   n_entries;
} VwTree;

/**
 * List a folder with its folders.
 *
 * @param tree Filled in on success; free it with vw_tree_clear().
 * @return #VW_OK, #VW_NO_MEMORY, #VW_MISSING, #VW_UNREADABLE.
 */
VwStatus vw_tree_read(const char* root, VwTree* tree);

/// Free what `tree` owns and set it to zero. NULL is accepted.
void vw_tree_clear(VwTree* tree);

/// Whether two names lie in one folder.
bool vw_tree_share_folder(const VwEntry* a, const VwEntry* b);

#endif
