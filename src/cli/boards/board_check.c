#include "cli/boards/board_check.h"

#include "board/board.h"
#include "container/container.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

/// The line of a key, or 0.
static unsigned
line_of(const BoardReading* reading, const char* name) {
  return reading->lines[board_keys_find(NULL, name) - board_keys];
}

/// The line of a key, or that of another where it is not there.
static unsigned
line_of_either(const BoardReading* reading, const char* a, const char* b) {
  const unsigned line = line_of(reading, a);
  return line ? line : line_of(reading, b);
}

static void
check_encodings(BoardReading* reading) {
  const VwBoard* const board = &reading->board;
  for (unsigned i = 0; i < board->n_encodings; ++i) {
    if (!vw_container_carries(board->container, board->encodings[i])) {
      fault_say(&reading->faults,
                line_of_either(reading, "encoding", "container"),
                "encoding: a file *%s holds no %s: name another encoding or "
                "another container",
                vw_container_ending(board->container),
                vw_encoding_name(board->encodings[i]));
    }
  }
}

static bool
is_power_of_two(unsigned n) {
  return n && !(n & (n - 1U));
}

static void
check_room(BoardReading* reading) {
  const VwBoard* const board = &reading->board;
  const unsigned       cluster = board->cluster_bytes;
  if (cluster % 1000U == 0 && is_power_of_two(cluster / 1000U)) {
    fault_say(&reading->faults,
              line_of(reading, "cluster"),
              "cluster: no card has clusters of %u bytes: did you mean %uKiB?",
              cluster,
              cluster / 1000U);
  }
  if (board->capacity_bytes && board->capacity_bytes < cluster) {
    fault_say(&reading->faults,
              line_of_either(reading, "capacity", "cluster"),
              "capacity: %" PRIu64 " bytes are not even a cluster of %u: "
              "write more, or a smaller cluster",
              board->capacity_bytes,
              cluster);
  }
}

static void
check_slots(BoardReading* reading) {
  static const unsigned most[] = {0U, 9U, 99U, 999U, 9999U, 99999U};
  const VwBoard* const  board = &reading->board;
  const unsigned        digits = board->naming.digits;
  if (digits && board->slots_max > most[digits]) {
    fault_say(&reading->faults,
              line_of(reading, "slots"),
              "slots: %u digits count to %u only: write fewer slots or more "
              "digits",
              digits,
              most[digits]);
  }
}

/* Names */

/// The name that a sound's part has; NULL where it has none, or no memory.
static char*
name_of(const VwBoard* board, unsigned slot, const char* sound, VwPart part) {
  const VwFileLabel label = {slot, NULL, sound, part};
  char*             name = NULL;
  return vw_board_file_name(board, &label, &name) ? NULL : name;
}

/// Whether two names are different.
static bool
differ(const char* a, const char* b) {
  return !a || !b || strcmp(a, b) != 0;
}

/// Whether there is room for what a name consists of, tried out.
static bool
check_length(BoardReading* reading) {
  const VwNaming* const naming = &reading->board.naming;
  const char* const     ending = vw_container_ending(reading->board.container);
  char* const name = name_of(&reading->board, 1U, "zap", VW_PART_RUN_IN);
  const bool  good = name != NULL;
  free(name);
  if (good) {
    return true;
  }
  if (naming->eight_three && strlen(ending) > 4U) {
    fault_say(&reading->faults,
              line_of(reading, "eight-three"),
              "eight-three: the ending %s has more than three letters: write "
              "eight-three = no, or name another container",
              ending);
  } else {
    fault_say(&reading->faults,
              line_of_either(reading, "length", "eight-three"),
              "length: it leaves no room for %u digits, a sound, its part and "
              "%s: write more, or leave something of the name out",
              naming->digits,
              ending);
  }
  return false;
}

/// Whether names tell sounds and parts apart, tried out.
static void
check_names(BoardReading* reading) {
  const VwBoard* const board = &reading->board;
  if (!board->naming.digits && !board->naming.sound) {
    fault_say(&reading->faults,
              line_of_either(reading, "sound", "digits"),
              "sound: with neither slot nor sound in it, all names are the "
              "same: write sound = yes, or give digits");
    return;
  }
  if (!check_length(reading)) {
    return;
  }
  char* const shot = name_of(board, 1U, "zap", VW_PART_SHOT);
  char* const loop = name_of(board, 1U, "zap", VW_PART_LOOP);
  if (board->repeat == VW_REPEAT_THREE_FILES && !differ(shot, loop)) {
    fault_say(&reading->faults,
              line_of_either(reading, "parts", "repeat"),
              "parts: the three files of a sound would have one name: write "
              "parts = yes");
  }
  free(shot);
  free(loop);
}

/* Playing */

static void
check_repeat(BoardReading* reading) {
  const VwBoard* const board = &reading->board;
  if (board->loop_points && board->container != VW_CONTAINER_WAV) {
    fault_say(&reading->faults,
              line_of(reading, "loop-points"),
              "loop-points: only WAV files have them: write loop-points = no");
  } else if (board->repeat == VW_REPEAT_LOOP_POINTS && !board->loop_points) {
    fault_say(&reading->faults,
              line_of(reading, "repeat"),
              "repeat: a board that reads no loop points repeats none: write "
              "loop-points = yes too");
  }
  if (board->gap_ms > 0.0 && board->repeat != VW_REPEAT_WHOLE_FILE) {
    fault_say(&reading->faults,
              line_of(reading, "gap"),
              "gap: it is the silence between repeats of a whole file: write "
              "gap = 0, or repeat = whole-file");
  }
}

void
board_check(BoardReading* reading) {
  check_encodings(reading);
  check_room(reading);
  check_slots(reading);
  check_names(reading);
  check_repeat(reading);
}
