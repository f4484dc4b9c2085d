/// @file
/// What the files of this room share, and no other room needs.
#ifndef VW_PACK_INTERNAL_H
#define VW_PACK_INTERNAL_H

#include "burst/turns.h"
#include "pack/pack.h"

#include <sys/types.h>

/* What is kept of a pack */

/// A file that a sound may make.
typedef struct {
  VwPart part;
  size_t take;
  char*  name; ///< In the pack's folder, with its group's. Owned.
} VwPackName;

/// What stands under a file's name before anything is written.
typedef struct {
  VwStatus in_way; ///< Why it may not be replaced.
  uint64_t digest; ///< Of its bytes, where it is a file.
  bool     staged; ///< Another waits for its name.
} VwPackThere;

/// What was found in a take.
typedef struct {
  uint64_t    digest; ///< Of the take as it was read; 0: nothing is known.
  VwShotFacts facts;
} VwPackFound;

/// What is kept of a sound beside what is shown.
typedef struct {
  VwPackName*  names; ///< All that it may make. Owned.
  size_t       n_names;
  uint64_t     takes; ///< Digest of its takes.
  VwLevelCurve curve;
  size_t       next;  ///< The next sound of its family, or the number of all.
  VwPackThere* there; ///< One per file. Owned.
  VwPackFound* found; ///< One per take; NULL: nothing is known. Owned.
  bool         made;  ///< Its files are, and wait for their names.
} VwPackWork;

/// Which file a take is, however it is spelled.
typedef struct {
  dev_t device;
  ino_t inode;
} VwPackTake;

/// A file that a pack made.
typedef struct {
  char*       name;   ///< In the pack's folder, with its group's. Owned.
  uint64_t    digest; ///< Of its bytes.
  VwMade      made;   ///< What it holds; all zero if it is read from a list.
  const char* sound;  ///< The name of its sound, or NULL. Not owned.
  bool        staged; ///< It waits for its name.
  bool        left;   ///< No sound makes it any more.
} VwPackListed;

/// What the list in a pack's folder says.
typedef struct {
  bool          unfinished; ///< The run that wrote it did not end.
  char*         text;       ///< As it was read, cut up. Owned.
  const char*   prop;       ///< Whose it is, or NULL.
  uint64_t      prop_at;    ///< As in the options.
  const char*   board;      ///< What it is made for, or NULL.
  VwPackListed* files;      ///< Sorted by name. Owned.
  size_t        n_files;
  uint64_t      digest; ///< Of its text as it was read; 0 without one.
} VwPackList;

struct VwPackStore {
  char* folder;          ///< The pack's own. Owned.
  char* making;          ///< Where files wait for their names: beside it, or in
                         ///< it where that is a file system of its own. Owned.
  char*      before;     ///< Where the version before is kept. Owned.
  VwPackList list;       ///< What the last run left.
  char*      lock;       ///< The file that keeps others out from beginning to
                         ///< end, or NULL. Owned.
  int      lock_fd;      ///< It, where there is one.
  VwStatus barred;       ///< Why others cannot be kept out: nothing can be
                         ///< written.
  VwPackWork* works;     ///< One per sound. Owned.
  size_t      n_folders; ///< Of groups, in the pack's folder.
  VwPackTake* takes;     ///< All takes. Owned.
  size_t      n_takes;
};

/* pack.c */

/// Put a sound's figures and files back to what they are before measuring.
void vw_pack_sound_forget(VwPack* pack, size_t index);

/* names.c */

/**
 * Name all files that the sounds of a pack may make, and find fault with slots
 * and names that exclude each other.
 *
 * @param pack Its sounds' options have the board applied; names and faults are
 * added to it.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_pack_names_make(VwPack* pack);

/* loudness.c */

/**
 * Find the loudness of a pack and the gain of each family in it.
 *
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_pack_loudness_settle(VwPack* pack);

/* size.c */

/// Sum up the files of a pack, and where it is too big say what would help.
void vw_pack_sums_find(VwPack* pack);

/**
 * Give sounds lower sample rates, the least audible first, until by estimate
 * all fits or none can be lowered; they have to be measured again.
 *
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_pack_sums_fit(VwPack* pack);

/* list.c */

/**
 * Read the list of a pack.
 *
 * It shares the file with the list of vw_write(): lines that start with "pack "
 * are the pack's. The first of all is "pack 1 finished" or "pack 1 unfinished";
 * "pack prop DIGEST NAME" is whose it is, "pack board NAME" what for, "pack
 * file DIGEST NAME" a file of it, "pack name NAME<tab>SOUND" what that is of,
 * and "pack left DIGEST NAME" a file that it made and no sound makes any more.
 * A list of another version, or none, is an empty one; so is rubbish. Files
 * behind a link in a group's place are left out.
 *
 * @param folder The pack's.
 * @param list Filled in on success; free it with vw_pack_list_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_pack_list_read(const char* folder, VwPackList* list);

/// Free what `list` owns and set it to zero. NULL is accepted.
void vw_pack_list_clear(VwPackList* list);

/// Whether a file of that name is the pack's, and some sound makes it.
bool vw_pack_list_names(const VwPackList* list, const char* name);

/// Whether a file of that name and digest is known.
bool vw_pack_list_holds(const VwPackList* list,
                        const char*       name,
                        uint64_t          digest);

/**
 * Write the list of a pack, and those of its groups' folders, which must exist.
 *
 * Each is replaced as a whole, where it says anything else. Lines on files that
 * are none of the pack's stay.
 *
 * @param list Its files are in the order in which a board counts them.
 * @return #VW_OK, #VW_NO_MEMORY, or what vw_file_status() says.
 */
VwStatus vw_pack_list_write(const char* folder, const VwPackList* list);

/* folders.c */

/// Name the folders that a pack works in.
VwStatus vw_pack_folders_find(const char* folder, VwPackStore* store);

/// Make a folder and those that it is in; what is there already is fine.
VwStatus vw_pack_folders_make(const char* path);

/**
 * Make the folder of a group in another folder, where `name` has such.
 *
 * @return Also #VW_NOT_A_FOLDER where a link stands in its place: it might lead
 * out of the pack.
 */
VwStatus vw_pack_folders_make_group(const char* folder, const char* name);

/// Where a file waits until it gets its name. To be freed with free(), or NULL
/// without memory.
char* vw_pack_staged_path(const VwPackStore* store, const char* name);

/// Remove what a run that was stopped left in a folder: files on their way to a
/// name.
void vw_pack_folders_sweep(const char* path);

/**
 * The digest of a file of the pack.
 *
 * @return #VW_OK, #VW_NO_MEMORY, #VW_MISSING, #VW_NOT_REGULAR (also a link),
 * #VW_UNREADABLE.
 */
VwStatus vw_pack_digest_file(const char* path, uint64_t* digest);

/**
 * Keep others from the pack, and make the folder where its files wait.
 *
 * The system ends it with the process, however that ends. Where a file system
 * has no locks, nobody is kept from anything.
 *
 * @return #VW_OK, #VW_NO_MEMORY, #VW_BUSY, or what vw_file_status() says.
 */
VwStatus vw_pack_lock_take(VwPackStore* store);

/// Let others in again where they are kept out, and remove that folder with all
/// that waits.
void vw_pack_lock_drop(VwPackStore* store);

/* takes.c */

/// The takes of a sound, and what was found in them. Starts all zero.
typedef struct {
  VwTake*      takes; ///< Owned.
  VwShotFacts* facts; ///< Owned.
  size_t       n_takes;
  VwPackFound* found;    ///< What is known of them.
  VwTake       run_in;   ///< Another take that leads over to the loop.
  VwTake       ring_out; ///< One that leads on from it.
  VwShots      turns;    ///< The only take's own shots, where these take turns.
} VwPackTakes;

/// Read a sound's takes, and find their shots if it is made of such, unless
/// they were found when these were read before. What was read is to be cleared
/// also if that fails.
VwStatus vw_pack_takes_load(const VwPack* pack,
                            size_t        index,
                            VwPackTakes*  takes);

/// Free what `takes` owns.
void vw_pack_takes_clear(VwPackTakes* takes);

/* change.c */

/// Find the files of earlier runs that no sound makes any more.
VwStatus vw_pack_old_find(VwPack* pack);

#endif
