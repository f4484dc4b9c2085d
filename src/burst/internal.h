#ifndef VW_BURST_INTERNAL_H
#define VW_BURST_INTERNAL_H

#include "base/random.h"
#include "base/ranges.h"
#include "base/units.h"
#include "burst/burst.h"
#include "take/take.h"

#include "volleyweave/volleyweave.h"

/// The fade of a tail that is choked, seconds: long enough not to click, short
/// enough to be gone under the next attack (3 to 10 ms: common practice).
#define VW_CHOKE_S 0.005

/**
 * Make the first and the last frame of a shot exactly zero again.
 *
 * To be done after a conversion, which rings about the ends: the first half
 * millisecond is faded in, the last millisecond faded out.
 */
void vw_shot_close_ends(VwSound* shot);

/// How one shot differs from the take's.
typedef struct {
  double detune_cents;
  double gain_db;
  bool   is_whole; ///< What follows counts too, and the gain is that of its
                   ///< loudness.
  double tail;     ///< Length of its tail, as a part of the take's.
  double tilt_db;  ///< How much more its spectrum rises an octave.
  double delay_ms; ///< How much later it comes.
  size_t n_heard;  ///< Its loudness is that of so many frames: a period.
} VwVariant;

/// So long is a shot's body, seconds (chosen here).
#define VW_BODY_S 0.050

/// How much later than its shot's start a body begins at most, frames.
static inline size_t
vw_shot_body_latest(unsigned rate_hz) {
  return vw_frames_of_s(VW_PRE_ROLL_S + 2e-3 * VW_VARIANT_TIMING_MS, rate_hz);
}

/// How loud a shot is.
typedef struct {
  double body_db; ///< Its body: the loudest 50 ms that begin up to the longest
                  ///< delay after the quiet before it, or a shorter period.
  double lufs;    ///< The loudness of its period.
} VwShotLevels;

/// The level of the body of a shot that starts at frame `from` of a sound which
/// goes round, of a period of so many frames.
double vw_shot_body(const VwSound* sound, size_t from, size_t n_period);

/**
 * How loud a shot of a steady cycle is, with all older tails under it.
 *
 * @param levels Filled in on success.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_shot_levels(const VwSound* cycle,
                        const VwPlan*  plan,
                        unsigned       shot,
                        VwShotLevels*  levels);

/// Put `n` numbers into another order (R. Durstenfeld, Algorithm 235, CACM
/// 1964).
void vw_shuffle(size_t* numbers, size_t n, VwRandom* random);

/**
 * Draw `n` (1 to 64) variants.
 *
 * Each measure is spread evenly from the least to the greatest and dealt out at
 * random, so that no two are alike; the mean energy is unchanged.
 */
void vw_variants_draw(const VwFamilyOptions* options,
                      size_t                 n,
                      VwRandom*              random,
                      VwVariant*             variants);

/// How much later a variant comes, frames.
static inline size_t
vw_variant_delay(const VwVariant* variant, unsigned rate_hz) {
  return vw_frames_of_s(variant->delay_ms / 1000.0, rate_hz);
}

/**
 * Make a variant of a shot.
 *
 * @param crest From which frame on its tail is lengthened or shortened.
 * @param out Filled in on success; free it with vw_sound_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_variant_make(const VwSound*   shot,
                         size_t           crest,
                         const VwVariant* variant,
                         VwSound*         out);

/**
 * The crest about which a shot is laid down: its own, or, where that lies later
 * than 0.4 of the period, the first frame that is within 3 dB of it. A plateau
 * has its crest anywhere; to start late for it would lose the attack.
 */
size_t vw_late_crest(const VwTakeUse* use, double period_s, unsigned rate_hz);

/**
 * Let a shot start late where its crest lies later than 0.4 of the period.
 *
 * What is left out comes after the 2 ms of silence before every shot; the
 * sound is then faded in over 5 ms.
 *
 * @param crest The crest's frame; moved along.
 * @param late_ms Set to what is left out, 0 where nothing is.
 * @param out Filled in on success; free it with vw_sound_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_late_start(const VwSound* shot,
                       double         period_s,
                       size_t*        crest,
                       double*        late_ms,
                       VwSound*       out);

/// Fade both ends of a cycle from and to zero for #VW_CYCLE_FADE_S, the last
/// `n_gap` frames left aside: these become zeros.
void vw_burst_close_cycle(VwSound* cycle, size_t n_gap);

/**
 * The steady cycle from the first shot's start, all older tails under it, held
 * under the ceiling, its ends faded and the gap silent where the volley is
 * closed.
 *
 * @param cycle Zeros are not needed; must have the plan's length and the
 * shots' channels.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_burst_fold(const VwVolley* volley, VwSound* cycle);

/**
 * The valley of a steady cycle, of its shallowest shot.
 *
 * @param cycle One cycle, which repeats without end.
 * @param plan Where the shots lie in it. Shot `first` starts at frame 0.
 * @param valley_db Filled in on success.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_valley_measure(const VwSound* cycle,
                           const VwPlan*  plan,
                           double*        valley_db);

/// How far values may differ and still be the same when written.
double vw_cut_same(VwEncoding encoding, unsigned rate_hz);

/// The difference of the cycles at two frames, relative to the RMS of the
/// latter; -200 if there is none.
double vw_cut_residual_db(const VwSound* burst,
                          size_t         from,
                          size_t         to,
                          size_t         n_cycle);

/// Before this frame no bend begins in a shot with a kick, so that this is felt
/// as asked.
size_t vw_kick_body(const VwPlan* plan);

/// Frames from a shot's crest to where its bend begins: half a level's window.
size_t vw_tighten_margin(unsigned rate_hz);

#endif
