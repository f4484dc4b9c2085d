#include "cli/message/say.h"

#include "cli/message/line.h"

#include <stdio.h>
#include <stdlib.h>

static void
say_list(const char* subject, const char* format, va_list arguments) {
  char* const fault = text_format_list(format, arguments);
  char* const line =
    fault ? text_format("volleyweave: %s: %s", subject, fault) : NULL;
  char* const safe = line ? text_safe(line) : NULL;
  line_flow(stderr, safe ? safe : "volleyweave: not enough memory");
  free(safe);
  free(line);
  free(fault);
}

bool
say(const char* subject, const char* format, ...) {
  va_list arguments;
  va_start(arguments, format);
  say_list(subject, format, arguments);
  va_end(arguments);
  return false;
}

int
say_usage(const char* subject, const char* format, ...) {
  va_list arguments;
  va_start(arguments, format);
  say_list(subject, format, arguments);
  va_end(arguments);
  return EXIT_USAGE;
}
