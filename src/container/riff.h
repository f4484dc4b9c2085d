#ifndef VW_RIFF_H
#define VW_RIFF_H

#include "volleyweave/volleyweave.h"

/// Compare what the header of a WAV file promises with what is there.
///
/// See vw_header_check().
VwStatus vw_riff_check(int fd, VwReadFault* fault);

/// Whether a WAV file has a header, but of a format other than the common ones.
bool vw_riff_is_uncommon(int fd);

#endif
