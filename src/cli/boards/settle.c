#include "base/status.h"
#include "board/board.h"
#include "cli/boards/boards.h"
#include "cli/message/message.h"

#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

// Digits in front of a name are five at most.
#define SLOT_MOST 99999U

/* What is asked and not accepted */

/// An option, and the key that lists what the board accepts of it.
typedef struct {
  const char* option;
  const char* key;
  size_t      offset; ///< Of what is asked, in the format.
} Listed;

static const Listed listed[] = {
  {"sample-rate", "sample-rate", offsetof(VwFormat, rate_hz)},
  {"channels", "channels", offsetof(VwFormat, n_channels)},
  {"bits", "encoding", offsetof(VwFormat, encoding)},
};

static unsigned*
place_in(VwFormat* format, const Listed* of) {
  return (unsigned*)(void*)((char*)format + of->offset);
}

static unsigned
asked_of(const VwFormat* format, const Listed* of) {
  VwFormat copy = *format;
  return *place_in(&copy, of);
}

static bool
accepts(const VwBoard* board, const VwFormat* format, const Listed* of) {
  unsigned              n = 0;
  const unsigned* const values =
    board_value_list(board_keys_find(NULL, of->key), board, &n);
  for (unsigned i = 0; i < n; ++i) {
    if (values[i] == asked_of(format, of)) {
      return true;
    }
  }
  return false;
}

bool
board_plays(const VwBoard* board, const VwFormat* format, const char* option) {
  for (size_t i = 0; i < COUNT(listed); ++i) {
    if (!strcmp(listed[i].option, option)) {
      return accepts(board, format, &listed[i]);
    }
  }
  return false;
}

/// A value in words, or in digits. To be freed.
static char*
word_for(const BoardKey* key, unsigned value) {
  return key->words ? text_format("%s", choice_word(key->words, (int)value))
                    : text_format("%u", value);
}

/// What a board accepts: "8, 16 or 24". To be freed.
static char*
list_accepted(const BoardKey* key, const VwBoard* board) {
  unsigned              n = 0;
  const unsigned* const values = board_value_list(key, board, &n);
  char*                 list = NULL;
  for (unsigned i = 0; i < n; ++i) {
    char* const word = word_for(key, values[i]);
    list = text_more(list, i + 1U == n ? " or " : ", ", "%s", word ? word : "");
    free(word);
  }
  return list;
}

/// Say what a board accepts where what an option asks is not among it.
static bool
check_listed(const Settings* settings, const Listed* of) {
  const VwBoard* const  board = &settings->board;
  const VwFormat* const format = &settings->family.format;
  const BoardKey* const key = board_keys_find(NULL, of->key);
  if (!settings_is_given(settings, of->option) || accepts(board, format, of)) {
    return true;
  }
  char* const accepted = list_accepted(key, board);
  char* const word = word_for(key, asked_of(format, of));
  char* const shown = text_format("--%s %s", of->option, word);
  say(shown,
      "the board %s takes --%s %s: give that, or leave the option out",
      board->name,
      of->option,
      accepted ? accepted : "others");
  free(shown);
  free(word);
  free(accepted);
  return false;
}

/// `form` is what the board would be given.
static bool
check_form(const Settings* settings, VwForm form) {
  if (!settings->has_form || settings->family.form == form) {
    return true;
  }
  char* const shown =
    text_format("--form %s", vw_form_name(settings->family.form));
  if (form == VW_FORM_BURST) {
    say(shown,
        "the board %s repeats nothing: leave --form out, or write --burst 3, "
        "say",
        settings->board.name);
  } else {
    say(shown,
        "the board %s plays --form %s: give that, or leave --form out",
        settings->board.name,
        vw_form_name(form));
  }
  free(shown);
  return false;
}

/* Apply */

/// What options ask goes before what the board would be given first.
static void
keep_given(Settings* settings, VwFormat* given) {
  for (size_t i = 0; i < COUNT(listed); ++i) {
    if (settings_is_given(settings, listed[i].option)) {
      *place_in(&settings->family.format, &listed[i]) =
        *place_in(given, &listed[i]);
    }
  }
}

/// What is known better of the board than its file says.
static void
mend_board(Settings* settings) {
  if (settings_is_given(settings, "buffer")) {
    settings->board.buffer_frames = settings->family.buffer_frames;
  }
  if (settings_is_given(settings, "gap")) {
    settings->board.gap_ms = settings->family.gap_ms;
  }
}

static bool
check_overrun(const Settings* settings) {
  if (!settings_is_given(settings, "overrun-max") ||
      settings->board.release == VW_RELEASE_FINISHES) {
    return true;
  }
  return say("--overrun-max",
             "the board %s stops at the release, nothing goes on: leave it out",
             settings->board.name);
}

static bool
apply(const CommandName* command, Settings* settings) {
  VwFamilyOptions given = settings->family;
  for (size_t i = 0; i < COUNT(listed); ++i) {
    if (!check_listed(settings, &listed[i])) {
      return false;
    }
  }
  if (!check_overrun(settings)) {
    return false;
  }
  mend_board(settings);
  const VwStatus st =
    vw_board_apply(&settings->board, &settings->board_wish, &settings->family);
  if (st) {
    return say(settings->board.name, "%s: %s", vw_strerror(st), vw_remedy(st));
  }
  const VwForm form = settings->family.form;
  keep_given(settings, &given.format);
  settings->family.form = given.form;
  if (command->bit == COMMAND_LOOP && !check_form(settings, form)) {
    return false;
  }
  settings->family.form = form;
  return true;
}

/// Where no board is named, what is known of one counts all the same.
static void
apply_alone(Settings* settings) {
  VwFamilyOptions* const family = &settings->family;
  const double           overrun_s = settings->board_wish.overrun_max_s;
  family->run_in_max_s = settings->board_wish.run_in_max_s;
  if (overrun_s > 0.0) {
    family->cycle_max_s = fmin(family->cycle_max_s, overrun_s);
  }
  if (family->gap_ms > 0.0 && !settings->has_form && !settings->has_burst) {
    family->form = VW_FORM_WHOLE_FILE;
  }
}

static bool
check_gap(const Settings* settings) {
  const VwForm form = settings->family.form;
  if (!settings_is_given(settings, "gap") || settings->family.gap_ms == 0.0 ||
      form == VW_FORM_WHOLE_FILE) {
    return true;
  }
  return say("--gap",
             "a gap is that of a board that repeats a whole file: %s",
             settings->has_board   ? "leave it out, or name another --board"
             : settings->has_burst ? "leave it or --burst out"
                                   : "give --form whole-file, or leave it out");
}

/// Whether a slot is of use: that of a shot among others is in its file's name,
/// or nowhere.
static bool
check_slot(const CommandName* command, const Settings* settings) {
  if (!settings->has_board && settings->slot) {
    return say("--slot", "a slot is a board's: name it with --board");
  }
  if (command->bit == COMMAND_SPLIT && settings->slot &&
      !settings->board.naming.digits) {
    return say("--slot",
               "the files of %s have no number in front: leave it out",
               settings->board.name);
  }
  return true;
}

bool
board_settle(const CommandName* command, Settings* settings) {
  if (!(command->bit &
        (COMMANDS_MAKE | COMMAND_LAMP | COMMAND_TRYOUT | COMMAND_GAUGE))) {
    return true;
  }
  if (!board_find_or_default(
        settings->board_asked, &settings->board, &settings->has_board)) {
    return false;
  }
  if (command->bit == COMMAND_LAMP) {
    return true; // nothing is made for it
  }
  if (!check_slot(command, settings)) {
    return false;
  }
  if (settings->has_board) {
    return apply(command, settings) && check_gap(settings);
  }
  apply_alone(settings);
  return check_gap(settings);
}

/* Names */

unsigned
board_slots_most(const VwBoard* board) {
  // Without digits the slot is no part of a name, but may still be counted.
  const unsigned most = vw_board_slots(board);
  return most == UINT_MAX ? 0U : most;
}

bool
board_check_slots(const Settings* settings) {
  const VwBoard* const board = &settings->board;
  const unsigned       counted = board_slots_most(board);
  const unsigned       most = counted ? counted : SLOT_MOST;
  const size_t         n_slots = settings->n_takes;
  if (!settings->has_board) {
    return true;
  }
  if (board->naming.digits && !settings->slot) {
    return say(
      board->name,
      "this board's files have a number in front: write for example --slot 1");
  }
  const size_t last = settings->slot + n_slots - 1U;
  if (settings->slot && last > most) {
    return say(
      "--slot",
      "the board %s has slots up to %u, but %zu would be needed: give a "
      "lower one%s",
      board->name,
      most,
      last,
      n_slots > 1U ? ", or fewer takes" : "");
  }
  return true;
}

uint64_t
board_bytes_max(const Settings* settings) {
  const VwBoard* const board = &settings->board;
  const uint64_t       capacity = board->capacity_bytes;
  if (!settings->has_board) {
    return 0U;
  }
  return board->file_bytes_max &&
             (!capacity || board->file_bytes_max < capacity)
           ? board->file_bytes_max
           : capacity;
}
