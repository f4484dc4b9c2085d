#include "base/text.h"
#include "board/board.h"
#include "cli/boards/boards.h"
#include "cli/files/files.h"
#include "cli/message/message.h"
#include "container/container.h"
#include "store/store.h"

#include <ctype.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <unistd.h>

#define JOINERS ".-_ "

static bool
is_joiner(char c) {
  return c && strchr(JOINERS, c);
}

/// Look for a part's word at the end of [from, to).
static void
find_part(SoundName* name, size_t from, size_t to) {
  for (int part = VW_PART_SHOT; part < VW_PART_WHOLE; ++part) {
    const char* const word = vw_part_name((VwPart)part);
    const size_t      n = strlen(word);
    if (to - from > n + 1U && is_joiner(name->path[to - n - 1U]) &&
        !strncasecmp(name->path + to - n, word, n)) {
      name->has_part = true;
      name->part = (VwPart)part;
      name->at_part = to - n;
      return;
    }
  }
}

/// Where a sound's name begins behind its slot.
static size_t
behind_slot(const char* path, size_t from, size_t to) {
  size_t at = from;
  while (at < to && isdigit((unsigned char)path[at])) {
    ++at;
  }
  return at > from && at + 1U < to && is_joiner(path[at]) ? at + 1U : from;
}

SoundName
sound_name_of(const char* path) {
  const size_t from = (size_t)(vw_path_name(path) - path);
  size_t       to = (size_t)(vw_path_ending(path) - path);
  SoundName    name = {.path = path};
  find_part(&name, from, to);
  if (name.has_part) {
    to = name.at_part - 1U;
  }
  name.at_sound = behind_slot(path, from, to);
  name.n_sound = to - name.at_sound;
  return name;
}

char*
sound_name_sibling(const SoundName* name, VwPart part) {
  const char* const word = vw_part_name(part);
  char* const       sibling =
    text_format("%.*s%s%s",
                (int)name->at_part,
                name->path,
                word,
                name->path + name->at_part + strlen(vw_part_name(name->part)));
  // Boards that want capital letters have them in all parts.
  if (isupper((unsigned char)name->path[name->at_part])) {
    for (size_t i = 0; i < strlen(word); ++i) {
      char* const at = &sibling[name->at_part + i];
      *at = (char)toupper((unsigned char)*at);
    }
  }
  return sibling;
}

bool
sound_name_is(const SoundName* name, const char* sound) {
  return strlen(sound) == name->n_sound &&
         !strncasecmp(name->path + name->at_sound, sound, name->n_sound);
}

bool
sound_name_is_sibling(const SoundName* name, const SoundName* other) {
  const size_t n = (size_t)(vw_path_name(name->path) - name->path);
  return n == (size_t)(vw_path_name(other->path) - other->path) &&
         !strncmp(name->path, other->path, n) &&
         name->n_sound == other->n_sound &&
         !strncasecmp(name->path + name->at_sound,
                      other->path + other->at_sound,
                      name->n_sound);
}

bool
sound_name_sounds_on(const SoundName* name) {
  VwMade made = {0};
  return vw_made_as(name->path, &made)
           ? made.part == VW_PART_LOOP && !made.shots
           : name->has_part && name->part == VW_PART_LOOP &&
               vw_is_made_otherwise(name->path);
}

/// Put a low line for what no folder's list and no card takes in a name.
static char*
without_controls(char* path, size_t from) {
  for (char* at = path ? path + from : NULL; at && *at; ++at) {
    *at = text_is_control(*at) ? '_' : *at;
  }
  return path;
}

char*
path_sound(const Settings* settings, size_t take) {
  if (!settings->sound_name) {
    const char* name = vw_path_name(settings->takes[take]);
    // A dot in front would hide what is made, too.
    name += strspn(name, ".");
    return text_format("%.*s", (int)(vw_path_ending(name) - name), name);
  }
  return take ? text_format("%s-%zu", settings->sound_name, take + 1U)
              : text_format("%s", settings->sound_name);
}

/// Name of a file where no board says how it is made.
static char*
plain_name(const char* sound, VwPart part) {
  // A sound that is only converted has no siblings to be told from.
  const bool alone = part == VW_PART_WHOLE;
  return text_format(
    "%s%s%s.wav", sound, alone ? "" : ".", alone ? "" : vw_part_name(part));
}

/// Name of a file without its folder.
static VwStatus
name_of_part(const Settings* settings, size_t take, VwPart part, char** name) {
  const unsigned slot = settings->slot ? settings->slot + (unsigned)take : 0U;
  char* const    sound = path_sound(settings, take);
  VwStatus       st = sound ? VW_OK : VW_NO_MEMORY;
  if (!st && settings->has_board) {
    const VwFileLabel label = {slot, NULL, sound, part};
    st = vw_board_file_name(&settings->board, &label, name);
  } else if (!st) {
    *name = without_controls(plain_name(sound, part), 0U);
    st = *name ? VW_OK : VW_NO_MEMORY;
  }
  free(sound);
  return st;
}

VwStatus
path_of_part(const Destination* destination,
             const Settings*    settings,
             size_t             take,
             VwPart             part,
             char**             path) {
  char*    name = NULL;
  VwStatus st = VW_OK;
  if (destination->kind != TO_FOLDER) {
    *path = text_format("%s", destination->path);
    return *path ? VW_OK : VW_NO_MEMORY;
  }
  st = name_of_part(settings, take, part, &name);
  if (!st) {
    *path = vw_path_join(destination->path, name);
    st = *path ? VW_OK : VW_NO_MEMORY;
  }
  free(name);
  return st;
}

/* Choose */

/// The folder in which an output is to lie, or NULL for the present one.
static char*
parent_of(const char* path) {
  char* const parent = text_format("%s", path);
  size_t      n = parent ? strlen(parent) : 0U;
  while (n > 1U && parent[n - 1U] == '/') {
    parent[--n] = '\0';
  }
  char* const slash = parent ? strrchr(parent, '/') : NULL;
  if (!slash) {
    free(parent);
    return NULL;
  }
  slash[slash == parent ? 1 : 0] = '\0';
  return parent;
}

int
path_check_parent(const char* path) {
  char* const parent = parent_of(path);
  const bool  there = !parent || vw_path_is_folder(parent);
  if (!there) {
    say_status(parent, access(parent, F_OK) ? VW_NO_FOLDER : VW_NOT_A_FOLDER);
  }
  free(parent);
  return there ? EXIT_DONE : EXIT_FILE;
}

/// The ending of the files that are written.
static const char*
ending_of(const Settings* settings) {
  return vw_container_ending(settings->has_board ? settings->board.container
                                                 : VW_CONTAINER_WAV);
}

static DestinationKind
kind_of(const Settings* settings, const char* path) {
  struct stat facts;
  if (!strcmp(path, "-")) {
    return TO_STDOUT;
  }
  if (!stat(path, &facts)) {
    return S_ISDIR(facts.st_mode) ? TO_FOLDER : TO_FILE;
  }
  return path[strlen(path) - 1U] != '/' &&
             vw_path_ends_in(path, ending_of(settings))
           ? TO_FILE
           : TO_FOLDER;
}

/// Whether a name promises a format other than the one written.
static bool
promises_other_format(const Settings* settings, const char* path) {
  return !vw_path_ends_in(path, ending_of(settings)) &&
         vw_name_promises(path) != VW_PROMISE_NOTHING &&
         !vw_path_is_folder(path);
}

static int
refuse_format(const Settings* settings, const char* path) {
  if (!settings->has_board) {
    return say_usage(path,
                     "only WAV is written: let the name end in .wav, or "
                     "name a --board that takes another format");
  }
  return say_usage(path,
                   "the board %s takes other files: let the name end in %s",
                   settings->board.name,
                   ending_of(settings));
}

static int
refuse_many(const CommandName* command,
            const Settings*    settings,
            size_t             n_files) {
  char list[64] = "";
  for (int part = VW_PART_SHOT; part <= VW_PART_WHOLE; ++part) {
    if (settings_write(command, settings, (VwPart)part)) {
      strcat(list, *list ? ", " : "");
      strcat(list, vw_part_name((VwPart)part));
    }
  }
  char* const shown = text_format("-o %s", settings->output);
  const bool  pick = !settings->has_part && command->bit == COMMAND_LOOP;
  say(shown,
      "one file, but %zu would be made: %s%s%s%s",
      n_files,
      pick ? "pick one of them with --part (" : "name a folder instead",
      pick ? list : "",
      pick ? "), or name a folder instead" : "",
      pick && settings->n_takes > 1U ? ", and give one take" : "");
  free(shown);
  return EXIT_USAGE;
}

static int
check_one_file(const CommandName* command, const Settings* settings) {
  const size_t n_files = settings_n_files(command, settings);
  if (command->bit == COMMAND_SPLIT) {
    return say_usage(settings->output,
                     "each shot is a file of its own: name a folder instead");
  }
  if (n_files > 1U) {
    return refuse_many(command, settings, n_files);
  }
  if (!strcmp(settings->output, "-") && !settings->dry_run &&
      isatty(STDOUT_FILENO)) {
    return say_usage("-o -",
                     "sound is nothing for a terminal: send it through a pipe "
                     "or name a file");
  }
  return EXIT_DONE;
}

int
destination_choose(const CommandName* command,
                   const Settings*    settings,
                   Destination*       destination) {
  const char* const output =
    settings->output ? settings->output : OUTPUT_FOLDER;
  *destination =
    (Destination){.kind = kind_of(settings, output), .path = output};
  if (promises_other_format(settings, output)) {
    return refuse_format(settings, output);
  }
  if (!settings->output && destination->kind != TO_FOLDER) {
    say_status(output, VW_NOT_A_FOLDER);
    return EXIT_FILE;
  }
  if (destination->kind != TO_STDOUT && path_check_parent(output)) {
    return EXIT_FILE;
  }
  return destination->kind == TO_FOLDER ? EXIT_DONE
                                        : check_one_file(command, settings);
}

/* Open and close */

VwStatus
destination_open(Destination* destination) {
  if (destination->kind != TO_FOLDER) {
    return VW_OK;
  }
  if (!mkdir(destination->path, 0777)) {
    destination->made = true;
    return VW_OK;
  }
  return errno == EEXIST ? VW_OK : vw_file_status(errno);
}

void
destination_close(Destination* destination) {
  if (destination->made && !rmdir(destination->path)) {
    destination->made = false;
  }
}

/// A file to be.
typedef struct {
  char*  path; ///< Owned.
  size_t take;
} Name;

/// All of them.
typedef struct {
  const CommandName* command;
  const Settings*    settings;
  const Destination* destination;
  Name*              names; ///< Owned.
  size_t             n;
} Names;

static void
names_clear(Names* names) {
  for (size_t i = 0; i < names->n; ++i) {
    free(names->names[i].path);
  }
  free(names->names);
  *names = (Names){0};
}

static int
compare(const void* a, const void* b) {
  const Name* const one = a;
  const Name* const other = b;
  const int         order = vw_compare_however_coded(one->path, other->path);
  return order ? order : one->take < other->take ? -1 : one->take > other->take;
}

/// Name the files of one take. At a fault those named so far are in `names`.
static VwStatus
name_take(Names* names, size_t take) {
  const Settings* const settings = names->settings;
  for (int i = VW_PART_SHOT; i <= VW_PART_WHOLE; ++i) {
    const VwPart part = (VwPart)i;
    // Taking turns, each take has its shot and all have one loop.
    const bool made =
      part == VW_PART_SHOT || !settings->loop.take_turns || !take;
    if (made && settings_write(names->command, settings, part)) {
      Name* const    name = &names->names[names->n];
      const VwStatus st =
        path_of_part(names->destination, settings, take, part, &name->path);
      if (st) {
        return st;
      }
      name->take = take;
      ++names->n;
    }
  }
  return VW_OK;
}

static VwStatus
refuse_same(const Settings* settings, const Name* one, const Name* other) {
  if (one->take == other->take) {
    say(settings->takes[one->take],
        "the board gives all its files one name: pick one of them with --part");
  } else {
    say(settings->takes[other->take],
        "its files would have the names of those of %s: %s",
        settings->takes[one->take],
        vw_remedy(VW_SAME_STEM));
  }
  return VW_SAME_STEM;
}

/// Of the files of the same name, say it of the first that finds it taken.
static VwStatus
check_same(const Settings* settings, Names* names) {
  const Name* first = NULL;
  qsort(names->names, names->n, sizeof(Name), compare);
  for (size_t i = 1; i < names->n; ++i) {
    const Name* const at = &names->names[i];
    if (!vw_compare_however_coded(at[-1].path, at->path) &&
        (!first || at->take < first->take)) {
      first = at;
    }
  }
  return first ? refuse_same(settings, first - 1, first) : VW_OK;
}

int
name_check(const CommandName* command,
           const Settings*    settings,
           const Destination* destination,
           VwStatus*          why) {
  if (destination->kind != TO_FOLDER) {
    return EXIT_DONE;
  }
  if (!board_check_slots(settings)) {
    *why = VW_NO_NAME;
    return EXIT_USAGE;
  }
  // Four parts are the most that a command makes of a take.
  Names    names = {command,
                    settings,
                    destination,
                    sure(calloc(4U * settings->n_takes, sizeof(Name))),
                    0U};
  VwStatus st = names.names ? VW_OK : VW_NO_MEMORY;
  for (size_t i = 0; !st && i < settings->n_takes; ++i) {
    st = name_take(&names, i);
    if (st) {
      say_status(settings->takes[i], st);
    }
  }
  st = st ? st : check_same(settings, &names);
  names_clear(&names);
  *why = st;
  return st == VW_OK ? EXIT_DONE : st == VW_NO_MEMORY ? EXIT_FILE : EXIT_USAGE;
}
