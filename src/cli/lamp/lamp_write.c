#include "cli/lamp/lamp_write.h"

#include "cli/message/say.h"
#include "cli/message/status.h"
#include "cli/plot/plot.h"

#include <stdlib.h>
#include <string.h>

static VwStatus
write_all(const LampWrite* write, const char** at) {
  const Settings* const settings = write->settings;
  const VwWriteOptions  options = {.force = settings->force,
                                   .dry_run = settings->dry_run,
                                   .takes = settings->takes,
                                   .n_takes = settings->n_takes};
  const char* const     header = settings->lamp.header;
  const char* const     plot = settings->plot;
  char* const           text = write->header;
  VwBytes               drawn = {0};
  VwOutput              outputs[2];
  size_t                n = 0;
  size_t                failed = 0;
  VwStatus              st = VW_OK;
  if (header) {
    outputs[n++] =
      (VwOutput){.path = header,
                 .bytes = {(unsigned char*)text, text ? strlen(text) : 0U}};
    st = text ? VW_OK : VW_NO_MEMORY;
    *at = header;
  }
  if (!st && plot) {
    st = lamp_plot(write->drawn, plot, &drawn);
    outputs[n++] = (VwOutput){.path = plot, .bytes = drawn};
    *at = plot;
  }
  if (!st && n) {
    st = vw_write(outputs, n, &options, &failed);
    *at = outputs[failed < n ? failed : 0U].path;
  }
  vw_bytes_clear(&drawn);
  return st;
}

bool
lamp_write(const LampWrite* write) {
  const char*    at = write->subject;
  const VwStatus st = write_all(write, &at);
  if (st == VW_MISSING) {
    plot_say(at, st);
  } else if (st) {
    say_status(at, st);
  }
  return !st;
}
