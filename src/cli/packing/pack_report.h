/// @file
/// What is reported of a pack for one board.
#ifndef VW_CLI_PACK_REPORT_H
#define VW_CLI_PACK_REPORT_H

#include "cli/prop/prop.h"
#include "pack/pack.h"

#include <stdio.h>

/// A pack, settled or made.
typedef struct {
  const CommandName* command;
  const Settings*    settings;
  const Prop*        prop;
  const VwPack*      pack;
  bool               written; ///< It was made; else it is shown what would be.
  bool names_only; ///< Files are named without the folder they are in.
} PackReport;

/// Print a table of the sounds, or of all files in a dry run, for a person.
void pack_report_text(const PackReport* report, FILE* out);

/// Say what is not as good as it could be.
void pack_report_warn(const PackReport* report);

/// Say by how much a pack is too big, and what would make it fit. False where
/// it fits.
bool pack_report_too_big(const PackReport* report);

/// Print one line of JSON for each sound, and one for the pack. False without
/// memory.
bool pack_report_json(const PackReport* report, FILE* out);

/// Print the line of JSON on one sound. False without memory.
bool pack_report_json_sound(const PackReport*  report,
                            const VwPackSound* sound,
                            FILE*              out);

/// A number of bytes as a person reads it: "22.1 kB".
const char* pack_size(char text[24], uint64_t n_bytes);

#endif
