#ifndef VW_LEVEL_H
#define VW_LEVEL_H

#include "burst/limiter.h"

#include "volleyweave/volleyweave.h"

/// What a family's level is found on: sounds before any gain.
typedef struct {
  const VwSound* alone; ///< The single shots.
  size_t         n_alone;
  const VwSound* burst;    ///< The burst with its first steady cycles, or NULL.
  size_t         steady;   ///< The burst's frame from which it is steady.
  size_t         n_steady; ///< For so many frames, whole cycles.
  size_t         n_closed; ///< Length of a cycle whose ends are faded, or 0.
  size_t         n_gap;    ///< Silence at the end of such a cycle.
} VwLevelSounds;

/**
 * The highest value that limited sound may have, full scale 1: the ceiling, and
 * below it room for what rounding adds at 8 bits.
 */
double vw_level_ceiling(const VwLevelOptions* options, VwEncoding encoding);

/**
 * Find the one gain of a family.
 *
 * The gain is found on the limited sound by the secant method, to 0.05 LU. No
 * gain is found for a sound without a loudness.
 *
 * @param ceiling What vw_level_ceiling() says.
 * @param level Its loudness before, target, gain, limiting needed and whether
 * the wish was reached are filled in on success.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_SILENT.
 */
VwStatus vw_level_find(const VwLevelSounds*  sounds,
                       const VwLevelOptions* options,
                       double                ceiling,
                       VwLevel*              level);

// Steps of a curve: half a decibel each over the most limiting there is.
#define VW_LEVEL_STEPS 24

/// How the loudness that is aimed at goes with gain, from the highest gain
/// without limiting to the highest there is. Below the first, both go alike.
typedef struct {
  double ceiling; ///< What vw_level_ceiling() says; set before measuring.
  size_t n;       ///< How many points.
  double gain_db[VW_LEVEL_STEPS + 1];
  double lufs[VW_LEVEL_STEPS + 1];
} VwLevelCurve;

/**
 * Measure the curve of a family.
 *
 * @param level What vw_level_find() said of the loudest.
 * @param curve Its points are filled in on success.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_level_curve(const VwLevelSounds*  sounds,
                        const VwLevelOptions* options,
                        const VwLevel*        level,
                        VwLevelCurve*         curve);

/// How loud it is at a gain, by its curve.
double vw_level_curve_lufs(const VwLevelCurve* curve, double gain_db);

/// The gain at which it is so loud, by its curve; above what it reaches as if
/// nothing more were limited.
double vw_level_curve_gain(const VwLevelCurve* curve, double lufs);

/// How loud a burst is at its level, once it is steady.
VwStatus vw_level_of_steady(const VwLevelSounds* sounds,
                            const VwSound*       burst,
                            double*              lufs);

/// Note what the limiter took of one more sound.
void vw_level_note(VwLevel* level, const VwLimited* limited);

#endif
