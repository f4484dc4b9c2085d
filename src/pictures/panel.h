#ifndef VW_PANEL_H
#define VW_PANEL_H

#include "pictures/flags.h"
#include "pictures/legend.h"
#include "pictures/ticks.h"

/// Where everything of a panel goes.
typedef struct {
  double        top;
  VwBox         box; ///< Between the axes.
  VwLegendPlace legend;
  VwFlags       flags;
  VwTicks       x_ticks;
  VwTicks       y_ticks;
  double        bottom;
} VwPanelPlan;

/// Give everything of a panel its place.
///
/// @param strip Where it goes; as high as it likes from `strip.y` down.
void vw_panel_lay(VwCanvas*      canvas,
                  const VwPanel* panel,
                  const VwBox*   strip,
                  VwPanelPlan*   plan);

/// Draw it. False without memory.
bool vw_panel_draw(VwCanvas*          canvas,
                   const VwPanel*     panel,
                   const VwPanelPlan* plan);

#endif
