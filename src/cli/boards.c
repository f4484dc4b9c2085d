#include "cli/boards/boards.h"
#include "board/board.h"
#include "cli/commands.h"
#include "cli/message/message.h"
#include "cli/report/card.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* List */

/// Print a value of a board into a column.
static void
print_column(const VwBoard* board, const char* name, int width) {
  char* const value = board_value_print(board_keys_find(NULL, name), board);
  printf(" %-*s", width, value ? value : "");
  free(value);
}

/// The best sample rate of a board, and whether it takes others.
static void
print_sample_rates(const VwBoard* board) {
  char text[32];
  (void)snprintf(text,
                 sizeof(text),
                 "%u%s",
                 board->sample_rates_hz[0],
                 board->n_sample_rates > 1U ? " ..." : "");
  printf(" %-11s", text);
}

static void
print_board(const BoardReport* report) {
  const VwBoard* const board = report->board;
  char* const          path = report->path ? text_safe(report->path) : NULL;
  printf("%-15s", board->name);
  print_column(board, "container", 9);
  print_sample_rates(board);
  print_column(board, "channels", 8);
  print_column(board, "encoding", 8);
  print_column(board, "repeat", 11);
  printf(" %s%s\n",
         report->path ? path ? path : "a file" : "built in",
         report->is_default ? ", the default" : "");
  free(path);
}

/// Report a board in the way asked for. False without memory.
static bool
report(const BoardReport* what, bool json) {
  if (json) {
    return report_boards_json(what, stdout);
  }
  print_board(what);
  return true;
}

/// Print all boards at hand. Returns the exit status.
static int
list_all(const BoardList* list, const char* default_name, bool json) {
  int status = EXIT_DONE;
  if (!json) {
    printf("%-15s %-9s %-11s %-8s %-8s %-11s %s\n",
           "board",
           "container",
           "sample rate",
           "channels",
           "encoding",
           "repeats",
           "from");
  }
  for (size_t i = 0; i < list->n; ++i) {
    const BoardEntry* const entry = &list->entries[i];
    VwBoard                 board;
    if (entry->built_in) {
      board = *entry->built_in;
    } else if (!board_file_read(entry->path, &board)) {
      status = EXIT_FILE;
      continue;
    }
    const BoardReport what = {
      &board, entry->path, default_name && !strcmp(default_name, entry->name)};
    if (!report(&what, json)) {
      say("boards", NO_MEMORY);
      return EXIT_FILE;
    }
  }
  return status;
}

/// A name for a board file that no file in the folder has. To be freed.
static char*
free_name(const char* folder) {
  for (unsigned i = 1; i < 100U; ++i) {
    char number[16] = "";
    (void)snprintf(number, sizeof(number), "-%u", i);
    char* const path =
      text_format("%s/mine%s" BOARD_FILE_ENDING, folder, i > 1U ? number : "");
    if (!path || access(path, F_OK)) {
      return path;
    }
    free(path);
  }
  return NULL;
}

/// Tell how to have a board of one's own.
static void
tell_how(void) {
  char* const folder = board_list_folder();
  char* const path = folder ? free_name(folder) : NULL;
  char* const quoted = folder ? text_quoted(folder) : NULL;
  char* const file = path ? text_quoted(path) : NULL;
  char* const called = program_called();
  if (quoted && file && called) {
    printf("\nOne of your own, to be edited and named with --board:\n"
           "  mkdir -p %s\n"
           "  %s boards wav-22k-mono > %s\n",
           quoted,
           called,
           file);
  }
  free(called);
  free(file);
  free(path);
  free(quoted);
  free(folder);
}

/// A default that is a file stands in no list.
static void
tell_default(const BoardList* list, const char* default_name) {
  if (board_list_entry(list, default_name)) {
    return;
  }
  char* const safe = text_safe(default_name);
  printf("\nThe default: %s\n", safe);
  free(safe);
}

static int
list_boards(const Settings* settings) {
  BoardList list = {0};
  char*     default_name = NULL;
  int       status = EXIT_FILE;
  if (!board_list_fill(&list)) {
    say("boards", NO_MEMORY);
  } else if (board_default(&default_name)) {
    status = list_all(&list, default_name, settings->json);
    if (default_name && !settings->json) {
      tell_default(&list, default_name);
    }
    if (!settings->json) {
      tell_how();
    }
  }
  free(default_name);
  board_list_clear(&list);
  return status;
}

/* One */

static bool
print_json(const char* asked, const VwBoard* board) {
  char*             default_name = NULL;
  char* const       path = board_path(asked);
  const bool        known = board_default(&default_name);
  const BoardReport what = {
    board, path, known && default_name && !strcmp(default_name, asked)};
  const bool good = report_boards_json(&what, stdout);
  free(default_name);
  free(path);
  return good;
}

static int
print_one(const char* asked, bool json) {
  VwBoard board;
  if (!board_find(asked, &board)) {
    return EXIT_USAGE;
  }
  if (!(json ? print_json(asked, &board) : board_file_print(&board, stdout))) {
    say("boards", NO_MEMORY);
    return EXIT_FILE;
  }
  return EXIT_DONE;
}

int
command_boards(const CommandName* command, const Settings* settings) {
  (void)command;
  if (settings->n_takes > 1U) {
    return say_usage("boards",
                     "one board is printed at a time: name one, or none to "
                     "list them all");
  }
  return settings->n_takes ? print_one(settings->takes[0], settings->json)
                           : list_boards(settings);
}
