#ifndef VW_CUT_H
#define VW_CUT_H

#include "burst/burst.h"
#include "burst/limiter.h"

/// Where a burst is cut, and how well one cycle joins the next.
typedef struct {
  unsigned run_in_shots;   ///< Shots in the run-in, at least 1.
  unsigned steady_shots;   ///< Shots before the first steady cycle: as many, or
                           ///< whole cycles more where the run-in ends early.
  double run_in_left_db;   ///< What is then missing of the tails, dB below the
                           ///< loop, or NaN.
  double join_residual_db; ///< -200 where both are equal.
} VwCutPoint;

/// A burst which repeats itself.
typedef struct {
  const VwSound* burst;
  size_t         steady; ///< The cycle's start from which on it does; two more
                         ///< cycles follow.
} VwSteady;

/**
 * Find the first shot's start from which every later cycle is the same.
 *
 * Same means to 4e-7 of full scale, which a few missing tails cannot sum up to
 * 1e-6; or, of 8 and 16 bits below 22.05 kHz, to 1e-5, a third of the step
 * of 16 bits. The start lies on an even byte and a multiple of the board's
 * buffer. With a limit to the run-in it may end at such a start once the
 * missing tails are 20 dB down, and has to by then, but not before the first.
 *
 * @param volley The shots at their final level.
 * @param options Encoding, channels, buffer, and the run-in's limit.
 * @param of The burst made of them, held under the ceiling.
 */
VwCutPoint vw_cut_find(const VwVolley*        volley,
                       const VwFamilyOptions* options,
                       const VwSteady*        of);

/// The pieces of a form, and what holding them under the ceiling took.
typedef struct {
  VwPiece   pieces[3];
  size_t    n_pieces;
  VwLimited limited;
  double    peak; ///< Their true peak, full scale 1.
} VwCut;

/**
 * Cut the pieces of a form from the burst.
 *
 * @param options The form and, for #VW_FORM_BURST, how many shots.
 * @param cut Filled in on success; free its sounds with vw_sound_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_cut_pieces(const VwVolley*        volley,
                       const VwCutPoint*      point,
                       const VwFamilyOptions* options,
                       VwCut*                 cut);

#endif
