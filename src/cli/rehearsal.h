/// @file
/// One rehearsal on its way to a file or a pipe, and the lamp's times beside
/// it.
#ifndef VW_CLI_REHEARSAL_H
#define VW_CLI_REHEARSAL_H

#include "board/board.h"
#include "cli/options/settings.h"

/// What was rehearsed.
typedef struct {
  const Settings*    settings;
  const char*        path; ///< The loop.
  const VwRehearsal* asked;
  VwRehearsed        heard;
} Rehearsal;

/// Print the lamp's on and off times and what was played, as one line of JSON:
/// on standard output, or where the sound goes there, on the other stream.
/// False, and said, without memory.
bool rehearsal_print_json(const Rehearsal* rehearsal);

/// Warn of a press that the board misses.
void rehearsal_warn(const Rehearsal* rehearsal);

/// Print for a person which files were written, what is heard, and
/// cautions.
void rehearsal_print_text(const Rehearsal* rehearsal);

/**
 * Write the sound, and beside it the lamp's times.
 *
 * @param output A file, or "-": the sound alone goes to standard output.
 * @return False, and said, where that fails.
 */
bool rehearsal_write(const Rehearsal* rehearsal, const char* output);

#endif
