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
 * The digest of a file, as vw_digest() has it.
 *
 * @return As vw_file_read().
 */
VwStatus vw_file_digest(const char* path, uint64_t* digest);

/**
 * Write bytes, all of them.
 *
 * @return 0, or the error of the system.
 */
int vw_file_add(int fd, const void* data, size_t n_bytes);

/**
 * Sync and close a file that was written.
 *
 * @param error Of the writing before, or 0.
 * @return That, or else the first error of the system.
 */
int vw_file_finish(int fd, int error);

/**
 * Write all bytes to a file, sync and close it.
 *
 * @return 0, or the first error of the system.
 */
int vw_file_fill(int fd, const VwBytes* bytes);

#endif
