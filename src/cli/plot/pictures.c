#include "cli/plot/pictures.h"

#include <dlfcn.h>
#include <string.h>

#define LIBRARY "libvolleyweave-pictures.so.0"

typedef VwStatus (*Draw)(const VwPicture*, VwPictureFormat, VwBytes*);

typedef VwStatus (*DrawChart)(const VwChart*, VwPictureFormat, VwBytes*);

static VwPictureFormat
format_of(const char* path) {
  const char* const point = strrchr(path, '.');
  return point && (point[1] | 0x20) == 'p' ? VW_PICTURE_PNG : VW_PICTURE_SVG;
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
