#include "cli/boards/board_settle.h"

#include "board/board.h"
#include "cli/boards/board_find.h"
#include "cli/message/say.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// What a board accepts, in words: "8, 16 or 24".
typedef struct {
  char   text[160];
  size_t n; ///< Letters.
} List;

static void
list_add(List* list, const char* word, bool last) {
  const char* const before = !list->n ? "" : last ? " or " : ", ";
  const int         n = snprintf(
    list->text + list->n, sizeof(list->text) - list->n, "%s%s", before, word);
  list->n += n > 0 && (size_t)n < sizeof(list->text) - list->n ? (size_t)n : 0U;
}

static const char*
bits_word(VwEncoding encoding) {
  static const char* const words[] = {"8", "16", "24", "float"};
  return words[encoding];
}

/* What is asked and not accepted */

/// Say what a board accepts where what an option asks is not among it.
static bool
refuse(const Settings* settings,
       const char*     option,
       const char*     wanted,
       const List*     accepted) {
  char* const shown = text_format("--%s %s", option, wanted);
  say(shown ? shown : option,
      "the board %s takes --%s %s: give that, or leave the option out",
      settings->board.name,
      option,
      accepted->text);
  free(shown);
  return false;
}

static bool
check_sample_rate(const Settings* settings) {
  const VwBoard* const board = &settings->board;
  const unsigned       wanted = settings->family.format.rate_hz;
  List                 accepted = {.n = 0};
  char                 word[16];
  if (!settings_is_given(settings, "sample-rate")) {
    return true;
  }
  for (unsigned i = 0; i < board->n_sample_rates; ++i) {
    if (board->sample_rates_hz[i] == wanted) {
      return true;
    }
    snprintf(word, sizeof(word), "%u", board->sample_rates_hz[i]);
    list_add(&accepted, word, i + 1U == board->n_sample_rates);
  }
  snprintf(word, sizeof(word), "%u", wanted);
  return refuse(settings, "sample-rate", word, &accepted);
}

static bool
check_channels(const Settings* settings) {
  const VwBoard* const board = &settings->board;
  const unsigned       wanted = settings->family.format.n_channels;
  List                 accepted = {.n = 0};
  if (!settings_is_given(settings, "channels")) {
    return true;
  }
  for (unsigned i = 0; i < board->n_channels; ++i) {
    if (board->channels[i] == wanted) {
      return true;
    }
    list_add(&accepted,
             board->channels[i] == 1U ? "1" : "2",
             i + 1U == board->n_channels);
  }
  return refuse(settings, "channels", wanted == 1U ? "1" : "2", &accepted);
}

static bool
check_bits(const Settings* settings) {
  const VwBoard* const board = &settings->board;
  const VwEncoding     wanted = settings->family.format.encoding;
  List                 accepted = {.n = 0};
  if (!settings_is_given(settings, "bits")) {
    return true;
  }
  for (unsigned i = 0; i < board->n_encodings; ++i) {
    if (board->encodings[i] == wanted) {
      return true;
    }
    list_add(
      &accepted, bits_word(board->encodings[i]), i + 1U == board->n_encodings);
  }
  return refuse(settings, "bits", bits_word(wanted), &accepted);
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
    say(shown ? shown : "--form",
        "the board %s repeats nothing: leave --form out, or write --burst 3, "
        "say",
        settings->board.name);
  } else {
    say(shown ? shown : "--form",
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
keep_given(Settings* settings, const VwFamilyOptions* given) {
  VwFamilyOptions* const family = &settings->family;
  if (settings_is_given(settings, "sample-rate")) {
    family->format.rate_hz = given->format.rate_hz;
  }
  if (settings_is_given(settings, "channels")) {
    family->format.n_channels = given->format.n_channels;
  }
  if (settings_is_given(settings, "bits")) {
    family->format.encoding = given->format.encoding;
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
  say("--overrun-max",
      "the board %s stops at the release, nothing goes on: leave it out",
      settings->board.name);
  return false;
}

static bool
apply(const CommandName* command, Settings* settings) {
  const VwFamilyOptions given = settings->family;
  if (!check_sample_rate(settings) || !check_channels(settings) ||
      !check_bits(settings) || !check_overrun(settings)) {
    return false;
  }
  mend_board(settings);
  const VwStatus st =
    vw_board_apply(&settings->board, &settings->board_wish, &settings->family);
  if (st) {
    say(settings->board.name, "%s: %s", vw_strerror(st), vw_remedy(st));
    return false;
  }
  const VwForm form = settings->family.form;
  keep_given(settings, &given);
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
  say("--gap",
      "a gap is that of a board that repeats a whole file: %s",
      settings->has_board   ? "leave it out, or name another --board"
      : settings->has_burst ? "leave it or --burst out"
                            : "give --form whole-file, or leave it out");
  return false;
}

bool
board_settle(const CommandName* command, Settings* settings) {
  if (!(command->bit & (COMMANDS_MAKE | COMMAND_LAMP | COMMAND_TRYOUT))) {
    return true;
  }
  if (!board_find_or_default(
        settings->board_asked, &settings->board, &settings->has_board)) {
    return false;
  }
  if (command->bit == COMMAND_LAMP) {
    return true; // nothing is made for it
  }
  if (settings->has_board) {
    return apply(command, settings) && check_gap(settings);
  }
  apply_alone(settings);
  if (settings->slot) {
    say("--slot", "a slot is a board's: name it with --board");
    return false;
  }
  return check_gap(settings);
}

/* Names */

/// The highest slot of a board; 0: none has a number.
static unsigned
slots_most(const VwBoard* board) {
  static const unsigned most[] = {99999U, 9U, 99U, 999U, 9999U, 99999U};
  const unsigned        by_digits = most[board->naming.digits % 6U];
  return board->slots_max && board->slots_max < by_digits ? board->slots_max
                                                          : by_digits;
}

bool
board_check_slots(const Settings* settings) {
  const VwBoard* const board = &settings->board;
  const size_t n_slots = settings->loop.take_turns ? 1U : settings->n_takes;
  if (!settings->has_board) {
    return true;
  }
  if (board->naming.digits && !settings->slot) {
    say(board->name,
        "this board's files have a number in front: give --slot 1, say");
    return false;
  }
  const size_t last = settings->slot + n_slots - 1U;
  if (settings->slot && last > slots_most(board)) {
    say("--slot",
        "the board %s has slots up to %u, but %zu would be needed: give a "
        "lower one%s",
        board->name,
        slots_most(board),
        last,
        n_slots > 1U ? ", or fewer takes" : "");
    return false;
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
