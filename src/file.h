#ifndef VW_FILE_H
#define VW_FILE_H

#include "volleyweave/volleyweave.h"

/// Which status an error of the system while writing stands for.
VwStatus vw_file_status(int error);

/**
 * Read a whole file.
 *
 * @param bytes Filled in on success; free it with vw_bytes_clear().
 * @return #VW_OK, #VW_NO_MEMORY, #VW_MISSING, #VW_UNREADABLE,
 * #VW_NOT_REGULAR.
 */
VwStatus vw_file_read(const char* path, VwBytes* bytes);

/**
 * Write all bytes to a file, sync and close it.
 *
 * @return 0, or the first error of the system.
 */
int vw_file_fill(int fd, const VwBytes* bytes);

#endif
