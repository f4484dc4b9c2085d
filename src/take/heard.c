#include "take/heard.h"

#include "base/units.h"
#include "take/internal.h"
#include "take/take.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// Every figure is chosen here, by loops made of synthetic takes and of
// recordings.

// So much of the loop's other end is heard before its start, and of its start
// behind its end.
#define MARGIN_MS 64.0

// A rise this high may be a shot; none is higher within so many steps.
#define PEAK_LEAST_DB 1.0
#define PEAK_STEPS 6

// The bands are compared in steps of so many milliseconds.
#define COARSE_MS 4.0

// Rises lie as far apart as others up to so far off.
#define NEAR_MS 4.0

#define PRE_ROLL_MS (1e3 * VW_PRE_ROLL_S)

static void
take_levels(const VwCurve* curve, VwHeard* heard) {
  const double loudest = curve->level[vw_curve_crest(curve, 0, curve->n_steps)];
  for (size_t i = 0; i < heard->n_levels; ++i) {
    const size_t step = vw_curve_steps(curve, 1e-3 * (double)i);
    const size_t last = curve->n_steps - 1U;
    const double level = curve->level[step < last ? step : last];
    heard->level_db[i] =
      vw_db_of_power(fmax(level / loudest, vw_power_of_db(-VW_HEARD_RANGE_DB)));
  }
}

static bool
is_peak(const VwOnsets* onsets, size_t at) {
  const double here = onsets->rise_db[at];
  for (size_t d = 1; d <= PEAK_STEPS; ++d) {
    if ((at >= d && onsets->rise_db[at - d] >= here) ||
        (at + d < onsets->n && onsets->rise_db[at + d] > here)) {
      return false;
    }
  }
  return here >= PEAK_LEAST_DB;
}

/// The rises from half the margin before the loop on, at the top of a parabola.
static void
take_peaks(const VwOnsets* onsets, VwHeard* heard) {
  const double end_ms = heard->length_ms + 0.5 * MARGIN_MS;
  for (size_t i = (size_t)(0.5 * MARGIN_MS);
       i + 1U < onsets->n && (double)i - MARGIN_MS < end_ms;
       ++i) {
    if (is_peak(onsets, i)) {
      const double before = onsets->rise_db[i - 1U];
      const double here = onsets->rise_db[i];
      const double next = onsets->rise_db[i + 1U];
      const double bend = before - 2.0 * here + next;
      const double off = bend < 0.0 ? 0.5 * (before - next) / bend : 0.0;
      heard->peaks[heard->n_peaks++] =
        (VwPeak){(double)i - MARGIN_MS + off - PRE_ROLL_MS, here};
    }
  }
}

static void
take_coarse(const VwOnsets* onsets, VwHeard* heard) {
  const size_t n_bands = onsets->n_bands;
  for (size_t k = 0; k < heard->n_coarse; ++k) {
    const double at_ms = MARGIN_MS + (double)k * heard->coarse_ms;
    for (size_t i = 0; i < (size_t)COARSE_MS * n_bands; ++i) {
      heard->coarse[k * n_bands + i % n_bands] +=
        onsets->band_db[(size_t)(at_ms + 0.5) * n_bands + i] / (float)COARSE_MS;
    }
  }
  for (size_t b = 0; b < n_bands; ++b) {
    float mean = 0.0F;
    for (size_t k = 0; k < heard->n_coarse; ++k) {
      mean += heard->coarse[k * n_bands + b] / (float)heard->n_coarse;
    }
    for (size_t k = 0; k < heard->n_coarse; ++k) {
      heard->coarse[k * n_bands + b] -= mean;
    }
  }
}

bool
vw_heard_within(const VwHeard* heard, const VwPeak* peak) {
  return peak->at_ms >= VW_PEAK_EARLIEST_MS &&
         peak->at_ms < heard->length_ms + VW_PEAK_EARLIEST_MS;
}

/// Add two rises to what lies as far apart as they do.
static void
add_pair(VwHeard* heard, const VwPeak* one, const VwPeak* other) {
  const double apart_ms = other->at_ms - one->at_ms;
  const double weight =
    fmin(one->rise_db, VW_PEAK_MOST_DB) * fmin(other->rise_db, VW_PEAK_MOST_DB);
  const double first_ms = fmax(ceil(apart_ms - NEAR_MS), 0.0);
  for (size_t i = (size_t)first_ms;
       i < heard->n_apart && (double)i < apart_ms + NEAR_MS;
       ++i) {
    heard->apart[i] += weight * (1.0 - fabs((double)i - apart_ms) / NEAR_MS);
  }
}

VwStatus
vw_heard_take_apart(VwHeard* heard) {
  heard->n_apart = (size_t)heard->length_ms + 1U;
  heard->apart = calloc(heard->n_apart, sizeof(double));
  if (!heard->apart) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < heard->n_peaks; ++i) {
    for (size_t j = i + 1U; j < heard->n_peaks; ++j) {
      if (vw_heard_within(heard, &heard->peaks[i]) &&
          vw_heard_within(heard, &heard->peaks[j])) {
        add_pair(heard, &heard->peaks[i], &heard->peaks[j]);
      }
    }
  }
  return VW_OK;
}

void
vw_heard_clear(VwHeard* heard) {
  free(heard->level_db);
  free(heard->peaks);
  free(heard->coarse);
  free(heard->apart);
  memset(heard, 0, sizeof(*heard));
}

static VwStatus
heard_of(const VwOnsets* onsets, const VwCurve* curve, VwHeard* heard) {
  heard->n_levels = onsets->n;
  heard->n_bands = onsets->n_bands;
  heard->n_coarse = (size_t)fmax(heard->length_ms / COARSE_MS + 0.5, 4.0);
  heard->coarse_ms = heard->length_ms / (double)heard->n_coarse;
  heard->level_db = calloc(heard->n_levels, sizeof(double));
  heard->peaks = calloc(onsets->n / PEAK_STEPS + 1U, sizeof(VwPeak));
  heard->coarse = calloc(heard->n_coarse * heard->n_bands, sizeof(float));
  if (!heard->level_db || !heard->peaks || !heard->coarse) {
    return VW_NO_MEMORY;
  }
  take_levels(curve, heard);
  take_peaks(onsets, heard);
  take_coarse(onsets, heard);
  return VW_OK;
}

VwStatus
vw_heard_take(const VwSound* loop, size_t from, VwHeard* heard) {
  const size_t n = loop->n_frames;
  const size_t n_margin = vw_frames_of_s(1e-3 * MARGIN_MS, loop->rate_hz);
  VwSound      played = {0};
  VwOnsets     onsets = {0};
  VwCurve      curve = {0};
  VwStatus st = vw_sound_init(&played, n + 2U * n_margin, 1U, loop->rate_hz);
  for (size_t i = 0; !st && i < played.n_frames; ++i) {
    played.values[i] = loop->values[(i + from + n - n_margin % n) % n];
  }
  st = st ? st : vw_curve_take(&played, &curve);
  st = st ? st : vw_onsets_take(&played, &onsets);
  *heard = (VwHeard){.length_ms = 1e3 * (double)n / loop->rate_hz};
  st = st ? st : heard_of(&onsets, &curve, heard);
  vw_sound_clear(&played);
  vw_onsets_clear(&onsets);
  vw_curve_clear(&curve);
  return st;
}

double
vw_heard_level_db(const VwHeard* heard, double at_ms) {
  const double at = fmax(at_ms + MARGIN_MS + 0.5, 0.0);
  return heard->level_db[at < (double)heard->n_levels ? (size_t)at
                                                      : heard->n_levels - 1U];
}

/// The highest rise at a place, dB; 0: none.
double
vw_heard_rise_db(const VwHeard* heard, double at_ms, double latest_ms) {
  double highest = 0.0;
  for (size_t i = 0; i < heard->n_peaks; ++i) {
    const double off_ms = heard->peaks[i].at_ms - at_ms;
    if (off_ms >= VW_PEAK_EARLIEST_MS && off_ms <= latest_ms) {
      highest = fmax(highest, heard->peaks[i].rise_db);
    }
  }
  return highest;
}

/// How alike two pieces are, 1 for the same.
double
vw_heard_likeness(const VwHeard* heard, const VwPieces* pieces) {
  const size_t n = heard->n_coarse;
  const size_t from = (size_t)(pieces->from_ms / heard->coarse_ms + 0.5);
  const size_t other = (size_t)(pieces->other_ms / heard->coarse_ms + 0.5);
  const size_t later = from > other ? from : other;
  const size_t steps = (size_t)(pieces->length_ms / heard->coarse_ms);
  double       product = 0.0;
  double       energy = 1e-6;
  for (size_t k = 0; k < steps && (pieces->wrap || later + k < n); ++k) {
    const float* const x = heard->coarse + (from + k) % n * heard->n_bands;
    const float* const y = heard->coarse + (other + k) % n * heard->n_bands;
    for (size_t b = 0; b < heard->n_bands; ++b) {
      product += (double)(x[b] * y[b]);
      energy += 0.5 * (double)(x[b] * x[b] + y[b] * y[b]);
    }
  }
  return product / energy;
}
