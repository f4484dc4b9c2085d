#include "container/container.h"
#include "container/formats.h"
#include "store/store.h"

#include <sndfile.h>

#include <assert.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

// A page (RFC 3533, section 6): 27 bytes, up to 255 lengths, what they add to.
#define PAGE_BYTES 27U
#define FLAGS_AT 5U
#define FLAG_LAST 4U
#define POSITION_AT 6U
#define NUMBER_AT 14U
#define SUM_AT 22U
#define N_LENGTHS_AT 26U

// Where the first page of a Vorbis stream states the sample rate: behind one
// length, seven bytes of name, four of version and one of channels (Vorbis I
// specification, section 4.2.2).
#define RATE_AT (PAGE_BYTES + 1U + 7U + 4U + 1U)

// Behind it and three bit rates stand both sizes of blocks, as exponents of two
// (the same section), the longer one in the upper half of the byte.
#define BLOCKS_AT (RATE_AT + 4U + 12U)
#define BLOCK_LEAST 6U
#define BLOCK_MOST 13U

// The generator of the pages' sums (RFC 3533, section 6, "CRC_checksum").
#define GENERATOR 0x04C11DB7U

/// Bytes of a page of whose start so many are at hand, 0 where it is none.
static uint64_t
page_bytes(const unsigned char* page, size_t n_there) {
  if (n_there < PAGE_BYTES || memcmp(page, "OggS", 4) ||
      n_there < PAGE_BYTES + page[N_LENGTHS_AT]) {
    return 0;
  }
  uint64_t n_bytes = PAGE_BYTES + page[N_LENGTHS_AT];
  for (unsigned i = 0; i < page[N_LENGTHS_AT]; ++i) {
    n_bytes += page[PAGE_BYTES + i];
  }
  return n_bytes;
}

/* Is it whole? */

/// Read the start of the page at a place in the file; its bytes, or 0.
static uint64_t
read_page(int fd, uint64_t at, unsigned char* page) {
  const ssize_t n = pread(fd, page, PAGE_BYTES + 255U, (off_t)at);
  return n < 0 ? 0U : page_bytes(page, (size_t)n);
}

static unsigned
vorbis_rate_hz(int fd) {
  unsigned char head[RATE_AT + 4U] = {0};
  const bool    is_vorbis =
    pread(fd, head, sizeof(head), 0) == (ssize_t)sizeof(head) &&
    !memcmp(head + PAGE_BYTES + 1U, "\1vorbis", 7);
  return is_vorbis ? (unsigned)vw_number_at(head + RATE_AT, 4U, false) : 0U;
}

unsigned
vw_ogg_block_frames(const VwBytes* bytes) {
  assert(bytes);
  if (bytes->n_bytes <= BLOCKS_AT || memcmp(bytes->data, "OggS", 4) != 0 ||
      memcmp(bytes->data + PAGE_BYTES + 1U, "\1vorbis", 7) != 0) {
    return 0;
  }
  const unsigned exponent = bytes->data[BLOCKS_AT] >> 4U;
  return exponent >= BLOCK_LEAST && exponent <= BLOCK_MOST ? 1U << exponent
                                                           : 0U;
}

bool
vw_ogg_look(const VwBytes* head, VwPackedHead* told) {
  told->block_frames = vw_ogg_block_frames(head);
  return head->n_bytes >= 4U && !memcmp(head->data, "OggS", 4);
}

VwStatus
vw_ogg_check(int fd, VwReadFault* fault) {
  struct stat   status;
  unsigned char page[PAGE_BYTES + 255U];
  if (fstat(fd, &status)) {
    return VW_UNREADABLE;
  }
  const uint64_t size = (uint64_t)status.st_size;
  uint64_t       n_frames = 0;
  bool           ended = false;
  uint64_t       n_bytes = read_page(fd, 0, page);
  for (uint64_t at = 0; n_bytes && at + n_bytes <= size;) {
    const uint64_t position = vw_number_at(page + POSITION_AT, 8U, false);
    // All ones: no packet ends on the page.
    n_frames = position == UINT64_MAX ? n_frames : position;
    ended = page[FLAGS_AT] & FLAG_LAST;
    at += n_bytes;
    n_bytes = read_page(fd, at, page);
  }
  if (ended) {
    return VW_OK;
  }
  *fault = (VwReadFault){0, n_frames, vorbis_rate_hz(fd)};
  return VW_CUT_SHORT;
}

/* Its number */

static uint32_t
sum_of(const unsigned char* bytes, size_t n_bytes) {
  uint32_t sum = 0;
  for (size_t i = 0; i < n_bytes; ++i) {
    sum ^= (uint32_t)bytes[i] << 24U;
    for (unsigned bit = 0; bit < 8U; ++bit) {
      sum = sum << 1U ^ (sum >> 31U ? GENERATOR : 0U);
    }
  }
  return sum;
}

void
vw_ogg_number(VwBytes* bytes, uint32_t number) {
  size_t at = 0;
  size_t n = (size_t)page_bytes(bytes->data, bytes->n_bytes);
  while (n && n <= bytes->n_bytes - at) {
    unsigned char* const page = bytes->data + at;
    (void)vw_number_put(page + NUMBER_AT, number, 4U);
    (void)vw_number_put(page + SUM_AT, 0U, 4U);
    (void)vw_number_put(page + SUM_AT, sum_of(page, n), 4U);
    at += n;
    n = (size_t)page_bytes(page + n, bytes->n_bytes - at);
  }
}

// Frames handed over at once: some encoders keep a copy on the stack.
#define BLOCK_FRAMES 4096U

// Of Vorbis, 0 to 1: attacks stay sharp, at a fifth of the bytes of 16 bits
// (chosen here).
#define OGG_QUALITY 0.6

// The start of a FLAC file: mark, head of the first block, and 10 bytes before
// the sample rate of 20 bits, the channels of 3 and the bits of 5 (RFC 9639).
#define FLAC_BYTES 22U
#define FLAC_BITS_AT 20U

/// A file in memory.
typedef struct {
  unsigned char* data;
  size_t         n_bytes;
  size_t         n_room;
  size_t         at;
  bool           failed; ///< There was not enough memory.
} Memory;

static sf_count_t
memory_size(void* user) {
  return (sf_count_t)((Memory*)user)->n_bytes;
}

static sf_count_t
memory_tell(void* user) {
  return (sf_count_t)((Memory*)user)->at;
}

static sf_count_t
memory_seek(sf_count_t offset, int whence, void* user) {
  Memory* const    memory = user;
  const sf_count_t from = whence == SEEK_CUR   ? memory_tell(user)
                          : whence == SEEK_END ? memory_size(user)
                                               : 0;
  const sf_count_t to = from + offset;
  if (to < 0 || to > memory_size(user)) {
    return -1;
  }
  memory->at = (size_t)to;
  return to;
}

static sf_count_t
memory_read(void* to, sf_count_t n_wanted, void* user) {
  Memory* const memory = user;
  const size_t  n_left = memory->n_bytes - memory->at;
  const size_t  n = (size_t)n_wanted < n_left ? (size_t)n_wanted : n_left;
  memcpy(to, memory->data + memory->at, n);
  memory->at += n;
  return (sf_count_t)n;
}

static bool
make_room(Memory* memory, size_t n_wanted) {
  if (n_wanted <= memory->n_room) {
    return true;
  }
  const size_t         n_room = 2U * n_wanted;
  unsigned char* const wider = realloc(memory->data, n_room);
  if (!wider) {
    memory->failed = true;
    return false;
  }
  memory->data = wider;
  memory->n_room = n_room;
  return true;
}

static sf_count_t
memory_write(const void* from, sf_count_t n_bytes, void* user) {
  Memory* const memory = user;
  const size_t  end = memory->at + (size_t)n_bytes;
  if (!make_room(memory, end)) {
    return 0;
  }
  memcpy(memory->data + memory->at, from, (size_t)n_bytes);
  memory->at = end;
  memory->n_bytes = end > memory->n_bytes ? end : memory->n_bytes;
  return n_bytes;
}

/// A file to write, of a sound's rate and channels; NULL where there is none.
static SNDFILE*
open_memory(Memory* memory, const VwSound* sound, int format) {
  SF_VIRTUAL_IO io = {.get_filelen = memory_size,
                      .seek = memory_seek,
                      .read = memory_read,
                      .write = memory_write,
                      .tell = memory_tell};
  SF_INFO       info = {.samplerate = (int)sound->rate_hz,
                        .channels = (int)sound->n_channels,
                        .format = format};
  return sf_open_virtual(&io, SFM_WRITE, &info, memory);
}

/// Codes as integers of 32 bits, of which the library takes the upper ones.
static bool
write_codes(SNDFILE*       file,
            const VwSound* sound,
            VwEncoding     encoding,
            const VwBytes* codes) {
  const int    scale = encoding == VW_ENCODING_S16 ? 65536 : 256;
  const size_t n_values = sound->n_frames * sound->n_channels;
  int* const   values = calloc(n_values + !n_values, sizeof(int));
  for (size_t i = 0; values && i < n_values; ++i) {
    values[i] = vw_codes_at(codes, encoding, i) * scale;
  }
  const bool whole =
    values &&
    sf_write_int(file, values, (sf_count_t)n_values) == (sf_count_t)n_values;
  free(values);
  return whole;
}

static bool
write_floats(SNDFILE* file, const VwSound* sound) {
  for (size_t i = 0; i < sound->n_frames; i += BLOCK_FRAMES) {
    const size_t     n_left = sound->n_frames - i;
    const sf_count_t n =
      (sf_count_t)(n_left < BLOCK_FRAMES ? n_left : BLOCK_FRAMES);
    if (sf_writef_float(file, sound->values + i * sound->n_channels, n) != n) {
      return false;
    }
  }
  return true;
}

/// Take what was written; nothing but memory can have been lacking.
static VwStatus
finish(SNDFILE* file, Memory* memory, bool whole, VwBytes* bytes) {
  if (sf_close(file) || !whole || memory->failed) {
    free(memory->data);
    return VW_NO_MEMORY;
  }
  *bytes = (VwBytes){memory->data, memory->n_bytes};
  return VW_OK;
}

static VwStatus
compress_flac(const VwSound* sound,
              VwEncoding     encoding,
              const VwBytes* codes,
              VwBytes*       bytes) {
  const int subtype =
    encoding == VW_ENCODING_S16 ? SF_FORMAT_PCM_16 : SF_FORMAT_PCM_24;
  Memory         memory = {0};
  SNDFILE* const file = open_memory(&memory, sound, SF_FORMAT_FLAC | subtype);
  if (!file) {
    free(memory.data);
    return memory.failed ? VW_NO_MEMORY : VW_NOT_CARRIED;
  }
  const bool whole = write_codes(file, sound, encoding, codes);
  return finish(file, &memory, whole, bytes);
}

VwStatus
vw_flac_encode(const VwPiece*    piece,
               const VwWrapping* wrapping,
               VwBytes*          bytes) {
  const VwEncoding encoding = wrapping->format.encoding;
  VwBytes          codes = {0};
  VwStatus         st = vw_raw_encode(piece, wrapping, &codes);
  st = st ? st : compress_flac(&piece->sound, encoding, &codes, bytes);
  vw_bytes_clear(&codes);
  return st;
}

bool
vw_flac_look(const VwBytes* head, VwPackedHead* told) {
  if (head->n_bytes < 4U || memcmp(head->data, "fLaC", 4) != 0) {
    return false;
  }
  const unsigned char* const two = head->data + FLAC_BITS_AT;
  told->exact = true;
  if (head->n_bytes >= FLAC_BYTES) {
    told->bits = ((two[0] & 1U) << 4U | two[1] >> 4U) + 1U;
  }
  return true;
}

VwStatus
vw_ogg_encode(const VwPiece*    piece,
              const VwWrapping* wrapping,
              VwBytes*          bytes) {
  (void)wrapping; // it is of the sound itself
  const VwSound* const sound = &piece->sound;
  Memory               memory = {0};
  SNDFILE* const       file =
    open_memory(&memory, sound, SF_FORMAT_OGG | SF_FORMAT_VORBIS);
  if (!file) {
    free(memory.data);
    return memory.failed ? VW_NO_MEMORY : VW_NOT_CARRIED;
  }
  double quality = OGG_QUALITY;
  sf_command(
    file, SFC_SET_VBR_ENCODING_QUALITY, &quality, (int)sizeof(quality));
  const bool     whole = write_floats(file, sound);
  const VwStatus st = finish(file, &memory, whole, bytes);
  if (!st) {
    const size_t n = sound->n_frames * sound->n_channels * sizeof(float);
    vw_ogg_number(bytes, (uint32_t)vw_digest(sound->values, n));
  }
  return st;
}
