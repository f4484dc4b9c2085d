// The brightness of a video's pictures, as a text lists it.

#include "base/units.h"
#include "cli/gauging/gauging.h"
#include "store/store.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

// What stands between the numbers of a line.
#define BETWEEN ",; \t=\""
#define LINE_END "\r\n"
#define DIGITS "0123456789"

// Times are looked for in so many columns.
#define COLUMNS 2U

// That part of the steps between times are one picture's, to that part of it;
// no more places than so many for each picture are filled in (chosen here).
#define ONE_STEP_LEAST 0.8
#define STEP_NEAR 0.4
#define PLACES_MOST 4.0

// Times whose rate is so near to the one given have its unit (chosen here).
#define UNIT_NEAR 0.2

/// Pictures in the order of the lines: brightness, and what may be their times.
typedef struct {
  double* brightness;     ///< Owned.
  double* times[COLUMNS]; ///< Owned.
  size_t  n;
} Lines;

static void
lines_clear(Lines* lines) {
  free(lines->brightness);
  for (size_t c = 0; c < COLUMNS; ++c) {
    free(lines->times[c]);
  }
}

/* Numbers */

/// A number that is all of so many characters; NaN if they are none.
static double
number_in(const char* word, size_t length) {
  char*        stop = NULL;
  const double value = strtod(word, &stop);
  return length && stop == word + length ? value : NAN;
}

/// The number that a line ends in; NaN without one.
static double
number_at_end(const char* line, size_t length) {
  while (length && strchr(BETWEEN, line[length - 1U])) {
    --length;
  }
  size_t from = length;
  while (from && !strchr(BETWEEN, line[from - 1U])) {
    --from;
  }
  return number_in(line + from, length - from);
}

/// The number in a column, counted from 0; NaN without one.
static double
number_of_column(const char* line, size_t column) {
  line += strspn(line, BETWEEN);
  while (column--) {
    line += strcspn(line, BETWEEN LINE_END);
    line += strspn(line, BETWEEN);
  }
  return number_in(line, strcspn(line, BETWEEN LINE_END));
}

/* Decimal commas */

/// Whether each line is one number, with a comma or not: what stands in front
/// of commas counts no lines then.
static bool
has_one_number_a_line(const char* text) {
  double before = -HUGE_VAL;
  bool   counts = true;
  while (*text) {
    const size_t length = strcspn(text, LINE_END);
    const size_t front = strspn(text, DIGITS);
    const size_t behind =
      text[front] == ',' ? 1U + strspn(text + front + 1U, DIGITS) : 0U;
    if (front && front + behind != length) {
      return false;
    }
    if (front) {
      const double value = strtod(text, NULL);
      counts = counts && value > before;
      before = value;
    }
    text += length + (text[length] ? 1U : 0U);
  }
  return !counts;
}

/// Write decimal commas as points: those between two digits, within quotes, or
/// if something else stands between the numbers.
static void
point_commas(char* text) {
  const bool all = strpbrk(text, ";\t") || has_one_number_a_line(text);
  bool       quoted = false;
  for (size_t i = 0; text[i]; ++i) {
    quoted = quoted != (text[i] == '"');
    if (i && text[i] == ',' && (all || quoted) &&
        isdigit((unsigned char)text[i - 1U]) &&
        isdigit((unsigned char)text[i + 1U])) {
      text[i] = '.';
    }
  }
}

/* Times */

/// The usual step of times that rise from picture to picture; 0 if they are no
/// times, or a mere count of the lines.
static VwStatus
step_of(const double* times, size_t n, double* step) {
  double* const steps = malloc(n * sizeof(*steps));
  size_t        n_one = 0;
  *step = 0.0;
  if (!steps) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i + 1U < n; ++i) {
    steps[i] = times[i + 1U] - times[i];
    if (!(steps[i] > 0.0)) {
      free(steps);
      return VW_OK;
    }
  }
  qsort(steps, n - 1U, sizeof(*steps), vw_compare_doubles);
  const double usual = steps[(n - 1U) / 2U];
  const bool   counts = steps[0] == 1.0 && steps[n - 2U] == 1.0;
  for (size_t i = 0; i + 1U < n; ++i) {
    n_one += fabs(steps[i] / usual - 1.0) < STEP_NEAR;
  }
  if (!counts && (double)n_one >= ONE_STEP_LEAST * (double)(n - 1U) &&
      times[n - 1U] - times[0] < PLACES_MOST * usual * (double)n) {
    *step = usual;
  }
  free(steps);
  return VW_OK;
}

/// How many pictures lie between two: 1 if none is missing.
static size_t
places_of(const double* times, size_t i, double step) {
  return (size_t)fmax((times[i + 1U] - times[i]) / step + 0.5, 1.0);
}

/// Fill in what is missing between pictures, evenly from one to the next.
static VwStatus
fill_in(const Lines* lines, const double* times, double step, VideoList* list) {
  size_t n = 1;
  for (size_t i = 0; i + 1U < lines->n; ++i) {
    n += places_of(times, i, step);
  }
  double* const filled = malloc(n * sizeof(*filled));
  if (!filled) {
    return VW_NO_MEMORY;
  }
  list->brightness = filled;
  for (size_t i = 0; i + 1U < lines->n; ++i) {
    const size_t places = places_of(times, i, step);
    const double here = lines->brightness[i];
    const double rise = lines->brightness[i + 1U] - here;
    for (size_t k = 0; k < places; ++k) {
      filled[list->n++] = here + rise * (double)k / (double)places;
    }
  }
  filled[list->n++] = lines->brightness[lines->n - 1U];
  list->n_missing = n - lines->n;
  return VW_OK;
}

/// Set the rate that the times have, in seconds or milliseconds, whichever is
/// near the one that was given.
static void
set_rate(const double* times, size_t n_lines, double given, VideoList* list) {
  const double per = (double)(list->n - 1U) / (times[n_lines - 1U] - times[0]);
  for (int i = 0; i < 2; ++i) {
    const double per_s = i ? 1e3 * per : per;
    if (fabs(per_s / given - 1.0) < UNIT_NEAR) {
      list->times_per_s = per_s;
    }
  }
}

/// Take the pictures of the lines, with those that their times show to be
/// missing.
static VwStatus
take(const Lines* lines, double pictures_per_s, VideoList* list) {
  double   step = 0.0;
  size_t   c = 0;
  VwStatus st = VW_OK;
  for (; !st && lines->n > 1U && c < COLUMNS; ++c) {
    st = step_of(lines->times[c], lines->n, &step);
    if (step > 0.0) {
      break;
    }
  }
  if (st) {
    return st;
  }
  if (step > 0.0) {
    list->timed = true;
    st = fill_in(lines, lines->times[c], step, list);
    if (!st) {
      set_rate(lines->times[c], lines->n, pictures_per_s, list);
    }
    return st;
  }
  list->n = lines->n;
  list->brightness = malloc((lines->n + 1U) * sizeof(double));
  if (list->brightness) {
    memcpy(list->brightness, lines->brightness, lines->n * sizeof(double));
  }
  return list->brightness ? VW_OK : VW_NO_MEMORY;
}

/* The list */

/// Take the lines that end in a number; others, such as a heading, count for
/// none.
static VwStatus
lines_take(const char* text, Lines* lines) {
  const size_t most = strlen(text) + 1U;
  lines->brightness = malloc(most * sizeof(double));
  bool good = lines->brightness;
  for (size_t c = 0; c < COLUMNS; ++c) {
    lines->times[c] = malloc(most * sizeof(double));
    good = good && lines->times[c];
  }
  while (good && *text) {
    const size_t length = strcspn(text, LINE_END);
    lines->brightness[lines->n] = number_at_end(text, length);
    for (size_t c = 0; c < COLUMNS; ++c) {
      lines->times[c][lines->n] = number_of_column(text, c);
    }
    lines->n += isfinite(lines->brightness[lines->n]) ? 1U : 0U;
    text += length + (text[length] ? 1U : 0U);
  }
  return good ? VW_OK : VW_NO_MEMORY;
}

static VwStatus
read_text(char* text, double pictures_per_s, VideoList* list) {
  Lines lines = {0};
  point_commas(text);
  VwStatus st = lines_take(text, &lines);
  st = st ? st : take(&lines, pictures_per_s, list);
  lines_clear(&lines);
  return st;
}

VwStatus
video_list_read(const char* path, double pictures_per_s, VideoList* list) {
  VwBytes  bytes = {0};
  VwStatus st = vw_file_read(path, &bytes);
  char*    text = st ? NULL : malloc(bytes.n_bytes + 1U);
  *list = (VideoList){.times_per_s = NAN};
  if (!st && text) {
    memcpy(text, bytes.data, bytes.n_bytes);
    text[bytes.n_bytes] = '\0';
  }
  st = st || text ? st : VW_NO_MEMORY;
  st = st ? st : read_text(text, pictures_per_s, list);
  free(text);
  vw_bytes_clear(&bytes);
  return st;
}
