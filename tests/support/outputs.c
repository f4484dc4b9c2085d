#include "support/outputs.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <stdint.h>
#include <string.h>

VwOutput
text_output(const char* path, const char* text) {
  return (VwOutput){.path = path,
                    .bytes = {(unsigned char*)(uintptr_t)text, strlen(text)}};
}

VwStatus
write_one(const char* path, const char* text, const VwWriteOptions* options) {
  const VwWriteOptions none = {.force = false};
  const VwOutput       output = text_output(path, text);
  size_t               at = NOWHERE;
  const VwStatus st = vw_write(&output, 1, options ? options : &none, &at);
  assert_int_equal(at, st ? 0 : NOWHERE);
  return st;
}
