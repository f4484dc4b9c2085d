#include "support/riff.h"

#include <stdlib.h>
#include <string.h>

static uint32_t
little_endian(const unsigned char* at, unsigned n_bytes) {
  uint32_t value = 0;
  for (unsigned i = 0; i < n_bytes; ++i) {
    value |= (uint32_t)at[i] << (8U * i);
  }
  return value;
}

static bool
parse_fmt(const unsigned char* at, uint32_t size, Riff* riff) {
  if (size < 16) {
    return false;
  }
  riff->fmt_bytes = size;
  riff->tag = little_endian(at, 2);
  riff->n_channels = little_endian(at + 2, 2);
  riff->rate_hz = little_endian(at + 4, 4);
  riff->second_bytes = little_endian(at + 8, 4);
  riff->block_bytes = little_endian(at + 12, 2);
  riff->bits = little_endian(at + 14, 2);
  return riff->block_bytes == riff->n_channels * riff->bits / 8 &&
         riff->second_bytes == riff->rate_hz * riff->block_bytes;
}

static bool
parse_smpl(const unsigned char* at, uint32_t size, Riff* riff) {
  if (size < 36 || size < 36 + 24 * little_endian(at + 28, 4)) {
    return false;
  }
  if (little_endian(at + 28, 4) > 0) {
    riff->has_loop = true;
    riff->loop_start = little_endian(at + 36 + 8, 4);
    riff->loop_last = little_endian(at + 36 + 12, 4);
  }
  return true;
}

static bool
parse_chunk(const unsigned char* start, size_t at, Riff* riff) {
  const unsigned char* const chunk = start + at;
  const uint32_t             size = little_endian(chunk + 4, 4);
  ++riff->n_chunks;
  if (!memcmp(chunk, "fmt ", 4)) {
    return parse_fmt(chunk + 8, size, riff);
  }
  if (!memcmp(chunk, "smpl", 4)) {
    return parse_smpl(chunk + 8, size, riff);
  }
  if (!memcmp(chunk, "fact", 4)) {
    riff->fact_frames = little_endian(chunk + 8, 4);
    return size >= 4;
  }
  if (!memcmp(chunk, "data", 4)) {
    riff->data_at = at + 8;
    riff->data_bytes = size;
    return riff->block_bytes > 0 && size % riff->block_bytes == 0;
  }
  return true;
}

bool
riff_parse(const VwBytes* bytes, Riff* riff) {
  memset(riff, 0, sizeof(*riff));
  if (bytes->n_bytes < 12 || memcmp(bytes->data, "RIFF", 4) ||
      memcmp(bytes->data + 8, "WAVE", 4) ||
      little_endian(bytes->data + 4, 4) != bytes->n_bytes - 8) {
    return false;
  }
  size_t at = 12;
  while (at + 8 <= bytes->n_bytes) {
    const uint32_t size = little_endian(bytes->data + at + 4, 4);
    if (at + 8 + size > bytes->n_bytes || !parse_chunk(bytes->data, at, riff)) {
      return false;
    }
    at += 8 + size + (size & 1U);
  }
  return at == bytes->n_bytes && riff->data_at > 0;
}

int32_t
riff_code(const Riff* riff, const VwBytes* bytes, size_t index) {
  const unsigned       n_bytes = riff->bits / 8;
  const unsigned char* at = bytes->data + riff->data_at + index * n_bytes;
  const uint32_t       raw = little_endian(at, n_bytes);
  if (n_bytes == 1) {
    return (int32_t)raw;
  }
  const int64_t range = (int64_t)1 << riff->bits;
  return (int32_t)((int64_t)raw >= range / 2 ? (int64_t)raw - range
                                             : (int64_t)raw);
}

static float
value_at(const Riff* riff, const VwBytes* bytes, size_t index) {
  if (riff->tag == 3) {
    float value = 0.0F;
    memcpy(&value, bytes->data + riff->data_at + 4 * index, sizeof(value));
    return value;
  }
  const int32_t code = riff_code(riff, bytes, index);
  return riff->bits == 8
           ? (float)(code - 128) / 128.0F
           : (float)((double)code / (double)(1U << (riff->bits - 1U)));
}

VwSound
riff_sound(const Riff* riff, const VwBytes* bytes) {
  VwSound      sound = {NULL, 0, 0, 0};
  const size_t n_frames = riff->data_bytes / riff->block_bytes;
  if (vw_sound_init(&sound, n_frames, riff->n_channels, riff->rate_hz)) {
    abort();
  }
  for (size_t i = 0; i < n_frames * riff->n_channels; ++i) {
    sound.values[i] = value_at(riff, bytes, i);
  }
  return sound;
}
