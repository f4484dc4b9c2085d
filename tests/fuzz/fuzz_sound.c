// The bytes of a sound file: what is found in it, and made of it.

#include "cli/commands.h"
#include "fuzz/fuzz.h"

int
LLVMFuzzerTestOneInput(const uint8_t* data, size_t n_bytes) {
  static const FuzzLine lines[] = {
    {"loop -n --seconds-max 1 zap.wav", make_all},
    {"inspect --json --seconds-max 1 zap.wav", command_inspect},
    {"loop -n --seconds-max 1 --form whole-file --gap 30 --variants 2 zap.wav",
     make_all},
    {"split -n --seconds-max 1 zap.wav", make_all},
    {"loop -n --seconds-max 1 --as sustained --form loop-points zap.wav",
     make_all},
    {"loop -n --seconds-max 1 --as rapid-fire --burst 3 zap.wav", make_all},
    {"convert -n --json --seconds-max 1 zap.wav", make_all},
  };
  fuzz_put("zap.wav", data, n_bytes);
  fuzz_line(&lines[n_bytes % (sizeof(lines) / sizeof(lines[0]))]);
  return 0;
}
