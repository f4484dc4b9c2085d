/// @file
/// The files of a family: their bytes, and their way to the disk or a pipe.
#ifndef VW_CLI_MADE_H
#define VW_CLI_MADE_H

#include "cli/files/paths.h"
#include "cli/options/settings.h"

/// A file that was made, or would be.
typedef struct {
  VwPart      part;
  char*       path;  ///< Owned; "-" for standard output.
  VwBytes     bytes; ///< Owned.
  size_t      n_frames;
  unsigned    n_channels;
  unsigned    rate_hz;
  unsigned    block_frames; ///< Longest block that may be padded, or 0.
  VwLoopKnown loop;         ///< What a loop holds; all zero of other parts.
} MadeFile;

/// What files are made from.
typedef struct {
  const CommandName* command;
  const Settings*    settings;
  const VwFamily*    family;
  size_t             first_take; ///< Of its takes, among all.
} MadeFrom;

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
VwStatus made_files_encode(const MadeFrom*    from,
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

/// Write a picture alone, where one is asked for, under the rules for all that
/// is written.
VwStatus made_picture_write(const VwBytes* picture, const Settings* settings);

/// Free what `made` owns. NULL is accepted.
void made_files_clear(MadeFiles* made);

#endif
