#ifndef VW_PACK_FOLDERS_H
#define VW_PACK_FOLDERS_H

#include "volleyweave/volleyweave.h"

// How the names of files end that wait for another.
#define VW_PACK_WAITING ".waiting"

/// The folders that a pack works in. All owned.
typedef struct {
  char* pack;   ///< The pack's own.
  char* making; ///< Where files wait for their names: beside the pack's, or in
                ///< it where that is a file system of its own.
  char* before; ///< Where the version before is kept.
} VwPackFolders;

/// Name them. Free them with vw_pack_folders_clear().
VwStatus vw_pack_folders_find(const char* folder, VwPackFolders* folders);

/// Free what `folders` owns. NULL is accepted.
void vw_pack_folders_clear(VwPackFolders* folders);

/// Make a folder and those that it is in; what is there already is fine.
VwStatus vw_pack_folders_make(const char* path);

/**
 * Make the folder of a group in another folder, where `name` has such.
 *
 * @return Also #VW_NOT_A_FOLDER where a link stands in its place: it might lead
 * out of the pack.
 */
VwStatus vw_pack_folders_make_group(const char* folder, const char* name);

/// Remove what a run that was stopped left in a folder: files on their way to a
/// name.
void vw_pack_folders_sweep(const char* path);

/// Sweep a folder of waiting files, and remove it where nothing else is in it.
void vw_pack_folders_drop(const char* making);

#endif
