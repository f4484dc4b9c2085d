#include "support/plain_wav.h"

#include "support/folder.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define TWO_PI 6.283185307179586
#define TONE_HZ 440.0
#define FADE_FRAMES 200U
#define FLOAT_TAG 3U

/// Bytes that grow.
typedef struct {
  unsigned char* data;
  size_t         n;
} Bytes;

static void
put(Bytes* bytes, uint64_t value, unsigned n_bytes) {
  for (unsigned i = 0; i < n_bytes; ++i) {
    bytes->data[bytes->n++] = (unsigned char)(i < 8U ? value >> (8U * i) : 0U);
  }
}

static void
put_name(Bytes* bytes, const char* name) {
  memcpy(bytes->data + bytes->n, name, 4);
  bytes->n += 4U;
}

static unsigned
or_else(unsigned value, unsigned usual) {
  return value ? value : usual;
}

static size_t
frames_of(const PlainWav* wav) {
  return wav->no_frames ? 0U : wav->n_frames ? wav->n_frames : 4410U;
}

static void
put_format(Bytes* bytes, const PlainWav* wav) {
  const unsigned n_bytes = or_else(wav->fmt_bytes, 16);
  const unsigned n_channels = or_else(wav->n_channels, 1);
  const unsigned rate_hz = or_else(wav->rate_hz, 44100);
  const unsigned bits = or_else(wav->bits, 16);
  const unsigned block = n_channels * bits / 8U + wav->block_add;
  const size_t   end = bytes->n + 8U + n_bytes;
  put_name(bytes, "fmt ");
  put(bytes, n_bytes, 4);
  put(bytes, or_else(wav->tag, 1), 2);
  put(bytes, n_channels, 2);
  put(bytes, rate_hz, 4);
  put(bytes, (uint64_t)block * rate_hz, 4);
  put(bytes, block, 2);
  put(bytes, bits, 2);
  if (n_bytes >= 40U) {
    put(bytes, 22, 2);
    put(bytes, bits, 2);
    put(bytes, n_channels == 1U ? 4U : 3U, 4);
    // PCM's identity: the plain tag, and what is the same for all.
    static const unsigned char identity[] = {0x01,
                                             0x00,
                                             0x00,
                                             0x00,
                                             0x00,
                                             0x00,
                                             0x10,
                                             0x00,
                                             0x80,
                                             0x00,
                                             0x00,
                                             0xAA,
                                             0x00,
                                             0x38,
                                             0x9B,
                                             0x71};
    memcpy(bytes->data + bytes->n, identity, sizeof(identity));
  }
  bytes->n = end;
}

static double
value_at(const PlainWav* wav, size_t frame) {
  const size_t n = frames_of(wav);
  const double amplitude = wav->amplitude > 0.0 ? wav->amplitude : 0.5;
  if (frame == 0U || frame + 1U == n) {
    return frame ? wav->last : wav->first;
  }
  if (frame < wav->lead) {
    return 0.0;
  }
  const double t_s =
    (double)(frame - wav->lead) / (double)or_else(wav->rate_hz, 44100);
  const size_t left = n - 1U - frame;
  const double fade =
    left < FADE_FRAMES ? (double)left / (double)FADE_FRAMES : 1.0;
  const double wave = sin(TWO_PI * TONE_HZ * t_s) * exp(-10.0 * t_s);
  return wav->offset + amplitude * fade * wave;
}

static void
put_value(Bytes* bytes, const PlainWav* wav, double value) {
  const unsigned bits = or_else(wav->bits, 16);
  const double   scale = ldexp(1.0, (int)bits - 1);
  const double   code = fmin(fmax(round(value * scale), -scale), scale - 1.0);
  if (wav->tag == FLOAT_TAG) {
    const float single = (float)value;
    memcpy(bytes->data + bytes->n, &single, sizeof(single));
    bytes->n += sizeof(single);
    return;
  }
  const int64_t whole = (int64_t)code + (bits == 8U ? 128 : 0);
  put(bytes, (uint64_t)whole, bits / 8U);
}

static void
put_data(Bytes* bytes, const PlainWav* wav) {
  const size_t n_frames = frames_of(wav);
  put_name(bytes, "data");
  const size_t size_at = bytes->n;
  put(bytes, 0, 4);
  for (size_t i = 0; i < n_frames; ++i) {
    for (unsigned k = 0; k < or_else(wav->n_channels, 1); ++k) {
      put_value(bytes, wav, value_at(wav, i));
    }
  }
  const size_t n_bytes = bytes->n - size_at - 4U;
  Bytes        size = {bytes->data, size_at};
  put(&size, wav->has_size ? wav->data_size : n_bytes, 4);
  put(bytes, 0, (unsigned)(n_bytes % 2U));
}

static void
put_loops(Bytes* bytes, const PlainWav* wav) {
  const unsigned n_loops = wav->no_loop ? 0U : wav->n_loops;
  const uint32_t n_bytes = 36U + 24U * n_loops - wav->loop_cut;
  const size_t   end = bytes->n + 8U + n_bytes;
  put_name(bytes, "smpl");
  put(bytes, n_bytes, 4);
  put(bytes, 0, 8);
  put(bytes, 1000000000U / or_else(wav->rate_hz, 44100), 4);
  put(bytes, 60, 4);
  put(bytes, 0, 12);
  put(bytes, n_loops, 4);
  put(bytes, 0, 4);
  for (unsigned i = 0; i < n_loops; ++i) {
    put(bytes, i, 4);
    put(bytes, wav->loop_type, 4);
    put(bytes, wav->loop_start, 4);
    put(bytes, wav->loop_last, 4);
    put(bytes, 0, 8);
  }
  bytes->n = end;
}

static void
put_chunk(Bytes* bytes, const char* name) {
  put_name(bytes, name);
  put(bytes, 10, 4);
  put(bytes, 0, 10);
}

void
plain_wav_put(const char* path, const PlainWav* wav) {
  const size_t room = 1024U + frames_of(wav) * or_else(wav->n_channels, 1) * 4U;
  Bytes        bytes = {calloc(1, room), 0};
  if (!bytes.data) {
    abort();
  }
  put_name(&bytes, "RIFF");
  put(&bytes, 0, 4);
  put_name(&bytes, "WAVE");
  if (!wav->data_first) {
    put_format(&bytes, wav);
  }
  if (wav->before) {
    put_chunk(&bytes, wav->before);
  }
  put_data(&bytes, wav);
  if (wav->data_first) {
    put_format(&bytes, wav);
  }
  if (wav->n_loops || wav->no_loop) {
    put_loops(&bytes, wav);
  }
  if (wav->behind) {
    put_chunk(&bytes, wav->behind);
  }
  Bytes size = {bytes.data, 4};
  put(&size, bytes.n - 8U + wav->riff_add, 4);
  folder_put(path, bytes.data, bytes.n);
  free(bytes.data);
}
