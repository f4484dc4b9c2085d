/// @file
/// A page for a browser, with sounds in it: the whole program and the takes, if
/// that page was built, else a plain one that plays what was made.
#ifndef VW_CLI_PAGE_PAGE_H
#define VW_CLI_PAGE_PAGE_H

#include "cli/message/figures.h"
#include "cli/options/settings.h"
#include "cli/packing/packing.h"

#include <volleyweave/volleyweave.h>

#include <stdio.h>

/// Most characters of files in a page: what browsers open in a few seconds
/// (measured here). Files beyond are left out.
#define PAGE_CHARACTERS_MOST 64000000U

/// A file in a page.
typedef struct {
  char* path; ///< Owned.
  char* name; ///< In the page, one of its kind. Owned.
} PageFile;

/// A page on its way.
typedef struct {
  const Settings* settings; ///< Not owned.
  VwBytes         built;    ///< The page without sounds; plain: none. Owned.
  size_t          at;       ///< Where in it the sounds belong.
  FILE*           out;      ///< What stands there; plain: the whole page.
  char*           text;     ///< The same as text.
  size_t          n_bytes;
  Figures*        head;     ///< What the page is told first. Owned.
  Figures*        left_out; ///< Of it: files that found no room.
  PageFile*       files;
  size_t          n_files;
  size_t          n_characters; ///< Of the files in it.
  const char*     sound;        ///< That files are now of, or NULL.
  bool            failed;       ///< A file is missing in it: it is not written.
} Page;

/// Begin a page, to be ended with page_end(); its title may be empty. False,
/// and said, without memory.
bool page_begin(const Settings* settings, const char* title, Page* page);

/// Whether it is a plain one, into which no files go.
bool page_is_plain(const Page* page);

/// Give the page a file of that name, or of another if it has one of that name.
/// What finds no room is said and left out; what cannot be read is said, and
/// page_end() fails. Returns its name, which the page owns; NULL, and said,
/// without memory.
const char* page_file(Page* page, const char* path, const char* name);

/// The name of a file that the page was given; NULL if it was not.
const char* page_name_of(const Page* page, const char* path);

/// Add a block of data: a file that is made here.
void page_add(Page* page, const char* name, const VwBytes* bytes);

/// Tell the page of the board: by its file, if that is given, else by name.
/// Returns the word by which the page knows it.
const char* page_board(Page* page, const char* path, const VwBoard* board);

/**
 * Write the page, and free what it owns.
 *
 * @param same Set to whether the file was there already, byte for byte: then it
 * is left alone.
 * @return False, and said, if it could not be written.
 */
bool page_end(Page* page, const char* path, bool* same);

/// End it without writing anything.
void page_drop(Page* page);

/// Bytes in base64. To be freed; NULL without memory.
char* page_base64(const VwBytes* bytes);

/* The plain page */

/// What it says of itself. Static.
extern const char page_plain_words[];

/// Print them behind the line on a page that was written, if it is such a one.
void page_tell_plain(bool plain);

/// Write what stands before the sounds.
void page_plain_begin(FILE* out, const char* title);

/// Write a player for each file of a family. Returns as vw_encode().
VwStatus page_plain_family(FILE*           out,
                           const char*     name,
                           const VwFamily* family,
                           uint64_t        seed);

/// Write a player for each file of a pack's sounds, which lies beside the page.
void page_plain_pack(FILE* out, const PackRun* run);

/* Packs */

/// What is shown, and where. Nothing in it is owned.
typedef struct {
  const Settings*   settings;
  const Prop*       prop;
  const PackBoards* boards;
  const PackRun*    runs; ///< One for each board.
  const char*       path;
} PagePack;

/**
 * Write the page of the packs that were made, unless none was.
 *
 * @return False, and said, if it could not be written.
 */
bool page_of_pack(const PagePack* shown);

#endif
