#include "cli/lamp/lamp.h"
#include "cli/commands.h"
#include "cli/message/message.h"

#include <stdlib.h>

static int
print(const LampReport* report) {
  const Settings* const settings = report->settings;
  if (!lamp_write(report)) {
    return EXIT_FILE;
  }
  if (settings->json) {
    if (!figures_json(lamp_figures(report), stdout)) {
      say_status(report->subject, VW_NO_MEMORY);
      return EXIT_FILE;
    }
  } else if (!settings->quiet) {
    lamp_text(report, stdout);
  }
  return EXIT_DONE;
}

int
command_lamp(const CommandName* command, const Settings* settings) {
  if (lamp_prop_is(settings->takes[0])) {
    return lamp_prop(command, settings);
  }
  LampReport* const report = calloc(1U, sizeof(LampReport));
  int               status = EXIT_FILE;
  if (!report) {
    say_status(command->name, VW_NO_MEMORY);
    return status;
  }
  report->settings = settings;
  report->subject = settings->takes[0];
  status = lamp_source_find(report);
  if (status == EXIT_DONE) {
    status = lamp_find(report) ? print(report) : EXIT_USAGE;
  }
  free(report);
  return status;
}
