#include "burst/turns.h"

#include <stdbool.h>

// Half of all orders of three takes fit; sixty-four tries find one.
#define TRIES 64

void
vw_turns_shuffle(size_t* numbers, size_t n, VwRandom* random) {
  for (size_t i = n; i > 1U; --i) {
    const size_t j = (size_t)vw_random_below(random, i);
    const size_t number = numbers[i - 1U];
    numbers[i - 1U] = numbers[j];
    numbers[j] = number;
  }
}

static void
in_order(size_t* round, size_t n_takes) {
  for (size_t i = 0; i < n_takes; ++i) {
    round[i] = i;
  }
}

/// Whether the round from turn `at` on meets neither its forerunner nor, as
/// the last, the first turn.
static bool
fits(const size_t* turns, size_t at, size_t n_takes, size_t n_turns) {
  const bool last = at + n_takes == n_turns;
  return (!at || turns[at] != turns[at - 1U]) &&
         (!last || turns[at + n_takes - 1U] != turns[0]);
}

static bool
try_orders(size_t n_takes, size_t n_turns, VwRandom* random, size_t* turns) {
  for (size_t at = 0; at < n_turns; at += n_takes) {
    int n_tries = 0;
    in_order(turns + at, n_takes);
    do {
      vw_turns_shuffle(turns + at, n_takes, random);
    } while (!fits(turns, at, n_takes, n_turns) && ++n_tries < TRIES);
    if (n_tries == TRIES) {
      return false;
    }
  }
  return true;
}

void
vw_turns_make(size_t n_takes, size_t n_turns, VwRandom* random, size_t* turns) {
  // Two takes can but alternate.
  if (n_takes > 2U && try_orders(n_takes, n_turns, random, turns)) {
    return;
  }
  for (size_t i = 0; i < n_turns; ++i) {
    turns[i] = i % n_takes;
  }
}
