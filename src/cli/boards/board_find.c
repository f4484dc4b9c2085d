#include "cli/boards/board_find.h"

#include "board/board.h"
#include "cli/boards/board_default.h"
#include "cli/boards/board_file.h"
#include "cli/boards/board_list.h"
#include "cli/message/say.h"
#include "cli/message/suggest.h"

#include <stdlib.h>
#include <string.h>

/// Say that there is no such board, and which there are.
static bool
refuse(const BoardList* list, const char* asked) {
  const char* near = NULL;
  char*       names = text_format("%s", "");
  for (size_t i = 0; names && i < list->n; ++i) {
    const char* const name = list->entries[i].name;
    char* const       more = text_format("%s%s%s", names, i ? ", " : "", name);
    free(names);
    names = more;
    if (suggest_is_near(asked, name) &&
        (!near ||
         suggest_distance(asked, name) < suggest_distance(asked, near))) {
      near = name;
    }
  }
  if (near) {
    say(asked, "no such board: did you mean %s?", near);
  } else {
    say(asked,
        "no such board: there are %s; or name a file, NAME" BOARD_FILE_ENDING,
        names ? names : "others");
  }
  free(names);
  return false;
}

static bool
find_in(const BoardList* list, const char* asked, VwBoard* board) {
  for (size_t i = 0; i < list->n; ++i) {
    const BoardEntry* const entry = &list->entries[i];
    if (!strcmp(entry->name, asked)) {
      if (entry->built_in) {
        *board = *entry->built_in;
        return true;
      }
      return board_file_read(entry->path, board);
    }
  }
  return refuse(list, asked);
}

bool
board_find(const char* asked, VwBoard* board) {
  if (board_file_is_path(asked)) {
    return board_file_read(asked, board);
  }
  if (!strcmp(asked, "none")) {
    say(asked, "a board is needed here: name one, as in wav-44k-mono");
    return false;
  }
  BoardList  list = {0};
  const bool filled = board_list_fill(&list);
  if (!filled) {
    say(asked, "not enough memory");
  }
  const bool good = filled && find_in(&list, asked, board);
  board_list_clear(&list);
  return good;
}

bool
board_find_or_default(const char* asked, VwBoard* board, bool* found) {
  char*             name = NULL;
  bool              good = asked || board_default(&name);
  const char* const meant = asked ? asked : name;
  *found = good && meant && strcmp(meant, "none") != 0;
  if (*found) {
    good = board_find(meant, board);
    *found = good;
  }
  free(name);
  return good;
}
