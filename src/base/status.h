#ifndef VW_STATUS_H
#define VW_STATUS_H

#include "volleyweave/volleyweave.h"

/// One thing that is wrong, and what to do about it.
typedef struct {
  char*    path;       ///< The file or folder, or NULL. Owned.
  unsigned line;       ///< Line of a text file, from 1; 0: the whole of it.
  char*    what;       ///< What is wrong. Owned.
  char*    remedy;     ///< What to do about it, or "". Owned.
  bool     placed;     ///< It lies at one place of a sound: the frames count.
  size_t   from_frame; ///< Its first frame.
  size_t   to_frame;   ///< One past its last.
} VwFault;

/// Things that are wrong. Starts all zero.
typedef struct {
  VwFault* faults; ///< In the order in which they were found. Owned.
  size_t   n_faults;
} VwFaults;

/**
 * Add a fault; all texts are copied.
 *
 * @param path The file or folder, or NULL.
 * @param line Line of a text file, from 1, or 0.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_faults_add(VwFaults*   faults,
                       const char* path,
                       unsigned    line,
                       const char* what,
                       const char* remedy);

/// Free what `faults` owns and set it to zero. NULL is accepted.
void vw_faults_clear(VwFaults* faults);

/// "8-bit unsigned PCM", "16-bit PCM", "24-bit PCM", "32-bit float". Static.
const char* vw_encoding_name(VwEncoding encoding);

/// "pieces", "whole-file", "loop-points", "burst". Static.
const char* vw_form_name(VwForm form);

#endif
