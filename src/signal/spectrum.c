#include "base/units.h"
#include "signal/signal.h"

#include <kiss_fftr.h>

#include <math.h>
#include <stdlib.h>

// Blocks over which energy is shared out, seconds: bins of 2.5 Hz.
#define BLOCK_S 0.4

/// A transform with its room.
typedef struct {
  size_t           n;
  kiss_fftr_cfg    plan;
  kiss_fft_scalar* time;
  kiss_fft_cpx*    bins;
  float*           window; ///< Values by which those of a sound are weighed.
} Transform;

static void
transform_clear(Transform* transform) {
  kiss_fftr_free(transform->plan);
  free(transform->time);
  free(transform->bins);
  free(transform->window);
}

/// A transform of at least `n` values, room all zeros.
static VwStatus
transform_init(Transform* transform, size_t n) {
  const int n_fast = kiss_fftr_next_fast_size_real((int)n);
  *transform = (Transform){.n = (size_t)n_fast,
                           .plan = kiss_fftr_alloc(n_fast, 0, NULL, NULL)};
  transform->time = calloc(transform->n, sizeof(*transform->time));
  transform->bins = calloc(transform->n / 2U + 1U, sizeof(*transform->bins));
  transform->window = calloc(transform->n, sizeof(*transform->window));
  if (!transform->plan || !transform->time || !transform->bins ||
      !transform->window) {
    transform_clear(transform);
    *transform = (Transform){0};
    return VW_NO_MEMORY;
  }
  return VW_OK;
}

static float
power_of(kiss_fft_cpx bin) {
  return bin.r * bin.r + bin.i * bin.i;
}

VwStatus
vw_spectrum_correlate(const double* values,
                      size_t        n,
                      double*       correlation,
                      size_t        n_lags) {
  Transform      transform;
  const VwStatus st = transform_init(&transform, 2U * n);
  if (st) {
    return st;
  }
  for (size_t i = 0; i < n; ++i) {
    transform.time[i] = (kiss_fft_scalar)values[i];
  }
  kiss_fftr(transform.plan, transform.time, transform.bins);
  // The power spectrum is even, so the same transform leads back.
  for (size_t i = 0; i <= transform.n / 2U; ++i) {
    transform.time[i] = power_of(transform.bins[i]);
    transform.time[(transform.n - i) % transform.n] = transform.time[i];
  }
  kiss_fftr(transform.plan, transform.time, transform.bins);
  for (size_t i = 0; i < n_lags; ++i) {
    correlation[i] = (double)transform.bins[i].r / (double)transform.n;
  }
  transform_clear(&transform);
  return VW_OK;
}

/* Cross-correlation */

struct VwTransforms {
  size_t        n_wanted; ///< Values that they were made for.
  Transform     one;
  Transform     other;
  kiss_fftr_cfg back;
};

VwTransforms*
vw_transforms_new(void) {
  return calloc(1U, sizeof(VwTransforms));
}

static void
transforms_clear(VwTransforms* transforms) {
  kiss_fftr_free(transforms->back);
  transform_clear(&transforms->one);
  transform_clear(&transforms->other);
  *transforms = (VwTransforms){0};
}

void
vw_transforms_free(VwTransforms* transforms) {
  if (transforms) {
    transforms_clear(transforms);
    free(transforms);
  }
}

/// Make the transforms fit for at least `n` values, unless they are.
static VwStatus
transforms_fit(VwTransforms* transforms, size_t n) {
  if (transforms->n_wanted == n) {
    return VW_OK;
  }
  transforms_clear(transforms);
  VwStatus st = transform_init(&transforms->one, n);
  st = st ? st : transform_init(&transforms->other, n);
  transforms->back =
    st ? NULL : kiss_fftr_alloc((int)transforms->one.n, 1, NULL, NULL);
  if (!transforms->back) {
    transforms_clear(transforms);
    return VW_NO_MEMORY;
  }
  transforms->n_wanted = n;
  return VW_OK;
}

/// Add the cross-correlation by transforms that fit.
static void
cross_add(const VwCross* cross, VwTransforms* transforms, double* sums) {
  const size_t     n_wanted = cross->n + cross->n_lags;
  Transform* const one = &transforms->one;
  Transform* const other = &transforms->other;
  for (size_t i = 0; i < one->n; ++i) {
    one->time[i] = i < cross->n ? cross->one[i * cross->n_apart] : 0.0F;
    other->time[i] =
      i + 1U < n_wanted ? cross->other[i * cross->n_apart] : 0.0F;
  }
  kiss_fftr(one->plan, one->time, one->bins);
  kiss_fftr(other->plan, other->time, other->bins);
  for (size_t i = 0; i <= one->n / 2U; ++i) {
    const kiss_fft_cpx a = one->bins[i];
    const kiss_fft_cpx b = other->bins[i];
    one->bins[i] = (kiss_fft_cpx){a.r * b.r + a.i * b.i, a.r * b.i - a.i * b.r};
  }
  kiss_fftri(transforms->back, one->bins, one->time);
  for (size_t i = 0; i < cross->n_lags; ++i) {
    sums[i] += (double)one->time[i] / (double)one->n;
  }
}

VwStatus
vw_spectrum_cross(const VwCross* cross,
                  VwTransforms*  transforms,
                  double*        sums) {
  VwTransforms        own = {0};
  VwTransforms* const used = transforms ? transforms : &own;
  const VwStatus      st = transforms_fit(used, cross->n + cross->n_lags);
  if (!st) {
    cross_add(cross, used, sums);
  }
  transforms_clear(&own);
  return st;
}

/* A matched filter */

struct VwMatcher {
  size_t        n_wave;
  size_t        n; ///< Values of a transform.
  kiss_fft_cfg  there;
  kiss_fft_cfg  back;
  kiss_fft_cpx* wave; ///< Its spectrum. Owned, as are the others.
  kiss_fft_cpx* time;
  kiss_fft_cpx* bins;
  double        energy; ///< Of the wave.
};

void
vw_matcher_free(VwMatcher* matcher) {
  if (matcher) {
    kiss_fft_free(matcher->there);
    kiss_fft_free(matcher->back);
    free(matcher->wave);
    free(matcher->time);
    free(matcher->bins);
    free(matcher);
  }
}

size_t
vw_matcher_lags(const VwMatcher* matcher) {
  return matcher->n - matcher->n_wave + 1U;
}

/// Room for a matcher, and its plans.
static bool
prepare_matcher(VwMatcher* matcher, size_t n_wave) {
  // A power of two; most of a run's values are then places.
  matcher->n = 4096U;
  while (matcher->n < 4U * n_wave) {
    matcher->n *= 2U;
  }
  matcher->n_wave = n_wave;
  matcher->there = kiss_fft_alloc((int)matcher->n, 0, NULL, NULL);
  matcher->back = kiss_fft_alloc((int)matcher->n, 1, NULL, NULL);
  matcher->wave = calloc(matcher->n, sizeof(kiss_fft_cpx));
  matcher->time = calloc(matcher->n, sizeof(kiss_fft_cpx));
  matcher->bins = calloc(matcher->n, sizeof(kiss_fft_cpx));
  return matcher->there && matcher->back && matcher->wave && matcher->time &&
         matcher->bins;
}

VwMatcher*
vw_matcher_new(const float* wave, size_t n) {
  VwMatcher* const matcher = calloc(1U, sizeof(VwMatcher));
  if (!matcher || !prepare_matcher(matcher, n)) {
    vw_matcher_free(matcher);
    return NULL;
  }
  for (size_t i = 0; i < n; ++i) {
    matcher->time[i].r = wave[i];
    matcher->energy += (double)wave[i] * (double)wave[i];
  }
  kiss_fft(matcher->there, matcher->time, matcher->wave);
  return matcher;
}

/// Correlate what is in `time` with the wave. Without the negative frequencies,
/// the height of what comes out is that of the envelope.
static void
correlate(VwMatcher* matcher) {
  kiss_fft(matcher->there, matcher->time, matcher->bins);
  for (size_t i = 0; i < matcher->n; ++i) {
    const kiss_fft_cpx a = matcher->wave[i];
    const kiss_fft_cpx b = matcher->bins[i];
    const bool         there = i > 0 && i < matcher->n / 2U;
    matcher->bins[i] =
      there ? (kiss_fft_cpx){a.r * b.r + a.i * b.i, a.r * b.i - a.i * b.r}
            : (kiss_fft_cpx){0.0F, 0.0F};
  }
  kiss_fft(matcher->back, matcher->bins, matcher->time);
}

void
vw_matcher_run(VwMatcher*   matcher,
               const float* values,
               size_t       n_values,
               VwMatch*     matches) {
  const double scale = 2.0 / (double)matcher->n;
  double       energy = 0.0;
  for (size_t i = 0; i < matcher->n; ++i) {
    matcher->time[i] = (kiss_fft_cpx){i < n_values ? values[i] : 0.0F, 0.0F};
    energy += i < matcher->n_wave && i < n_values
                ? (double)values[i] * (double)values[i]
                : 0.0;
  }
  correlate(matcher);
  for (size_t i = 0; i < vw_matcher_lags(matcher); ++i) {
    const double r = matcher->time[i].r;
    const double q = matcher->time[i].i;
    const double sum = scale * sqrt(r * r + q * q);
    const double both = matcher->energy * fmax(energy, 1e-12);
    const size_t end = i + matcher->n_wave;
    const double in = end < n_values ? (double)values[end] : 0.0;
    const double out = i < n_values ? (double)values[i] : 0.0;
    matches[i] = (VwMatch){(float)(sum / matcher->energy),
                           (float)fmin(sum / sqrt(both), 1.0)};
    energy = fmax(energy + in * in - out * out, 0.0);
  }
}

/// Energies below and above a frequency.
typedef struct {
  double below;
  double all;
} Shares;

/// Put the window of one channel about a frame into a transform; what lies
/// outside of the sound is silence.
static void
take_window(Transform*     transform,
            const VwSound* sound,
            unsigned       channel,
            size_t         middle) {
  const size_t half = transform->n / 2U;
  const size_t n = sound->n_frames;
  const size_t from = middle < half ? half - middle : 0U;
  const size_t left = n + half > middle ? n + half - middle : 0U;
  const size_t to = left < transform->n ? left : transform->n;
  for (size_t i = 0; i < from && i < transform->n; ++i) {
    transform->time[i] = 0.0F;
  }
  const float* value =
    sound->values + (middle + from - half) * sound->n_channels + channel;
  for (size_t i = from; i < to; ++i, value += sound->n_channels) {
    transform->time[i] = *value * transform->window[i];
  }
  for (size_t i = to; i < transform->n; ++i) {
    transform->time[i] = 0.0F;
  }
}

static void
add_shares(const Transform* transform,
           double           bin_hz,
           double           hz,
           Shares*          shares) {
  for (size_t i = 0; i <= transform->n / 2U; ++i) {
    const double power = (double)power_of(transform->bins[i]);
    shares->all += power;
    shares->below += (double)i * bin_hz < hz ? power : 0.0;
  }
}

VwStatus
vw_spectrum_share_below(const VwSound* sound, double hz, double* share) {
  Transform      transform;
  const VwStatus st =
    transform_init(&transform, vw_frames_of_s(BLOCK_S, sound->rate_hz));
  Shares shares = {0.0, 0.0};
  if (st) {
    return st;
  }
  const size_t half = transform.n / 2U;
  const double bin_hz = (double)sound->rate_hz / (double)transform.n;
  // The square of half a turn of a sine adds up to one with its neighbours.
  for (size_t i = 0; i < transform.n; ++i) {
    transform.window[i] = (float)sin(VW_PI * (double)i / (double)transform.n);
  }
  for (unsigned c = 0; c < sound->n_channels; ++c) {
    for (size_t at = 0; at < sound->n_frames + half; at += half) {
      take_window(&transform, sound, c, at);
      kiss_fftr(transform.plan, transform.time, transform.bins);
      add_shares(&transform, bin_hz, hz, &shares);
    }
  }
  transform_clear(&transform);
  *share = shares.all > 0.0 ? shares.below / shares.all : NAN;
  return VW_OK;
}

/* Powers */

struct VwPowers {
  Transform transform;
};

VwPowers*
vw_powers_new(size_t n_frames, size_t* n) {
  VwPowers* const powers = calloc(1U, sizeof(VwPowers));
  if (!powers || transform_init(&powers->transform, n_frames)) {
    free(powers);
    return NULL;
  }
  const size_t n_window = powers->transform.n;
  for (size_t i = 0; i < n_window; ++i) {
    const double turn = 2.0 * VW_PI * ((double)i + 0.5) / (double)n_window;
    // The window's mean is a half, and so is a sine's share in one bin: its
    // peak is such that a full-scale sine has a power of 1.
    powers->transform.window[i] =
      (float)((0.5 - 0.5 * cos(turn)) * 4.0 / (double)n_window);
  }
  *n = n_window / 2U + 1U;
  return powers;
}

void
vw_powers_add(VwPowers*      powers,
              const VwSound* sound,
              size_t         middle,
              double*        sums) {
  Transform* const transform = &powers->transform;
  for (unsigned c = 0; c < sound->n_channels; ++c) {
    take_window(transform, sound, c, middle);
    kiss_fftr(transform->plan, transform->time, transform->bins);
    for (size_t i = 0; i <= transform->n / 2U; ++i) {
      sums[i] += (double)power_of(transform->bins[i]) / sound->n_channels;
    }
  }
}

void
vw_powers_free(VwPowers* powers) {
  if (powers) {
    transform_clear(&powers->transform);
    free(powers);
  }
}
