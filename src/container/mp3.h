#ifndef VW_MP3_H
#define VW_MP3_H

#include "volleyweave/volleyweave.h"

/// Compare the length that an MP3 file's first frame may state with what is
/// there.
///
/// See vw_header_check().
VwStatus vw_mp3_check(int fd, VwReadFault* fault);

#endif
