#include "pictures/internal.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define ROOM_FIRST 65536U

// What is beyond lies far outside every page.
#define NUMBER_MOST 1e9

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

void
vw_sink_put(VwSink* sink, const void* data, size_t n_bytes) {
  sink->full = sink->full || !make_room(sink, n_bytes);
  if (sink->full || !n_bytes) {
    return;
  }
  memcpy(sink->bytes.data + sink->bytes.n_bytes, data, n_bytes);
  sink->bytes.n_bytes += n_bytes;
  sink->bytes.data[sink->bytes.n_bytes] = '\0';
}

void
vw_sink_put_text(VwSink* sink, const char* text) {
  vw_sink_put(sink, text, strlen(text));
}

void
vw_sink_put_number(VwSink* sink, double value, unsigned decimals) {
  static const long long scales[] = {1, 10, 100, 1000, 10000, 100000, 1000000};
  char                   text[40];
  const long long        scale = scales[decimals];
  const long long        whole =
    llround(fmin(fmax(value, -NUMBER_MOST), NUMBER_MOST) * (double)scale);
  const long long size = llabs(whole);
  // Not by printf(): its point is that of the locale.
  int n = snprintf(text,
                   sizeof(text),
                   "%s%lld.%0*lld",
                   whole < 0 ? "-" : "",
                   size / scale,
                   (int)decimals,
                   size % scale);
  while (text[n - 1] == '0') {
    --n;
  }
  vw_sink_put(sink, text, (size_t)(text[n - 1] == '.' ? n - 1 : n));
}

void
vw_sink_clear(VwSink* sink) {
  if (sink) {
    free(sink->bytes.data);
    *sink = (VwSink){0};
  }
}
