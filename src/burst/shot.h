#ifndef VW_SHOT_H
#define VW_SHOT_H

#include "volleyweave/volleyweave.h"

/**
 * Frames before the attack at the start of every shot: 2 ms. The cut from loop
 * to loop lies before them, in the quiet before a shot and not in its attack
 * (0.5 to 2 ms: common practice).
 */
size_t vw_shot_pre_roll(unsigned rate_hz);

/**
 * Cut a shot from its take, at the take's own sample rate.
 *
 * The attack comes to lie where it falls, at `rate_hz`, on the frame
 * vw_shot_pre_roll() says; zeros stand where the take has nothing before it.
 * The first half millisecond is faded in, the last 20 ms are a raised cosine
 * to exact zero.
 *
 * @param rate_hz The sample rate to which the shot is going to be converted.
 * @param shot Filled in on success; free it with vw_sound_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_shot_cut(const VwSound*     take,
                     const VwShotFacts* facts,
                     unsigned           rate_hz,
                     VwSound*           shot);

/**
 * Make the first and the last frame of a shot exactly zero again.
 *
 * To be done after a conversion, which rings about the ends: the first half
 * millisecond is faded in, the last millisecond faded out.
 */
void vw_shot_close_ends(VwSound* shot);

/// Multiply frame `frame` of a sound.
static inline void
vw_shot_scale_frame(VwSound* sound, size_t frame, double gain) {
  for (unsigned c = 0; c < sound->n_channels; ++c) {
    float* const value = &sound->values[frame * sound->n_channels + c];
    *value = (float)((double)*value * gain);
  }
}

#endif
