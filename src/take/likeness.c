#include "take/events.h"
#include "take/internal.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

// So much of each event is compared, less where one of them is shorter, in such
// steps: as long as a shot is told by, and coarser than its start is known
// (chosen here).
#define PATTERN_S 0.200
#define PATTERN_LEAST_S 0.060
#define STEP_S 0.004

/// The patterns of all events: rows of bands over time.
typedef struct {
  float* rows; ///< Each of mean 0 and length 1, or 0 throughout. Owned.
  size_t n_row;
} Patterns;

/// As much of each event as all of them have, in steps of the onset curve.
static size_t
pattern_steps(const VwSound* sound, const VwEvents* events) {
  double least_s = PATTERN_S;
  for (size_t i = 0; i < events->n_events; ++i) {
    const VwEvent* const event = &events->events[i];
    least_s = fmin(least_s,
                   (double)(event->end_frame - event->start_frame) /
                     (double)sound->rate_hz);
  }
  return (size_t)(fmax(least_s, PATTERN_LEAST_S) / VW_ONSET_STEP_S + 0.5);
}

/// What an event's bands do; before its end, that is before the next.
static void
take_pattern(const VwOnsets* onsets, size_t from, size_t to, float* row) {
  const size_t n_bands = onsets->n_bands;
  const size_t n_step = (size_t)(STEP_S / VW_ONSET_STEP_S + 0.5);
  for (size_t i = from; i < to && i < onsets->n; ++i) {
    float* const cell = row + (i - from) / n_step * n_bands;
    for (size_t b = 0; b < n_bands; ++b) {
      cell[b] += onsets->band_db[i * n_bands + b];
    }
  }
}

/// Make a row one of mean 0 and length 1: products are then correlations.
static void
normalise(float* row, size_t n) {
  double sum = 0.0;
  double squares = 0.0;
  for (size_t i = 0; i < n; ++i) {
    sum += (double)row[i];
  }
  const double mean = sum / (double)n;
  for (size_t i = 0; i < n; ++i) {
    row[i] -= (float)mean;
    squares += (double)row[i] * (double)row[i];
  }
  for (size_t i = 0; i < n && squares > 0.0; ++i) {
    row[i] /= (float)sqrt(squares);
  }
}

static VwStatus
take_patterns(const VwSound* sound, const VwEvents* events, Patterns* out) {
  VwOnsets     onsets = {0};
  const size_t n_most = pattern_steps(sound, events);
  const size_t n_times = (size_t)(PATTERN_S / STEP_S + 0.5);
  VwStatus     st = vw_onsets_take(sound, &onsets);
  out->n_row = n_times * onsets.n_bands;
  out->rows =
    st ? NULL : calloc(events->n_events * out->n_row + 1U, sizeof(float));
  st = st || out->rows ? st : VW_NO_MEMORY;
  for (size_t i = 0; !st && i < events->n_events; ++i) {
    const double per_frame = 1.0 / (sound->rate_hz * VW_ONSET_STEP_S);
    const size_t from =
      (size_t)((double)events->events[i].start_frame * per_frame);
    const size_t to = (size_t)((double)events->events[i].end_frame * per_frame);
    float* const row = out->rows + i * out->n_row;
    take_pattern(&onsets, from, to < from + n_most ? to : from + n_most, row);
    normalise(row, out->n_row);
  }
  vw_onsets_clear(&onsets);
  return st;
}

static float
product(const float* a, const float* b, size_t n) {
  float sum = 0.0F;
  for (size_t i = 0; i < n; ++i) {
    sum += a[i] * b[i];
  }
  return fminf(fmaxf(sum, -1.0F), 1.0F);
}

VwStatus
vw_likeness_find(const VwSound*  sound,
                 const VwEvents* events,
                 float*          likeness) {
  assert(sound && events && likeness);
  const size_t   n = events->n_events;
  Patterns       patterns = {0};
  const VwStatus st = take_patterns(sound, events, &patterns);
  for (size_t i = 0; !st && i < n; ++i) {
    const float* const row = patterns.rows + i * patterns.n_row;
    likeness[i * n + i] = 1.0F;
    for (size_t k = 0; k < i; ++k) {
      const float of =
        product(row, patterns.rows + k * patterns.n_row, patterns.n_row);
      likeness[i * n + k] = of;
      likeness[k * n + i] = of;
    }
  }
  free(patterns.rows);
  return st;
}
