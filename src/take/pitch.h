#ifndef VW_PITCH_H
#define VW_PITCH_H

#include "signal/signal.h"

#include "volleyweave/volleyweave.h"

/// Length of sound over which a pitch is taken, seconds.
#define VW_PITCH_WINDOW_S 0.040

/**
 * The pitch of the 40 ms of a sound from frame `from` on.
 *
 * The normalised square difference of the strongest channel (P. McLeod and
 * G. Wyvill, "A smarter way to find pitch", ICMC 2005): its first high maximum
 * gives the period, and the advance in phase of the fundamental between two
 * Hann windows 10 ms apart gives it finely, for the middle of the 40 ms
 * (J. L. Flanagan and R. M. Golden, "Phase vocoder", Bell System Technical
 * Journal 45, 1966).
 *
 * @param pitch_hz Filled in on success; NaN where the sound has no pitch or
 * ends too soon.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_pitch_find(const VwSound* sound, size_t from, double* pitch_hz);

/**
 * The pitch about the middle of each step, as vw_find() tells that of an
 * attack, from 40 ms.
 *
 * @param pitch_hz Set to `n_steps` values; NaN where there is none.
 * @return #VW_OK, #VW_NO_MEMORY.
 */
VwStatus vw_pitch_follow(const VwSound*   sound,
                         const VwStretch* stretch,
                         float*           pitch_hz);

#endif
