// How long packing takes with one thread and with two, and with more sounds;
// and how much memory it takes.
//
//     bench_pack [N_TAKES]
//
// Wanted of 1,000 takes: two cores at least 1.9 times as fast as one; under 100
// MiB, the same for 100; the slope of log time over log size between 0.9
// and 1.1 from 100 to 3,000.

#define _XOPEN_SOURCE 700

#include "board/board.h"
#include "pack/pack.h"
#include "support/folder.h"
#include "support/packs.h"

#include "volleyweave/volleyweave.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { TAKES_MOST = 3000 };

/// What one run took.
typedef struct {
  double seconds;
  double mebibytes;
} Cost;

static char        paths[TAKES_MOST][24];
static char        names[TAKES_MOST][24];
static const char* path_of[TAKES_MOST];

static double
seconds_now(void) {
  struct timespec now;
  clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static void
pack(size_t n_takes, size_t n_threads, const char* folder) {
  VwSoundWish* const  wishes = calloc(n_takes, sizeof(VwSoundWish));
  const VwBoard       board = packs_board();
  const VwPackOptions options = packs_options(&board, folder);
  VwPack              made;
  if (!wishes) {
    abort();
  }
  for (size_t i = 0; i < n_takes; ++i) {
    wishes[i] = packs_wish(names[i], VW_MAKE_LOOP, &path_of[i]);
  }
  if (!packs_make(wishes, n_takes, &options, n_threads, &made) ||
      made.sums.n_failed) {
    abort();
  }
  vw_pack_clear(&made);
  free(wishes);
}

// Packs in a process of its own, whose memory can be told.
static Cost
run(size_t n_takes, size_t n_threads, const char* folder) {
  const double start = seconds_now();
  const pid_t  child = fork();
  int          status = 0;
  if (!child) {
    struct rusage usage;
    pack(n_takes, n_threads, folder);
    getrusage(RUSAGE_SELF, &usage);
    FILE* const file = fopen("memory", "w");
    if (!file || fprintf(file, "%ld", usage.ru_maxrss) < 0 || fclose(file)) {
      abort();
    }
    _exit(0);
  }
  if (child < 0 || waitpid(child, &status, 0) < 0 || status) {
    abort();
  }
  size_t      n_bytes = 0;
  char* const text = folder_get("memory", &n_bytes);
  const Cost  cost = {seconds_now() - start, strtod(text, NULL) / 1024.0};
  free(text);
  return cost;
}

int
main(int argc, char** argv) {
  const size_t n = argc > 1 ? (size_t)strtoul(argv[1], NULL, 10) : 1000U;
  const size_t n_most = 3U * n < TAKES_MOST ? 3U * n : TAKES_MOST;
  void*        state = NULL;
  if (!n || n > TAKES_MOST || folder_enter(&state)) {
    return 1;
  }
  for (size_t i = 0; i < n_most; ++i) {
    snprintf(paths[i], sizeof(paths[i]), "%zu.wav", i);
    snprintf(names[i], sizeof(names[i]), "s%zu", i);
    path_of[i] = paths[i];
    packs_put_take(paths[i], (unsigned)i + 1U, 1.0);
  }
  const Cost few = run(n / 10U, 1, "few");
  const Cost one = run(n, 1, "one");
  const Cost two = run(n, 2, "two");
  const Cost most = run(n_most, 1, "most");
  printf("%zu takes: %.2f s, on two cores %.2f s, ratio %.2f\n",
         n,
         one.seconds,
         two.seconds,
         one.seconds / two.seconds);
  printf("memory: %.1f MiB, of a tenth %.1f, on two cores %.1f\n",
         one.mebibytes,
         few.mebibytes,
         two.mebibytes);
  printf("slope from %zu to %zu: %.3f\n",
         n / 10U,
         n_most,
         log(most.seconds / few.seconds) /
           log((double)n_most / (double)(n / 10U)));
  return folder_leave(&state) ? 1 : 0;
}
