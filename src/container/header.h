#ifndef VW_HEADER_H
#define VW_HEADER_H

#include "volleyweave/volleyweave.h"

#define VW_CHANNELS_MOST 8

/**
 * Look at a file's header before a reader that makes the best of it does.
 *
 * @param fd An open file; its position is not used and not moved.
 * @param fault Filled in with #VW_CUT_SHORT.
 * @return #VW_OK also where nothing is known of the format; #VW_CONTAINER,
 * #VW_CHANNELS, #VW_SAMPLE_RATE, #VW_NO_FRAMES, #VW_CUT_SHORT, #VW_UNREADABLE.
 */
VwStatus vw_header_check(int fd, VwReadFault* fault);

/// Why a file that passed vw_header_check() could not be opened all the same:
/// #VW_NOT_AUDIO, #VW_CONTAINER, #VW_DAMAGED.
VwStatus vw_header_fault(int fd);

#endif
