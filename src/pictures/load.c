#include "pictures/internal.h"

#include <dlfcn.h>
#include <string.h>

#define LIBRARY "libvolleyweave-pictures.so.0"

typedef VwStatus (*Draw)(const VwBytes*, VwBytes*);

VwStatus
vw_png_load(const VwBytes* svg, VwBytes* png) {
  Draw draw = NULL;
#ifndef __EMSCRIPTEN__ // A browser loads no libraries.
  // It stays loaded: what it loads in turn need not bear being unloaded.
  void* const library = dlopen(LIBRARY, RTLD_NOW | RTLD_LOCAL);
  void* const symbol = library ? dlsym(library, "vw_png_draw") : NULL;
  // POSIX makes them the same, ISO C does not.
  memcpy(&draw, &symbol, sizeof(symbol));
#endif
  return draw ? draw(svg, png) : VW_MISSING;
}
