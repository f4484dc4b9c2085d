/*
 * Make the demo take: a fog knapper, the tool with which the lamp keepers of
 * the Wenmarrow coast knock a lane through the fog. A hard knock, a falling
 * tone, a hollow barrel, and the echo of a stone gallery behind it.
 *
 *     make-demo-take OUT.wav            write it
 *     make-demo-take --check FILE.wav   say whether FILE.wav is it
 *
 * Everything is computed, nothing was recorded. The same program makes the same
 * file; with another mathematics library single frames may move by one step.
 */
#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
  RATE_HZ = 44100,
  N_FRAMES = 55125, // 1.25 s
  ATTACK = 3528,    // 80 ms of room before the knock
  N_LINES = 8
};

static const double two_pi = 6.283185307179586;

/// 80 ms of quiet, then the shot; full scale is 1 until it is written.
static double take[N_FRAMES];

/// The file.
static unsigned char bytes[44 + 2 * N_FRAMES];

/// White noise between -1 and 1: a linear congruential generator with the
/// constants of D. Knuth's MMIX.
static double
noise(uint64_t* state) {
  *state = *state * UINT64_C(6364136223846793005) + 1442695040888963407U;
  return (double)(*state >> 11) / 4503599627370496.0 - 1.0;
}

/// One-pole low-pass.
static double
smooth(double* memory, double value, double corner_hz) {
  *memory += (1.0 - exp(-two_pi * corner_hz / RATE_HZ)) * (value - *memory);
  return *memory;
}

/// Decay to 1/e after `time_s`, started within 0.4 ms so that it does not tick.
static double
envelope(double t_s, double time_s) {
  return (1.0 - exp(-t_s / 0.0001)) * exp(-t_s / time_s);
}

/// The knock: a burst of noise, bright at first.
static void
add_knock(uint64_t* state) {
  double low = 0.0;
  for (size_t i = ATTACK; i < N_FRAMES; i++) {
    const double t_s = (double)(i - ATTACK) / RATE_HZ;
    const double hz = 1200.0 + 9000.0 * exp(-t_s / 0.012);
    take[i] += 2.2 * envelope(t_s, 0.010) * smooth(&low, noise(state), hz);
  }
}

/// The tone, from 2.9 kHz down to 260 Hz, roughened by a second one.
static void
add_falling_tone(void) {
  double phase = 0.0;
  for (size_t i = ATTACK; i < N_FRAMES; i++) {
    const double t_s = (double)(i - ATTACK) / RATE_HZ;
    const double hz = 260.0 + 2640.0 * exp(-t_s / 0.026);
    phase += two_pi * hz / RATE_HZ;
    const double rough = 1.6 * exp(-t_s / 0.045) * sin(1.41 * phase);
    take[i] += 0.75 * envelope(t_s, 0.055) * sin(phase + rough);
  }
}

/// The barrel: three tones that do not belong to one scale.
static void
add_barrel(void) {
  static const double hz[] = {187.0, 431.0, 1012.0};
  static const double gain[] = {0.45, 0.28, 0.16};
  static const double time_s[] = {0.085, 0.070, 0.050};
  for (size_t k = 0; k < 3; k++) {
    for (size_t i = ATTACK; i < N_FRAMES; i++) {
      const double t_s = (double)(i - ATTACK) / RATE_HZ;
      take[i] += gain[k] * envelope(t_s, time_s[k]) * sin(two_pi * hz[k] * t_s);
    }
  }
}

/**
 * The gallery: eight delays that feed each other through a Householder matrix
 * (J.-M. Jot and A. Chaigne, "Digital delay networks for designing artificial
 * reverberators", AES 90th Convention, 1991, preprint 3030). Each loses 60 dB
 * in 1.05 s, and more at the top.
 */
static void
add_gallery(void) {
  static const size_t length[N_LINES] = {
    887, 1091, 1277, 1493, 1699, 1913, 2131, 2357};
  static double line[N_LINES][2400];
  double        low[N_LINES] = {0.0};
  for (size_t i = ATTACK; i < N_FRAMES; i++) {
    double out[N_LINES];
    double sum = 0.0;
    for (size_t k = 0; k < N_LINES; k++) {
      const double lost = pow(10.0, -3.0 * (double)length[k] / RATE_HZ / 1.05);
      out[k] = lost * smooth(&low[k], line[k][i % length[k]], 7000.0);
      sum += out[k];
    }
    const double dry = take[i];
    for (size_t k = 0; k < N_LINES; k++) {
      line[k][i % length[k]] = dry + out[k] - 2.0 / N_LINES * sum;
    }
    take[i] = dry + 0.55 * (out[0] - out[1] + out[2] - out[3] + out[4] -
                            out[5] + out[6] - out[7]);
  }
}

/// The room's own noise, -66 dBFS, soft at the top.
static void
add_room(uint64_t* state) {
  double low = 0.0;
  double square = 0.0;
  double room[N_FRAMES];
  for (size_t i = 0; i < N_FRAMES; i++) {
    room[i] = smooth(&low, noise(state), 1500.0);
    square += room[i] * room[i];
  }
  const double gain = pow(10.0, -66.0 / 20.0) / sqrt(square / N_FRAMES);
  for (size_t i = 0; i < N_FRAMES; i++) {
    take[i] += gain * room[i];
  }
}

/// Bring the highest value to -1.5 dBFS.
static void
set_level(void) {
  double peak = 0.0;
  for (size_t i = 0; i < N_FRAMES; i++) {
    peak = fmax(peak, fabs(take[i]));
  }
  for (size_t i = 0; i < N_FRAMES; i++) {
    take[i] *= pow(10.0, -1.5 / 20.0) / peak;
  }
}

static void
put(unsigned char* to, uint32_t value, size_t n_bytes) {
  for (size_t i = 0; i < n_bytes; i++) {
    to[i] = (unsigned char)(value >> (8 * i));
  }
}

static void
fill_bytes(void) {
  memcpy(bytes, "RIFF....WAVEfmt ", 16);
  put(bytes + 4, 36 + 2 * N_FRAMES, 4);
  put(bytes + 16, 16, 4);
  put(bytes + 20, 1, 2); // PCM
  put(bytes + 22, 1, 2); // mono
  put(bytes + 24, RATE_HZ, 4);
  put(bytes + 28, 2 * RATE_HZ, 4);
  put(bytes + 32, 2, 2);
  put(bytes + 34, 16, 2);
  memcpy(bytes + 36, "data", 4);
  put(bytes + 40, 2 * N_FRAMES, 4);
  for (size_t i = 0; i < N_FRAMES; i++) {
    put(bytes + 44 + 2 * i, (uint32_t)(int32_t)lrint(32768.0 * take[i]), 2);
  }
}

static bool
write_take(const char* path) {
  FILE* const file = fopen(path, "wb");
  if (!file) {
    return false;
  }
  const bool written = fwrite(bytes, sizeof(bytes), 1, file) == 1;
  return fclose(file) == 0 && written;
}

/// Whether the file is the take, give or take one step in any frame.
static bool
is_take(const char* path) {
  static unsigned char other[sizeof(bytes) + 1];
  FILE* const          file = fopen(path, "rb");
  if (!file) {
    return false;
  }
  const size_t n_bytes = fread(other, 1, sizeof(other), file);
  fclose(file);
  bool same = n_bytes == sizeof(bytes) && !memcmp(bytes, other, 44);
  for (size_t i = 44; same && i < n_bytes; i += 2) {
    const int here = (int16_t)(bytes[i] | bytes[i + 1] << 8);
    const int there = (int16_t)(other[i] | other[i + 1] << 8);
    same = abs(here - there) <= 1;
  }
  return same;
}

int
main(int argc, char** argv) {
  const bool check = argc == 3 && !strcmp(argv[1], "--check");
  uint64_t   state = 1;
  if (argc != 2 && !check) {
    fprintf(stderr, "usage: make-demo-take [--check] FILE.wav\n");
    return 2;
  }
  add_knock(&state);
  add_falling_tone();
  add_barrel();
  add_gallery();
  set_level();
  add_room(&state);
  fill_bytes();
  if (check ? !is_take(argv[2]) : !write_take(argv[1])) {
    fprintf(stderr,
            "make-demo-take: %s: %s\n",
            argv[argc - 1],
            check ? "is not what this program makes" : "cannot be written");
    return 1;
  }
  return EXIT_SUCCESS;
}
