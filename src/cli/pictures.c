#include "pictures.h"

#include <dlfcn.h>
#include <string.h>

#define LIBRARY "libvolleyweave-pictures.so.0"

typedef VwStatus (*Draw)(const VwPicture*, VwPictureFormat, VwBytes*);

static VwPictureFormat
format_of(const char* path) {
  const char* const point = strrchr(path, '.');
  return point && (point[1] | 0x20) == 'p' ? VW_PICTURE_PNG : VW_PICTURE_SVG;
}

VwStatus
pictures_draw(const VwPicture* picture, const char* path, VwBytes* bytes) {
  // It stays loaded: what it loads in turn need not bear being unloaded.
  void* const library = dlopen(LIBRARY, RTLD_NOW | RTLD_LOCAL);
  void* const symbol = library ? dlsym(library, "vw_picture_draw") : NULL;
  Draw        draw = NULL;
  if (!symbol) {
    return VW_MISSING;
  }
  // POSIX makes them the same, ISO C does not.
  memcpy(&draw, &symbol, sizeof(draw));
  return draw(picture, format_of(path), bytes);
}
