#include "cli/message/line.h"

#include "base/text.h"
#include "cli/message/terminal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// What is left of 80 columns behind the labels.
#define TEXT_COLUMNS 65

// Text that flows on is set in so far; what is narrower breaks it itself.
#define FLOW_INDENT 2
#define FLOW_COLUMNS_LEAST 20U

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
    while (n > 0 && text[n] != ' ') {
      --n;
    }
    line_print(out, label, "%.*s", n, text);
    text += n + 1;
    label = "";
  }
  line_print(out, label, "%s", text);
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
line_flow(FILE* out, const char* text) {
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
}

void
line_flow_made(char* text) {
  line_flow(stdout, text ? text : "not enough memory");
  free(text);
}

const char*
line_value(char text[40], double number, int decimals, const char* unit) {
  if (isfinite(number)) {
    (void)snprintf(text, 40, "%.*f %s", decimals, number, unit);
  } else {
    (void)snprintf(text, 40, "none");
  }
  return text;
}

const char*
line_duration(char text[40], double ms) {
  return ms < 1000.0 ? line_value(text, ms, 1, "ms")
                     : line_value(text, ms / 1000.0, 3, "s");
}

void
line_wrap_made(FILE* out, const char* label, char* text) {
  if (text) {
    line_wrap(out, label, text);
  }
  free(text);
}
