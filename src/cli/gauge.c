#include "cli/commands.h"
#include "cli/gauging/gauging.h"
#include "cli/message/message.h"

#include <string.h>

/// What can be gauged.
typedef struct {
  const char* name;
  int (*run)(const CommandName* command, const Settings* settings);
} Gauged;

// The first argument says which.
static const Gauged all[] = {
  {"board", gauge_board},
  {"lamp", gauge_lamp},
  {"speaker", gauge_speaker},
};

int
command_gauge(const CommandName* command, const Settings* settings) {
  const char* const name = settings->n_takes ? settings->takes[0] : NULL;
  for (size_t i = 0; name && i < sizeof(all) / sizeof(all[0]); ++i) {
    if (!strcmp(name, all[i].name)) {
      return all[i].run(command, settings);
    }
  }
  return say_usage(name ? name : command->name,
                   "%s: try `volleyweave gauge board --write`, `volleyweave "
                   "gauge speaker --write` or `gauge lamp`",
                   name ? "cannot be gauged"
                        : "neither board nor lamp is named");
}
