#ifndef VW_PACK_LIST_H
#define VW_PACK_LIST_H

#include "volleyweave/volleyweave.h"

/// A file that a pack made.
typedef struct {
  char*       name;   ///< In the pack's folder, with its group's. Owned.
  uint64_t    digest; ///< Of its bytes.
  VwLoopKnown loop;  ///< What a loop holds; all zero of others, and where it is
                     ///< read from a list.
  const char* sound; ///< The name of its sound, or NULL. Not owned.
} VwPackListed;

/// What the list in a pack's folder says.
typedef struct {
  bool          there;      ///< There is one that can be read.
  bool          unfinished; ///< The run that wrote it did not end.
  VwPackListed* files;      ///< Sorted by name. Owned.
  size_t        n_files;
  uint64_t      digest; ///< Of its text as it was read; 0 without one.
} VwPackList;

/**
 * Read the list of a pack.
 *
 * It shares the file with the list of vw_write(): lines that start with "pack "
 * are the pack's. The first of all is "pack 1 finished" or "pack 1 unfinished";
 * "pack file DIGEST NAME" is a file, "pack name NAME<tab>SOUND" what it is of.
 * A list of another version, or none, is an empty one; so is rubbish.
 *
 * @param folder The pack's.
 * @param list Filled in on success; free it with vw_pack_list_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_pack_list_read(const char* folder, VwPackList* list);

/// Free what `list` owns and set it to zero. NULL is accepted.
void vw_pack_list_clear(VwPackList* list);

/// Whether a file of that name and digest is known.
bool vw_pack_list_holds(const VwPackList* list,
                        const char*       name,
                        uint64_t          digest);

/// What to write into the lists of a pack's folders.
typedef struct {
  const char*         folder; ///< The pack's.
  bool                unfinished;
  const VwPackListed* files; ///< In the order in which a board counts them.
  size_t              n_files;
} VwPackListWish;

/**
 * Write the list of a pack, and those of its groups' folders, which must exist.
 *
 * Each is replaced as a whole, where it says anything else. Lines on files that
 * are none of the pack's stay.
 *
 * @return #VW_OK, #VW_NO_MEMORY, or what vw_file_status() says.
 */
VwStatus vw_pack_list_write(const VwPackListWish* wish);

#endif
