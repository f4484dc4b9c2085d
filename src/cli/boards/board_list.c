#include "cli/boards/board_list.h"

#include "board/board.h"
#include "cli/boards/board_file.h"
#include "cli/boards/config.h"
#include "cli/message/text.h"

#include <dirent.h>
#include <stdlib.h>
#include <string.h>

char*
board_list_folder(void) {
  return config_of_user("boards");
}

/// Add a board and take its texts over.
static bool
add(BoardList* list, BoardEntry entry) {
  BoardEntry* const more =
    realloc(list->entries, (list->n + 1U) * sizeof(BoardEntry));
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

static bool
is_listed(const BoardList* list, const char* name) {
  for (size_t i = 0; i < list->n; ++i) {
    if (!strcmp(list->entries[i].name, name)) {
      return true;
    }
  }
  return false;
}

bool
board_list_fill(BoardList* list) {
  char* const folder = board_list_folder();
  bool        good = add_files(list, folder);
  for (size_t i = 0; good && vw_board_built_in(i); ++i) {
    const VwBoard* const board = vw_board_built_in(i);
    if (!is_listed(list, board->name)) {
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
