#include "cli/commands.h"
#include "cli/gauging/gauging.h"
#include "cli/message/message.h"

#include <stdlib.h>
#include <string.h>

// No command leaves more of the others' options out.
#define OPTIONS_MOST 8U

/// What can be gauged.
typedef struct {
  const char* name;
  int (*run)(const CommandName* command, const Settings* settings);
  const char* unsuited[OPTIONS_MOST]; ///< Options of the others.
} Gauged;

// The first argument says which.
static const Gauged all[] = {
  {"board", gauge_board, {"speaker", "video-rate"}},
  {"lamp",
   gauge_lamp,
   {"write", "loop", "save", "board", "speaker", "slot", "output"}},
  {"speaker", gauge_speaker, {"loop", "video-rate"}},
};

// A test sound is written, or a recording of it measured.
static const char* const of_measuring[OPTIONS_MOST] = {"loop", "save", "plot"};
static const char* const of_writing[OPTIONS_MOST] = {"slot", "output"};

/// Whether none of these options is given. False, and said, if one is.
static bool
lacks(const Settings* settings, const char* const* options, const char* why) {
  for (size_t i = 0; i < OPTIONS_MOST && options[i]; ++i) {
    if (settings_is_given(settings, options[i])) {
      char* const option = text_format("--%s", options[i]);
      (void)say_usage(option, "%s: leave it out", why);
      free(option);
      return false;
    }
  }
  return true;
}

static int
run(const Gauged*      gauged,
    const CommandName* command,
    const Settings*    settings) {
  const bool writes = settings->gauge.write;
  return lacks(
           settings, gauged->unsuited, "it is not for what is gauged here") &&
             lacks(settings,
                   writes ? of_measuring : of_writing,
                   writes ? "nothing is gauged yet, with --write"
                          : "no sound is written without --write")
           ? gauged->run(command, settings)
           : EXIT_USAGE;
}

int
command_gauge(const CommandName* command, const Settings* settings) {
  const char* const name = settings->n_takes ? settings->takes[0] : NULL;
  for (size_t i = 0; name && i < sizeof(all) / sizeof(all[0]); ++i) {
    if (!strcmp(name, all[i].name)) {
      return run(&all[i], command, settings);
    }
  }
  return say_usage(name ? name : command->name,
                   "%s: try `volleyweave gauge board --write`, `volleyweave "
                   "gauge speaker --write` or `gauge lamp`",
                   name ? "cannot be gauged"
                        : "neither board, speaker nor lamp is named");
}
