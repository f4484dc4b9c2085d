#include "line.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

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
    while (n > 0 && text[n] != ' ') {
      --n;
    }
    line_print(out, label, "%.*s", n, text);
    text += n + 1;
    label = "";
  }
  line_print(out, label, "%s", text);
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
