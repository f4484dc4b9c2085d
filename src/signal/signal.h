/// @file
/// A sound in memory, and what is measured of it.
#ifndef VW_SIGNAL_H
#define VW_SIGNAL_H

#include "volleyweave/volleyweave.h"

/* ------------------------------------------------------------------------ */
/* Sound                                                                     */

/**
 * Copy a sound.
 *
 * @param copy Filled in on success; free it with vw_sound_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_sound_copy(const VwSound* sound, VwSound* copy);

/**
 * Copy frames [from, from + n_frames) of a sound; zeros where it ends before.
 *
 * @param part Filled in on success; free it with vw_sound_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_sound_part(const VwSound* sound,
                       size_t         from,
                       size_t         n_frames,
                       VwSound*       part);

/// Lengthen a sound with zeros to a multiple of `frames_unit`, but `least`.
VwStatus vw_sound_pad(VwSound* sound, size_t frames_unit, size_t least);

/// Multiply every value.
void vw_sound_scale(VwSound* sound, double gain);

/// Multiply frame `frame` of a sound.
static inline void
vw_sound_scale_frame(VwSound* sound, size_t frame, double gain) {
  for (unsigned c = 0; c < sound->n_channels; ++c) {
    float* const value = &sound->values[frame * sound->n_channels + c];
    *value = (float)((double)*value * gain);
  }
}

/// A view of a sound without the digital silence before and behind it: a frame
/// of what is all silence.
VwSound vw_sound_sounding(const VwSound* sound);

/// Mean square of one frame over its channels.
double vw_sound_power_at(const VwSound* sound, size_t frame);

/// The channel with the most energy in frames [from, from + n).
unsigned vw_sound_strongest(const VwSound* sound, size_t from, size_t n);

/// The greatest absolute value.
double vw_sound_peak(const VwSound* sound);

/// The greatest absolute value of a frame over its channels.
double vw_sound_height(const VwSound* sound, size_t frame);

/// The greatest difference of two frames over their channels.
double vw_sound_step(const VwSound* sound, size_t from, size_t to);

/// The step above which one is heard as a click among all the others of a
/// sound, which has at least two frames; -1 without memory.
double vw_sound_step_heard(const VwSound* sound);

/**
 * Copy one channel of a sound.
 *
 * @param channel Counted from 0.
 * @param out Filled in on success; free it with vw_sound_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_sound_channel(const VwSound* sound, unsigned channel, VwSound* out);

/// Copy what is heard of a sound: all of it, or its first channel beside a lamp
/// `track`. To be freed as a copy.
VwStatus vw_sound_heard(const VwSound* sound, bool track, VwSound* heard);

/* ------------------------------------------------------------------------ */
/* Channels and sample rate                                                  */

/// How several channels became one.
typedef enum {
  VW_DOWNMIX_NONE,     ///< The channels were left as they were, or copied.
  VW_DOWNMIX_SUM,      ///< Mean of all channels.
  VW_DOWNMIX_STRONGER, ///< The strongest channel alone: a sum would cancel.
  VW_DOWNMIX_LATE,     ///< The same, as one of two is late: a sum would comb.
  VW_DOWNMIX_DUAL_MONO ///< The first of two that are the same, also where they
                       ///< lie one frame apart.
} VwDownmix;

/**
 * Bring a sound to another number of channels.
 *
 * To one channel: the first of two that are the same, also one frame apart;
 * else the mean of all, unless two of them would cancel (their correlation lies
 * below -0.3) or one is late (see vw_side_late()); then the strongest alone.
 * From one channel: copies. Between other numbers: one channel first, then
 * copies.
 *
 * @param n_channels 1 or more.
 * @param how Set on success.
 * @param out Filled in on success; free it with vw_sound_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_downmix(const VwSound* sound,
                    unsigned       n_channels,
                    VwDownmix*     how,
                    VwSound*       out);

/**
 * Convert a sound to another sample rate.
 *
 * Frame 0 stays at the same time. What lies outside the sound is silence: at
 * least 20 ms of zeros stand on both sides while it is converted.
 *
 * @param rate_hz 4000 to 384000.
 * @param out Filled in on success; free it with vw_sound_clear(). Its length
 * is that of `sound` to the nearest frame.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_convert(const VwSound* sound, unsigned rate_hz, VwSound* out);

/**
 * The same with a steeper filter, for measuring: up to 0.95 of half the lower
 * sample rate nothing is lost, where vw_convert() loses 3 dB, but its ends ring
 * for longer.
 */
VwStatus vw_convert_whole_band(const VwSound* sound,
                               unsigned       rate_hz,
                               VwSound*       out);

/* ------------------------------------------------------------------------ */
/* Filters                                                                   */

/// A second-order section in transposed direct form II.
typedef struct {
  double b0, b1, b2, a1, a2;
  double s1, s2; ///< State.
} VwBiquad;

/// Sections of the fourth-order high-pass.
#define VW_HIGH_PASS_SECTIONS 2

/**
 * A second-order high-pass, by the bilinear transform of the analogue filter
 * with the corner prewarped (R. Bristow-Johnson, "Cookbook formulae for audio
 * EQ biquad filter coefficients").
 */
VwBiquad vw_biquad_high_pass(double corner_hz, double q, double rate_hz);

/// Settle a high-pass on a constant input, as if it had always been there.
void vw_biquad_settle(VwBiquad* biquad, double constant);

/// Filter one value.
static inline double
vw_biquad_step(VwBiquad* biquad, double x) {
  const double y = biquad->b0 * x + biquad->s1;
  biquad->s1 = biquad->b1 * x - biquad->a1 * y + biquad->s2;
  biquad->s2 = biquad->b2 * x - biquad->a2 * y;
  return y;
}

/**
 * A fourth-order Butterworth high-pass: two sections whose Q are those of its
 * pole pairs, 1 / (2 cos(pi/8)) and 1 / (2 cos(3 pi/8)).
 */
void vw_high_pass_4th(VwBiquad sections[VW_HIGH_PASS_SECTIONS],
                      double   corner_hz,
                      double   rate_hz);

/// Filter one value.
static inline double
vw_high_pass_step(VwBiquad sections[VW_HIGH_PASS_SECTIONS], double x) {
  return vw_biquad_step(&sections[1], vw_biquad_step(&sections[0], x));
}

/// A loop lies on a constant if its mean is above this, which takes 0.048 dB of
/// headroom: 20 log10(1 / 0.9945) (closed form); that of loops of 34 recordings
/// is up to 0.0052.
#define VW_OFFSET_MOST 0.0055

/// The mean of a channel of a loop; if it is no constant but follows the sound,
/// little beside how the means of its stretches spread, then where the channel
/// comes to rest at the seam, or 0.
double vw_sound_constant(const VwSound* loop, unsigned channel);

/// Above this part of the sample rate a high-pass leaves next to nothing.
#define VW_HIGH_PASS_MOST 0.45

/// A second-order filter that raises (or cuts, below 0 dB) what lies about a
/// frequency, of the same source.
VwBiquad vw_biquad_peak(double hz, double db, double q, double rate_hz);

/// Whether a speaker is none, or all of it lies in the ranges that the public
/// header states.
bool vw_speaker_is_sound(const VwSpeaker* speaker);

/// Make a sound for a speaker: take away what lies below its corner (fourth
/// order: common practice), and cut its resonances.
void vw_speaker_spare(const VwSpeaker* speaker, VwSound* sound);

/// Play a sound on a speaker: what lies below its corner is not heard, and its
/// resonances are.
void vw_speaker_play(const VwSpeaker* speaker, VwSound* sound);

/// What a speaker's sound is multiplied by at a frequency where it is made for
/// it, dB.
double vw_speaker_db(const VwSpeaker* speaker, double hz, double rate_hz);

/* ------------------------------------------------------------------------ */
/* Level: how it runs, its valleys, the noise                                */

/// The window over which a level is taken, seconds.
#define VW_LEVEL_WINDOW_S 0.010

/// Values below this corner count for no level: no small speaker plays them.
#define VW_LEVEL_CORNER_HZ 100.0

/// Running sums up to a value, and the phase of the cosine at it.
typedef struct {
  double sum;
  double sum_cos;
  double sum_sin;
  double phase_cos;
  double phase_sin;
} VwHannPoint;

/**
 * A moving mean with Hann weights.
 *
 * The window is a constant plus one turn of a cosine, so three running sums
 * give the mean at every position at once.
 */
typedef struct {
  VwHannPoint* points;   ///< One before each value and one after all. Owned.
  size_t       n;        ///< Values.
  size_t       n_window; ///< Values under the window.
} VwHann;

/**
 * Prepare the moving mean of `n` values.
 *
 * @param hann Filled in on success; free it with vw_hann_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_hann_init(VwHann*       hann,
                      const double* values,
                      size_t        n,
                      size_t        n_window);

/// Free the points. NULL is accepted.
void vw_hann_clear(VwHann* hann);

/// The weighted mean about value `at`; what lies outside counts as zero.
double vw_hann_mean(const VwHann* hann, size_t at);

/// The course of a sound's level, in steps of about half a millisecond.
typedef struct {
  double* power;  ///< Mean square of each step, mean over the channels. Owned.
  double* level;  ///< 10 ms Hann-weighted power after the level's high-pass,
                  ///< about the middle of each step. Owned.
  size_t n_steps; ///< How many, at least 1.
  size_t n_step;  ///< Frames in a step.
  double step_s;  ///< Length of a step, seconds.
} VwCurve;

/**
 * Take the course of a sound's level.
 *
 * @param curve Filled in on success; free it with vw_curve_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_curve_take(const VwSound* sound, VwCurve* curve);

/// Free what `curve` owns. NULL is accepted.
void vw_curve_clear(VwCurve* curve);

/// The step with the highest level in [from, to).
size_t vw_curve_crest(const VwCurve* curve, size_t from, size_t to);

/// Steps nearest to a time.
size_t vw_curve_steps(const VwCurve* curve, double seconds);

/// The valley from which shots are heard one by one, dB (chosen here). A
/// take's fastest rate keeps it, and a loop is made with it where no other is
/// asked.
#define VW_VALLEY_APART_DB 9.0

// No valley reads deeper than this: beyond it no two can be told apart, and
// digital silence has no level.
#define VW_VALLEY_DEEPEST_DB 60.0

/**
 * Depth of the quiet below the crest in one period of levels.
 *
 * The quiet is the mean of the lowest fifth.
 *
 * @param levels Powers, in any even spacing. They are put in another order.
 * @param n How many, at least 1.
 * @return dB; 60 at most.
 */
double vw_valley_of_levels(double* levels, size_t n);

/// How a sound's level runs, in steps of about half a millisecond.
typedef struct {
  double* level_dbfs; ///< RMS about the middle of each step over 10 ms,
                      ///< Hann-weighted, behind a fourth-order Butterworth
                      ///< high-pass at 100 Hz, the mean power of all channels;
                      ///< NaN in digital silence. What lies outside of the
                      ///< sound counts as silence. Owned.
  size_t n_steps;     ///< How many, at least 1.
  double step_s;      ///< Length of a step, seconds, a whole number of frames.
} VwCourse;

/**
 * Follow the level of a sound: the one by which its shots are found.
 *
 * @param sound Such as a take, prepared, or a piece of a family.
 * @param course Filled in on success; free it with vw_course_clear().
 * @return #VW_OK, #VW_NO_MEMORY, #VW_NO_FRAMES.
 */
VwStatus vw_course_take(const VwSound* sound, VwCourse* course);

/// Free what `course` owns and set it to zero. NULL is accepted.
void vw_course_clear(VwCourse* course);

/**
 * Power of the quiet in steps [from, to) of a curve: a low one of its 10 ms
 * means, digital silence left out.
 *
 * @param share Which of the sorted means: 0 the lowest, 0.1 the tenth
 * percentile.
 * @param power Filled in on success; 0 where all is digital silence or the
 * stretch is shorter than 10 ms.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_noise_quietest(const VwCurve* curve,
                           size_t         from,
                           size_t         to,
                           double         share,
                           double*        power);

/**
 * Power of the noise before step `to`: of the quietest there is, where that is
 * steady for 20 ms at least and 25 dB below the crest; NaN where it is not, as
 * where a sound rises from the start on.
 */
double vw_noise_before(const VwCurve* curve, size_t to, size_t crest);

/**
 * Power of the noise at the end of steps `[crest, limit)`; NaN where their last
 * tenth, 100 ms at least, is not steady, or is less than 25 dB below the crest,
 * louder than the noise before, or still a decay.
 *
 * @param before See vw_noise_before(); NaN where none is known.
 */
double vw_noise_after(const VwCurve* curve,
                      size_t         crest,
                      size_t         limit,
                      double         before);

/* ------------------------------------------------------------------------ */
/* Spectra                                                                   */

/**
 * The autocorrelation of `n` values, silence about them, by way of their power
 * spectrum.
 *
 * @param correlation Room for `n_lags` values, at most `n`.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_spectrum_correlate(const double* values,
                               size_t        n,
                               double*       correlation,
                               size_t        n_lags);

/// Room and plans of the transforms of a size, made when they are first used
/// and again for another one.
typedef struct VwTransforms VwTransforms;

/// To be freed with vw_transforms_free(); NULL without memory.
VwTransforms* vw_transforms_new(void);

/// Free the transforms. NULL is accepted.
void vw_transforms_free(VwTransforms* transforms);

/// What is slid along what.
typedef struct {
  const float* one;     ///< `n` values.
  const float* other;   ///< `n + n_lags - 1` values.
  size_t       n_apart; ///< From one value to the next.
  size_t       n;
  size_t       n_lags;
} VwCross;

/**
 * Add the cross-correlation of two runs of values, by way of their spectra: to
 * each of `n_lags` sums that of `one` and of `other` so much later.
 *
 * @param transforms Used, and left fit for the next one of that size; NULL:
 * made for this one.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_spectrum_cross(const VwCross* cross,
                           VwTransforms*  transforms,
                           double*        sums);

/// A wave that is looked for in others, in whatever phase it comes.
typedef struct VwMatcher VwMatcher;

/// How alike what begins at a place is to the wave.
typedef struct {
  float height;   ///< By what the wave is multiplied there.
  float likeness; ///< What part of all that sounds there is the wave: 0 to 1.
} VwMatch;

/// A matcher of `n` values, at least 1, that are not all zero. To be freed with
/// vw_matcher_free(); NULL without memory.
VwMatcher* vw_matcher_new(const float* wave, size_t n);

/// Free it. NULL is accepted.
void vw_matcher_free(VwMatcher* matcher);

/// How many places one run looks at.
size_t vw_matcher_lags(const VwMatcher* matcher);

/**
 * Look for the wave at each place: the envelope of the correlation, by way of
 * the spectra. Other systems differ from the sixth digit on.
 *
 * @param values The first is that at the first place; zeros follow behind.
 * @param matches Room for vw_matcher_lags() of them.
 */
void vw_matcher_run(VwMatcher*   matcher,
                    const float* values,
                    size_t       n_values,
                    VwMatch*     matches);

/// Which stretches are compared.
typedef struct {
  const VwSound* one;
  size_t         at; ///< Its first frame.
  const VwSound* other;
  size_t         from;       ///< The first frame that is laid beside it.
  size_t         n;          ///< Frames of both.
  size_t         n_lags;     ///< From so many frames on.
  VwTransforms*  transforms; ///< Of whoever compares many; NULL: made for one.
} VwSlide;

/// How alike two stretches are, of the first lag: their correlation over all
/// channels, -1 to 1; 0 of silence.
double vw_slide_likeness(const VwSlide* wish);

/**
 * The same of all lags, by way of their spectra: to some millionths, and other
 * ones on another system.
 *
 * @param likeness Set to `n_lags` values.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_slide_over_lag(const VwSlide* wish, double* likeness);

/**
 * Find where two stretches are most alike, the same on every system: the first
 * such place, if there are several.
 *
 * @param wish Only every `step`th of its lags counts, from the first on.
 * @param at Set to the place in the other sound.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_slide_best(const VwSlide* wish,
                       size_t         step,
                       size_t*        at,
                       double*        likeness);

/**
 * Find whether one of two channels is the other, but later, so that their sum
 * combs: by 1 to 20 ms, told by the 10 s about the loudest frame.
 *
 * What repeats within these 20 ms, as a tone, tells nothing.
 *
 * @param late_ms Set to how much later the second channel is; below 0: the
 * first is; 0: neither, or there are not two.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_side_late(const VwSound* sound, double* late_ms);

/// By how much the phase of each frequency shifts from one stretch to another,
/// as far as their correlation tells: from none to a quarter of a turn.
typedef struct VwShifts VwShifts;

/**
 * Find the shifts over windows of two stretches, all channels together.
 *
 * @param wish No lags; a stretch has at least one window.
 * @param n_window Frames of a window, even.
 * @return To be freed with vw_shifts_free(); NULL without memory.
 */
VwShifts* vw_shifts_find(const VwSlide* wish, size_t n_window);

/// A value of each of both stretches.
typedef struct {
  double one;
  double other;
} VwPair;

/**
 * Weigh every frequency by the square of its shift, in radians, shifting no
 * phase. What is half a window from either end depends on what is outside,
 * which is silence. The figures are the same on every system.
 *
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_shifts_weigh(VwShifts* shifts, VwPair* values, size_t n);

/// Free the shifts. NULL is accepted.
void vw_shifts_free(VwShifts* shifts);

/**
 * The share of a sound's energy below a frequency, 0 to 1.
 *
 * @param share Filled in on success; NaN of digital silence.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_spectrum_share_below(const VwSound* sound,
                                 double         hz,
                                 double*        share);

/// Powers of frequencies from windows of a sound, one after the other.
typedef struct VwPowers VwPowers;

/// For windows of at least `n_frames`; `*n` is set to how many powers they
/// give, evenly from 0 to half the sample rate. NULL without memory.
VwPowers* vw_powers_new(size_t n_frames, size_t* n);

/**
 * Add to each power that of a Hann window about a frame, the mean of all
 * channels: a full-scale sine adds 1. What lies outside of the sound is
 * silence.
 */
void vw_powers_add(VwPowers*      powers,
                   const VwSound* sound,
                   size_t         middle,
                   double*        sums);

/// Free it. NULL is accepted.
void vw_powers_free(VwPowers* powers);

/* ------------------------------------------------------------------------ */
/* Step by step, for pictures                                                */

/// A part of a sound in even steps.
typedef struct {
  size_t from_frame; ///< Its first.
  size_t to_frame;   ///< One past its last; above `from_frame`.
  size_t n_steps;    ///< 1 to 100,000.
} VwStretch;

/// How long a step of a stretch is, frames.
double vw_stretch_step(const VwStretch* stretch);

/**
 * The lowest and the highest value of each step, over all channels.
 *
 * A step also looks at the frame before it, so that one joins the next, and at
 * one frame at least; what lies outside of the sound counts as silence.
 *
 * @param low Set to `n_steps` values.
 * @param high The same.
 */
void vw_outline_take(const VwSound*   sound,
                     const VwStretch* stretch,
                     float*           low,
                     float*           high);

/// Which frequencies to look at, evenly spread in their logarithm.
typedef struct {
  double low_hz;  ///< Above 0.
  double high_hz; ///< At most half the sample rate.
  size_t n_rows;  ///< 1 to 1000.
} VwRows;

/**
 * How strong the frequencies of a sound are, step by step.
 *
 * Hann windows of 23 ms, up to 16 of them evenly over a step that is longer,
 * the mean power of all channels.
 *
 * @param level_dbfs Set to `n_steps` times `n_rows` values, the lowest
 * frequency of all steps first; a full-scale sine in one channel is 0, silence
 * is -200.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION.
 */
VwStatus vw_spectrogram_take(const VwSound*   sound,
                             const VwStretch* stretch,
                             const VwRows*    rows,
                             float*           level_dbfs);

/* ------------------------------------------------------------------------ */
/* Prediction                                                                */

/// As many weights as a prediction has, at most.
#define VW_PREDICT_MOST 64U

/**
 * Find the weights by which values are best foretold, and as well told
 * backwards, from those beside them (J. P. Burg, "Maximum entropy spectral
 * analysis", 1975). What they continue never grows.
 *
 * @param n More than `order`.
 * @param weights Set to `order` values, that of the nearest first.
 * @return False without memory.
 */
bool vw_predict_fit(const double* values,
                    size_t        n,
                    size_t        order,
                    double*       weights);

/* ------------------------------------------------------------------------ */
/* Loudness and true peak                                                    */

/// How loud a sound is. What the standards give no value for is NaN.
typedef struct {
  double integrated_lufs;     ///< Rec. ITU-R BS.1770-5; NaN below 400 ms.
  double momentary_max_lufs;  ///< Greatest of 400 ms, silence about the sound.
  double short_term_max_lufs; ///< Greatest of 3 s; NaN for less than 3 s.
  double range_lu;            ///< EBU Tech 3342; NaN for less than 30 s, and
                              ///< not stable for less than 60 s.
  double true_peak_dbtp;      ///< Eight times oversampled.
  double crest_factor_db;     ///< Highest value over RMS.
  double energy_below_350hz;  ///< Share of the energy, 0 to 1: what a 40 mm
                              ///< speaker cannot play.
  double energy_below_800hz;  ///< The same for 15 to 20 mm.
} VwLoudness;

/**
 * Measure the loudness of a sound (EBU R 128, by libebur128).
 *
 * Momentary and short-term loudness are looked at every 10 ms. A channel counts
 * once: a mono sound reads 3 LU less than the same in both channels of two. At
 * sample rates below 22 kHz it is measured on a copy at 48 kHz.
 *
 * For an effect under 400 ms, of which the standards say nothing, the maximum
 * momentary loudness with silence about it is this project's convention.
 *
 * @param loudness Filled in on success.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_loudness_measure(const VwSound* sound, VwLoudness* loudness);

/**
 * The loudness of an effect: the greatest momentary loudness of the sound in
 * silence, looked at every 10 ms.
 *
 * BS.1770 has no value for less than 400 ms; taking the momentary loudness of
 * the sound with silence about it is this project's convention.
 *
 * @param lufs Filled in on success; NaN of digital silence.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_loudness_of_effect(const VwSound* sound, double* lufs);

/// Zeros that a sound needs after its end for its last peaks to be seen.
#define VW_PEAK_LOBES 24

/**
 * The highest value between and at the frames of a sound: its true peak.
 *
 * Eight times oversampled with a Hann-windowed sinc of 24 lobes a side: of a
 * peak at 0.45 of the sample rate no more than 0.14 dB is missed (Rec. ITU-R
 * BS.1770-5, attachment 1 to annex 2), where four times oversampled misses
 * 0.55. Outside the sound is silence,
 * into which it may ring.
 *
 * @param least Only what exceeds this is looked at more closely, which must
 * be below any value of interest by half: a peak between two frames is never
 * twice as high as both unless the sound is at the limit of its band.
 * @param peaks For each frame, the highest value from half a frame before to
 * half a frame after it, over all channels, where that exceeds `least`; else
 * left as it is. May be NULL.
 * @return The highest of all.
 */
double vw_peak_find(const VwSound* sound, double least, float* peaks);

/// The true peak of a sound, in dBTP, and the frame before or at it; NaN of
/// digital silence, which has no frame.
double vw_peak_dbtp_at(const VwSound* sound, size_t* frame);

/// The true peak of a sound, in dBTP; NaN of digital silence.
double vw_peak_dbtp(const VwSound* sound);

#endif
