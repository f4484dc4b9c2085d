// Figures in words, and lines of them.

#include "base/text.h"
#include "cli/message/figures.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Lines that are no table */

// What is left of 80 columns behind the labels.
#define TEXT_COLUMNS 65

void
line_print(FILE* out, const char* label, const char* format, ...) {
  va_list arguments;
  fprintf(out, "  %-12s ", label);
  va_start(arguments, format);
  vfprintf(out, format, arguments);
  va_end(arguments);
  fputc('\n', out);
}

void
line_wrap(FILE* out, const char* label, const char* text) {
  while (strlen(text) > TEXT_COLUMNS) {
    int n = TEXT_COLUMNS;
    // "16-bit PCM" stays together.
    while (n > 4 && (text[n] != ' ' || !strncmp(text + n - 4, "-bit", 4U))) {
      --n;
    }
    line_print(out, label, "%.*s", n, text);
    text += n + 1;
    label = "";
  }
  line_print(out, label, "%s", text);
}

/// What is shown as zero has no sign of its own.
static double
shown(double number, int decimals) {
  return fabs(number) < 0.5 * pow(10.0, -decimals) ? 0.0 : number;
}

/// A number with its unit, or "none" where it does not exist.
static const char*
line_value(char text[40], double number, int decimals, const char* unit) {
  if (isfinite(number)) {
    (void)snprintf(
      text, 40, "%.*f %s", decimals, shown(number, decimals), unit);
  } else {
    (void)snprintf(text, 40, "none");
  }
  return text;
}

const char*
line_rate(char text[40], double per_s) {
  (void)snprintf(text, 40, "%.3g", per_s);
  if (fabs(strtod(text, NULL) - per_s) > 1e-3 * fabs(per_s)) {
    (void)snprintf(text, 40, "%.4g", per_s);
  }
  return text;
}

const char*
line_duration(char text[40], double ms) {
  return ms < 1000.0 ? line_value(text, ms, 1, "ms")
                     : line_value(text, ms / 1000.0, 3, "s");
}

// Longer than any list of names.
#define NAMES_ROOM 128U

// Digits of a number that no row below rounds, to JSON: a millionth of it.
#define DIGITS 7

/// What stands behind a number whose name ends so, and its decimals: to a
/// person, and to a program. Such a rate ("_per_s") has its unit in the words.
typedef struct {
  const char* end;
  const char* unit; ///< NULL: a time that is told in ms or s.
  int         decimals;
  int         decimals_json; ///< 0: as many as #DIGITS leave.
} Unit;

static const Unit units[] = {{"_db", "dB", 1, 2},
                             {"_dbfs", "dBFS", 1, 2},
                             {"_dbtp", "dBTP", 1, 2},
                             {"_lufs", "LUFS", 1, 2},
                             {"_lu", "LU", 1, 2},
                             {"_hz", "Hz", 1, 0},
                             {"_ms", NULL, 0, 4},
                             {"_s", "s", 3, 6}};

/// The unit that a name ends with; NULL: none that is told behind a number.
static const Unit*
unit_of(const char* name) {
  const char* const end = strrchr(name, '_');
  const bool rate = end && end - name >= 4 && !strncmp(end - 4, "_per", 4);
  for (size_t i = 0; end && !rate && i < sizeof(units) / sizeof(units[0]);
       ++i) {
    if (!strcmp(end, units[i].end)) {
      return &units[i];
    }
  }
  return NULL;
}

double
figures_rounded(const char* name, double number) {
  const Unit* const unit = unit_of(name);
  char              text[40];
  if (unit && unit->decimals_json) {
    const double step = pow(10.0, unit->decimals_json);
    return nearbyint(number * step) / step;
  }
  if (number == nearbyint(number)) {
    return number;
  }
  (void)snprintf(text, sizeof(text), "%.*g", DIGITS, number);
  return strtod(text, NULL);
}

/* Whether they hold */

static bool
holds(const Figure* figure) {
  switch (figure->kind) {
    case FIGURE_NONE:
      return false;
    case FIGURE_COUNT:
    case FIGURE_FLAG:
      return figure->number != 0.0;
    case FIGURE_TEXT:
      return *figure->text != '\0';
    case FIGURE_NUMBER:
    case FIGURE_TREE:
      break;
  }
  return true;
}

bool
figures_hold(const Figures* of, const char* names) {
  char  room[NAMES_ROOM];
  char* rest = NULL;
  (void)snprintf(room, sizeof(room), "%s", names);
  for (char* name = strtok_r(room, " ", &rest); name;
       name = strtok_r(NULL, " ", &rest)) {
    const bool   absent = *name == '!';
    const Figure figure = figures_get(of, name + (absent ? 1 : 0));
    if (holds(&figure) == absent) {
      return false;
    }
  }
  return true;
}

/* In words */

/// Print a number as it is told: "+.1f", ".6g".
static void
put_as(double number, const char* how, FILE* out) {
  const bool  sign = *how == '+';
  const char* at = how + (sign ? 2 : 1);
  const int   digits = *at - '0';
  if (at[1] == 'g') {
    fprintf(out, sign ? "%+.*g" : "%.*g", digits, number);
  } else {
    fprintf(out, sign ? "%+.*f" : "%.*f", digits, shown(number, digits));
  }
}

/// Print a number with the unit that its name ends with.
static void
put_number(double number, const char* name, FILE* out) {
  const Unit* const unit = unit_of(name);
  char              text[40];
  if (!unit) {
    fprintf(out, "%.6g", number);
  } else if (!unit->unit) {
    fputs(line_duration(text, number), out);
  } else {
    fputs(line_value(text, number, unit->decimals, unit->unit), out);
  }
}

static void
put_text(const char* text, bool quoted, FILE* out) {
  char* const made = quoted ? text_quoted(text) : text_safe(text);
  fputs(made ? made : "?", out);
  free(made);
}

/// Print a figure as `how` says; where that is at its end, as it is usual.
static void
put_figure(const Figure* figure, const char* name, const char* how, FILE* out) {
  const bool number =
    figure->kind == FIGURE_NUMBER || figure->kind == FIGURE_COUNT;
  if (*how == 's') {
    fputs(figure->number == 1.0 ? "" : "s", out);
  } else if (figure->kind == FIGURE_TEXT) {
    put_text(figure->text, *how == 'q', out);
  } else if (!number) {
    fputs("none", out);
  } else if (*how == 'r') {
    char text[40];
    fputs(line_rate(text, figure->number), out);
  } else if (*how == '%') {
    fprintf(out, "%.0f %%", 100.0 * figure->number);
  } else if (*how != '}') {
    put_as(figure->number, how, out);
  } else if (figure->kind == FIGURE_COUNT) {
    fprintf(out, "%.0f", figure->number);
  } else {
    put_number(figure->number, name, out);
  }
}

/// Where the brace is that closes what begins here.
static const char*
closing(const char* at) {
  for (unsigned depth = 1; *at; ++at) {
    depth += *at == '{' ? 1U : 0U;
    depth -= *at == '}' ? 1U : 0U;
    if (!depth) {
      break;
    }
  }
  return at;
}

/// Print words up to `to`, and the figures in them.
static void
put(const Figures* of, const char* from, const char* to, FILE* out) {
  while (from < to) {
    const char* const open = memchr(from, '{', (size_t)(to - from));
    const char* const stop = open ? open : to;
    program_put(from, (size_t)(stop - from), out);
    if (!open) {
      return;
    }
    const char* const close = closing(open + 1);
    const size_t      n_name = strcspn(open + 1, "?:}");
    const char* const behind = open + 1 + n_name;
    char              name[NAMES_ROOM];
    (void)snprintf(name, sizeof(name), "%.*s", (int)n_name, open + 1);
    if (*behind != '?') {
      const Figure figure = figures_get(of, name);
      put_figure(&figure, name, *behind == ':' ? behind + 1 : behind, out);
    } else if (figures_hold(of, name)) {
      put(of, behind + 1, close, out);
    }
    from = close + 1;
  }
}

void
figures_print(const Figures* of, const char* words, FILE* out) {
  put(of, words, words + strlen(words), out);
}

char*
figures_words(const Figures* of, const char* words) {
  char*       text = NULL;
  size_t      n = 0;
  FILE* const out = sure(open_memstream(&text, &n));
  figures_print(of, words, out);
  return fclose(out) ? sure(NULL) : text;
}

/* In lines */

static void
print_line(const Figures* of, const Line* line, FILE* out) {
  char* const label = line->label ? figures_words(of, line->label) : NULL;
  char* const words = figures_words(of, line->words);
  if (label && line->wrap) {
    line_wrap(out, label, words);
  } else if (label) {
    line_print(out, label, "%s", words);
  } else {
    fprintf(out, "%s\n", words);
  }
  free(words);
  free(label);
}

void
figures_lines(const Figures* of, const Line* lines, size_t n_lines, FILE* out) {
  for (size_t i = 0; of && i < n_lines; ++i) {
    if (!lines[i].when || figures_hold(of, lines[i].when)) {
      print_line(of, &lines[i], out);
    }
  }
}
