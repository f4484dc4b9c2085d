/// @file
/// The takes in a folder, and in the folders in it.
#ifndef VW_CLI_TAKE_FOLDER_H
#define VW_CLI_TAKE_FOLDER_H

#include <stdbool.h>
#include <stddef.h>

/// A file of a folder that may be a take.
typedef struct {
  char*  path;     ///< Seen from here. Owned.
  size_t at_name;  ///< Where in `path` that begins which is in the folder.
  size_t n_group;  ///< Length of the inner folder's name there, or 0.
  bool   promised; ///< Its name says that it is a sound.
} FolderTake;

/// Files in the order of their names. Starts all zero.
typedef struct {
  FolderTake* takes; ///< Owned.
  size_t      n_takes;
  bool        with_ours; ///< Set before: list also what this program made.
} TakeFolder;

/**
 * List the files of a folder and of the folders in it, but for hidden ones and
 * those that this program made.
 *
 * @return False, and said, where the folder cannot be read.
 */
bool take_folder_list(const char* path, TakeFolder* folder);

/// Whether a name ends like that of a sound.
bool take_folder_promises(const char* name);

/// Free what `folder` owns. NULL is accepted.
void take_folder_clear(TakeFolder* folder);

#endif
