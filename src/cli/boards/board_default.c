#include "cli/boards/board_default.h"

#include "cli/boards/board_file.h"
#include "cli/boards/config.h"
#include "cli/textfile/textfile.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

const char*
board_default_of_environment(void) {
  const char* const name = getenv(BOARD_VARIABLE);
  return name && *name ? name : NULL;
}

/// A board as settings in a file name it: board files lie beside them.
static char*
name_from(const char* path, const char* value) {
  return board_file_is_path(value) ? ini_path(path, value)
                                   : text_format("%s", value);
}

static void
take_entry(Faults* faults, const IniEntry* entry, char** name) {
  if (strcmp(entry->key, "board") != 0) {
    fault_say(faults,
              entry->line,
              "%s: no such key: there is board, as in board = wav-22k-mono",
              entry->key);
  } else if (!*entry->value) {
    fault_say(
      faults, entry->line, "board: no value: name one, or leave the line out");
  } else {
    *name = name_from(faults->path, entry->value);
  }
}

/// Take the settings of a file. False, and said, where there are faults.
static bool
take_file(Faults* faults, const IniFile* file, char** name) {
  for (size_t i = 0; i < file->n_sections; ++i) {
    const IniSection* const section = &file->sections[i];
    if (strcmp(section->name, "settings") != 0) {
      fault_say(faults,
                section->line,
                "[%s]: no section of the settings: write [settings]",
                section->name);
      continue;
    }
    for (size_t j = 0; j < section->n_entries; ++j) {
      take_entry(faults, &section->entries[j], name);
    }
  }
  return fault_end(faults);
}

/// Read the settings in a file that may be missing. Takes `path` over.
static bool
read_settings(char* path, char** name) {
  IniFile file = {0};
  Faults  faults = {.path = path};
  bool    good = true;
  if (path && !access(path, F_OK)) {
    char* found = NULL;
    good = ini_read(NULL, &faults, &file) && take_file(&faults, &file, &found);
    if (good) {
      *name = found;
    } else {
      free(found);
    }
  }
  ini_clear(&file);
  free(path);
  return good;
}

static bool
of_settings(char** name) {
  *name = NULL;
  bool  good = read_settings(config_of_user("settings.ini"), name);
  char* path = NULL;
  for (size_t i = 0; good && !*name; ++i) {
    path = config_of_system(i, "settings.ini");
    if (!path) {
      break;
    }
    good = read_settings(path, name);
  }
  return good;
}

bool
board_default(char** name) {
  const char* const set = board_default_of_environment();
  if (!set) {
    return of_settings(name);
  }
  *name = text_format("%s", set);
  return true;
}
