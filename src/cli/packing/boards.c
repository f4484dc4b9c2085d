#include "cli/packing/packing.h"

#include "board/board.h"
#include "cli/boards/boards.h"
#include "cli/files/files.h"
#include "cli/message/message.h"
#include "cli/options/ini.h"
#include "cli/prop/prop.h"
#include "store/store.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

#define BOARDS_MOST 64U

#define LIST "/.volleyweave.list"

/// Add a board. False, and said, if its folder would be that of another.
static bool
add(PackBoards* boards, const char* name) {
  VwBoard* const board = &boards->boards[boards->n_boards];
  if (!board_find(name, board)) {
    return false;
  }
  for (size_t i = 0; i < boards->n_boards; ++i) {
    if (!strcasecmp(boards->boards[i].name, board->name)) {
      return say(
        name,
        "a board of that name twice, and its pack has one folder: name it "
        "once");
    }
  }
  boards->paths[boards->n_boards++] = board_path(name);
  return true;
}

static int
add_named(const Settings* settings, PackBoards* boards) {
  for (size_t i = 0; i < settings->n_given; ++i) {
    if (!strcmp(settings->given[i].name, "board") &&
        !add(boards, settings->given[i].value)) {
      return EXIT_USAGE;
    }
  }
  return EXIT_DONE;
}

static int
add_of_prop(const Prop* prop, PackBoards* boards) {
  bool good = true;
  for (size_t i = 0; good && i < prop->n_boards; ++i) {
    const char* const word = prop->boards[i];
    // A file is seen from the prop's folder, as takes are.
    char* const path = prop->path && board_file_is_path(word)
                         ? ini_path(prop->path, word)
                         : NULL;
    good = add(boards, path ? path : word);
    free(path);
  }
  return good ? EXIT_DONE : EXIT_USAGE;
}

/// Add what the environment names, unless that is none at all.
static int
add_of_environment(PackBoards* boards) {
  const char* const name = board_default_of_environment();
  const bool        named = name && strcmp(name, "none") != 0;
  return !named || add(boards, name) ? EXIT_DONE : EXIT_USAGE;
}

static int
add_of_settings(PackBoards* boards) {
  char* name = NULL;
  bool  good = board_default(&name);
  if (good && name && strcmp(name, "none") != 0) {
    good = add(boards, name);
  }
  free(name);
  return good ? EXIT_DONE : EXIT_USAGE;
}

int
pack_boards_find(const CommandName* command,
                 const Settings*    settings,
                 const Prop*        prop,
                 PackBoards*        boards) {
  const size_t n_most = settings->n_given + prop->n_boards + 1U;
  *boards = (PackBoards){.boards = calloc(n_most, sizeof(VwBoard)),
                         .paths = calloc(n_most, sizeof(char*))};
  if (!boards->boards || !boards->paths) {
    say(command->name, NO_MEMORY);
    return EXIT_FILE;
  }
  int status = add_named(settings, boards);
  if (status == EXIT_DONE && !boards->n_boards) {
    status = add_of_environment(boards);
  }
  if (status == EXIT_DONE && !boards->n_boards) {
    status = add_of_prop(prop, boards);
  }
  if (status == EXIT_DONE && !boards->n_boards) {
    status = add_of_settings(boards);
  }
  // A sound list is written without one.
  if (status == EXIT_DONE && !boards->n_boards && !settings->pack.write_list) {
    return say_usage(command->name,
                     "for which board? Name it, as in --board wav-22k-mono; "
                     "`volleyweave boards` lists them");
  }
  return status;
}

bool
pack_boards_check(const Settings*   settings,
                  const PackBoards* boards,
                  Prop*             prop) {
  const VwBoard* pointers[BOARDS_MOST];
  Faults       faults = {.path = prop->path ? prop->path : settings->takes[0]};
  const size_t n = boards->n_boards;
  if (n > BOARDS_MOST) {
    return say("--board", "more than 64 boards: name fewer");
  }
  for (size_t i = 0; i < n; ++i) {
    pointers[i] = &boards->boards[i];
    prop_slots_check(
      prop, pointers[i]->name, board_slots_most(pointers[i]), &faults);
    prop_board_check(prop, pointers[i], settings, &faults);
  }
  return fault_end(&faults) && prop_slots_give(prop, pointers, n);
}

void
pack_boards_clear(PackBoards* boards) {
  for (size_t i = 0; i < boards->n_boards; ++i) {
    free(boards->paths[i]);
  }
  free(boards->paths);
  free(boards->boards);
  *boards = (PackBoards){0};
}

/* Where to */

/// The name of a prop as that of a folder. To be freed; NULL without memory.
static char*
folder_name(const Prop* prop) {
  VwBoard           any = vw_board_defaults();
  const VwFileLabel label = {
    .group = prop->name, .sound = "prop", .part = VW_PART_WHOLE};
  char* name = NULL;
  any.naming.group_folders = true;
  if (!vw_board_file_name(&any, &label, &name)) {
    // A name of dots leaves no group.
    const char* const slash = strchr(name, '/');
    name[slash ? (size_t)(slash - name) : strlen(label.sound)] = '\0';
  }
  return name;
}

char*
pack_folder(const Settings* settings, const Prop* prop, const VwBoard* board) {
  char* const name = settings->output ? NULL : folder_name(prop);
  char*       path = settings->output ? text_format("%s", settings->output)
                     : name           ? vw_path_join(OUTPUT_FOLDER, name)
                                      : NULL;
  if (path && board) {
    char* const all = path;
    path = vw_path_join(all, board->name);
    free(all);
  }
  free(name);
  return path;
}

/* Named for another */

bool
pack_near_is_ours(const char* folder) {
  char* const list = text_format("%s" LIST, folder);
  const bool  ours = !access(list, F_OK);
  free(list);
  return ours;
}

bool
pack_near_refuse_target(const char* folder) {
  char        first[6] = "";
  char* const path = text_format("%s" LIST, folder);
  FILE* const list = path ? fopen(path, "r") : NULL;
  // Other commands keep such a list too, but not of a pack.
  const bool pack =
    list && fgets(first, sizeof(first), list) && !strcmp(first, "pack ");
  if (list) {
    (void)fclose(list);
  }
  free(path);
  if (pack) {
    say(folder,
        "this is a pack, and no card: did you swap them? The pack comes first, "
        "then --to and the card");
  }
  return pack;
}

/// A pack in a folder or in one of its folders, not one being made nor the one
/// before. To be freed, or NULL.
static char*
pack_in(const char* path, unsigned depth) {
  DIR* const folder = opendir(path);
  char*      found = NULL;
  for (const struct dirent* entry = folder ? readdir(folder) : NULL;
       entry && !found;
       entry = readdir(folder)) {
    if (entry->d_name[0] != '.' && !vw_path_ends_in(entry->d_name, ".before") &&
        !vw_path_ends_in(entry->d_name, ".making")) {
      char* const inner = vw_path_join(path, entry->d_name);
      found = !inner                     ? NULL
              : pack_near_is_ours(inner) ? text_format("%s", inner)
              : depth                    ? pack_in(inner, depth - 1U)
                                         : NULL;
      free(inner);
    }
  }
  if (folder) {
    (void)closedir(folder);
  }
  return found;
}

bool
pack_near_refuse(const char* path) {
  char* const pack = pack_near_is_ours(path) ? NULL : pack_in(path, 1U);
  if (pack) {
    say(path, "packs lie in folders of it: did you mean %s?", pack);
  }
  free(pack);
  return pack != NULL;
}
