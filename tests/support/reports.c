#include "support/reports.h"

#include "support/run.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

json_t*
parse_line(const char* lines, size_t index) {
  for (; index && lines; --index) {
    lines = strchr(lines, '\n');
    lines = lines ? lines + 1 : NULL;
  }
  const char* const end = lines ? strchr(lines, '\n') : NULL;
  return end ? json_loadb(lines, (size_t)(end - lines), 0, NULL) : NULL;
}

json_t*
run_json(const char* line, int status) {
  Run           got = run(line);
  json_t* const object = parse_line(got.out, 0);
  run_check(object && got.status == status, &got, line);
  assert_int_equal(got.status, status);
  assert_non_null(object);
  run_clear(&got);
  return object;
}

json_t*
value_at(const json_t* object, const char* path) {
  json_t* value = NULL;
  char    copy[64];
  char*   rest = NULL;
  (void)snprintf(copy, sizeof(copy), "%s", path);
  for (char* key = strtok_r(copy, ".", &rest); key;
       key = strtok_r(NULL, ".", &rest)) {
    value = json_object_get(object, key);
    object = value;
  }
  return value;
}

double
number_at(const json_t* object, const char* path) {
  const json_t* const value = value_at(object, path);
  return json_is_number(value) ? json_number_value(value) : (double)NAN;
}

double
as_printed(double number) {
  char text[40];
  (void)snprintf(text, sizeof(text), "%.7g", number);
  return strtod(text, NULL);
}
