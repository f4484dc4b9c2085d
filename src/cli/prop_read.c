#include "prop.h"

#include "prop_check.h"
#include "prop_file.h"
#include "prop_keys.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// A prop file being read.
typedef struct {
  Prop*      prop;
  PropPlace  place; ///< Where keys go; no section: nowhere.
  PropFaults faults;
  bool       in_section; ///< A section was met, if only a wrong one.
  unsigned   prop_line;  ///< Of [prop], or 0.
} Reader;

/// Make room for one more in an array that grows by doubling.
static void*
room(void* array, size_t n, size_t size) {
  // Only at powers of two, and at the start, it is full.
  return n & (n - 1U) ? array : realloc(array, (n ? 2U * n : 1U) * size);
}

/* Sections */

static void
begin_sound(Reader*     reader,
            const char* section,
            const char* name,
            unsigned    line) {
  Prop* const      prop = reader->prop;
  PropSound* const sounds =
    room(prop->sounds, prop->n_sounds, sizeof(PropSound));
  char* const copy = text_format("%s", section);
  prop->sounds = sounds ? sounds : prop->sounds;
  if (!sounds || !copy) {
    prop_fault(&reader->faults, line, "not enough memory");
    free(copy);
    return;
  }
  PropSound* const sound = &sounds[prop->n_sounds++];
  *sound =
    (PropSound){.section = copy, .name = copy + (name - section), .line = line};
  reader->place = (PropPlace){prop, sound, &sound->keys, IN_SOUND};
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
    prop_fault(&reader->faults, line, "not enough memory");
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
  prop_fault(&reader->faults,
             line,
             "[%s]: no section of a prop file: write [prop], [sound NAME] or "
             "[sound NAME on BOARD]",
             section);
}

static void
begin_section(Reader* reader, const char* section, unsigned line) {
  const char* const name = sound_of(section);
  const char* const on = name ? find_on(name) : NULL;
  reader->in_section = true;
  reader->place = (PropPlace){0};
  if (!strcmp(section, "prop") && !reader->prop_line) {
    reader->prop_line = line;
    reader->place =
      (PropPlace){reader->prop, NULL, &reader->prop->keys, IN_PROP};
  } else if (!strcmp(section, "prop")) {
    prop_fault(&reader->faults,
               line,
               "[prop]: in line %u too: put its keys together",
               reader->prop_line);
  } else if (on) {
    begin_on(reader, name, (size_t)(on - name), line);
  } else if (name && *name) {
    begin_sound(reader, section, name, line);
  } else if (name) {
    prop_fault(&reader->faults, line, "[sound]: no name: write [sound NAME]");
  } else {
    refuse_section(reader, section, line);
  }
}

/* Keys */

static void
take_key(Reader* reader, const PropLine* line) {
  if (reader->place.section) {
    prop_keys_take(&reader->place, line, &reader->faults);
  } else if (!reader->in_section) {
    prop_fault(&reader->faults,
               line->line,
               "%s: before any section: write [prop] or [sound NAME] above it",
               line->key);
  }
}

/* Read */

/// Take a line apart.
static void
read_line(Reader* reader, char* text, unsigned number) {
  char*  start = text + strspn(text, " \t");
  size_t n = strlen(start);
  while (n && strchr(" \t\r", start[n - 1U])) {
    start[--n] = '\0';
  }
  if (!n || *start == '#' || *start == ';') {
    return;
  }
  if (*start == '[') {
    char* const end = strrchr(start, ']');
    if (end)
      *end = '\0';
    begin_section(reader, start + 1, number);
    return;
  }
  char* const equals = strchr(start, '=');
  if (!equals) {
    prop_fault(
      &reader->faults, number, "not a line of a prop file: write key = value");
    return;
  }
  char* key_end = equals;
  while (key_end > start && key_end[-1] == ' ')
    --key_end;
  *key_end = '\0';
  char*        value = equals + 1 + strspn(equals + 1, " \t");
  const size_t n_value = strlen(value);
  if (n_value > 1 && *value == '"' && value[n_value - 1U] == '"') {
    value[n_value - 1U] = '\0';
    ++value;
  }
  const PropLine line = {start, value, number};
  take_key(reader, &line);
}

static void
read_lines(Reader* reader, const char* text) {
  unsigned number = 0;
  while (*text) {
    const size_t n = strcspn(text, "\n");
    char* const  line = text_format("%.*s", (int)n, text);
    read_line(reader, line, ++number);
    free(line);
    text += n + (text[n] ? 1U : 0U);
  }
}

/// Read and prove a text. False, and said, where there are faults.
static bool
read_text(const char* path, const char* text, bool begun, Prop* prop) {
  Prop   read = {.loudness_found_lufs = NAN};
  Reader reader = {.prop = &read, .faults = {.path = path}};
  read_lines(&reader, text);
  if (!begun && !read.n_sounds) {
    prop_fault(
      &reader.faults, 0, "no sound in it: write [sound NAME] and its take");
  }
  prop_check(&read, &reader.faults);
  if (!prop_fault_end(&reader.faults)) {
    prop_clear(&read);
    return false;
  }
  *prop = read;
  return true;
}

static bool
read_file(const char* path, bool begun, Prop* prop) {
  char* const text = prop_file_read(path);
  char* const copy = text ? text_format("%s", path) : NULL;
  const bool  good = text && copy && read_text(path, text, begun, prop);
  free(text);
  if (!good) {
    free(copy);
    return false;
  }
  prop->path = copy;
  return true;
}

bool
prop_read(const char* path, Prop* prop) {
  return read_file(path, false, prop);
}

bool
prop_read_begun(const char* path, Prop* prop) {
  return read_file(path, true, prop);
}

bool
prop_read_text(const char* path, const char* text, Prop* prop) {
  return read_text(path, text, false, prop);
}
