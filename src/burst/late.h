#ifndef VW_LATE_H
#define VW_LATE_H

#include "volleyweave/volleyweave.h"

/**
 * The crest about which a shot is laid down: its own, or, where that lies later
 * than 0.4 of the period, the first frame that is within 3 dB of it. A plateau
 * has its crest anywhere; to start late for it would lose the attack.
 */
size_t vw_late_crest(const VwTakeUse* use, const VwPlan* plan);

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

#endif
