#include "cli/commands.h"
#include "cli/message/message.h"
#include "cli/plot/plot.h"
#include "cli/report/report.h"

#include <stdlib.h>

/// Draw the picture that is asked for.
static void
draw(Report* report) {
  const Settings* const settings = report->settings;
  VwBytes               bytes = {0};
  if (report->status || !settings->plot) {
    return;
  }
  // A picture has them too.
  (void)report_warn(report);
  VwStatus st = plot_inspect(report, &bytes);
  st = st ? st : made_picture_write(&bytes, settings);
  vw_bytes_clear(&bytes);
  if (st) {
    report->status = st;
    report->message = plot_message(st);
    plot_say(settings->plot, st);
  }
}

/// Inspect one take. False, and said, if it cannot be used.
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
    say(path, "%s", input.message);
    report.message = text_format("%s", input.message);
  }
  draw(&report);
  report_show(&report, stdout);
  const bool good = !report.status;
  report_clear(&report);
  input_clear(&input);
  return good;
}

int
command_inspect(const CommandName* command, const Settings* settings) {
  size_t    n_failed = 0;
  const int drawn = plot_check(settings);
  if (drawn != EXIT_DONE) {
    return drawn;
  }
  for (size_t i = 0; i < settings->n_takes; ++i) {
    n_failed += inspect(command, settings, settings->takes[i]) ? 0U : 1U;
  }
  return report_failures(settings, n_failed);
}
