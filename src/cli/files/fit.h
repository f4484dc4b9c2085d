/// @file
/// Whether a file is small enough for its board, and what would make it so.
#ifndef VW_CLI_FIT_H
#define VW_CLI_FIT_H

#include "cli/files/made.h"

/**
 * Say what is wrong with a file that is too big for the board asked for.
 *
 * @param encoding Of the file.
 * @return "fault: remedy", to be freed; NULL where it fits.
 */
char* fit_fault(const Settings* settings,
                VwEncoding      encoding,
                const MadeFile* file);

#endif
