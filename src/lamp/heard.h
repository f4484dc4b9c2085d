/// @file
/// What of a loop is heard, and what of it tells where its shots lie. For the
/// lamp's own room.
#ifndef VW_HEARD_H
#define VW_HEARD_H

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
 * A cycle, and so many frames more of its other end on each side.
 *
 * @param mono Of one channel, not empty.
 * @param played Filled in on success; free it with vw_sound_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_loop_play(const VwSound* mono, size_t n_more, VwSound* played);

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

/// Beside the file's end a loop may be faded, and a level's window reaches over
/// it: what is nearer tells nothing.
#define VW_LOOP_END_S 0.004

/// How many bands there are.
#define VW_BANDS 12U

/// How loud a loop is in each of a few bands, from step to step, beside the
/// band's mean: by it two shots of one take are told to be alike, also where
/// one is a little higher or louder.
typedef struct {
  double* values;   ///< `n_steps` times #VW_BANDS. Owned.
  size_t  n_steps;  ///< In a cycle, evenly spread.
  double  step_s;   ///< About 2 ms.
  double  length_s; ///< Of the cycle.
} VwBands;

/**
 * Take the bands of a loop that is played without end.
 *
 * @param mono One cycle, of one channel.
 * @param bands Filled in on success; free it with vw_bands_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_bands_take(const VwSound* mono, VwBands* bands);

/// Free what is owned. NULL is accepted.
void vw_bands_clear(VwBands* bands);

/// Two pieces of a loop.
typedef struct {
  double from_s;   ///< Where one starts.
  double other_s;  ///< Where the other starts.
  double length_s; ///< Of both.
  bool   wraps;    ///< They run on over the seam; else they end there.
} VwBandsPair;

/// How alike two pieces are: 1 for the same course, about 0 for two that have
/// nothing to do with each other.
double vw_bands_likeness(const VwBands* bands, const VwBandsPair* pair);

/// How the bands of a loop and the same later go together, lag by lag. Starts
/// all zero.
typedef struct {
  double* product; ///< Sum of the products of what lies a lag apart. Owned.
  double* energy;  ///< The most that the product can be. Owned.
  size_t  n_lags;
  double  step_s; ///< From one lag to the next.
} VwLags;

/**
 * Take the lags of bands, within the file: nothing runs on over its seam.
 *
 * @param lags Filled in on success; free it with vw_lags_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_lags_take(const VwBands* bands, VwLags* lags);

/// Free what is owned. NULL is accepted.
void vw_lags_clear(VwLags* lags);

/// The period of so many shots (2 and up) that repeats best, between two.
double vw_lags_period_s(const VwLags* lags,
                        size_t        shots,
                        double        least_s,
                        double        most_s);

/// What of a loop tells where its shots lie. Starts all zero.
typedef struct {
  VwPulses pulses;  ///< Its level. Owned.
  VwBands  bands;   ///< Owned.
  double   loudest; ///< Level of its loudest crest.
} VwHeard;

/**
 * Listen to one cycle of a loop.
 *
 * @param mono The file's frames, of one channel.
 * @param heard Filled in on success; free it with vw_heard_clear().
 * @return #VW_OK, #VW_NO_MEMORY, #VW_SILENT.
 */
VwStatus vw_heard_take(const VwSound* mono, VwHeard* heard);

/// Free what is owned. NULL is accepted.
void vw_heard_clear(VwHeard* heard);

/// Shots that follow each other evenly, the first at the file's start, and what
/// speaks for it that the loop is made of these.
typedef struct {
  size_t shots;
  double period_s;
  bool   wraps;    ///< The last one's period ends with the file, and the
                   ///< tails run on over the seam. Else a pause follows.
  double next;     ///< How alike a shot and its next are, the mean of all.
  double partner;  ///< How alike a shot and that of the others are to which
                   ///< it is nearest, the mean of all.
  double least_db; ///< How much the level rises where a shot starts, at least.
  double third_db; ///< The same, but for the third of the shots with the
                   ///< least rise.
  double first_db; ///< How far the first shot's crest is below the loudest.
  double one_course; ///< What of the level's variance the mean course of all
                     ///< shots explains, 0 to 1.
} VwSpacing;

/**
 * Find out what speaks for a spacing.
 *
 * @param spacing Its number of shots (1 and up), period and seam are read, the
 * rest is filled in.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_spacing_judge(const VwHeard* heard, VwSpacing* spacing);

/**
 * How long the gap is for which a loop was made, seconds: what the file lacks
 * of as many periods as it has shots.
 *
 * To the frame, or nearly, where two shots have the same wave; else as exact as
 * the spacing is.
 *
 * @param mono The file's frames, of one channel.
 */
double vw_gap_found_s(const VwSound*   mono,
                      const VwHeard*   heard,
                      const VwSpacing* spacing);

#endif
