/// @file
/// The shots of a take, each to be a file of its own.
#ifndef VW_CLI_SPLIT_H
#define VW_CLI_SPLIT_H

#include "cli/files/files.h"
#include "cli/options/settings.h"
#include "cli/report/report.h"

/**
 * Find the shots of a take, and which of them are to be written.
 *
 * @param split Filled in; free it with vw_shots_clear() also after a failure.
 * @return #VW_OK, #VW_NO_MEMORY; #VW_NO_SHOT of a sustained sound.
 */
VwStatus split_find(const Input*    input,
                    const Settings* settings,
                    VwShots*        split);

/// Find the shots of a take that take turns, likewise; see vw_turns_find().
VwStatus turns_find(const Input*    input,
                    const Settings* settings,
                    VwShots*        turns);

/**
 * Settings that name the files of a take's shots: their number follows the
 * sound's name.
 *
 * @param take Of the shots, among all.
 * @param names Filled in; free with split_names_clear() also after a failure.
 * @return False without memory.
 */
bool split_names_make(const Settings* settings,
                      size_t          take,
                      const VwShots*  split,
                      Settings*       names);

/// Free the names.
void split_names_clear(Settings* names);

#endif
