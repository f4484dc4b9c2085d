#include "cli/start.h"

#include "cli/commands.h"
#include "cli/message/say.h"
#include "cli/options/options.h"

#include <stdio.h>
#include <string.h>

/// Whether a word stands among the options.
static bool
is_asked(char* const* arguments, const char* word) {
  for (; *arguments && strcmp(*arguments, "--"); ++arguments) {
    if (!strcmp(*arguments, word)) {
      return true;
    }
  }
  return false;
}

/// Help on the command named first, or on all.
static int
help(const char* name) {
  const Command* const command = name ? command_find(name) : NULL;
  if (name && name[0] != '-' && !command && strcmp(name, "help") != 0) {
    return command_refuse(name);
  }
  help_print(command, stdout);
  return EXIT_DONE;
}

static int
run(const Command* command, char* const* arguments) {
  Settings settings = {0};
  if (!options_read(&command->name, arguments, &settings)) {
    return EXIT_USAGE;
  }
  int status = EXIT_DONE;
  if (settings.help) {
    help_print(command, stdout);
  } else {
    status = command->run(&command->name, &settings);
  }
  settings_clear(&settings);
  return status;
}

int
start(char* const* arguments) {
  if (!arguments[0]) {
    help_print(NULL, stderr);
    return EXIT_USAGE;
  }
  if (!strcmp(arguments[0], "help")) {
    return help(arguments[1]);
  }
  const Command* const command = command_find(arguments[0]);
  if (is_asked(arguments, "-h") || is_asked(arguments, "--help")) {
    help_print(command, stdout);
    return EXIT_DONE;
  }
  if (is_asked(arguments, "--version")) {
    printf("volleyweave %s\n", vw_version());
    return EXIT_DONE;
  }
  return command ? run(command, arguments + 1) : command_refuse(arguments[0]);
}
