/// @file
/// The search for a shot, while it lasts.
#ifndef VW_TAKE_SEARCH_H
#define VW_TAKE_SEARCH_H

#include "take/events.h"
#include "take/internal.h"

/**
 * All that the search for a shot comes by, and the facts it fills in.
 *
 * It looks at the take without the digital silence about it, which so moves
 * nothing. Noise is what is steady: before the rise, or else behind the tail.
 * The shot starts where what is within 40 dB of its crest, or stands out of the
 * noise where that is louder, rises after 20 ms of quiet; it ends where what is
 * left of it is 60 dB down or has sunk into the noise.
 */
typedef struct {
  const VwTake*        take;
  const VwFindOptions* options;
  VwSound              sound; ///< The take's, a view. All frames are of it.
  size_t               first; ///< Its first frame in the take.
  const VwEvents*      events;
  size_t               event; ///< Which of them is meant.
  VwCurve              curve;
  double               loudest; ///< Highest power of the take's curve.
  VwMeantShot          shot;
  double               before; ///< Power of the noise there; NaN: unknown.
  double               after;  ///< The same, of what the tail sinks into.
  VwShotFacts          facts;
} VwShotSearch;

/// Note what the events say of the whole take.
void vw_facts_note_events(const VwEvents* events, VwShotFacts* facts);

/// Find how fast the shot found can be fired without tightening, as vw_find()
/// says.
///
/// @return #VW_OK or #VW_NO_MEMORY.
VwStatus vw_fastest_find(const VwShotSearch* search, double* fire_rate_per_s);

/**
 * Find all that there is to know of one event's shot.
 *
 * @param facts Filled in on success, and with #VW_BAD_START.
 * @return As vw_find_among().
 */
VwStatus vw_shot_find(const VwShotSearch* whole,
                      size_t              event,
                      VwShotFacts*        facts);

#endif
