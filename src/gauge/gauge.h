/// @file
/// A board and its speaker, measured by a recording of what they play.
#ifndef VW_GAUGE_H
#define VW_GAUGE_H

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
} VwMark;

/// As many marks as a test sound has.
#define VW_MARKS_MOST 16U

/// A test sound, as it is laid out. The places and glides of the marks differ
/// from format to format, and tell where in the file one is.
typedef struct {
  VwMark   marks[VW_MARKS_MOST];
  size_t   n_marks;
  double   mark_s; ///< How long a mark is.
  double   low_hz;
  double   high_hz;
  unsigned rate_hz;
  unsigned n_channels;
  size_t   n_frames;
} VwTestSound;

/**
 * Lay out a test sound: 2 s long, or shorter if the board takes no more.
 *
 * @param test Filled in on success.
 * @return #VW_OK, #VW_FILE_TOO_BIG (less than 1 s fits).
 */
VwStatus vw_test_plan(const VwTestWish* wish, VwTestSound* test);

/// A mark at a time after its start, of height 1; 0 outside of it. With
/// `quarter` a quarter of a turn later, as the other half of its envelope.
double vw_test_mark_at(const VwTestSound* test,
                       bool               falls,
                       bool               quarter,
                       double             time_s);

/**
 * Make the sound.
 *
 * @param sound Filled in on success; free it with vw_sound_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_test_make(const VwTestSound* test, VwSound* sound);

#endif
