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

// A row with the byte before it is a block of its own, which holds no more.
#define COLUMNS_MOST 65534U

/* PNG (ISO/IEC 15948) of a few kilobytes, packed by nothing that has to be
   linked */

static void
put_big(VwSink* sink, uint32_t value) {
  const unsigned char bytes[] = {(unsigned char)(value >> 24U),
                                 (unsigned char)(value >> 16U),
                                 (unsigned char)(value >> 8U),
                                 (unsigned char)value};
  vw_sink_put(sink, bytes, sizeof(bytes));
}

/// The sum of a chunk (annex D).
static uint32_t
crc_of(const unsigned char* bytes, size_t n) {
  uint32_t crc = 0xFFFFFFFFU;
  for (size_t i = 0; i < n; ++i) {
    crc ^= bytes[i];
    for (int bit = 0; bit < 8; ++bit) {
      crc = crc >> 1U ^ (crc & 1U ? 0xEDB88320U : 0U);
    }
  }
  return ~crc;
}

static void
put_chunk(VwSink* png, const char* type, const VwBytes* data) {
  const size_t from = png->bytes.n_bytes + 4U;
  put_big(png, (uint32_t)data->n_bytes);
  vw_sink_put_text(png, type);
  vw_sink_put(png, data->data, data->n_bytes);
  if (!png->full) {
    put_big(png, crc_of(png->bytes.data + from, png->bytes.n_bytes - from));
  }
}

/// Put rows as zlib has them (RFC 1950, RFC 1951), each a block as it is.
static void
put_rows(VwSink* sink, const VwRaster* raster) {
  const unsigned n = raster->n_columns + 1U;
  uint32_t       a = 1;
  uint32_t       b = 0;
  vw_sink_put(sink, "\x78\x01", 2U);
  for (unsigned row = 0; row < raster->n_rows; ++row) {
    const unsigned char* const greys =
      raster->greys + (size_t)row * raster->n_columns;
    const unsigned char head[] = {row + 1U == raster->n_rows,
                                  (unsigned char)n,
                                  (unsigned char)(n >> 8U),
                                  (unsigned char)~n,
                                  (unsigned char)(~n >> 8U),
                                  0}; // no filter
    vw_sink_put(sink, head, sizeof(head));
    vw_sink_put(sink, greys, raster->n_columns);
    b = (b + a) % 65521U;
    for (unsigned i = 0; i < raster->n_columns; ++i) {
      a = (a + greys[i]) % 65521U;
      b = (b + a) % 65521U;
    }
  }
  put_big(sink, b << 16U | a);
}

static void
put_png(VwSink* png, const VwRaster* raster) {
  VwSink header = {0};
  VwSink rows = {0};
  put_big(&header, raster->n_columns);
  put_big(&header, raster->n_rows);
  vw_sink_put(&header, "\x08\0\0\0\0", 5U); // 8 bits, greys
  put_rows(&rows, raster);
  vw_sink_put_text(png, "\x89PNG\r\n\x1A\n");
  put_chunk(png, "IHDR", &header.bytes);
  put_chunk(png, "IDAT", &rows.bytes);
  put_chunk(png, "IEND", &(VwBytes){0});
  png->full = png->full || header.full || rows.full;
  vw_sink_clear(&header);
  vw_sink_clear(&rows);
}

/* Base64 (RFC 4648) */

static void
put_base64(VwSink* sink, const VwBytes* bytes) {
  static const char letters[] =
    "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  for (size_t i = 0; i < bytes->n_bytes; i += 3U) {
    const size_t n_left = bytes->n_bytes - i;
    uint32_t     bits = 0;
    char         text[4];
    for (size_t k = 0; k < 3U; ++k) {
      bits = bits << 8U | (k < n_left ? bytes->data[i + k] : 0U);
    }
    for (size_t k = 0; k < 4U; ++k) {
      text[k] = k > n_left ? '=' : letters[bits >> (18U - 6U * k) & 63U];
    }
    vw_sink_put(sink, text, sizeof(text));
  }
}

bool
vw_raster_put(const VwRaster* raster, VwSink* sink) {
  VwSink png = {0};
  if (!raster->n_columns || !raster->n_rows ||
      raster->n_columns > COLUMNS_MOST) {
    return false;
  }
  put_png(&png, raster);
  vw_sink_put_text(sink, "data:image/png;base64,");
  put_base64(sink, &png.bytes);
  sink->full = sink->full || png.full;
  vw_sink_clear(&png);
  return true;
}
