/// @file
/// What the files of the room share.
#ifndef VW_GAUGE_INTERNAL_H
#define VW_GAUGE_INTERNAL_H

#include "gauge/board/board.h"
#include "signal/signal.h"

/* Listening: where waves lie in a recording. */

/// The rate at which is listened: twice what a mark has, and what lies above
/// it, by which switches are heard.
#define VW_LISTEN_HZ 22050U

/// Places are first looked at by so many frames.
#define VW_LISTEN_HOP 8U

/// A wave that is listened for.
typedef struct {
  VwMatcher* matcher; ///< Owned.
  float*     near; ///< The greatest likeness in each hop and beside it. Owned.
} VwListenedWave;

/// A recording, and what is listened for in it. Starts all zero.
typedef struct {
  VwSound         sound;   ///< One channel, at most at #VW_LISTEN_HZ. Owned.
  VwListenedWave* waves;   ///< Owned.
  VwMatch*        matches; ///< Of one run of the widest wave. Owned.
  size_t          n_waves;
  size_t          n_hops;
  double          hop_s;
} VwListening;

/// Take the loudest channel of a recording to listen to.
VwStatus vw_listen_to(const VwSound* recording, VwListening* listening);

/// Listen for one wave more, at the rate of the sound.
VwStatus vw_listen_for(VwListening* listening,
                       const float* wave,
                       size_t       n_frames);

/// Free what it owns. NULL is accepted.
void vw_listen_clear(VwListening* listening);

/// A wave, where it lies.
typedef struct {
  double time_s;
  double height;
  double likeness;
} VwHeard;

/// Where a wave is highest within so many seconds about a time; to a part of a
/// frame.
VwHeard vw_listen_about(VwListening* listening,
                        size_t       wave,
                        double       time_s,
                        double       reach_s);

/// How high a wave is at each frame from so long before a time on.
void vw_listen_course(VwListening* listening,
                      size_t       wave,
                      double       from_s,
                      double*      heights,
                      size_t       n);

/// A copy of the sound without what lies below a frequency, by 48 dB an octave.
VwStatus vw_listen_above(const VwListening* listening,
                         double             above_hz,
                         VwSound*           high);

/* Patterns: waves at known places, again and again. */

/// A wave of a pattern.
typedef struct {
  double place_s;
  size_t wave;
  bool   timed; ///< It counts for times: it sounds on every board.
} VwPatternPiece;

/// As many pieces as a pattern has.
#define VW_PIECES_MOST 16U

/// What a board repeats.
typedef struct {
  VwPatternPiece pieces[VW_PIECES_MOST];
  size_t         n_pieces;
  double         length_s; ///< Of the file.
  double         piece_s;  ///< Of its longest wave.
  bool           begins;   ///< A file that only began is told by its pieces.
} VwPattern;

/// A piece as it was heard.
typedef struct {
  VwHeard heard;
  bool    there;  ///< It was.
  bool    fits;   ///< It lies on the line of all.
  bool    beyond; ///< The recording ends before it.
} VwPieceHeard;

/// One time that the file was played, whole or not.
typedef struct {
  double       start_s;
  VwPieceHeard pieces[VW_PIECES_MOST];
  size_t       n_there;
  size_t       n_fit;
  bool         pressed; ///< By a press of its own, soon after another.
} VwPlay;

/// All of them, in order.
typedef struct {
  VwPlay* plays; ///< Owned.
  size_t  n;
  size_t  n_room;
  double  ratio;         ///< Seconds of the recording for one of the file.
  double  ratio_error;   ///< 95 % of the true ones lie within.
  double  ratio_weighed; ///< The same, with what is known of clocks.
  double  echo_s;        ///< The highest top behind the first; 0: none.
  double  echo_height;   ///< Beside the first.
  bool    even;          ///< The pattern fits wherever it is laid.
  double  spread_s;      ///< RMS distance of the pieces from their lines.
} VwPlays;

/// Find where a pattern is played. `plays` is empty where it is nowhere.
VwStatus vw_plays_find(VwListening*     listening,
                       const VwPattern* pattern,
                       VwPlays*         plays);

/// Free what it owns. NULL is accepted.
void vw_plays_clear(VwPlays* plays);

/// How far from its line a piece is looked for.
#define VW_REACH_S 0.0006

/**
 * Hear the pieces of all plays near where they are thought to be, and fit the
 * clock.
 *
 * @param room They sound in a room: what counts is the first that is heard of
 * them.
 */
VwStatus vw_plays_hear(VwListening*     listening,
                       const VwPattern* pattern,
                       VwPlays*         plays,
                       bool             room);

/* What the recording does. */

/**
 * Find out by the plays of a test sound.
 *
 * @param above_hz What lies above has nothing of a mark.
 */
VwStatus vw_signs_find(const VwListening* listening,
                       const VwPattern*   pattern,
                       const VwPlays*     plays,
                       double             above_hz,
                       VwGaugeSigns*      signs);

/* Clicks: what a switch lets be heard. */

/// A click.
typedef struct {
  double time_s;
  double level_db; ///< Of its peak.
  double early_s;  ///< So much earlier something softer is heard.
} VwClick;

/// As many as are kept.
#define VW_CLICKS_MOST 256U

/// Those of a recording, in order.
typedef struct {
  VwClick clicks[VW_CLICKS_MOST];
  size_t  n;
  bool    deaf; ///< The recording has nothing above the marks: none is heard.
} VwClicks;

/// Find the clicks of a recording above a frequency.
VwStatus vw_clicks_find(const VwListening* listening,
                        double             above_hz,
                        VwClicks*          clicks);

/* What a board does. */

// Switches are heard so far above the marks, where what marks have is gone.
#define VW_CLICKS_OVER_MARKS 1.22

// Gaps of one board lie so near together: what is farther off is a pause
// between two presses (chosen here).
#define VW_GAPS_WITHIN_S 0.03

/// The plays of one press.
typedef struct {
  size_t first; ///< Of the plays,
  size_t last;  ///< and the last one.
  long   press; ///< The click that began it; -1: unknown.
} VwRun;

/// A recording on its way to what it tells.
typedef struct {
  const VwPattern*   pattern;
  const VwTestSound* test; ///< NULL: of a loop.
  const VwListening* listening;
  VwPlays            plays; ///< Owned.
  VwClicks           clicks;
  VwRun*             runs; ///< Owned.
  size_t             n_runs;
  double             gap_s; ///< 0 where none was found.
  VwGaugedBoard*     board;
} VwGaugeCase;

// A click within a play, or without one, counts if it is no softer beside that
// of a press (chosen here).
#define VW_CLICK_LIKE_DB 14.0

/// A figure that was not found.
VwGauged vw_gauge_not_found(VwWhyNot why);

/// Whether a play is heard to its end.
bool vw_play_is_whole(const VwPattern* pattern, const VwPlay* play);

/// Where the last mark of a play that is heard ends, seconds of the recording.
double vw_play_heard_end_s(const VwGaugeCase* all, size_t play);

/// What lies between a play and the next one, seconds of the board.
double vw_gauge_gap_behind(const VwGaugeCase* all, size_t play);

/// Find the gap between repeats, but for those that were pressed.
VwStatus vw_gauge_gap_find(VwGaugeCase* all);

/// Find delay, release and the shortest press. Signs are known, and the gap,
/// which is found again if presses were taken for repeats.
VwStatus vw_press_find(VwGaugeCase* all);

/// Find the shortest press that sounds. Runs, delay and release are known.
void vw_shortest_find(VwGaugeCase* all);

#endif
