#include "container/wav_header.h"

#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

// A size that a writer did not know, or that stands elsewhere.
#define SIZE_UNKNOWN 0xFFFFFFFFU

// Microsoft, "New Multimedia Data Types and Data Techniques" 3.0, 1994: what
// comes before the loops, and each loop.
#define SAMPLER_BYTES 36U
#define LOOP_BYTES 24U

// Where the tag meant stands in a format whose own tag is 0xFFFE.
#define SUBFORMAT_AT 24U

static void
read_start(int fd, VwWavHeader* header) {
  unsigned char head[12] = {0};
  struct stat   status = {0};
  (void)fstat(fd, &status);
  header->file_bytes = (uint64_t)status.st_size;
  if (pread(fd, head, sizeof(head), 0) != (ssize_t)sizeof(head)) {
    return;
  }
  header->is_wave = !memcmp(head, "RIFF", 4) && !memcmp(head + 8, "WAVE", 4);
  header->promised_bytes =
    8U + ((uint64_t)head[4] | (uint64_t)head[5] << 8U |
          (uint64_t)head[6] << 16U | (uint64_t)head[7] << 24U);
}

static void
read_format(const VwChunk* chunk, VwWavHeader* header) {
  header->has_format = chunk->n_bytes >= VW_FORMAT_BYTES &&
                       vw_chunk_bytes_there(chunk) >= VW_FORMAT_BYTES;
  header->format_bytes = chunk->n_bytes;
  header->tag = vw_chunk_number(chunk, 0, 2);
  header->coded = header->tag == VW_TAG_EXTENSIBLE
                    ? vw_chunk_number(chunk, SUBFORMAT_AT, 2)
                    : header->tag;
  header->n_channels = vw_chunk_number(chunk, 2, 2);
  header->rate_hz = vw_chunk_number(chunk, 4, 4);
  header->second_bytes = vw_chunk_number(chunk, 8, 4);
  header->block_bytes = vw_chunk_number(chunk, 12, 2);
  header->bits = vw_chunk_number(chunk, 14, 2);
}

VwLoopPoints
vw_loop_points_of(const VwChunk* chunk) {
  const uint64_t n_loops = vw_chunk_number(chunk, 28, 4);
  return (VwLoopPoints){.there = true,
                        .whole = chunk->n_bytes >=
                                   SAMPLER_BYTES + LOOP_BYTES * n_loops &&
                                 vw_chunk_bytes_there(chunk) >= chunk->n_bytes,
                        .n_loops = n_loops,
                        .type = vw_chunk_number(chunk, SAMPLER_BYTES + 4U, 4),
                        .start = vw_chunk_number(chunk, SAMPLER_BYTES + 8U, 4),
                        .last = vw_chunk_number(chunk, SAMPLER_BYTES + 12U, 4)};
}

static void
note_stray(const VwChunk* chunk, VwStray* stray) {
  if (stray->name[0]) {
    return;
  }
  for (size_t i = 0; i < sizeof(chunk->name); ++i) {
    const char letter = chunk->name[i];
    stray->name[i] = (char)(letter >= ' ' && letter <= '~' ? letter : '?');
  }
  stray->n_bytes = chunk->n_bytes + 8U;
}

/// Take in a chunk before the data. Floating point has its `fact` there.
static void
read_before(const VwChunk* chunk, VwWavHeader* header) {
  const bool is_float = header->has_format && header->tag == VW_TAG_FLOAT;
  if (vw_chunk_is(chunk, "data")) {
    header->has_data = true;
    header->data_at = chunk->at;
    header->data_bytes = chunk->n_bytes;
    header->there_bytes = vw_chunk_bytes_there(chunk);
  } else if (vw_chunk_is(chunk, "fmt ") && !header->has_format) {
    read_format(chunk, header);
  } else if (!vw_chunk_is(chunk, "fact") || !is_float) {
    note_stray(chunk, &header->before);
  }
}

VwWavHeader
vw_wav_header_read(int fd) {
  VwWavHeader header = {0};
  read_start(fd, &header);
  VwChunk chunk = vw_chunk_start(fd, false);
  while (header.is_wave && vw_chunk_next(&chunk)) {
    if (!header.has_data) {
      read_before(&chunk, &header);
    } else if (vw_chunk_is(&chunk, "smpl") && !header.loop.there) {
      header.loop = vw_loop_points_of(&chunk);
    } else {
      note_stray(&chunk, &header.behind);
    }
    if (header.has_data &&
        (!header.data_bytes || header.data_bytes == SIZE_UNKNOWN)) {
      break; // what follows is the sound
    }
  }
  return header;
}
