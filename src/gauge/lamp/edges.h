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

/// Add an edge.
VwStatus vw_edges_add(Edges* edges, size_t frame);

/// Whether most lie on their line.
bool vw_edges_are_even(const Edges* edges);

/// The times of so many values, which are put in order.
Times vw_times_of(double* ms, size_t n);

#endif
