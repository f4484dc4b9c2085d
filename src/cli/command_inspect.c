#include "commands.h"

#include "say.h"
#include "show.h"

#include <stdlib.h>

/// Inspect one take. False, and said, where it cannot be used.
static bool
inspect(const CommandName* command,
        const Settings*    settings,
        const char*        path) {
  Input  input = {0};
  Report report = {
    .command = command, .settings = settings, .inputs = &input, .n_inputs = 1U};
  input_load(path, command, settings, &input);
  report.status = input.status;
  if (input.status) {
    const char* const message = input.message ? input.message : "failed";
    say(path, "%s", message);
    report.message = text_format("%s", message);
  }
  show(&report, stdout);
  report_clear(&report);
  const bool good = !input.status;
  input_clear(&input);
  return good;
}

int
command_inspect(const CommandName* command, const Settings* settings) {
  size_t n_failed = 0;
  for (size_t i = 0; i < settings->n_takes; ++i) {
    n_failed += inspect(command, settings, settings->takes[i]) ? 0U : 1U;
  }
  return show_failures(settings, n_failed);
}
