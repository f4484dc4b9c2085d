#ifndef VW_RANDOM_H
#define VW_RANDOM_H

#include <stdint.h>

/// A seeded sequence: SplitMix64 (G. L. Steele, D. Lea, C. H. Flood, "Fast
/// splittable pseudorandom number generators", OOPSLA 2014).
typedef struct {
  uint64_t state; ///< Start from any seed.
} VwRandom;

/// The next 64 bits.
static inline uint64_t
vw_random_bits(VwRandom* random) {
  random->state += 0x9E3779B97F4A7C15U;
  uint64_t bits = random->state;
  bits = (bits ^ (bits >> 30U)) * 0xBF58476D1CE4E5B9U;
  bits = (bits ^ (bits >> 27U)) * 0x94D049BB133111EBU;
  return bits ^ (bits >> 31U);
}

/// A whole number in [0, n), n >= 1. The bias of the remainder is below 2^-50
/// for the few choices made here.
static inline uint64_t
vw_random_below(VwRandom* random, uint64_t n) {
  return vw_random_bits(random) % n;
}

#endif
