#ifndef VW_TAKE_EVENTS_H
#define VW_TAKE_EVENTS_H

#include "signal/signal.h"

#include "volleyweave/volleyweave.h"

// The one detection of what a take holds. Whoever asks for the kind of a take,
// for its shots or for their rate asks here.

/// Less sure than this, the other kind is named too.
#define VW_SURE_LEAST 0.25

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
