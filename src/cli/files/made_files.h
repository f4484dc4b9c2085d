/// @file
/// The files of a family: their bytes, and their way to the disk or a pipe.
#ifndef VW_CLI_MADE_FILES_H
#define VW_CLI_MADE_FILES_H

#include "cli/files/paths.h"
#include "cli/report/report.h"

/// The files that one family becomes.
typedef struct {
  MadeFile* files; ///< Owned.
  size_t    n_files;
  VwBytes   picture; ///< Where one is asked for. Owned.
} MadeFiles;

/**
 * Encode those parts of a family that are wanted.
 *
 * @param made Filled in; free with made_files_clear() also after a failure.
 */
VwStatus made_files_encode(const Report*      report,
                           const Destination* destination,
                           MadeFiles*         made);

/**
 * Write the files and the picture, all or none; where the one file goes to
 * standard output, the picture before it.
 *
 * @param at Set to the index of the file that failed, where one did: `n_files`
 * for the picture.
 */
VwStatus made_files_write(const MadeFiles* made,
                          const Settings*  settings,
                          Destination*     destination,
                          size_t*          at);

/// Free what `made` owns. NULL is accepted.
void made_files_clear(MadeFiles* made);

#endif
