#include "cli/plot/plot.h"

#include "cli/files/files.h"
#include "cli/message/message.h"
#include "store/store.h"

#include <dlfcn.h>
#include <stdlib.h>
#include <string.h>

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
           ? text_format("the library that draws pictures is missing: "
                         "`ninja -C build` makes it where the program is "
                         "built; or leave --plot out")
           : status_message(status);
}

void
plot_say(const char* path, VwStatus status) {
  char* const message = plot_message(status);
  say(path, "%s", message ? message : "not enough memory");
  free(message);
}

#define LIBRARY "libvolleyweave-pictures.so.0"

typedef VwStatus (*Draw)(const VwPicture*, VwPictureFormat, VwBytes*);

typedef VwStatus (*DrawChart)(const VwChart*, VwPictureFormat, VwBytes*);

static VwPictureFormat
format_of(const char* path) {
  return vw_path_ends_in(path, ".png") ? VW_PICTURE_PNG : VW_PICTURE_SVG;
}

/// Put the address of a function of the library into `function`, a pointer to
/// one. False where it is not there.
static bool
find(const char* name, void* function) {
  // It stays loaded: what it loads in turn need not bear being unloaded.
  void* const library = dlopen(LIBRARY, RTLD_NOW | RTLD_LOCAL);
  void* const symbol = library ? dlsym(library, name) : NULL;
  // POSIX makes them the same, ISO C does not.
  memcpy(function, &symbol, sizeof(symbol));
  return symbol != NULL;
}

VwStatus
pictures_draw(const VwPicture* picture, const char* path, VwBytes* bytes) {
  Draw draw = NULL;
  return find("vw_picture_draw", &draw) ? draw(picture, format_of(path), bytes)
                                        : VW_MISSING;
}

VwStatus
pictures_draw_chart(const VwChart* chart, const char* path, VwBytes* bytes) {
  DrawChart draw = NULL;
  return find("vw_chart_draw", &draw) ? draw(chart, format_of(path), bytes)
                                      : VW_MISSING;
}
