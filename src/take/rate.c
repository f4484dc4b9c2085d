#include "base/line.h"
#include "base/units.h"
#include "take/events.h"

#include <math.h>

// An event is on the line if it is so near to its place, in periods, and after
// so many empty places the line ends (chosen here).
#define NEAR 0.15
#define PLACES_MISSED 3

// So many spacings are tried for the period, at most.
#define SEEDS 32U

/// Events in order and their times from the first.
typedef struct {
  const VwEvent* events;
  size_t         n;
  double         rate_hz;
} Starts;

static double
time_of(const Starts* starts, size_t i) {
  return (double)(starts->events[i].start_frame -
                  starts->events[0].start_frame) /
         starts->rate_hz;
}

/// A line as far as it is followed.
typedef struct {
  VwLine line;
  size_t first, last; ///< Events on it.
  double k_first, k_last;
} Followed;

/// Follow a line from event `from` on, or back, from a first period.
static void
follow(const Starts* starts,
       size_t        from,
       double        period_s,
       bool          back,
       Followed*     on) {
  double k = 0.0;
  double t = time_of(starts, from);
  for (size_t n = 1; back ? n <= from : from + n < starts->n; ++n) {
    const size_t i = back ? from - n : from + n;
    const bool   known = on->line.n > 3.0;
    const double slope = known ? vw_line_slope(&on->line) : period_s;
    // Between where the last one was and where the line has it.
    const double last = known ? 0.5 * (t + vw_line_at(&on->line, k)) : t;
    const double places = fabs(time_of(starts, i) - last) / slope;
    const double whole = floor(places + 0.5);
    if (whole > 1.0 + PLACES_MISSED) {
      break;
    }
    if (whole >= 1.0 && fabs(places - whole) <= NEAR) {
      k += back ? -whole : whole;
      t = time_of(starts, i);
      vw_line_add(&on->line, k, t);
      *(back ? &on->first : &on->last) = i;
      *(back ? &on->k_first : &on->k_last) = k;
    }
  }
}

/// Two-sided 95 % of Student's distribution (closed forms for 1 and 2 degrees,
/// else the expansion of E. A. Cornish and R. A. Fisher, 1937).
static double
student_95(double degrees) {
  const double z = 1.959964;
  const double z3 = z * z * z;
  return degrees < 1.5   ? 12.706
         : degrees < 2.5 ? 4.303
                         : z + (z3 + z) / (4.0 * degrees) +
                             (5.0 * z3 * z * z + 16.0 * z3 + 3.0 * z) /
                               (96.0 * degrees * degrees);
}

static VwRapidFire
rapid_of(const Followed* on) {
  const VwLine* const line = &on->line;
  const double        slope = vw_line_slope(line);
  const double        spread = vw_line_spread(line);
  const double        squares = vw_line_stray(line);
  const double        per_s = 1.0 / slope;
  const double        error_s = sqrt(squares / (line->n - 2.0) / spread);
  return (VwRapidFire){.first = on->first,
                       .n = on->last - on->first + 1U,
                       .n_on_line = (size_t)line->n,
                       .n_places = (size_t)(on->k_last - on->k_first) + 1U,
                       .fire_rate_per_s = per_s,
                       .uncertainty_per_s =
                         student_95(line->n - 2.0) * error_s * per_s * per_s,
                       .jitter_ms = 1000.0 * sqrt(squares / line->n)};
}

void
vw_rapid_find(const VwEvent* events,
              size_t         n_events,
              unsigned       rate_hz,
              VwRapidFire*   rapid) {
  const Starts starts = {events, n_events, rate_hz};
  const size_t stride = n_events / SEEDS + 1U;
  *rapid = (VwRapidFire){
    .fire_rate_per_s = NAN, .uncertainty_per_s = NAN, .jitter_ms = NAN};
  for (size_t i = 0; i + 1U < n_events; i += stride) {
    const double period_s = time_of(&starts, i + 1U) - time_of(&starts, i);
    Followed     on = {.first = i, .last = i};
    vw_line_add(&on.line, 0.0, time_of(&starts, i));
    follow(&starts, i, period_s, false, &on);
    follow(&starts, i, period_s, true, &on);
    if (on.line.n >= 3.0 && (size_t)on.line.n > rapid->n_on_line) {
      *rapid = rapid_of(&on);
    }
  }
}
