#ifndef VW_INKS_H
#define VW_INKS_H

#include "volleyweave/pictures.h"

/// The colour of an ink, 0xRRGGBB.
unsigned vw_ink_colour(VwInk ink);

#endif
