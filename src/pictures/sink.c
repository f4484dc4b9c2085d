#include "pictures/internal.h"

#include <stdlib.h>
#include <string.h>

#define ROOM_FIRST 65536U

static bool
make_room(VwSink* sink, size_t n_bytes) {
  const size_t wanted = sink->bytes.n_bytes + n_bytes + 1U;
  size_t       room = sink->room ? sink->room : ROOM_FIRST;
  while (room < wanted) {
    room *= 2U;
  }
  if (room > sink->room) {
    unsigned char* const grown = realloc(sink->bytes.data, room);
    if (!grown) {
      return false;
    }
    sink->bytes.data = grown;
    sink->room = room;
  }
  return true;
}

bool
vw_sink_put(VwSink* sink, const void* data, size_t n_bytes) {
  sink->full = sink->full || !make_room(sink, n_bytes);
  if (sink->full) {
    return false;
  }
  memcpy(sink->bytes.data + sink->bytes.n_bytes, data, n_bytes);
  sink->bytes.n_bytes += n_bytes;
  sink->bytes.data[sink->bytes.n_bytes] = '\0';
  return true;
}

void
vw_sink_put_text(VwSink* sink, const char* text) {
  (void)vw_sink_put(sink, text, strlen(text));
}

void
vw_sink_clear(VwSink* sink) {
  if (sink) {
    free(sink->bytes.data);
    *sink = (VwSink){0};
  }
}
