#ifndef VW_BURST_INTERNAL_H
#define VW_BURST_INTERNAL_H

#include "burst/burst.h"

#include "volleyweave/volleyweave.h"

/**
 * Make the first and the last frame of a shot exactly zero again.
 *
 * To be done after a conversion, which rings about the ends: the first half
 * millisecond is faded in, the last millisecond faded out.
 */
void vw_shot_close_ends(VwSound* shot);

/**
 * The crest about which a shot is laid down: its own, or, where that lies later
 * than 0.4 of the period, the first frame that is within 3 dB of it. A plateau
 * has its crest anywhere; to start late for it would lose the attack.
 */
size_t vw_late_crest(const VwTakeUse* use, double period_s, unsigned rate_hz);

/**
 * Let a shot start late where its crest lies later than 0.4 of the period.
 *
 * What is left out comes after the 2 ms of silence before every shot; the
 * sound is then faded in over 5 ms.
 *
 * @param crest The crest's frame; moved along.
 * @param late_ms Set to what is left out, 0 where nothing is.
 * @param out Filled in on success; free it with vw_sound_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_late_start(const VwSound* shot,
                       double         period_s,
                       size_t*        crest,
                       double*        late_ms,
                       VwSound*       out);

/// Fade both ends of a cycle from and to zero for #VW_CYCLE_FADE_S, the last
/// `n_gap` frames left aside: these become zeros.
void vw_burst_close_cycle(VwSound* cycle, size_t n_gap);

/**
 * The steady cycle from the first shot's start, all older tails under it, held
 * under the ceiling, its ends faded and the gap silent where the volley is
 * closed.
 *
 * @param cycle Zeros are not needed; must have the plan's length and the
 * shots' channels.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_burst_fold(const VwVolley* volley, VwSound* cycle);

/**
 * The valley of a steady cycle, of its shallowest shot.
 *
 * @param cycle One cycle, which repeats without end.
 * @param plan Where the shots lie in it. Shot `first` starts at frame 0.
 * @param valley_db Filled in on success.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_valley_measure(const VwSound* cycle,
                           const VwPlan*  plan,
                           double*        valley_db);

/// Frames from a shot's crest to where its bend begins: half a level's window.
size_t vw_tighten_margin(unsigned rate_hz);

#endif
