#include "cli/report/show.h"

#include "cli/message/say.h"
#include "cli/message/status.h"

static void
show_warnings(const Report* report) {
  for (size_t i = 0; i < report->n_warnings; ++i) {
    const Warning* const warning = &report->warnings[i];
    const char* const    take =
      warning->take ? warning->take : report->inputs[0].path;
    say(take, "warning: %s", warning->text);
  }
}

void
show(Report* report, FILE* out) {
  const Settings* const settings = report->settings;
  bool                  good = report->status || report_warn(report);
  if (settings->json) {
    good = report_json(report, out) && good;
  } else if (!report->status && !settings->quiet) {
    show_warnings(report);
    report_text(report, out);
  }
  if (!good) {
    say_status(report->inputs[0].path, VW_NO_MEMORY);
  }
  // What is said of the next take comes after what is said of this one.
  (void)fflush(out);
}

int
show_failures(const Settings* settings, size_t n_failed) {
  if (n_failed && settings->loop.take_turns && settings->n_takes > 1U) {
    say("loop",
        "nothing is made, since %zu takes were to share one loop: leave out "
        "what cannot be used",
        settings->n_takes);
  } else if (n_failed && settings->n_takes > 1U) {
    say("takes", "%zu of %zu failed", n_failed, settings->n_takes);
  }
  return n_failed ? EXIT_FILE : EXIT_DONE;
}
