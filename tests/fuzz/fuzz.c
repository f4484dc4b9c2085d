#include "fuzz/fuzz.h"

#include "cli/boards/boards.h"
#include "cli/options/options.h"
#include "support/folder.h"

#include <stdlib.h>
#include <string.h>

// As many words as a line has.
#define WORDS_MOST 16U

static void* own_folder;

static void
leave(void) {
  (void)folder_leave(&own_folder);
}

void
fuzz_put(const char* name, const void* data, size_t n_bytes) {
  if (!own_folder && (folder_enter(&own_folder) || atexit(leave))) {
    abort();
  }
  folder_put(name, data, n_bytes);
}

void
fuzz_words(char* const* words, const FuzzLine* as) {
  const CommandName* const command = words[0] ? command_find(words[0]) : NULL;
  Settings                 settings = {0};
  if (!command || !options_read(command, words + 1, &settings)) {
    return;
  }
  if (board_settle(command, &settings) && settings_check(command, &settings) &&
      as->run) {
    (void)as->run(command, &settings);
  }
  settings_clear(&settings);
}

void
fuzz_line(const FuzzLine* line) {
  char*       words[WORDS_MOST + 1U] = {0};
  char* const text = strdup(line->line);
  char*       rest = NULL;
  for (size_t n = 0; n < WORDS_MOST; ++n) {
    words[n] = strtok_r(n ? NULL : text, " ", &rest);
    if (!words[n]) {
      break;
    }
  }
  fuzz_words(words, line);
  free(text);
}
