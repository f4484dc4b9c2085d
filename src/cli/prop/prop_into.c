#include "cli/prop/prop_into.h"

#include "cli/boards/board_default.h"
#include "cli/boards/board_file.h"
#include "cli/files/paths.h"
#include "cli/message/say.h"
#include "cli/prop/prop.h"
#include "cli/prop/prop_guess.h"
#include "cli/prop/prop_keys.h"
#include "cli/textfile/ini_file.h"
#include "cli/textfile/prop_edit.h"
#include "cli/textfile/prop_file.h"
#include "cli/textfile/prop_path.h"
#include "pack/pack.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

// Those of a sound that is made anew stay: slots never move by themselves.
#define KEPT "slot group level"

// Room for the texts of one change: takes, options, and what to make.
#define EDITS_MOST (PROP_TAKES_MOST + 128U)

/// A sound to be added.
typedef struct {
  const CommandName* command;
  const Settings*    settings;
  const char* const* takes;
  size_t             n_takes;
  const Prop*        prop;    ///< What is there already.
  char*              section; ///< Owned.
  PropEdit           edits[EDITS_MOST];
  char*              values[EDITS_MOST]; ///< Of the edits. Owned.
  size_t             n_edits;
} Adder;

/* Name */

static VwMake
make_of(const CommandName* command, const Settings* settings) {
  return command->bit == COMMAND_SHOT      ? VW_MAKE_SHOT
         : command->bit == COMMAND_CONVERT ? VW_MAKE_WHOLE
         : settings->has_burst             ? VW_MAKE_BURST
                                           : VW_MAKE_LOOP;
}

/// What a sound is called: as its files are.
static char*
base_of(const Adder* adder) {
  static const char* const suffixes[] = {[VW_MAKE_SHOT] = "",
                                         [VW_MAKE_LOOP] = "-rapid",
                                         [VW_MAKE_BURST] = "-burst",
                                         [VW_MAKE_WHOLE] = ""};
  const size_t take = (size_t)(adder->takes - adder->settings->takes);
  char* const  sound = path_sound(adder->settings, take);
  char* const  stem = sound ? prop_guess_name(sound, strlen(sound)) : NULL;
  const VwMake make = make_of(adder->command, adder->settings);
  // Whoever gives a name means that one.
  const bool  named = adder->settings->sound_name != NULL;
  char* const base =
    stem ? text_format("%s%s", stem, named ? "" : suffixes[make]) : NULL;
  free(sound);
  free(stem);
  return base;
}

static const PropSound*
find_sound(const Prop* prop, const char* name) {
  for (size_t i = 0; i < prop->n_sounds; ++i) {
    if (!strcasecmp(prop->sounds[i].name, name)) {
      return &prop->sounds[i];
    }
  }
  return NULL;
}

/// Choose the section: that of the same name and make, or a new one.
static bool
choose_section(Adder* adder) {
  char* const base = base_of(adder);
  for (unsigned i = 1; base && !adder->section; ++i) {
    char* const name =
      i == 1U ? text_format("%s", base) : text_format("%s-%u", base, i);
    const PropSound* const sound = name ? find_sound(adder->prop, name) : NULL;
    if (!name) {
      break;
    }
    if (!sound) {
      adder->section = text_format("sound %s", name);
    } else if (sound->keys.make == make_of(adder->command, adder->settings)) {
      adder->section = text_format("%s", sound->section);
    }
    free(name);
  }
  free(base);
  return adder->section != NULL;
}

/* Lines */

/// Add a line; takes `value` over.
static bool
add(Adder* adder, const char* key, char* value) {
  if (!value || adder->n_edits == EDITS_MOST) {
    free(value);
    return false;
  }
  adder->values[adder->n_edits] = value;
  adder->edits[adder->n_edits++] =
    (PropEdit){PROP_ADD, adder->section, key, value};
  return true;
}

/// Give a key of a section a value, which is taken over.
static bool
set(Adder* adder, const char* section, const char* key, char* value) {
  const bool good = add(adder, key, value);
  if (good) {
    PropEdit* const edit = &adder->edits[adder->n_edits - 1U];
    edit->kind = PROP_SET;
    edit->section = section;
  }
  return good;
}

static bool
add_takes(Adder* adder) {
  bool good = true;
  for (size_t i = 0; good && i < adder->n_takes; ++i) {
    char* const way =
      prop_path_from_file(adder->settings->into, adder->takes[i]);
    good = way && add(adder, "take", prop_path_value(way));
    free(way);
  }
  return good;
}

static bool
add_make(Adder* adder) {
  const VwMake make = make_of(adder->command, adder->settings);
  return add(adder,
             "make",
             make == VW_MAKE_BURST
               ? text_format("burst %u", adder->settings->family.burst_shots)
               : text_format("%s", prop_make_word(make)));
}

/// Add the options given, those of one sound or those of all.
static bool
add_options(Adder* adder, bool for_all) {
  const Settings* const settings = adder->settings;
  bool                  good = true;
  for (size_t i = 0; good && i < settings->n_given; ++i) {
    const Given* const  given = &settings->given[i];
    const Option* const option = options_find(given->name);
    if (!(option->commands & PROP_KEY) ||
        prop_keys_is_for_all(option) != for_all) {
      continue;
    }
    char* const value = ini_quote(given->value ? given->value : "yes");
    good = for_all ? set(adder, "prop", given->name, value)
                   : add(adder, given->name, value);
  }
  return good;
}

/// Write the slot down where it is nobody else's.
static bool
add_slot(Adder* adder) {
  const Settings* const settings = adder->settings;
  const unsigned        slot =
    settings->slot + (unsigned)(adder->takes - settings->takes);
  if (!settings->slot) {
    return true;
  }
  for (size_t i = 0; i < adder->prop->n_sounds; ++i) {
    const PropSound* const other = &adder->prop->sounds[i];
    if (other->keys.slot == slot && strcmp(other->section, adder->section)) {
      say(settings->into,
          "warning: slot %u is that of [sound %s]: the sound is added without "
          "one",
          slot,
          other->name);
      return true;
    }
  }
  return set(adder, adder->section, "slot", text_format("%u", slot));
}

/// How a prop file names the board: its file as seen from there, or its name.
static char*
board_word(const Settings* settings) {
  char* asked = NULL;
  if (settings->board_asked) {
    asked = text_format("%s", settings->board_asked);
  } else if (!board_default(&asked)) {
    return NULL;
  }
  char* const word = asked && board_file_is_path(asked)
                       ? prop_path_from_file(settings->into, asked)
                       : text_format("%s", settings->board.name);
  free(asked);
  return word;
}

/// Name the board among those of the prop.
static bool
add_board(Adder* adder) {
  const Settings* const settings = adder->settings;
  const Prop* const     prop = adder->prop;
  if (!settings->has_board) {
    return true;
  }
  char* list = text_format("%s", prop->n_boards ? prop->boards[0] : "");
  for (size_t i = 0; i < prop->n_boards; ++i) {
    if (board_file_is_of(prop->boards[i], settings->board.name)) {
      free(list);
      return true;
    }
    char* const longer =
      list && i ? text_format("%s, %s", list, prop->boards[i]) : NULL;
    if (i) {
      free(list);
      list = longer;
    }
  }
  char* const word = board_word(settings);
  if (word && strpbrk(word, ", \t")) {
    say(
      settings->into,
      "warning: the board's file has a blank or a comma in its path, so it is "
      "not added under boards: call it, or its folder, something else");
    free(list);
    free(word);
    return true;
  }
  char* const all =
    list && word ? text_format("%s%s%s", list, *list ? ", " : "", word) : NULL;
  free(list);
  free(word);
  return set(adder, "prop", "boards", all);
}

/// Write all lines of the sound anew.
static bool
make_edits(Adder* adder) {
  if (!choose_section(adder)) {
    return false;
  }
  adder->edits[adder->n_edits++] =
    (PropEdit){PROP_CLEAR, adder->section, NULL, KEPT};
  return add_takes(adder) && add_make(adder) && add_options(adder, false) &&
         add_slot(adder) && add_board(adder) && add_options(adder, true);
}

static void
clear(Adder* adder) {
  for (size_t i = 0; i < adder->n_edits; ++i) {
    free(adder->values[i]);
  }
  free(adder->section);
}

/* File */

static bool
create(const char* path) {
  return prop_file_save(
    path,
    "# The sounds of a prop, for `volleyweave pack`. All keys: man\n"
    "# volleyweave-prop. A line with # in front is a remark.\n");
}

/// Read what is there; a file that is missing has no sounds.
static bool
read_present(const char* path, Prop* prop) {
  return access(path, F_OK) || prop_read_begun(path, prop);
}

bool
prop_into_check(const Settings* settings) {
  Prop       prop = {0};
  const bool good = read_present(settings->into, &prop);
  prop_clear(&prop);
  return good;
}

bool
prop_into(const CommandName* command,
          const Settings*    settings,
          const char* const* takes,
          size_t             n_takes) {
  Prop  prop = {0};
  Adder adder = {.command = command,
                 .settings = settings,
                 .takes = takes,
                 .n_takes = n_takes,
                 .prop = &prop};
  bool  good = read_present(settings->into, &prop);
  if (good && !make_edits(&adder)) {
    say(settings->into, "the sound could not be added to it");
    good = false;
  }
  good = good && (!access(settings->into, F_OK) || create(settings->into)) &&
         prop_edit_file(settings->into, adder.edits, adder.n_edits);
  clear(&adder);
  prop_clear(&prop);
  return good;
}
