#ifndef VW_BURST_TURNS_H
#define VW_BURST_TURNS_H

#include "burst/burst.h"

// The shots of one take, and which of them are kept: to be files of their own,
// or to take turns in a loop.

/// As many shots as take turns, unless more are asked for: enough for it not to
/// be told which follows which (chosen here).
#define VW_TURNS_USUAL 8U

/// The shots of a take, which has to outlive them. Its arrays are owned.
typedef struct {
  size_t       n;         ///< Shots, at least 1.
  VwShotFacts* facts;     ///< Of each.
  float*       likeness;  ///< Of each to each: `n` rows.
  bool*        good;      ///< Not clipped, and within 6 dB of the loudest
                          ///< of these.
  bool*        kept;      ///< Whether it is written, or takes its turn.
  size_t       n_wanted;  ///< How many were asked for; 0: all.
  size_t       n_good;    ///< How many are good.
  size_t*      written;   ///< Those kept, in order.
  size_t       n_written; ///< How many.
  VwTake*      takes;     ///< For each of those kept a view of the take.
  VwShotFacts* used;      ///< The facts of each of those kept.
} VwShots;

/// A take whose shots are looked for.
typedef struct {
  const VwTake*      take;
  const VwEvents*    events;  ///< All of the take.
  const VwShotFacts* facts;   ///< Of the shot that is used of it.
  const size_t*      clipped; ///< Frames of each event; NULL: none.
} VwShotsOf;

/**
 * Find the shots of a take, and which of them are good.
 *
 * @param shots Filled in, but for those kept; free it with vw_shots_clear()
 * also after a failure.
 * @return #VW_OK, #VW_NO_MEMORY; #VW_NO_SHOT of a sustained sound.
 */
VwStatus vw_shots_find(const VwShotsOf*     of,
                       const VwFindOptions* options,
                       VwShots*             shots);

/// Keep those of the good shots that differ most, `n_wanted` or as many as
/// there are; with 0, all shots.
void vw_shots_keep(VwShots* shots, size_t n_wanted);

/// Whether a loop is made of a take's own shots in turn: of rapid fire that is
/// laid down at another rate, if no shot of it is picked.
bool vw_turns_suit(const VwShotFacts*     facts,
                   size_t                 n_takes,
                   const VwFamilyOptions* options);

/**
 * Find the shots of a take that take turns: eight, or as many as the cycle is
 * to have, or fewer if it holds no more.
 *
 * @param shots Filled in; free it with vw_shots_clear() also after a failure.
 * @return As vw_shots_find().
 */
VwStatus vw_turns_find(const VwShotsOf*       of,
                       const VwFamilyOptions* options,
                       VwShots*               shots);

/**
 * Measure a piece of a family as it is played, without the lamp's track.
 *
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_piece_measure(const VwFamily* family,
                          size_t          piece,
                          VwLoudness*     loudness);

/**
 * Find the single shot of a family whose takes are shots in turn: the loudest,
 * which has the loudness that the family is brought to.
 *
 * @param single Set to its index among those kept.
 * @return As vw_piece_measure().
 */
VwStatus vw_turns_single(const VwFamily* family, size_t* single);

/// Keep that single shot alone, as that of the first take, which is told to
/// start as late as any of them does.
///
/// @param facts Set to its facts, but for the clipped frames of the take.
void vw_turns_keep(const VwShots* turns,
                   size_t         single,
                   VwFamily*      family,
                   VwShotFacts*   facts);

/// Free what `shots` owns. NULL is accepted.
void vw_shots_clear(VwShots* shots);

#endif
