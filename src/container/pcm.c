#include "base/random.h"
#include "base/size.h"
#include "container/container.h"
#include "container/formats.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// Shorter ones are zero crossings of slow waves, in which the noise of the
// dither must not come and go.
#define SILENCE_FRAMES 32U

/// The codes of one encoding.
typedef struct {
  double   scale;  ///< LSB of full scale; 0 for float.
  uint32_t middle; ///< Code of silence.
} Coding;

static const Coding codings[] = {
  [VW_ENCODING_U8] = {0x1.0p7, 128U},
  [VW_ENCODING_S16] = {0x1.0p15, 0U},
  [VW_ENCODING_S24] = {0x1.0p23, 0U},
  [VW_ENCODING_FLOAT] = {0.0, 0U},
};

double
vw_encoding_noise_dbfs(VwEncoding encoding) {
  const bool   known = (size_t)encoding < sizeof(codings) / sizeof(codings[0]);
  const double scale = known ? codings[encoding].scale : 0.0;
  // Rounding with TPDF dither has a variance of 1/4 LSB^2 (S. P. Lipshitz, R.
  // A. Wannamaker, J. Vanderkooy, J. Audio Eng. Soc. 40(5), 1992).
  return scale > 0.0 ? 20.0 * log10(0.5 / scale) : -200.0;
}

/* Dither */

// The difference of two uniform values; its mean is exactly zero.
double
vw_dither_next(VwRandom* random) {
  const uint64_t bits = vw_random_bits(random);
  const double   one = (double)(bits >> 32U);
  const double   other = (double)(bits & 0xFFFFFFFFU);
  return (one - other) * 0x1.0p-32;
}

static bool
is_zero(const VwSound* sound, size_t frame) {
  const float* const values = sound->values + frame * sound->n_channels;
  for (unsigned c = 0; c < sound->n_channels; ++c) {
    if (values[c] != 0.0F) {
      return false;
    }
  }
  return true;
}

/// How many frames from `frame` on are silence that dither must leave alone.
///
/// Frames of zeros count where they begin or end the sound or are 32 or more
/// in a row; ask at the first of them.
static size_t
silence_from(const VwSound* sound, size_t frame) {
  if (!is_zero(sound, frame)) {
    return 0U;
  }
  size_t end = frame + 1U;
  while (end < sound->n_frames && is_zero(sound, end)) {
    ++end;
  }
  const bool outside = frame == 0 || end == sound->n_frames;
  return outside || end - frame >= SILENCE_FRAMES ? end - frame : 0U;
}

/* Codes */

/// Where the next code goes, and how values become codes.
typedef struct {
  unsigned char* at;
  Coding         coding;
  unsigned       n_bytes; ///< Of a value.
  bool           dithered;
  VwRandom       random;
} Pen;

static void
put(Pen* pen, uint32_t code) {
  pen->at = vw_number_put(pen->at, code, pen->n_bytes);
}

/// The code of a value, in two's complement where it is signed.
static uint32_t
code_of(Coding coding, double value, double dither_lsb) {
  const double scale = coding.scale;
  const double lsb = value * scale + dither_lsb;
  // No number compares with any: it becomes the lowest code.
  const double held = !(lsb > -scale)     ? -scale
                      : lsb > scale - 1.0 ? scale - 1.0
                                          : lsb;
  // Above zero, cutting off the fraction rounds down.
  const uint32_t from_lowest = (uint32_t)(held + scale + 0.5);
  return from_lowest - (uint32_t)scale + coding.middle;
}

static void
put_frame(Pen* pen, const VwSound* sound, size_t frame) {
  for (unsigned c = 0; c < sound->n_channels; ++c) {
    const double x = (double)sound->values[frame * sound->n_channels + c];
    const double dither = pen->dithered ? vw_dither_next(&pen->random) : 0.0;
    put(pen, code_of(pen->coding, x, dither));
  }
}

static void
put_silence(Pen* pen, size_t n_values) {
  for (size_t i = 0; i < n_values; ++i) {
    put(pen, pen->coding.middle);
  }
}

static void
put_integers(Pen* pen, const VwSound* sound) {
  for (size_t i = 0; i < sound->n_frames;) {
    const size_t n_silent = silence_from(sound, i);
    put_silence(pen, n_silent * sound->n_channels);
    i += n_silent;
    if (!n_silent) {
      put_frame(pen, sound, i++);
    }
  }
}

static void
put_floats(Pen* pen, const VwSound* sound) {
  for (size_t i = 0; i < sound->n_frames * sound->n_channels; ++i) {
    uint32_t bits;
    memcpy(&bits, &sound->values[i], sizeof(bits));
    put(pen, bits);
  }
}

void
vw_codes_put(const VwSound*  sound,
             const VwFormat* format,
             uint64_t        seed,
             const VwBytes*  room) {
  Pen pen = {room->data,
             codings[format->encoding],
             vw_size_value_bytes(format->encoding),
             format->dither == VW_DITHER_TPDF,
             {seed}};
  if (format->encoding == VW_ENCODING_FLOAT) {
    put_floats(&pen, sound);
  } else {
    put_integers(&pen, sound);
  }
  put_silence(&pen,
              (size_t)(room->data + room->n_bytes - pen.at) / pen.n_bytes);
}

/// The codes of a sound alone, to be freed.
static VwStatus
codes_make(const VwSound*  sound,
           const VwFormat* format,
           uint64_t        seed,
           VwBytes*        bytes) {
  const size_t n_block =
    (size_t)vw_size_value_bytes(format->encoding) * sound->n_channels;
  // The second: before sizes are multiplied.
  if (!n_block || sound->n_frames > UINT32_MAX ||
      sound->n_frames * n_block > UINT32_MAX) {
    return VW_BAD_OPTION;
  }
  const size_t         n_bytes = sound->n_frames * n_block;
  unsigned char* const data = malloc(n_bytes + !n_bytes);
  if (!data) {
    return VW_NO_MEMORY;
  }
  *bytes = (VwBytes){data, n_bytes};
  vw_codes_put(sound, format, seed, bytes);
  return VW_OK;
}

int32_t
vw_codes_at(const VwBytes* codes, VwEncoding encoding, size_t index) {
  const unsigned             n_bytes = vw_size_value_bytes(encoding);
  const unsigned char* const at = codes->data + index * n_bytes;
  if (n_bytes == 1U) {
    return at[0];
  }
  int32_t code = at[n_bytes - 1U] < 0x80 ? 0 : -1;
  for (unsigned i = n_bytes; i-- > 0U;) {
    code = code * 256 + at[i];
  }
  return code;
}

/* Raw files */

float
vw_code_value(VwEncoding encoding, long code) {
  const Coding* const coding = &codings[encoding];
  return (float)(((double)code - (double)coding->middle) / coding->scale);
}

static float
value_at(const VwBytes* codes, VwEncoding encoding, size_t index) {
  float value = 0.0F;
  if (encoding != VW_ENCODING_FLOAT) {
    return vw_code_value(encoding, vw_codes_at(codes, encoding, index));
  }
  const uint32_t bits =
    (uint32_t)vw_number_at(codes->data + 4U * index, 4U, false);
  memcpy(&value, &bits, sizeof(value));
  return value;
}

VwStatus
vw_raw_encode(const VwPiece*    piece,
              const VwWrapping* wrapping,
              VwBytes*          bytes) {
  return codes_make(&piece->sound, &wrapping->format, wrapping->seed, bytes);
}

VwStatus
vw_raw_decode(const VwBytes* bytes, const VwFormat* format, VwSound* sound) {
  const size_t n_frame =
    (size_t)vw_size_value_bytes(format->encoding) * format->n_channels;
  const VwStatus st = vw_sound_init(
    sound, bytes->n_bytes / n_frame, format->n_channels, format->rate_hz);
  for (size_t i = 0; !st && i < sound->n_frames * sound->n_channels; ++i) {
    sound->values[i] = value_at(bytes, format->encoding, i);
  }
  return st;
}
