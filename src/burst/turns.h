#ifndef VW_TURNS_H
#define VW_TURNS_H

#include "base/random.h"

#include <stddef.h>

/**
 * Let takes take turns: each as often as every other, none twice running, also
 * not over the end of the cycle.
 *
 * @param n_takes 1 or more.
 * @param n_turns A multiple of `n_takes`.
 * @param turns Set to `n_turns` indices of takes.
 */
void vw_turns_make(size_t    n_takes,
                   size_t    n_turns,
                   VwRandom* random,
                   size_t*   turns);

/// Put `n` numbers into another order (R. Durstenfeld, Algorithm 235, CACM
/// 1964).
void vw_turns_shuffle(size_t* numbers, size_t n, VwRandom* random);

#endif
