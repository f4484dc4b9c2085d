#ifndef VW_ATTACK_H
#define VW_ATTACK_H

#include "signal/curve.h"
#include "take/shots.h"

/// What lies so long before the attack belongs to the shot, seconds.
#define VW_PRE_ROLL_S 0.002

/// A rise up to here is heard as one attack, seconds: 5 ms (common practice)
/// and the millisecond to which it is measured.
#define VW_FAST_RISE_S 0.006

/// Where and how a shot rises out of what was before it.
typedef struct {
  size_t frame;      ///< The attack's frame in the take.
  double rise_s;     ///< To full level, as a straight rise would take.
  double earlier_db; ///< Level of a sound left out before it, or NaN.
  double earlier_s;  ///< How long before the attack that ended, or NaN.
} VwAttack;

/**
 * Find the attack of a shot.
 *
 * Going back from where the shot is loud, the first 20 ms of quiet bound the
 * search; within it the attack is the change point between the noise and a
 * sound 20 dB above it, where the cumulative sum of the log-likelihood ratios
 * of both is lowest (E. S. Page, "Continuous inspection schemes", Biometrika
 * 41, 1954).
 *
 * @param noise_power Power of the quietest there is; see vw_noise_quietest().
 */
VwAttack vw_attack_find(const VwSound* sound,
                        const VwCurve* curve,
                        const VwShots* shots,
                        double         noise_power);

#endif
