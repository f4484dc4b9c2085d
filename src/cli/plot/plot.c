#include "cli/plot/plot.h"

#include "cli/files/files.h"
#include "cli/message/message.h"
#include "store/store.h"

#include <stdlib.h>

int
plot_check(const Settings* settings) {
  if (!settings->plot) {
    return EXIT_DONE;
  }
  if (vw_path_is_folder(settings->plot)) {
    return say_usage(settings->plot,
                     "a folder: name a file for the picture in it");
  }
  return path_check_parent(settings->plot);
}

char*
plot_message(VwStatus status) {
  return status == VW_MISSING
           ? text_format(
               "the library that draws PNG is missing: build it with `ninja "
               "-C build`, or name an .svg")
           : status_message(status);
}

void
plot_say(const char* path, VwStatus status) {
  char* const message = plot_message(status);
  say(path, "%s", message ? message : "not enough memory");
  free(message);
}

VwPictureFormat
plot_format(const char* path) {
  return vw_path_ends_in(path, ".png") ? VW_PICTURE_PNG : VW_PICTURE_SVG;
}
