#ifndef VW_TAKE_INTERNAL_H
#define VW_TAKE_INTERNAL_H

#include "signal/signal.h"
#include "take/events.h"

#include "volleyweave/volleyweave.h"

/// Which shot of a take is meant, in steps of its curve.
typedef struct {
  size_t rise;  ///< Where its level is first within 6 dB of the loudest.
  size_t crest; ///< Where its level is highest.
  size_t limit; ///< Where the quiet before the next shot ends, or the take.
  size_t start; ///< Its attack's frame, if it comes while another shot rings;
                ///< 0: to be found.
} VwMeantShot;

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
 * @param noise_power See vw_noise_before().
 */
VwAttack vw_attack_find(const VwSound*     sound,
                        const VwCurve*     curve,
                        const VwMeantShot* shots,
                        double             noise_power);

/// Time of a straight rise from a step of the curve to full level.
double vw_attack_rise_s(const VwCurve*     curve,
                        const VwMeantShot* shot,
                        size_t             step);

/// How a shot decays and where it ends.
typedef struct {
  size_t      end;     ///< One past the last step that belongs to the shot.
  double      t20_s;   ///< Decay time from -5 to -25 dB, or NaN.
  double      t30_s;   ///< Decay time from -5 to -35 dB, or NaN.
  double      end_db;  ///< Level from there on, relative to the crest.
  bool        cut_off; ///< Neither noise nor a next shot ends it, but the take.
  VwDecayLine line;    ///< Its times from the crest on.
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
                      const VwMeantShot*  shots,
                      const VwTailFloors* floors,
                      VwDecay*            tail);

/// Length of sound over which a pitch is taken, seconds.
#define VW_PITCH_WINDOW_S 0.040

/**
 * The pitch of a sound `at_s` after frame `from`, out of the 40 ms from there
 * on; of a low one, out of 6 periods.
 *
 * The normalised square difference of the strongest channel (P. McLeod and
 * G. Wyvill, "A smarter way to find pitch", ICMC 2005): its first high maximum
 * gives the period. Its harmonics, less the phase of a tone or of a glide with
 * that period, give it finely: what phase they keep tells how far it is off
 * (after J. L. Flanagan and R. M. Golden, "Phase vocoder", Bell System
 * Technical Journal 45, 1966).
 *
 * @param pitch_hz Filled in on success; NaN where the sound has no pitch, it
 * glides too fast, or the sound ends too soon.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_pitch_find(const VwSound* sound,
                       size_t         from,
                       double         at_s,
                       double*        pitch_hz);

/// Bands of the onset curve, and its steps, seconds.
#define VW_ONSET_BANDS 14
#define VW_ONSET_STEP_S 0.001

/// How the bands of a sound rise, in steps of a millisecond.
typedef struct {
  float*  band_db;   ///< Above a band's floor: `n_bands` of each step. Owned.
  double* rise_db;   ///< Mean over the bands. Owned.
  double* attack_db; ///< Less what glides from one band to the next. Owned.
  size_t  n;         ///< Steps, at least 1.
  size_t  n_whole;   ///< Those whose rises count: not those at a cut.
  size_t  n_bands;   ///< Those that hold something, 1 to 14.
  double  top_db[VW_ONSET_BANDS]; ///< The highest of each.
} VwOnsets;

/**
 * Take the onset curve of a sound: in bands from 150 Hz to 11 kHz the mean
 * level of the next 9 ms less that of the 16 ms before, rises alone.
 *
 * @param onsets Filled in on success; free it with vw_onsets_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_onsets_take(const VwSound* sound, VwOnsets* onsets);

/// Free what `onsets` owns. NULL is accepted.
void vw_onsets_clear(VwOnsets* onsets);

/**
 * Have the last rises count too, unless a sound is cut off while it sounds.
 *
 * @param sound With the silence at its end.
 * @param loudest Power of its loudest moment.
 */
void vw_onsets_end(const VwSound* sound, double loudest, VwOnsets* onsets);

/// Whether a rise is the highest within 8 ms, and none at a cut.
bool vw_onsets_is_peak(const VwOnsets* onsets, size_t step);

/// The frame of a step.
size_t vw_onsets_frame(const VwSound* sound, size_t step);

/// The start of an event lies within this of where its bands rise, seconds.
#define VW_START_S 0.010

/**
 * The frame from which a sound rises out of what rings: the likeliest start of
 * a straight rise of up to 3 ms, near the change point of its power.
 *
 * @param about A frame within `reach_s` of it.
 * @param reach_s At most #VW_START_S.
 * @param room For vw_start_room() values.
 */
size_t vw_start_about(const VwSound* sound,
                      size_t         about,
                      double         reach_s,
                      double*        room);

/// How many values vw_start_about() needs room for.
size_t vw_start_room(unsigned rate_hz);

/**
 * Place the starts of rapid fire by its first shot, if that rises slowly, out
 * of quiet: the power of each is supposed to go as that shot's did (method of
 * maximum likelihood).
 *
 * @param events Of rapid fire; their ends are left as they were.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_pattern_place(const VwSound* sound,
                          const VwCurve* curve,
                          VwEvents*      events);

/// What is known of a take where its kind is judged.
typedef struct {
  const VwCurve*  curve;
  const VwOnsets* onsets;
  unsigned        rate_hz;
  double          comb_s; ///< Period of the comb of its rises; or HUGE_VAL.
} VwHeardTake;

/**
 * The period at 6 to 32 per second in which a sound's rises recur, as a line
 * of one event, the first; `n` is 0 if they do not.
 */
VwRapidFire vw_comb_find(const VwOnsets* onsets);

/**
 * Add weak shots in the empty places of a line of rapid fire and next to its
 * ends, where something rises by 2.5 dB at least.
 *
 * @param events With room for an event each 4 ms; in order then.
 */
void vw_places_fill(const VwSound*     sound,
                    const VwOnsets*    onsets,
                    const VwRapidFire* line,
                    VwEvents*          events);

/// Whether a line's events are steady rapid fire.
bool vw_rapid_holds(const VwHeardTake* heard, const VwEvents* events);

/// Whether so many events lie on a line that its empty places may hold more.
bool vw_rapid_is_near(const VwEvents* events);

/// Whether an event that starts so long after another is a shot of its own and
/// no more of that one; the first is.
bool vw_event_leads(const VwEvent* event, double apart_s);

/**
 * Leave out the swells of shots: weak ones, and those that follow more than one
 * shot alike. A shot's crest is then the highest of its own and theirs.
 *
 * @param fires Of rapid fire, in which a shot is one however near it is to the
 * one before.
 * @param n At least 1; set to how many are left.
 * @return #VW_OK or #VW_NO_MEMORY, events as they were.
 */
VwStatus vw_swells_drop(double rate_hz, bool fires, VwEvent* events, size_t* n);

/// Judge the kind of a take by its events: sets `kind`, `other_kind`, `sure`.
void vw_kind_judge(const VwHeardTake* heard, VwEvents* events);

#endif
