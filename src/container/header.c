// libsndfile makes the best of a header; a board's parser does not. What it
// leaves out is read here: sizes beyond the file's end, chunks in the way, loop
// points as they stand.

#include "base/ranges.h"
#include "container/container.h"
#include "container/formats.h"

#include <string.h>

// "RIFF", size, "WAVE".
#define FIRST_CHUNK_AT 12U

// A file of zeros has millions, one after the other.
#define CHUNKS_MOST 1000U

// A size that a writer did not know, or that stands in a chunk of its own since
// 32 bits do not hold it (EBU Tech 3306).
#define SIZE_UNKNOWN 0xFFFFFFFFU

// Microsoft, "New Multimedia Data Types and Data Techniques" 3.0, 1994: what
// comes before the loops, and each loop.
#define SAMPLER_BYTES 36U
#define LOOP_BYTES 24U

// Where the tag meant stands in a format whose own tag is 0xFFFE.
#define SUBFORMAT_AT 24U

/* Chunks */

uint64_t
vw_number_at(const unsigned char* bytes, unsigned n_bytes, bool big_endian) {
  uint64_t number = 0;
  for (unsigned i = 0; i < n_bytes; ++i) {
    number = number << 8U | bytes[big_endian ? i : n_bytes - 1U - i];
  }
  return number;
}

VwChunk
vw_chunk_start(VwOpenFile* file, bool big_endian) {
  return (VwChunk){
    .file = file, .big_endian = big_endian, .at = FIRST_CHUNK_AT};
}

bool
vw_chunk_next(VwChunk* chunk) {
  unsigned char  head[8];
  const uint64_t at = chunk->at + chunk->n_bytes + chunk->n_bytes % 2U;
  if (chunk->n_seen++ >= CHUNKS_MOST ||
      vw_file_get(chunk->file, head, sizeof(head), at) != sizeof(head)) {
    return false;
  }
  memcpy(chunk->name, head, sizeof(chunk->name));
  chunk->at = at + sizeof(head);
  chunk->n_bytes = vw_number_at(head + 4, 4, chunk->big_endian);
  return true;
}

bool
vw_chunk_is(const VwChunk* chunk, const char* name) {
  return !memcmp(chunk->name, name, sizeof(chunk->name));
}

uint64_t
vw_chunk_number(const VwChunk* chunk, unsigned offset, unsigned n_bytes) {
  unsigned char bytes[8];
  if (n_bytes > sizeof(bytes) || offset + n_bytes > chunk->n_bytes ||
      vw_file_get(chunk->file, bytes, n_bytes, chunk->at + offset) != n_bytes) {
    return 0;
  }
  return vw_number_at(bytes, n_bytes, chunk->big_endian);
}

uint64_t
vw_chunk_bytes_there(const VwChunk* chunk) {
  const uint64_t n_bytes = chunk->file->n_bytes;
  return n_bytes < chunk->at ? 0U : n_bytes - chunk->at;
}

/* Header of a WAV file */

/// Returns whether numbers are written big end first.
static bool
read_start(VwOpenFile* file, VwWavHeader* header) {
  unsigned char head[12] = {0};
  header->file_bytes = file->n_bytes;
  if (vw_file_get(file, head, sizeof(head), 0) != sizeof(head)) {
    return false;
  }
  header->is_wave = !memcmp(head, "RIFF", 4) && !memcmp(head + 8, "WAVE", 4);
  header->promised_bytes = 8U + vw_number_at(head + 4, 4U, false);
  return !memcmp(head, "RIFX", 4);
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

static VwLoopPoints
loop_points_of(const VwChunk* chunk) {
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
  if (vw_chunk_is(chunk, "ds64")) {
    header->long_bytes = vw_chunk_number(chunk, 8, 8);
  }
}

/// Read the chunks of a file, also of one that is no plain WAV.
static VwWavHeader
read_chunks(VwOpenFile* file) {
  VwWavHeader header = {.long_bytes = SIZE_UNKNOWN};
  VwChunk     chunk = vw_chunk_start(file, read_start(file, &header));
  while (vw_chunk_next(&chunk)) {
    if (!header.has_data) {
      read_before(&chunk, &header);
    } else if (vw_chunk_is(&chunk, "smpl") && !header.loop.there) {
      header.loop = loop_points_of(&chunk);
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

VwWavHeader
vw_wav_header_read(VwOpenFile* file) {
  const VwWavHeader header = read_chunks(file);
  return header.is_wave
           ? header
           : (VwWavHeader){.file_bytes = header.file_bytes,
                           .promised_bytes = header.promised_bytes};
}

/* What it promises */

// Blocks of compressed formats hold many frames each; the bytes of a second
// tell how many.
static uint64_t
frames_of(const VwWavHeader* header, uint64_t n_bytes) {
  const uint64_t a_second = header->second_bytes;
  if (!a_second || a_second == header->rate_hz * header->block_bytes) {
    return header->block_bytes ? n_bytes / header->block_bytes : 0U;
  }
  return (uint64_t)((double)n_bytes * (double)header->rate_hz /
                    (double)a_second);
}

VwStatus
vw_riff_check(VwOpenFile* file, VwReadFault* fault) {
  const VwWavHeader header = read_chunks(file);
  const uint64_t    promised =
    header.data_bytes == SIZE_UNKNOWN ? header.long_bytes : header.data_bytes;
  if (!header.has_format) {
    return VW_OK;
  }
  if (!vw_is_within((double)header.n_channels,
                    (VwRange)VW_RANGE_TAKE_CHANNELS)) {
    return VW_CHANNELS;
  }
  if (!vw_is_within((double)header.rate_hz, (VwRange)VW_RANGE_SAMPLE_RATE_HZ)) {
    return VW_SAMPLE_RATE;
  }
  if (!promised || !header.there_bytes) {
    return VW_NO_FRAMES;
  }
  if (promised <= header.there_bytes) {
    return VW_OK;
  }
  *fault = (VwReadFault){frames_of(&header, promised),
                         frames_of(&header, header.there_bytes),
                         (unsigned)header.rate_hz};
  return VW_CUT_SHORT;
}

bool
vw_riff_is_uncommon(VwOpenFile* file) {
  const VwWavHeader header = read_chunks(file);
  return header.has_format && header.tag != VW_TAG_PCM &&
         header.tag != VW_TAG_FLOAT && header.tag != VW_TAG_EXTENSIBLE;
}

/* Loop points */

static bool
find_loop(VwOpenFile* file, size_t* start, size_t* end) {
  VwChunk chunk = vw_chunk_start(file, false);
  while (vw_chunk_next(&chunk)) {
    const VwLoopPoints loop =
      vw_chunk_is(&chunk, "smpl") ? loop_points_of(&chunk) : (VwLoopPoints){0};
    if (loop.n_loops) {
      *start = (size_t)loop.start;
      *end = (size_t)loop.last + 1U;
      return *end > *start;
    }
  }
  return false;
}

VwStatus
vw_read_loop_points(const char* path, size_t* start, size_t* end) {
  char       name[4] = "";
  size_t     first = 0;
  size_t     after = 0;
  VwOpenFile file = {0};
  VwStatus   st = vw_file_open(path, &file);
  if (st) {
    return st;
  }
  const bool found =
    vw_file_get(&file, name, sizeof(name), 0) == sizeof(name) &&
    !memcmp(name, "RIFF", sizeof(name)) && find_loop(&file, &first, &after);
  vw_file_close(&file);
  if (file.failed) {
    return VW_UNREADABLE;
  }
  *start = found ? first : 0U;
  *end = found ? after : 0U;
  return VW_OK;
}

// Offset and block size, which stand before the frames in their chunk.
#define BEFORE_FRAMES 8U

// The sample rate is a floating-point number of 80 bits: sign and exponent in
// 16, then 64 with the leading one (IEEE 754 extended precision). Whole Hz.
static uint64_t
read_rate(const VwChunk* common) {
  const uint64_t exponent = vw_chunk_number(common, 8, 2);
  const uint64_t mantissa = vw_chunk_number(common, 10, 8);
  const uint64_t one = 16383U;
  return exponent < one || exponent > one + 31U
           ? 0U
           : mantissa >> (63U - (exponent - one));
}

VwStatus
vw_aiff_check(VwOpenFile* file, VwReadFault* fault) {
  uint64_t n_frames = 0;
  uint64_t rate_hz = 0;
  uint64_t promised = 0;
  uint64_t there = 0;
  VwChunk  chunk = vw_chunk_start(file, true);
  while (vw_chunk_next(&chunk)) {
    if (vw_chunk_is(&chunk, "COMM")) {
      const uint64_t n_channels = vw_chunk_number(&chunk, 0, 2);
      if (!vw_is_within((double)n_channels, (VwRange)VW_RANGE_TAKE_CHANNELS)) {
        return VW_CHANNELS;
      }
      n_frames = vw_chunk_number(&chunk, 2, 4);
      rate_hz = read_rate(&chunk);
    } else if (vw_chunk_is(&chunk, "SSND")) {
      promised = chunk.n_bytes;
      there = vw_chunk_bytes_there(&chunk);
    }
  }
  if (promised <= there) {
    return VW_OK;
  }
  if (there <= BEFORE_FRAMES) {
    return VW_NO_FRAMES;
  }
  *fault = (VwReadFault){
    n_frames,
    (uint64_t)((double)n_frames * (double)(there - BEFORE_FRAMES) /
               (double)(promised - BEFORE_FRAMES)),
    (unsigned)rate_hz};
  return VW_CUT_SHORT;
}

/// What bytes at some place make of a file.
typedef struct {
  size_t      at;
  const char* bytes;
  size_t      n_bytes;
  VwStatus (*check)(VwOpenFile* file, VwReadFault* fault);
} Mark;

static VwStatus
accept(VwOpenFile* file, VwReadFault* fault) {
  (void)file;
  (void)fault;
  return VW_OK;
}

static VwStatus
refuse_container(VwOpenFile* file, VwReadFault* fault) {
  (void)file;
  (void)fault;
  return VW_CONTAINER;
}

// Marks of formats after their standards; that of Matroska: RFC 9559.
static const Mark marks[] = {
  {8, "WAVE", 4, vw_riff_check},
  {8, "AIFF", 4, vw_aiff_check},
  {8, "AIFC", 4, vw_aiff_check},
  {0, "fLaC", 4, accept},
  {0, "OggS", 4, vw_ogg_check},
  {0, "ID3", 3, vw_mp3_check},
  {0, "\xFF\xFB", 2, vw_mp3_check},
  {0, "\xFF\xFA", 2, vw_mp3_check},
  {0, "\xFF\xF3", 2, vw_mp3_check},
  {0, "\xFF\xF2", 2, vw_mp3_check},
  {0, "\xFF\xE3", 2, vw_mp3_check},
  {4, "ftyp", 4, refuse_container},
  {4, "moov", 4, refuse_container},
  {4, "mdat", 4, refuse_container},
  {8, "AVI ", 4, refuse_container},
  {0, "\x1A\x45\xDF\xA3", 4, refuse_container},
  {0, "\x30\x26\xB2\x75\x8E\x66\xCF\x11", 8, refuse_container},
};

static const Mark*
find_mark(VwOpenFile* file) {
  char         head[16] = {0};
  const size_t n = vw_file_get(file, head, sizeof(head), 0);
  for (size_t i = 0; n && i < sizeof(marks) / sizeof(marks[0]); ++i) {
    const Mark* const mark = &marks[i];
    if (!memcmp(head + mark->at, mark->bytes, mark->n_bytes)) {
      return mark;
    }
  }
  return NULL;
}

VwStatus
vw_header_check(VwOpenFile* file, VwReadFault* fault) {
  const Mark* const mark = find_mark(file);
  const VwStatus    st = mark ? mark->check(file, fault) : VW_OK;
  return file->failed ? VW_UNREADABLE : st;
}

VwLead
vw_header_lead(VwOpenFile* file) {
  const Mark* const mark = find_mark(file);
  const VwLead      none = {.end = file->n_bytes};
  const VwLead      lead =
    mark && mark->check == vw_mp3_check ? vw_mp3_lead(file) : none;
  return lead.n_bytes ? lead : none;
}

VwStatus
vw_header_fault(VwOpenFile* file) {
  const Mark* const mark = find_mark(file);
  if (!mark) {
    return VW_NOT_AUDIO;
  }
  return mark->check == vw_riff_check && vw_riff_is_uncommon(file)
           ? VW_CONTAINER
           : VW_DAMAGED;
}
