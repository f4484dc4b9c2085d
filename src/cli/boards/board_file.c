#include "base/status.h"
#include "cli/boards/boards.h"
#include "cli/message/message.h"
#include "cli/options/ini.h"
#include "container/container.h"
#include "store/store.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#define SECTIONS "[format], [limits], [names] and [playing]"

/// A board file that is being read.
typedef struct {
  VwBoard  board;
  unsigned lines[BOARD_KEYS]; ///< Where each key stands; 0: nowhere.
  Faults   faults;
} BoardReading;

/* Name */

bool
board_file_is_called(const char* path) {
  const size_t n = strlen(path);
  const size_t n_ending = strlen(BOARD_FILE_ENDING);
  return n >= n_ending && !strcmp(path + n - n_ending, BOARD_FILE_ENDING);
}

bool
board_file_is_path(const char* asked) {
  return strchr(asked, '/') || board_file_is_called(asked);
}

bool
board_file_is_of(const char* asked, const char* name) {
  const char* const word = vw_path_name(asked);
  const size_t      n = board_file_is_called(asked)
                          ? strlen(word) - strlen(BOARD_FILE_ENDING)
                          : strlen(word);
  return strlen(name) == n && !strncmp(word, name, n);
}

bool
board_file_name(const char* path, VwBoard* board) {
  static const char taken[] = "abcdefghijklmnopqrstuvwxyz"
                              "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-";
  const char* const name = vw_path_name(path);
  if (!board_file_is_called(path)) {
    return say(path,
               "a board file's name ends in " BOARD_FILE_ENDING ": rename it");
  }
  const size_t n = strlen(name) - strlen(BOARD_FILE_ENDING);
  if (!n || n >= sizeof(board->name) || strspn(name, taken) < n ||
      name[0] == '-') {
    return say(
      path,
      "a board's name is one word of up to 40 letters, digits, - and _: "
      "rename the file, to mine" BOARD_FILE_ENDING ", say");
  }
  if (n == strlen("none") && !strncmp(name, "none", n)) {
    return say(path, "`none` stands for no board at all: rename the file");
  }
  memcpy(board->name, name, n);
  board->name[n] = '\0';
  return true;
}

/* Keys */

static void
refuse_key(BoardReading* reading, const char* section, const IniEntry* entry) {
  const BoardKey* const elsewhere = board_keys_find(NULL, entry->key);
  const BoardKey* const near = board_keys_nearest(entry->key);
  const char* const     hint = board_keys_hint(entry->key);
  Faults* const         faults = &reading->faults;
  if (elsewhere) {
    fault_say(faults,
              entry->line,
              "%s: no key of [%s]: move it to [%s]",
              entry->key,
              section,
              elsewhere->section);
  } else if (hint) {
    fault_say(faults, entry->line, "%s: no such key: %s", entry->key, hint);
  } else if (near) {
    fault_say(faults,
              entry->line,
              "%s: no such key: did you mean %s?",
              entry->key,
              near->name);
  } else {
    fault_say(faults,
              entry->line,
              "%s: no such key: `volleyweave boards wav-44k-mono` prints all "
              "there are",
              entry->key);
  }
}

static void
take_entry(BoardReading* reading, const char* section, const IniEntry* entry) {
  const BoardKey* const key = board_keys_find(section, entry->key);
  Faults* const         faults = &reading->faults;
  if (!key) {
    refuse_key(reading, section, entry);
    return;
  }
  char* const shown = text_format(
    "%s:%u: %s = %s", faults->path, entry->line, entry->key, entry->value);
  // What is read says its faults itself.
  const bool good = !fault_is_enough(faults) && shown &&
                    board_value_read(key, shown, entry->value, &reading->board);
  faults->n += good ? 0U : 1U;
  reading->lines[key - board_keys] = entry->line;
  free(shown);
}

static void
take_section(BoardReading* reading, const IniSection* section) {
  const char* const near = board_keys_section(section->name);
  if (near && !strcmp(near, section->name)) {
    for (size_t i = 0; i < section->n_entries; ++i) {
      take_entry(reading, section->name, &section->entries[i]);
    }
  } else if (near) {
    fault_say(&reading->faults,
              section->line,
              "[%s]: no section of a board file: did you mean [%s]?",
              section->name,
              near);
  } else {
    fault_say(&reading->faults,
              section->line,
              "[%s]: no section of a board file: there are " SECTIONS,
              section->name);
  }
}

/* What does not agree */

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
  const VwBoard* const board = &reading->board;
  const unsigned       most = board_slots_most(board);
  if (board->naming.digits && board->slots_max > most) {
    fault_say(&reading->faults,
              line_of(reading, "slots"),
              "slots: %u digits count to %u only: write fewer slots or more "
              "digits",
              board->naming.digits,
              most);
  }
}

/* Names */

/// The name that a part of a sound has; NULL where it has none, or no memory.
static char*
name_of(const VwBoard* board, VwPart part) {
  const VwFileLabel label = {.slot = 1U, .sound = "zap", .part = part};
  char*             name = NULL;
  return vw_board_file_name(board, &label, &name) ? NULL : name;
}

/// Whether there is room for what a name consists of, tried out.
static bool
check_length(BoardReading* reading) {
  const VwNaming* const naming = &reading->board.naming;
  const char* const     ending = vw_container_ending(reading->board.container);
  char* const           name = name_of(&reading->board, VW_PART_RUN_IN);
  const bool            good = name != NULL;
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
              "length: %u digits, a sound, its part and %s are longer: write "
              "more, or leave a part of the name out",
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
  char* const shot = name_of(board, VW_PART_SHOT);
  char* const loop = name_of(board, VW_PART_LOOP);
  if (board->repeat == VW_REPEAT_THREE_FILES && shot && loop &&
      !strcmp(shot, loop)) {
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

static void
check(BoardReading* reading) {
  check_encodings(reading);
  check_room(reading);
  check_slots(reading);
  check_names(reading);
  check_repeat(reading);
}

/* Read */

/// Prove what was read. False, and said, if there are faults.
static bool
prove(BoardReading* reading, const IniFile* file) {
  for (size_t i = 0; i < file->n_sections; ++i) {
    take_section(reading, &file->sections[i]);
  }
  if (!file->n_sections && !reading->faults.n) {
    fault_say(&reading->faults,
              0,
              "nothing is in it: `volleyweave boards wav-22k-mono` prints a "
              "board to begin with");
  }
  if (!reading->faults.n) {
    // Values that could not be read would be blamed for more.
    check(reading);
  }
  return fault_end(&reading->faults);
}

bool
board_file_read(const char* path, VwBoard* board) {
  BoardReading reading = {.board = vw_board_defaults(),
                          .faults = {.path = path}};
  IniFile      file = {0};
  if (!board_file_name(path, &reading.board)) {
    return false;
  }
  const bool good =
    ini_read(NULL, &reading.faults, &file) && prove(&reading, &file);
  ini_clear(&file);
  if (good) {
    *board = reading.board;
  }
  return good;
}

/* Print */

/// Print the words of a key: "a, b (c) or d".
static void
print_choices(const Choice* choices, FILE* out) {
  for (const Choice* choice = choices; choice->word; ++choice) {
    const bool last = !choice[1].word;
    fprintf(out,
            "%s%s%s",
            choice == choices ? ""
            : last            ? " or "
                              : ", ",
            choice->word,
            choice->told ? choice->told : "");
  }
}

/// Print what a key means, each line as a comment.
static void
print_meaning(const BoardKey* key, FILE* out) {
  static const char mark[] = "{choices}";
  const char*       at = key->meaning;
  fprintf(out, "# ");
  for (; *at; ++at) {
    if (!strncmp(at, mark, strlen(mark))) {
      print_choices(key->words, out);
      at += strlen(mark) - 1U;
    } else {
      fputc(*at, out);
      fputs(*at == '\n' ? "# " : "", out);
    }
  }
  fputc('\n', out);
}

bool
board_file_print(const VwBoard* board, FILE* out) {
  fprintf(out,
          "# The board %s: what it accepts, and how it behaves.\n"
          "# Call the file NAME" BOARD_FILE_ENDING
          ". A key that is left out means 44.1 kHz, mono,\n"
          "# 16 bit, WAV, no limit, no gap, no delay.\n",
          board->name);
  for (size_t i = 0; i < BOARD_KEYS; ++i) {
    const BoardKey* const key = &board_keys[i];
    const bool  begins = !i || strcmp(board_keys[i - 1U].section, key->section);
    char* const value = board_value_print(key, board);
    if (!value) {
      return false;
    }
    if (begins) {
      fprintf(out, "\n[%s]\n", key->section);
    }
    print_meaning(key, out);
    fprintf(out, "%s = %s\n", key->name, value);
    free(value);
  }
  return true;
}
