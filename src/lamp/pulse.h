/// @file
/// The level of a loop, shot by shot. For the lamp's own room.
#ifndef VW_PULSE_H
#define VW_PULSE_H

#include "signal/signal.h"

#include "volleyweave/volleyweave.h"

/// The level of a loop that is played without end, shot by shot.
typedef struct {
  VwCurve curve;   ///< Of three cycles; the middle one counts. Owned.
  size_t  n_cycle; ///< Frames of a cycle.
  size_t  shots;   ///< In a cycle, evenly spread from its start on.
} VwPulses;

/**
 * The channel that is the sound: the first, or the strongest where the first is
 * all but silent. A lamp track in the second is left out.
 *
 * @param mono Filled in on success; free it with vw_sound_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_pulse_channel(const VwSound* sound, VwSound* mono);

/**
 * Take the level of a loop.
 *
 * @param pulses Filled in on success; free it with vw_pulses_clear().
 * @return #VW_OK, #VW_NO_MEMORY, #VW_SILENT.
 */
VwStatus vw_pulses_take(const VwSound* loop, size_t shots, VwPulses* pulses);

/// Free what is owned. NULL is accepted.
void vw_pulses_clear(VwPulses* pulses);

/// The step of the curve at a share of a shot's period, 0 to 1, or a little
/// past either end.
size_t vw_pulses_step(const VwPulses* pulses, size_t shot, double share);

#endif
