#ifndef VW_TAKE_EVENTS_H
#define VW_TAKE_EVENTS_H

#include "signal/signal.h"

#include "volleyweave/volleyweave.h"

// The one detection of what a take holds. Whoever asks for the kind of a take,
// for its shots or for their rate asks here.

/// Less sure than this, the other kind is named too.
#define VW_SURE_LEAST 0.25

/// One event of a take: a shot, as a rule.
typedef struct {
  size_t start_frame; ///< Its attack (to 1 ms).
  size_t crest_frame; ///< Where its level is highest.
  size_t end_frame;   ///< One past: where the next rises, or what sounds has
                      ///< sunk.
  double rise_db;     ///< How much the bands rise at its start, mean, dB.
  double level_db;    ///< Its crest beside the loudest of the take, dB, <= 0.
  double dip_db;      ///< How far the level falls between the one before and
                      ///< it, below the lower of both crests; the first: NaN.
} VwEvent;

/// The steady fire of a take, all NaN or 0 if it has none.
typedef struct {
  size_t first;             ///< The first of the events on the line.
  size_t n;                 ///< Events from there to the last on the line.
  size_t n_on_line;         ///< How many of these lie on it.
  size_t n_places;          ///< Periods from the first to the last, and one.
  double fire_rate_per_s;   ///< Of the line through their starts.
  double uncertainty_per_s; ///< 95 % of the true ones lie within.
  double jitter_ms;         ///< RMS distance of the starts from the line.
} VwRapidFire;

/// What a take holds.
typedef struct {
  VwKind kind;
  VwKind other_kind;  ///< The kind beyond the nearest bound.
  double sure;        ///< How far the nearest bound is: 0 on it, 1 if it
                      ///< cannot be mistaken.
  VwEvent*    events; ///< Owned. At least one.
  size_t      n_events;
  VwRapidFire rapid;
} VwEvents;

/**
 * Find the events of a sound and what kind of take they make.
 *
 * @param sound Such as a take, prepared; 5 ms or more, not silent.
 * @param events Filled in on success; free it with vw_events_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_events_find(const VwSound* sound, VwEvents* events);

/// Free what `events` owns and set it to zero. NULL is accepted.
void vw_events_clear(VwEvents* events);

/**
 * Lay a line through the starts of events that follow each other evenly.
 *
 * @param events In order.
 * @param rapid All NaN or 0 if fewer than three lie on a line.
 */
void vw_rapid_find(const VwEvent* events,
                   size_t         n_events,
                   unsigned       rate_hz,
                   VwRapidFire*   rapid);

#endif
