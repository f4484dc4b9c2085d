// How long the program takes to make a loop, against a process that reads the
// same take and writes files of the same length with libsndfile alone, and
// against one that also converts the take and measures its loudness and true
// peak, with the libraries alone.
//
//     bench_loop PROGRAM TAKE                    compare
//     bench_loop --plain TAKE RATE FOLDER N...   the plain process
//     bench_loop --chain TAKE RATE FOLDER N...   the chain of libraries
//
// Wanted in processor time: 4 times the plain process, 1 time the chain.

#include "support/folder.h"

#include <ebur128.h>
#include <sndfile.h>
#include <soxr.h>

#include <spawn.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

extern char** environ;

enum { N_RUNS = 31, N_PARTS = 4, MAX_ARGS = 16, MAX_PATH = 512 };

static const char* const parts[N_PARTS] = {"shot", "runin", "loop", "ringout"};

static void
fail(const char* what) {
  fprintf(stderr, "bench_loop: %s\n", what);
  exit(1);
}

/* The other processes */

static void
write_part(char** args, int part, const float* values) {
  char       path[MAX_PATH];
  const long n = atol(args[3 + part]);
  SF_INFO    info = {.samplerate = atoi(args[1]),
                     .channels = 1,
                     .format = SF_FORMAT_WAV | SF_FORMAT_PCM_16};
  snprintf(path, sizeof(path), "%s/other.%s.wav", args[2], parts[part]);
  SNDFILE* const file = sf_open(path, SFM_WRITE, &info);
  if (!file || sf_write_float(file, values, n) != n || sf_close(file)) {
    fail("cannot write");
  }
}

// Convert a take to another rate, at soxr's own setting, HQ.
static size_t
convert(float** values, size_t n_room, size_t n, double from_hz, double to_hz) {
  float* const out = calloc(n_room, sizeof(float));
  size_t       n_out = 0;
  if (from_hz == to_hz) {
    free(out);
    return n;
  }
  if (!out || soxr_oneshot(from_hz,
                           to_hz,
                           1,
                           *values,
                           n,
                           NULL,
                           out,
                           n_room,
                           &n_out,
                           NULL,
                           NULL,
                           NULL)) {
    fail("cannot convert");
  }
  free(*values);
  *values = out;
  return n_out;
}

static void
measure(const float* values, size_t n, unsigned rate_hz) {
  ebur128_state* meter =
    ebur128_init(1, rate_hz, EBUR128_MODE_M | EBUR128_MODE_TRUE_PEAK);
  const size_t n_step = rate_hz / 100U;
  double       value = 0.0;
  int          failed = !meter;
  for (size_t at = 0; !failed && at < n; at += n_step) {
    const size_t n_part = n - at < n_step ? n - at : n_step;
    failed |= ebur128_add_frames_float(meter, values + at, n_part);
    failed |= ebur128_loudness_momentary(meter, &value);
  }
  if (failed || ebur128_true_peak(meter, 0, &value)) {
    fail("cannot measure");
  }
  ebur128_destroy(&meter);
}

// Read a take, convert and measure it if asked, and write the parts.
static int
process(bool is_chain, char** args) {
  SF_INFO        info = {0};
  SNDFILE* const file = sf_open(args[0], SFM_READ, &info);
  if (!file) {
    fail("cannot read the take");
  }
  size_t n_room = (size_t)info.frames;
  for (int i = 0; i < N_PARTS; ++i) {
    const size_t n = (size_t)atol(args[3 + i]);
    n_room = n > n_room ? n : n_room;
  }
  float* values = calloc(n_room, sizeof(float));
  if (!values || sf_readf_float(file, values, info.frames) != info.frames) {
    fail("cannot read the take");
  }
  sf_close(file);
  if (is_chain) {
    const int    rate_hz = atoi(args[1]);
    const size_t n =
      convert(&values, n_room, (size_t)info.frames, info.samplerate, rate_hz);
    measure(values, n, (unsigned)rate_hz);
  }
  for (int i = 0; i < N_PARTS; ++i) {
    write_part(args, i, values);
  }
  free(values);
  return 0;
}

/* The comparison */

typedef struct {
  double wall_ms;
  double cpu_ms;
  double peak_mib;
} Cost;

static double
ms_of(struct timeval time) {
  return 1e3 * (double)time.tv_sec + 1e-3 * (double)time.tv_usec;
}

static struct rusage
usage_so_far(void) {
  struct rusage usage;
  if (getrusage(RUSAGE_CHILDREN, &usage)) {
    fail("no usage is told");
  }
  return usage;
}

static Cost
run(const char* const* args) {
  struct timespec     before;
  struct timespec     after;
  pid_t               child = 0;
  int                 status = 0;
  const struct rusage used = usage_so_far();
  clock_gettime(CLOCK_MONOTONIC, &before);
  // The process is promised not to write to them.
  char* const* const writable = (char* const*)(uintptr_t)args;
  if (posix_spawn(&child, args[0], NULL, NULL, writable, environ) ||
      waitpid(child, &status, 0) < 0 || status) {
    fail("a process failed");
  }
  clock_gettime(CLOCK_MONOTONIC, &after);
  const struct rusage usage = usage_so_far();
  return (Cost){1e3 * (double)(after.tv_sec - before.tv_sec) +
                  1e-6 * (double)(after.tv_nsec - before.tv_nsec),
                ms_of(usage.ru_utime) + ms_of(usage.ru_stime) -
                  ms_of(used.ru_utime) - ms_of(used.ru_stime),
                (double)usage.ru_maxrss / 1024.0};
}

static int
compare_doubles(const void* a, const void* b) {
  const double x = *(const double*)a;
  const double y = *(const double*)b;
  return (x > y) - (x < y);
}

static double
median(double* values) {
  qsort(values, N_RUNS, sizeof(double), compare_doubles);
  return values[N_RUNS / 2];
}

static long
frames_of(const char* path) {
  struct stat status;
  if (stat(path, &status)) {
    fail("the program made no file");
  }
  return (long)((status.st_size - 44) / 2);
}

// Both in turn, so that a slow moment of the machine hits both alike.
static void
compare(const char*        rate,
        const char*        other_name,
        const char* const* made,
        const char* const* other) {
  double wall_ms[N_RUNS];
  double ratio[N_RUNS];
  double cpu_ratio[N_RUNS];
  double peak_mib = 0.0;
  for (int i = 0; i < N_RUNS; ++i) {
    const Cost one = run(made);
    const Cost two = run(other);
    wall_ms[i] = one.wall_ms;
    ratio[i] = one.wall_ms / two.wall_ms;
    cpu_ratio[i] = one.cpu_ms / two.cpu_ms;
    peak_mib = one.peak_mib > peak_mib ? one.peak_mib : peak_mib;
  }
  printf("loop at %s Hz: %.2f times %s (%.2f in processor time), %.1f ms, "
         "peak %.1f MiB\n",
         rate,
         median(ratio),
         other_name,
         median(cpu_ratio),
         median(wall_ms),
         peak_mib);
}

static void
bench(const char* const* args, const char* rate, const char* folder) {
  const char* const take = args[2];
  char              frames[N_PARTS][32];
  const char*       made[MAX_ARGS] = {args[1],
                                      "loop",
                                      "--quiet",
                                      "--fire-rate",
                                      "9/s",
                                      "--sample-rate",
                                      rate,
                                      "-o",
                                      folder,
                                      take};
  const char*       other[MAX_ARGS] = {args[0], "--plain", take, rate, folder};
  run(made);
  const char* const slash = strrchr(take, '/');
  const char* const name = slash ? slash + 1 : take;
  for (int i = 0; i < N_PARTS; ++i) {
    char path[MAX_PATH];
    snprintf(path,
             sizeof(path),
             "%s/%.*s.%s.wav",
             folder,
             (int)(strlen(name) - 4),
             name,
             parts[i]);
    snprintf(frames[i], sizeof(frames[i]), "%ld", frames_of(path));
    other[5 + i] = frames[i];
  }
  compare(rate, "a plain read and write", made, other);
  other[1] = "--chain";
  compare(rate, "a chain of libraries", made, other);
}

int
main(int argc, char** argv) {
  // In memory where the system has a place for that: no disk is measured.
  const bool in_memory = !access("/dev/shm", W_OK);
  void*      folder = NULL;
  const bool is_chain = argc == 5 + N_PARTS && !strcmp(argv[1], "--chain");
  if (is_chain || (argc == 5 + N_PARTS && !strcmp(argv[1], "--plain"))) {
    return process(is_chain, argv + 2);
  }
  if (argc != 3) {
    fail("usage: bench_loop PROGRAM TAKE");
  }
  if ((in_memory && setenv("TMPDIR", "/dev/shm", 0)) ||
      !(folder = folder_make())) {
    fail("cannot make a folder");
  }
  bench((const char* const*)argv, "44100", folder);
  bench((const char* const*)argv, "22050", folder);
  return folder_leave(&folder);
}
