#include "random.h"

double
vw_random_unit(VwRandom* random) {
  return (double)(vw_random_bits(random) >> 11U) * 0x1.0p-53;
}

uint64_t
vw_random_below(VwRandom* random, uint64_t n) {
  // The bias of the remainder is below 2^-50 for the few choices made here.
  return vw_random_bits(random) % n;
}
