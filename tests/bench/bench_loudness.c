// How long loudness and true peak of a minute take, against libebur128 alone
// doing the same: momentary every 10 ms, short-term every 100 ms, integrated,
// range, and true peak.
//
//     bench_loudness
//
// Wanted: within 1.3 times.

#include "signal/signal.h"

#include "volleyweave/volleyweave.h"

#include <ebur128.h>

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

enum { RATE_HZ = 44100, SECONDS = 60, N_RUNS = 5 };

static void
fail(const char* what) {
  fprintf(stderr, "bench_loudness: %s\n", what);
  exit(1);
}

// Shots of noise, eight a second.
static VwSound
make_minute(void) {
  VwSound  sound = {NULL, 0, 0, 0};
  uint64_t bits = 1;
  if (vw_sound_init(&sound, (size_t)SECONDS * RATE_HZ, 1, RATE_HZ)) {
    fail("no memory");
  }
  for (size_t i = 0; i < sound.n_frames; ++i) {
    bits = bits * 6364136223846793005U + 1442695040888963407U;
    const double noise = (double)(bits >> 40U) / 8388608.0 - 1.0;
    const double since_s = (double)(i % (RATE_HZ / 8U)) / RATE_HZ;
    sound.values[i] = (float)(0.8 * noise * exp(-since_s / 0.03));
  }
  return sound;
}

static void
measure_ours(const VwSound* sound) {
  VwLoudness loudness;
  if (vw_loudness_measure(sound, &loudness)) {
    fail("not measured");
  }
}

static void
measure_alone(const VwSound* sound) {
  const int modes = EBUR128_MODE_I | EBUR128_MODE_LRA | EBUR128_MODE_M |
                    EBUR128_MODE_S | EBUR128_MODE_TRUE_PEAK;
  ebur128_state* meter = ebur128_init(1, RATE_HZ, modes);
  if (!meter) {
    fail("no meter");
  }
  double value = 0.0;
  int    failed = 0;
  for (size_t at = 0; at < sound->n_frames; at += RATE_HZ / 100) {
    failed |=
      ebur128_add_frames_float(meter, sound->values + at, RATE_HZ / 100);
    failed |= ebur128_loudness_momentary(meter, &value);
    // As often as a live meter must (EBU Tech 3341).
    failed |=
      at % (RATE_HZ / 10) ? 0 : ebur128_loudness_shortterm(meter, &value);
  }
  failed |= ebur128_loudness_global(meter, &value);
  failed |= ebur128_loudness_range(meter, &value);
  failed |= ebur128_true_peak(meter, 0, &value);
  ebur128_destroy(&meter);
  if (failed) {
    fail("libebur128 alone failed");
  }
}

static double
seconds_now(void) {
  struct timespec now;
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

// Shortest of several runs.
static double
seconds_for(void (*measure)(const VwSound* sound), const VwSound* sound) {
  double shortest = HUGE_VAL;
  for (int i = 0; i < N_RUNS; ++i) {
    const double start = seconds_now();
    measure(sound);
    shortest = fmin(shortest, seconds_now() - start);
  }
  return shortest;
}

int
main(void) {
  VwSound      sound = make_minute();
  const double ours_s = seconds_for(measure_ours, &sound);
  const double alone_s = seconds_for(measure_alone, &sound);
  vw_sound_clear(&sound);
  printf("a minute: %.3f s, libebur128 alone %.3f s, ratio %.2f\n",
         ours_s,
         alone_s,
         ours_s / alone_s);
  return 0;
}
