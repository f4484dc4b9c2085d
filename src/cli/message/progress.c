#include "cli/message/message.h"

#include "base/text.h"

#include <omp.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

// Before that the time left is guesswork.
#define SECONDS_LEAST 1.0

int
threads_count(double jobs) {
  return jobs > 0.0 ? (int)jobs : omp_get_max_threads();
}

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
  progress->n_columns = terminal_width(stderr);
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

/// Print as much of a text as fits into so many columns. Returns how many it
/// took.
static size_t
print_cut(const char* text, size_t n_columns) {
  size_t      n = 0;
  const char* at = text;
  for (; *at && n < n_columns; ++n) {
    at += vw_utf8_read(at, NULL);
  }
  fprintf(stderr, "%.*s", (int)(at - text), text);
  return n;
}

/// Show a step over the last one. The last column stays free, where some
/// terminals begin a new line.
static void
show(Progress* progress, const char* step) {
  fputc('\r', stderr);
  const size_t n = print_cut(step, progress->n_columns - 1U);
  const size_t n_before = progress->n_shown;
  fprintf(stderr, "%*s", n < n_before ? (int)(n_before - n) : 0, "");
  progress->n_shown = n;
}

void
progress_step(Progress* progress, const char* name) {
  char left[40] = "";
  ++progress->n_done;
  if (progress->silent || !progress->n_columns) {
    return;
  }
  tell_left(progress, left);
  // The name last, since it is what is cut.
  char* const step = text_format("%s %zu of %zu%s: %s",
                                 progress->what,
                                 progress->n_done,
                                 progress->n_steps,
                                 left,
                                 name);
  char* const safe = step ? text_safe(step) : NULL;
  if (safe) {
    show(progress, safe);
  }
  fflush(stderr);
  free(safe);
  free(step);
}

void
progress_end(Progress* progress) {
  if (progress->n_shown) {
    fprintf(stderr, "\r%*s\r", (int)progress->n_shown, "");
    fflush(stderr);
  }
  progress->n_shown = 0;
}
