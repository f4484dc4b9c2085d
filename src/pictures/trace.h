#ifndef VW_TRACE_H
#define VW_TRACE_H

#include "canvas.h"

/// Draw a trace of a panel whose axes are the sides of a box. False without
/// memory.
bool vw_trace_draw(VwCanvas*      canvas,
                   const VwPanel* panel,
                   const VwTrace* trace,
                   const VwBox*   box);

#endif
