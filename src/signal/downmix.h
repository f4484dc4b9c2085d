#ifndef VW_DOWNMIX_H
#define VW_DOWNMIX_H

#include "volleyweave/volleyweave.h"

/**
 * Bring a sound to another number of channels.
 *
 * To one channel: the first of two that are the same, also one frame apart;
 * else the mean of all, unless two of them would cancel (their correlation lies
 * below -0.3); then the strongest alone. From one channel: copies. Between
 * other numbers: one channel first, then copies.
 *
 * @param n_channels 1 or more.
 * @param how Set on success.
 * @param out Filled in on success; free it with vw_sound_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_downmix(const VwSound* sound,
                    unsigned       n_channels,
                    VwDownmix*     how,
                    VwSound*       out);

#endif
