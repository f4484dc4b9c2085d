#include "take/rise.h"

#include "signal/sound.h"

#include <math.h>

// A slow rise is supposed straight. Its start is looked for so far before and
// after the change point, in so many steps.
#define START_BEFORE 0.05
#define START_AFTER 0.02
#define START_STEPS 70

/// Log-likelihood of normal values whose deviation rises from frame `start`.
static double
likelihood(const VwRise* rise, double start) {
  const double slope = rise->power / pow(rise->near - start, 2.0);
  double       sum = 0.0;
  for (size_t i = rise->from; i < rise->to; ++i) {
    const double along = fmax((double)i - start, 0.0);
    const double variance = rise->noise + slope * along * along;
    sum -= log(variance) + vw_sound_power_at(rise->sound, i) / variance;
  }
  return sum;
}

size_t
vw_rise_start(const VwRise* rise, size_t change) {
  const double length = rise->near - (double)change;
  double       best = (double)change;
  double       highest = -HUGE_VAL;
  for (int i = 0; i <= START_STEPS; ++i) {
    const double start =
      (double)change + length * (START_AFTER - (START_BEFORE + START_AFTER) *
                                                 (double)i / START_STEPS);
    const double likely = start >= 0.0 ? likelihood(rise, start) : -HUGE_VAL;
    best = likely > highest ? start : best;
    highest = fmax(likely, highest);
  }
  return (size_t)(best + 0.5);
}
