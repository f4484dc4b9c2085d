#ifndef VW_TAIL_H
#define VW_TAIL_H

#include "signal/curve.h"
#include "take/shots.h"

/// How a shot decays and where it ends.
typedef struct {
  size_t end;        ///< One past the last step that belongs to the shot.
  double t20_s;      ///< Decay time from -5 to -25 dB, or NaN.
  double t30_s;      ///< Decay time from -5 to -35 dB, or NaN.
  double cut_off_db; ///< Level where the take breaks off, re the crest, or NaN.
  VwDecayLine line;  ///< Its times from the crest on.
} VwDecay;

/// Powers below which nothing of a tail is worth keeping.
typedef struct {
  double noise; ///< The take's noise, which would pile up when shots overlap.
  double board; ///< The board's own noise, at the take's level.
} VwTailFloors;

/**
 * Follow a shot's decay from its crest.
 *
 * Backward integration of the power less the noise, from where the decay meets
 * the noise, with what an exponential decay would still hold beyond added
 * (ISO 3382-1:2009, 5.3.3; A. Lundeby, T. E. Vigran, H. Bietz, M. Vorlaender,
 * "Uncertainties of measurements in room acoustics", Acustica 81, 1995). T20
 * needs a decay of 35 dB above the noise and T30 one of 45 dB.
 *
 * @param tail Filled in on success.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_tail_find(const VwCurve*      curve,
                      const VwShots*      shots,
                      const VwTailFloors* floors,
                      VwDecay*            tail);

#endif
