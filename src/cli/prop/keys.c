#include "cli/message/figures.h"
#include "cli/options/ini.h"
#include "cli/options/options.h"
#include "cli/options/speaker.h"
#include "cli/options/types.h"
#include "cli/prop/prop.h"
#include "pack/pack.h"

#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

// Between a loudness and what tells for which sounds it was found.
#define OF " of "

// Digits of a slot in a file's name are five at most.
#define SLOT_MOST 99999.0

/// A value, where it goes, and what faults of it are said of.
typedef struct {
  const PropPlace* place;
  const IniEntry*  line;
  const char*      shown; ///< "FILE:LINE: key = value".
  Faults*          faults;
} Taker;

/// A key that is no option.
typedef struct {
  const char* name;
  unsigned    sections; ///< Those it may stand in.
  void (*take)(const Taker* taker);
} OwnKey;

/* Texts */

static char*
copy_of(const Taker* taker) {
  char* const copy = text_format("%s", taker->line->value);
  if (!copy) {
    fault_say(taker->faults, taker->line->line, NO_MEMORY);
  }
  return copy;
}

static void
refuse(const Taker* taker, const char* why) {
  fault_say(taker->faults, taker->line->line, "%s: %s", taker->line->key, why);
}

/// Whether there is a value at all. False, and said, if not.
static bool
is_given(const Taker* taker) {
  if (!*taker->line->value) {
    refuse(taker, "no value: give one, or leave the line out");
    return false;
  }
  return true;
}

/// A text of one line without control characters. False, and said, if none.
static bool
is_name(const Taker* taker) {
  if (!is_given(taker)) {
    return false;
  }
  if (text_has_controls(taker->line->value)) {
    refuse(taker, "a control character in it: choose another name");
    return false;
  }
  return true;
}

/// Read a number with its unit.
static bool
read_quantity(const Taker*    taker,
              const Quantity* quantity,
              const char*     text,
              double*         value) {
  const bool good = !fault_is_enough(taker->faults) &&
                    units_read(quantity, taker->shown, text, value);
  taker->faults->n += good ? 0U : 1U;
  return good;
}

/* Own keys */

static void
take_name(const Taker* taker) {
  Prop* const prop = taker->place->prop;
  free(prop->name);
  prop->name = is_name(taker) ? copy_of(taker) : NULL;
}

static void
add_board(const Taker* taker, const char* start, size_t length) {
  Prop* const prop = taker->place->prop;
  for (size_t i = 0; i < prop->n_boards; ++i) {
    if (strlen(prop->boards[i]) == length &&
        !strncmp(prop->boards[i], start, length)) {
      refuse(taker, "a board twice: name it once");
      return;
    }
  }
  if (!prop_add_board(prop, start, length)) {
    refuse(taker, NO_MEMORY);
  }
}

static void
take_boards(const Taker* taker) {
  Prop* const prop = taker->place->prop;
  prop->boards_line = taker->line->line;
  const char* at = taker->line->value;
  for (at += strspn(at, ", \t"); *at; at += strspn(at, ", \t")) {
    const size_t length = strcspn(at, ", \t");
    add_board(taker, at, length);
    at += length;
  }
  if (!prop->n_boards) {
    refuse(taker, "no board is named: `volleyweave boards` lists them");
  }
}

static void
take_loudness_found(const Taker* taker) {
  static const Unit     units[] = {{"", 1.0, 1.0, false},
                                   {"LUFS", 1.0, 1.0, false}};
  static const Quantity found = {"LUFS",
                                 "-17.2, or leave the line out to have it "
                                 "found again",
                                 VW_RANGE_LOUDNESS_LUFS,
                                 UNITS(units),
                                 false};
  Prop* const           prop = taker->place->prop;
  const char* const     value = taker->line->value;
  const char* const     of = strstr(value, OF);
  char*                 end = NULL;
  char* const           lufs =
    text_format("%.*s", (int)(of ? of - value : (long)strlen(value)), value);
  if (of) {
    prop->loudness_found_of = (uint32_t)strtoul(of + strlen(OF), &end, 16);
  }
  if (of && (*end || end != of + strlen(OF) + 8)) {
    refuse(taker,
           "the sounds that it is of have eight digits: leave the line out to "
           "have it found again");
  } else {
    read_quantity(taker, &found, lufs, &prop->loudness_found_lufs);
  }
  free(lufs);
}

static void
take_take(const Taker* taker) {
  PropSound* const sound = taker->place->sound;
  // A file may be called anything.
  if (!is_given(taker)) {
    return;
  }
  if (sound->n_takes == PROP_TAKES_MOST) {
    refuse(taker, "more than 64 takes of one sound: give fewer");
    return;
  }
  char* const take = ini_path(taker->faults->path, taker->line->value);
  if (!prop_add_take(sound, take, taker->line->line)) {
    refuse(taker, NO_MEMORY);
  }
}

static bool
read_count(const Taker* taker, const char* text, double most, unsigned* n) {
  const Quantity count = {"", "3, say", {1.0, most}, UNITS(units_none), true};
  double         read = 0.0;
  if (!read_quantity(taker, &count, text, &read)) {
    return false;
  }
  *n = (unsigned)read;
  return true;
}

static void
take_make(const Taker* taker) {
  static const VwMake makes[] = {VW_MAKE_SHOT, VW_MAKE_LOOP, VW_MAKE_WHOLE};
  PropKeys* const     keys = taker->place->keys;
  const char* const   value = taker->line->value;
  keys->make_line = taker->line->line;
  for (size_t i = 0; i < COUNT(makes); ++i) {
    if (!strcmp(value, choice_word(words_make, (int)makes[i]))) {
      keys->make = makes[i];
      return;
    }
  }
  if (!strncmp(value, "burst", 5) && (!value[5] || value[5] == ' ')) {
    keys->make = VW_MAKE_BURST;
    read_count(
      taker, value + 5 + strspn(value + 5, " "), 1000.0, &keys->burst_shots);
    return;
  }
  refuse(taker, "not a thing to make: give shot, loop, burst 3 or whole");
}

static void
take_slot(const Taker* taker) {
  PropKeys* const keys = taker->place->keys;
  if (read_count(taker, taker->line->value, SLOT_MOST, &keys->slot)) {
    keys->slot_line = taker->line->line;
  }
}

static void
take_group(const Taker* taker) {
  PropKeys* const keys = taker->place->keys;
  keys->group = is_name(taker) ? copy_of(taker) : NULL;
}

static void
take_level(const Taker* taker) {
  static const Unit units[] = {
    {"", 1.0, 1.0, false}, {"LU", 1.0, 1.0, false}, {"dB", 1.0, 1.0, false}};
  static const Quantity level = {
    "LU", "-6 or -6LU", {-40.0, 20.0}, UNITS(units), false};
  PropKeys* const keys = taker->place->keys;
  if (read_quantity(taker, &level, taker->line->value, &keys->level_lu)) {
    keys->level_line = taker->line->line;
  }
}

static const OwnKey own_keys[] = {
  {"name", IN_PROP, take_name},
  {"boards", IN_PROP, take_boards},
  {"loudness-found", IN_PROP, take_loudness_found},
  {"take", IN_SOUND, take_take},
  {"make", IN_SOUND | IN_ON, take_make},
  {"slot", IN_SOUND | IN_ON, take_slot},
  {"group", IN_SOUND | IN_ON, take_group},
  {"level", IN_SOUND | IN_ON, take_level},
};

/* Options */

bool
prop_keys_add(PropKeys*     keys,
              const Option* option,
              const char*   value,
              unsigned      line) {
  PropOption* const more =
    realloc(keys->options, (keys->n_options + 1U) * sizeof(PropOption));
  char* const copy = text_format("%s", value);
  keys->options = more ? more : keys->options;
  if (!more || !copy) {
    free(copy);
    return false;
  }
  keys->options[keys->n_options++] = (PropOption){option, copy, line};
  return true;
}

static void
take_option(const Taker* taker, const Option* option) {
  if ((option->commands & PROP_ALL) && taker->place->section != IN_PROP) {
    refuse(taker, "it holds for all sounds: put it under [prop]");
    return;
  }
  Settings    trial = {0};
  char* const value = option->type == &type_take
                        ? ini_path(taker->faults->path, taker->line->value)
                      : option->type == &type_speaker
                        ? speaker_from(taker->faults->path, taker->line->value)
                        : copy_of(taker);
  // What reads a value says what is wrong with it; so it must not be asked
  // where enough was said.
  if (!fault_is_enough(taker->faults) &&
      options_store(
        &trial, option, taker->shown, value ? value : taker->line->value)) {
    if (!value ||
        !prop_keys_add(taker->place->keys, option, value, taker->line->line)) {
      refuse(taker, NO_MEMORY);
    }
  } else {
    ++taker->faults->n;
  }
  free(value);
}

/* Faults */

// Keys from elsewhere.
static const FirstTry hints[] = {
  {" burst ", "write make = burst 3, say"},
  {" take-turns ", "several takes of a loop take turns anyway: leave it out"},
  {" gap buffer ", "it is the board's: write it into the board's file"},
  {" include ", "there are no includes: put all sounds into one file"},
  {" board ", "write boards = NAME under [prop]"},
  {" file ", "write take = FILE"},
  {" files takes ", "write take = FILE, a line for each"},
  {" json quiet output force dry-run ", "give it on the command line"},
};

/// Which options may stand in a section.
static unsigned
key_bit(const PropPlace* place) {
  return place->section == IN_LAMP    ? PROP_LAMP
         : place->section == IN_POWER ? PROP_POWER
         : place->section == IN_PROP  ? PROP_KEY
                                      : PROP_KEY | PROP_SOUND;
}

static const char*
nearest(const Taker* taker) {
  const char* const   key = taker->line->key;
  const char*         best = NULL;
  const Option* const option = options_nearest(key, key_bit(taker->place));
  for (size_t i = 0; i < COUNT(own_keys); ++i) {
    if (own_keys[i].sections & taker->place->section) {
      best = suggest_nearer(key, best, own_keys[i].name);
    }
  }
  return option ? suggest_nearer(key, best, option->name) : best;
}

static void
refuse_unknown(const Taker* taker) {
  const unsigned    line = taker->line->line;
  const char* const key = taker->line->key;
  const char* const hint = suggest_hint(hints, COUNT(hints), key);
  const char* const near = hint ? NULL : nearest(taker);
  if (hint) {
    fault_say(taker->faults, line, "%s: no key of a sound list: %s", key, hint);
  } else if (near) {
    fault_say(
      taker->faults, line, "%s: no such key: did you mean %s?", key, near);
  } else {
    fault_say(taker->faults,
              line,
              "%s: no such key: man volleyweave-sounds(5) lists them",
              key);
  }
}

static void
refuse_here(const Taker* taker, const OwnKey* own) {
  fault_say(taker->faults,
            taker->line->line,
            "%s: not in this section: put it under %s",
            own->name,
            own->sections & IN_PROP ? "[prop]" : "[sound NAME]");
}

static const OwnKey*
find_own(const char* name) {
  for (size_t i = 0; i < COUNT(own_keys); ++i) {
    if (!strcmp(own_keys[i].name, name)) {
      return &own_keys[i];
    }
  }
  return NULL;
}

void
prop_keys_take(const PropPlace* place, const IniEntry* line, Faults* faults) {
  const OwnKey* const own = find_own(line->key);
  const Option* const option = own ? NULL : options_find(line->key);
  char* const         subject = fault_subject(faults, line->line);
  char* const         shown =
    text_format("%s: %s = %s", subject, line->key, line->value);
  const Taker taker = {place, line, shown, faults};
  if (own && (own->sections & place->section)) {
    own->take(&taker);
  } else if (own) {
    refuse_here(&taker, own);
  } else if (option && (option->commands & key_bit(place))) {
    take_option(&taker, option);
  } else if (option && (option->commands &
                        (PROP_KEY | PROP_SOUND | PROP_LAMP | PROP_POWER))) {
    refuse(&taker,
           option->commands & PROP_SOUND
             ? "not in this section: put it under [sound NAME]"
           : option->commands & PROP_LAMP
             ? "not in this section: put it under [lamp]"
           : option->commands & PROP_POWER
             ? "not in this section: put it under [power]"
             : "not in this section: put it under [prop] or [sound NAME]");
  } else {
    refuse_unknown(&taker);
  }
  free(shown);
  free(subject);
}

void
prop_keys_clear(PropKeys* keys) {
  for (size_t i = 0; i < keys->n_options; ++i) {
    free(keys->options[i].value);
  }
  free(keys->options);
  free(keys->group);
  *keys = (PropKeys){0};
}
