// A sound list: read, proved, asked for each of its sounds, and printed.

#include "cli/prop/prop.h"
#include "fuzz/fuzz.h"

#include <stdlib.h>
#include <string.h>

static char*
name_as_it_is(const void* of, const char* take) {
  (void)of;
  return strdup(take);
}

int
LLVMFuzzerTestOneInput(const uint8_t* data, size_t n_bytes) {
  const PropTakes takes = {name_as_it_is, NULL};
  Prop            prop = {0};
  fuzz_put("zap.wav", "x", 1U);
  fuzz_put("sounds.ini", data, n_bytes);
  if (prop_read("sounds.ini", &prop)) {
    free(prop_wishes(&prop, "wav-44k-mono", NULL));
    free(prop_text(&prop, &takes));
  }
  prop_clear(&prop);
  return 0;
}
