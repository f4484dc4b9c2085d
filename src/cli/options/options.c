#include "cli/message/message.h"
#include "cli/options/types.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

/// The arguments, and how far they are read.
typedef struct {
  const CommandName* command;
  char* const*       next;
  Settings*          settings;
} Reader;

/// Of two options of one name that which these commands have, or the first.
static const Option*
find_long(const char* name, size_t length, unsigned commands) {
  const Option* found = NULL;
  for (size_t i = 0; i < n_options; ++i) {
    const Option* const option = &option_table[i];
    if (strlen(option->name) == length &&
        !strncmp(option->name, name, length) &&
        (!found || (option->commands & commands))) {
      found = option;
    }
  }
  return found;
}

static const Option*
find_short(char letter) {
  for (size_t i = 0; letter && i < n_options; ++i) {
    if (option_table[i].letter == letter) {
      return &option_table[i];
    }
  }
  return NULL;
}

const CommandName*
command_find(const char* name) {
  for (size_t i = 0; i < n_commands; ++i) {
    if (!strcmp(command_names[i].name, name)) {
      return &command_names[i];
    }
  }
  return NULL;
}

const Option*
options_find(const char* name) {
  return find_long(name, strlen(name), 0U);
}

/* Faults */

const Option*
options_nearest(const char* name, unsigned commands) {
  const Option* best = NULL;
  for (size_t i = 0; i < n_options; ++i) {
    const Option* const option = &option_table[i];
    if ((option->commands & commands) && suggest_is_near(name, option->name) &&
        (!best || suggest_distance(name, option->name) <
                    suggest_distance(name, best->name))) {
      best = option;
    }
  }
  return best;
}

/// Say that there is no such option. `shown` has its dashes, `name` not.
static bool
refuse_unknown(const Reader* reader, const char* shown, const char* name) {
  const char* const   hint = suggest_for_option(name);
  const Option* const near = options_nearest(name, reader->command->bit);
  if (hint) {
    return say(shown, "no such option: %s", hint);
  }
  return near ? say(shown, "no such option: did you mean --%s?", near->name)
              : say(shown,
                    "no such option: `volleyweave help %s` lists them",
                    reader->command->name);
}

/// An option's name with its dashes.
typedef struct {
  char text[32];
} Dashed;

static Dashed
dashed(const Option* option) {
  Dashed name;
  (void)snprintf(name.text, sizeof(name.text), "--%s", option->name);
  return name;
}

/// Name a command that takes an option, better one that makes files.
static const char*
taker_of(const Option* option) {
  size_t i = 0;
  if (option->commands & COMMAND_SHOT) {
    return "shot` or `volleyweave loop";
  }
  while (i + 1U < n_commands && !(option->commands & command_names[i].bit)) {
    ++i;
  }
  return command_names[i].name;
}

static bool
refuse_elsewhere(const Reader* reader, const Option* option) {
  return say(dashed(option).text,
             "`volleyweave %s` has no such option: leave it out, or use "
             "`volleyweave %s`",
             reader->command->name,
             taker_of(option));
}

static bool
refuse_missing(const Option* option) {
  return say(dashed(option).text,
             "needs a value: write for example --%s %s",
             option->name,
             option->example);
}

/* Take */

/// Note an option as given. False, and said, if it was given before.
static bool
note(Reader* reader, const Option* option, const char* value) {
  Settings* const settings = reader->settings;
  const bool      repeats = (reader->command->bit & COMMAND_PACK) != 0 &&
                       (option->commands & PACK_REPEATS) != 0;
  for (size_t i = 0; !repeats && i < settings->n_given; ++i) {
    if (settings->given[i].name == option->name) {
      return say(dashed(option).text, "given twice: give it once");
    }
  }
  settings->given[settings->n_given++] = (Given){option->name, value};
  return true;
}

bool
options_store(Settings*     settings,
              const Option* option,
              const char*   shown,
              const char*   value) {
  if (option->given) {
    *(bool*)((char*)settings + option->given) = true;
  }
  const Value given = {option, shown, value, settings};
  return option->type->read(&given);
}

static bool
set(Reader* reader, const Option* option, const char* value) {
  if (!(option->commands & reader->command->bit)) {
    return refuse_elsewhere(reader, option);
  }
  if (!note(reader, option, value)) {
    return false;
  }
  char* const shown =
    text_format("--%s%s%s", option->name, value ? " " : "", value ? value : "");
  const bool good = options_store(reader->settings, option, shown, value);
  free(shown);
  return good;
}

/// Whether an argument can be a value: a lone dash and negative numbers can,
/// other options cannot.
static bool
is_value(const char* argument) {
  return argument &&
         (argument[0] != '-' || !argument[1] || argument[1] == '.' ||
          isdigit((unsigned char)argument[1]));
}

/// Take an option whose value, if it wants one, is the next argument.
static bool
take_next(Reader* reader, const Option* option) {
  if (!option->argument) {
    return set(reader, option, NULL);
  }
  if (!(option->commands & reader->command->bit)) {
    return refuse_elsewhere(reader, option);
  }
  if (!is_value(*reader->next)) {
    return refuse_missing(option);
  }
  return set(reader, option, *reader->next++);
}

/* Read */

static bool
read_long(Reader* reader, const char* argument) {
  const char* const   name = argument + 2;
  const size_t        length = strcspn(name, "=");
  const Option* const option = find_long(name, length, reader->command->bit);
  char* const         shown = text_format("%.*s", (int)length + 2, argument);
  bool                good = shown != NULL;
  if (good && !option) {
    good = refuse_unknown(reader, shown, shown + 2);
  } else if (good && !name[length]) {
    good = take_next(reader, option);
  } else if (good && !option->argument) {
    good = say(shown, "takes no value: write --%s alone", option->name);
  } else if (good) {
    good = name[length + 1U] ? set(reader, option, name + length + 1U)
                             : refuse_missing(option);
  }
  free(shown);
  return good;
}

/// Read letters after one dash; the first that takes a value takes the rest.
static bool
read_short(Reader* reader, const char* argument) {
  if (argument[2] && options_find(argument + 1)) {
    return say(
      argument, "one dash is for single letters: did you mean -%s?", argument);
  }
  for (const char* at = argument + 1; *at; ++at) {
    const Option* const option = find_short(*at);
    if (!option) {
      // A word after one dash is a long name short of a dash.
      const char        letter[] = {'-', *at, '\0'};
      const bool        word = at == argument + 1 && at[1];
      const char* const shown = word ? argument : letter;
      return refuse_unknown(reader, shown, shown + 1);
    }
    if (option->argument && at[1]) {
      return set(reader, option, at + 1);
    }
    if (!take_next(reader, option)) {
      return false;
    }
  }
  return true;
}

static bool
read_all(Reader* reader) {
  bool only_takes = false;
  while (*reader->next) {
    const char* const argument = *reader->next++;
    if (only_takes || argument[0] != '-' || !argument[1]) {
      reader->settings->takes[reader->settings->n_takes++] = argument;
    } else if (!strcmp(argument, "--")) {
      only_takes = true;
    } else if (!(argument[1] == '-' ? read_long(reader, argument)
                                    : read_short(reader, argument))) {
      return false;
    }
  }
  return true;
}

bool
options_read(const CommandName* command,
             char* const*       arguments,
             Settings*          settings) {
  size_t n = 0;
  while (arguments[n]) {
    ++n;
  }
  Settings read = {0};
  settings_init(&read, n, n + n_options);
  Reader reader = {command, arguments, &read};
  if (!read_all(&reader)) {
    settings_clear(&read);
    return false;
  }
  const char* const ends[] = {read.loop.run_in_take, read.loop.ring_out_take};
  for (size_t i = 0; i < sizeof(ends) / sizeof(ends[0]); ++i) {
    if (ends[i]) {
      read.takes[read.n_takes + read.n_ends++] = ends[i];
    }
  }
  *settings = read;
  return true;
}
