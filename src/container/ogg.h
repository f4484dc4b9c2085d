#ifndef VW_OGG_H
#define VW_OGG_H

#include "volleyweave/volleyweave.h"

/// Whether an Ogg file has its last page.
///
/// The header promises no length, but the last page of a stream is marked as
/// such (RFC 3533). See vw_header_check().
VwStatus vw_ogg_check(int fd, VwReadFault* fault);

#endif
