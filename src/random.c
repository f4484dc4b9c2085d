#include "random.h"

uint64_t
vw_random_bits(VwRandom* random) {
  random->state += 0x9E3779B97F4A7C15U;
  uint64_t bits = random->state;
  bits = (bits ^ (bits >> 30U)) * 0xBF58476D1CE4E5B9U;
  bits = (bits ^ (bits >> 27U)) * 0x94D049BB133111EBU;
  return bits ^ (bits >> 31U);
}

double
vw_random_unit(VwRandom* random) {
  return (double)(vw_random_bits(random) >> 11U) * 0x1.0p-53;
}

uint64_t
vw_random_below(VwRandom* random, uint64_t n) {
  // The bias of the remainder is below 2^-50 for the few choices made here.
  return vw_random_bits(random) % n;
}
