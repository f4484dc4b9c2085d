#ifndef VW_STAGE_H
#define VW_STAGE_H

#include "volleyweave/volleyweave.h"

/// A file on its way to its name. Starts all zero.
typedef struct {
  char* path;   ///< The name it is to have. Owned.
  char* staged; ///< The name it has until then. Owned.
  char* backup; ///< Where the file that it replaces is kept. Owned.
  bool  done;   ///< It has its name.
} VwStage;

/**
 * Write a file under a name of its own in the folder of `path`, and sync it.
 *
 * @return #VW_OK, #VW_NO_MEMORY, or what vw_file_status() says.
 */
VwStatus vw_stage_write(VwStage* stage, const char* path, const VwBytes* bytes);

/// Give a file that was written its name; what it replaces is kept.
VwStatus vw_stage_rename(VwStage* stage);

/**
 * Free all of a stage and leave no file but the one meant.
 *
 * @param keep Drop what was replaced; or else the new file, and put the old one
 * back, whichever of the steps above was the last.
 */
void vw_stage_finish(VwStage* stage, bool keep);

#endif
