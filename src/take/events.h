#ifndef VW_TAKE_EVENTS_H
#define VW_TAKE_EVENTS_H

#include "signal/signal.h"
#include "store/store.h"

#include "volleyweave/volleyweave.h"

// The one detection of what a take holds. Whoever asks for the kind of a take,
// for its shots or for their rate asks here.

/// One event of a take: a shot, as a rule.
typedef struct {
  size_t start_frame; ///< Its attack (to 1 ms).
  size_t crest_frame; ///< Where its level is highest.
  size_t end_frame;   ///< One past: where the next rises, or what sounds has
                      ///< sunk.
  double step_db;     ///< How much louder the 30 ms after its start are than
                      ///< the 26 ms that end 4 ms before it; dB, at most 60.
  double rise_db;     ///< How much the bands rise at its start, mean, less
                      ///< what glides from one to the next, dB.
  double level_db;    ///< Its crest beside the loudest of the take, dB, <= 0.
  double dip_db;      ///< How far the level falls between the one before and
                      ///< it, below the lower of both crests; the first: NaN.
  bool on_line;       ///< It lies on the line of the take's steady fire.
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

/// Less sure than this, the other kind is named too.
#define VW_SURE_LEAST 0.25

/// A shot whose crest is within this of the loudest, dB, is as good as it.
#define VW_SHOT_RANGE_DB 6.0

/// Whether each event of a take is a shot.
bool vw_events_are_shots(const VwEvents* events);

/// Whether events are surely several shots where so many even ones are counted:
/// each shot of a loop is an event, or there are none that follow each other
/// evenly.
bool vw_events_are_uneven(const VwEvents* events, size_t shots);

/// Have a take be what it is said to be, whatever its events say.
void vw_events_overrule(const VwFindOptions* options, VwEvents* events);

/**
 * Lay a line through the starts of events that follow each other evenly.
 *
 * @param events In order; told whether they are on it.
 * @param rapid All NaN or 0 if fewer than three lie on a line.
 */
void vw_rapid_find(VwEvent*     events,
                   size_t       n_events,
                   unsigned     rate_hz,
                   VwRapidFire* rapid);

/// Leave out what is no shot of a line: events off it between two of its places
/// that follow each other. They are part of the shot before them.
void vw_line_keep(VwEvents* events);

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
  double uncertainty_per_s; ///< Of a recording: 95 % of the true rates lie
                            ///< within; 0 for a loop.
  double first_s;   ///< Of a recording: from its start to its first shot's.
  double left_s;    ///< Of a recording: from its last shot's start to its end.
  double jitter_ms; ///< RMS of the shots' times about an even beat; 0 for a
                    ///< loop.
  VwKind kind;      ///< Of a recording: what its events make of it.
  size_t events;    ///< Of a recording: how many there are; 0 for a loop.
  double common;    ///< Of a loop: what of the level's course its shots have
                    ///< in common; 1 if they are clear.
} VwRateFound;

/**
 * Count the shots of a loop that is not silent, evenly spread over it or over
 * it and the board's gap. With their number the rate is exact.
 *
 * Candidates are all numbers up to 64, with no gap, and with the known one or
 * that with which most rises lie whole periods apart. What speaks for each: how
 * many of the rises it explains, how much the level rises at each shot, how
 * alike the shots are, and the course of the level; weighed by a regression
 * over loops that were made here. Shots that have little in common are none.
 *
 * @param mono One whole cycle of one channel, not empty.
 * @param found Filled in on success.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_NO_STEADY_RATE.
 */
VwStatus vw_loop_count(const VwSound*     mono,
                       const VwLoopKnown* known,
                       VwRateFound*       found);

/**
 * How alike the events of a sound are, each to each: the correlation of their
 * onset patterns, which are the levels of the bands by which events are found,
 * 4 ms at a time, over the first 200 ms or as much as each of them has, but
 * 60 ms at least.
 *
 * @param likeness Set to `n_events` rows of as many, -1 to 1; 1 to itself.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_likeness_find(const VwSound*  sound,
                          const VwEvents* events,
                          float*          likeness);

#endif
