/// @file
/// A loop that anybody made, judged by itself and mended.
#ifndef VW_LOOP_H
#define VW_LOOP_H

#include "card/card.h"
#include "lamp/lamp.h"
#include "take/events.h"

#include "volleyweave/volleyweave.h"

/// A loop is judged from so many frames on, and from 5 ms on, as a take is.
#define VW_LOOP_LEAST_FRAMES 64U
#define VW_LOOP_LEAST_S 0.005

/// A single shot that takes longer seldom is a loop (chosen here).
#define VW_LOOP_SINGLE_LEAST_S 0.25

/// Of real fire, what is left of a period tells nothing up to this share of it
/// (chosen here, by 105 loops of real shots with jitter of 1 to 3 ms).
#define VW_LEFT_SHARE 0.07

/// Whether so many frames are too few to be judged.
bool vw_loop_is_short(size_t n_frames, unsigned rate_hz);

/// How a loop steps and bends from its last frame to its first, in times the
/// 99.9th percentile of what it does elsewhere; of several channels the most.
typedef struct {
  double step;     ///< From frame to frame.
  double slope;    ///< From step to step.
  double residual; ///< What a linear prediction from the frames before misses.
  double height;   ///< Of the step, full scale 1.
} VwSeam;

/// Above so many times, a seam is heard.
#define VW_SEAM_MOST 1.8

/**
 * Measure the seam of a loop.
 *
 * @param loop At least #VW_LOOP_LEAST_FRAMES.
 * @param seam Filled in on success.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_seam_measure(const VwSound* loop, VwSeam* seam);

/// How many shots' periods a loop is long.
typedef struct {
  double period_frames; ///< From shot to shot; NaN: nothing repeats in it.
  double left_frames;   ///< More than a whole number of them; below 0: less.
  size_t shots;         ///< That whole number.
  bool   even;          ///< It repeats over the seam as well as within.
  bool   whole;         ///< The same, and what is left is as good as none.
  bool   exact;         ///< Found by the wave, to a frame; else to 2 ms.
} VwCycle;

/**
 * Find what repeats within a loop, and whether it repeats over its seam.
 *
 * By the likeness of the bands' levels and of the wave at whole periods, less
 * that half-way between; the period then to a frame.
 *
 * @param events Of the loop, played once.
 * @param gap_frames That a board adds to each repeat.
 * @param cycle Filled in on success.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_cycle_find(const VwSound*  loop,
                       const VwEvents* events,
                       size_t          gap_frames,
                       VwCycle*        cycle);

/**
 * Whether a loop is of a sound that goes on, as a hum with its beats: its level
 * rises as it falls, which that of shots does not.
 *
 * @param loop Not empty.
 * @param goes_on Filled in on success.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_loop_goes_on(const VwSound* loop, bool* goes_on);

/// Whether the events of a loop are those of a sound that goes on, without
/// shots that are told apart.
bool vw_loop_is_sustained(const VwEvents* events);

/// What may be wrong with a loop, in the order in which it is mended.
typedef enum {
  VW_FLAW_OFFSET,  ///< It lies on a constant.
  VW_FLAW_PADDING, ///< A compressed format has added frames.
  VW_FLAW_GAP,     ///< Silence, or a rest, at its ends, longer than within.
  VW_FLAW_CYCLE,   ///< It is no whole number of shots long.
  VW_FLAW_SEAM,    ///< It steps or bends from its last frame to its first.
  VW_N_FLAWS
} VwFlawKind;

/// One thing that is wrong.
typedef struct {
  bool   there;
  double size;  ///< The constant, times the bound of a seam, or how far
                ///< a rest lies below the peak, dB.
  size_t front; ///< Frames too many at its start.
  size_t back;  ///< Frames too many at its end.
} VwFlaw;

/// What is known of a loop.
typedef struct {
  size_t  start;    ///< Its first frame in the file.
  size_t  n_frames; ///< How many it has.
  bool    marked;   ///< The file marks it by loop points.
  VwFlaw  flaws[VW_N_FLAWS];
  VwSeam  seam;
  VwCycle cycle;
  bool    single;  ///< A single shot that dies away: no loop.
  bool    goes_on; ///< A sound that goes on, without shots.
  bool    several; ///< Shots, not evenly spaced: no loop.
  bool    once;    ///< Another `part` of a family: no seam is judged.
  VwPart  part;
  bool    noted;           ///< It was made here for the gap asked, unchanged.
  size_t  shots;           ///< Even ones, or several; 0: none.
  double  fire_rate_per_s; ///< NaN without.
  double  jitter_ms;       ///< NaN if it is not known.
  double  silence_ms;      ///< From the last sound to the first, over the seam.
  double  rest_ms;         ///< Near silence over the seam of shots that
                           ///< rest there; 0: they do not.
  double heard_gap_ms;   ///< A board's gap that its even shots do not hide; 0:
                         ///< none.
  double offset;         ///< Its mean.
  double side_late_ms;   ///< As in #VwTake.
  double loudness_lufs;  ///< Played without end.
  double true_peak_dbtp; ///< The same, over the seam.
} VwLoopFacts;

/// What is said of a loop.
typedef struct {
  double gap_ms;   ///< What a board is known to add to each repeat.
  bool   has_kind; ///< It is of `kind`, whatever is heard in it.
  VwKind kind;
  bool   once; ///< It is another `part` of a family, and played once.
  VwPart part;
} VwLoopAsked;

/// Judge the silence over a loop's seam: the facts' padding, gap, rest and
/// silence, if their cycle is known; of a rest their cycle.
void vw_silence_judge(const VwSound*  loop,
                      const VwEvents* events,
                      VwLoopFacts*    facts);

/// Whether all of a loop is a shot that dies away.
bool vw_loop_is_single(const VwSound* loop, const VwEvents* events);

/**
 * Judge a loop by itself.
 *
 * @param loop What repeats, finite, at least #VW_LOOP_LEAST_FRAMES.
 * @param facts All but `start` and `marked` filled in on success.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_SILENT.
 */
VwStatus vw_loop_judge(const VwSound*     loop,
                       const VwLoopAsked* asked,
                       VwLoopFacts*       facts);

/**
 * Read a file and judge its loop: what lies between its loop points, or else
 * all of it.
 *
 * @param sound The whole file's, filled in on success; free it with
 * vw_sound_clear().
 * @param facts Filled in on success.
 * @return #VW_OK, also if something is wrong; as vw_read(); #VW_TOO_SHORT,
 * #VW_NOT_FINITE, #VW_SILENT.
 */
VwStatus vw_loop_read(const char*          path,
                      const VwReadOptions* reading,
                      const VwLoopAsked*   asked,
                      VwSound*             sound,
                      VwLoopFacts*         facts);

/// Into what a loop's file is packed with loss, "Ogg" or "MP3"; or NULL.
const char* vw_loop_packing(const char* path);

/**
 * Say what is wrong with a loop: where, how much, and what to do about it.
 *
 * @param sound The whole file's.
 * @param findings Filled in on success; free it with vw_findings_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_loop_note(const VwSound*     sound,
                      const char*        path,
                      const VwLoopFacts* facts,
                      VwFindings*        findings);

/// What was done to a loop.
typedef struct {
  VwFlaw done[VW_N_FLAWS]; ///< What was mended, and by how much.
  size_t seam_frames;      ///< On each side of the seam that were changed.
} VwMending;

/**
 * Mend what is wrong with a loop, as far as that can be.
 *
 * Frames farther than 20 ms from the seam stay what they are, but for a
 * constant that all lose.
 *
 * @param whole The file's sound, in which the loop lies as `facts` says; it is
 * changed, and so are the facts.
 * @param step Of the codes it is written in; the constant is a multiple.
 * @param mending Filled in on success.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_loop_mend(VwSound*           whole,
                      const VwLoopAsked* asked,
                      double             step,
                      VwLoopFacts*       facts,
                      VwMending*         mending);

#endif
