// Preferred values (IEC 60063:2015).

#include "lamp/lamp.h"

#include <assert.h>
#include <math.h>

// Not the rounded powers of ten: the standard lists 2.7 to 4.7 and 8.2 so. E12
// and E6 are every second and every fourth of them.
static const double e24[] = {1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0,
                             2.2, 2.4, 2.7, 3.0, 3.3, 3.6, 3.9, 4.3,
                             4.7, 5.1, 5.6, 6.2, 6.8, 7.5, 8.2, 9.1};

static const double e96[] = {
  1.00, 1.02, 1.05, 1.07, 1.10, 1.13, 1.15, 1.18, 1.21, 1.24, 1.27, 1.30,
  1.33, 1.37, 1.40, 1.43, 1.47, 1.50, 1.54, 1.58, 1.62, 1.65, 1.69, 1.74,
  1.78, 1.82, 1.87, 1.91, 1.96, 2.00, 2.05, 2.10, 2.15, 2.21, 2.26, 2.32,
  2.37, 2.43, 2.49, 2.55, 2.61, 2.67, 2.74, 2.80, 2.87, 2.94, 3.01, 3.09,
  3.16, 3.24, 3.32, 3.40, 3.48, 3.57, 3.65, 3.74, 3.83, 3.92, 4.02, 4.12,
  4.22, 4.32, 4.42, 4.53, 4.64, 4.75, 4.87, 4.99, 5.11, 5.23, 5.36, 5.49,
  5.62, 5.76, 5.90, 6.04, 6.19, 6.34, 6.49, 6.65, 6.81, 6.98, 7.15, 7.32,
  7.50, 7.68, 7.87, 8.06, 8.25, 8.45, 8.66, 8.87, 9.09, 9.31, 9.53, 9.76};

/// A series, and the tolerance its parts customarily have.
static const struct {
  const double* values;
  long          every; ///< How far from value to value in them.
  long          n;
  double        tolerance;
} all[] = {[VW_E6] = {e24, 4, 6, 0.20},
           [VW_E12] = {e24, 2, 12, 0.10},
           [VW_E24] = {e24, 1, 24, 0.05},
           [VW_E96] = {e96, 1, 96, 0.01}};

// What a product of a decade and a listed value may be off by rounding.
#define ROUNDING 1e-9

double
vw_e_series_tolerance(VwESeries series) {
  return all[series].tolerance;
}

/// The value of index `index`, 0 being 1.0, in any decade.
static double
value_at(VwESeries series, long index) {
  const long   n = all[series].n;
  const long   decade = (index >= 0 ? index : index - n + 1) / n;
  const double mantissa =
    all[series].values[(index - decade * n) * all[series].every];
  // A division by a whole power of ten is exact to the last digit.
  return decade < 0 ? mantissa / pow(10.0, (double)-decade)
                    : mantissa * pow(10.0, (double)decade);
}

/// Index of the greatest value not above `value`.
static long
index_down(VwESeries series, double value) {
  assert(value > 0.0);
  const double n = (double)all[series].n;
  long         index = (long)floor(log10(value) * n) + 2;
  while (value_at(series, index) > value * (1.0 + ROUNDING)) {
    --index;
  }
  return index;
}

double
vw_e_series_down(VwESeries series, double value) {
  return value_at(series, index_down(series, value));
}

double
vw_e_series_up(VwESeries series, double value) {
  const long   index = index_down(series, value);
  const double down = value_at(series, index);
  return down >= value * (1.0 - ROUNDING) ? down : value_at(series, index + 1);
}
