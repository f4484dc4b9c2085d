#include "say.h"

#include <stdio.h>
#include <stdlib.h>

static void
say_list(const char* subject, const char* format, va_list arguments) {
  char* const fault = text_format_list(format, arguments);
  char* const line = fault ? text_format("%s: %s", subject, fault) : NULL;
  char* const safe = line ? text_safe(line) : NULL;
  fprintf(stderr, "volleyweave: %s\n", safe ? safe : "not enough memory");
  free(safe);
  free(line);
  free(fault);
}

void
say(const char* subject, const char* format, ...) {
  va_list arguments;
  va_start(arguments, format);
  say_list(subject, format, arguments);
  va_end(arguments);
}

int
say_usage(const char* subject, const char* format, ...) {
  va_list arguments;
  va_start(arguments, format);
  say_list(subject, format, arguments);
  va_end(arguments);
  return EXIT_USAGE;
}
