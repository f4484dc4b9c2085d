#ifndef VW_OGG_NUMBER_H
#define VW_OGG_NUMBER_H

#include "volleyweave/volleyweave.h"

/// Give the one stream of an Ogg file a number and its pages the sums that go
/// with it: writers draw the number by chance, and no two runs would agree.
void vw_ogg_number(VwBytes* bytes, uint32_t number);

#endif
