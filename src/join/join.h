#ifndef VW_JOIN_H
#define VW_JOIN_H

#include "burst/burst.h"

#include "volleyweave/volleyweave.h"

// A loop of a sound that sounds on: the join is searched for, and what is on
// both sides of it crossfaded.

/* Texture: level and spectrum in steps of 10 ms */

/// Octaves from 63 Hz on.
#define VW_TEXTURE_BANDS 8U

/// How level and spectrum of a sound run.
typedef struct {
  float* band_db; ///< #VW_TEXTURE_BANDS of each step. Owned.
  size_t n;       ///< Steps, at least 1.
  size_t n_step;  ///< Frames in a step.
} VwTexture;

/**
 * Follow the texture of a sound.
 *
 * @param texture Filled in on success; free it with vw_texture_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_texture_take(const VwSound* sound, VwTexture* texture);

/// Free what `texture` owns. NULL is accepted.
void vw_texture_clear(VwTexture* texture);

/// How far two stretches of `n` steps are apart, RMS over bands and steps, dB;
/// infinite if one is not there.
double vw_texture_apart_db(const VwTexture* texture,
                           size_t           a,
                           size_t           b,
                           size_t           n);

/**
 * Find the steadiest stretch, in steps.
 *
 * @param n_wished Its length; a shorter one is taken if it is much steadier.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_texture_steadiest(const VwTexture* texture,
                              size_t           n_wished,
                              size_t*          from,
                              size_t*          n);

/// Widen a stretch as far as its level stays within 4 dB.
void vw_texture_widen(const VwTexture* texture, size_t* from, size_t* to);

/* The join */

/// The word for it: "repeats", "noise-like", "nothing repeats", "between
/// shots". Static.
const char* vw_join_kind_name(VwJoinKind kind);

/// What is alike by so much repeats (chosen here).
#define VW_JOIN_ALIKE 0.7

/// So far may a loop of rapid fire be from whole cycles for its file to be
/// whole buffers, seconds (chosen here).
#define VW_MISFIT_MOST_S 0.005

/// Gains of what goes and of what comes.
typedef struct {
  double out;
  double in;
} VwGains;

/// Those of frame `i` of a crossfade over `n`, by the likeness of both sides.
VwGains vw_join_gains(size_t i, size_t n, double likeness);

/// Mean power of so many frames.
double vw_join_power(const VwSound* sound, size_t from, size_t n);

/// What a loop has to be.
typedef struct {
  double cycle_s;     ///< The length asked, or 0.
  double cycle_max_s; ///< The longest.
  size_t frames_most; ///< The most that a file holds.
  size_t frames_unit; ///< The length is a multiple of it.
  size_t gap_frames;  ///< That the board adds to each repeat.
} VwJoinWish;

/**
 * Search a sound for the best loop.
 *
 * @param sound All that was recorded, in the board's format.
 * @param join Filled in on success.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_CYCLE_TOO_LONG (nothing so short or so
 * long fits), #VW_FILE_TOO_BIG.
 */
VwStatus vw_join_find(const VwSound*    sound,
                      const VwJoinWish* wish,
                      VwJoin*           join);

/// What is joined, and where in its take it starts.
typedef struct {
  const VwSound* sound; ///< In the board's format.
  double         starts_s;
} VwJoinCut;

/**
 * Find the shots of rapid fire where they lie in what is joined: those that are
 * found in its take, so that both are one.
 *
 * @param fire Filled in on success, its starts and ends in frames of what is
 * joined; free it with vw_events_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_join_find_fire(const VwTake*        take,
                           const VwFindOptions* options,
                           const VwJoinCut*     cut,
                           VwEvents*            fire);

/**
 * Search rapid fire for the longest and steadiest loop of whole cycles, from
 * 2 ms before one shot to as much before another. A gap that can be hidden is
 * part of them, and left out of the file.
 *
 * @param fire Its shots, from vw_join_find_fire().
 * @param join Filled in on success, its `shots` too.
 * @return As vw_join_find(), or #VW_NO_STEADY_RATE.
 */
VwStatus vw_join_find_rapid(const VwSound*    sound,
                            const VwJoinWish* wish,
                            const VwEvents*   fire,
                            VwJoin*           join);

/// By how much the level falls over the length of a loop, from what is
/// crossfaded, dB.
double vw_join_trend_db(const VwSound* sound, const VwJoin* join);

/// Whether what is joined is tones alone, with noise 30 dB down at least.
bool vw_join_is_tones(const VwJoin* join);

/// Whether the level changes over a loop by so much that it takes its spectrum
/// along.
bool vw_join_changes(const VwJoin* join, double rate_hz);

/**
 * Make the loop: its end is crossfaded with what lies before its start, so that
 * it runs on into it.
 *
 * Straight ramps x and 1 - x over sqrt(x^2 + (1 - x)^2 + 2 r x (1 - x)) keep
 * the power of what has the likeness r (closed form). If they are as long as
 * the loop, they shift the phase of a tone evenly over it, so that all but what
 * goes with the square of its error is gone. In a long crossfade of what
 * repeats that too goes: each frequency has the gains by which its own phase
 * turns evenly, sin((1 - x) a) / sin(a) and sin(x a) / sin(a) for a shift a,
 * after K. Shoemake, "Animating rotation with quaternion curves", SIGGRAPH
 * 1985. That both sides are aligned by
 * their correlation is after W. Verhelst and M. Roelands, "An overlap-add
 * technique based on waveform similarity (WSOLA)", ICASSP 1993.
 *
 * @param loop Filled in on success; free it with vw_sound_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_join_loop(const VwSound* sound, const VwJoin* join, VwSound* loop);

/**
 * Measure the level about the join: of the 100 ms about the loop's end, the
 * middle and the start of the crossfade that which is farthest from the median
 * of the loop, and how far, dB.
 *
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_join_level_db(const VwSound* sound,
                          const VwJoin*  join,
                          double*        level_db);

/* What is joined */

/// Whether a loop is joined of what was recorded: of what sounds on, and of
/// rapid fire at its own rate.
bool vw_join_suits(const VwShotFacts*     facts,
                   size_t                 n_takes,
                   const VwFamilyOptions* options);

/// Whether `options` ask only what a joined loop has, or what laid shots have:
/// takes for run-in and ring-out, a burst of so many shots. #VW_OK,
/// #VW_BAD_OPTION, #VW_NOT_JOINED or #VW_BURST_JOINED.
VwStatus vw_join_check(const VwShotFacts*     facts,
                       size_t                 n_takes,
                       const VwFamilyOptions* options);

/// What comes before and after the loop.
typedef struct {
  const VwSound* run_in;       ///< NULL: the sound's own.
  const VwSound* ring_out;     ///< NULL: the sound's own.
  double         run_in_max_s; ///< Of its own; 0: no limit.
  size_t         frames_unit;  ///< The run-in is a multiple of it.
} VwJoinEnds;

/// Run-in, some loops and ring-out in one sound.
typedef struct {
  VwSound         sound;    ///< Owned.
  size_t          n_run_in; ///< Frames.
  size_t          n_loop;   ///< Frames.
  size_t          n_loops;  ///< How many loops lie in it.
  const VwEvents* fire;     ///< The shots of rapid fire; NULL: it sounds on.
  bool settles;        ///< Its own run-in ends in as much of the loop as the
                       ///< limiter needs to be in the loop's own state.
  VwJoinEnds ends;     ///< What they were to be.
  VwJoinLead run_in;   ///< Of a run-in that is another sound.
  VwJoinLead ring_out; ///< Of a ring-out that is another sound.
} VwJoined;

/**
 * Search for the loop, of rapid fire or of what sounds on, and lay it down: as
 * many as a finished burst has shots,
 * or until the limiter has settled and loudness shows all.
 *
 * @param joined Its `rapid` and `ends` are set.
 * @return As vw_join_find(), or #VW_BURST_TOO_LONG.
 */
VwStatus vw_join_make(const VwSound*         sound,
                      const VwFamilyOptions* options,
                      VwJoin*                join,
                      VwJoined*              joined);

/// The same with the takes that `options` has for run-in and ring-out, brought
/// into the loop's format.
VwStatus vw_join_make_led(const VwSound*         sound,
                          const VwFamilyOptions* options,
                          const VwAloneWish*     wish,
                          VwJoin*                join,
                          VwJoined*              joined);

/// Whether the limiter makes the first loop of rapid fire another one: a
/// run-in that settles would be shorter.
bool vw_join_waits(const VwJoined* joined, const VwFamilyOptions* options);

/// Let the level be that of the loops, once the limiter has settled.
void vw_join_steady(const VwJoined* joined, VwLevelSounds* sounds);

/**
 * Cut the pieces of the form, and note what has no value without shots.
 *
 * @param joined At its level, held under the ceiling.
 * @param family Its join is known; its pieces are set.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_join_hand_out(const VwJoined*        joined,
                          const VwFamilyOptions* options,
                          VwFamily*              family);

#endif
