#include "base/units.h"
#include "burst/burst.h"
#include "burst/internal.h"
#include "signal/signal.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

// The valley is met from above, by no less than the first of these and no more
// than the second: another meter, whose window is a frame longer or shorter,
// must not read less than was asked.
#define OVER_LEAST_DB 0.03
#define OVER_MOST_DB 0.08

// A bend by 100 dB in 5 ms is a cut; no steeper one deepens a valley.
#define STEEPEST_DB_PER_S 20000.0

// The bracket shrinks to a tenth with every two steps or so.
#define STEPS_MOST 40

// What has fallen so far below itself is cut off.
#define GONE 1e-7

/// The search for the least bend.
typedef struct {
  const VwVolley* volley;
  const size_t*   bend_from;
  VwSound*        bent;  ///< Copies of the shots to bend.
  VwSound         cycle; ///< Room for the steady cycle.
  double          wanted_db;
  double          ceiling; ///< That counts now; HUGE_VAL: none.
  double          span_s;  ///< Over which a slope mostly deepens the valley by
                           ///< two thirds of its fall.
} Search;

/// How tails are bent.
typedef struct {
  double slope; ///< dB per second; natural: below the first corner.
  bool   natural;
} Bend;

/// A tail being bent: the slope, one past its end, where to.
typedef struct {
  double slope;
  size_t n_frames;
  float* values;
} Bent;

size_t
vw_tighten_margin(unsigned rate_hz) {
  return vw_frames_of_s(VW_LEVEL_WINDOW_S / 2.0, rate_hz);
}

// A natural bend takes so many times the slope from each of three bands. In
// rooms absorption by air and by most walls grows with frequency, so highs
// decay faster (H. Kuttruff, "Room Acoustics", from memory); these shares
// and corners are chosen here.
static const double band_slope[] = {1.0, 1.6, 2.6};
static const double band_corner_hz[] = {1000.0, 4000.0};

/// The tail of one channel in three bands that sum up to it, each bent.
static void
bend_bands(const VwSound* shot, unsigned channel, size_t from, Bent* bent) {
  const size_t n_channels = shot->n_channels;
  double       pole[2], low[2] = {0.0, 0.0}, step[3], gain[3] = {1.0, 1.0, 1.0};
  for (int i = 0; i < 2; ++i) {
    pole[i] = 1.0 - exp(-2.0 * acos(-1.0) * band_corner_hz[i] / shot->rate_hz);
  }
  for (int i = 0; i < 3; ++i) {
    step[i] = vw_gain_of_db(-bent->slope * band_slope[i] / shot->rate_hz);
  }
  for (size_t frame = 0; frame < bent->n_frames; ++frame) {
    const size_t at = frame * n_channels + channel;
    const double x = (double)shot->values[at];
    low[0] += pole[0] * (x - low[0]);
    low[1] += pole[1] * (x - low[1]);
    if (frame >= from) {
      bent->values[at] =
        (float)(gain[0] * low[0] + gain[1] * (low[1] - low[0]) +
                gain[2] * (x - low[1]));
      for (int i = 0; i < 3; ++i) {
        gain[i] *= step[i];
      }
    }
  }
}

static void
bend(const VwSound* shot, size_t from, const Bend* how, VwSound* bent) {
  const double slope = how->slope;
  const size_t n_channels = shot->n_channels;
  const size_t n_kept = from < shot->n_frames ? from : shot->n_frames;
  const double step = vw_gain_of_db(-slope / (double)shot->rate_hz);
  size_t       frame = n_kept;
  memcpy(bent->values, shot->values, n_kept * n_channels * sizeof(float));
  for (size_t c = 0; c < n_channels; ++c) {
    double gain = 1.0;
    for (frame = n_kept; frame < shot->n_frames && gain > GONE; ++frame) {
      const size_t at = frame * n_channels + c;
      bent->values[at] = (float)((double)shot->values[at] * gain);
      gain *= step;
    }
  }
  if (how->natural && slope > 0.0) {
    for (unsigned c = 0; c < shot->n_channels; ++c) {
      bend_bands(shot, c, n_kept, &(Bent){slope, frame, bent->values});
    }
  }
  // What is cut off ends in exact zero, as the whole shot does.
  memset(
    bent->values + (frame - 1U) * n_channels, 0, n_channels * sizeof(float));
  bent->n_frames = frame;
}

/// Bend all shots by `slope` and measure the valley.
static VwStatus
try_slope(const Search* search, double slope, double* valley_db) {
  VwVolley bent = *search->volley;
  for (unsigned i = 0; i < bent.plan->shots; ++i) {
    const Bend how = {slope, bent.natural};
    bend(
      &search->volley->shots[i], search->bend_from[i], &how, &search->bent[i]);
  }
  bent.shots = search->bent;
  bent.ceiling = search->ceiling;
  VwSound        cycle = search->cycle;
  const VwStatus st = vw_burst_fold(&bent, &cycle);
  return st ? st : vw_valley_measure(&cycle, bent.plan, valley_db);
}

/// A slope and the valley that it makes.
typedef struct {
  double slope;
  double valley_db;
} Point;

/// The slope to try next: by straight line, kept off the bracket's ends.
static double
between(Point below, Point above, double wanted_db) {
  const double span = above.valley_db - below.valley_db;
  const double part = span > 0.0 ? (wanted_db - below.valley_db) / span : 0.5;
  return below.slope + (above.slope - below.slope) * fmin(fmax(part, 0.1), 0.9);
}

/// Steepen the bend until the valley is reached, or no steeper one helps.
static VwStatus
bracket(const Search* search, Point* below, Point* above) {
  const double missing_db = search->wanted_db - below->valley_db;
  const double least = below->slope;
  VwStatus     st = VW_OK;
  above->slope = least + fmax(missing_db, 0.5) * 1.5 / search->span_s;
  while (!(st = try_slope(search, above->slope, &above->valley_db)) &&
         above->valley_db < search->wanted_db + OVER_LEAST_DB &&
         above->slope < STEEPEST_DB_PER_S) {
    *below = *above;
    above->slope =
      fmin(least + (above->slope - least) * 2.0, STEEPEST_DB_PER_S);
  }
  return st;
}

static VwStatus
least_slope(const Search* search, Point below, Point* least) {
  Point    above = {0};
  VwStatus st = bracket(search, &below, &above);
  for (int i = 0; !st && i < STEPS_MOST &&
                  above.valley_db > search->wanted_db + OVER_MOST_DB;
       ++i) {
    const double aim = search->wanted_db + (OVER_LEAST_DB + OVER_MOST_DB) / 2.0;
    Point        middle = {between(below, above, aim), 0.0};
    st = try_slope(search, middle.slope, &middle.valley_db);
    if (middle.valley_db >= search->wanted_db + OVER_LEAST_DB) {
      above = middle;
    } else {
      below = middle;
    }
  }
  *least = above;
  return st;
}

static VwStatus
search_init(Search* search, const VwVolley* volley) {
  const unsigned n_shots = volley->plan->shots;
  const VwSound* first = volley->shots;
  VwStatus       st = vw_sound_init(
    &search->cycle, volley->plan->n_frames, first->n_channels, first->rate_hz);
  search->bent = calloc(n_shots, sizeof(VwSound));
  st = search->bent ? st : VW_NO_MEMORY;
  for (unsigned i = 0; !st && i < n_shots; ++i) {
    st = vw_sound_copy(&volley->shots[i], &search->bent[i]);
  }
  return st;
}

static void
search_clear(Search* search) {
  for (unsigned i = 0; search->bent && i < search->volley->plan->shots; ++i) {
    vw_sound_clear(&search->bent[i]);
  }
  free(search->bent);
  vw_sound_clear(&search->cycle);
}

/// Bend no less than `point` says, and no more than the valley needs under a
/// ceiling.
static VwStatus
deepen(Search* search, double ceiling, Point* point) {
  Point below = *point;
  search->ceiling = ceiling;
  VwStatus st = try_slope(search, point->slope, &below.valley_db);
  *point = below;
  if (!st && below.valley_db < search->wanted_db + OVER_LEAST_DB) {
    st = least_slope(search, below, point);
    search->span_s =
      1.5 * (point->valley_db - below.valley_db) / (point->slope - below.slope);
  }
  return st;
}

VwStatus
vw_tighten(const VwVolley* volley,
           VwSound*        shots,
           const size_t*   bend_from,
           double          valley_db,
           VwTightness*    tightness) {
  Search   search = {.volley = volley,
                     .bend_from = bend_from,
                     .wanted_db = valley_db,
                     .span_s = vw_plan_period_s(volley->plan)};
  Point    point = {0};
  VwStatus st = search_init(&search, volley);
  // First as if nothing were limited: a limiter may deepen the valley between
  // tails that pile up, but such a pile is not what was asked for.
  st = st ? st : deepen(&search, HUGE_VAL, &point);
  if (!st && volley->ceiling != HUGE_VAL &&
      point.valley_db < valley_db + volley->limiting_most_db) {
    st = deepen(&search, volley->ceiling, &point);
  }
  for (unsigned i = 0; !st && point.slope > 0.0 && i < volley->plan->shots;
       ++i) {
    const Bend how = {point.slope, volley->natural};
    bend(&volley->shots[i], bend_from[i], &how, &search.bent[i]);
    const VwSound whole = shots[i];
    shots[i] = search.bent[i];
    search.bent[i] = whole;
  }
  search_clear(&search);
  if (!st) {
    *tightness = (VwTightness){
      point.valley_db, point.slope, point.slope >= STEEPEST_DB_PER_S};
  }
  return st;
}
