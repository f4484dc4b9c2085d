// A lamp, gauged by the brightness of each picture of a video.

#include "base/units.h"
#include "gauge/lamp/edges.h"
#include "gauge/lamp/lamp.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

// Of the lit pictures of a video that part is darker than what is lit all
// through; what is brighter than that share of it is a flash's. A flash lies
// between two pictures: so many places are told apart in each (chosen here).
#define LIT_PART 0.6
#define LIT_SHARE 0.1
#define LIGHT_NEAR 0.3

// No picture counts as more lit ones than this, however bright it is: what lies
// far off all others is no lamp's (chosen here).
#define LIGHT_MOST 100.0

#define VIDEO_PARTS 1000.0
#define VIDEO_LEAST 12U

/// What is dark and what is lit: low and high of the brightness.
typedef struct {
  double dark;
  double lit;
} Range;

/// The dark is the middle of all pictures below half of the brightest; lit is
/// what most of the others reach, since their ends are lit for a part alone.
static VwStatus
range_of(const double* brightness, size_t n, Range* range) {
  double* const sorted = malloc(n * sizeof(*sorted));
  if (!sorted) {
    return VW_NO_MEMORY;
  }
  memcpy(sorted, brightness, n * sizeof(*sorted));
  qsort(sorted, n, sizeof(*sorted), vw_compare_doubles);
  const double half = 0.5 * (sorted[0] + sorted[n - 1U]);
  size_t       n_dark = 0;
  while (n_dark < n && sorted[n_dark] <= half) {
    ++n_dark;
  }
  const size_t lit = n_dark + (size_t)(LIT_PART * (double)(n - n_dark));
  // Of pictures that are all alike none is lit.
  *range = (Range){sorted[n_dark / 2U], sorted[lit < n ? lit : n - 1U]};
  free(sorted);
  return VW_OK;
}

/// The flashes of a video.
typedef struct {
  Edges   at;    ///< The middle of each one's light, in parts of a picture.
  double* light; ///< Of each, in lit pictures. Owned.
} Flashes;

static VwStatus
flashes_find(const double* brightness,
             size_t        n,
             const Range*  range,
             Flashes*      flashes) {
  double   sum = 0.0;
  double   moment = 0.0;
  VwStatus st = VW_OK;
  for (size_t i = 0; !st && i < n; ++i) {
    const double part = fmin(
      (brightness[i] - range->dark) / (range->lit - range->dark), LIGHT_MOST);
    if (part > LIT_SHARE) {
      sum += part;
      moment += part * ((double)i + 0.5);
      continue;
    }
    if (sum > 0.0) {
      flashes->light[flashes->at.n] = sum;
      st = vw_edges_add(&flashes->at, (size_t)(VIDEO_PARTS * moment / sum));
    }
    sum = moment = 0.0;
  }
  return st;
}

/// Keep the flashes that are as long as most: one that is cut off has its
/// middle elsewhere.
static VwStatus
flashes_keep(Flashes* flashes, Times* light) {
  double* const sorted = malloc((flashes->at.n + 1U) * sizeof(*sorted));
  size_t        n = 0;
  if (!sorted) {
    return VW_NO_MEMORY;
  }
  memcpy(sorted, flashes->light, flashes->at.n * sizeof(*sorted));
  *light = vw_times_of(sorted, flashes->at.n);
  free(sorted);
  for (size_t i = 0; i < flashes->at.n; ++i) {
    flashes->at.edges[n] = flashes->at.edges[i];
    n += fabs(flashes->light[i] / light->middle_ms - 1.0) < LIGHT_NEAR;
  }
  flashes->at.n = n;
  return VW_OK;
}

static VwStatus
gauge_video(const double* brightness,
            size_t        n,
            double        pictures_per_s,
            Flashes*      flashes,
            VwLampGauged* gauged) {
  Range    range = {0};
  Times    light = {0};
  VwStatus st = range_of(brightness, n, &range);
  if (!st && range.lit <= range.dark) {
    return VW_SILENT;
  }
  st = st ? st : flashes_find(brightness, n, &range, flashes);
  st = st ? st : flashes_keep(flashes, &light);
  if (st) {
    return st;
  }
  VwRapidFire* const line = &flashes->at.line;
  vw_rapid_find(flashes->at.edges,
                flashes->at.n,
                (unsigned)(VIDEO_PARTS * pictures_per_s + 0.5),
                line);
  if (!vw_edges_are_even(&flashes->at)) {
    return VW_NO_STEADY_RATE;
  }
  const double picture_ms = 1e3 / pictures_per_s;
  const Drift  drift = vw_edges_drift(
    &flashes->at, (unsigned)(VIDEO_PARTS * pictures_per_s + 0.5));
  const double first = (double)flashes->at.edges[line->first].start_frame;
  *gauged = (VwLampGauged){
    .rate_hz = line->fire_rate_per_s,
    .uncertainty_hz = line->uncertainty_per_s,
    .jitter_ms = drift.jitter_ms,
    .rate_change = drift.rate_change,
    .flashes = line->n_on_line,
    .first_s =
      1e-3 * picture_ms * (first / VIDEO_PARTS - 0.5 * light.middle_ms),
    .on_ms = light.middle_ms * picture_ms,
    .on_jitter_ms = light.jitter_ms * picture_ms,
    .dark_ms = 1e3 / line->fire_rate_per_s - light.middle_ms * picture_ms,
    .shown = true,
    .hum_hz = NAN,
    .sound_lag_ms = NAN,
    .sound_rate_hz = NAN};
  return VW_OK;
}

VwStatus
vw_lamp_gauge_video(const double* brightness,
                    size_t        n_pictures,
                    double        pictures_per_s,
                    VwLampGauged* gauged) {
  assert(brightness && gauged && pictures_per_s > 0.0);
  if (n_pictures < VIDEO_LEAST) {
    return VW_TOO_SHORT;
  }
  Flashes        flashes = {.light = malloc(n_pictures * sizeof(double))};
  const VwStatus st =
    flashes.light
      ? gauge_video(brightness, n_pictures, pictures_per_s, &flashes, gauged)
      : VW_NO_MEMORY;
  free(flashes.light);
  free(flashes.at.edges);
  return st;
}
