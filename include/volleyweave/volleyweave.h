/**
 * @file volleyweave.h
 * Turn one recording of one shot into a single shot and a rapid-fire loop.
 *
 * The sections below stand in the order in which the data runs:
 *
 *     read -> prepare -> find -> family (convert, burst, level, cut)
 *          -> encode -> write
 *
 * Rules of the whole interface:
 *
 * - A *frame* is one value per channel. Lengths and positions named `n_frames`
 *   or `…_frame` count frames, never single values.
 * - Levels in dBFS are relative to a full scale of 1.0. A measure that does not
 *   exist is NaN, never 0 and never an infinity.
 * - Every function that can fail returns a #VwStatus and leaves its outputs
 *   untouched when it does not return #VW_OK.
 * - Whatever a function fills in is freed by the `…_clear` function named with
 *   its type; those functions accept NULL and structures that are all zero.
 * - The library keeps no state, never prints and never ends the process.
 *   Functions may be called from several threads at once on different data.
 * - A NULL where a pointer is needed is a programmer's mistake and is asserted.
 */
#ifndef VOLLEYWEAVE_VOLLEYWEAVE_H
#define VOLLEYWEAVE_VOLLEYWEAVE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

#ifndef VW_API
#  define VW_API __attribute__((visibility("default")))
#endif

/* ------------------------------------------------------------------------ */
/* Status                                                                    */

/// What became of a call. Zero is success.
typedef enum {
  VW_OK,              ///< Done.
  VW_NO_MEMORY,       ///< An allocation failed.
  VW_BAD_OPTION,      ///< An option lies outside its range.
  VW_MISSING,         ///< No file has that name.
  VW_UNREADABLE,      ///< The file may not be read, or reading it failed.
  VW_NOT_REGULAR,     ///< A folder, a pipe, a device: not a regular file.
  VW_NAME_NOT_UTF8,   ///< The file's name is not UTF-8.
  VW_EMPTY,           ///< The file holds no byte.
  VW_NOT_AUDIO,       ///< The file is no sound file that can be recognised.
  VW_CONTAINER,       ///< A sound file in a container that cannot be read.
  VW_DAMAGED,         ///< The header is damaged.
  VW_NO_FRAMES,       ///< A header with no sound behind it.
  VW_CUT_SHORT,       ///< There is less sound than the header promises.
  VW_TOO_SHORT,       ///< Shorter than 5 ms.
  VW_TOO_LONG,        ///< Longer than the limit.
  VW_CHANNELS,        ///< Not 1 to 8 channels.
  VW_SAMPLE_RATE,     ///< Not 4 to 384 kHz.
  VW_NOT_FINITE,      ///< A value is NaN or infinite.
  VW_SILENT,          ///< Digital silence, or nothing but a constant.
  VW_NO_SHOT,         ///< Nothing rises out of the noise.
  VW_OWN_OUTPUT,      ///< The take is a file that this program wrote.
  VW_SAME_STEM,       ///< Two takes would make files of the same name.
  VW_IS_TAKE,         ///< The output would replace a take.
  VW_EXISTS,          ///< The output exists and is not ours to replace.
  VW_NOT_A_FOLDER,    ///< A file stands where a folder is meant.
  VW_NO_FOLDER,       ///< The folder that should hold the output is missing.
  VW_FOLDER_READONLY, ///< The folder may not be written to.
  VW_DISK_FULL,       ///< No room is left.
  VW_WRITE_FAILED,    ///< Writing failed in another way.
  VW_CYCLE_TOO_LONG,  ///< So many shots at that fire rate exceed the longest
                      ///< cycle.
  VW_BURST_TOO_LONG,  ///< So many shots at that fire rate take over 10 minutes.
  VW_FILE_TOO_BIG,    ///< The cycle exceeds the bytes of a file.
  VW_NO_NAME,         ///< The board allows no name for that file.
  VW_NOT_CARRIED,     ///< The container cannot carry that encoding or a loop.
  VW_NO_FILES,        ///< The folder to deliver has no file in it.
  VW_UNFINISHED,      ///< The pack's making was stopped on its way.
  VW_NESTED,          ///< Of folder and card one lies in the other.
  VW_CARD_TOO_SMALL,  ///< Even empty the card could not hold the files.
  VW_CARD_GONE,       ///< The card cannot be reached any more.
  VW_NOT_SAME,        ///< A file reads back as other than what was written.
  VW_TRACK_IN_MONO,   ///< A lamp track needs a channel of its own.
  VW_NO_STEADY_RATE,  ///< No shots that follow each other evenly were found.
  VW_ON_TIME,         ///< The on-time does not fit into the period.
  VW_SUPPLY_LOW,      ///< The supply is too low for the chip, diode or lamp.
  VW_SUPPLY_HIGH,     ///< The supply is too high for the chip.
  VW_CAPACITORS_SMALL, ///< They all need resistors above 1 Mohm.
  VW_CAPACITORS_BIG,   ///< They all need resistors below 1 kohm.
  VW_TRIMMER_SHORT,    ///< No trimmer covers the tolerances.
  VW_COUNTS_FEW,       ///< The period needs more counts than the timer has.
  VW_BUSY              ///< Another run is making the same pack.
} VwStatus;

/**
 * Say what went wrong.
 *
 * @return One sentence with an uppercase first character and no full stop.
 * Static; valid for every value, also for one that is no #VwStatus.
 */
VW_API const char* vw_strerror(VwStatus status);

/**
 * Say what to do about it.
 *
 * @return One clause with a lowercase first character and no full stop, or an
 * empty string where nothing can be advised. Static.
 */
VW_API const char* vw_remedy(VwStatus status);

/**
 * The library's version, "MAJOR.MINOR.PATCH". Static.
 */
VW_API const char* vw_version(void);

/* ------------------------------------------------------------------------ */
/* Sound                                                                     */

/// Frames in memory: channels interleaved, full scale 1.0, values may exceed
/// it.
typedef struct {
  float*   values;     ///< `n_frames * n_channels` values, frame after frame.
  size_t   n_frames;   ///< Length in frames.
  unsigned n_channels; ///< 1 to 8.
  unsigned rate_hz;    ///< Sample rate, 4000 to 384000.
} VwSound;

/**
 * Make a sound of zeros.
 *
 * @param sound Overwritten; free it with vw_sound_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VW_API VwStatus vw_sound_init(VwSound* sound,
                              size_t   n_frames,
                              unsigned n_channels,
                              unsigned rate_hz);

/// Free the values of `sound` and set it to zero. NULL is accepted.
VW_API void vw_sound_clear(VwSound* sound);

/**
 * Copy one channel of a sound.
 *
 * @param channel Counted from 0.
 * @param out Filled in on success; free it with vw_sound_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VW_API VwStatus vw_sound_channel(const VwSound* sound,
                                 unsigned       channel,
                                 VwSound*       out);

/* ------------------------------------------------------------------------ */
/* Read                                                                      */

/// How to read a take.
typedef struct {
  double seconds_max; ///< Longest take read, seconds. Default 600.
} VwReadOptions;

/// The defaults of #VwReadOptions.
VW_API VwReadOptions vw_read_defaults(void);

/// How much sound a file promised and held; of use with #VW_CUT_SHORT.
typedef struct {
  uint64_t n_frames_promised; ///< What the header says, 0 if it says nothing.
  uint64_t n_frames_there;    ///< What could be read.
  unsigned rate_hz;           ///< The header's sample rate, 0 if unknown.
} VwReadFault;

/**
 * Read a sound file into memory.
 *
 * Reads WAV, FLAC, Ogg, MP3, AIFF and whatever else libsndfile reads. Values
 * are those of the file: nothing is clipped (compressed sound may decode to
 * twice full scale), no level is changed, no offset removed.
 *
 * @param path File name, UTF-8. Must be a regular file.
 * @param sound Filled in on success; free it with vw_sound_clear().
 * @param fault Filled in with #VW_CUT_SHORT; may be NULL.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_MISSING, #VW_UNREADABLE, #VW_NOT_REGULAR,
 * #VW_NAME_NOT_UTF8, #VW_EMPTY, #VW_NOT_AUDIO, #VW_CONTAINER, #VW_DAMAGED,
 * #VW_NO_FRAMES, #VW_CUT_SHORT, #VW_TOO_LONG, #VW_CHANNELS, #VW_SAMPLE_RATE.
 */
VW_API VwStatus vw_read(const char*          path,
                        const VwReadOptions* options,
                        VwSound*             sound,
                        VwReadFault*         fault);

/* ------------------------------------------------------------------------ */
/* Prepare                                                                   */

/// A recording as it came, its offset removed, and what only the raw one tells.
typedef struct {
  VwSound sound;     ///< The take without its offset. Owned.
  double  dc_offset; ///< Mean of all values before removal, full scale 1.
  size_t
    n_clipped_frames; ///< Frames in runs of 3 or more at the take's extreme.
} VwTake;

/**
 * Check a recording and take its offset away.
 *
 * The offset goes with a second-order Butterworth high-pass at 20 Hz, since in
 * recordings it often follows the sound; the filter starts settled on the
 * offset of the first frames where these are quiet.
 *
 * @param raw The recording. Not changed.
 * @param take Filled in on success; free it with vw_take_clear().
 * @return #VW_OK, #VW_NO_MEMORY, #VW_NO_FRAMES, #VW_CHANNELS, #VW_SAMPLE_RATE,
 * #VW_TOO_SHORT, #VW_NOT_FINITE, #VW_SILENT.
 */
VW_API VwStatus vw_take_prepare(const VwSound* raw, VwTake* take);

/// Free what `take` owns and set it to zero. NULL is accepted.
VW_API void vw_take_clear(VwTake* take);

/* ------------------------------------------------------------------------ */
/* Find                                                                      */

/// What a take is.
typedef enum {
  VW_KIND_SHOT,          ///< One shot.
  VW_KIND_SEVERAL_SHOTS, ///< Several shots, one after the other.
  VW_KIND_SUSTAINED ///< A drone or a steady tone: too long near its crest for
                    ///< a shot.
} VwKind;

/// The word for a kind: "shot", "several shots", "sustained". Static.
VW_API const char* vw_kind_name(VwKind kind);

/// How to find the shot.
typedef struct {
  /// Level of the board's own noise with the shot's highest value at -1 dBFS;
  /// a tail that has sunk below it ends there. dBFS, default -96.
  double board_noise_dbfs;
} VwFindOptions;

/// The defaults of #VwFindOptions.
VW_API VwFindOptions vw_find_defaults(void);

/// The straight line by which a decay time is told; all NaN where none is.
typedef struct {
  double from_ms;   ///< Time in the take: 5 dB down in energy.
  double to_ms;     ///< 35 dB down, of T30, or else 25, of T20.
  double from_dbfs; ///< RMS of all that sounds, at `from_ms`.
  double to_dbfs;   ///< The same at `to_ms`.
} VwDecayLine;

/// Where the shot lies in its take, and what it is like.
typedef struct {
  VwKind kind;         ///< What the take is.
  size_t attack_frame; ///< Where the shot rises out of what was before it.
  size_t crest_frame;  ///< Where its level is highest.
  size_t end_frame;    ///< One past the shot's last frame.
  double attack_ms;    ///< The attack's time in the take.
  double crest_ms;     ///< The crest's.
  double end_ms;       ///< The end's.
  double valley_ms; ///< Where the level is lowest from the crest to the take's
                    ///< next shot, or, where there is none, to itself fired
                    ///< again at `fastest_fire_rate_per_s`; NaN without both.
  double length_ms; ///< From 2 ms before the attack, or the take's start, to
                    ///< the end.
  double rise_ms;   ///< From the attack to full level; see vw_find().
  bool   slow;      ///< The rise takes more than 5 ms.
  double decay_t20_s; ///< Time of a decay by 60 dB from -5 to -25 dB, or NaN.
  double decay_t30_s; ///< The same from -5 to -35 dB, or NaN.
  VwDecayLine decay_line;      ///< Of T30, or else of T20.
  double      pitch_attack_hz; ///< Pitch of the 40 ms from the attack, or NaN.
  double
    pitch_tail_hz; ///< Pitch of the 40 ms in which it falls by 20 dB, or NaN.
  double   noise_floor_dbfs; ///< RMS of the quiet part; NaN in digital silence.
  double   dc_offset;        ///< As in #VwTake.
  size_t   n_clipped_frames; ///< As in #VwTake.
  unsigned shots_in_take;    ///< How many shots the take holds, at least 1.
  double   fastest_fire_rate_per_s; ///< Fastest it stands untouched, or NaN.
  double   earlier_sound_db; ///< Level of a sound before the shot that was left
                             ///< out, dB relative to the shot's crest, or NaN.
  double earlier_sound_ms;   ///< How long before the attack it ended, or NaN.
  double cut_off_db; ///< Level at the take's end, dB relative to the crest,
                     ///< where the take ends before the tail, or NaN.
} VwShotFacts;

/**
 * Find the shot in a take.
 *
 * The attack is the change point between the noise before the shot and the
 * rise out of it, by the cumulative sum of log-likelihood ratios (E. S. Page,
 * "Continuous inspection schemes", Biometrika 41, 1954). The rise is the time
 * from the attack until the level is first within 3 dB of the crest, scaled to
 * a straight rise to full level. The tail follows the backward-integrated
 * decay (ISO 3382-1:2009, after M. R. Schroeder), corrected for noise
 * (A. Lundeby et al., Acustica 81, 1995); the shot ends where what is left is
 * 60 dB down, has sunk into the take's noise or lies below the board's own.
 * In a take with several shots the first within 6 dB of the loudest is meant,
 * and it ends before the next.
 *
 * The fastest fire rate is the highest of 4, 4.5 ... 15 per second such that it
 * and every slower one keep a valley of 9 dB on the energy sum of the shot's
 * level curve.
 *
 * @return #VW_OK, #VW_NO_MEMORY, #VW_NO_SHOT.
 */
VW_API VwStatus vw_find(const VwTake*        take,
                        const VwFindOptions* options,
                        VwShotFacts*         facts);

/// The facts on a take that is used whole, in which no shot is looked for.
VW_API VwShotFacts vw_facts_of_whole(const VwTake* take);

/* ------------------------------------------------------------------------ */
/* Course                                                                    */

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
VW_API VwStatus vw_course_take(const VwSound* sound, VwCourse* course);

/// Free what `course` owns and set it to zero. NULL is accepted.
VW_API void vw_course_clear(VwCourse* course);

/// A part of a sound in even steps.
typedef struct {
  size_t from_frame; ///< Its first.
  size_t to_frame;   ///< One past its last; above `from_frame`.
  size_t n_steps;    ///< 1 to 100,000.
} VwStretch;

/// How long a step of a stretch is, frames.
VW_API double vw_stretch_step(const VwStretch* stretch);

/**
 * The lowest and the highest value of each step, over all channels.
 *
 * A step also looks at the frame before it, so that one joins the next, and at
 * one frame at least; what lies outside of the sound counts as silence.
 *
 * @param low Set to `n_steps` values.
 * @param high The same.
 */
VW_API void vw_outline_take(const VwSound*   sound,
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
VW_API VwStatus vw_spectrogram_take(const VwSound*   sound,
                                    const VwStretch* stretch,
                                    const VwRows*    rows,
                                    float*           level_dbfs);

/**
 * The pitch about the middle of each step, as vw_find() tells that of an
 * attack, from 40 ms.
 *
 * @param pitch_hz Set to `n_steps` values; NaN where there is none.
 * @return #VW_OK, #VW_NO_MEMORY.
 */
VW_API VwStatus vw_pitch_follow(const VwSound*   sound,
                                const VwStretch* stretch,
                                float*           pitch_hz);

/* ------------------------------------------------------------------------ */
/* Loudness                                                                  */

/// How loud a sound is. What the standards give no value for is NaN.
typedef struct {
  double integrated_lufs;     ///< Rec. ITU-R BS.1770-5; NaN below 400 ms.
  double momentary_max_lufs;  ///< Greatest of 400 ms, silence about the sound.
  double short_term_max_lufs; ///< Greatest of 3 s; NaN for less than 3 s.
  double range_lu;            ///< EBU Tech 3342; NaN for less than 30 s.
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
VW_API VwStatus vw_loudness_measure(const VwSound* sound, VwLoudness* loudness);

/* ------------------------------------------------------------------------ */
/* Format                                                                    */

/// How frames are written.
typedef enum {
  VW_ENCODING_U8,   ///< 8 bit unsigned PCM, silence is 128.
  VW_ENCODING_S16,  ///< 16 bit PCM.
  VW_ENCODING_S24,  ///< 24 bit PCM.
  VW_ENCODING_FLOAT ///< 32 bit floating point.
} VwEncoding;

/// "8-bit unsigned PCM", "16-bit PCM", "24-bit PCM", "32-bit float". Static.
VW_API const char* vw_encoding_name(VwEncoding encoding);

/// What is added before a value is rounded.
typedef enum {
  VW_DITHER_TPDF, ///< Triangular, 2 LSB wide; none in digital silence.
  VW_DITHER_NONE  ///< Nothing.
} VwDither;

/// The format of the written sound.
typedef struct {
  unsigned   rate_hz;    ///< 4000 to 384000; 0: 44100, or the take's if lower.
  unsigned   n_channels; ///< 1 or 2. Default 1.
  VwEncoding encoding;   ///< Default #VW_ENCODING_S16.
  VwDither   dither;     ///< Default #VW_DITHER_TPDF. No matter for float.
} VwFormat;

/// The defaults of #VwFormat.
VW_API VwFormat vw_format_defaults(void);

/// RMS of the noise that writing in `encoding` with dither adds, dBFS.
VW_API double vw_encoding_noise_dbfs(VwEncoding encoding);

/* ------------------------------------------------------------------------ */
/* Faults                                                                    */

/// One thing that is wrong, and what to do about it.
typedef struct {
  char*    path;       ///< The file or folder, or NULL. Owned.
  unsigned line;       ///< Line of a text file, from 1; 0: the whole of it.
  char*    what;       ///< What is wrong. Owned.
  char*    remedy;     ///< What to do about it, or "". Owned.
  bool     placed;     ///< It lies at one place of a sound: the frames count.
  size_t   from_frame; ///< Its first frame.
  size_t   to_frame;   ///< One past its last.
} VwFault;

/// Things that are wrong. Starts all zero.
typedef struct {
  VwFault* faults; ///< In the order in which they were found. Owned.
  size_t   n_faults;
} VwFaults;

/**
 * Add a fault; all texts are copied.
 *
 * @param path The file or folder, or NULL.
 * @param line Line of a text file, from 1, or 0.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VW_API VwStatus vw_faults_add(VwFaults*   faults,
                              const char* path,
                              unsigned    line,
                              const char* what,
                              const char* remedy);

/// Free what `faults` owns and set it to zero. NULL is accepted.
VW_API void vw_faults_clear(VwFaults* faults);

/* ------------------------------------------------------------------------ */
/* Board                                                                     */

/// What the frames are wrapped in.
typedef enum {
  VW_CONTAINER_WAV,    ///< The plainest WAV; see vw_encode_wav().
  VW_CONTAINER_OGG,    ///< Ogg with Vorbis.
  VW_CONTAINER_FLAC,   ///< FLAC; 16 or 24 bits.
  VW_CONTAINER_RAW,    ///< Codes alone, little end first.
  VW_CONTAINER_C_ARRAY ///< Source text in C.
} VwContainer;

/// What a board plays again and again while its trigger is held.
typedef enum {
  VW_REPEAT_WHOLE_FILE,  ///< One file, from end to end.
  VW_REPEAT_LOOP_POINTS, ///< The loop marked in a file's `smpl` chunk.
  VW_REPEAT_THREE_FILES, ///< The second of three files.
  VW_REPEAT_NOTHING      ///< It plays a file once at each press.
} VwRepeat;

/// What a board does when the trigger is let go.
typedef enum {
  VW_RELEASE_STOPS,   ///< It falls silent at once.
  VW_RELEASE_FINISHES ///< It plays the file to its end.
} VwRelease;

/// In which order a board counts its files.
typedef enum {
  VW_ORDER_BY_NAME, ///< By their names.
  VW_ORDER_WRITTEN  ///< As they were written to the card.
} VwOrder;

/// Which letters file names have.
typedef enum { VW_LETTERS_ANY, VW_LETTERS_LOWER, VW_LETTERS_UPPER } VwLetters;

/// How a board's files are named: slot, sound, part, joined.
typedef struct {
  unsigned  digits; ///< Digits of the slot in front, 0 (none) to 5. Default 0.
  bool      sound;  ///< The sound's name is part of it. Default true.
  bool      parts;  ///< So is the part's, but for a whole take. Default true.
  char      joiner[4];   ///< Between them. Default ".".
  unsigned  length_max;  ///< Characters with the ending; 0: 255 bytes.
  bool      eight_three; ///< Eight characters and an ending of three.
  VwLetters letters;     ///< Default #VW_LETTERS_ANY.
  char      allowed[65]; ///< Characters beside ASCII letters and digits;
                         ///< empty: all that any file system takes.
  bool group_folders;    ///< A folder for each group of sounds.
} VwNaming;

/// What a playback board accepts and how it behaves. Lists name what is
/// accepted, the first being the one to use; unused entries are zero.
typedef struct {
  char        name[41];           ///< One word: letters, digits, - and _.
  VwContainer container;          ///< Default #VW_CONTAINER_WAV.
  VwEncoding  encodings[4];       ///< `n_encodings` (1 to 4) of them.
  unsigned    n_encodings;        ///< Default 1: 16 bit.
  unsigned    sample_rates_hz[8]; ///< `n_sample_rates` (1 to 8) of them.
  unsigned    n_sample_rates;     ///< Default 1: 44100.
  unsigned    channels[2];        ///< `n_channels` (1 or 2) of them.
  unsigned    n_channels;         ///< Default 1: mono.
  uint64_t    file_bytes_max;     ///< Most bytes of a file; 0: no limit.
  uint64_t    capacity_bytes;     ///< Of the card or flash; 0: unknown.
  unsigned    cluster_bytes;      ///< Files take whole clusters. Default 1.
  unsigned    files_max;          ///< Most files; 0: no limit.
  unsigned    slots_max;          ///< Highest slot; 0: what the digits allow.
  VwNaming    naming;             ///< See #VwNaming.
  bool        loop_points;   ///< It reads loop points from `smpl`. Default no.
  VwRepeat    repeat;        ///< Default #VW_REPEAT_WHOLE_FILE.
  double      gap_ms;        ///< Silence between repeats, 0 to 1000.
  unsigned    buffer_frames; ///< A loop is a multiple of it, 1 to 65536.
  double      delay_ms;      ///< From the trigger to the sound, 0 to 5000.
  double      press_min_ms;  ///< Shortest press it notices, 0 to 5000.
  VwRelease   release;       ///< Default #VW_RELEASE_STOPS.
  VwOrder     order;         ///< Default #VW_ORDER_BY_NAME.
} VwBoard;

/// What a person may set beside the board. Start from all zero.
typedef struct {
  double overrun_max_s; ///< How long a board that finishes its file may go on
                        ///< after the release, 0.05 to 60; 0: 1 s.
  double run_in_max_s;  ///< As in #VwFamilyOptions; 0: chosen by the board.
} VwBoardWish;

/// The defaults of #VwBoard; its name is empty.
VW_API VwBoard vw_board_defaults(void);

/**
 * A board that comes with the library: what it accepts, in format facts only.
 *
 * @return Static; NULL past the last.
 */
VW_API const VwBoard* vw_board_built_in(size_t index);

/* ------------------------------------------------------------------------ */
/* Family: convert, burst, level, cut                                        */

/// What to do with a tail when the next shot fires.
typedef enum {
  VW_TAIL_OVERLAP, ///< It goes on underneath.
  VW_TAIL_CHOKE    ///< It is faded out over 5 ms as the next shot starts.
} VwTail;

/// How the burst is handed out.
typedef enum {
  VW_FORM_PIECES,      ///< Run-in, loop and ring-out, a file each.
  VW_FORM_WHOLE_FILE,  ///< The steady cycle alone, to be repeated as a whole.
  VW_FORM_LOOP_POINTS, ///< All three in one file, the loop marked in it.
  VW_FORM_BURST        ///< A number of shots and their ring-out, finished.
} VwForm;

/// "pieces", "whole-file", "loop-points", "burst". Static.
VW_API const char* vw_form_name(VwForm form);

/// Which file of a family.
typedef enum {
  VW_PART_SHOT,
  VW_PART_RUN_IN,
  VW_PART_LOOP,
  VW_PART_RING_OUT,
  VW_PART_BURST,
  VW_PART_WHOLE
} VwPart;

/// The word in a file's name: "shot", "runin", "loop", "ringout", "burst",
/// "whole". Static.
VW_API const char* vw_part_name(VwPart part);

/// What a family's level is to be.
typedef enum {
  VW_AIM_LOUDEST,  ///< As loud as the ceiling and the most limiting allow.
  VW_AIM_LOUDNESS, ///< A loudness in LUFS, or as near as they allow.
  VW_AIM_KEEP,     ///< As it is; one plain gain down where it is too high.
  VW_AIM_GAIN      ///< A gain in dB.
} VwAim;

/// What is brought to the loudness aimed at.
typedef enum {
  VW_LOUD_AS_SHOT, ///< The single shot; the burst is then louder.
  VW_LOUD_AS_BURST ///< The steady burst.
} VwLoudAs;

/// How loud, and under which limits. Start from vw_level_defaults().
typedef struct {
  VwAim  aim;             ///< Default #VW_AIM_LOUDEST.
  double loudness_lufs;   ///< For #VW_AIM_LOUDNESS, -60 to 0.
  double gain_db;         ///< For #VW_AIM_GAIN, -60 to 60.
  double ceiling_dbtp;    ///< Highest true peak, -20 to 0. Default -1.
  double limiting_max_db; ///< Most that the limiter may take, 0 to 12. Default
                          ///< 3.
  VwLoudAs loud_as;       ///< Default #VW_LOUD_AS_SHOT.
  double   speaker_hz;    ///< Corner of the speaker: what lies below it is
                          ///< taken away first, 50 to 2000 and at most
                          ///< 0.45 of the sample rate; 0 (default): nothing.
} VwLevelOptions;

/// The defaults of #VwLevelOptions.
VW_API VwLevelOptions vw_level_defaults(void);

/// The lamp's own track in the second channel: a tone for each shot, which a
/// diode, a resistor and a capacitor turn into a pulse.
typedef struct {
  bool   wanted;     ///< Default false. Wants a format of two channels.
  double tone_hz;    ///< 2000 to 4000. Default 3000. No higher than 0.4 of the
                     ///< sample rate is made.
  double level_dbfs; ///< Peak of the tone, -20 to 0. Default -6.
} VwLampTrackOptions;

/// What to make of the takes. Start from vw_family_defaults().
typedef struct {
  VwFormat format;      ///< The board's format.
  bool     shot_only;   ///< No burst: the single shots alone. Default false.
  bool     whole;       ///< The whole takes, nothing cut, no burst: for other
                        ///< sounds of the prop. Default false.
  VwForm   form;        ///< Default #VW_FORM_PIECES.
  unsigned burst_shots; ///< Shots in #VW_FORM_BURST, 1 to 1000. Default 3.
  double   fire_rate_per_s; ///< 0.5 to 40; 0 (default): the fastest the shot
                            ///< stands, but at least 8; slower, down to 4,
                            ///< where only that hides the gap.
  unsigned shots; ///< Shots in the cycle, 1 to 64; 0 (default): as needed.
  double   cycle_max_s; ///< Longest cycle in a file, 0.05 to 60 s. Default 2.
  double   gap_ms; ///< The board's gap between repeats of the whole file, 0 to
                   ///< 1000. Default 0. Of #VW_FORM_WHOLE_FILE alone.
  unsigned buffer_frames;  ///< The loop is a multiple of it, 1 to 65536.
                           ///< Default 1. A finished burst has no loop.
  uint64_t file_bytes_max; ///< Most bytes of a written loop with a header of 44
                           ///< bytes; 0 (default): no limit.
  double run_in_max_s; ///< The run-in may end as soon as the missing tails are
                       ///< 20 dB down, and has to by this time, 0.05 to 60,
                       ///< and where the bytes of a file end, if its first
                       ///< shot does not take longer;
                       ///< 0 (default): it ends where the burst is steady.
  VwTail tail;         ///< Default #VW_TAIL_OVERLAP.
  double valley_db; ///< Valley to reach by tightening, 3 to 40 dB; NaN: leave
                    ///< the shots as they are. Default 9.
  double detune_cents; ///< Greatest detuning of a shot, 0 to 100. Default 0.
  double
    level_spread_db; ///< Greatest change of a shot's level, 0 to 6. Default 0.
  VwLevelOptions level; ///< See vw_level_defaults().
  double lamp_on_ms;    ///< How long the lamp is on, 5 to 500 ms, but no longer
                        ///< than half the time from shot to shot; 0 (default):
                        ///< by the sound, as vw_on_time_of_loop() says, or
                        ///< without a loop as vw_lamp() says.
  VwLampTrackOptions lamp_track; ///< The sound is then made in mono.
  uint64_t           seed;       ///< Of variation, order and dither. Default 1.
} VwFamilyOptions;

/// The defaults of #VwFamilyOptions.
VW_API VwFamilyOptions vw_family_defaults(void);

/**
 * Set what a board decides: sample rate, channels and encoding (the first of
 * each list), form, gap, buffer, most bytes, and the longest cycle where the
 * board finishes its file. A form of #VW_FORM_BURST stays.
 *
 * @param options Changed on success.
 * @return #VW_OK or #VW_BAD_OPTION (out of range).
 */
VW_API VwStatus vw_board_apply(const VwBoard*     board,
                               const VwBoardWish* wish,
                               VwFamilyOptions*   options);

/// How shots lie in the cycle.
typedef struct {
  double
       fire_rate_asked_per_s; ///< What was asked, or chosen where nothing was.
  bool chosen;                ///< Nothing was asked.
  double   fire_rate_per_s;   ///< Exactly `shots * rate_hz / n_frames`.
  double   error_ppm;         ///< Of the fire rate, relative to the one asked.
  unsigned shots;             ///< Shots in the cycle.
  bool     fewer_shots; ///< Variation asked for more than the cycle holds.
  size_t   n_frames;    ///< Length of the cycle as heard, the gap included.
  size_t   gap_frames;  ///< The board's gap at its end, 0 where it has none.
  bool     uneven; ///< The gap exceeds 0.4 of the period: the shots lie in what
                   ///< is left of the cycle at the fire rate asked, the gap
                   ///< is heard, and the fire rate made is that of both.
  double even_fire_rate_per_s;  ///< The fastest at which the gap is hidden, or
                                ///< NaN where it is.
  double plain_fire_rate_per_s; ///< What the board would make of a loop laid
                                ///< without regard to its gap.
  unsigned rate_hz;             ///< Sample rate of these frames.
} VwPlan;

/**
 * Where shot `index` of the burst starts, in frames from the trigger.
 *
 * Shot i lies at `round(i * n_frames / shots)`, in every cycle alike; where the
 * gap is heard (`uneven`), at `round(i * (n_frames - gap_frames) / shots)`.
 */
VW_API size_t vw_plan_start(const VwPlan* plan, size_t index);

/**
 * How the shots of one take would lie in the cycle, without the take.
 *
 * @param options Its fire rate and sample rate have to be given.
 * @param plan Filled in on success.
 * @return #VW_OK, #VW_BAD_OPTION, #VW_CYCLE_TOO_LONG, #VW_FILE_TOO_BIG.
 */
VW_API VwStatus vw_plan_find(const VwFamilyOptions* options, VwPlan* plan);

/// Where in a steady cycle the shallowest valley lies.
typedef struct {
  double   depth_db;    ///< As in #VwFamily; 60 at most.
  unsigned shot;        ///< Before which next one, from 0 on.
  size_t   crest_frame; ///< Where this shot's level is highest.
  size_t   quiet_frame; ///< Where it is lowest before the next.
  double   crest_dbfs;  ///< The level there, behind the high-pass at 100 Hz;
                        ///< NaN of silence.
  double quiet_dbfs;    ///< `depth_db` below: the mean of the lowest fifth.
} VwValley;

/**
 * Find the shallowest valley of a loop, repeated without end.
 *
 * @param loop One whole cycle of a plan, its gap left out.
 * @param valley Filled in on success.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION (the plan is another's).
 */
VW_API VwStatus vw_valley_of_loop(const VwSound* loop,
                                  const VwPlan*  plan,
                                  VwValley*      valley);

/// The lamp that goes with a loop.
typedef struct {
  double pulse_hz;  ///< Flashes per second.
  double period_ms; ///< From flash to flash.
  double on_ms;     ///< How long the lamp is on.
  double duty;      ///< `on_ms / period_ms`.
} VwLamp;

/// The lamp for a fire rate alone, without a sound. On-time: 30 ms, at most 0.4
/// of the period (common practice).
VW_API VwLamp vw_lamp(double fire_rate_per_s);

/// Why a lamp is on as long as it is.
typedef enum {
  VW_ON_USUAL, ///< No loop tells: 30 ms, at most 0.4 of the period.
  VW_ON_ASKED, ///< As asked.
  VW_ON_SOUND, ///< While the shot is within 12 dB of its crest.
  VW_ON_LEAST, ///< That is less than 20 ms: a flash of 20 ms.
  VW_ON_MOST,  ///< That is more than 50 ms: a flash of 50 ms.
  VW_ON_HALF   ///< That is more than half the time from shot to shot: dark for
               ///< the other half.
} VwOnReason;

/// How long a lamp is on, and why.
typedef struct {
  double on_ms;   ///< On-time.
  double near_ms; ///< How long a shot is within 12 dB of its crest, the
                  ///< mean of all; NaN where no loop tells.
  VwOnReason reason;
} VwOnTime;

/// How several channels became one.
typedef enum {
  VW_DOWNMIX_NONE,     ///< The channels were left as they were, or copied.
  VW_DOWNMIX_SUM,      ///< Mean of all channels.
  VW_DOWNMIX_STRONGER, ///< The strongest channel alone: a sum would cancel.
  VW_DOWNMIX_DUAL_MONO ///< The first of two that are the same, also where they
                       ///< lie one frame apart.
} VwDownmix;

/// One sound to write.
typedef struct {
  VwPart  part;       ///< Which part of the family it is.
  size_t  take;       ///< Index of the take whose name it carries.
  VwSound sound;      ///< What to write. Owned by the family.
  bool    has_loop;   ///< `loop_start` and `loop_end` count.
  size_t  loop_start; ///< First frame of the loop.
  size_t  loop_end;   ///< One past the last frame of the loop.
} VwPiece;

/// What a family did to one of its takes.
typedef struct {
  VwDownmix downmix;    ///< How its channels became the board's.
  double late_start_ms; ///< What the burst leaves out before the shot's crest.
  size_t crest_frame; ///< The crest in the shot as cut, at the board's rate; of
                      ///< a burst, where the shot is laid down about it.
  size_t near_crest_frame; ///< Where it is first within 3 dB of the crest.
} VwTakeUse;

/// How loud a family became. Loudness is the maximum momentary loudness of the
/// sound in silence, as the board is going to play it.
typedef struct {
  double before_lufs;         ///< Of the shot before gain, behind the speaker's
                              ///< high-pass.
  double shot_loudness_lufs;  ///< Of the shot as written.
  double burst_loudness_lufs; ///< Of the steady burst; NaN without one.
  double target_lufs;         ///< As asked, or NaN.
  double gain_db;             ///< The family's one gain.
  double limiting_db;         ///< Most that the limiter took.
  double limiting_ms;         ///< For how long it took more than 0.1 dB.
  double limiting_needed_db;  ///< What the wish would have needed.
  double true_peak_dbtp;      ///< Highest of all that is written.
  bool   reached;             ///< The wish was met.
} VwLevel;

/// The lamp track of a family; all zero where there is none.
typedef struct {
  double tone_hz;    ///< A whole number of periods in a cycle, so that the tone
                     ///< runs on over the seam.
  double level_dbfs; ///< As asked.
  double on_ms;      ///< From where the tone has risen by half to where it has
                     ///< fallen by half.
  unsigned pulses;   ///< In a cycle, in the finished burst, or in the shot.
} VwLampTrack;

/// A family: everything made from one take, or from several taking turns.
typedef struct {
  VwFormat   format; ///< As asked, with the sample rate filled in.
  VwForm     form;   ///< As asked.
  size_t     n_takes;
  VwTakeUse* uses; ///< One per take. Owned.

  VwPlan plan;    ///< All zero for `shot_only` and `whole`, as is all below
                  ///< but for `level` and `pieces`.
  VwSound* shots; ///< The `plan.shots` shots of one cycle as they are laid
                  ///< down, at their final level. Owned.
  size_t*  turns; ///< Which take each of them is made from. Owned.
  VwTail   tail;  ///< As asked.
  unsigned run_in_shots;    ///< Shots in the run-in.
  double   valley_asked_db; ///< As asked, or NaN.
  double   valley_db; ///< Valley of the steady cycle: the depth from a shot's
                      ///< crest to the quiet before the next one, of the
                      ///< shallowest shot. Level is 10 ms Hann-weighted power
                      ///< after a fourth-order Butterworth high-pass at 100 Hz,
                      ///< the quiet the mean of the lowest fifth of the period;
                      ///< 60 at most. A whole-file cycle is measured with its
                      ///< ends faded, as it is heard.
  double tightening_db;  ///< How far the decay was bent down by one period
                         ///< after the attack. 0 where it was not.
  double gap_depth_db;   ///< Level of the last decay where the gap cuts it off,
                         ///< dB below the shot's crest, 60 at most; NaN without
                         ///< a gap.
  double run_in_left_db; ///< What the burst still lacks of older tails where
                         ///< the run-in ends, over one cycle, dB below the
                         ///< loop; NaN where it lacks nothing.
  double
    join_residual_db; ///< Difference of one steady cycle and the next,
                      ///< relative to the loop's RMS. An exact join reads -200.
  VwLevel     level;  ///< How loud it became, and by what.
  VwLamp      lamp;   ///< For `plan.fire_rate_per_s`.
  VwOnTime    on_time;    ///< Why it is on for so long.
  VwLampTrack lamp_track; ///< In the second channel of all pieces.

  VwPiece* pieces; ///< What to write. Owned.
  size_t   n_pieces;
} VwFamily;

/**
 * Make a family.
 *
 * One take makes its own shot and loop; several take turns in one loop, never
 * the same twice running. The burst is laid down shot after shot and, once one
 * cycle equals the next, cut: run-in, `k` loops and ring-out together are the
 * burst of as many shots, frame for frame, for every k including 0. Only a
 * run-in that ends early (`run_in_left_db`) is exempt: its last 5 ms lead over
 * to a burst that has been steady.
 *
 * A lamp track is laid beside the finished sound, in the second channel, whose
 * tone starts with each shot's attack, rises and falls in 1 ms, and ends before
 * its piece does. No measure or level of the family knows of it; the sound is
 * that of the same options in mono. Whole takes get a silent one.
 *
 * @param takes The takes, `n_takes` (1 to 64) of them.
 * @param facts What vw_find() said of each.
 * @param family Filled in on success; free it with vw_family_clear().
 * @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION (also where `shots` is no
 * multiple of `n_takes`), #VW_CYCLE_TOO_LONG, #VW_FILE_TOO_BIG, #VW_TOO_LONG (a
 * shot of more than 15 s is none), #VW_TRACK_IN_MONO, #VW_BURST_TOO_LONG (10
 * minutes are the most), #VW_SILENT (nothing is left to measure, for instance
 * above the speaker's corner; no gain is invented).
 */
VW_API VwStatus vw_family_make(const VwTake*          takes,
                               const VwShotFacts*     facts,
                               size_t                 n_takes,
                               const VwFamilyOptions* options,
                               VwFamily*              family);

/// Free what `family` owns and set it to zero. NULL is accepted.
VW_API void vw_family_clear(VwFamily* family);

/* ------------------------------------------------------------------------ */
/* Lamp: what to build or program so that it flashes with the shots          */

/**
 * The on-time of a lamp that flashes with a loop: while the shot is within
 * 12 dB of its crest, 20 to 50 ms (common practice), at most half the time from
 * shot to shot within the loop. A family has the same, of the loop it writes.
 *
 * @param loop One or more whole cycles, played without end.
 * @param shots How many shots it holds.
 * @param gap_ms The board's gap between repeats.
 * @param on_time Filled in on success.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_SILENT.
 */
VW_API VwStatus vw_on_time_of_loop(const VwSound* loop,
                                   size_t         shots,
                                   double         gap_ms,
                                   VwOnTime*      on_time);

/// The lamp of so many flashes per second that is on for `on_ms`.
VW_API VwLamp vw_lamp_with(double fire_rate_per_s, double on_ms);

/**
 * Look for a lamp track in a sound's second channel.
 *
 * @param track Filled in where there is one, measured: its tone, its level, how
 * many pulses there are, and their mean length.
 * @return False where there is none.
 */
VW_API bool vw_lamp_track_find(const VwSound* sound, VwLampTrack* track);

/// The fire rate of a sound that holds many shots.
typedef struct {
  double fire_rate_per_s; ///< Shots per second.
  size_t shots;           ///< In the loop, or found in the recording.
  size_t other_shots; ///< Of a loop: another number that is nearly as likely;
                      ///< 0 where there is none.
  double gap_ms;      ///< The gap between the loop's repeats that the rate
                      ///< counts in.
  bool uneven;        ///< That gap is heard: the shots lie evenly in the file,
                      ///< and not in file and gap.
  double jitter_ms;   ///< RMS of the shots' times about an even beat; 0 for a
                      ///< loop.
} VwRateFound;

/// What is known of a loop. Start from vw_loop_unknown().
typedef struct {
  size_t shots;  ///< How many lie in it, 1 to 64; 0: they are counted.
  double gap_ms; ///< The board's gap between repeats; NaN: as the shots'
                 ///< distances tell, which a file made for a gap shows.
} VwLoopKnown;

/// Neither the number of shots nor the gap.
VW_API VwLoopKnown vw_loop_unknown(void);

/// Of a loop that was made by this plan.
VW_API VwLoopKnown vw_loop_of_plan(const VwPlan* plan);

/**
 * The fire rate of a loop: how many shots lie in it, the first at its start,
 * evenly spread over the file or over the file and the board's gap. With
 * their number the rate is exact.
 *
 * Shots are counted by what repeats: the course of the level in a few bands,
 * and where the level rises.
 *
 * @param loop One whole cycle, as written.
 * @param found Filled in on success.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_NO_STEADY_RATE.
 */
VW_API VwStatus vw_rate_of_loop(const VwSound*     loop,
                                const VwLoopKnown* known,
                                VwRateFound*       found);

/**
 * The mean fire rate of a recording of rapid fire, from its first shot to its
 * last; 4 shots at least.
 *
 * @param found Filled in on success.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_NO_STEADY_RATE.
 */
VW_API VwStatus vw_rate_of_recording(const VwSound* recording,
                                     VwRateFound*   found);

/**
 * Whether the second of two channels is a lamp track: tones of one frequency
 * and one level with silence between, and nothing else.
 *
 * Nothing in a file says so. Of a sound that is taken for one, a steady whistle
 * beside something else, only the first channel is then heard and judged.
 */
VW_API bool vw_has_lamp_track(const VwSound* sound);

/**
 * Where the loop lies that a WAV file marks in its `smpl` chunk.
 *
 * @param end Set to one past the loop's last frame.
 * @return False where the file marks none.
 */
VW_API bool vw_read_loop_points(const char* path, size_t* start, size_t* end);

/**
 * How bright a lamp is, step after step of the period, to follow the loudness
 * of a loop's shots (their mean).
 *
 * Loudness doubles every 10 dB (S. S. Stevens, "The measurement of loudness",
 * J. Acoust. Soc. Am. 27, 1955); the value is that loudness relative to the
 * crest, to the power of `gamma`, times 255.
 *
 * @param gamma Of the eye: 2.2 is common practice.
 * @param steps Set to `n_steps` (2 to 1024) values, 0 to 255.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_SILENT.
 */
VW_API VwStatus vw_brightness_of_loop(const VwSound* loop,
                                      size_t         shots,
                                      double         gamma,
                                      size_t         n_steps,
                                      unsigned char* steps);

/// The same for no sound in particular: a level that falls by 12 dB in the
/// on-time, evenly in dB.
VW_API void vw_brightness_of_decay(const VwLamp*  lamp,
                                   double         gamma,
                                   size_t         n_steps,
                                   unsigned char* steps);

/// Series of preferred values (IEC 60063:2015).
typedef enum { VW_E6, VW_E12, VW_E24, VW_E96 } VwESeries;

/// The values of a series from 1 to below 10, `*n` of them. Static.
VW_API const double* vw_e_series_values(VwESeries series, size_t* n);

/// The customary tolerance of a series: 0.2, 0.1, 0.05, 0.01.
VW_API double vw_e_series_tolerance(VwESeries series);

/// The value of the series nearest to `value` (above 0), by their ratio.
VW_API double vw_e_series_nearest(VwESeries series, double value);

/// The smallest value of the series that is not below `value` (above 0).
VW_API double vw_e_series_up(VwESeries series, double value);

/// The greatest value of the series that is not above `value` (above 0).
VW_API double vw_e_series_down(VwESeries series, double value);

/// A diode, by the exponential law I = Is (exp(V / (n Vt)) - 1).
typedef struct {
  double drop_v;   ///< Drop at 1 mA and 25 degrees C.
  double emission; ///< n of the law.
  double gap_v;    ///< Energy gap, eV: how the drop falls with temperature.
  double power;    ///< How the saturation current rises beside that.
} VwDiode;

/// A small-signal silicon diode: 0.6 V at 1 mA.
VW_API VwDiode vw_diode_small_signal(void);

/// A small Schottky diode: 0.25 V at 1 mA.
VW_API VwDiode vw_diode_schottky(void);

/// The current through a diode at `volts` across it, ampere.
VW_API double vw_diode_current_a(const VwDiode* diode,
                                 double         celsius,
                                 double         volts);

/// Which 555 it is.
typedef enum {
  VW_CHIP_BIPOLAR, ///< From 4.5 V on.
  VW_CHIP_CMOS     ///< From 2 V on.
} VwChip;

/// How the timer is wired.
typedef enum {
  VW_WIRING_TWO_RESISTORS, ///< Charged through RA and RB, discharged by RB.
  VW_WIRING_DIODE          ///< A diode across RB: charged through RA and it.
} VwWiring;

/// The parts about a timer. Ohms, farads, volts.
typedef struct {
  VwWiring wiring;
  double   ra_ohm;
  double   rb_ohm;
  double   c_farad;
  double   supply_v; ///< No matter without a diode.
  VwDiode  diode;    ///< No matter without one.
  double   celsius;  ///< Of the diode.
} VwAstable;

/// What a timer does. The output is high while the capacitor charges.
typedef struct {
  double high_ms;
  double
    first_high_ms; ///< The first one after a reset, from an empty capacitor.
  double low_ms;
  double period_ms;
  double rate_hz;
  double high_share; ///< `high_ms / period_ms`.
} VwAstableTimes;

/**
 * The times of an astable with thresholds at 1/3 and 2/3 of the supply, the
 * constant being ln 2 (0.693 in data sheets).
 *
 * With a diode the on-time is integrated along its curve, RB's share of the
 * current included; so is the diode's reverse current while RB discharges.
 */
VW_API VwAstableTimes vw_astable_times(const VwAstable* parts);

/// High time in multiples of RA C with a constant drop: ln((2 Vcc - 3 Vd) /
/// (Vcc - 3 Vd)); NaN where the supply is too low for it.
VW_API double vw_astable_constant_drop(double supply_v, double drop_v);

/// Time of the timer's single pulse, seconds: ln 3 R C (1.1 in data sheets).
VW_API double vw_monostable_s(double r_ohm, double c_farad);

/// Most capacitors that are looked through.
#define VW_CAPACITORS_MOST 32

/// What a timer is to do, and what there is to build it from. Start from
/// vw_timer_defaults().
typedef struct {
  double    rate_hz;            ///< Pulses per second, 0.5 to 40.
  double    on_ms;              ///< On-time.
  VwWiring  wiring;             ///< Default #VW_WIRING_DIODE.
  double    supply_v;           ///< 2 to 16. Default 5.
  VwChip    chip;               ///< Default #VW_CHIP_BIPOLAR.
  VwDiode   diode;              ///< Default vw_diode_small_signal().
  VwESeries series;             ///< Of the resistors. Default #VW_E24.
  double    resistor_tolerance; ///< 0 to 0.2; NaN (default): the series'.
  double capacitor_tolerance;   ///< 0.01 to 0.3; NaN (default): 0.1 up to 1 uF,
                                ///< 0.2 above (film, electrolytic).
  double trimmer_tolerance;     ///< Of its whole resistance. Default 0.2.
  double capacitors_farad[VW_CAPACITORS_MOST]; ///< Those at hand.
  size_t n_capacitors; ///< Default: 100 and 220 nF, 470 nF, 1, 2.2, 4.7, 10 uF.
} VwTimerWish;

/// The defaults of #VwTimerWish, for a lamp.
VW_API VwTimerWish vw_timer_defaults(const VwLamp* lamp);

/// Least, middle and most of a measure.
typedef struct {
  double least;
  double middle;
  double most;
} VwSpread;

/// A timer's parts and what they do.
typedef struct {
  VwWiring wiring;
  VwChip   chip;
  bool     lit_while_low; ///< The lamp goes from the supply to the output.
  bool     trims_ra;      ///< The trimmer is in series with RA, else with RB.
  double   c_farad;
  double   capacitor_tolerance;
  double   resistor_tolerance;
  double   plain_ohm;   ///< The resistor without a trimmer.
  double   fixed_ohm;   ///< The one in series with it.
  double   trimmer_ohm; ///< Its whole resistance.
  double   set_ohm;     ///< What of it is wanted.
  double   set_share;   ///< The same as a share of its travel.
  VwSpread rate_hz;     ///< So set, over the parts' tolerances and the chip's.
  VwSpread on_ms;       ///< The same.
  VwSpread rate_range_hz;  ///< What the trimmer reaches with these values; its
                           ///< middle is the rate wanted.
  VwSpread rate_sure_hz;   ///< What it reaches whatever the tolerances.
  VwSpread rate_warm_hz;   ///< So set, at 0, 25 and 40 degrees C at the worst
                           ///< of both signs of the chip's drift.
  VwSpread on_warm_ms;     ///< The same.
  double   textbook_on_ms; ///< What 0.693 RA C says, the diode's drop left out.
} VwTimer;

/**
 * Look for the parts of a timer.
 *
 * Of all capacitors and the resistors of the series the ones whose on-time is
 * nearest are taken, film capacitors preferred; a trimmer in series with a
 * fixed resistor then sets the rate, and its range covers the tolerances of all
 * parts and the chip's 2.25 %. Every resistor lies within 1 kohm and 1 Mohm.
 *
 * @param timer Filled in on success.
 * @return #VW_OK, #VW_BAD_OPTION, #VW_SUPPLY_LOW, #VW_SUPPLY_HIGH, #VW_ON_TIME,
 * #VW_CAPACITORS_SMALL, #VW_CAPACITORS_BIG, #VW_TRIMMER_SHORT.
 */
VW_API VwStatus vw_timer_find(const VwTimerWish* wish, VwTimer* timer);

/// The timer's parts as they stand once set.
VW_API VwAstable vw_timer_parts(const VwTimerWish* wish, const VwTimer* timer);

/// Most prescalers of a counter.
#define VW_PRESCALERS_MOST 32

/// A microcontroller's timer: it counts its clock, divided by a prescaler, from
/// 0 to `2^bits - 1` at most.
typedef struct {
  double   clock_hz;                       ///< 1000 to 1e9.
  unsigned bits;                           ///< 8 to 32.
  unsigned prescalers[VW_PRESCALERS_MOST]; ///< 1 to 65536 each.
  size_t   n_prescalers;                   ///< At least 1.
} VwCounter;

/// Counts for a lamp.
typedef struct {
  unsigned prescaler;
  uint64_t period_counts; ///< From flash to flash. The register that holds the
                          ///< highest count gets one less.
  uint64_t on_counts;     ///< While the lamp is on.
  double   rate_hz;       ///< What comes of it.
  double   on_ms;         ///< The same.
  double   error_ppm;     ///< Of the rate.
} VwCounts;

/**
 * Prescaler and counts with the least error of the rate, ties to the smallest
 * prescaler.
 *
 * @param counts Filled in on success.
 * @return #VW_OK, #VW_BAD_OPTION, #VW_COUNTS_FEW.
 */
VW_API VwStatus vw_counts_find(const VwLamp*    lamp,
                               const VwCounter* counter,
                               VwCounts*        counts);

/// Light-emitting diodes in series, and what drives them.
typedef struct {
  double   supply_v;
  double   driver_drop_v; ///< Of the output that drives them.
  double   forward_v;     ///< Of each.
  unsigned n_leds;        ///< 1 or more.
  double   current_a;     ///< Wanted.
} VwLedWish;

/// The resistor in series with them.
typedef struct {
  double resistor_ohm; ///< For exactly that current.
  double power_w;      ///< In that resistor.
  double next_ohm;     ///< The next value up of E24.
  double next_w;       ///< The power in that one.
  double current_a;    ///< The current with that one.
} VwLed;

/**
 * R = (supply - drop - n V_F) / I_F.
 *
 * @param led Filled in on success.
 * @return #VW_OK, #VW_BAD_OPTION, #VW_SUPPLY_LOW.
 */
VW_API VwStatus vw_led_find(const VwLedWish* wish, VwLed* led);

/// What a 555's output loses when it drives a lamp, volts.
VW_API double vw_chip_drop_v(VwChip chip, bool lit_while_low);

/// The time between light and sound that is noticed: sound 45 ms early (Rec.
/// ITU-R BT.1359-1).
#define VW_NOTICED_MS 45.0

/**
 * How long until light and sound are 45 ms apart, seconds.
 *
 * @param error Of the lamp's rate, relative to the sound's.
 * @return NaN where that never happens: without an error, or where half the
 * period, the farthest they can be apart, is less.
 */
VW_API double vw_drift_s(double error, double period_ms);

/* ------------------------------------------------------------------------ */
/* Encode                                                                    */

/// Bytes in memory.
typedef struct {
  unsigned char* data;    ///< Owned.
  size_t         n_bytes; ///< How many.
} VwBytes;

/// Free the bytes and set them to zero. NULL is accepted.
VW_API void vw_bytes_clear(VwBytes* bytes);

/**
 * Make the bytes of a WAV file.
 *
 * The plainest file: format tag 1, 44 bytes before the frames, nothing between;
 * an even number of data bytes; loop points in a `smpl` chunk after the data
 * (Microsoft, "New Multimedia Data Types and Data Techniques" 3.0, 1994: the
 * end counts itself). Float has format tag 3 and the `fact` chunk that goes
 * with it. PCM is rounded to the nearest code and held at the outermost ones.
 * TPDF dither after Lipshitz, Wannamaker and Vanderkooy, J. Audio Eng. Soc.
 * 40(5), 1992; frames of exact zeros at either end and runs of 32 or more such
 * frames stay exact.
 *
 * @param piece The sound and its loop points.
 * @param format Encoding and dither; rate and channels are those of the sound.
 * @param seed Of the dither: same sound, same seed, same bytes.
 * @param bytes Filled in on success; free it with vw_bytes_clear().
 * @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION (more than 4 GiB).
 */
VW_API VwStatus vw_encode_wav(const VwPiece*  piece,
                              const VwFormat* format,
                              uint64_t        seed,
                              VwBytes*        bytes);

/// How a piece is wrapped.
typedef struct {
  VwContainer container;
  VwFormat    format;      ///< Encoding and dither count.
  bool        loop_points; ///< Write `smpl`, where the container is WAV and the
                           ///< piece has a loop.
  const char* name;        ///< What a C array is called; made a C identifier.
  uint64_t    seed;        ///< Of the dither.
} VwWrapping;

/**
 * Whether a container can carry an encoding: FLAC 16 and 24 bits, a C array
 * whole numbers, the others all. In Ogg the encoding does not matter.
 */
VW_API bool vw_container_carries(VwContainer container, VwEncoding encoding);

/**
 * Make the bytes of a file.
 *
 * WAV as vw_encode_wav() has it. Raw is its data alone, without the frame that
 * makes them even. A C array is a text that compiles without a warning: the
 * codes, of `uint8_t`, `int16_t` or (24 bits) `int32_t`, under the name with
 * `sound_` in front, and constants that tell the number of frames, the channels
 * and the sample rate, and of a loop its first frame and one past its last.
 * FLAC, of the same codes, and Ogg, of the sound itself, are made by
 * libsndfile.
 *
 * @param bytes Filled in on success; free it with vw_bytes_clear().
 * @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION, #VW_NO_FRAMES (an empty C
 * array), #VW_NOT_CARRIED (also a sample rate that Ogg or FLAC do not know).
 */
VW_API VwStatus vw_encode(const VwPiece*    piece,
                          const VwWrapping* wrapping,
                          VwBytes*          bytes);

/**
 * Read back raw codes or a C array.
 *
 * @param wrapping What they were made with; `format` tells all, the sample rate
 * and the channels too.
 * @param sound Filled in on success; free it with vw_sound_clear().
 * @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION (another container),
 * #VW_DAMAGED (no array of such codes), #VW_NO_FRAMES.
 */
VW_API VwStatus vw_decode(const VwBytes*    bytes,
                          const VwWrapping* wrapping,
                          VwSound*          sound);

/**
 * Read a file that was made with a wrapping, in whichever container.
 *
 * @param sound Filled in on success; free it with vw_sound_clear().
 * @return As vw_read() and vw_decode().
 */
VW_API VwStatus vw_read_made(const char*       path,
                             const VwWrapping* wrapping,
                             VwSound*          sound);

/**
 * The longest block of an Ogg file with Vorbis, frames: up to so many a player
 * may add to its end. 0 where the bytes are none, or its first 57 are missing.
 */
VW_API unsigned vw_ogg_block_frames(const VwBytes* bytes);

/// The ending of a container's files: ".wav", ".ogg", ".flac", ".raw", ".h".
/// Static.
VW_API const char* vw_container_ending(VwContainer container);

/// What a file's name tells. Nothing in it is owned.
typedef struct {
  unsigned    slot;  ///< 1 and up; 0: none was given (digits then need one).
  const char* group; ///< The group's name, or NULL.
  const char* sound; ///< The sound's name.
  VwPart      part;  ///< Which part of its family.
} VwFileLabel;

/**
 * The name of a file as a board wants it, with its group's folder in front
 * where the board has such.
 *
 * The sound's name is cut short where it has to be, never the slot or the part;
 * characters that the board does not allow become `_` or, where that is not
 * allowed, nothing. A name is never empty, never a name that a file system
 * reserves, never starts or ends in a dot, and never leaves its folder.
 *
 * @param name To be freed with free(); filled in on success.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_NO_NAME.
 */
VW_API VwStatus vw_board_file_name(const VwBoard*     board,
                                   const VwFileLabel* label,
                                   char**             name);

/* ------------------------------------------------------------------------ */
/* Write                                                                     */

/// A file to write.
typedef struct {
  const char* path;  ///< Where. Its folder must exist. UTF-8.
  VwBytes     bytes; ///< What. Not freed by vw_write().
  VwLoopKnown loop;  ///< What a loop holds, which the list then says; all zero
                     ///< for other files.
} VwOutput;

/// How to write.
typedef struct {
  bool               force;   ///< Replace also what is not ours. Never a take.
  bool               dry_run; ///< Check everything, write nothing.
  const char* const* takes;   ///< Names of files that must not be replaced.
  size_t             n_takes; ///< How many.
} VwWriteOptions;

/**
 * Write files, all or none.
 *
 * Every file is written under a temporary name in its folder and synced; when
 * all are there they are renamed. A file that exists is replaced only where
 * this program wrote it and nobody changed it since, which a small list in the
 * folder remembers (name and digest), or with `force`. On failure nothing is
 * left behind, and files that were there are what they were.
 *
 * @param at Set to the index of the output that failed, where one did.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_IS_TAKE, #VW_EXISTS, #VW_NOT_REGULAR,
 * #VW_NO_FOLDER, #VW_NOT_A_FOLDER, #VW_FOLDER_READONLY, #VW_DISK_FULL,
 * #VW_WRITE_FAILED.
 */
VW_API VwStatus vw_write(const VwOutput*       outputs,
                         size_t                n_outputs,
                         const VwWriteOptions* options,
                         size_t*               at);

/// A file that is written as it is made.
typedef struct VwPour VwPour;

/**
 * Begin a file that is too large to be held in memory.
 *
 * Until vw_pour_end() it has a temporary name in its folder; what vw_write()
 * promises of one file holds.
 *
 * @param options As for vw_write(); `dry_run` does not count.
 * @param pour Set on success; it ends with vw_pour_end() or vw_pour_drop().
 * @return As vw_write().
 */
VW_API VwStatus vw_pour_begin(const char*           path,
                              const VwWriteOptions* options,
                              VwPour**              pour);

/// Add bytes. Where that failed once, nothing more is written, and the same is
/// returned again.
///
/// @return #VW_OK, #VW_DISK_FULL, #VW_WRITE_FAILED.
VW_API VwStatus vw_pour_add(VwPour* pour, const void* data, size_t n_bytes);

/// Sync the file, give it its name, and free `pour`; where that fails, or
/// vw_pour_add() did, leave nothing of it behind.
///
/// @return As vw_write().
VW_API VwStatus vw_pour_end(VwPour* pour);

/// Free `pour`, and leave nothing of its file behind. NULL is accepted.
VW_API void vw_pour_drop(VwPour* pour);

/**
 * Say whether a file is one that vw_write() wrote and nobody changed since.
 *
 * @return True if its folder's list names it with its present digest.
 */
VW_API bool vw_is_own_output(const char* path);

/**
 * What was written of a loop when it was made.
 *
 * @param known Filled in on success.
 * @return True if its folder's list names it with its present digest, and says
 * how many shots it holds.
 */
VW_API bool vw_made_loop(const char* path, VwLoopKnown* known);

/* ------------------------------------------------------------------------ */
/* Check                                                                     */

/// What was found out about a file, or about a folder of them.
typedef struct {
  VwFaults faults;   ///< What keeps it from playing right.
  VwFaults warnings; ///< What only sounds poorer, or is not for the card.
  size_t   n_files;  ///< Files that a board of that kind plays.
  uint64_t n_bytes;  ///< Of all files that would lie on the card.
  uint64_t n_bytes_on_card; ///< The same in whole clusters, folders too.
} VwFindings;

/**
 * Prove that a file, or every file of a folder and its folders, suits a board:
 * header, format, name, size, order, capacity, and what does not belong there.
 *
 * Of a sound it judges the ends and the seam: from silence into the first
 * frame, out of the last one, or from the last frame of a loop to its first, no
 * step may exceed twice the 99.9th percentile of the sound's own steps. A file
 * is taken for a part of a family by the part's word at the end of its name.
 *
 * @param path A file or a folder.
 * @param findings Filled in on success; free it with vw_findings_clear().
 * @return #VW_OK, also where faults were found; #VW_NO_MEMORY, #VW_MISSING,
 * #VW_UNREADABLE, #VW_NOT_REGULAR.
 */
VW_API VwStatus vw_check(const char*    path,
                         const VwBoard* board,
                         VwFindings*    findings);

/// Free what `findings` owns and set it to zero. NULL is accepted.
VW_API void vw_findings_clear(VwFindings* findings);

/* ------------------------------------------------------------------------ */
/* Rehearse                                                                  */

/// A file that a board plays, and where its shots lie. Nothing in it is owned.
typedef struct {
  const VwSound* sound;   ///< NULL: there is no such file.
  const size_t*  shots;   ///< Frames of their attacks, ascending.
  size_t         n_shots; ///< May be 0: the lamp then stays off.
} VwPlayed;

/// What is rehearsed: a board's files, and how they are heard.
typedef struct {
  VwRepeat repeat;     ///< How these files are played; the board's own does not
                       ///< count. A finished file: #VW_REPEAT_NOTHING.
  VwPlayed main;       ///< The only file; of three, the loop.
  VwPlayed run_in;     ///< Of three.
  VwPlayed ring_out;   ///< Of three.
  size_t   loop_start; ///< With #VW_REPEAT_LOOP_POINTS, in the main file.
  size_t   loop_end;   ///< One past the loop's last frame.
  double   fire_rate_per_s; ///< By which the lamp is timed; 0: a single shot.
  double   lamp_on_ms;      ///< How long it is on; 0: as vw_lamp() says.
  double   speaker_hz; ///< What lies below is not heard, 50 to 2000 and at most
                       ///< 0.45 of the sample rate; 0: all is heard.
} VwRehearsal;

/// When a lamp is on, seconds from the first press.
typedef struct {
  double on_s;
  double off_s;
} VwFlash;

/// What is heard, and when the lamp flashes.
typedef struct {
  VwSound  sound;   ///< From the first press on. Owned.
  VwFlash* flashes; ///< One for each attack that is heard. Owned.
  size_t   n_flashes;
} VwRehearsed;

/**
 * Make the sound that a board makes when its trigger is held so and so long.
 *
 * Times are rounded to frames. The rules, where boards leave a choice:
 *
 * - A press shorter than the board's shortest does nothing; one as long is
 *   noticed once it has lasted so long. The sound begins `delay_ms` after the
 *   press, but not before it is noticed.
 * - A board that falls silent at once does so in the frame of the release, in
 *   the middle of a wave: that step is the board's own. Let go before its sound
 *   began, it makes none.
 * - A board that finishes its file plays it once it has noticed a press, also
 *   where the trigger is let go before the sound begins. It looks at the
 *   trigger when the file, and the gap after it, are over: held, it plays it
 *   again. While a file sounds a press does nothing else: it is lost where the
 *   trigger is not held at the file's end, and in any case with
 *   #VW_REPEAT_NOTHING.
 * - With loop points the part up to the loop's end is played, then the loop, as
 *   long as the trigger is held whenever it ends, then the rest of the file.
 * - Of three files the run-in is played, then the loop, as long as the trigger
 *   is held whenever one of them is over, then the ring-out, whatever the
 *   board's release: the third file is for that. A new press while the ring-out
 *   sounds starts the run-in on top of it.
 * - The gap follows every file, and every repeat between loop points.
 * - The lamp goes on at an attack for its on-time, but no longer than to the
 *   next; a flash that has begun is not cut short.
 *
 * The sound ends with the last frame played, or with the last of the times
 * where that is later.
 *
 * @param held_s Held, released, held ... seconds each, 0.001 to 600 and 600 in
 * all.
 * @param n_times How many, at least 1.
 * @param rehearsed Filled in on success; free it with vw_rehearsed_clear().
 * @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION (also where a file is missing
 * or the files differ in sample rate or channels).
 */
VW_API VwStatus vw_rehearse(const VwRehearsal* rehearsal,
                            const VwBoard*     board,
                            const double*      held_s,
                            size_t             n_times,
                            VwRehearsed*       rehearsed);

/// Free what `rehearsed` owns and set it to zero. NULL is accepted.
VW_API void vw_rehearsed_clear(VwRehearsed* rehearsed);

/**
 * Find the attacks of the shots in a file that was made of evenly fired ones.
 *
 * The shots of a loop are those that vw_rate_of_loop() finds, evenly spread; or
 * one, where it finds no rate. In a finished file a shot is told by its crest
 * on the curve of the level: 4.5 dB or more above the quiet before it. The
 * first attack lies 2 ms after the file's start.
 *
 * @param loop What is known of it, where it is a loop; NULL: a finished file.
 * @param shots Frames, to be freed with free(); filled in on success.
 * @param n_shots Filled in on success, at least 1.
 * @return #VW_OK, #VW_NO_MEMORY.
 */
VW_API VwStatus vw_rehearse_find_shots(const VwSound*     sound,
                                       const VwLoopKnown* loop,
                                       size_t**           shots,
                                       size_t*            n_shots);

/* ------------------------------------------------------------------------ */
/* Pack                                                                      */

/// What to make of a sound's takes.
typedef enum {
  VW_MAKE_SHOT,  ///< The clean single shot.
  VW_MAKE_LOOP,  ///< Rapid fire, in the board's form.
  VW_MAKE_BURST, ///< A finished burst.
  VW_MAKE_WHOLE  ///< The takes as they are, in the board's format.
} VwMake;

/// One sound of a prop. Nothing in it is owned.
typedef struct {
  const char*        name;    ///< Of the sound, one of its kind in the prop.
  const char*        group;   ///< Of sounds, or NULL.
  unsigned           slot;    ///< 1 and up; 0: none.
  VwMake             make;    ///< What to make.
  const char* const* takes;   ///< Names of `n_takes` files.
  size_t             n_takes; ///< 1 to 64; more than one take turns.
  VwFamilyOptions    options; ///< As asked, the board not applied yet.
  bool own_channels; ///< Its number of channels goes before the board's first,
                     ///< where the board takes it.
  bool   own_encoding; ///< The same of its encoding.
  double offset_lu;    ///< Louder (or softer) than the rest, LU.
} VwSoundWish;

/// What becomes of a pack's loudness. A sound whose own level aims at something
/// else than #VW_AIM_LOUDEST keeps to that and takes no part.
typedef enum {
  VW_PACK_LOUDEST,   ///< What nine tenths of the families reach with the
                     ///< limiting allowed; the others as loud as they can be.
  VW_PACK_ALL_REACH, ///< What every family reaches.
  VW_PACK_LOUDNESS   ///< A loudness in LUFS.
} VwPackAim;

/// What to pack for, where to, and how. Start from vw_pack_defaults().
typedef struct {
  const VwBoard* board;  ///< What is packed for.
  VwBoardWish    wish;   ///< Beside the board.
  const char*    folder; ///< The pack's folder, such as OUT/BOARD, without a
                         ///< slash at its end; made where it is missing. The
                         ///< version before is kept in `folder`.before.
  VwReadOptions reading; ///< How takes are read.
  VwPackAim     aim;     ///< Default #VW_PACK_LOUDEST.
  double loudness_lufs;  ///< For #VW_PACK_LOUDNESS, -60 to 0; for the others
                         ///< what was found before, which is kept, or NaN
                         ///< (default): find it.
  bool fit;              ///< Lower sample rates until all fits. Default false.
  bool remake;           ///< Make also what has not changed. Default false.
  bool prune; ///< Remove files that no sound makes any more. Default false.
  bool force; ///< Replace also what is not ours. Never a take.
} VwPackOptions;

/// The defaults of #VwPackOptions; the board is NULL.
VW_API VwPackOptions vw_pack_defaults(void);

/// What becomes of a file in this run.
typedef enum {
  VW_PACK_FILE_NEW,      ///< There is none of its name yet.
  VW_PACK_FILE_REPLACED, ///< It replaces another.
  VW_PACK_FILE_SAME      ///< It is there already, and stays, or was made again
                         ///< byte for byte.
} VwPackFileFate;

/// A file of a pack.
typedef struct {
  VwPart   part;       ///< Which part of the family it is.
  size_t   take;       ///< Index of the take that it is made from.
  char*    name;       ///< In the pack's folder, with its group's. Owned.
  size_t   n_frames;   ///< Its length.
  uint64_t n_bytes;    ///< Its size; exact once it is made, and before that
                       ///< for WAV and raw.
  VwPackFileFate fate; ///< Known once the pack is settled; once the file is
                       ///< made, by its bytes.
  uint64_t digest; ///< Of its bytes, once it is made or where it stays; else 0.
} VwPackFile;

/// A sound of a pack.
typedef struct {
  const VwSoundWish* wish; ///< As asked.
  VwFamilyOptions options; ///< The board applied; once settled, with the gain
                           ///< that it gets.
  bool        measured; ///< Its figures are known, or `status` tells why not.
  VwStatus    status;   ///< What became of it.
  const char* subject; ///< The take or file at fault, or NULL. Not to be freed.
  VwReadFault fault;   ///< With #VW_CUT_SHORT.
  VwShotFacts facts;   ///< Of its first take.
  VwFamily    family;  ///< The figures of its family, without any sound: as
                       ///< made, or as it would be; `uses`, `shots`, `turns`
                       ///< and `pieces` are NULL.
  double    late_start_ms; ///< The most of any of its takes.
  VwDownmix downmix;       ///< Of its first take.
  bool      aimed;         ///< It takes part in the pack's loudness.
  double    reach_lufs;    ///< The highest loudness of the pack that its family
                           ///< reaches; NaN where it takes no part.
  double lacks_lu;         ///< What it lacks of the pack's loudness, or 0.
  size_t family_of; ///< Index of the first sound with the same takes, with
                    ///< which it shares one gain; its own index otherwise.
  double kept[8];   ///< For each sample rate of the board's list: the share
                    ///< of what the speaker can play that is kept, 0 to 1.
  unsigned    rate_before_hz; ///< Sample rate before `fit` lowered it, or 0.
  VwPackFile* files;          ///< What it makes, once measured. Owned.
  size_t      n_files;
  bool        due; ///< Once settled: vw_pack_render() has to make it.
} VwPackSound;

/// A file that an earlier run made and no sound makes any more.
typedef struct {
  char* name;    ///< In the pack's folder. Owned.
  bool  changed; ///< Somebody changed it since: it is never removed.
  bool  removed; ///< vw_pack_end() removed it.
} VwPackOld;

/// Which change makes files smaller.
typedef enum {
  VW_PACK_RATE,     ///< Another sample rate of the board's list, for all.
  VW_PACK_ENCODING, ///< Another encoding of the board's list, for all.
  VW_PACK_CHANNELS, ///< One channel, where the board takes it.
  VW_PACK_CYCLE,    ///< Loops of as few shots as there are takes.
  VW_PACK_FIT       ///< The lowest sample rate of each sound that keeps 95 %
                    ///< of what the speaker can play: what `fit` does.
} VwPackChangeKind;

/// A change, and how large the pack would be with it (estimated).
typedef struct {
  VwPackChangeKind kind;
  unsigned         rate_hz;         ///< For #VW_PACK_RATE.
  VwEncoding       encoding;        ///< For #VW_PACK_ENCODING.
  uint64_t         n_bytes_on_card; ///< All files, in whole clusters.
  bool             fits;            ///< The capacity holds it.
} VwPackChange;

/// A pack as a whole, once settled.
typedef struct {
  double loudness_lufs;  ///< The pack's loudness, or NaN where no sound takes
                         ///< part.
  double loudest_lufs;   ///< What nine tenths of the families reach, or NaN.
  double all_reach_lufs; ///< What every family reaches, or NaN.
  size_t n_families;     ///< That take part.
  size_t n_lacking;      ///< Of these, how many lack something.
  size_t n_failed;       ///< Sounds that failed.
  size_t n_unmeasured; ///< Sounds to be measured (again) before going on: where
                       ///< `fit` gave them another sample rate.
  size_t       n_due;  ///< Sounds to render.
  size_t       n_files;         ///< Files when all is made.
  uint64_t     n_bytes;         ///< Of these together.
  uint64_t     n_bytes_on_card; ///< The same in whole clusters, folders too.
  uint64_t     n_bytes_over;    ///< By how much they exceed the capacity.
  size_t       n_files_over;    ///< By how many they exceed the most files.
  VwPackChange changes[16];     ///< Where the pack is too big: what would help.
  size_t       n_changes;
} VwPackSums;

/// What a pack keeps for itself.
typedef struct VwPackStore VwPackStore;

/// A prop's sounds on their way to a board. Starts all zero.
typedef struct {
  VwPackOptions options; ///< As asked.
  VwPackSound*  sounds;  ///< One for each wish. Owned.
  size_t        n_sounds;
  VwFaults      faults; ///< Why nothing can be packed: slots and names. Owned.
  VwPackOld*    old;    ///< What is left of earlier runs. Owned.
  size_t        n_old;
  bool          unfinished; ///< The run before this one was stopped on its way.
  bool          changes;    ///< Once settled: something is going to be written.
  VwPackSums    sums;       ///< Once settled.
  VwPackStore*  store;      ///< The library's own.
} VwPack;

/**
 * Begin to pack: check the wishes against the board and each other, and read
 * what the last run left.
 *
 *     vw_pack_open
 *     vw_pack_measure    for every sound, from as many threads as wanted
 *     vw_pack_settle     while `sums.n_unmeasured`: measure those, settle again
 *     vw_pack_begin      from here on something is written
 *     vw_pack_render     for every sound that is due, in threads again
 *     vw_pack_end
 *     vw_pack_clear
 *
 * Nothing is written before vw_pack_begin(). Sounds, bytes and figures are the
 * same for any number of threads. At any moment every file under its final name
 * is whole, and the list in the folder says whether the pack is. Of a run that
 * was stopped the next uses what was measured and the files that had got their
 * names; those that waited for one are made again.
 *
 * What a sound makes is known by digests of its takes, options, board and the
 * library's version, never by times. On a board that plays in written order all
 * files are written again, in the order of their slots, where one changed.
 *
 * @param wishes The sounds. Must outlive the pack, as all that they and
 * `options` point to.
 * @param pack Filled in on success; free it with vw_pack_clear(). Where its
 * `faults` are not empty, it cannot be begun.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION, #VW_NOT_A_FOLDER.
 */
VW_API VwStatus vw_pack_open(const VwSoundWish*   wishes,
                             size_t               n_wishes,
                             const VwPackOptions* options,
                             VwPack*              pack);

/**
 * Find out what a sound can be: its sizes, its facts, how loud it can get.
 *
 * May be called for different sounds from several threads at once. Keeps
 * figures alone.
 *
 * @return The sound's `status`; others may go on.
 */
VW_API VwStatus vw_pack_measure(VwPack* pack, size_t index);

/**
 * Settle the loudness, each family's gain, and what has to be made.
 *
 * Sounds of the same takes get one gain, the smallest that any of them needs.
 *
 * @return #VW_OK, #VW_NO_MEMORY.
 */
VW_API VwStatus vw_pack_settle(VwPack* pack);

/**
 * Make the folder, note in it that it is unfinished, and keep the version
 * before. Writes nothing where nothing changes. From here to vw_pack_end() no
 * other process begins the same pack.
 *
 * @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION (the pack has faults), #VW_BUSY
 * (also where another run ended since it was opened),
 * #VW_NO_FOLDER, #VW_NOT_A_FOLDER, #VW_FOLDER_READONLY, #VW_DISK_FULL,
 * #VW_WRITE_FAILED.
 */
VW_API VwStatus vw_pack_begin(VwPack* pack);

/**
 * Make the files of a sound and put them beside the folder. Does nothing for a
 * sound that is not due.
 *
 * May be called for different sounds from several threads at once.
 *
 * @return The sound's `status`; others may go on.
 */
VW_API VwStatus vw_pack_render(VwPack* pack, size_t index);

/**
 * Give all files their names, in the order of their slots, and finish the list.
 *
 * Of sounds that failed, the files of earlier runs stay; where one failed while
 * it was made, the list keeps saying that the pack is unfinished. Needed to
 * leave nothing behind, also where all of them failed.
 *
 * @return As vw_pack_begin().
 */
VW_API VwStatus vw_pack_end(VwPack* pack);

/// Free what `pack` owns and set it to zero. NULL is accepted.
VW_API void vw_pack_clear(VwPack* pack);

/* ------------------------------------------------------------------------ */
/* Deliver                                                                   */

/// A file of a pack, or one on a card.
typedef struct {
  char*    path; ///< From the pack's or the card's folder on. Owned.
  uint64_t n_bytes;
  uint64_t digest; ///< Of its bytes; 0 where they were not read.
} VwDelivered;

/// What goes from a folder to a card, and what happens to what is there.
typedef struct {
  char*        from;    ///< The pack's folder. Owned.
  char*        to;      ///< Where the card is mounted. Owned.
  VwDelivered* files;   ///< What is written, in this order. Owned.
  size_t       n_files; ///< At least one.
  VwDelivered* old;     ///< What is cleared before. Owned.
  size_t       n_old;
  VwDelivered* left; ///< What stays on the card and is none of ours. Owned.
  size_t       n_left;
  uint64_t     n_bytes;         ///< Of the files.
  uint64_t     n_bytes_on_card; ///< The same in whole clusters, folders too.
  uint64_t     n_bytes_free;    ///< On the card when the old files are cleared.
  bool         mounted; ///< It is the top of a file system, as a card is.
  bool ordered;    ///< Set in the end: the card names the files in the order
                   ///< in which they were written, or cannot be asked.
  uint64_t device; ///< By which the card is known again.
  uint64_t folder; ///< The same.
  char*    at;     ///< The file or folder where a step failed, or NULL. Owned.
} VwDelivery;

/**
 * Look at a folder and at a card, and change neither.
 *
 * A file on the card is cleared where this program put it there and nobody
 * changed it since: where a list in the folder, its record of earlier
 * deliveries, or the file itself in the folder has its name and digest. So is a
 * file left unfinished by an interrupted delivery. Hidden files of the folder
 * are not delivered.
 *
 * @param force Clear also files that have the name of one to deliver.
 * @param delivery Filled in; free it with vw_delivery_clear(), also where it
 * failed, when it tells nothing but where.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_MISSING, #VW_UNREADABLE, #VW_NO_FILES,
 * #VW_UNFINISHED, #VW_NOT_REGULAR (also of symbolic links), #VW_NO_FOLDER,
 * #VW_NOT_A_FOLDER, #VW_NESTED, #VW_EXISTS, #VW_FOLDER_READONLY,
 * #VW_CARD_TOO_SMALL, #VW_DISK_FULL, #VW_CARD_GONE.
 */
VW_API VwStatus vw_delivery_plan(const char* from,
                                 const char* to,
                                 bool        force,
                                 VwDelivery* delivery);

/**
 * Note in the folder what is delivered, then clear the old files off the card.
 *
 * @return #VW_OK, #VW_NO_MEMORY, #VW_FOLDER_READONLY, #VW_DISK_FULL,
 * #VW_WRITE_FAILED, #VW_CARD_GONE.
 */
VW_API VwStatus vw_delivery_make_room(VwDelivery* delivery);

/**
 * Write one file: under another name, synced, then renamed. To be called for
 * each file in turn.
 *
 * @return #VW_OK, #VW_NO_MEMORY, #VW_MISSING, #VW_UNREADABLE, #VW_NOT_SAME (it
 * was changed in the meantime), #VW_EXISTS, #VW_FOLDER_READONLY, #VW_DISK_FULL,
 * #VW_WRITE_FAILED, #VW_CARD_GONE.
 */
VW_API VwStatus vw_delivery_write(VwDelivery* delivery, size_t index);

/**
 * Read one file back, from the card and not from memory, and compare.
 *
 * @return #VW_OK, #VW_NO_MEMORY, #VW_NOT_SAME, #VW_DISK_FULL,
 * #VW_FOLDER_READONLY, #VW_WRITE_FAILED (as it is told by now),
 * #VW_CARD_GONE.
 */
VW_API VwStatus vw_delivery_verify(VwDelivery* delivery, size_t index);

/// Look in which order the card names its files.
///
/// @return #VW_OK, #VW_NO_MEMORY, #VW_UNREADABLE, #VW_CARD_GONE.
VW_API VwStatus vw_delivery_finish(VwDelivery* delivery);

/// Free what `delivery` owns and set it to zero. NULL is accepted.
VW_API void vw_delivery_clear(VwDelivery* delivery);

#ifdef __cplusplus
}
#endif

#endif /* VOLLEYWEAVE_VOLLEYWEAVE_H */
