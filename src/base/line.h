/// @file
/// A straight line through points, by least squares.
#ifndef VW_LINE_H
#define VW_LINE_H

#include <math.h>

/// The sums of the points; all zero before the first.
typedef struct {
  double n, x, y, xx, xy, yy;
} VwLine;

static inline void
vw_line_add(VwLine* line, double x, double y) {
  line->n += 1.0;
  line->x += x;
  line->y += y;
  line->xx += x * x;
  line->xy += x * y;
  line->yy += y * y;
}

/// The squares of the x about their mean, summed.
static inline double
vw_line_spread(const VwLine* line) {
  return line->xx - line->x * line->x / line->n;
}

/// The slope; 0 if all points lie at one x.
static inline double
vw_line_slope(const VwLine* line) {
  const double spread = line->n * line->xx - line->x * line->x;
  return spread > 0.0 ? (line->n * line->xy - line->x * line->y) / spread : 0.0;
}

/// The line's y at an x.
static inline double
vw_line_at(const VwLine* line, double x) {
  return line->y / line->n + vw_line_slope(line) * (x - line->x / line->n);
}

/// The squares of the points' distances from the line, summed.
static inline double
vw_line_stray(const VwLine* line) {
  const double slope = vw_line_slope(line);
  return fmax(line->yy - line->y * line->y / line->n -
                slope * slope * vw_line_spread(line),
              0.0);
}

#endif
