// The bytes of a loop, or of a file for a board, that is checked.

#include "cli/commands.h"
#include "fuzz/fuzz.h"

int
LLVMFuzzerTestOneInput(const uint8_t* data, size_t n_bytes) {
  static const FuzzLine lines[] = {
    {"check --seconds-max 1 zap.loop.wav", command_check},
    {"check --board wav-44k-mono zap.loop.wav", command_check},
    {"mend -n --seconds-max 1 zap.loop.wav", command_mend},
    {"rehearse -f --board wav-44k-mono --hold 0.1s,1s -o held.wav zap.loop.wav",
     command_rehearse},
  };
  fuzz_put("zap.loop.wav", data, n_bytes);
  fuzz_line(&lines[n_bytes % (sizeof(lines) / sizeof(lines[0]))]);
  return 0;
}
