#include "base/units.h"
#include "signal/signal.h"

#include <math.h>
#include <stdlib.h>

// What a transform finds is looked at exactly if it is so near to the best; it
// is wrong by far less (chosen here).
#define NEAR 1e-4

static double
energy_of(const VwSound* sound, size_t from, size_t n) {
  const float* const values = sound->values + from * sound->n_channels;
  double             energy = 0.0;
  for (size_t i = 0; i < n * sound->n_channels; ++i) {
    energy += (double)values[i] * (double)values[i];
  }
  return energy;
}

static double
ratio(double product, double one, double other) {
  const double scale = sqrt(fmax(one, 0.0) * fmax(other, 0.0));
  return scale > 1e-12 ? fmin(fmax(product / scale, -1.0), 1.0) : 0.0;
}

double
vw_slide_likeness(const VwSlide* wish) {
  const size_t       n_channels = wish->one->n_channels;
  const float* const a = wish->one->values + wish->at * n_channels;
  const float* const b = wish->other->values + wish->from * n_channels;
  double             product = 0.0;
  for (size_t i = 0; i < wish->n * n_channels; ++i) {
    product += (double)a[i] * (double)b[i];
  }
  return ratio(product,
               energy_of(wish->one, wish->at, wish->n),
               energy_of(wish->other, wish->from, wish->n));
}

VwStatus
vw_slide_over_lag(const VwSlide* wish, double* likeness) {
  const size_t n_channels = wish->one->n_channels;
  const double energy = energy_of(wish->one, wish->at, wish->n);
  double       slid = energy_of(wish->other, wish->from, wish->n);
  VwStatus     st = VW_OK;
  for (size_t i = 0; i < wish->n_lags; ++i) {
    likeness[i] = 0.0;
  }
  for (size_t c = 0; !st && c < n_channels; ++c) {
    const VwCross cross = {wish->one->values + wish->at * n_channels + c,
                           wish->other->values + wish->from * n_channels + c,
                           n_channels,
                           wish->n,
                           wish->n_lags};
    st = vw_spectrum_cross(&cross, wish->transforms, likeness);
  }
  for (size_t i = 0; !st && i < wish->n_lags; ++i) {
    likeness[i] = ratio(likeness[i], energy, slid);
    if (i + 1U < wish->n_lags) {
      slid += energy_of(wish->other, wish->from + i + wish->n, 1U) -
              energy_of(wish->other, wish->from + i, 1U);
    }
  }
  return st;
}

VwStatus
vw_slide_best(const VwSlide* wish, size_t step, size_t* at, double* likeness) {
  double* const  over_lag = calloc(wish->n_lags, sizeof(double));
  const VwStatus st =
    over_lag ? vw_slide_over_lag(wish, over_lag) : VW_NO_MEMORY;
  double most = -1.0;
  for (size_t i = 0; !st && i < wish->n_lags; i += step) {
    most = fmax(most, over_lag[i]);
  }
  VwSlide there = *wish;
  *likeness = -2.0;
  for (size_t i = 0; !st && i < wish->n_lags; i += step) {
    if (over_lag[i] >= most - NEAR) {
      there.from = wish->from + i;
      const double alike = vw_slide_likeness(&there);
      *at = alike > *likeness ? there.from : *at;
      *likeness = fmax(alike, *likeness);
    }
  }
  free(over_lag);
  return st;
}

// How the tones of two stretches are shifted. Values that are weighed by it are
// written, and a library's transform rounds as it was compiled; this one sums
// in double and in one order, so that each system writes the same bytes.

// Bins on either side that are counted in: a window's sound is spread so far.
#define SPREAD 2U

/* The transform */

/// The largest factor of a transform's length.
enum { FACTOR_MOST = 5 };

/// A transform of complex values: a pair is a real and an imaginary part.
typedef struct {
  size_t  n;
  VwPair* turns; ///< Of each part of a turn, backwards.
  VwPair* time;
  VwPair* bins;
} Transform;

static size_t
factor_of(size_t n) {
  return n % 2U == 0U ? 2U : n % 3U == 0U ? 3U : 5U;
}

static bool
is_fast(size_t n) {
  while (n % factor_of(n) == 0U) {
    n /= factor_of(n);
  }
  return n == 1U;
}

static void
transform_clear(Transform* transform) {
  free(transform->turns);
  free(transform->time);
  free(transform->bins);
}

/// A transform of at least `n` values, an even number.
static VwStatus
transform_init(Transform* transform, size_t n) {
  n += n % 2U;
  while (!is_fast(n)) {
    n += 2U;
  }
  *transform = (Transform){n,
                           calloc(n, sizeof(VwPair)),
                           calloc(n, sizeof(VwPair)),
                           calloc(n, sizeof(VwPair))};
  if (!transform->turns || !transform->time || !transform->bins) {
    transform_clear(transform);
    *transform = (Transform){0};
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < n; ++i) {
    const double turn = 2.0 * VW_PI * (double)i / (double)n;
    transform->turns[i] = (VwPair){cos(turn), -sin(turn)};
  }
  return VW_OK;
}

static VwPair
times(VwPair a, VwPair b) {
  return (VwPair){a.one * b.one - a.other * b.other,
                  a.one * b.other + a.other * b.one};
}

static VwPair
plus(VwPair a, VwPair b) {
  return (VwPair){a.one + b.one, a.other + b.other};
}

/// Make the `factor` bins that lie `n` apart from those of as many shorter
/// transforms.
static void
combine(const Transform* transform, VwPair* bins, size_t n, size_t factor) {
  VwPair parts[FACTOR_MOST];
  for (size_t k = 0; k < factor; ++k) {
    parts[k] = bins[k * n];
  }
  for (size_t j = 0; j < factor; ++j) {
    VwPair sum = parts[0];
    for (size_t k = 1; k < factor; ++k) {
      const size_t turn = j * k % factor * (transform->n / factor);
      sum = plus(sum, times(parts[k], transform->turns[turn]));
    }
    bins[j * n] = sum;
  }
}

/// Transform values that lie `apart` from each other.
static void
transform_part(const Transform* transform,
               const VwPair*    values,
               size_t           apart,
               VwPair*          bins) {
  const size_t factor = factor_of(transform->n / apart);
  const size_t n = transform->n / apart / factor;
  for (size_t k = 0; k < factor; ++k) {
    if (n == 1U) {
      bins[k] = values[k * apart];
    } else {
      transform_part(
        transform, values + k * apart, apart * factor, bins + k * n);
    }
  }
  for (size_t i = 0; i < n; ++i) {
    for (size_t k = 1; k < factor; ++k) {
      VwPair* const bin = &bins[i + k * n];
      *bin = times(*bin, transform->turns[i * k * apart]);
    }
    if (factor == 2U) {
      const VwPair one = bins[i];
      const VwPair other = bins[i + n];
      bins[i] = plus(one, other);
      bins[i + n] = (VwPair){one.one - other.one, one.other - other.other};
    } else {
      combine(transform, bins + i, n, factor);
    }
  }
}

static void
transform_run(Transform* transform) {
  transform_part(transform, transform->time, 1U, transform->bins);
}

/* The shifts */

struct VwShifts {
  size_t    n_window;
  Transform transform; ///< Of two windows or more, a power of two.
  double*   weights;   ///< Of its bins.
};

/// Sums over windows, of each bin.
typedef struct {
  double cross;
  double one;
  double other;
} Likeness;

/// Add what a bin has of each of two real values; `mirrored` is that of the
/// frequency below zero.
static void
add_bin(VwPair bin, VwPair mirrored, Likeness* sums) {
  const VwPair a = {0.5 * (bin.one + mirrored.one),
                    0.5 * (bin.other - mirrored.other)};
  const VwPair b = {0.5 * (bin.other + mirrored.other),
                    0.5 * (mirrored.one - bin.one)};
  sums->cross += a.one * b.one + a.other * b.other;
  sums->one += a.one * a.one + a.other * a.other;
  sums->other += b.one * b.one + b.other * b.other;
}

static void
add_windows(Transform* transform, const VwSlide* wish, Likeness* sums) {
  const size_t n = transform->n;
  const size_t half = n / 2U;
  const size_t n_channels = wish->one->n_channels;
  for (size_t c = 0; c < n_channels; ++c) {
    for (size_t at = 0; at + n <= wish->n; at += half) {
      const float* const one =
        wish->one->values + (wish->at + at) * n_channels + c;
      const float* const other =
        wish->other->values + (wish->from + at) * n_channels + c;
      for (size_t i = 0; i < n; ++i) {
        const double turn = 2.0 * VW_PI * ((double)i + 0.5) / (double)n;
        const double share = 0.5 - 0.5 * cos(turn);
        transform->time[i] = (VwPair){share * (double)one[i * n_channels],
                                      share * (double)other[i * n_channels]};
      }
      transform_run(transform);
      for (size_t i = 0; i <= half; ++i) {
        add_bin(transform->bins[i], transform->bins[(n - i) % n], &sums[i]);
      }
    }
  }
}

/// The square of the shift at a bin, from it and those about it.
static double
shift_at(const Likeness* sums, size_t n_bins, size_t bin) {
  Likeness about = {0.0, 0.0, 0.0};
  for (size_t i = 0; i <= 2U * SPREAD; ++i) {
    const size_t k = bin + i;
    if (k >= SPREAD && k - SPREAD < n_bins) {
      const double share = (double)(i < SPREAD ? i : 2U * SPREAD - i) + 1.0;
      about.cross += share * sums[k - SPREAD].cross;
      about.one += share * sums[k - SPREAD].one;
      about.other += share * sums[k - SPREAD].other;
    }
  }
  const double power = sqrt(about.one * about.other);
  const double alike = power > 0.0 ? about.cross / power : 1.0;
  const double shift = acos(fmin(fmax(alike, 0.0), 1.0));
  return shift * shift;
}

/// Lay down a filter of one window whose middle is the first value, and which
/// has the squares of the shifts at its bins.
static void
set_weights(VwShifts* shifts, const Likeness* sums, Transform* window) {
  const size_t     n = window->n;
  Transform* const both = &shifts->transform;
  for (size_t i = 0; i <= n / 2U; ++i) {
    window->time[i] = (VwPair){shift_at(sums, n / 2U + 1U, i), 0.0};
    window->time[(n - i) % n] = window->time[i];
  }
  // The squares are even, so the same transform leads back.
  transform_run(window);
  for (size_t i = 0; i < n / 2U; ++i) {
    const double share = 0.5 + 0.5 * cos(2.0 * VW_PI * (double)i / (double)n);
    both->time[i] = (VwPair){share * window->bins[i].one / (double)n, 0.0};
    both->time[(both->n - i) % both->n] = both->time[i];
  }
  transform_run(both);
  for (size_t i = 0; i < both->n; ++i) {
    shifts->weights[i] = both->bins[i].one / (double)both->n;
  }
}

VwShifts*
vw_shifts_find(const VwSlide* wish, size_t n_window) {
  VwShifts* const shifts = calloc(1U, sizeof(VwShifts));
  Transform       window = {0};
  size_t          n_all = 2U;
  VwStatus st = shifts ? transform_init(&window, n_window) : VW_NO_MEMORY;
  while (n_all < 2U * window.n) {
    n_all *= 2U;
  }
  st = st ? st : transform_init(&shifts->transform, n_all);
  Likeness* const sums = calloc(window.n / 2U + 1U, sizeof(Likeness));
  if (!st && sums) {
    shifts->n_window = window.n;
    shifts->weights = calloc(shifts->transform.n, sizeof(double));
  }
  const bool ready = shifts && shifts->weights;
  if (ready) {
    add_windows(&window, wish, sums);
    set_weights(shifts, sums, &window);
  } else {
    vw_shifts_free(shifts);
  }
  transform_clear(&window);
  free(sums);
  return ready ? shifts : NULL;
}

VwStatus
vw_shifts_weigh(VwShifts* shifts, VwPair* values, size_t n) {
  const size_t     n_window = shifts->n_window;
  Transform* const block = &shifts->transform;
  const size_t     n_all = block->n;
  const size_t     n_block = n_all - n_window;
  VwPair* const    sums = calloc(n + n_all, sizeof(VwPair));
  for (size_t at = 0; sums && at < n; at += n_block) {
    for (size_t i = 0; i < n_all; ++i) {
      block->time[i] =
        i < n_block && at + i < n ? values[at + i] : (VwPair){0.0, 0.0};
    }
    transform_run(block);
    for (size_t i = 0; i < n_all; ++i) {
      block->time[i] = times(block->bins[i], (VwPair){shifts->weights[i], 0.0});
    }
    // The same transform leads back, to values from the last to the first.
    // What comes before the block's first value is at its end.
    transform_run(block);
    for (size_t i = 0; i < n_all; ++i) {
      VwPair* const sum = &sums[at + i];
      *sum = plus(*sum, block->bins[(n_window / 2U + n_all - i) % n_all]);
    }
  }
  for (size_t i = 0; sums && i < n; ++i) {
    values[i] = sums[i + n_window / 2U];
  }
  free(sums);
  return sums ? VW_OK : VW_NO_MEMORY;
}

void
vw_shifts_free(VwShifts* shifts) {
  if (shifts) {
    transform_clear(&shifts->transform);
    free(shifts->weights);
    free(shifts);
  }
}
