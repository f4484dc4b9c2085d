#ifndef VW_SIGNAL_H
#define VW_SIGNAL_H

#include "volleyweave/volleyweave.h"

/**
 * Copy one channel of a sound.
 *
 * @param channel Counted from 0.
 * @param out Filled in on success; free it with vw_sound_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_sound_channel(const VwSound* sound, unsigned channel, VwSound* out);

/// How a sound's level runs, in steps of about half a millisecond.
typedef struct {
  double* level_dbfs; ///< RMS about the middle of each step over 10 ms,
                      ///< Hann-weighted, behind a fourth-order Butterworth
                      ///< high-pass at 100 Hz, the mean power of all channels;
                      ///< NaN in digital silence. What lies outside of the
                      ///< sound counts as silence. Owned.
  size_t n_steps;     ///< How many, at least 1.
  double step_s;      ///< Length of a step, seconds, a whole number of frames.
} VwCourse;

/**
 * Follow the level of a sound: the one by which its shots are found.
 *
 * @param sound Such as a take, prepared, or a piece of a family.
 * @param course Filled in on success; free it with vw_course_clear().
 * @return #VW_OK, #VW_NO_MEMORY, #VW_NO_FRAMES.
 */
VwStatus vw_course_take(const VwSound* sound, VwCourse* course);

/// Free what `course` owns and set it to zero. NULL is accepted.
void vw_course_clear(VwCourse* course);

/// A part of a sound in even steps.
typedef struct {
  size_t from_frame; ///< Its first.
  size_t to_frame;   ///< One past its last; above `from_frame`.
  size_t n_steps;    ///< 1 to 100,000.
} VwStretch;

/// How long a step of a stretch is, frames.
double vw_stretch_step(const VwStretch* stretch);

/**
 * The lowest and the highest value of each step, over all channels.
 *
 * A step also looks at the frame before it, so that one joins the next, and at
 * one frame at least; what lies outside of the sound counts as silence.
 *
 * @param low Set to `n_steps` values.
 * @param high The same.
 */
void vw_outline_take(const VwSound*   sound,
                     const VwStretch* stretch,
                     float*           low,
                     float*           high);

/// Which frequencies to look at, evenly spread in their logarithm.
typedef struct {
  double low_hz;  ///< Above 0.
  double high_hz; ///< At most half the sample rate.
  size_t n_rows;  ///< 1 to 1000.
} VwRows;

/**
 * How strong the frequencies of a sound are, step by step.
 *
 * Hann windows of 23 ms, up to 16 of them evenly over a step that is longer,
 * the mean power of all channels.
 *
 * @param level_dbfs Set to `n_steps` times `n_rows` values, the lowest
 * frequency of all steps first; a full-scale sine in one channel is 0, silence
 * is -200.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION.
 */
VwStatus vw_spectrogram_take(const VwSound*   sound,
                             const VwStretch* stretch,
                             const VwRows*    rows,
                             float*           level_dbfs);

#endif
