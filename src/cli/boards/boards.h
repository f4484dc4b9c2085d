/// @file
/// Boards: what stands in a board file, which boards are at hand, and what one
/// decides of the settings.
///
/// A board file is called NAME.board.ini, and the board as the file is. Each of
/// its keys is a row of #board_keys, by which it is read, printed and told.
#ifndef VW_CLI_BOARDS_H
#define VW_CLI_BOARDS_H

#include "board/board.h"
#include "cli/options/options.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

/* Keys */

/// What a key holds.
typedef enum {
  BOARD_WORD,      ///< An enumeration: one of `words`.
  BOARD_YES_NO,    ///< A bool.
  BOARD_NUMBER,    ///< An unsigned number.
  BOARD_BYTES,     ///< An uint64_t.
  BOARD_FEW_BYTES, ///< An unsigned number of bytes.
  BOARD_MS,        ///< A double.
  BOARD_TEXT,      ///< Characters that stand in file names.
  BOARD_LIST       ///< Unsigned numbers or enumerations.
} BoardKind;

/// A key of a board file.
typedef struct {
  const char*     section;
  const char*     name;
  const char*     json; ///< Its name in JSON, with its unit.
  BoardKind       kind;
  size_t          offset;   ///< Of what it sets in the board.
  size_t          n_offset; ///< Of how many a list has.
  size_t          most;     ///< Values of a list; bytes of a text, its end too.
  const Quantity* quantity; ///< Of numbers.
  const Choice*   words;    ///< Of words and lists; NULL: sample rates.
  const char*     zero;     ///< The word for 0, or nothing; NULL: it has none.
  const char*     meaning;  ///< Lines of a comment; {choices}: its words.
} BoardKey;

/// How many there are.
#define BOARD_KEYS 26U

/// All of them, in the order in which they are printed.
extern const BoardKey board_keys[BOARD_KEYS];

/// The key of that name in that section, or in any where that is NULL; NULL
/// where there is none.
const BoardKey* board_keys_find(const char* section, const char* name);

/// The key nearest to a misspelled name, or NULL.
const BoardKey* board_keys_nearest(const char* name);

/// What to say to a name from elsewhere, or NULL. Static.
const char* board_keys_hint(const char* name);

/// The section of that name, or the nearest, or NULL. Static.
const char* board_keys_section(const char* name);

/**
 * Read a value.
 *
 * @param shown File, line, key and value, for messages.
 * @return False, and said, if it is wrong; the board is then untouched.
 */
bool board_value_read(const BoardKey* key,
                      const char*     shown,
                      const char*     value,
                      VwBoard*        board);

/// A value as it stands in a file. To be freed; NULL without memory.
char* board_value_print(const BoardKey* key, const VwBoard* board);

/// What an unsigned number, or a count of bytes, is.
uint64_t board_value_count(const BoardKey* key, const VwBoard* board);

/// The values of a list; set `n` to how many there are.
const unsigned* board_value_list(const BoardKey* key,
                                 const VwBoard*  board,
                                 unsigned*       n);

/* Files */

/// What the name of a board file ends in.
#define BOARD_FILE_ENDING ".board.ini"

/// Whether a name ends as those of board files do.
bool board_file_is_called(const char* path);

/// Whether a board is asked for by its file: with a slash or that ending.
bool board_file_is_path(const char* asked);

/// Whether a board asked for, by its file or its name, has this name.
bool board_file_is_of(const char* asked, const char* name);

/// Call a board as the file in which it is to be. False, and said, if that
/// is no name.
bool board_file_name(const char* path, VwBoard* board);

/**
 * Read a board file.
 *
 * @param board Filled in on success; its name is the file's.
 * @return False, and all faults said, where it is none.
 */
bool board_file_read(const char* path, VwBoard* board);

/// Print a board as a file to edit, each key explained. False without memory.
bool board_file_print(const VwBoard* board, FILE* out);

/* Boards at hand */

/// A board at hand.
typedef struct {
  char*          name;     ///< Owned.
  char*          path;     ///< Its file, or NULL. Owned.
  const VwBoard* built_in; ///< Where it has no file.
} BoardEntry;

/// Boards by their names. Starts all zero.
typedef struct {
  BoardEntry* entries; ///< Owned.
  size_t      n;
} BoardList;

/// List the user's boards, then those built in that none of them replaces; free
/// with board_list_clear(). False without memory.
bool board_list_fill(BoardList* list);

/// The board of that name, or NULL.
const BoardEntry* board_list_entry(const BoardList* list, const char* name);

/// Free what `list` owns. NULL is accepted.
void board_list_clear(BoardList* list);

/// The folder of the user's boards. To be freed; NULL where there is none.
char* board_list_folder(void);

/// What the environment names: a board, a board file or "none"; or NULL.
const char* board_default_of_environment(void);

/**
 * The default board: that of the environment, then what
 * the settings of the user name, then those of the system.
 *
 * @param name Filled in with what is named, or NULL. To be freed.
 * @return False, and said, if they cannot be read.
 */
bool board_default(char** name);

/**
 * Find a board.
 *
 * @param asked A file, where there is a slash in it or it ends as board files
 * do; else the name of one of the user's own boards, or of one built in.
 * @return False, and said, if there is none or its file has faults.
 */
bool board_find(const char* asked, VwBoard* board);

/// The file of a board asked for so; NULL if it has none. To be freed.
char* board_path(const char* asked);

/// Whether there is a board of that name, of the user's own or built in.
bool board_is_at_hand(const char* name);

/**
 * Find the board asked for, or else the default one.
 *
 * @param asked As in board_find(), "none", or NULL: the default.
 * @param found Set to whether there is one.
 * @return False, and said, if something is wrong.
 */
bool board_find_or_default(const char* asked, VwBoard* board, bool* found);

/* Settings */

/**
 * Find the board asked for and let it decide what no option did.
 *
 * @return False, and said, if there is no such board, or where an option
 * asks for what it does not play.
 */
bool board_settle(const CommandName* command, Settings* settings);

/// Whether a board plays what this option asks of a format: "sample-rate",
/// "channels" or "bits".
bool board_plays(const VwBoard*  board,
                 const VwFormat* format,
                 const char*     option);

/// The highest slot that a board plays by; 0: it plays by none.
unsigned board_slots_most(const VwBoard* board);

/// Whether the board names a file of every take, so asked. False, and said,
/// if it does not.
bool board_check_slots(const Settings* settings);

/// Bytes of the largest file that the board takes; 0: no limit.
uint64_t board_bytes_max(const Settings* settings);

#endif
