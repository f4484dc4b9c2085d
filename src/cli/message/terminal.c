#include "base/text.h"
#include "cli/message/message.h"

#include <omp.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <time.h>
#include <unistd.h>

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

size_t
text_cut(const char* text, size_t n_columns, FILE* out) {
  size_t      n = 0;
  const char* at = text;
  for (; *at && n < n_columns; ++n) {
    at += vw_utf8_read(at, NULL);
  }
  fprintf(out, "%.*s", (int)(at - text), text);
  return n;
}

/// Show a step over the last one. The last column stays free, where some
/// terminals begin a new line.
static void
show(Progress* progress, const char* step) {
  fputc('\r', stderr);
  const size_t n = text_cut(step, progress->n_columns - 1U, stderr);
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
  char* const safe = text_safe(step);
  show(progress, safe);
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

// Where neither the system nor the person says how wide it is.
#define USUAL_COLUMNS 80U

// Text that flows on is set in so far; what is narrower breaks it itself.
#define FLOW_INDENT 2
#define FLOW_COLUMNS_LEAST 20U

/// What COLUMNS asks for (POSIX.1-2008, 8.3), 0 where it asks for nothing.
static size_t
columns_wanted(void) {
  const char* const text = getenv("COLUMNS");
  char*             end = NULL;
  const long        wanted = text ? strtol(text, &end, 10) : 0;
  return wanted > 0 && !*end ? (size_t)wanted : 0U;
}

static size_t
columns_there(int fd) {
  struct winsize size = {0};
  return ioctl(fd, TIOCGWINSZ, &size) ? 0U : size.ws_col;
}

size_t
terminal_width(FILE* stream) {
  const int fd = fileno(stream);
  if (fd < 0 || !isatty(fd)) {
    return 0U;
  }
  const size_t wanted = columns_wanted();
  const size_t there = columns_there(fd);
  const size_t least = wanted && wanted < there ? wanted : there;
  return least ? least : wanted ? wanted : USUAL_COLUMNS;
}

/// Where a line of so many columns ends: before a blank, or at the text's end.
static size_t
line_end(const char* text, size_t n_columns) {
  size_t end = 0;
  size_t column = 0;
  for (size_t i = 0;; ++column) {
    const unsigned n = vw_utf8_read(text + i, NULL);
    if (text[i] == ' ' || !text[i]) {
      // A word that is too long for any line is left whole.
      if (end && column > n_columns) {
        return end;
      }
      end = i;
      if (!text[i]) {
        return end;
      }
    }
    i += n ? n : 1U;
  }
}

void
line_flow(FILE* out, const char* words) {
  size_t      n_text = 0;
  char*       made = NULL;
  FILE* const to = sure(open_memstream(&made, &n_text));
  program_put(words, strlen(words), to);
  const char*  text = fclose(to) ? sure(NULL) : made;
  const size_t width = terminal_width(out);
  // The last column stays free: some terminals begin a new line behind it.
  const size_t n_columns = width > FLOW_COLUMNS_LEAST ? width - 1U : (size_t)-1;
  size_t       n = line_end(text, n_columns);
  fprintf(out, "%.*s\n", (int)n, text);
  while (text[n]) {
    text += n + 1U;
    n = line_end(text, n_columns - FLOW_INDENT);
    fprintf(out, "%*s%.*s\n", FLOW_INDENT, "", (int)n, text);
  }
  free(made);
}

void
line_flow_made(char* text) {
  line_flow(stdout, text);
  free(text);
}
