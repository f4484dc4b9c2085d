#ifndef VW_SINK_H
#define VW_SINK_H

#include "volleyweave/pictures.h"

/// Bytes that grow. Start from all zero.
typedef struct {
  VwBytes bytes; ///< Owned; a zero stands behind them.
  size_t  room;  ///< Allocated, the zero included.
  bool    full;  ///< Memory ran out; nothing more is added.
} VwSink;

/// Add bytes. False without memory.
bool vw_sink_put(VwSink* sink, const void* data, size_t n_bytes);

/// Add a text.
void vw_sink_put_text(VwSink* sink, const char* text);

/// Free the bytes. NULL is accepted.
void vw_sink_clear(VwSink* sink);

#endif
