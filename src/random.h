#ifndef VW_RANDOM_H
#define VW_RANDOM_H

#include <stdint.h>

/// A seeded sequence: SplitMix64 (G. L. Steele, D. Lea, C. H. Flood, "Fast
/// splittable pseudorandom number generators", OOPSLA 2014).
typedef struct {
  uint64_t state; ///< Start from any seed.
} VwRandom;

/// The next 64 bits.
uint64_t vw_random_bits(VwRandom* random);

/// A number in [0, 1).
double vw_random_unit(VwRandom* random);

/// A whole number in [0, n), n >= 1.
uint64_t vw_random_below(VwRandom* random, uint64_t n);

#endif
