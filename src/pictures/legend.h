#ifndef VW_LEGEND_H
#define VW_LEGEND_H

#include "pictures/canvas.h"

#define VW_LEGEND_ROW 11.0

/// Where a legend goes.
typedef struct {
  double left;  ///< Of every row but the first.
  double first; ///< Of the first, behind the heading.
  double right;
  double y; ///< Base line of the first row.
} VwLegendPlace;

/// How many rows the legend of a panel takes, at least 1.
unsigned vw_legend_rows(VwCanvas*            canvas,
                        const VwPanel*       panel,
                        const VwLegendPlace* place);

/// Draw it.
void vw_legend_draw(VwCanvas*            canvas,
                    const VwPanel*       panel,
                    const VwLegendPlace* place);

/// Fill a stretch as a band has it.
void vw_legend_fill(VwCanvas* canvas, const VwBand* band, const VwBox* box);

#endif
