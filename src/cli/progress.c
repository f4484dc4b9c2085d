#include "progress.h"

#include "text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

// What of a name still leaves the line within 80 columns.
#define NAME_COLUMNS 30

// Before that the time left is guesswork.
#define SECONDS_LEAST 1.0

static double
now_s(void) {
  struct timespec now = {0};
  clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

void
progress_begin(Progress* progress, const char* what, size_t n_steps) {
  progress->what = what;
  progress->n_steps = n_steps;
  progress->n_done = 0;
  progress->terminal = isatty(STDERR_FILENO) != 0;
  progress->start_s = now_s();
  progress->n_shown = 0;
}

/// The time left, as it is told: "40 s left", or nothing.
static void
tell_left(const Progress* progress, char text[40]) {
  const double spent_s = now_s() - progress->start_s;
  const size_t n_left = progress->n_steps - progress->n_done;
  const double left_s = spent_s * (double)n_left /
                        (double)(progress->n_done ? progress->n_done : 1U);
  text[0] = '\0';
  if (spent_s > SECONDS_LEAST && n_left) {
    (void)snprintf(text,
                   40,
                   left_s < 100.0 ? ", %.0f s left" : ", %.0f min left",
                   left_s < 100.0 ? left_s : left_s / 60.0);
  }
}

/// Bytes of as much of a name as is shown.
static int
shown_length(const Progress* progress, const char* name) {
  const char* at = name;
  for (int n = 0; *at && (!progress->terminal || n < NAME_COLUMNS); ++n) {
    at += text_utf8_length(at);
  }
  return (int)(at - name);
}

void
progress_step(Progress* progress, const char* name) {
  char left[40];
  ++progress->n_done;
  if (progress->silent || (!progress->terminal && !progress->lines)) {
    return;
  }
  char* const       safe = text_safe(name);
  const char* const shown = safe ? safe : "";
  tell_left(progress, left);
  const int n = fprintf(stderr,
                        "%s%s %zu of %zu: %.*s%s",
                        progress->terminal ? "\r" : "",
                        progress->what,
                        progress->n_done,
                        progress->n_steps,
                        shown_length(progress, shown),
                        shown,
                        progress->terminal ? left : "");
  if (progress->terminal) {
    fprintf(
      stderr, "%*s", n < progress->n_shown ? progress->n_shown - n : 0, "");
    progress->n_shown = n > progress->n_shown ? n : progress->n_shown;
  } else {
    fputs("\n", stderr);
  }
  fflush(stderr);
  free(safe);
}

void
progress_end(Progress* progress) {
  if (progress->n_shown) {
    fprintf(stderr, "\r%*s\r", progress->n_shown, "");
    fflush(stderr);
  }
  progress->n_shown = 0;
}
