/// @file
/// How far tails are bent, and by what gain all is brought to its level.
#ifndef VW_BURST_SETTLE_H
#define VW_BURST_SETTLE_H

#include "burst/burst.h"

/// Bend and gain of a family on their way.
typedef struct {
  const VwFamilyOptions* options;
  VwFamily* family;        ///< Its plan is made, and there is room for shots;
                           ///< its figures of bend and level are set.
  VwSound*      alone;     ///< The single shot of each take. Not owned.
  bool          joined;    ///< That of the first is a joined sound.
  size_t*       bend_from; ///< Of each shot of the cycle. Owned.
  double        slope;     ///< By which they are bent, dB per second.
  bool          steepest;  ///< No steeper one deepens the valley.
  VwValley      valley;    ///< Of the steady cycle at its level.
  VwLevelWish   wish;      ///< Its ceiling is set.
  VwLevelSounds sounds;    ///< Before gain; those alone are set.
  VwSound       burst;     ///< Until well after it is steady. Owned.
  VwSound       written;   ///< The same at its level, limited. Owned.
  double        ceiling;   ///< Of the limiter; HUGE_VAL: it has no say.
} VwSettling;

/// A family's burst as it is laid down, not limited.
VwVolley vw_settling_volley(const VwFamily* family);

/// Make the shots of the cycle, not yet tightened.
VwStatus vw_settling_shots(VwSettling* work);

/**
 * Settle the gain, and of a burst also how far its tails are bent, so that its
 * cycle at its level has the valley asked for.
 *
 * @return #VW_OK, #VW_NO_MEMORY, #VW_SILENT.
 */
VwStatus vw_settle(VwSettling* work);

/// Measure how the loudness goes with gain: that of the burst with its tails
/// bent for each gain.
VwStatus vw_settling_curve(VwSettling* work, VwLevelCurve* curve);

/// Free what `work` owns.
void vw_settling_clear(VwSettling* work);

#endif
