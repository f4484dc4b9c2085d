// A list of how bright the pictures of a video are.

#include "cli/commands.h"
#include "fuzz/fuzz.h"

int
LLVMFuzzerTestOneInput(const uint8_t* data, size_t n_bytes) {
  static const FuzzLine line = {"gauge lamp --video-rate 240 bright.txt",
                                command_gauge};
  fuzz_put("bright.txt", data, n_bytes);
  fuzz_line(&line);
  return 0;
}
