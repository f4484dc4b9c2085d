#ifndef VW_PNG_BYTES_H
#define VW_PNG_BYTES_H

#include "pictures/sink.h"

/// Pixels in memory, of 0xRRGGBB in the machine's own order.
typedef struct {
  unsigned char* data;
  size_t         stride; ///< Bytes from row to row.
  unsigned       width;
  unsigned       height;
} VwPixels;

/// Make the bytes of a PNG file. False without memory.
bool vw_png_put(const VwPixels* pixels, VwSink* sink);

#endif
