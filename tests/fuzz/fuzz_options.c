// The words of a command line, each ended by a zero or a new line: read and
// proved; nothing is run.

#include "fuzz/fuzz.h"

#include <stdlib.h>
#include <string.h>

int
LLVMFuzzerTestOneInput(const uint8_t* data, size_t n_bytes) {
  char* const  text = malloc(n_bytes + 1U);
  char** const words = calloc(n_bytes + 2U, sizeof(char*));
  size_t       n = 0;
  if (!text || !words) {
    abort();
  }
  memcpy(text, data, n_bytes);
  text[n_bytes] = '\0';
  for (size_t i = 0; i < n_bytes; ++i) {
    text[i] = text[i] == '\n' ? '\0' : text[i];
    if (!i || !text[i - 1U]) {
      words[n++] = text + i;
    }
  }
  fuzz_words(words, &(FuzzLine){0});
  free(words);
  free(text);
  return 0;
}
