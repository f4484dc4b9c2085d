#include "cli/prop/prop.h"
#include "cli/message/message.h"
#include "cli/options/ini.h"
#include "pack/pack.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// What may stand more than once in a section.
#define REPEATABLE "take"

/// A sound list being read.
typedef struct {
  Prop*     prop;
  PropPlace place; ///< Where keys go; no section: nowhere.
  Faults*   faults;
} Reader;

/// Make room for one more in an array that grows by doubling.
static void*
room(void* array, size_t n, size_t size) {
  // Only at powers of two, and at the start, it is full.
  return n & (n - 1U) ? array : realloc(array, (n ? 2U * n : 1U) * size);
}

PropSound*
prop_add(Prop* prop, const char* section, size_t at_name, unsigned line) {
  const size_t     n = prop->n_sounds;
  PropSound* const sounds = room(prop->sounds, n, sizeof(PropSound));
  char* const      copy = text_format("%s", section);
  prop->sounds = sounds ? sounds : prop->sounds;
  if (!sounds || !copy) {
    free(copy);
    return NULL;
  }
  sounds[n] =
    (PropSound){.section = copy, .name = copy + at_name, .line = line};
  ++prop->n_sounds;
  return &sounds[n];
}

bool
prop_add_take(PropSound* sound, char* take, unsigned line) {
  char** const more =
    realloc(sound->takes, (sound->n_takes + 1U) * sizeof(char*));
  sound->takes = more ? more : sound->takes;
  if (!more || !take || sound->n_takes == PROP_TAKES_MOST) {
    free(take);
    return false;
  }
  sound->lines[sound->n_takes] = line;
  sound->takes[sound->n_takes++] = take;
  return true;
}

bool
prop_add_board(Prop* prop, const char* name, size_t n_name) {
  char** const more =
    realloc(prop->boards, (prop->n_boards + 1U) * sizeof(char*));
  char* const copy = text_format("%.*s", (int)n_name, name);
  prop->boards = more ? more : prop->boards;
  if (!more || !copy) {
    free(copy);
    return false;
  }
  prop->boards[prop->n_boards++] = copy;
  return true;
}

void
prop_sound_clear(PropSound* sound) {
  for (size_t i = 0; i < sound->n_takes; ++i) {
    free(sound->takes[i]);
  }
  free(sound->takes);
  free(sound->section);
  free(sound->remark);
  prop_keys_clear(&sound->keys);
}

void
prop_clear(Prop* prop) {
  if (!prop) {
    return;
  }
  for (size_t i = 0; i < prop->n_sounds; ++i) {
    prop_sound_clear(&prop->sounds[i]);
  }
  for (size_t i = 0; i < prop->n_ons; ++i) {
    free(prop->ons[i].sound);
    free(prop->ons[i].board);
    prop_keys_clear(&prop->ons[i].keys);
  }
  for (size_t i = 0; i < prop->n_boards; ++i) {
    free(prop->boards[i]);
  }
  prop_keys_clear(&prop->keys);
  prop_keys_clear(&prop->lamp);
  prop_keys_clear(&prop->power);
  free(prop->sounds);
  free(prop->ons);
  free(prop->boards);
  free(prop->name);
  free(prop->path);
  *prop = (Prop){0};
}

/* Sections */

static void
begin_sound(Reader*     reader,
            const char* section,
            const char* name,
            unsigned    line) {
  PropSound* const sound =
    prop_add(reader->prop, section, (size_t)(name - section), line);
  if (!sound) {
    fault_say(reader->faults, line, NO_MEMORY);
    return;
  }
  reader->place = (PropPlace){reader->prop, sound, &sound->keys, IN_SOUND};
}

/// Begin what a sound has different on a board.
static void
begin_on(Reader* reader, const char* name, size_t n_name, unsigned line) {
  Prop* const   prop = reader->prop;
  PropOn* const ons = room(prop->ons, prop->n_ons, sizeof(PropOn));
  char* const   sound = text_format("%.*s", (int)n_name, name);
  char* const   board = text_format("%s", name + n_name + strlen(" on "));
  prop->ons = ons ? ons : prop->ons;
  if (!ons || !sound || !board) {
    fault_say(reader->faults, line, NO_MEMORY);
    free(sound);
    free(board);
    return;
  }
  PropOn* const on = &ons[prop->n_ons++];
  *on = (PropOn){.sound = sound, .board = board, .line = line};
  reader->place = (PropPlace){prop, NULL, &on->keys, IN_ON};
}

/// Where " on BOARD" begins, the board being one word; NULL without one.
static const char*
find_on(const char* name) {
  const char* const space = strrchr(name, ' ');
  return space && space[1] && space - name > 3 && !strncmp(space - 3, " on", 3)
           ? space - 3
           : NULL;
}

/// The name in "sound NAME", or NULL.
static const char*
sound_of(const char* section) {
  const size_t n = strlen("sound");
  if (strncmp(section, "sound", n) != 0 || (section[n] && section[n] != ' ')) {
    return NULL;
  }
  return section + n + strspn(section + n, " ");
}

static void
refuse_section(Reader* reader, const char* section, unsigned line) {
  fault_say(reader->faults,
            line,
            "[%s]: no section of a sound list: write [prop], [lamp], [power], "
            "[sound NAME] or [sound NAME on BOARD]",
            section);
}

static void
begin_section(Reader* reader, const char* section, unsigned line) {
  const char* const name = sound_of(section);
  const char* const on = name ? find_on(name) : NULL;
  reader->place = (PropPlace){0};
  if (!strcmp(section, "prop")) {
    reader->place =
      (PropPlace){reader->prop, NULL, &reader->prop->keys, IN_PROP};
  } else if (!strcmp(section, "lamp")) {
    reader->place =
      (PropPlace){reader->prop, NULL, &reader->prop->lamp, IN_LAMP};
  } else if (!strcmp(section, "power")) {
    reader->place =
      (PropPlace){reader->prop, NULL, &reader->prop->power, IN_POWER};
  } else if (on) {
    begin_on(reader, name, (size_t)(on - name), line);
  } else if (name && *name) {
    begin_sound(reader, section, name, line);
  } else if (name) {
    fault_say(reader->faults, line, "[sound]: no name: write [sound NAME]");
  } else {
    refuse_section(reader, section, line);
  }
}

/* Read */

static void
read_sections(Reader* reader, const IniFile* file) {
  for (size_t i = 0; i < file->n_sections; ++i) {
    const IniSection* const section = &file->sections[i];
    begin_section(reader, section->name, section->line);
    for (size_t j = 0; reader->place.section && j < section->n_entries; ++j) {
      prop_keys_take(&reader->place, &section->entries[j], reader->faults);
    }
  }
}

/// Prove what was read. False, and said, if there are faults.
static bool
prove(Faults* faults, const IniFile* file, Prop* prop) {
  Prop   read = {.path = text_format("%s", faults->path),
                 .loudness_found_lufs = NAN};
  Reader reader = {.prop = &read, .faults = faults};
  read_sections(&reader, file);
  prop_check(&read, reader.faults);
  if (!fault_end(reader.faults)) {
    prop_clear(&read);
    return false;
  }
  *prop = read;
  return true;
}

bool
prop_read(const char* path, Prop* prop) {
  IniFile    file = {0};
  Faults     faults = {.path = path};
  Prop       read = {0};
  const bool good =
    ini_read(REPEATABLE, &faults, &file) && prove(&faults, &file, &read);
  ini_clear(&file);
  if (good && !read.n_sounds) {
    say(path, "no sound in it: write [sound NAME] and its take");
    prop_clear(&read);
    return false;
  }
  if (good && !read.name && !prop_name_after(path, &read)) {
    say_status(path, VW_NO_MEMORY);
    prop_clear(&read);
    return false;
  }
  *prop = good ? read : *prop;
  return good;
}
