#include "base/random.h"

uint64_t
vw_random_below(VwRandom* random, uint64_t n) {
  // The bias of the remainder is below 2^-50 for the few choices made here.
  return vw_random_bits(random) % n;
}
