#include "volleyweave/volleyweave.h"

#include <math.h>

// A flash of 20 to 50 ms reads well, and the lamp should be dark for at least
// half the period (common practice).
#define ON_MS 30.0
#define ON_SHARE 0.4

VwLamp
vw_lamp(double fire_rate_per_s) {
  const double period_ms = 1000.0 / fire_rate_per_s;
  const double on_ms = fmin(ON_MS, ON_SHARE * period_ms);
  return (VwLamp){fire_rate_per_s, period_ms, on_ms, on_ms / period_ms};
}
