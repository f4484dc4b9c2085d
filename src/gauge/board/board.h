/// @file
/// A board, measured by a recording of what it plays.
#ifndef VW_GAUGE_BOARD_H
#define VW_GAUGE_BOARD_H

#include "volleyweave/volleyweave.h"

/* ------------------------------------------------------------------------ */
/* The test sound of a board                                                 */

/// The file that a test sound has to be.
typedef struct {
  unsigned rate_hz;
  unsigned n_channels;
  size_t   frames_unit; ///< The file is a multiple of it, at least 1.
  size_t   frames_most; ///< As many as fit; 0: no limit.
} VwTestWish;

/// The channels in which a mark sounds.
typedef enum {
  VW_MARK_ALL,    ///< The same in all.
  VW_MARK_LEFT,   ///< In the first alone.
  VW_MARK_RIGHT,  ///< In the second alone.
  VW_MARK_OPPOSED ///< In both, the second inverted: a sum of both is silent.
} VwMarkIn;

/// A mark: a short glide, up or down.
typedef struct {
  double   place_s; ///< Where it starts in the file.
  bool     falls;   ///< From the high to the low frequency.
  VwMarkIn in;
} VwTestMark;

/// As many marks as a test sound has.
#define VW_MARKS_MOST 16U

/// A test sound, as it is laid out. The places and glides of the marks differ
/// from format to format, and tell where in the file one is.
typedef struct {
  VwTestMark marks[VW_MARKS_MOST];
  size_t     n_marks;
  double     mark_s; ///< How long a mark is.
  double     low_hz;
  double     high_hz;
  unsigned   rate_hz;
  unsigned   n_channels;
  size_t     n_frames;
} VwTestSound;

/**
 * Lay out a test sound: 2 s long, or shorter if the board takes no more.
 *
 * @param test Filled in on success.
 * @return #VW_OK, #VW_FILE_TOO_BIG (less than 1 s fits).
 */
VwStatus vw_test_plan(const VwTestWish* wish, VwTestSound* test);

/// A mark at a time after its start, of height 1; 0 outside of it.
double vw_test_mark_at(const VwTestSound* test, bool falls, double time_s);

/**
 * Make the sound.
 *
 * @param sound Filled in on success; free it with vw_sound_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_test_make(const VwTestSound* test, VwSound* sound);

/* ------------------------------------------------------------------------ */
/* A board, by a recording                                                   */

/// Why something was not found.
typedef enum {
  VW_GAUGED,           ///< It was.
  VW_NOT_ASKED,        ///< What was played does not tell it.
  VW_ONE_REPEAT,       ///< No two repeats follow each other.
  VW_ENDS_EARLY,       ///< The recording ends before the sound does.
  VW_NO_CLICK,         ///< No click of the switch is heard.
  VW_SEVERAL_CLICKS,   ///< More clicks than a press has, and no telling which.
  VW_CLICK_SMEARED,    ///< The click is smeared, or an echo of it louder.
  VW_RELEASED_BETWEEN, ///< Let go between two repeats.
  VW_UNLIKE,           ///< What was heard contradicts itself.
  VW_NO_SILENT_PRESS,  ///< Every press sounded.
  VW_WITHIN_DELAY,     ///< Presses that were silent ended within the delay.
  VW_ROUGH,            ///< Too few pieces are heard, or they miss by too much.
  VW_EVEN,             ///< The loop sounds the same all along.
  VW_NO_SECOND_LENGTH  ///< The presses were all of one length, or one alone.
} VwWhyNot;

/// A figure that was found, or not.
typedef struct {
  double   value; ///< NaN if it was not found.
  double   error; ///< 95 % of the true ones lie within; NaN: unknown.
  VwWhyNot why;
  bool     doubt; ///< It may be another, as `why` of the report says.
} VwGauged;

/// What becomes of two channels.
typedef enum {
  VW_PLAYS_SUM,    ///< Their sum.
  VW_PLAYS_STEREO, ///< Both, each by itself.
  VW_PLAYS_LEFT,   ///< The first alone.
  VW_PLAYS_RIGHT   ///< The second alone.
} VwPlaysChannels;

/// What a recording does to what it hears; NaN where it is not known.
typedef struct {
  double clipped;        ///< Share of the frames at the recording's extreme.
  double level_db;       ///< How far marks of one height differ: 5th to 95th
                         ///< percentile.
  double noise_db;       ///< Of what is heard without a mark, below the marks.
  double noise_moves_db; ///< How much louder the noise above the marks is
                         ///< without them than between them.
  double echo_ms;        ///< The strongest echo, after the mark.
  double echo_db;        ///< Its height beside that.
  double above_db; ///< Of what marks have above 3.7 kHz, beside all of them.
} VwGaugeSigns;

// From here on a recording is said to do so (chosen here, by simulated
// recordings).
#define VW_SIGN_CLIPPED 0.0005
#define VW_SIGN_LEVEL_DB 3.0
#define VW_SIGN_NOISE_MOVES_DB 5.0
#define VW_SIGN_ECHO_DB (-10.0)
#define VW_SIGN_NARROW_DB (-15.0)

/// What was found of a board.
typedef struct {
  size_t n_plays;   ///< How often the file was heard, whole or not.
  size_t n_whole;   ///< Repeats that were heard to their end.
  size_t n_presses; ///< Presses that sounded.
  size_t n_strange; ///< Marks that lie at no place of this test sound.
  size_t n_gaps;    ///< Of which the gap is the mean.

  double first_gap_s; ///< Where the first of them begins, by the recorder, as
                      ///< the next two; NaN: there is none.
  double gap_long_s;  ///< How long it is in the mean.
  double repeat_s;    ///< From the start of a repeat to the next one's.
  size_t n_running;   ///< How many follow each other from the first on.

  VwGauged gap_ms;          ///< By the board's clock.
  double   gap_jitter_ms;   ///< RMS, of three gaps and more.
  VwGauged clock_ppm;       ///< How much faster the board's clock is.
  VwGauged delay_ms;        ///< From the click to the sound.
  double   delay_spread_ms; ///< Between the least and the most.
  VwGauged press_ms;        ///< The shortest that sounds.
  double   silent_press_ms; ///< The longest that does not, NaN: none.
  VwGauged release;         ///< A #VwRelease.
  VwGauged channels;        ///< A #VwPlaysChannels.

  VwGaugeSigns signs;
} VwGaugedBoard;

/**
 * Find out how a board plays its test sound.
 *
 * @param recording As it came, 1 to 8 channels, at most 10 minutes.
 * @param board Filled in on success; all is NaN if no mark is heard.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_SILENT, #VW_TOO_SHORT, #VW_NOT_FINITE.
 */
VwStatus vw_gauge_by_test(const VwSound*     recording,
                          const VwTestSound* test,
                          VwGaugedBoard*     board);

/**
 * Find gap and clock of a board by a loop that it plays.
 *
 * @param recording As it came, 1 to 8 channels, at most 10 minutes.
 * @param loop As it is on the board.
 * @param board As with vw_gauge_by_test(); all else is #VW_NOT_ASKED.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_SILENT, #VW_TOO_SHORT, #VW_NOT_FINITE.
 */
VwStatus vw_gauge_by_loop(const VwSound* recording,
                          const VwSound* loop,
                          VwGaugedBoard* board);

#endif
