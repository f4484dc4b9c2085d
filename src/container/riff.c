#include "container/riff.h"

#include "base/ranges.h"
#include "container/header.h"
#include "container/wav_header.h"

#include <string.h>
#include <unistd.h>

// A size that stands in a chunk of its own, since 32 bits do not hold it
// (EBU Tech 3306).
#define SIZE_ELSEWHERE 0xFFFFFFFFU

/// What the chunks say up to the data.
typedef struct {
  bool     has_format;
  uint64_t tag, n_channels, rate_hz, second_bytes, block_bytes;
  uint64_t data_bytes;  ///< Promised.
  uint64_t there_bytes; ///< Behind the data's header.
} Promise;

static void
read_format(const VwChunk* chunk, Promise* promise) {
  promise->has_format = chunk->n_bytes >= VW_FORMAT_BYTES &&
                        vw_chunk_bytes_there(chunk) >= VW_FORMAT_BYTES;
  promise->tag = vw_chunk_number(chunk, 0, 2);
  promise->n_channels = vw_chunk_number(chunk, 2, 2);
  promise->rate_hz = vw_chunk_number(chunk, 4, 4);
  promise->second_bytes = vw_chunk_number(chunk, 8, 4);
  promise->block_bytes = vw_chunk_number(chunk, 12, 2);
}

static Promise
read_promise(int fd) {
  char          letters[4] = {0};
  const ssize_t n = pread(fd, letters, sizeof(letters), 0);
  Promise       promise = {0};
  VwChunk       chunk =
    vw_chunk_start(fd, n == 4 && !memcmp(letters, "RIFX", sizeof(letters)));
  uint64_t long_bytes = SIZE_ELSEWHERE;
  while (vw_chunk_next(&chunk)) {
    if (vw_chunk_is(&chunk, "ds64")) {
      long_bytes = vw_chunk_number(&chunk, 8, 8);
    } else if (vw_chunk_is(&chunk, "fmt ")) {
      read_format(&chunk, &promise);
    } else if (vw_chunk_is(&chunk, "data")) {
      promise.data_bytes =
        chunk.n_bytes == SIZE_ELSEWHERE ? long_bytes : chunk.n_bytes;
      promise.there_bytes = vw_chunk_bytes_there(&chunk);
      break;
    }
  }
  return promise;
}

// Blocks of compressed formats hold many frames each; the bytes of a second
// tell how many.
static uint64_t
frames_of(const Promise* promise, uint64_t n_bytes) {
  const uint64_t a_second = promise->second_bytes;
  if (!a_second || a_second == promise->rate_hz * promise->block_bytes) {
    return promise->block_bytes ? n_bytes / promise->block_bytes : 0U;
  }
  return (uint64_t)((double)n_bytes * (double)promise->rate_hz /
                    (double)a_second);
}

VwStatus
vw_riff_check(int fd, VwReadFault* fault) {
  const Promise promise = read_promise(fd);
  if (!promise.has_format) {
    return VW_OK;
  }
  if (!promise.n_channels || promise.n_channels > VW_CHANNELS_MOST) {
    return VW_CHANNELS;
  }
  if (!vw_is_within((double)promise.rate_hz,
                    (VwRange)VW_RANGE_SAMPLE_RATE_HZ)) {
    return VW_SAMPLE_RATE;
  }
  if (!promise.data_bytes || !promise.there_bytes) {
    return VW_NO_FRAMES;
  }
  if (promise.data_bytes <= promise.there_bytes) {
    return VW_OK;
  }
  *fault = (VwReadFault){frames_of(&promise, promise.data_bytes),
                         frames_of(&promise, promise.there_bytes),
                         (unsigned)promise.rate_hz};
  return VW_CUT_SHORT;
}

bool
vw_riff_is_uncommon(int fd) {
  const Promise promise = read_promise(fd);
  return promise.has_format && promise.tag != VW_TAG_PCM &&
         promise.tag != VW_TAG_FLOAT && promise.tag != VW_TAG_EXTENSIBLE;
}
