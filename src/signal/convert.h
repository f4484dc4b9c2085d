#ifndef VW_CONVERT_H
#define VW_CONVERT_H

#include "volleyweave/volleyweave.h"

/**
 * Convert a sound to another sample rate.
 *
 * Frame 0 stays at the same time. What lies outside the sound is silence: at
 * least 20 ms of zeros stand on both sides while it is converted.
 *
 * @param rate_hz 4000 to 384000.
 * @param out Filled in on success; free it with vw_sound_clear(). Its length
 * is that of `sound` to the nearest frame.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_convert(const VwSound* sound, unsigned rate_hz, VwSound* out);

/**
 * The same with a steeper filter, for measuring: up to 0.95 of half the lower
 * sample rate nothing is lost, where vw_convert() loses 3 dB, but its ends ring
 * for longer.
 */
VwStatus vw_convert_whole_band(const VwSound* sound,
                               unsigned       rate_hz,
                               VwSound*       out);

#endif
