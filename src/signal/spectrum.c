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
} Transform;

static void
transform_clear(Transform* transform) {
  kiss_fftr_free(transform->plan);
  free(transform->time);
  free(transform->bins);
}

/// A transform of at least `n` values, room all zeros.
static VwStatus
transform_init(Transform* transform, size_t n) {
  const int n_fast = kiss_fftr_next_fast_size_real((int)n);
  *transform = (Transform){.n = (size_t)n_fast,
                           .plan = kiss_fftr_alloc(n_fast, 0, NULL, NULL)};
  transform->time = calloc(transform->n, sizeof(*transform->time));
  transform->bins = calloc(transform->n / 2U + 1U, sizeof(*transform->bins));
  if (!transform->plan || !transform->time || !transform->bins) {
    transform_clear(transform);
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

/// Energies below and above a frequency.
typedef struct {
  double below;
  double all;
} Shares;

/// Add the block of one channel that ends half a block after frame `middle`.
/// The square of half a turn of a sine adds up to one with its neighbours.
static void
add_block(const VwSound* sound,
          unsigned       channel,
          size_t         middle,
          Transform*     transform) {
  const size_t half = transform->n / 2U;
  const double turn = VW_PI / (double)transform->n;
  for (size_t i = 0; i < transform->n; ++i) {
    const size_t frame = middle + i;
    const bool   there = frame >= half && frame - half < sound->n_frames;
    const size_t at = (frame - half) * sound->n_channels + channel;
    transform->time[i] =
      there ? (float)((double)sound->values[at] * sin(turn * (double)i)) : 0.0F;
  }
  kiss_fftr(transform->plan, transform->time, transform->bins);
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
  for (unsigned c = 0; c < sound->n_channels; ++c) {
    for (size_t at = 0; at < sound->n_frames + half; at += half) {
      add_block(sound, c, at, &transform);
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
  float*    window; ///< Its peak such that a full-scale sine has a power of 1.
};

VwPowers*
vw_powers_new(size_t n_frames, size_t* n) {
  VwPowers* const powers = calloc(1U, sizeof(VwPowers));
  if (!powers || transform_init(&powers->transform, n_frames)) {
    free(powers);
    return NULL;
  }
  const size_t n_window = powers->transform.n;
  powers->window = calloc(n_window, sizeof(float));
  if (!powers->window) {
    vw_powers_free(powers);
    return NULL;
  }
  for (size_t i = 0; i < n_window; ++i) {
    const double turn = 2.0 * VW_PI * ((double)i + 0.5) / (double)n_window;
    // The window's mean is a half, and so is a sine's share in one bin.
    powers->window[i] =
      (float)((0.5 - 0.5 * cos(turn)) * 4.0 / (double)n_window);
  }
  *n = n_window / 2U + 1U;
  return powers;
}

/// The window of one channel about a frame.
static void
take_window(VwPowers*      powers,
            const VwSound* sound,
            unsigned       channel,
            size_t         middle) {
  Transform* const transform = &powers->transform;
  const size_t     half = transform->n / 2U;
  for (size_t i = 0; i < transform->n; ++i) {
    const size_t frame = middle + i;
    const bool   there = frame >= half && frame - half < sound->n_frames;
    const size_t at = (frame - half) * sound->n_channels + channel;
    transform->time[i] = there ? sound->values[at] * powers->window[i] : 0.0F;
  }
}

void
vw_powers_add(VwPowers*      powers,
              const VwSound* sound,
              size_t         middle,
              double*        sums) {
  Transform* const transform = &powers->transform;
  for (unsigned c = 0; c < sound->n_channels; ++c) {
    take_window(powers, sound, c, middle);
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
    free(powers->window);
    free(powers);
  }
}
