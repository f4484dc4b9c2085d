#include "support/wav_files.h"

#include "support/signals.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define ATTACK_S 0.1
#define DECAY_S 0.5
#define LEVEL 0.4
#define PI 3.14159265358979323846

void
bytes_write(const char* path, const void* bytes, size_t n_bytes) {
  FILE* const  stream = fopen(path, "wb");
  const size_t n = stream ? fwrite(bytes, 1U, n_bytes, stream) : 0U;
  if (!stream || fclose(stream) || n != n_bytes) {
    perror(path);
    exit(1);
  }
}

static void
add_shot(VwSound* sound, double start_s, double rise_s, double pitch_hz) {
  const SignalBurst burst = {.start_s = start_s,
                             .rise_s = rise_s,
                             .decay_s = DECAY_S,
                             .level = LEVEL,
                             .pitch_hz = pitch_hz};
  SignalRandom      random = signal_random(7);
  signal_add_burst(sound, &burst, &random);
}

static void
add_tone(VwSound* sound, double hz, int swells, int glides) {
  for (size_t i = 0; i < sound->n_frames * sound->n_channels; ++i) {
    const double at = (double)(i / sound->n_channels);
    const double part = at / (double)sound->n_frames;
    const double level = swells ? 0.5 - 0.5 * cos(2.0 * PI * part) : 1.0;
    const double turns =
      (glides ? 1.0 + part / 2.0 : 1.0) * hz * at / sound->rate_hz;
    sound->values[i] = (float)(LEVEL * level * sin(2.0 * PI * turns));
  }
}

/// Fade both ends over a tenth of the whole.
static void
fade_ends(VwSound* sound) {
  for (size_t i = 0; i < sound->n_frames * sound->n_channels; ++i) {
    const double part =
      (double)(i / sound->n_channels) / (double)sound->n_frames;
    sound->values[i] *= (float)fmin(10.0 * fmin(part, 1.0 - part), 1.0);
  }
}

static void
add_rapid(VwSound* sound, SignalRandom* random) {
  const double length_s = (double)sound->n_frames / sound->rate_hz;
  for (double at_s = ATTACK_S; at_s + 0.05 < length_s; at_s += 0.08) {
    const SignalBurst burst = {
      .start_s = at_s, .decay_s = DECAY_S / 3.0, .level = LEVEL};
    signal_add_burst(sound, &burst, random);
  }
}

static void
fill_sound(VwSound* sound, Fill fill) {
  SignalRandom random = signal_random(11);
  switch (fill) {
    case FILL_SILENCE:
      return;
    case FILL_CONSTANT:
      signal_add_offset(sound, LEVEL);
      return;
    case FILL_NOISE:
      signal_add_noise(sound, 0.01, &random);
      return;
    case FILL_HORN:
      add_tone(sound, 150.0, 0, 0);
      fade_ends(sound);
      return;
    case FILL_HUM:
    case FILL_GLIDE:
      add_tone(sound, 150.0, 0, fill == FILL_GLIDE);
      return;
    case FILL_LOW:
      add_tone(sound, 40.0, 1, 0);
      return;
    case FILL_SLOW:
      add_shot(sound, ATTACK_S, 0.1, 440.0);
      break;
    case FILL_TWICE:
      add_shot(sound, ATTACK_S + 1.0, 0.0, 0.0);
      add_shot(sound, ATTACK_S, 0.0, 0.0);
      break;
    case FILL_UNEVEN:
      add_shot(sound, ATTACK_S + 1.8, 0.0, 0.0);
      add_shot(sound, ATTACK_S + 0.7, 0.0, 0.0);
      add_shot(sound, ATTACK_S, 0.0, 0.0);
      break;
    case FILL_RAPID:
      add_rapid(sound, &random);
      break;
    default:
      add_shot(sound, ATTACK_S, 0.0, 0.0);
  }
  signal_add_noise(sound, 0.0001, &random);
}

/// Have every second channel come 8 ms after the one before it.
static void
delay_sides(VwSound* sound) {
  const size_t n_late = sound->rate_hz / 125U * sound->n_channels;
  for (size_t i = sound->n_frames * sound->n_channels; i-- > 0;) {
    if (i % sound->n_channels % 2U) {
      sound->values[i] = i > n_late ? sound->values[i - 1U - n_late] : 0.0F;
    }
  }
}

static void
spoil_sound(VwSound* sound, Fill fill) {
  const size_t n_values = sound->n_frames * sound->n_channels;
  for (size_t i = 0; i < n_values; ++i) {
    float* const value = &sound->values[i];
    if (fill == FILL_CLIPPED) {
      *value = fmaxf(-1.0F, fminf(1.0F, 4.0F * *value));
    } else if (fill == FILL_OPPOSED && i % sound->n_channels % 2U) {
      *value = -sound->values[i - 1U];
    } else if (fill == FILL_DEAD && i % sound->n_channels % 2U) {
      *value = 0.0F;
    } else if (fill == FILL_OFFSET) {
      *value += 0.25F;
    }
  }
  if (fill == FILL_LATE) {
    delay_sides(sound);
  } else if (fill == FILL_NAN) {
    sound->values[n_values / 2U] = NAN;
  } else if (fill == FILL_INFINITE) {
    sound->values[n_values / 2U] = INFINITY;
  }
}

static unsigned char*
put(unsigned char* at, uint32_t number, unsigned n_bytes) {
  for (unsigned i = 0; i < n_bytes; ++i) {
    *at++ = (unsigned char)(number >> 8U * i & 0xFFU);
  }
  return at;
}

static unsigned char*
put_value(unsigned char* at, float value, int is_float) {
  if (is_float) {
    memcpy(at, &value, sizeof(value));
    return at + sizeof(value);
  }
  const long code = lroundf(fmaxf(-1.0F, fminf(1.0F, value)) * 32767.0F);
  return put(at, (uint32_t)code, 2U);
}

/// The 44 bytes before the data (Microsoft, "New Multimedia Data Types and Data
/// Techniques" 3.0, 1994).
static unsigned char*
put_header(unsigned char* at, const WavFile* file, const VwSound* sound) {
  const uint32_t bytes = file->is_float ? 4U : 2U;
  const uint32_t n_data =
    (uint32_t)(sound->n_frames * sound->n_channels) * bytes;
  const uint32_t n_channels = file->no_channels ? 0U : sound->n_channels;
  memcpy(at, "RIFF", 4U);
  put(at + 4, n_data + 36U, 4U);
  memcpy(at + 8, "WAVEfmt ", 8U);
  put(at + 16, 16U, 4U);
  put(at + 20, file->is_float ? 3U : 1U, 2U);
  put(at + 22, n_channels, 2U);
  put(at + 24, sound->rate_hz, 4U);
  put(at + 28, sound->rate_hz * n_channels * bytes, 4U);
  put(at + 32, n_channels * bytes, 2U);
  put(at + 34, 8U * bytes, 2U);
  memcpy(at + 36, "data", 4U);
  put(at + 40, n_data, 4U);
  return at + 44;
}

void
wav_file_write(const WavFile* file) {
  const unsigned rate_hz = file->rate_hz ? file->rate_hz : 44100U;
  const unsigned n_channels = file->n_channels ? file->n_channels : 1U;
  const size_t   n_frames =
    file->seconds > 0.0 ? (size_t)(file->seconds * rate_hz) : file->n_frames;
  VwSound sound = {calloc(n_frames * n_channels + 1U, sizeof(float)),
                   n_frames,
                   n_channels,
                   rate_hz};
  unsigned char* const bytes = malloc(44U + 4U * n_frames * n_channels);
  if (!sound.values || !bytes) {
    exit(1);
  }
  if (n_frames) {
    fill_sound(&sound, file->fill);
    spoil_sound(&sound, file->fill);
  }
  unsigned char* end = put_header(bytes, file, &sound);
  for (size_t i = 0; i < n_frames * n_channels; ++i) {
    end = put_value(end, sound.values[i], file->is_float);
  }
  const size_t n = (size_t)(end - bytes);
  const double there = file->there > 0.0 ? file->there : 1.0;
  bytes_write(file->path, bytes, 44U + (size_t)((double)(n - 44U) * there));
  free(bytes);
  free(sound.values);
}
