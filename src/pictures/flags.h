#ifndef VW_FLAGS_H
#define VW_FLAGS_H

#include "pictures/canvas.h"

#define VW_FLAG_SIZE 8.0
#define VW_FLAG_LANE 10.5

// More labels on one panel are no use to anyone.
#define VW_FLAGS_MOST 24U

/// The label of a mark, beside its line and above its panel.
typedef struct {
  const VwMark* mark;
  double        x;    ///< Of its line, points.
  double        left; ///< Of its text.
  double        right;
  unsigned      lane; ///< 0 next to the panel.
} VwFlag;

/// The labels of a panel.
typedef struct {
  VwFlag   flags[VW_FLAGS_MOST];
  size_t   n;
  unsigned n_lanes;
} VwFlags;

/**
 * Give every label a lane, so that none lies on another, nor, where that can
 * be, on another's line.
 *
 * @param box The panel; a label at its right end stands left of its line.
 */
void vw_flags_lay(VwCanvas*      canvas,
                  const VwPanel* panel,
                  const VwBox*   box,
                  VwFlags*       flags);

#endif
