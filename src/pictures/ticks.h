#ifndef VW_TICKS_H
#define VW_TICKS_H

#include "volleyweave/pictures.h"

#define VW_TICKS_MOST 48U

/// A place on an axis with its number.
typedef struct {
  double place; ///< 0 where the axis begins, 1 where it ends.
  char   text[24];
} VwTick;

/// Numbers along an axis, in rising order.
typedef struct {
  VwTick ticks[VW_TICKS_MOST];
  size_t n;
} VwTicks;

/// Where a value lies on an axis: 0 where it begins, 1 where it ends.
double vw_axis_place(const VwAxis* axis, double value);

/// Whether a place lies on an axis, its ends included.
bool vw_axis_has(double place);

/// Whether an axis has an extent that can be drawn.
bool vw_axis_is_sound(const VwAxis* axis);

/// Numbers at steps of 1, 2 or 5 times a power of ten, at most `n_most` (1 to
/// #VW_TICKS_MOST) of them.
void vw_ticks_take(const VwAxis* axis, size_t n_most, VwTicks* ticks);

#endif
