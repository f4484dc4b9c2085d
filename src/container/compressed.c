#include "base/units.h"
#include "container/formats.h"
#include "signal/signal.h"
#include "store/store.h"

#include <sndfile.h>

#include <stdlib.h>
#include <string.h>

// Frames handed over at once: some encoders keep a copy on the stack.
#define BLOCK_FRAMES 4096U

// Of Vorbis, 0 to 1: attacks stay sharp, at a fifth of the bytes of 16 bits
// (chosen here).
#define OGG_QUALITY 0.6

// What is coded of a loop's repeats before one is cut, and behind it (chosen
// here).
#define OGG_LEAD_FRAMES 32768U

// Short blocks at the start of what is coded shift all that follow, which shows
// only then.
#define OGG_TRIES 6U

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

// What the library calls a container that it writes of codes.
static const int formats[] = {[VW_CONTAINER_FLAC] = SF_FORMAT_FLAC};

static VwStatus
pack_codes(const VwSound*    sound,
           const VwWrapping* wrapping,
           const VwBytes*    codes,
           VwBytes*          bytes) {
  const VwEncoding encoding = wrapping->format.encoding;
  const int        subtype =
    encoding == VW_ENCODING_S16 ? SF_FORMAT_PCM_16 : SF_FORMAT_PCM_24;
  Memory         memory = {0};
  SNDFILE* const file =
    open_memory(&memory, sound, formats[wrapping->container] | subtype);
  if (!file) {
    free(memory.data);
    return memory.failed ? VW_NO_MEMORY : VW_NOT_CARRIED;
  }
  const bool whole = write_codes(file, sound, encoding, codes);
  return finish(file, &memory, whole, bytes);
}

VwStatus
vw_codes_pack(const VwPiece*    piece,
              const VwWrapping* wrapping,
              VwBytes*          bytes) {
  VwBytes  codes = {0};
  VwStatus st = vw_raw_encode(piece, wrapping, &codes);
  st = st ? st : pack_codes(&piece->sound, wrapping, &codes, bytes);
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

static VwStatus
compress_ogg(const VwSound* sound, VwBytes* bytes) {
  Memory         memory = {0};
  SNDFILE* const file =
    open_memory(&memory, sound, SF_FORMAT_OGG | SF_FORMAT_VORBIS);
  if (!file) {
    free(memory.data);
    return memory.failed ? VW_NO_MEMORY : VW_NOT_CARRIED;
  }
  double quality = OGG_QUALITY;
  sf_command(
    file, SFC_SET_VBR_ENCODING_QUALITY, &quality, (int)sizeof(quality));
  const bool whole = write_floats(file, sound);
  return finish(file, &memory, whole, bytes);
}

/// Code a loop as it is played on, so that its first frame is at `lead`.
static VwStatus
compress_repeats(const VwSound* loop, size_t lead, VwBytes* bytes) {
  const size_t n = loop->n_frames;
  const size_t n_values = loop->n_channels;
  VwSound      played = {0};
  VwStatus     st = vw_sound_init(
    &played, lead + n + OGG_LEAD_FRAMES, loop->n_channels, loop->rate_hz);
  for (size_t i = 0; !st && i < played.n_frames; ++i) {
    const size_t from = (i + n - lead % n) % n;
    memcpy(played.values + i * n_values,
           loop->values + from * n_values,
           n_values * sizeof(float));
  }
  // No attack, so that the first blocks are as the others.
  for (size_t i = 0; !st && i < OGG_LEAD_FRAMES / 2U; ++i) {
    const double out = vw_fade_out_at(i, OGG_LEAD_FRAMES / 2U);
    vw_sound_scale_frame(&played, i, 1.0 - out);
  }
  st = st ? st : compress_ogg(&played, bytes);
  vw_sound_clear(&played);
  return st;
}

/// Code a loop of whole blocks as one of many repeats, so that what coding adds
/// repeats as well: coded alone, the noise at its end and that at its start do
/// not meet, and a hum clicks. What cannot be cut so stays as it is.
static VwStatus
cut_repeat(const VwSound* loop, VwBytes* bytes) {
  VwStatus st = VW_OK;
  size_t   lead = OGG_LEAD_FRAMES;
  bool     done = false;
  for (size_t i = 0; !st && !done && i < OGG_TRIES; ++i) {
    VwBytes repeats = {0};
    VwBytes cut = {0};
    st = compress_repeats(loop, lead, &repeats);
    done = !st && vw_ogg_cut(&repeats, &lead, loop->n_frames, &cut);
    vw_bytes_clear(&repeats);
    if (done) {
      vw_bytes_clear(bytes);
      *bytes = cut;
    }
  }
  return st;
}

VwStatus
vw_ogg_encode(const VwPiece*    piece,
              const VwWrapping* wrapping,
              VwBytes*          bytes) {
  (void)wrapping; // it is of the sound itself
  const VwSound* const sound = &piece->sound;
  const bool cycle = piece->part == VW_PART_LOOP && !piece->has_loop &&
                     sound->n_frames &&
                     sound->n_frames % VW_OGG_UNIT_FRAMES == 0U;
  VwBytes  made = {0};
  VwStatus st = compress_ogg(sound, &made);
  st = !st && cycle ? cut_repeat(sound, &made) : st;
  if (st) {
    vw_bytes_clear(&made);
    return st;
  }
  const size_t n = sound->n_frames * sound->n_channels * sizeof(float);
  vw_ogg_number(&made, (uint32_t)vw_digest(sound->values, n));
  *bytes = made;
  return VW_OK;
}
