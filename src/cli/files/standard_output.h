#ifndef VW_STANDARD_OUTPUT_H
#define VW_STANDARD_OUTPUT_H

#include "volleyweave/volleyweave.h"

/**
 * Write bytes to the standard output, past its stream's buffer, so that a
 * failure is met here and once.
 *
 * @return #VW_OK, #VW_DISK_FULL or #VW_WRITE_FAILED.
 */
VwStatus standard_output_write(const VwBytes* bytes);

#endif
