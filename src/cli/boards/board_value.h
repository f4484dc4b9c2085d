/// @file
/// Values of a board file: from text into a board, and back.
#ifndef VW_CLI_BOARD_VALUE_H
#define VW_CLI_BOARD_VALUE_H

#include "board/board.h"
#include "cli/options/choice.h"
#include "cli/options/units.h"

#include <volleyweave/volleyweave.h>

#include <stdbool.h>
#include <stddef.h>

/// What a key holds.
typedef enum {
  BOARD_WORD,         ///< An enumeration: one of `words`.
  BOARD_YES_NO,       ///< A bool.
  BOARD_NUMBER,       ///< An unsigned number.
  BOARD_BYTES,        ///< An uint64_t.
  BOARD_FEW_BYTES,    ///< An unsigned number of bytes.
  BOARD_MS,           ///< A double.
  BOARD_JOINER,       ///< The joiner.
  BOARD_ALLOWED,      ///< The characters allowed.
  BOARD_ENCODINGS,    ///< Lists.
  BOARD_SAMPLE_RATES, ///< In Hz.
  BOARD_CHANNELS      ///< 1 or 2 or both.
} BoardKind;

/// A key of a board file.
typedef struct {
  const char*     section;
  const char*     name;
  const char*     json; ///< Its name in JSON, with its unit.
  BoardKind       kind;
  size_t          offset;   ///< Of what it sets in the board.
  const Quantity* quantity; ///< Of numbers.
  const Choice*   words;    ///< Of #BOARD_WORD.
  const char*     zero;     ///< The word for 0, or NULL: 0 is a number.
  const char*     meaning;  ///< Lines of a comment.
} BoardKey;

/**
 * Read a value.
 *
 * @param shown File, line, key and value, for messages.
 * @return False, and said, where it is wrong; the board is then untouched.
 */
bool board_value_read(const BoardKey* key,
                      const char*     shown,
                      const char*     value,
                      VwBoard*        board);

/// A value as it stands in a file. To be freed; NULL without memory.
char* board_value_print(const BoardKey* key, const VwBoard* board);

/// What an unsigned number, or a count of bytes, is.
uint64_t board_value_count(const BoardKey* key, const VwBoard* board);

#endif
