#include "card/loop.h"
#include "signal/signal.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

// The share of all others that what happens at a seam is held against, the
// same as for clicks.
#define SHARE_BELOW 0.999

// So many values tell that share; of more, every other one is looked at.
#define VALUES_MOST 2000000U

// Weights of the prediction, and frames from which it learns (chosen here).
#define ORDER 24U
#define LEARN_FRAMES 131072U

// Frames behind the seam whose prediction crosses it and tells: a step shows in
// the first, a bend in the first or the second.
#define FRAMES_BEHIND 3U

// Below a third of a 16-bit step nothing is a step.
#define STEP_LEAST 1e-5

// What a prediction of pure tones misses beside this share of their usual steps
// is not heard (chosen here).
#define SURPRISE_SHARE 0.3

/// One channel of a loop, which goes on at its start again.
typedef struct {
  const double* x;
  size_t        n;
  const double* weights;
  size_t        order;
} Wave;

static double
at(const Wave* wave, size_t i) {
  return wave->x[i % wave->n];
}

/* What happens about frame i, of which those before it are played */

static double
step_at(const Wave* wave, size_t i) {
  return fabs(at(wave, i) - at(wave, i - 1U));
}

static double
slope_at(const Wave* wave, size_t i) {
  return fabs(at(wave, i) - 2.0 * at(wave, i - 1U) + at(wave, i - 2U));
}

static double
residual_at(const Wave* wave, size_t i) {
  double told = 0.0;
  for (size_t k = 0; k < wave->order; ++k) {
    told += wave->weights[k] * at(wave, i - 1U - k);
  }
  return fabs(at(wave, i) - told);
}

/// Something that is measured about a frame, from how many before it.
typedef struct {
  double (*at)(const Wave* wave, size_t i);
  size_t reach;
  size_t n_behind; ///< Frames behind the seam at which it crosses it.
} Measure;

/// Put the value that a share of all stays below in its place, and return it.
static double
value_at(float* values, size_t n, size_t place) {
  size_t from = 0;
  size_t to = n - 1U;
  while (from < to) {
    const float middle = values[from + (to - from) / 2U];
    size_t      i = from;
    size_t      k = to;
    while (i <= k) {
      while (values[i] < middle) {
        ++i;
      }
      while (values[k] > middle) {
        --k;
      }
      if (i <= k) {
        const float swapped = values[i];
        values[i++] = values[k];
        values[k] = swapped;
        if (!k--) {
          break;
        }
      }
    }
    if (place <= k && k < n) {
      to = k;
    } else if (place >= i) {
      from = i;
    } else {
      break;
    }
  }
  return (double)values[place];
}

/// How often what happens at the seam is what happens elsewhere, or `least` if
/// that is less; below 0 without memory.
static double
times_own(const Wave* wave, const Measure* measure, double least) {
  const size_t n = wave->n - measure->reach;
  const size_t stride = n / VALUES_MOST + 1U;
  const size_t n_values = (n - 1U) / stride + 1U;
  float* const values = malloc(n_values * sizeof(float));
  double       most = 0.0;
  if (!values) {
    return -1.0;
  }
  for (size_t i = 0; i < n_values; ++i) {
    values[i] = (float)measure->at(wave, measure->reach + i * stride);
  }
  const double own =
    value_at(values, n_values, (size_t)(SHARE_BELOW * (double)(n_values - 1U)));
  free(values);
  for (size_t i = 0; i < measure->n_behind; ++i) {
    most = fmax(most, measure->at(wave, wave->n + i));
  }
  return most / fmax(own, least);
}

/// The root mean square of all steps.
static double
mean_step(const Wave* wave) {
  double sum = 0.0;
  for (size_t i = 1; i < wave->n; ++i) {
    const double step = step_at(wave, i);
    sum += step * step;
  }
  return sqrt(sum / (double)(wave->n - 1U));
}

static bool
measure_wave(Wave* wave, VwSeam* seam) {
  double       weights[VW_PREDICT_MOST];
  const size_t n_learn = wave->n < LEARN_FRAMES ? wave->n : LEARN_FRAMES;
  wave->order = ORDER;
  wave->weights = weights;
  if (!vw_predict_fit(wave->x, n_learn, wave->order, weights)) {
    return false;
  }
  const double step = times_own(wave, &(Measure){step_at, 1U, 1U}, STEP_LEAST);
  const double slope =
    times_own(wave, &(Measure){slope_at, 2U, 2U}, STEP_LEAST);
  const double least = fmax(STEP_LEAST, SURPRISE_SHARE * mean_step(wave));
  const double residual =
    times_own(wave, &(Measure){residual_at, ORDER, FRAMES_BEHIND}, least);
  seam->step = fmax(seam->step, step);
  seam->slope = fmax(seam->slope, slope);
  seam->residual = fmax(seam->residual, residual);
  return step >= 0.0 && slope >= 0.0 && residual >= 0.0;
}

VwStatus
vw_seam_measure(const VwSound* loop, VwSeam* seam) {
  const size_t  n = loop->n_frames;
  double* const x = malloc(n * sizeof(double));
  bool          good = x != NULL;
  VwSeam        made = {.height = vw_sound_step(loop, n - 1U, 0U)};
  assert(n >= VW_LOOP_LEAST_FRAMES);
  for (unsigned c = 0; good && c < loop->n_channels; ++c) {
    Wave wave = {x, n, NULL, 0U};
    for (size_t i = 0; i < n; ++i) {
      x[i] = (double)loop->values[i * loop->n_channels + c];
    }
    good = measure_wave(&wave, &made);
  }
  free(x);
  if (good) {
    *seam = made;
  }
  return good ? VW_OK : VW_NO_MEMORY;
}
