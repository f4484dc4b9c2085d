#include "support/check.h"

#include <stdarg.h>
#include <stdio.h>

static void
print_case(const char* name, va_list args) {
  char text[200];
  vsnprintf(text, sizeof(text), name, args);
  fprintf(stderr, "  FAILED %s", text);
}

bool
check_at_most(double value, double bound, const char* name, ...) {
  if (value <= bound) {
    return true;
  }
  va_list args;
  va_start(args, name);
  print_case(name, args);
  va_end(args);
  fprintf(stderr, ": measured %.9g, at most %.9g\n", value, bound);
  return false;
}

bool
check_at_least(double value, double bound, const char* name, ...) {
  if (value >= bound) {
    return true;
  }
  va_list args;
  va_start(args, name);
  print_case(name, args);
  va_end(args);
  fprintf(stderr, ": measured %.9g, at least %.9g\n", value, bound);
  return false;
}

bool
check_equal(double value, double expected, const char* name, ...) {
  if (value >= expected && value <= expected) {
    return true;
  }
  va_list args;
  va_start(args, name);
  print_case(name, args);
  va_end(args);
  fprintf(stderr, ": measured %.17g, exactly %.17g\n", value, expected);
  return false;
}

bool
check_that(bool holds, const char* name, ...) {
  if (!holds) {
    va_list args;
    va_start(args, name);
    print_case(name, args);
    va_end(args);
    fprintf(stderr, "\n");
  }
  return holds;
}
