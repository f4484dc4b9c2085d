#ifndef VW_UNITS_H
#define VW_UNITS_H

#include <math.h>
#include <stddef.h>

#define VW_PI 3.14159265358979323846
#define VW_LN2 0.69314718055994531

/// Decibels of a power ratio.
static inline double
vw_db_of_power(double ratio) {
  return 10.0 * log10(ratio);
}

/// The power ratio of so many decibels.
static inline double
vw_power_of_db(double db) {
  return pow(10.0, db / 10.0);
}

/// The ratio of amplitudes of so many decibels.
static inline double
vw_gain_of_db(double db) {
  return pow(10.0, db / 20.0);
}

/// Frames nearest to a time. 0 for a time below half a frame.
static inline size_t
vw_frames_of_s(double seconds, double rate_hz) {
  return seconds > 0.0 ? (size_t)floor(seconds * rate_hz + 0.5) : 0U;
}

/// What of a fade remains at `i` of `n` frames: a raised cosine from 1 to 0.
static inline double
vw_fade_out_at(size_t i, size_t n) {
  return 0.5 * (1.0 + cos(VW_PI * (double)i / (double)n));
}

/// Two-sided 95 % of Student's distribution (closed forms for 1 and 2 degrees,
/// else the expansion of E. A. Cornish and R. A. Fisher, 1937).
static inline double
vw_student_95(double degrees) {
  const double z = 1.959964;
  const double z3 = z * z * z;
  return degrees < 1.5   ? 12.706
         : degrees < 2.5 ? 4.303
                         : z + (z3 + z) / (4.0 * degrees) +
                             (5.0 * z3 * z * z + 16.0 * z3 + 3.0 * z) /
                               (96.0 * degrees * degrees);
}

/// The order of two doubles, for qsort().
static inline int
vw_compare_doubles(const void* a, const void* b) {
  const double x = *(const double*)a;
  const double y = *(const double*)b;
  return (x > y) - (x < y);
}

#endif
