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
 * - Whatever a function fills in is yours, and freed by the `…_clear` function
 *   named as its type; it accepts NULL and structures that are all zero.
 * - The library keeps no state, never prints and never ends the process.
 *   Functions may be called from several threads at once on different data.
 * - A NULL where a pointer is needed is a programmer's mistake and is asserted.
 *
 * CAUTION, to be told to whoever builds or uses what these sounds play on:
 *
 * - Lamps with three flashes a second or more can trigger seizures in people
 *   with photosensitive epilepsy: warn all, obey local rules.
 * - A prop that looks like a weapon may be taken for one: local rules come
 *   first. Mains, pyrotechnics and the handling of anything like a weapon on a
 *   set or stage belong to those licensed for it.
 * - Batteries burn when they are shorted, overcharged or damaged: fuse them,
 *   and follow their data sheets.
 * - A small speaker near an ear is far louder than at arm's length: keep it
 *   below 85 dB(A) where the ear is (NIOSH 98-126, 8 hours).
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

/* -- Status --------------------------------------------------------------- */

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
  VW_CUT_SHORT,       ///< There is less sound than the file should hold.
  VW_TOO_SHORT,       ///< Shorter than 5 ms.
  VW_TOO_LONG,        ///< Longer than the limit.
  VW_TOO_MANY_VALUES, ///< More sample values than are held at once.
  VW_CHANNELS,        ///< Not 1 to 8 channels.
  VW_SAMPLE_RATE,     ///< Not 4 to 384 kHz.
  VW_NOT_FINITE,      ///< A value is NaN or infinite.
  VW_SILENT,          ///< Digital silence, or nothing but a constant.
  VW_NO_SHOT,         ///< Nothing rises out of the noise.
  VW_BAD_STRETCH,     ///< The stretch asked for is not in the take, or short.
  VW_BAD_PICK,        ///< The take holds fewer shots than the one asked for.
  VW_BAD_START,       ///< The start asked for lies outside the shot.
  VW_OWN_OUTPUT,      ///< The take is a file that this program wrote.
  VW_SAME_STEM,       ///< Two takes would make files of the same name.
  VW_IS_TAKE,         ///< The output would replace a take.
  VW_EXISTS,          ///< The output exists and is not ours to replace.
  VW_NOT_A_FOLDER,    ///< A file stands where a folder is meant.
  VW_NO_FOLDER,       ///< The folder that should hold the output is missing.
  VW_FOLDER_READONLY, ///< The folder may not be written to.
  VW_DISK_FULL,       ///< No room is left.
  VW_WRITE_FAILED,    ///< Writing failed in another way.
  VW_CYCLE_TOO_LONG,  ///< So many shots at that rate exceed the longest cycle.
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
  VW_NOT_JOINED,      ///< Other takes for its ends, and shots are laid down.
  VW_BURST_JOINED,    ///< A burst of so many shots, and a loop is joined.
  VW_TRACK_NO_SHOTS,  ///< A lamp track for a loop without shots.
  VW_ON_TIME,         ///< The on-time does not fit into the period.
  VW_SUPPLY_LOW,      ///< The supply is too low for the chip, diode or lamp.
  VW_SUPPLY_HIGH,     ///< The supply is too high for the chip.
  VW_CAPACITORS_SMALL, ///< They all need resistors above 1 Mohm.
  VW_CAPACITORS_BIG,   ///< They all need resistors below 1 kohm.
  VW_TRIMMER_SHORT,    ///< No trimmer covers the tolerances.
  VW_COUNTS_FEW,       ///< The period needs more counts than the timer has.
  VW_BUSY,             ///< Another run is making the same pack.
  VW_LED_CURRENT       ///< More current than the timer can switch on the lamp.
} VwStatus;

/// What went wrong: one sentence with an uppercase first character and no full
/// stop, also of what is no #VwStatus. Static.
VW_API const char* vw_strerror(VwStatus status);

/// What to do about it: one clause with a lowercase first character and no full
/// stop, or an empty text. Static.
VW_API const char* vw_remedy(VwStatus status);

/// The library's version, "MAJOR.MINOR.PATCH". Static.
VW_API const char* vw_version(void);

/* -- Sound ---------------------------------------------------------------- */

/// Frames in memory: channels interleaved; values may exceed full scale.
typedef struct {
  float*   values;     ///< `n_frames * n_channels` values, frame after frame.
  size_t   n_frames;   ///< Length in frames.
  unsigned n_channels; ///< 1 to 8.
  unsigned rate_hz;    ///< Sample rate, 4000 to 384000.
} VwSound;

/// Make a sound of zeros.
///
/// @return #VW_OK or #VW_NO_MEMORY.
VW_API VwStatus vw_sound_init(VwSound* sound,
                              size_t   n_frames,
                              unsigned n_channels,
                              unsigned rate_hz);

/// Free the values of `sound` and set it to zero. NULL is accepted.
VW_API void vw_sound_clear(VwSound* sound);

/* -- Read ----------------------------------------------------------------- */

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
 * @param fault Filled in with #VW_CUT_SHORT; may be NULL.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_MISSING, #VW_UNREADABLE, #VW_NOT_REGULAR,
 * #VW_NAME_NOT_UTF8, #VW_EMPTY, #VW_NOT_AUDIO, #VW_CONTAINER, #VW_DAMAGED,
 * #VW_NO_FRAMES, #VW_CUT_SHORT, #VW_TOO_LONG, #VW_TOO_MANY_VALUES,
 * #VW_CHANNELS, #VW_SAMPLE_RATE.
 */
VW_API VwStatus vw_read(const char*          path,
                        const VwReadOptions* options,
                        VwSound*             sound,
                        VwReadFault*         fault);

/* -- Prepare -------------------------------------------------------------- */

/// A recording as it came, its offset removed, and what only the raw one tells.
typedef struct {
  VwSound sound;            ///< The take without its offset. Owned.
  double  dc_offset;        ///< Mean of all values before removal.
  size_t  n_clipped_frames; ///< In runs of 3 or more at the take's extreme.
  double  side_late_ms;     ///< By how much its second channel is the first,
                            ///< but later; below 0: the first is; or else 0.
} VwTake;

/**
 * Check a recording and take its offset away.
 *
 * The offset goes with a second-order Butterworth high-pass at 20 Hz, since in
 * recordings it often follows the sound; the filter starts settled on the
 * offset of the first frames where these are quiet.
 *
 * @param raw The recording. Not changed.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_NO_FRAMES, #VW_CHANNELS, #VW_SAMPLE_RATE,
 * #VW_TOO_SHORT, #VW_NOT_FINITE, #VW_SILENT.
 */
VW_API VwStatus vw_take_prepare(const VwSound* raw, VwTake* take);

/// Free what `take` owns and set it to zero. NULL is accepted.
VW_API void vw_take_clear(VwTake* take);

/* -- Find ----------------------------------------------------------------- */

/// What a take is.
typedef enum {
  VW_KIND_SHOT,          ///< One shot.
  VW_KIND_SEVERAL_SHOTS, ///< Several shots, one after the other.
  VW_KIND_SUSTAINED, ///< A drone, a tone: too long near its crest for a shot.
  VW_KIND_RAPID_FIRE ///< Shots that follow each other evenly.
} VwKind;

/// "shot", "several shots", "sustained", "rapid fire". Static.
VW_API const char* vw_kind_name(VwKind kind);

/// How to find the shot.
typedef struct {
  /// Level of the board's own noise with the shot's highest value at -1 dBFS;
  /// a tail that has sunk below it ends there. dBFS, default -96.
  double   board_noise_dbfs;
  bool     has_kind; ///< Default false: the kind is as found.
  VwKind   kind;     ///< What the take is instead.
  unsigned pick;     ///< Which of several shots is meant, 1 and up; 0
                     ///< (default): the first within 6 dB of the loudest.
  double from_s;     ///< The stretch that is used starts here. Default 0.
  double to_s;       ///< It ends here; 0 (default): at the take's end.
  bool   has_start;  ///< Default false: the shot starts at its attack.
  double start_ms;   ///< Where in the take it starts instead.
} VwFindOptions;

/// The defaults of #VwFindOptions.
VW_API VwFindOptions vw_find_defaults(void);

/// The straight line by which a decay time is told.
typedef struct {
  double from_ms;   ///< Time in the take: 5 dB down in energy.
  double to_ms;     ///< 35 dB down, of T30, or else 25, of T20.
  double from_dbfs; ///< RMS of all that sounds, at `from_ms`.
  double to_dbfs;   ///< The same at `to_ms`.
} VwDecayLine;

/// Where the shot lies in its take, and what it is like. NaN: there is none.
typedef struct {
  VwKind kind;         ///< What the take is.
  VwKind other_kind;   ///< The kind beyond the nearest bound.
  double sure;         ///< How far that is: 0 on it, 1 if none can be meant.
  size_t first_frame;  ///< Of the stretch that is used; nothing before it is.
  size_t attack_frame; ///< Where the shot rises out of what was before it.
  size_t crest_frame;  ///< Where its level is highest.
  size_t end_frame;    ///< One past the shot's last frame.
  size_t begins_frame; ///< Where all that is used begins: the shot's attack, of
                       ///< rapid fire that of the first.
  size_t ends_frame;   ///< One past it: the end of its last shot.
  double attack_ms;    ///< The attack's time in the take.
  double crest_ms;     ///< The crest's.
  double end_ms;       ///< The end's.
  double valley_ms;    ///< Where the level is lowest from the crest to the next
                       ///< shot, or else to itself fired again at
                       ///< `fastest_fire_rate_per_s`.
  double length_ms;    ///< From 2 ms before the attack, or the take's start.
  double rise_ms;      ///< From the attack to full level; see vw_find().
  bool   slow;         ///< That takes more than 5 ms.
  double brisk_ms;     ///< From this whole ms of the take on it takes less;
                       ///< NaN if that leaves no shot, or it is not slow.
  double      decay_t20_s;      ///< Time of a decay by 60 dB from -5 to -25 dB.
  double      decay_t30_s;      ///< The same from -5 to -35 dB.
  VwDecayLine decay_line;       ///< Of T30, or else of T20.
  double      pitch_attack_hz;  ///< Of the attack's 40 ms; a glide's first.
  double      pitch_tail_hz;    ///< The same where it has fallen by 20 dB.
  double      noise_floor_dbfs; ///< RMS of noise before the shot, or after it.
  double      dc_offset;        ///< As in #VwTake.
  size_t      n_clipped_frames; ///< As in #VwTake.
  double      side_late_ms;     ///< As in #VwTake.
  unsigned    shots_in_take;    ///< How many shots the take holds, at least 1.
  double      rapid_per_s;      ///< Rate of rapid fire.
  double      rapid_uncertainty_per_s; ///< 95 % of the true rates lie within.
  double      rapid_jitter_ms;         ///< RMS distance of starts from a line.
  double      fastest_fire_rate_per_s; ///< Fastest it stands untouched.
  double earlier_sound_db; ///< A sound left out before it, below its crest.
  double earlier_sound_ms; ///< How long before the attack it ended.
  double end_db;   ///< Level of the 20 ms from the end on, or before what ends
                   ///< it, relative to the crest; NaN: digital silence.
  bool   cut_off;  ///< The take ends there, less than 35 dB down.
  bool   choked;   ///< The next shot comes while this one still sounds.
  double torn_ms;  ///< Start of a shot that the stretch asked for cuts in two.
  bool   is_noise; ///< Sustained, not told so, and nothing rises out of it.
} VwShotFacts;

/**
 * Find the shot in a take.
 *
 * The attack is the change point between the quiet before the shot and the
 * rise out of it, by the cumulative sum of log-likelihood ratios (E. S. Page,
 * "Continuous inspection schemes", Biometrika 41, 1954): the first after which
 * the sound stays within 40 dB of the crest, or above the noise if that is
 * louder. The rise is the time until the level is first within 3 dB of the
 * crest, scaled to a straight rise to full level. The tail follows the
 * backward-integrated decay (ISO 3382-1:2009), corrected for noise (A. Lundeby
 * et al., Acustica 81, 1995); the shot ends where what is left is 60 dB down,
 * has sunk into the take's noise or the board's, or else before the next shot.
 *
 * The fastest fire rate is the highest of 4, 4.5 ... 15 per second such that it
 * and every slower one keep a valley of 9 dB: on the energy sum of the shot's
 * level curve, and in the steady burst limited by 3 dB.
 *
 * @param take The whole take, or what vw_take_prepare_stretch() left of it.
 * @param facts Filled in on success, and as far as it is known with
 * #VW_BAD_PICK and #VW_BAD_START.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_NO_SHOT, #VW_BAD_PICK, #VW_BAD_START.
 */
VW_API VwStatus vw_find(const VwTake*        take,
                        const VwFindOptions* options,
                        VwShotFacts*         facts);

/**
 * Prepare the stretch of a recording that is asked for, as a take of its own.
 *
 * @param whole For use whole: the take is the stretch alone. Otherwise silence
 * stands for what lies outside of it, and times stay those of the recording.
 * @param take As in vw_take_prepare().
 * @return #VW_BAD_STRETCH, or as vw_take_prepare().
 */
VW_API VwStatus vw_take_prepare_stretch(const VwSound*       raw,
                                        const VwFindOptions* options,
                                        bool                 whole,
                                        VwTake*              take);

/// The facts on a take that is used whole, in which no shot is looked for.
VW_API VwShotFacts vw_facts_of_whole(const VwTake* take);

/* -- Format --------------------------------------------------------------- */

/// How frames are written.
typedef enum {
  VW_ENCODING_U8,   ///< 8 bit unsigned PCM, silence is 128.
  VW_ENCODING_S16,  ///< 16 bit PCM.
  VW_ENCODING_S24,  ///< 24 bit PCM.
  VW_ENCODING_FLOAT ///< 32 bit floating point.
} VwEncoding;

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

/// What the frames are wrapped in.
typedef enum {
  VW_CONTAINER_WAV,    ///< The plainest: a header of 44 bytes.
  VW_CONTAINER_OGG,    ///< Ogg with Vorbis.
  VW_CONTAINER_FLAC,   ///< FLAC; 16 or 24 bits.
  VW_CONTAINER_RAW,    ///< Codes alone, little end first.
  VW_CONTAINER_C_ARRAY ///< Source text in C.
} VwContainer;

/* -- Family: convert, burst, level, cut ----------------------------------- */

/// What to do with a tail when the next shot fires.
typedef enum {
  VW_TAIL_OVERLAP, ///< It goes on underneath.
  VW_TAIL_CHOKE    ///< It is faded out over 5 ms as the next shot starts.
} VwTail;

/// How tails are bent down by tightening.
typedef enum {
  VW_BEND_PLAIN,  ///< All frequencies alike.
  VW_BEND_NATURAL ///< The highs more than the lows, as in rooms.
} VwBend;

/// How the burst is handed out.
typedef enum {
  VW_FORM_PIECES,      ///< Run-in, loop and ring-out, a file each.
  VW_FORM_WHOLE_FILE,  ///< The steady cycle alone, to be repeated as a whole.
  VW_FORM_LOOP_POINTS, ///< All three in one file, the loop marked in it.
  VW_FORM_BURST        ///< A number of shots and their ring-out, finished.
} VwForm;

/// Which file of a family.
typedef enum {
  VW_PART_SHOT,
  VW_PART_RUN_IN,
  VW_PART_LOOP,
  VW_PART_RING_OUT,
  VW_PART_BURST,
  VW_PART_WHOLE
} VwPart;

/// "shot", "runin", "loop", "ringout", "burst", "whole". Static.
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

/// A resonance of a speaker, and how it is cut: by a peaking filter of the
/// second order.
typedef struct {
  double hz; ///< Its middle, 50 to 16000; from 0.45 of the sample rate on it is
             ///< left alone.
  double db; ///< -9 to 0: nothing is raised.
  double q;  ///< 0.2 to 30.
} VwPeakCut;

/// As many cuts as a speaker has.
#define VW_CUTS_MOST 3U

/// What a sound is made for.
typedef struct {
  double corner_hz; ///< What lies below is taken away, 50 to 2000 and at most
                    ///< 0.45 of the sample rate; 0: there is no speaker.
  unsigned  n_cuts; ///< 0 to #VW_CUTS_MOST.
  VwPeakCut cuts[VW_CUTS_MOST];
  double resonance_hz; ///< Of a transducer on what it shakes, 50 to 2000; 0: it
                       ///< is none, or that is not known.
} VwSpeaker;

/// How loud, and under which limits.
typedef struct {
  VwAim  aim;             ///< Default #VW_AIM_LOUDEST.
  double loudness_lufs;   ///< For #VW_AIM_LOUDNESS, -60 to 0.
  double gain_db;         ///< For #VW_AIM_GAIN, -60 to 60.
  double ceiling_dbtp;    ///< Highest true peak, -20 to 0. Default -1.
  double limiting_max_db; ///< What the limiter may take, 0 to 12. NaN, the
                          ///< default: 3, but nothing of joined tones.
  VwLoudAs  loud_as;      ///< Default #VW_LOUD_AS_SHOT.
  VwSpeaker speaker;      ///< Made for it first. Default: for none.
} VwLevelOptions;

/// The lamp's own track in the second channel: a tone for each shot, which a
/// diode, a resistor and a capacitor turn into a pulse.
typedef struct {
  bool   wanted;     ///< Default false. Wants a format of two channels.
  double tone_hz;    ///< 2000 to 4000, at most 0.4 of the sample rate is made.
                     ///< Default 3000.
  double level_dbfs; ///< Peak of the tone, -20 to 0. Default -6.
} VwLampTrackOptions;

/// What to make of the takes. Start from vw_family_defaults().
typedef struct {
  VwFormat      format;     ///< The board's format.
  VwFindOptions find;       ///< How the shots were found.
  bool          shot_only;  ///< The single shots alone. Default false.
  bool          whole;      ///< The whole takes, nothing cut, no burst: for
                            ///< other sounds of the prop. Default false.
  double fade_ms;           ///< Ends of whole takes that would click are faded
                            ///< over so long, 0 to 100. Default 3.
  VwForm   form;            ///< Default #VW_FORM_PIECES.
  unsigned burst_shots;     ///< In #VW_FORM_BURST, 1 to 1000. Default 3.
  bool     burst_of_shots;  ///< Refuse one of so many loops, of a hum or rapid
                            ///< fire at its own rate. Default false.
  double fire_rate_per_s;   ///< 0.5 to 40; 0 (default): the fastest the shot
                            ///< stands, but at least 8; slower, down to 4,
                            ///< where only that hides the gap.
  unsigned shots;           ///< In the cycle, 1 to 64; 0 (default): as needed.
  double   cycle_max_s;     ///< Longest cycle in a file, 0.05 to 60. Default 2.
  double   cycle_s;         ///< Length of a sustained sound's loop, 0.05 to 60,
                            ///< to 5 %; 0 (default): as long as is good.
  double gap_ms;            ///< The board's gap between repeats of a whole
                            ///< file, 0 to 1000. Default 0.
  unsigned buffer_frames;   ///< The loop is a multiple of it, 1 to 65536.
                            ///< Default 1. A finished burst has no loop.
  unsigned block_frames;    ///< A sustained sound's loop is a multiple of it
                            ///< too if the buffer allows it, 1 to 65536: a
                            ///< packing format's blocks. Default 1.
  uint64_t file_bytes_max;  ///< Most bytes of a written loop and a header of
                            ///< 44; 0 (default): no limit.
  double run_in_max_s;      ///< By this time, 0.05 to 60, and where a file's
                            ///< bytes end, the run-in ends, but not within its
                            ///< first shot; it may once missing tails are
                            ///< 20 dB down. 0 (default): once it is steady.
  VwTail tail;              ///< Default #VW_TAIL_OVERLAP.
  double valley_db;         ///< Valley to reach by tightening, 3 to 40; NaN:
                            ///< leave the shots as they are. Default 9.
  VwBend   tightening;      ///< Default #VW_BEND_PLAIN.
  double   detune_cents;    ///< Greatest detuning, 0 to 100. Default 0.
  double   level_spread_db; ///< Greatest change of level, 0 to 6. Default 0.
  unsigned variants;        ///< Variants of each take, 2 to 12, which take
                            ///< turns: they differ in length of tail, tilt of
                            ///< spectrum, detuning, level and timing. Detuning
                            ///< and level of 0 are then 15 cents and 0.3 dB.
                            ///< 0 (default): none.
  double kick_db;           ///< A short low tone is laid under every shot that
                            ///< is laid down, by which it is felt in the hand:
                            ///< how much more the shot has at its frequency in
                            ///< its first 20 ms, which counts as no less than
                            ///< 12 dB below all that is in there, 0 to 24. 0
                            ///< (default): none.
  VwLevelOptions level;     ///< How loud.
  double lamp_on_ms;        ///< How long the lamp is on, 5 to 500, at most half
                            ///< the time from shot to shot; 0 (default): while
                            ///< the shot is within 12 dB of its crest, 20 to
                            ///< 50 ms (common practice).
  VwLampTrackOptions lamp_track; ///< The sound is then made in mono.
  uint64_t           seed;       ///< Of variation, order and dither. Default 1.
  const VwTake* run_in_take; ///< Comes before a joined loop instead of its own
                             ///< run-in, but for #VW_FORM_WHOLE_FILE; NULL
                             ///< (default): that.
  const VwTake* ring_out_take; ///< The same of what comes after.
} VwFamilyOptions;

/// The defaults of #VwFamilyOptions.
VW_API VwFamilyOptions vw_family_defaults(void);

/// How shots lie in the cycle.
typedef struct {
  double   fire_rate_asked_per_s; ///< Asked, or chosen if nothing was.
  bool     chosen;                ///< Nothing was asked.
  double   fire_rate_per_s;       ///< Exactly `shots * rate_hz / n_frames`.
  double   error_ppm;             ///< Of it, relative to the one asked.
  unsigned shots;                 ///< Shots in the cycle.
  bool     fewer_shots;           ///< Variation wanted more than it holds.
  size_t   n_frames;              ///< Of the cycle as heard, with the gap.
  size_t   gap_frames;            ///< The board's gap at its end, or 0.
  bool     uneven; ///< The gap exceeds 0.4 of the period and is heard: shots
                   ///< lie in what is left of the cycle at the rate asked.
  double even_fire_rate_per_s;  ///< The fastest that hides the gap, or NaN.
  double plain_fire_rate_per_s; ///< What the board would make of a loop laid
                                ///< without regard to its gap.
  unsigned rate_hz;             ///< Sample rate of these frames.
} VwPlan;

/// The lamp that goes with a loop.
typedef struct {
  double pulse_hz;  ///< Flashes per second.
  double period_ms; ///< From flash to flash.
  double on_ms;     ///< How long the lamp is on.
  double duty;      ///< `on_ms / period_ms`.
} VwLamp;

/// The lamp for a fire rate alone, its on-time #VW_ON_USUAL (common practice).
VW_API VwLamp vw_lamp(double fire_rate_per_s);

/// Why a lamp is on as long as it is.
typedef enum {
  VW_ON_USUAL, ///< Without a loop: 30 ms, at most 0.4 of the period.
  VW_ON_ASKED, ///< As asked.
  VW_ON_SOUND, ///< While the shot is within 12 dB of its crest.
  VW_ON_LEAST, ///< That is less than 20 ms: a flash of 20 ms.
  VW_ON_MOST,  ///< That is more than 50 ms: a flash of 50 ms.
  VW_ON_HALF   ///< That, or what was asked, is more than half the time from
               ///< shot to shot: half.
} VwOnReason;

/// How long a lamp is on, and why.
typedef struct {
  double     on_ms;   ///< On-time.
  double     near_ms; ///< Within 12 dB of the crest, mean of all shots, or NaN.
  double     most_ms; ///< Half the time from shot to shot: none is longer.
  VwOnReason reason;
} VwOnTime;

/// One sound to write.
typedef struct {
  VwPart  part;       ///< Which part of the family it is.
  size_t  take;       ///< Index of the take whose name it carries.
  VwSound sound;      ///< What to write. Owned by the family.
  bool    has_loop;   ///< `loop_start` and `loop_end` count.
  size_t  loop_start; ///< First frame of the loop.
  size_t  loop_end;   ///< One past the last frame of the loop.
} VwPiece;

/// How loud a family became. Loudness is the maximum momentary loudness of the
/// sound in silence, as the board is going to play it.
typedef struct {
  double before_lufs;         ///< Of the shot as the speaker has it, no gain.
  double shot_loudness_lufs;  ///< Of the shot as written.
  double burst_loudness_lufs; ///< Of the steady burst; NaN without one.
  double target_lufs;         ///< As asked, or NaN.
  double gain_db;             ///< The family's one gain.
  double limiting_db;         ///< Most that the limiter took.
  double limiting_ms;         ///< For how long it took more than 0.1 dB.
  double limiting_share;      ///< For what part of the time more than 1 dB.
  double limiting_max_db;     ///< What it was allowed to take.
  double limiting_needed_db;  ///< What the wish would have needed.
  double true_peak_dbtp;      ///< Highest of all that is written.
  bool   reached;             ///< The wish was met.
} VwLevel;

/// How hard a sound drives an amplifier: squares of its values, full scale 1,
/// added up over the channels.
typedef struct {
  double mean;      ///< Of all frames; of a loop, of the steady burst.
  double most_10ms; ///< Of the 10 ms in which it is highest.
  double peak;      ///< Of the true peak, as if all channels had it at once.
} VwDrive;

/// What a kick adds to the shot alone, the most of all takes; all zero where
/// there is none.
typedef struct {
  double hz;          ///< Its frequency.
  double share;       ///< Of the shot's energy.
  double loudness_lu; ///< Of its loudness, which a speaker that cannot play it
                      ///< does not give.
} VwKick;

/// The lamp track of a family; all zero where there is none.
typedef struct {
  double   tone_hz;    ///< Whole periods in a cycle: it runs on over the seam.
  double   level_dbfs; ///< As asked.
  double   on_ms;      ///< From half its rise to half its fall.
  unsigned pulses;     ///< In a cycle, in the finished burst, or in the shot.
} VwLampTrack;

/// How alike neighbours are in the steady burst as it is written, the most of
/// all, also over the end of the cycle. All NaN if shots do not differ.
typedef struct {
  double waveform;    ///< Correlation of their frames.
  double envelope;    ///< Correlation of how their 10 ms levels move.
  double body_db;     ///< By which their loudest 50 ms differ.
  double loudness_lu; ///< By which the loudness of their periods differs.
} VwLikeness;

/// How well a sound that sounds on joins into a loop.
typedef enum {
  VW_JOIN_REPEATS, ///< What is crossfaded is alike: a likeness of 0.7 at least.
  VW_JOIN_NOISE,   ///< Of the same level and spectrum: it is not heard.
  VW_JOIN_NOTHING, ///< Level or spectrum differ too: nothing repeats.
  VW_JOIN_SHOTS    ///< It lies in the quiet before a shot of rapid fire.
} VwJoinKind;

/// Points of a likeness over lag.
#define VW_JOIN_POINTS 256

/// Where another take leads over to or from a loop; all zero if none does.
typedef struct {
  size_t at_frame;     ///< Where in that take, at the board's sample rate.
  size_t blend_frames; ///< How much is crossfaded from there.
  double likeness;     ///< Correlation of what is crossfaded, -1 to 1.
  double gain_db;      ///< By what its level was matched to the loop's.
  double left_db;      ///< What more it would take.
} VwJoinLead;

/// Where and how a sustained sound, or rapid fire at its own rate, was joined,
/// or all zero. Frames are those of the take at the board's sample rate.
typedef struct {
  VwJoinKind kind;
  unsigned   shots;          ///< Of rapid fire, in the loop; 0: it sounds on.
  unsigned   ring_out_shots; ///< The take's shots behind it.
  size_t     lead_frames;    ///< Before the first shot of an even run-in.
  size_t     start_frame;    ///< Where the loop starts.
  size_t     n_frames;       ///< How long it is.
  size_t     gap_frames;     ///< What the board's gap takes of its end.
  size_t     blend_frames;   ///< Of its end, crossfaded with what is before.
  size_t     steady_from;    ///< The part of even level in which it lies.
  size_t     steady_to;      ///< One past.
  double     likeness;       ///< Correlation of what is crossfaded, -1 to 1.
  double     tones;    ///< Share of its power in lines that stand out, 0 to 1.
  double     apart_db; ///< How far their spectra are apart, RMS over octaves.
  double     better_s; ///< Longest to 1.5 of that asked that does repeat, or 0.
  double     level_db; ///< How far 100 ms about the join are from its median.
  double     trend_db; ///< Fall of the level over it that was evened out, or 0.
  double     falls_db_per_s; ///< By how much it falls in the take.
  double glide_cents_per_s; ///< By how much its pitch glides; NaN: it does not.
  double lag_from_s;        ///< Lags of `over_lag`, evenly from here
  double lag_to_s;          ///< to there.
  float  over_lag[VW_JOIN_POINTS]; ///< The highest likeness about each lag.
  VwJoinLead run_in;               ///< Of a run-in from another take.
  VwJoinLead ring_out;             ///< Of a ring-out from another take.
} VwJoin;

typedef struct VwTakeUse VwTakeUse; ///< For this library alone.

/// A family: everything made from one take, or from several taking turns.
typedef struct {
  VwFormat   format; ///< As asked, with the sample rate filled in.
  VwForm     form;   ///< As asked.
  size_t     n_takes;
  VwTakeUse* uses; ///< One per take. Owned.
  VwPlan     plan; ///< All zero for `shot_only` and `whole`, as is all below
                   ///< but for `level` and `pieces`.
  VwSound* shots;  ///< The `plan.shots` shots of one cycle as they are laid
                   ///< down, at their final level. Owned.
  size_t*  turns;  ///< Which take each of them is made from. Owned.
  VwJoin   join;   ///< Of a sustained sound, which has no shots to lay down.
  VwTail   tail;   ///< As asked.
  unsigned run_in_shots;    ///< Shots in the run-in.
  double   valley_asked_db; ///< As asked, or NaN.
  double   valley_db;       ///< Of the steady cycle as it is written, its ends
                            ///< faded if they are: from the shallowest crest to
                            ///< the mean of the lowest fifth of the period; of
                            ///< 10 ms Hann-weighted power above 100 Hz
                            ///< (Butterworth, fourth order). 60 at most.
  unsigned   variants;      ///< Variants of each take in the cycle; 0: none.
  VwLikeness likeness;      ///< Of shots that follow each other.
  bool       bent_most;     ///< No steeper bend would deepen the valley.
  VwBend     tightening;    ///< As asked.
  double     tightening_db; ///< How far the decay was bent down a period after
                            ///< the attack, below 1 kHz if natural; 0: not.
  double gap_depth_db;      ///< Level of the decay where the gap cuts it off,
                            ///< dB below the crest, 60 at most, or NaN.
  double fade_cover_db;     ///< Of a whole file: the attack's 20 ms above the
                            ///< tails faded before it, -60 to 60, or NaN.
  double covering_db;       ///< Below 3 dB of it: the valley, of the usual one
                            ///< and 15 dB, that gives 3 dB, as tried; or NaN.
  double run_in_left_db;    ///< What older tails the burst lacks where the
                            ///< run-in ends, dB below the loop, or NaN.
  double join_residual_db;  ///< Difference of one steady cycle and the next,
                            ///< by the loop's RMS. An exact join reads -200.
  VwLevel     level;        ///< How loud it became, and by what.
  VwKick      kick;         ///< What lies under the shots.
  VwDrive     drive;      ///< Of the loop, else the burst, else what there is.
  VwLamp      lamp;       ///< For `plan.fire_rate_per_s`.
  VwOnTime    on_time;    ///< Why it is on for so long.
  VwLampTrack lamp_track; ///< In the second channel of all pieces.
  VwPiece*    pieces;     ///< What to write. Owned.
  size_t      n_pieces;
} VwFamily;

/**
 * Make a family.
 *
 * One take makes its own shot and loop; several take turns in one loop, never
 * the same take twice in a row. The burst is laid down shot after shot and,
 * once one cycle equals the next, cut: run-in, `k` loops and ring-out together
 * are the burst of as many shots, frame for frame, for every k including 0.
 * Only a run-in that ends early (`run_in_left_db`) is exempt: its last 5 ms
 * lead over to a burst that has been steady.
 *
 * A lamp track is laid beside the finished sound: its tone starts with each
 * shot's attack, rises and falls in 1 ms, and ends before its piece does. No
 * measure of the family knows of it. Whole takes get a silent one.
 *
 * @param takes The takes, `n_takes` (1 to 64) of them.
 * @param facts What vw_find() said of each.
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

/* -- Encode --------------------------------------------------------------- */

/// Bytes in memory.
typedef struct {
  unsigned char* data;    ///< Owned.
  size_t         n_bytes; ///< How many.
} VwBytes;

/// Free the bytes and set them to zero. NULL is accepted.
VW_API void vw_bytes_clear(VwBytes* bytes);

/// How a piece is wrapped.
typedef struct {
  VwContainer container;
  VwFormat    format;      ///< Encoding and dither count.
  bool        loop_points; ///< Write `smpl` in a WAV of a piece with a loop.
  const char* name;        ///< What a C array is called; made a C identifier.
  uint64_t    seed;        ///< Of the dither.
} VwWrapping;

/**
 * Make the bytes of a file.
 *
 * WAV is the plainest, of format tag 1 (float: 3). Raw is its data alone,
 * without the frame that makes them even. A C array is a text that compiles
 * without a warning: the codes, of `uint8_t`, `int16_t` or (24 bits) `int32_t`,
 * under the name with `sound_` in front, and constants for frames, channels,
 * sample rate and loop. FLAC and Ogg are made by libsndfile.
 *
 * @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION, #VW_NO_FRAMES (an empty C
 * array), #VW_NOT_CARRIED (also a sample rate that Ogg or FLAC do not know).
 */
VW_API VwStatus vw_encode(const VwPiece*    piece,
                          const VwWrapping* wrapping,
                          VwBytes*          bytes);

/// ".wav", ".ogg", ".flac", ".raw", ".h": how its files end. Static.
VW_API const char* vw_container_ending(VwContainer container);

/* -- Write ---------------------------------------------------------------- */

/// What a file made here holds; all zero: nothing is said of it.
typedef struct {
  VwPart part;
  size_t shots;           ///< In it, in a cycle of a loop; 0: it has none.
  double gap_ms;          ///< Of a loop: the gap that it was made for.
  double fire_rate_per_s; ///< Of a burst.
} VwMade;

/// A file to write.
typedef struct {
  const char* path;    ///< Where. Its folder must exist. UTF-8.
  VwBytes     bytes;   ///< What. Not freed by vw_write().
  VwMade      made;    ///< What it holds, which the list then says.
  bool        is_take; ///< It is cut from a take and may be a take again.
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
 * A file that exists is replaced only if this program wrote it and nobody
 * changed it since, which a small list in the folder remembers (name and
 * digest), or with `force`. On failure nothing is left behind, and files that
 * were there are what they were.
 *
 * @param at Set to the index of the output that failed, if one did.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_IS_TAKE, #VW_EXISTS, #VW_NOT_REGULAR,
 * #VW_NO_FOLDER, #VW_NOT_A_FOLDER, #VW_FOLDER_READONLY, #VW_DISK_FULL,
 * #VW_WRITE_FAILED.
 */
VW_API VwStatus vw_write(const VwOutput*       outputs,
                         size_t                n_outputs,
                         const VwWriteOptions* options,
                         size_t*               at);

#ifdef __cplusplus
}
#endif

#endif /* VOLLEYWEAVE_VOLLEYWEAVE_H */
