#ifndef VW_SOUND_H
#define VW_SOUND_H

#include "volleyweave/volleyweave.h"

/**
 * Copy a sound.
 *
 * @param copy Filled in on success; free it with vw_sound_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_sound_copy(const VwSound* sound, VwSound* copy);

/**
 * Copy frames [from, from + n_frames) of a sound; zeros where it ends before.
 *
 * @param part Filled in on success; free it with vw_sound_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_sound_part(const VwSound* sound,
                       size_t         from,
                       size_t         n_frames,
                       VwSound*       part);

/// Lengthen a sound with zeros to a multiple of `frames_unit`, but `least`.
VwStatus vw_sound_pad(VwSound* sound, size_t frames_unit, size_t least);

/// Multiply every value.
void vw_sound_scale(VwSound* sound, double gain);

/// Multiply frame `frame` of a sound.
static inline void
vw_sound_scale_frame(VwSound* sound, size_t frame, double gain) {
  for (unsigned c = 0; c < sound->n_channels; ++c) {
    float* const value = &sound->values[frame * sound->n_channels + c];
    *value = (float)((double)*value * gain);
  }
}

/// Mean square of one frame over its channels.
double vw_sound_power_at(const VwSound* sound, size_t frame);

/// The channel with the most energy in frames [from, from + n).
unsigned vw_sound_strongest(const VwSound* sound, size_t from, size_t n);

/// The greatest absolute value.
double vw_sound_peak(const VwSound* sound);

#endif
