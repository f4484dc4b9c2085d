// Edges of a lamp's light, and the times between them.

#include "gauge/lamp/edges.h"
#include "base/line.h"
#include "base/units.h"

#include <math.h>
#include <stdlib.h>

// So many of the edges lie on their line (chosen here).
#define ON_LINE_LEAST 0.7

// A bend is plain if it is so many times its standard error, and changes the
// rate by so much (chosen here).
#define BEND_ERRORS 5.0
#define RATE_CHANGE_LEAST 0.003

VwStatus
vw_edges_add(Edges* edges, size_t frame) {
  if (edges->n == edges->room) {
    const size_t   room = edges->room ? 2U * edges->room : 64U;
    VwEvent* const more = realloc(edges->edges, room * sizeof(*more));
    if (!more) {
      return VW_NO_MEMORY;
    }
    edges->edges = more;
    edges->room = room;
  }
  edges->edges[edges->n++] = (VwEvent){.start_frame = frame};
  return VW_OK;
}

bool
vw_edges_are_even(const Edges* edges) {
  return edges->line.n_on_line >= EDGES_LEAST &&
         (double)edges->line.n_on_line >=
           ON_LINE_LEAST * fmax((double)edges->n, (double)edges->line.n_places);
}

/* Drift */

/// Edges on a line, as they are gone through.
typedef struct {
  const Edges* edges;
  double       period; ///< Frames.
  size_t       i;      ///< The edge,
  double       place;  ///< and how many periods from the first, in whole ones.
  double       after;  ///< Its frames after the first.
} Walk;

/// Go on to the next one on the line. False behind the last.
static bool
walk(Walk* walk) {
  const VwRapidFire* const line = &walk->edges->line;
  const VwEvent* const     all = walk->edges->edges;
  size_t                   next = walk->i + 1U;
  while (next < line->first + line->n && !all[next].on_line) {
    ++next;
  }
  if (next >= line->first + line->n) {
    return false;
  }
  const double step =
    (double)(all[next].start_frame - all[walk->i].start_frame);
  walk->place += floor(step / walk->period + 0.5);
  walk->after += step;
  walk->i = next;
  return true;
}

/// Least squares with a square term: what a parabola is off its own line is
/// held against what the edges are off theirs.
Drift
vw_edges_drift(const Edges* edges, unsigned rate_hz) {
  const VwRapidFire* const line = &edges->line;
  const Walk               first = {
                  edges, rate_hz / line->fire_rate_per_s, line->first, 0.0, 0.0};
  Drift  drift = {NAN, line->jitter_ms};
  VwLine times = {0};
  VwLine squares = {0};
  double bent = 0.0;
  double both = 0.0;
  Walk   at = first;
  do {
    vw_line_add(&times, at.place, at.after);
    vw_line_add(&squares, at.place, at.place * at.place);
  } while (walk(&at));
  const double last = at.place;
  at = first;
  do {
    const double bend = at.place * at.place - vw_line_at(&squares, at.place);
    bent += bend * bend;
    both += bend * (at.after - vw_line_at(&times, at.place));
  } while (walk(&at));
  const double c = both / bent;
  const double left = fmax(vw_line_stray(&times) - c * both, 0.0);
  const double change = -2.0 * c * last / first.period;
  if (times.n > 2.0 * EDGES_LEAST && fabs(change) >= RATE_CHANGE_LEAST &&
      c * c * bent * (times.n - 3.0) > BEND_ERRORS * BEND_ERRORS * left) {
    drift = (Drift){change, 1e3 * sqrt(left / times.n) / rate_hz};
  }
  return drift;
}

/* Times */

/// Half of what two thirds of all values lie within is their spread (of a
/// normal distribution the standard deviation). Puts them in order.
Times
vw_times_of(double* ms, size_t n) {
  qsort(ms, n, sizeof(*ms), vw_compare_doubles);
  return n ? (Times){(double)n,
                     ms[n / 2U],
                     0.5 * (ms[n - 1U - n / 6U] - ms[n / 6U])}
           : (Times){0.0, NAN, NAN};
}
