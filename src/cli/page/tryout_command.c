#include "cli/page/tryout_command.h"

#include "cli/message/message.h"

#include <stdlib.h>
#include <string.h>

/// Options on where and how it is made, not on what.
static const char* const beside[] = {"output",
                                     "force",
                                     "dry-run",
                                     "quiet",
                                     "json",
                                     "jobs",
                                     "prune",
                                     "write-prop",
                                     NULL};

static bool
is_one_of(const char* name, const char* const* list) {
  while (list && *list && strcmp(*list, name) != 0) {
    ++list;
  }
  return list && *list;
}

char*
tryout_command_add(char* line, const char* before, const char* word) {
  char* const quoted = text_quoted(word);
  char* const longer =
    line && quoted ? text_format("%s%s%s", line, before, quoted) : NULL;
  free(quoted);
  free(line);
  return longer;
}

char*
tryout_command(const char*        command,
               const Settings*    settings,
               const char* const* but) {
  char* line = text_format("volleyweave %s", command);
  for (size_t i = 0; line && i < settings->n_given; ++i) {
    const Given* const given = &settings->given[i];
    if (!is_one_of(given->name, beside) && !is_one_of(given->name, but)) {
      line = tryout_command_add(line, " --", given->name);
      line = given->value ? tryout_command_add(line, " ", given->value) : line;
    }
  }
  return line;
}

char*
tryout_command_whole(const char* command, const Settings* settings) {
  char* line = tryout_command(command, settings, NULL);
  for (size_t i = 0; line && i < settings->n_takes; ++i) {
    line = tryout_command_add(line, " ", settings->takes[i]);
  }
  return line;
}
