/// @file
/// What is reported of one sound of a pack, as of any other family.
#ifndef VW_CLI_PACK_SOUND_H
#define VW_CLI_PACK_SOUND_H

#include "cli/packing/pack_report.h"
#include "cli/report/report.h"
#include "pack/pack.h"

/// A report on a sound with all that it points to. It must not be moved.
typedef struct {
  Report      report; ///< Its warnings are found.
  PackedSound packed;
  Settings    settings;
  VwFamily    family;
  VwTakeUse   use;    ///< Of the first take, as far as it is known.
  Input*      inputs; ///< Owned.
  MadeFile*   files;  ///< Owned.
} SoundReport;

/// Fill it in; free it with sound_report_clear(), also without memory, when it
/// is false.
bool sound_report_init(const PackReport*  pack,
                       const VwPackSound* sound,
                       SoundReport*       made);

/// Free what it owns.
void sound_report_clear(SoundReport* made);

#endif
