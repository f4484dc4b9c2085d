#ifndef VW_FILE_H
#define VW_FILE_H

#include "volleyweave/volleyweave.h"

/// Which status an error of the system while writing stands for.
VwStatus vw_file_status(int error);

/**
 * Read a whole file.
 *
 * @param bytes Filled in on success; free it with vw_bytes_clear().
 * @return #VW_OK, #VW_NO_MEMORY, #VW_MISSING, #VW_UNREADABLE.
 */
VwStatus vw_file_read(const char* path, VwBytes* bytes);

/**
 * Write a new file under a name of its own beside `path`, and sync it.
 *
 * @param staged Set on success to the name, to be freed with free(). Nothing is
 * left of the file on failure.
 * @return #VW_OK, #VW_NO_MEMORY, or what vw_file_status() says.
 */
VwStatus vw_file_stage(const char* path, const VwBytes* bytes, char** staged);

#endif
