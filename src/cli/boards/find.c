#include "cli/boards/boards.h"
#include "cli/message/message.h"
#include "cli/options/ini.h"

#include <dirent.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Where settings are kept (XDG Base Directory Specification 0.8) */

#define OURS "volleyweave"

/// A variable that names a folder, or NULL: those not from the root on do not
/// count.
static const char*
folder_in(const char* variable) {
  const char* const value = getenv(variable);
  return value && value[0] == '/' ? value : NULL;
}

/// A file or folder of the user: "boards" in ~/.config/volleyweave, say. To be
/// freed; NULL without memory or where there is no such place.
static char*
config_of_user(const char* name) {
  const char* const config = folder_in("XDG_CONFIG_HOME");
  const char* const home = folder_in("HOME");
  return config ? text_format("%s/" OURS "/%s", config, name)
         : home ? text_format("%s/.config/" OURS "/%s", home, name)
                : NULL;
}

/// The same in the system's places, the most important first. NULL past the
/// last, and without memory.
static char*
config_of_system(size_t index, const char* name) {
  const char* const set = getenv("XDG_CONFIG_DIRS");
  const char*       at = set && *set ? set : "/etc/xdg";
  for (size_t i = 0; *at;) {
    const size_t n = strcspn(at, ":");
    if (*at == '/' && i++ == index) {
      return text_format("%.*s/" OURS "/%s", (int)n, at, name);
    }
    at += n + (at[n] ? 1U : 0U);
  }
  return NULL;
}

/* The default */

const char*
board_default_of_environment(void) {
  const char* const name = getenv("VOLLEYWEAVE_BOARD");
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
              "%s: no such key: write board = NAME, as in board = wav-22k-mono",
              entry->key);
  } else if (!*entry->value) {
    fault_say(
      faults, entry->line, "board: no value: name one, or leave the line out");
  } else {
    *name = name_from(faults->path, entry->value);
  }
}

/// Take the settings of a file. False, and said, if there are faults.
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

/* Boards at hand */

char*
board_list_folder(void) {
  return config_of_user("boards");
}

/// Add a board and take its texts over.
static bool
add(BoardList* list, BoardEntry entry) {
  BoardEntry* const more =
    sure(realloc(list->entries, (list->n + 1U) * sizeof(BoardEntry)));
  list->entries = more ? more : list->entries;
  if (!more || !entry.name) {
    free(entry.name);
    free(entry.path);
    return false;
  }
  more[list->n++] = entry;
  return true;
}

static bool
add_file(BoardList* list, const char* folder, const char* file) {
  const size_t n = strlen(file) - strlen(BOARD_FILE_ENDING);
  char* const  path = text_format("%s/%s", folder, file);
  return path &&
         add(list, (BoardEntry){text_format("%.*s", (int)n, file), path, NULL});
}

static int
compare(const void* a, const void* b) {
  const BoardEntry* const one = a;
  const BoardEntry* const two = b;
  return strcmp(one->name, two->name);
}

static bool
add_files(BoardList* list, const char* folder) {
  DIR* const           stream = folder ? opendir(folder) : NULL;
  const struct dirent* entry = stream ? readdir(stream) : NULL;
  bool                 good = true;
  for (; good && entry; entry = readdir(stream)) {
    // Hidden ones are editors' and systems' own.
    if (entry->d_name[0] != '.' && board_file_is_called(entry->d_name)) {
      good = add_file(list, folder, entry->d_name);
    }
  }
  if (stream) {
    (void)closedir(stream);
  }
  if (list->n) {
    qsort(list->entries, list->n, sizeof(BoardEntry), compare);
  }
  return good;
}

const BoardEntry*
board_list_entry(const BoardList* list, const char* name) {
  for (size_t i = 0; i < list->n; ++i) {
    if (!strcmp(list->entries[i].name, name)) {
      return &list->entries[i];
    }
  }
  return NULL;
}

bool
board_list_fill(BoardList* list) {
  char* const folder = board_list_folder();
  bool        good = add_files(list, folder);
  for (size_t i = 0; good && vw_board_built_in(i); ++i) {
    const VwBoard* const board = vw_board_built_in(i);
    if (!board_list_entry(list, board->name)) {
      good =
        add(list, (BoardEntry){text_format("%s", board->name), NULL, board});
    }
  }
  free(folder);
  return good;
}

void
board_list_clear(BoardList* list) {
  if (list) {
    for (size_t i = 0; i < list->n; ++i) {
      free(list->entries[i].name);
      free(list->entries[i].path);
    }
    free(list->entries);
    *list = (BoardList){0};
  }
}

/* Find */

/// Say that there is no such board, and what was meant.
static bool
refuse(const BoardList* list, const char* asked) {
  const char* near = NULL;
  for (size_t i = 0; i < list->n; ++i) {
    near = suggest_nearer(asked, near, list->entries[i].name);
  }
  for (size_t i = 0; !near && *asked && i < list->n; ++i) {
    near = strncmp(list->entries[i].name, asked, strlen(asked))
             ? NULL
             : list->entries[i].name;
  }
  return near ? say(asked, "no such board: did you mean %s?", near)
              : say(asked,
                    "no such board: name one that `volleyweave boards` lists, "
                    "or a file, NAME" BOARD_FILE_ENDING);
}

static bool
find_in(const BoardList* list, const char* asked, VwBoard* board) {
  const BoardEntry* const entry = board_list_entry(list, asked);
  if (entry && entry->built_in) {
    *board = *entry->built_in;
    return true;
  }
  return entry ? board_file_read(entry->path, board) : refuse(list, asked);
}

bool
board_is_at_hand(const char* name) {
  BoardList  list = {0};
  const bool is = board_list_fill(&list) && board_list_entry(&list, name);
  board_list_clear(&list);
  return is;
}

char*
board_path(const char* asked) {
  BoardList               list = {0};
  const BoardEntry* const entry =
    board_list_fill(&list) ? board_list_entry(&list, asked) : NULL;
  const char* const path = board_file_is_path(asked) ? asked
                           : entry                   ? entry->path
                                                     : NULL;
  char* const       copy = path ? text_format("%s", path) : NULL;
  board_list_clear(&list);
  return copy;
}

bool
board_find(const char* asked, VwBoard* board) {
  if (board_file_is_path(asked)) {
    return board_file_read(asked, board);
  }
  if (!strcmp(asked, "none")) {
    return say(asked, "a board is needed here: name one, as in wav-44k-mono");
  }
  BoardList  list = {0};
  const bool filled = board_list_fill(&list);
  if (!filled) {
    say(asked, NO_MEMORY);
  }
  const bool good = filled && find_in(&list, asked, board);
  board_list_clear(&list);
  return good;
}

bool
board_find_or_default(const char* asked, VwBoard* board, bool* found) {
  char*             name = NULL;
  bool              good = asked || board_default(&name);
  const char* const meant = asked ? asked : name;
  *found = good && meant && strcmp(meant, "none") != 0;
  if (*found) {
    good = board_find(meant, board);
    *found = good;
  }
  free(name);
  return good;
}
