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

VwStatus
vw_spectrum_cross(const VwCross* cross, double* sums) {
  Transform one;
  Transform other;
  VwStatus  st = transform_init(&one, cross->n + cross->n_lags);
  if (st) {
    return st;
  }
  st = transform_init(&other, cross->n + cross->n_lags);
  kiss_fftr_cfg back = st ? NULL : kiss_fftr_alloc((int)one.n, 1, NULL, NULL);
  for (size_t i = 0; back && i < cross->n + cross->n_lags - 1U; ++i) {
    one.time[i] = i < cross->n ? cross->one[i * cross->n_apart] : 0.0F;
    other.time[i] = cross->other[i * cross->n_apart];
  }
  if (back) {
    kiss_fftr(one.plan, one.time, one.bins);
    kiss_fftr(other.plan, other.time, other.bins);
    for (size_t i = 0; i <= one.n / 2U; ++i) {
      const kiss_fft_cpx a = one.bins[i];
      const kiss_fft_cpx b = other.bins[i];
      one.bins[i] =
        (kiss_fft_cpx){a.r * b.r + a.i * b.i, a.r * b.i - a.i * b.r};
    }
    kiss_fftri(back, one.bins, one.time);
    for (size_t i = 0; i < cross->n_lags; ++i) {
      sums[i] += (double)one.time[i] / (double)one.n;
    }
  }
  st = st || back ? st : VW_NO_MEMORY;
  kiss_fftr_free(back);
  transform_clear(&one);
  transform_clear(&other);
  return st;
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

/* Shifts */

// Bins on either side that are counted in: a window's sound is spread so far.
#define SPREAD 2U

struct VwShifts {
  size_t    n_window;
  Transform weights; ///< The filter, of two windows; its bins are all real.
};

/// Sums over windows, of each bin.
typedef struct {
  double cross;
  double one;
  double other;
} Likeness;

static void
add_windows(Transform* transforms, const VwSlide* wish, Likeness* sums) {
  const size_t n_window = transforms[0].n;
  const size_t half = n_window / 2U;
  for (unsigned c = 0; c < wish->one->n_channels; ++c) {
    for (size_t at = half; at + half <= wish->n; at += half) {
      take_window(&transforms[0], wish->one, c, wish->at + at);
      take_window(&transforms[1], wish->other, c, wish->from + at);
      for (size_t k = 0; k < 2U; ++k) {
        kiss_fftr(transforms[k].plan, transforms[k].time, transforms[k].bins);
      }
      for (size_t i = 0; i <= half; ++i) {
        const kiss_fft_cpx a = transforms[0].bins[i];
        const kiss_fft_cpx b = transforms[1].bins[i];
        sums[i].cross += (double)(a.r * b.r + a.i * b.i);
        sums[i].one += (double)power_of(a);
        sums[i].other += (double)power_of(b);
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
set_weights(VwShifts* shifts, Transform* transform, const Likeness* sums) {
  const size_t     n = shifts->n_window;
  Transform* const weights = &shifts->weights;
  for (size_t i = 0; i <= n / 2U; ++i) {
    transform->time[i] = (float)shift_at(sums, n / 2U + 1U, i);
    transform->time[(n - i) % n] = transform->time[i];
  }
  // The squares are even, so the same transform leads back.
  kiss_fftr(transform->plan, transform->time, transform->bins);
  for (size_t i = 0; i < n / 2U; ++i) {
    const double share = 0.5 + 0.5 * cos(2.0 * VW_PI * (double)i / (double)n);
    weights->time[i] =
      (float)(share * (double)transform->bins[i].r / (double)n);
    weights->time[(weights->n - i) % weights->n] = weights->time[i];
  }
  kiss_fftr(weights->plan, weights->time, weights->bins);
}

static VwStatus
find_shifts(const VwSlide* wish, Transform* transforms, VwShifts* shifts) {
  const size_t    n = shifts->n_window;
  Likeness* const sums = calloc(n / 2U + 1U, sizeof(Likeness));
  if (!sums) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < n; ++i) {
    const double turn = 2.0 * VW_PI * ((double)i + 0.5) / (double)n;
    transforms[0].window[i] = (float)(0.5 - 0.5 * cos(turn));
    transforms[1].window[i] = transforms[0].window[i];
  }
  add_windows(transforms, wish, sums);
  set_weights(shifts, &transforms[0], sums);
  free(sums);
  return VW_OK;
}

VwShifts*
vw_shifts_find(const VwSlide* wish, size_t n_window) {
  VwShifts* const shifts = calloc(1U, sizeof(VwShifts));
  Transform       transforms[2] = {0};
  VwStatus        st = shifts ? VW_OK : VW_NO_MEMORY;
  st = st ? st : transform_init(&transforms[0], n_window);
  st = st ? st : transform_init(&transforms[1], n_window);
  if (!st) {
    shifts->n_window = transforms[0].n;
    st = transform_init(&shifts->weights, 2U * shifts->n_window);
  }
  st = st ? st : find_shifts(wish, transforms, shifts);
  transform_clear(&transforms[0]);
  transform_clear(&transforms[1]);
  if (st) {
    vw_shifts_free(shifts);
  }
  return st ? NULL : shifts;
}

VwStatus
vw_shifts_weigh(const VwShifts* shifts, float* values, size_t n) {
  const size_t           n_window = shifts->n_window;
  const Transform* const weights = &shifts->weights;
  const size_t           n_all = weights->n;
  float* const           sums = calloc(n + n_all, sizeof(float));
  kiss_fftr_cfg          back = kiss_fftr_alloc((int)n_all, 1, NULL, NULL);
  Transform              block = {0};
  VwStatus st = sums && back ? transform_init(&block, n_all) : VW_NO_MEMORY;
  for (size_t at = 0; !st && at < n; at += n_window) {
    for (size_t i = 0; i < n_all; ++i) {
      block.time[i] = i < n_window && at + i < n ? values[at + i] : 0.0F;
    }
    kiss_fftr(block.plan, block.time, block.bins);
    for (size_t i = 0; i <= n_all / 2U; ++i) {
      const float weight = weights->bins[i].r / (float)n_all;
      block.bins[i] =
        (kiss_fft_cpx){block.bins[i].r * weight, block.bins[i].i * weight};
    }
    kiss_fftri(back, block.bins, block.time);
    // What comes before the block's first value is at the transform's end.
    const size_t before = n_window / 2U;
    for (size_t i = 0; i < n_window + 2U * before; ++i) {
      sums[at + i] += block.time[(i + n_all - before) % n_all];
    }
  }
  for (size_t i = 0; !st && i < n; ++i) {
    values[i] = sums[i + n_window / 2U];
  }
  transform_clear(&block);
  kiss_fftr_free(back);
  free(sums);
  return st;
}

void
vw_shifts_free(VwShifts* shifts) {
  if (shifts) {
    transform_clear(&shifts->weights);
    free(shifts);
  }
}
