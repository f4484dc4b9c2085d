/// @file
/// A speaker, measured by a recording of a sweep that it plays.
///
/// The sweep glides evenly through the octaves (A. Farina, "Simultaneous
/// measurement of impulse response and distortion with a swept-sine technique",
/// AES 108th Convention, 2000, preprint 5093). Slid along a recording of
/// itself, weighed so that all frequencies count alike, it gives the answer to
/// an impulse; what the speaker adds as harmonics comes earlier, each by a
/// time of its own.
#ifndef VW_GAUGE_SPEAKER_H
#define VW_GAUGE_SPEAKER_H

#include "signal/signal.h"

#include "volleyweave/volleyweave.h"

/* ------------------------------------------------------------------------ */
/* Sweeps                                                                    */

/// A glide through the octaves at an even pace.
typedef struct {
  double low_hz;
  double high_hz;
  double seconds;
  double fade_in_s;  ///< Of its lows; 0: none.
  double fade_out_s; ///< Of its highs.
} VwSweep;

/// In how long it rises by a factor of e, seconds: its length over the
/// logarithm of its span.
double vw_sweep_pace_s(const VwSweep* sweep);

/// By how much earlier the n-th harmonic comes than what it is of, seconds.
double vw_sweep_lead_s(const VwSweep* sweep, unsigned harmonic);

/// Its value at a time after its start, of height 1; 0 outside of it.
double vw_sweep_at(const VwSweep* sweep, double time_s);

/// What its own inverse makes of it, in its band: the sum of both slid along
/// each other, as a factor.
double vw_sweep_gain(const VwSweep* sweep, double rate_hz);

/// A stretch of the answer to an impulse.
typedef struct {
  double* values; ///< Owned, `n` of them.
  size_t  n;
  double  rate_hz;
  double  from_s; ///< Of the first value; 0 is where the sweep starts.
} VwAnswer;

/// Which stretch of it.
typedef struct {
  double start_s; ///< Of the sweep in the recording, frames of which count from
                  ///< 0; what lies outside is silence.
  double from_s;
  double to_s;
} VwAnswerWish;

/**
 * Find the answer to an impulse in the recording of a sweep that has one
 * channel.
 *
 * @param answer Filled in on success; free it with vw_answer_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_sweep_answer(const VwSweep*      sweep,
                         const VwSound*      recording,
                         const VwAnswerWish* wish,
                         VwAnswer*           answer);

/// Free what it owns. NULL is accepted.
void vw_answer_clear(VwAnswer* answer);

/// Power of a frequency in an answer, about a time: what lies further before or
/// behind it than half a window is left out, all within a quarter counts in
/// full.
double vw_answer_power(const VwAnswer* answer,
                       double          middle_s,
                       double          window_s,
                       double          hz);

/* ------------------------------------------------------------------------ */
/* The test sound                                                            */

/// A test sound: a mark that rises, a sweep, and a mark that falls.
typedef struct {
  VwSweep sweep;
  double  rise_s;  ///< Where the first mark starts.
  double  sweep_s; ///< Where the sweep starts.
  double  fall_s;  ///< Where the second mark starts.
  double  seconds; ///< How long it is.
} VwSweepTest;

/// The test sound of a sample rate.
VwSweepTest vw_sweep_test(double rate_hz);

/// Marks last so long, and go through these.
#define VW_SWEEP_MARK_S 0.12
#define VW_SWEEP_MARK_LOW_HZ 800.0
#define VW_SWEEP_MARK_HIGH_HZ 3200.0

/// The mark that rises, as a sweep.
VwSweep vw_sweep_mark(void);

/// A mark at a time after its start, of height 1; 0 outside of it.
double vw_sweep_mark_at(bool falls, double time_s);

/**
 * Make the test sound.
 *
 * @param sound Filled in on success; free it with vw_sound_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_sweep_test_make(unsigned rate_hz,
                            unsigned n_channels,
                            VwSound* sound);

/// Where a test sound lies in a recording.
typedef struct {
  VwSweepTest test;    ///< As it was played, by the recording's clock.
  double      start_s; ///< Where its sweep starts.
  double      ppm; ///< By how much slower its clock is than the recording's.
} VwSweepFound;

/// Why no test sound was found.
typedef enum {
  VW_SWEEP_FOUND,
  VW_SWEEP_SILENT,    ///< The recording is silent.
  VW_SWEEP_NO_MARKS,  ///< Nothing of it is there.
  VW_SWEEP_CUT_FRONT, ///< The second mark alone is there.
  VW_SWEEP_CUT_END,   ///< The first mark alone is there.
  VW_SWEEP_APART,     ///< They do not lie as far apart as in any test sound.
} VwSweepMissing;

/**
 * Find the test sound in a recording of one channel.
 *
 * @param found Filled in if `*missing` is #VW_SWEEP_FOUND.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_sweep_find(const VwSound*  recording,
                       VwSweepMissing* missing,
                       VwSweepFound*   found);

/* ------------------------------------------------------------------------ */
/* What is heard in a recording                                              */

/// Steps of an octave in which a response is looked at, and in which it is
/// reported; as many as there are from 80 Hz to 16 kHz.
#define VW_RESPONSE_FINE 24U
#define VW_RESPONSE_COARSE 6U
#define VW_RESPONSE_MOST 184U

/// What can be wrong with a recording that holds a test sound, as bits.
enum {
  VW_DOUBT_GAIN = 1U << 0U,    ///< Its gain changed on the way.
  VW_DOUBT_SILENCE = 1U << 1U, ///< Its pauses are silenced: noise suppression.
  VW_DOUBT_CLIPPED = 1U << 2U, ///< It is clipped.
  VW_DOUBT_ECHO = 1U << 3U,    ///< A wall is nearly as loud as the speaker.
  VW_DOUBT_NARROW = 1U << 4U,  ///< It has a telephone's band.
  VW_DOUBT_NOISE = 1U << 5U,   ///< Noise hides a good part of it.
  VW_DOUBT_CLOCK = 1U << 6U,   ///< Its clock is farther off than any good one.
  VW_DOUBT_FIT = 1U << 7U,     ///< Corner and resonances miss the response.
};

/// A response at one frequency.
typedef struct {
  double hz;
  double db;    ///< Of the sweep as it was played; NaN if noise hides it.
  double share; ///< Harmonics, as a share of it; NaN where that is unknown.
} VwResponse;

/// What is heard in one recording.
typedef struct {
  VwSweepMissing missing; ///< If it is not #VW_SWEEP_FOUND nothing else counts.
  VwResponse     fine[VW_RESPONSE_MOST];
  size_t         n_fine;
  double         ppm;      ///< By how much slower the board's clock is.
  double         level_db; ///< Mean response from 300 Hz to 4 kHz.
  double         noise_db; ///< The same of the noise below it.
  unsigned       doubts;
  double         gain_db;       ///< By how much its gain changed.
  double         clipped;       ///< Share of the sweep that is clipped, 0 to 1.
  double         clipped_hz;    ///< From this frequency
  double         clipped_to_hz; ///< to this.
  double         echo_db;       ///< Of the loudest echo; NaN: none.
  double         echo_ms;       ///< After the speaker.
  double         top_hz;        ///< Of what is heard.
} VwSweepHeard;

/**
 * Find what a recording of one channel holds.
 *
 * @param heard Filled in on success.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_sweep_hear(const VwSound* recording, VwSweepHeard* heard);

/* ------------------------------------------------------------------------ */
/* What a speaker is like                                                    */

/// As many resonances as are told.
#define VW_RESONANCES_MOST 4U

/// What stands out of a response.
typedef struct {
  double hz;
  double db; ///< Above what is about it.
  double q;
} VwResonance;

/// A speaker.
typedef struct {
  VwResponse  fine[VW_RESPONSE_MOST]; ///< 0 dB: the mean from 300 Hz to 4 kHz.
  size_t      n_fine;
  VwResponse  coarse[VW_RESPONSE_MOST];
  size_t      n_coarse;
  double      corner_hz; ///< It is 3 dB down; NaN: below what the sweep plays.
  double      slope_db;  ///< An octave below its corner.
  double      low_hz;    ///< From here
  double      high_hz;   ///< to there it is within 10 dB of its loudest octave.
  VwResonance resonances[VW_RESONANCES_MOST]; ///< By their frequency.
  size_t      n_resonances;
  double      miss_db;    ///< Corner and resonances miss it so far in the mean.
  unsigned    doubts;     ///< Those of its recordings, and #VW_DOUBT_FIT.
  double      share;      ///< Harmonics above its corner; NaN: unknown.
  double      share_most; ///< The most of them,
  double      share_hz;   ///< and where.
  double      unlike_db;  ///< By how much recordings differ at most, from one
                          ///< third of an octave to the next ...
  double    unlike_hz;    ///< and where; NaN of one.
  VwSpeaker proposed;
  double    after_db[VW_RESPONSE_MOST]; ///< Fine, made for it.
} VwSpeakerGauged;

/**
 * Find what a speaker is like from recordings that hold its sweep; their mean
 * counts.
 *
 * @param transducer It shakes a body, of which the lows are left.
 * @param gauged Filled in on success.
 * @return #VW_OK; #VW_NO_MEMORY; #VW_SILENT: noise hides all of it.
 */
VwStatus vw_speaker_gauge(const VwSweepHeard* heard,
                          size_t              n_heard,
                          bool                transducer,
                          VwSpeakerGauged*    gauged);

/// By which of several recordings, at other pressures, a transducer is to be
/// packed: the loudest, unless one that is within 3 dB of it rings less by 3 dB
/// (chosen here).
size_t vw_transducer_best(const VwSweepHeard*    heard,
                          const VwSpeakerGauged* gauged,
                          size_t                 n);

#endif
