#ifndef VW_TRACE_H
#define VW_TRACE_H

#include "pictures/canvas.h"

// Over what is filled, lines lie on a white one that is wider by so much.
#define VW_HALO 1.4
#define VW_HALO_COLOUR 0xFFFFFFU

/// Draw a trace of a panel whose axes are the sides of a box. False without
/// memory.
bool vw_trace_draw(VwCanvas*      canvas,
                   const VwPanel* panel,
                   const VwTrace* trace,
                   const VwBox*   box);

#endif
