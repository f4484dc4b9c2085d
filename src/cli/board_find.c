#include "board_find.h"

#include "say.h"

#include <string.h>

bool
board_find(const char* asked, VwBoard* board) {
  if (!asked) {
    say("--board",
        "no board is given: name the one that is to play, as in --board "
        "wav-44k-mono");
    return false;
  }
  for (size_t i = 0; vw_board_built_in(i); ++i) {
    if (!strcmp(vw_board_built_in(i)->name, asked)) {
      *board = *vw_board_built_in(i);
      return true;
    }
  }
  say(asked, "no such board: name another, as in --board wav-44k-mono");
  return false;
}
