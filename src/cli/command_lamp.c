#include "commands.h"

#include "lamp_report.h"
#include "lamp_source.h"
#include "say.h"
#include "status.h"

#include <stdlib.h>
#include <string.h>

/// Draw and write what was asked for beside the report.
static VwStatus
write_files(const LampReport* report, const char** at) {
  const Settings* const settings = report->settings;
  const VwWriteOptions  options = {.force = settings->force,
                                   .dry_run = settings->dry_run,
                                   .takes = settings->takes,
                                   .n_takes = settings->n_takes};
  const char* const     header = settings->lamp.header;
  const char* const     plot = settings->plot;
  VwBytes               drawn = {0};
  VwOutput              outputs[2];
  size_t                n = 0;
  size_t                failed = 0;
  VwStatus              st = VW_OK;
  char* const           text = header ? lamp_header(report) : NULL;
  if (header) {
    outputs[n++] =
      (VwOutput){header, {(unsigned char*)text, text ? strlen(text) : 0U}};
    st = text ? VW_OK : VW_NO_MEMORY;
    *at = header;
  }
  if (!st && plot) {
    st = lamp_plot(report, plot, &drawn);
    outputs[n++] = (VwOutput){plot, drawn};
    *at = plot;
  }
  if (!st && n) {
    st = vw_write(outputs, n, &options, &failed);
    *at = outputs[failed < n ? failed : 0U].path;
  }
  free(text);
  vw_bytes_clear(&drawn);
  return st;
}

static int
say_unwritten(const char* path, VwStatus status) {
  if (status == VW_MISSING) {
    say(path,
        "the library that draws pictures is not installed: install "
        "libvolleyweave-pictures, or leave --plot out");
  } else {
    say_status(path, status);
  }
  return EXIT_FILE;
}

static int
print(const LampReport* report) {
  const Settings* const settings = report->settings;
  const char*           at = report->subject;
  const VwStatus        st = write_files(report, &at);
  if (st) {
    return say_unwritten(at, st);
  }
  if (settings->json) {
    if (!lamp_json(report, stdout)) {
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
