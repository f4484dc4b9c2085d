#define _XOPEN_SOURCE 700

#include "support/takes.h"

#include "support/folder.h"

#include <sndfile.h>

#include <fcntl.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

const TakeFormat takes_formats[TAKES_N_FORMATS] = {
  {"WAV 16", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 0.0},
  {"WAV 24", SF_FORMAT_WAV | SF_FORMAT_PCM_24, 0.0},
  {"WAV 32", SF_FORMAT_WAV | SF_FORMAT_PCM_32, 0.0},
  {"WAV float", SF_FORMAT_WAV | SF_FORMAT_FLOAT, 0.0},
  {"WAV double", SF_FORMAT_WAV | SF_FORMAT_DOUBLE, 0.0},
  {"WAV 8", SF_FORMAT_WAV | SF_FORMAT_PCM_U8, 1.0 / 128.0},
  {"WAV A-law", SF_FORMAT_WAV | SF_FORMAT_ALAW, 0.02},
  {"WAV extensible", SF_FORMAT_WAVEX | SF_FORMAT_PCM_16, 0.0},
  {"RIFX", SF_FORMAT_WAV | SF_FORMAT_PCM_16 | SF_ENDIAN_BIG, 0.0},
  {"RF64", SF_FORMAT_RF64 | SF_FORMAT_PCM_16, 0.0},
  {"AIFF", SF_FORMAT_AIFF | SF_FORMAT_PCM_16, 0.0},
  {"AIFC", SF_FORMAT_AIFF | SF_FORMAT_FLOAT, 0.0},
  {"FLAC", SF_FORMAT_FLAC | SF_FORMAT_PCM_16, 0.0},
  {"Ogg Vorbis", SF_FORMAT_OGG | SF_FORMAT_VORBIS, 0.1},
  {"Ogg Opus", SF_FORMAT_OGG | SF_FORMAT_OPUS, 0.1},
  {"MP3", SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III, 0.1},
};

const TakeFile takes_second = {"take", 0, 2, 48000, 48000, 0.5, false};

float
takes_value(const TakeFile* file, size_t frame) {
  const double tone = sin(6.283185307179586 * 0.01 * (double)frame);
  // On a code of 16 bits, so that writers of such keep it.
  return (float)(round(32767.0 * file->level * tone) / 32768.0);
}

void
takes_put(const TakeFile* file) {
  SF_INFO        info = {.channels = (int)file->n_channels,
                         .samplerate = (int)file->rate_hz,
                         .format = file->format};
  SNDFILE* const out = sf_open(file->path, SFM_WRITE, &info);
  const size_t   n_values = file->n_frames * file->n_channels;
  float* const   values = calloc(n_values + 1, sizeof(float));
  if (!out || !values) {
    abort();
  }
  sf_command(out, SFC_SET_CLIPPING, NULL, SF_TRUE);
  if (file->constant) {
    int    mode = SF_BITRATE_MODE_CONSTANT;
    double most = 0.0;
    sf_command(out, SFC_SET_BITRATE_MODE, &mode, sizeof(mode));
    sf_command(out, SFC_SET_COMPRESSION_LEVEL, &most, sizeof(most));
  }
  for (size_t i = 0; i < n_values; ++i) {
    values[i] = takes_value(file, i / file->n_channels);
  }
  // In portions: some writers fail at many frames at once.
  for (size_t at = 0; at < file->n_frames; at += 4096) {
    const size_t left = file->n_frames - at;
    sf_writef_float(out,
                    values + at * file->n_channels,
                    (sf_count_t)(left < 4096 ? left : 4096));
  }
  free(values);
  if (sf_close(out)) {
    abort();
  }
}

void
takes_cut(const char* path, size_t n_bytes) {
  if (truncate(path, (off_t)n_bytes)) {
    abort();
  }
}

static void
put(unsigned char** at, uint32_t number, unsigned n_bytes) {
  for (unsigned i = 0; i < n_bytes; ++i) {
    *(*at)++ = (unsigned char)(number >> (8U * i));
  }
}

void
takes_put_header(const char* path, const TakeHeader* header) {
  unsigned char* const bytes = calloc(44 + header->n_bytes, 1);
  if (!bytes) {
    abort();
  }
  const uint32_t block = header->n_channels * header->bits / 8;
  memcpy(bytes, "RIFF____WAVEfmt ____________________data____", 44);
  unsigned char* at = bytes + 4;
  put(&at, (uint32_t)(36 + header->n_bytes), 4);
  at = bytes + 16;
  put(&at, 16, 4);
  put(&at, header->tag, 2);
  put(&at, header->n_channels, 2);
  put(&at, header->rate_hz, 4);
  put(&at, header->rate_hz * block, 4);
  put(&at, block, 2);
  put(&at, header->bits, 2);
  at = bytes + 40;
  put(&at, header->data_bytes, 4);
  folder_put(path, bytes, 44 + header->n_bytes);
  free(bytes);
}

static int
n_open_descriptors(void) {
  int n_open = 0;
  for (int fd = 0; fd < 64; ++fd) {
    n_open += fcntl(fd, F_GETFD) >= 0;
  }
  return n_open;
}

VwStatus
takes_read(const char* path, VwSound* sound, VwReadFault* fault) {
  const VwReadOptions options = vw_read_defaults();
  const VwSound       before = {NULL, 77, 77, 77};
  *sound = before;
  const int      n_open = n_open_descriptors();
  const VwStatus st = vw_read(path, &options, sound, fault);
  assert_int_equal(n_open_descriptors(), n_open);
  if (st) {
    assert_memory_equal(sound, &before, sizeof(before));
  }
  return st;
}

VwStatus
takes_status(const char* path) {
  VwSound        sound;
  const VwStatus st = takes_read(path, &sound, NULL);
  if (!st) {
    vw_sound_clear(&sound);
  }
  return st;
}
