/// @file
/// Edges of a lamp's light, and the times between them.
#ifndef VW_GAUGE_EDGES_H
#define VW_GAUGE_EDGES_H

#include "take/events.h"

/// Edges of one direction, and the line through them.
typedef struct {
  VwEvent*    edges; ///< Owned.
  size_t      n;
  size_t      room;
  VwRapidFire line;
} Edges;

/// Times of a lamp, such as how long each flash is: the middle one, and how far
/// the others are from it; a flash that was cut off counts for neither.
typedef struct {
  double n;
  double middle_ms;
  double jitter_ms;
} Times;

/// How the rate of edges changes, and how far they are from even.
typedef struct {
  double rate_change; ///< From first to last, a share; NaN if not plain.
  double jitter_ms;   ///< RMS about their line, or about its bend.
} Drift;

// So many edges of each direction are as few as make a rate (chosen here).
#define EDGES_LEAST 4

/// Add an edge.
VwStatus vw_edges_add(Edges* edges, size_t frame);

/// Whether most lie on their line.
bool vw_edges_are_even(const Edges* edges);

/// See whether the edges on a line bend it, as a timer does that warms.
Drift vw_edges_drift(const Edges* edges, unsigned rate_hz);

/// The times of so many values, which are put in order.
Times vw_times_of(double* ms, size_t n);

#endif
