#ifndef VW_LOUDNESS_H
#define VW_LOUDNESS_H

#include "volleyweave/volleyweave.h"

/**
 * The loudness of an effect: the greatest momentary loudness of the sound in
 * silence, looked at every 10 ms.
 *
 * BS.1770 has no value for less than 400 ms; taking the momentary loudness of
 * the sound with silence about it is this project's convention.
 *
 * @param lufs Filled in on success; NaN of digital silence.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_loudness_of_effect(const VwSound* sound, double* lufs);

#endif
