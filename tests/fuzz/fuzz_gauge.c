// The bytes of a recording by which a board, a speaker or a lamp is gauged.

#include "cli/commands.h"
#include "fuzz/fuzz.h"

#include <string.h>

int
LLVMFuzzerTestOneInput(const uint8_t* data, size_t n_bytes) {
  static const FuzzLine lines[] = {
    {"gauge board --board ./small.board.ini --seconds-max 8 rec.wav",
     command_gauge},
    {"gauge lamp --seconds-max 8 rec.wav", command_gauge},
    {"gauge speaker -n --seconds-max 11 rec.wav", command_gauge},
  };
  static const char board[] = "[format]\nsample-rate = 8000\n";
  fuzz_put("small.board.ini", board, strlen(board));
  fuzz_put("rec.wav", data, n_bytes);
  fuzz_line(&lines[n_bytes % (sizeof(lines) / sizeof(lines[0]))]);
  return 0;
}
