#ifndef VW_AIFF_H
#define VW_AIFF_H

#include "volleyweave/volleyweave.h"

/// Compare what the header of an AIFF file promises with what is there.
///
/// See vw_header_check().
VwStatus vw_aiff_check(int fd, VwReadFault* fault);

#endif
