#include "base/size.h"
#include "container/container.h"
#include "container/formats.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

// Bytes of a `smpl` chunk with one loop.
#define LOOP_BYTES 60U

// The note that plays the sound as it is: middle C.
#define UNITY_NOTE 60U

/// Where the next byte goes.
typedef struct {
  unsigned char* at;
} Pen;

static void
put(Pen* pen, uint32_t value, unsigned n_bytes) {
  pen->at = vw_number_put(pen->at, value, n_bytes);
}

static void
put_name(Pen* pen, const char* name) {
  memcpy(pen->at, name, 4);
  pen->at += 4;
}

/// What stands in the headers of a file.
typedef struct {
  const VwSound* sound;
  unsigned       tag;
  unsigned       n_format; ///< Bytes of the `fmt ` chunk.
  unsigned       n_bytes;  ///< Of a value.
  size_t         n_frames; ///< With the one that makes the data even.
  size_t         n_data;
  size_t         n_total; ///< Of the whole file.
} Shape;

static Shape
shape_of(const VwPiece* piece, const VwFormat* format) {
  const VwSound* const sound = &piece->sound;
  const unsigned       n_bytes = vw_size_value_bytes(format->encoding);
  const bool           is_float = format->encoding == VW_ENCODING_FLOAT;
  const size_t         n_block = (size_t)n_bytes * sound->n_channels;
  Shape                shape = {.sound = sound,
                                .tag = is_float ? VW_TAG_FLOAT : VW_TAG_PCM,
                                .n_format = is_float ? 18U : 16U,
                                .n_bytes = n_bytes,
                                .n_frames = sound->n_frames};
  shape.n_frames += sound->n_frames * n_block % 2U;
  shape.n_data = shape.n_frames * n_block;
  shape.n_total = 12U + 8U + shape.n_format + (is_float ? 12U : 0U) + 8U +
                  shape.n_data + (piece->has_loop ? 8U + LOOP_BYTES : 0U);
  return shape;
}

static void
put_header(Pen* pen, const Shape* shape) {
  const VwSound* const sound = shape->sound;
  const unsigned       n_block = shape->n_bytes * sound->n_channels;
  put_name(pen, "RIFF");
  put(pen, (uint32_t)(shape->n_total - 8U), 4);
  put_name(pen, "WAVE");
  put_name(pen, "fmt ");
  put(pen, shape->n_format, 4);
  put(pen, shape->tag, 2);
  put(pen, sound->n_channels, 2);
  put(pen, sound->rate_hz, 4);
  put(pen, sound->rate_hz * n_block, 4);
  put(pen, n_block, 2);
  put(pen, 8U * shape->n_bytes, 2);
  if (shape->tag == VW_TAG_FLOAT) {
    put(pen, 0, 2);
    put_name(pen, "fact");
    put(pen, 4, 4);
    put(pen, (uint32_t)shape->n_frames, 4);
  }
  put_name(pen, "data");
  put(pen, (uint32_t)shape->n_data, 4);
}

/// The fields of a `smpl` chunk in their order; all have 32 bits.
static void
put_loop(Pen* pen, const VwPiece* piece) {
  const uint32_t fields[] = {
    0,                                  // Maker: none.
    0,                                  // Product: none.
    1000000000U / piece->sound.rate_hz, // Nanoseconds of a frame.
    UNITY_NOTE,
    0, // Fraction of a semitone.
    0, // No time code,
    0, // nor an offset of it.
    1, // One loop,
    0, // and nothing behind it.
    0, // Its name.
    0, // Forward.
    (uint32_t)piece->loop_start,
    (uint32_t)piece->loop_end - 1U, // The last frame is played too.
    0,                              // Fraction of a frame.
    0,                              // Without end.
  };
  put_name(pen, "smpl");
  put(pen, LOOP_BYTES, 4);
  for (size_t i = 0; i < sizeof(fields) / sizeof(fields[0]); ++i) {
    put(pen, fields[i], 4);
  }
}

VwStatus
vw_encode_wav(const VwPiece*  piece,
              const VwFormat* format,
              uint64_t        seed,
              VwBytes*        bytes) {
  assert(piece && format && bytes);
  assert(!piece->has_loop || (piece->loop_start < piece->loop_end &&
                              piece->loop_end <= piece->sound.n_frames));
  // The second: before sizes are multiplied.
  if (!vw_size_value_bytes(format->encoding) ||
      piece->sound.n_frames > UINT32_MAX) {
    return VW_BAD_OPTION;
  }
  const Shape shape = shape_of(piece, format);
  if (shape.n_total > UINT32_MAX) {
    return VW_BAD_OPTION;
  }
  unsigned char* const data = malloc(shape.n_total);
  if (!data) {
    return VW_NO_MEMORY;
  }
  Pen pen = {data};
  put_header(&pen, &shape);
  const VwBytes room = {pen.at, shape.n_data};
  vw_codes_put(shape.sound, format, seed, &room);
  pen.at += shape.n_data;
  if (piece->has_loop) {
    put_loop(&pen, piece);
  }
  *bytes = (VwBytes){data, shape.n_total};
  return VW_OK;
}

VwStatus
vw_wav_encode(const VwPiece*    piece,
              const VwWrapping* wrapping,
              VwBytes*          bytes) {
  VwPiece plain = *piece;
  plain.has_loop = piece->has_loop && wrapping->loop_points;
  return vw_encode_wav(&plain, &wrapping->format, wrapping->seed, bytes);
}
