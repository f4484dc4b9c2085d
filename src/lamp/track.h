#ifndef VW_TRACK_H
#define VW_TRACK_H

#include "volleyweave/volleyweave.h"

/// Whether a lamp track has a channel: #VW_OK or #VW_TRACK_IN_MONO.
VwStatus vw_track_check(const VwFamilyOptions* options);

/// The options of the sound beside which a lamp track is laid: one channel, and
/// half of a file. Where no track is wanted, the same.
VwFamilyOptions vw_track_sound_options(const VwFamilyOptions* options);

/**
 * Lay the lamp track beside the sound of a finished family's pieces, where it
 * is wanted.
 *
 * @param options As asked, with two channels.
 * @param family Made with vw_track_sound_options(); its lamp is known.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_track_add(const VwFamilyOptions* options, VwFamily* family);

#endif
