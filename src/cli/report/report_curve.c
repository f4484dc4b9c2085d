#include "cli/report/report_curve.h"

#include "signal/signal.h"

#include <math.h>
#include <string.h>

// Narrower terminals leave too little beside the axis.
#define TERMINAL_LEAST 40U

// A level in four characters, and a blank and the axis about it; the last
// column stays free, where some terminals begin a new line.
#define AXIS_COLUMNS 9U

// Wider, the curve would be no small one.
#define COLUMNS_MOST 100U

// As far as a shot is followed: its tail ends 60 dB down. Where all of a take
// lies within half of that, the rows are half as high.
#define ROWS_MOST 6U
#define ROWS_LEAST 3U
#define ROW_DB 10.0
#define FINE_ROW_DB 5.0

// From the start of one label of the time axis to the next.
#define TICK_COLUMNS 9.0

#define N_MARKS 4U

/// What it is drawn with.
typedef struct {
  const char* bars[8]; ///< A row filled by parts, the last one whole.
  size_t      n_bars;
  const char* axis;
  const char* corner;
  const char* line;
  const char* tick;
  const char* mark;
} Glyphs;

static const Glyphs blocks = {{"\u2581",
                               "\u2582",
                               "\u2583",
                               "\u2584",
                               "\u2585",
                               "\u2586",
                               "\u2587",
                               "\u2588"},
                              8U,
                              "\u2502",
                              "\u2514",
                              "\u2500",
                              "\u252C",
                              "\u25B2"};

static const Glyphs plain = {{".", ":", "#"}, 3U, "|", "+", "-", "+", "^"};

/// A curve that is being drawn.
typedef struct {
  const Glyphs* glyphs;
  double        levels_dbfs[COLUMNS_MOST]; ///< The highest in each column.
  size_t        n_columns;
  double        length_ms;
  double        top_dbfs;
  double        row_db;
  size_t        n_rows;
  FILE*         out;
} Curve;

/* Levels */

/// Choose rows for levels between two; most of those that all would fill are
/// left out.
static void
lay_rows(Curve* curve, double lowest, double highest) {
  const double rows_most = (double)ROWS_MOST;
  const double fine_top = FINE_ROW_DB * ceil(highest / FINE_ROW_DB);
  const bool   fine = fine_top - lowest <= FINE_ROW_DB * rows_most;
  curve->row_db = fine ? FINE_ROW_DB : ROW_DB;
  curve->top_dbfs = curve->row_db * ceil(highest / curve->row_db) + 0.0;
  const double rows = ceil((curve->top_dbfs - lowest) / curve->row_db);
  curve->n_rows = (size_t)fmin(fmax(rows, (double)ROWS_LEAST), rows_most);
}

/// Take the highest level of each column's time.
static bool
fill(Curve* curve, const VwSound* sound) {
  VwCourse course = {0};
  double   highest = NAN;
  double   lowest = INFINITY;
  if (vw_course_take(sound, &course)) {
    return false; // without memory there is no curve
  }
  const double n_steps =
    curve->length_ms / 1000.0 / course.step_s / (double)curve->n_columns;
  for (size_t i = 0; i < curve->n_columns; ++i) {
    size_t       step = (size_t)((double)i * n_steps);
    const size_t to = (size_t)((double)(i + 1U) * n_steps);
    double       level = NAN;
    do {
      level = fmax(level, course.level_dbfs[step]);
    } while (++step < to && step < course.n_steps);
    curve->levels_dbfs[i] = level;
    highest = fmax(highest, level);
    lowest = isnan(level) ? -INFINITY : fmin(lowest, level);
  }
  vw_course_clear(&course);
  if (isfinite(highest)) {
    lay_rows(curve, lowest, highest);
  }
  return isfinite(highest);
}

static void
draw_row(const Curve* curve, size_t row) {
  const Glyphs* const glyphs = curve->glyphs;
  const double        top = curve->top_dbfs - curve->row_db * (double)row;
  const double        parts = (double)glyphs->n_bars;
  size_t              n_blank = 0;
  fprintf(curve->out, "  %4.0f %s", top, glyphs->axis);
  for (size_t i = 0; i < curve->n_columns; ++i) {
    const double filled = (curve->levels_dbfs[i] - top) / curve->row_db + 1.0;
    const double part = fmin(floor(filled * parts + 0.5), parts);
    if (!(part >= 1.0)) {
      ++n_blank;
      continue;
    }
    fprintf(
      curve->out, "%*s%s", (int)n_blank, "", glyphs->bars[(size_t)part - 1U]);
    n_blank = 0;
  }
  fputc('\n', curve->out);
}

/* Time */

static size_t
column_of(const Curve* curve, double ms) {
  const double at = ms / curve->length_ms * (double)curve->n_columns;
  const size_t column = at > 0.0 ? (size_t)at : 0U;
  return column < curve->n_columns ? column : curve->n_columns - 1U;
}

/// The time between two ticks: 1, 2 or 5 times a power of ten.
static double
tick_of(const Curve* curve) {
  static const double steps[] = {1.0, 2.0, 5.0};
  const double        least =
    TICK_COLUMNS * curve->length_ms / (double)curve->n_columns;
  const double power = pow(10.0, floor(log10(least)));
  for (size_t i = 0; i < 3U; ++i) {
    if (power * steps[i] >= least) {
      return power * steps[i];
    }
  }
  return 10.0 * power;
}

static void
draw_ticks(const Curve* curve, double tick_ms) {
  double next_ms = 0.0;
  fprintf(curve->out, "       %s", curve->glyphs->corner);
  for (size_t i = 0, n = 0; i < curve->n_columns; ++i) {
    const bool here =
      next_ms < curve->length_ms && i == column_of(curve, next_ms);
    fputs(here ? curve->glyphs->tick : curve->glyphs->line, curve->out);
    n += here ? 1U : 0U;
    next_ms = tick_ms * (double)n;
  }
  fputc('\n', curve->out);
}

/// Label the ticks, the unit beside the first.
static void
draw_times(const Curve* curve, double tick_ms) {
  const bool   long_take = curve->length_ms >= 1000.0;
  const double unit_ms = long_take ? 1000.0 : 1.0;
  const double digits = -floor(log10(tick_ms / unit_ms) + 1e-9);
  size_t       n = (size_t)fprintf(
    curve->out, "%*s0 %s", (int)AXIS_COLUMNS - 1, "", long_take ? "s" : "ms");
  n -= AXIS_COLUMNS - 1U;
  for (size_t i = 1; tick_ms * (double)i < curve->length_ms; ++i) {
    const double ms = tick_ms * (double)i;
    const size_t column = column_of(curve, ms);
    char         label[24];
    const int    n_label = snprintf(
      label, sizeof(label), "%.*f", (int)fmax(digits, 0.0), ms / unit_ms);
    if (column + (size_t)n_label > curve->n_columns) {
      break;
    }
    fprintf(curve->out, "%*s%s", (int)(column - n), "", label);
    n = column + (size_t)n_label;
  }
  fputc('\n', curve->out);
}

/* Marks */

/// Lines for marks, each in the first that has room for it.
typedef struct {
  char   lines[N_MARKS][COLUMNS_MOST + 1U];
  size_t n_lines;
} Marks;

/// Whether a line is blank from one column to another, and about them.
static bool
has_room(const char* line, size_t from, size_t n) {
  const size_t first = from > 1U ? from - 2U : 0U;
  for (size_t i = first; i < from + n + 2U && line[i]; ++i) {
    if (line[i] != ' ') {
      return false;
    }
  }
  return true;
}

/// Put a mark, its word behind it or, at the end, before it.
static void
put_mark(const Curve* curve, Marks* marks, double ms, const char* word) {
  const size_t column = column_of(curve, ms);
  const size_t n = strlen(word) + 2U;
  const bool   behind = column + n <= curve->n_columns;
  const size_t from = behind ? column : column + 1U - n;
  size_t       i = 0;
  while (i < marks->n_lines && !has_room(marks->lines[i], from, n)) {
    ++i;
  }
  if (i == marks->n_lines) {
    memset(marks->lines[i], ' ', curve->n_columns);
    marks->lines[i][curve->n_columns] = '\0';
    ++marks->n_lines;
  }
  marks->lines[i][column] = '^';
  memcpy(marks->lines[i] + from + (behind ? 2U : 0U), word, n - 2U);
}

static void
draw_marks(const Curve* curve, const VwShotFacts* facts) {
  Marks marks = {.n_lines = 0};
  put_mark(curve, &marks, facts->attack_ms, "attack");
  put_mark(curve, &marks, facts->crest_ms, "crest");
  if (isfinite(facts->valley_ms)) {
    put_mark(curve, &marks, facts->valley_ms, "valley");
  }
  put_mark(curve, &marks, facts->end_ms, "tail end");
  for (size_t i = 0; i < marks.n_lines; ++i) {
    const char* line = marks.lines[i];
    size_t      n = curve->n_columns;
    while (line[n - 1U] == ' ') {
      --n;
    }
    fprintf(curve->out, "%*s", (int)AXIS_COLUMNS - 1, "");
    for (const char* at = line; at < line + n; ++at) {
      if (*at == '^') {
        fputs(curve->glyphs->mark, curve->out);
      } else {
        fputc(*at, curve->out);
      }
    }
    fputc('\n', curve->out);
  }
}

void
report_curve(const Input* input, const Terminal* terminal, FILE* out) {
  const VwSound* const sound = &input->take.sound;
  Curve                curve = {.out = out};
  if (terminal->n_columns < TERMINAL_LEAST) {
    return;
  }
  curve.glyphs = terminal->utf8 ? &blocks : &plain;
  curve.n_columns = terminal->n_columns - AXIS_COLUMNS;
  curve.n_columns =
    curve.n_columns < COLUMNS_MOST ? curve.n_columns : COLUMNS_MOST;
  curve.length_ms = 1000.0 * (double)sound->n_frames / (double)sound->rate_hz;
  if (!fill(&curve, sound)) {
    return;
  }
  fprintf(out, "Level over 10 ms, dBFS\n");
  for (size_t row = 0; row < curve.n_rows; ++row) {
    draw_row(&curve, row);
  }
  const double tick_ms = tick_of(&curve);
  draw_ticks(&curve, tick_ms);
  draw_times(&curve, tick_ms);
  if (input->has_shot) {
    draw_marks(&curve, &input->facts);
  }
}
