// What a picture costs: the program with --plot against the same without, of a
// take of 1 s and of one of 10 min.
//
//     bench_plot PROGRAM                 compare
//     bench_plot --write FILE SECONDS    write a take

#include "support/folder.h"
#include "support/signals.h"

#include <sndfile.h>

#include <spawn.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

extern char** environ;

enum { RUNS_MOST = 21, LONG_RUNS = 3, RATE_HZ = 48000 };

static void
fail(const char* what) {
  fprintf(stderr, "bench_plot: %s\n", what);
  exit(1);
}

/// A take of bursts, one a second, over some noise.
static void
write_take(const char* path, double seconds) {
  SignalRandom random = signal_random(1);
  VwSound      sound = signal_silence(seconds, RATE_HZ);
  signal_add_noise(&sound, 1e-3, &random);
  for (double s = 0.1; s < seconds; s += 1.0) {
    const SignalBurst burst = {.start_s = s, .decay_s = 0.5, .level = 0.4};
    signal_add_burst(&sound, &burst, &random);
  }
  SF_INFO          info = {.samplerate = RATE_HZ,
                           .channels = 1,
                           .format = SF_FORMAT_WAV | SF_FORMAT_PCM_16};
  SNDFILE* const   file = sf_open(path, SFM_WRITE, &info);
  const sf_count_t n = (sf_count_t)sound.n_frames;
  if (!file || sf_write_float(file, sound.values, n) != n || sf_close(file)) {
    fail("cannot write a take");
  }
  vw_sound_clear(&sound);
}

/// What a run cost.
typedef struct {
  double wall_ms;
  double peak_mib;
} Cost;

/// Run a line, a process of its own for the peak of its memory alone.
static Cost
run(const char* const* args) {
  struct timespec    before;
  struct timespec    after;
  struct rusage      usage;
  pid_t              child = 0;
  int                status = 0;
  char* const* const writable = (char* const*)(uintptr_t)args;
  clock_gettime(CLOCK_MONOTONIC, &before);
  if (posix_spawn(&child, args[0], NULL, NULL, writable, environ) ||
      wait4(child, &status, 0, &usage) < 0 || !WIFEXITED(status) ||
      (WEXITSTATUS(status) != 0 && WEXITSTATUS(status) != 3)) {
    fail("a process failed");
  }
  clock_gettime(CLOCK_MONOTONIC, &after);
  return (Cost){1e3 * (double)(after.tv_sec - before.tv_sec) +
                  1e-6 * (double)(after.tv_nsec - before.tv_nsec),
                (double)usage.ru_maxrss / 1024.0};
}

static int
compare_doubles(const void* a, const void* b) {
  const double x = *(const double*)a;
  const double y = *(const double*)b;
  return (x > y) - (x < y);
}

static double
median(double* values, size_t n) {
  qsort(values, n, sizeof(double), compare_doubles);
  return values[n / 2U];
}

/// Write a take in a process of its own: what this one ever held counts for all
/// that it starts.
static void
write_apart(const char* bench, const char* path, const char* seconds) {
  const char* const args[] = {bench, "--write", path, seconds, NULL};
  (void)run(args);
}

/// A name as it is, or from the folder at hand.
static char*
whole(const char* path) {
  static char here[4096];
  char* const made = malloc(sizeof(here) + strlen(path) + 2U);
  if (!made || !getcwd(here, sizeof(here))) {
    fail("cannot name a program");
  }
  strcpy(made, path[0] == '/' ? "" : here);
  strcat(made, path[0] == '/' ? "" : "/");
  return strcat(made, path);
}

/// A command with what it needs, a picture and a take to come.
typedef struct {
  const char* name;
  const char* args[5];
} Command;

static void
compare(const char*    program,
        const Command* command,
        const char*    take,
        size_t         n_runs) {
  static const char* const pictures[] = {"it.svg", "it.png"};
  for (size_t i = 0; i < 2U; ++i) {
    const char* plain[12] = {program, command->name, "-q", "-f"};
    const char* drawn[12] = {
      program, command->name, "-q", "-f", "--plot", pictures[i]};
    double more_ms[RUNS_MOST];
    double more_mib = 0.0;
    size_t n = 0;
    for (; command->args[n]; ++n) {
      plain[4U + n] = command->args[n];
      drawn[6U + n] = command->args[n];
    }
    plain[4U + n] = take;
    drawn[6U + n] = take;
    // Both in turn, so that a slow moment of the machine hits both alike.
    for (size_t k = 0; k < n_runs; ++k) {
      const Cost one = run(plain);
      const Cost two = run(drawn);
      more_ms[k] = two.wall_ms - one.wall_ms;
      const double mib = two.peak_mib - one.peak_mib;
      more_mib = mib > more_mib ? mib : more_mib;
    }
    printf("%s of %s, %s: %.0f ms and %.0f MiB more\n",
           command->name,
           take,
           pictures[i] + 3,
           median(more_ms, n_runs),
           more_mib);
  }
}

int
main(int argc, char** argv) {
  static const Command commands[] = {
    {"inspect", {NULL}},
    {"shot", {"-o", "sounds", NULL}},
    {"loop", {"-o", "sounds", NULL}},
    {"convert", {"-o", "sounds", NULL}},
    {"check", {"--board", "wav-44k-mono", NULL}}};
  // In memory where the system has a place for that: no disk is measured.
  const bool in_memory = !access("/dev/shm", W_OK);
  void*      folder = NULL;
  if (argc == 4 && !strcmp(argv[1], "--write")) {
    write_take(argv[2], atof(argv[3]));
    return 0;
  }
  if (argc != 2) {
    fail("usage: bench_plot PROGRAM");
  }
  char* const bench = whole(argv[0]);
  char* const program = whole(argv[1]);
  if ((in_memory && setenv("TMPDIR", "/dev/shm", 0)) || folder_enter(&folder)) {
    fail("cannot make a folder");
  }
  write_apart(bench, "1s.wav", "1");
  write_apart(bench, "10min.wav", "600");
  // Warnings, and what is amiss with a take, are of no interest here.
  if (!freopen("/dev/null", "w", stderr)) {
    fail("cannot be quiet");
  }
  for (size_t i = 0; i < sizeof(commands) / sizeof(commands[0]); ++i) {
    compare(program, &commands[i], "1s.wav", RUNS_MOST);
  }
  compare(program, &commands[0], "10min.wav", LONG_RUNS);
  compare(program, &commands[3], "10min.wav", LONG_RUNS);
  compare(program, &commands[4], "10min.wav", LONG_RUNS);
  free(bench);
  free(program);
  return folder_leave(&folder);
}
