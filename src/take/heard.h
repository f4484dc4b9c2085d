/// @file
/// What is heard of a loop, and what of it tells how many shots it holds. For
/// the take's own room.
#ifndef VW_TAKE_HEARD_H
#define VW_TAKE_HEARD_H

#include "signal/signal.h"

#include "volleyweave/volleyweave.h"

/// Levels are followed down to so far below the loudest.
#define VW_HEARD_RANGE_DB 90.0

/// A rise counts as no more than this.
#define VW_PEAK_MOST_DB 10.0

/// A shot's rise is no earlier than this beside the shot's place.
#define VW_PEAK_EARLIEST_MS (-5.0)

/// Where the bands rise most.
typedef struct {
  double at_ms; ///< Behind the pre-roll that the loop starts with.
  double rise_db;
} VwPeak;

/// What is heard of a loop that is played without end. Starts all zero.
typedef struct {
  double  length_ms;
  double* level_db; ///< Each ms, from a margin on, below the loudest. Owned.
  size_t  n_levels;
  VwPeak* peaks; ///< Also those near before and behind it. Owned.
  size_t  n_peaks;
  float*  coarse; ///< The bands' levels less their mean, step by step. Owned.
  size_t  n_coarse;
  size_t  n_bands;
  double  coarse_ms;
  double* apart; ///< How much of the rises lies so many ms apart; NULL until
                 ///< it is taken. Owned.
  size_t n_apart;
} VwHeard;

/**
 * Listen to a loop.
 *
 * @param loop One whole cycle of one channel, not empty.
 * @param from The frame that it is taken to start at.
 * @param heard Filled in, and cleared by vw_heard_clear() also after a failure.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_heard_take(const VwSound* loop, size_t from, VwHeard* heard);

/**
 * Take how much of the rises lies so many ms apart, once.
 *
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_heard_take_apart(VwHeard* heard);

/// Free what is owned.
void vw_heard_clear(VwHeard* heard);

/// The level about a time, dB.
double vw_heard_level_db(const VwHeard* heard, double at_ms);

/// Whether a rise belongs to the cycle at hand, and not to the next.
bool vw_heard_within(const VwHeard* heard, const VwPeak* peak);

/// The highest rise at a place, up to so late; 0: there is none.
double vw_heard_rise_db(const VwHeard* heard, double at_ms, double latest_ms);

/// Two pieces of a loop.
typedef struct {
  double from_ms;
  double other_ms;
  double length_ms;
  bool   wrap; ///< They run on over the seam; else they end there.
} VwPieces;

/// How alike two pieces are: 1 for the same course of all bands, about 0 for
/// two that have nothing to do with each other.
double vw_heard_likeness(const VwHeard* heard, const VwPieces* pieces);

#endif
