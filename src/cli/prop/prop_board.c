#include "cli/prop/prop_board.h"

#include "cli/boards/boards.h"

#include "board/board.h"
#include "cli/message/say.h"
#include "cli/prop/prop_wish.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// Room for what a board plays, in words.
#define TOLD_SIZE 128U

/// A sound that is to be played by a board.
typedef struct {
  const Prop*      prop;
  const PropSound* sound;
  const VwBoard*   board;
  const Settings*  line;
  Settings         settings; ///< What is asked of it.
  Faults*          faults;
} Case;

/// Something that a board decides.
typedef struct {
  const char* option;

  /// What it plays, for a message: "22050 Hz".
  void (*tell)(const VwBoard* board, char text[TOLD_SIZE]);
} Decision;

/* What a board plays */

/// Add one of `n` choices to a text: "a", "a or b", "a, b or c".
static void
add_choice(char text[TOLD_SIZE], const char* word, size_t i, size_t n) {
  const size_t      used = i ? strlen(text) : 0U;
  const char* const join = !i ? "" : i + 1U < n ? ", " : " or ";
  (void)snprintf(text + used, TOLD_SIZE - used, "%s%s", join, word);
}

static void
tell_rate(const VwBoard* board, char text[TOLD_SIZE]) {
  for (unsigned i = 0; i < board->n_sample_rates; ++i) {
    const bool last = i + 1U == board->n_sample_rates;
    char       rate[24];
    (void)snprintf(
      rate, sizeof(rate), "%u%s", board->sample_rates_hz[i], last ? " Hz" : "");
    add_choice(text, rate, i, board->n_sample_rates);
  }
}

static void
tell_channels(const VwBoard* board, char text[TOLD_SIZE]) {
  (void)snprintf(text,
                 TOLD_SIZE,
                 "%s",
                 board->channels[0] == 1U ? "one channel" : "two channels");
}

static void
tell_bits(const VwBoard* board, char text[TOLD_SIZE]) {
  for (unsigned i = 0; i < board->n_encodings; ++i) {
    const char* const name = vw_encoding_name(board->encodings[i]);
    add_choice(text, name, i, board->n_encodings);
  }
}

/// The form in which a board plays a loop.
static VwForm
form_on(const VwBoard* board) {
  const VwBoardWish wish = {0};
  VwFamilyOptions   options = vw_family_defaults();
  (void)vw_board_apply(board, &wish, &options); // else the default, pieces
  return options.form;
}

static bool
plays_form(const Case* of) {
  return of->settings.family.form == VW_FORM_BURST ||
         of->settings.family.shot_only || of->settings.family.whole ||
         of->settings.family.form == form_on(of->board);
}

/// Whether a board plays what an option asks.
static bool
plays(const Case* of, const char* option) {
  return strcmp(option, "form")
           ? board_plays(of->board, &of->settings.family.format, option)
           : plays_form(of);
}

static void
tell_form(const VwBoard* board, char text[TOLD_SIZE]) {
  (void)snprintf(text, TOLD_SIZE, "%s", vw_form_name(form_on(board)));
}

static const Decision decisions[] = {
  {"sample-rate", tell_rate},
  {"channels", tell_channels},
  {"bits", tell_bits},
  {"form", tell_form},
};

/* Who asked */

static const PropOption*
find(const PropKeys* keys, const char* name) {
  for (size_t i = 0; i < keys->n_options; ++i) {
    if (!strcmp(keys->options[i].option->name, name)) {
      return &keys->options[i];
    }
  }
  return NULL;
}

static bool
is_on_line(const Settings* line, const char* name) {
  for (size_t i = 0; line && i < line->n_given; ++i) {
    if (!strcmp(line->given[i].name, name)) {
      return true;
    }
  }
  return false;
}

/// Say that a board does not play what is asked, on the command line where
/// `asked` is NULL.
static void
refuse(const Case* of, const Decision* decision, const PropOption* asked) {
  char text[TOLD_SIZE];
  decision->tell(of->board, text);
  if (asked) {
    fault_say(of->faults,
              asked->line,
              "%s: %s plays %s: leave it out, or take another board",
              decision->option,
              of->board->name,
              text);
    return;
  }
  char* const shown = text_format("--%s", decision->option);
  say(shown ? shown : decision->option,
      "%s plays %s: leave it out, or take another board",
      of->board->name,
      text);
  free(shown);
  ++of->faults->n;
}

/// Look who asked for what a board decides, the strongest voice first. False
/// where it was asked, and refused, for all sounds.
static bool
check(const Case* of, const Decision* decision) {
  const char* const   name = decision->option;
  const PropOn* const on = prop_on(of->prop, of->sound, of->board->name);
  const PropOption*   asked = on ? find(&on->keys, name) : NULL;
  asked = asked ? asked : find(&of->sound->keys, name);
  const bool own = asked != NULL;
  const bool given = !own && is_on_line(of->line, name);
  asked = own || given ? asked : find(&of->prop->keys, name);
  if ((!asked && !given) || plays(of, name)) {
    return true;
  }
  refuse(of, decision, asked);
  return own;
}

void
prop_board_check(const Prop*     prop,
                 const VwBoard*  board,
                 const Settings* line,
                 Faults*         faults) {
  for (size_t i = 0; i < sizeof(decisions) / sizeof(decisions[0]); ++i) {
    bool more = true;
    for (size_t j = 0; more && j < prop->n_sounds; ++j) {
      Case of = {.prop = prop,
                 .sound = &prop->sounds[j],
                 .board = board,
                 .line = line,
                 .faults = faults};
      of.settings = prop_settings(prop, of.sound, board->name, line);
      more = check(&of, &decisions[i]);
    }
  }
}
