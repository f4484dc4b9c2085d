#include "cli/message/flash.h"

// "More than three times in any one second period": W3C, Web Content
// Accessibility Guidelines 2.2, criterion 2.3.1. A rate of 3 that whole frames
// made 1,000 ppm faster is still 3.
#define FLASHES_MOST_HZ 3.003

/// Why, for a person and for programs.
static const struct {
  const char* text;
  const char* key;
} reasons[] = {
  [VW_ON_USUAL] = {"no loop tells: 30 ms, at most 0.4 of the period, read well",
                   "usual"},
  [VW_ON_ASKED] = {"as asked", "asked"},
  [VW_ON_SOUND] = {"while the shot is within 12 dB of its crest", "sound"},
  [VW_ON_LEAST] = {"the shot is loud for less, but 20 ms read well", "least"},
  [VW_ON_MOST] = {"the shot is loud for longer, but 50 ms read well", "most"},
  [VW_ON_HALF] = {"the shot is loud for longer, but the lamp is dark for the "
                  "other half of the time to the next one",
                  "half"},
};

bool
flash_is_fast(double pulse_hz) {
  return pulse_hz > FLASHES_MOST_HZ;
}

const char*
flash_reason(VwOnReason reason) {
  return reasons[reason].text;
}

const char*
flash_reason_key(VwOnReason reason) {
  return reasons[reason].key;
}
