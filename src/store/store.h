/// @file
/// Files: named, read, written whole or not at all, and known again.
#ifndef VW_STORE_H
#define VW_STORE_H

#include "volleyweave/volleyweave.h"

#include <signal.h>
#include <stdio.h>

/* ------------------------------------------------------------------------ */
/* Names                                                                     */

/// The part of a path after its last slash. Points into `path`.
const char* vw_path_name(const char* path);

/// The dot before the last letters of a path's name, or the path's end where
/// there is none; the dot of a hidden file is none. Points into `path`.
const char* vw_path_ending(const char* path);

/// Whether a name ends so, in letters of either case, and is more than that.
bool vw_path_ends_in(const char* path, const char* ending);

/// Whether there is a folder of that name.
bool vw_path_is_folder(const char* path);

/// Whether a path is that of a folder, or of what lies in it, by their names.
bool vw_path_lies_in(const char* path, const char* folder);

/**
 * The path of another name in the folder of `path`: `name` and `after` joined.
 *
 * @return A new text to be freed with free(), or NULL without memory.
 */
char* vw_path_sibling(const char* path, const char* name, const char* after);

/// The path of a name in a folder; one of both may be empty. To be freed with
/// free(), or NULL without memory.
char* vw_path_join(const char* folder, const char* name);

/* ------------------------------------------------------------------------ */
/* Folders                                                                   */

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

/* ------------------------------------------------------------------------ */
/* Digests                                                                   */

/// Digits of a digest where one is written.
#define VW_DIGEST_DIGITS 16U

/// The 64-bit XXH3 digest of bytes: tells a file that was changed, guards
/// against no attack.
uint64_t vw_digest(const void* data, size_t n_bytes);

/// Read a digest of 16 hexadecimal digits and move `text` behind it. False, and
/// nothing moved, where there is none.
bool vw_digest_read(const char** text, uint64_t* digest);

/* ------------------------------------------------------------------------ */
/* Files                                                                     */

/// A file that is open to be read.
typedef struct {
  int      fd;
  uint64_t n_bytes; ///< As it was opened.
  bool     failed;  ///< Some of it could not be read: what was found by what
                    ///< was read does not hold.
} VwOpenFile;

/**
 * Open a file that is one; never waits for a pipe.
 *
 * @param file Filled in on success; close it with vw_file_close().
 * @return #VW_OK, #VW_MISSING, #VW_UNREADABLE, #VW_NOT_REGULAR, #VW_NO_MEMORY.
 */
VwStatus vw_file_open(const char* path, VwOpenFile* file);

/// Read from a place on. Returns how many bytes there were: fewer than asked
/// for at the end, and if `failed` is set.
size_t vw_file_get(VwOpenFile* file, void* to, size_t n_bytes, uint64_t at);

/// Close a file.
void vw_file_close(VwOpenFile* file);

/// Which status an error of the system while writing stands for; 0 is none.
VwStatus vw_file_status(int error);

/**
 * Read a whole file.
 *
 * @param bytes Filled in on success, with a zero behind the last; free it with
 * vw_bytes_clear().
 * @return #VW_OK, #VW_NO_MEMORY, #VW_MISSING, #VW_UNREADABLE,
 * #VW_NOT_REGULAR.
 */
VwStatus vw_file_read(const char* path, VwBytes* bytes);

/**
 * The digest of a file, as vw_digest() has it.
 *
 * @return As vw_file_read().
 */
VwStatus vw_file_digest(const char* path, uint64_t* digest);

/// Write bytes, all of them.
///
/// @return 0, or the error of the system.
int vw_file_add(int fd, const void* data, size_t n_bytes);

/**
 * Write all bytes to a file, sync and close it.
 *
 * @return 0, or the first error of the system.
 */
int vw_file_fill(int fd, const VwBytes* bytes);

/**
 * Write a file, whole or not at all; what has its name is replaced.
 *
 * @return #VW_OK, #VW_NO_MEMORY, or what vw_file_status() says.
 */
VwStatus vw_file_write(const char* path, const VwBytes* bytes);

/// Write a file once more in that way, as the newest of its folder.
///
/// @return As vw_file_read() and vw_file_write().
VwStatus vw_file_copy(const char* from, const char* to);

/* ------------------------------------------------------------------------ */
/* One run at a time, and undisturbed                                        */

/**
 * Keep other runs from a folder's list while it is read and replaced; wait
 * until they are done with it. If a file system has no locks, nobody is kept
 * from anything.
 *
 * @return For vw_folder_unlock().
 */
int vw_folder_lock(const char* folder);

/// Let others in again.
void vw_folder_unlock(int lock);

/// Remove from a folder, before anything is written there, the files on their
/// way to a name whose process is gone.
void vw_folder_sweep(const char* path);

/// Signals that ask for the end: they wait until they are let through.
typedef struct {
  sigset_t held; ///< But those that are ignored, or waited already.
} VwSignals;

/// Have them wait, in this thread and those that it starts.
void vw_signals_hold(VwSignals* signals);

/// Whether one waits.
bool vw_signals_wait(const VwSignals* signals);

/// Let through what waits, and have the next wait again.
void vw_signals_pass(void);

/// Let them through: if one waits, this may be the process's end.
void vw_signals_release(const VwSignals* signals);

/* ------------------------------------------------------------------------ */
/* The list of a folder: which files are ours                                */

/// A text file of lines "DIGEST  NAME", and of further lines that start with a
/// word: a part and the figures of one, "pack" and what a pack notes.
#define VW_LEDGER_NAME ".volleyweave.list"

// How the list of a pack starts, and that of one that was stopped on its way.
#define VW_LEDGER_FINISHED "pack 1 finished"
#define VW_LEDGER_UNFINISHED "pack 1 unfinished"

// How its lines "WORDS DIGEST NAME" start: on a file that is of the pack, and
// on one that it made, and no sound makes any more.
#define VW_LEDGER_OF_PACK "pack file "
#define VW_LEDGER_LEFT "pack left "

// How the line on a file that may be a take again starts: "WORDS DIGEST NAME".
#define VW_LEDGER_TAKE "take "

// How its line on the board starts that it is made for.
#define VW_LEDGER_BOARD "pack board "

/**
 * Read the list in the folder of `path`.
 *
 * @param text Set on success: to be freed, or NULL if there is none.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_UNREADABLE.
 */
VwStatus vw_ledger_read(const char* path, char** text);

/// Cut the next line off a list's text and move `rest` behind it; NULL after
/// the last. `*rest` may be NULL.
char* vw_ledger_next(char** rest);

/// The name on a line "DIGEST  NAME", or NULL where it is another.
const char* vw_ledger_file(const char* line, uint64_t* digest);

/// The name on a line of a pack's list that starts with these words, or NULL
/// where it is another. Points into `line`.
const char* vw_ledger_packed(const char* line,
                             const char* words,
                             uint64_t*   digest);

/// The name on a line on what a file holds, or that it may be a take; NULL if
/// it is another.
const char* vw_ledger_part(const char* line);

/// A file for the list. Nothing in it is owned.
typedef struct {
  const char* path;
  uint64_t    digest;
  VwMade      made;
  bool        is_take; ///< It may be a take again.
} VwLedgerEntry;

/// Print the lines on a file, whose name is one that fits on a line.
void vw_ledger_print(FILE* out, const VwLedgerEntry* entry);

/**
 * The list of a folder with files added to it.
 *
 * Of what it said about a file the last line stays as well: the list is renamed
 * before the files are, and whichever of both is there is then known.
 *
 * @param entries,n_entries What is going to be written into one folder.
 * @param list Filled in on success; free it with vw_bytes_clear().
 * @return #VW_OK, #VW_NO_MEMORY, #VW_UNREADABLE.
 */
VwStatus vw_ledger_with(const VwLedgerEntry* entries,
                        size_t               n_entries,
                        VwBytes*             list);

/// Whether the list in the folder of `path` names what stands under this very
/// name (a link is not followed) with its present digest.
bool vw_ledger_owns(const char* path);

/**
 * Say whether a file is one that vw_write() wrote and nobody changed since.
 *
 * @return True if its folder's list names it with its present digest.
 */
bool vw_is_own_output(const char* path);

/// Whether a file is one of ours that may be a take again, and nobody changed
/// it since.
bool vw_is_own_take(const char* path);

/**
 * What was written of a file when it was made.
 *
 * @param made Filled in on success.
 * @return True if its folder's list names it with its present digest, and says
 * what it holds; older lists do so of loops with shots alone.
 */
bool vw_made_as(const char* path, VwMade* made);

/// What is known of a loop. Start from vw_loop_unknown().
typedef struct {
  size_t shots;  ///< How many lie in it, 1 to 64; 0: they are counted.
  double gap_ms; ///< The board's gap between repeats; NaN: as the shots'
                 ///< distances tell, which a file made for a gap shows.
} VwLoopKnown;

/**
 * What was written of a loop when it was made.
 *
 * @param known Filled in on success.
 * @return True if its folder's list names it with its present digest, and says
 * how many shots it holds.
 */
bool vw_made_loop(const char* path, VwLoopKnown* known);

/// Whether a file is vw_is_own_output(), and was made as no loop.
bool vw_is_made_otherwise(const char* path);

#endif
