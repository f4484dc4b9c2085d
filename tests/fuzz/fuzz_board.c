// A board file: read, proved and printed.

#include "cli/commands.h"
#include "fuzz/fuzz.h"

int
LLVMFuzzerTestOneInput(const uint8_t* data, size_t n_bytes) {
  static const FuzzLine line = {"boards ./mine.board.ini", command_boards};
  fuzz_put("mine.board.ini", data, n_bytes);
  fuzz_line(&line);
  return 0;
}
