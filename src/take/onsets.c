#include "base/units.h"
#include "take/internal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// The bands lie from here to there, evenly in the logarithm, as far as the
// sample rate carries them (chosen here, as are all figures below).
#define LOWEST_HZ 150.0
#define HIGHEST_HZ 11000.0
#define HIGHEST_SHARE 0.45

#define WINDOW_S 0.008

// What lies so far below a band's highest counts as its silence.
#define BAND_RANGE_DB 30.0

// A band whose highest lies so far below that of the strongest holds nothing.
#define BANDS_RANGE_DB 50.0

// The strongest bands are those within so much of the strongest one.
#define STRONG_DB 15.0

// The rise: the mean over these steps from the one at hand, less the mean over
// those before it.
#define NEXT_FROM 1
#define NEXT_TO 9
#define N_NEXT (NEXT_TO - NEXT_FROM + 1.0)
#define BEFORE_FROM 3
#define BEFORE_TO 18
#define N_BEFORE (BEFORE_TO - BEFORE_FROM + 1.0)

// A band whose level falls by so much, to half its power, may have handed a
// tone that glides on to the next band.
#define HANDED_DB 3.0

// Rises are compared so far to both sides.
#define PEAK 8U

// The end of a sound that is cut off does not count: it rises nowhere. One that
// ends so long in what lies so far below its loudest is not.
#define END 12U
#define SILENT_S 0.001
#define SILENT_DB (-40.0)

// Frames are averaged down to this sample rate at least: what lies above half
// of it folds into the highest bands, which rise with it.
#define LEAST_HZ 22000U

/// Bins [from, to) of the bands' edges.
typedef struct {
  size_t edges[VW_ONSET_BANDS + 1];
  size_t n;
} Bands;

static Bands
bands_of(unsigned rate_hz, const VwSound* thin, size_t n_bins) {
  const double bin_hz = (double)thin->rate_hz / 2.0 / (double)(n_bins - 1U);
  const double ratio =
    pow(HIGHEST_HZ / LOWEST_HZ, 1.0 / (double)VW_ONSET_BANDS);
  Bands  bands = {.n = 0};
  double hz = LOWEST_HZ;
  bands.edges[0] = (size_t)(hz / bin_hz + 0.5);
  for (size_t i = 0; i < VW_ONSET_BANDS; ++i) {
    hz *= ratio;
    const size_t edge = (size_t)(hz / bin_hz + 0.5);
    if (edge <= bands.edges[bands.n] ||
        (bands.n && hz > HIGHEST_SHARE * rate_hz)) {
      continue;
    }
    bands.edges[++bands.n] = edge < n_bins ? edge : n_bins;
  }
  return bands;
}

/// A sound of fewer frames: each the mean of several, of the last ones as if
/// silence followed.
static VwStatus
thin_out(const VwSound* sound, VwSound* thin) {
  const size_t   n = sound->rate_hz < LEAST_HZ ? 1U : sound->rate_hz / LEAST_HZ;
  const unsigned n_channels = sound->n_channels;
  const VwStatus st = vw_sound_init(thin,
                                    (sound->n_frames + n - 1U) / n,
                                    n_channels,
                                    sound->rate_hz / (unsigned)n);
  if (st) {
    return st;
  }
  for (size_t i = 0; i < thin->n_frames * n_channels; ++i) {
    const size_t from = i / n_channels * n;
    const size_t left = sound->n_frames - from;
    const float* values = sound->values + from * n_channels + i % n_channels;
    float        sum = 0.0F;
    for (size_t k = 0; k < n && k < left; ++k) {
      sum += values[k * n_channels];
    }
    thin->values[i] = sum / (float)n;
  }
  return VW_OK;
}

/// Take the power of each band about each millisecond.
static VwStatus
take_powers(const VwSound* thin, unsigned rate_hz, VwOnsets* onsets) {
  const double frames_per_step =
    VW_ONSET_STEP_S * rate_hz / (double)(rate_hz / thin->rate_hz);
  size_t          n_bins = 0;
  VwPowers* const powers =
    vw_powers_new(vw_frames_of_s(WINDOW_S, thin->rate_hz), &n_bins);
  double* const sums = calloc(n_bins + 1U, sizeof(double));
  if (!powers || !sums) {
    vw_powers_free(powers);
    free(sums);
    return VW_NO_MEMORY;
  }
  const Bands bands = bands_of(rate_hz, thin, n_bins);
  onsets->n_bands = bands.n;
  for (size_t i = 0; i < onsets->n; ++i) {
    memset(sums, 0, n_bins * sizeof(double));
    vw_powers_add(
      powers, thin, (size_t)((double)i * frames_per_step + 0.5), sums);
    for (size_t b = 0; b < bands.n; ++b) {
      double power = 0.0;
      for (size_t k = bands.edges[b]; k < bands.edges[b + 1U]; ++k) {
        power += sums[k];
      }
      onsets->band_db[i * bands.n + b] = (float)power;
    }
  }
  vw_powers_free(powers);
  free(sums);
  return VW_OK;
}

/// The highest power of each band.
static void
take_highest(const VwOnsets* onsets, float* highest) {
  for (size_t i = 0; i < onsets->n * onsets->n_bands; ++i) {
    float* const of = &highest[i % onsets->n_bands];
    *of = fmaxf(*of, onsets->band_db[i]);
  }
}

/// Turn powers into dB above each band's floor, none below 0; leave out the
/// bands that hold nothing.
static void
take_levels(VwOnsets* onsets) {
  const size_t n_bands = onsets->n_bands;
  float        highest[VW_ONSET_BANDS] = {0.0F};
  float        strongest = 0.0F;
  take_highest(onsets, highest);
  for (size_t b = 0; b < n_bands; ++b) {
    strongest = fmaxf(strongest, highest[b]);
  }
  const float least = strongest * (float)vw_power_of_db(-BANDS_RANGE_DB);
  const float range = (float)vw_power_of_db(BAND_RANGE_DB);
  float*      to = onsets->band_db;
  for (size_t i = 0; i < onsets->n * n_bands; ++i) {
    const float top = highest[i % n_bands];
    const float over = top > 0.0F ? onsets->band_db[i] / top * range : 0.0F;
    if (top > 0.0F && top >= least) {
      *to++ = over > 1.0F ? 10.0F * log10f(over) : 0.0F;
    }
  }
  onsets->n_bands = 0;
  for (size_t b = 0; b < n_bands; ++b) {
    if (highest[b] > 0.0F && highest[b] >= least) {
      onsets->top_db[onsets->n_bands++] = vw_db_of_power((double)highest[b]);
    }
  }
}

/// Move the sums over the bands by a step: one row comes, one goes.
static void
move_sums(const VwOnsets* onsets,
          ptrdiff_t       comes,
          ptrdiff_t       goes,
          double*         sums) {
  const ptrdiff_t    n = (ptrdiff_t)onsets->n;
  const size_t       n_bands = onsets->n_bands;
  const float* const rows = onsets->band_db;
  for (size_t b = 0; b < n_bands; ++b) {
    sums[b] +=
      comes >= 0 && comes < n ? (double)rows[(size_t)comes * n_bands + b] : 0.0;
    sums[b] -=
      goes >= 0 && goes < n ? (double)rows[(size_t)goes * n_bands + b] : 0.0;
  }
}

/// What a band has of a glide: how much louder than it a band next to it was
/// that has fallen since (after the maximum filter of S. Boeck and G. Widmer,
/// "Maximum filter vibrato suppression for onset detection", DAFx 2013).
static double
glide_into(const VwOnsets* onsets,
           const double*   next,
           const double*   before,
           size_t          band) {
  const double own = before[band] / N_BEFORE + onsets->top_db[band];
  double       glide = 0.0;
  for (size_t b = band ? band - 1U : 0U; b < onsets->n_bands && b <= band + 1U;
       ++b) {
    const double was = before[b] / N_BEFORE;
    if (next[b] / N_NEXT <= was - HANDED_DB) {
      glide = fmax(glide, was + onsets->top_db[b] - own);
    }
  }
  return glide;
}

/// The mean of the bands' rises: of all, or of the strongest, if that is more.
static void
set_rises(const VwOnsets* onsets,
          const double*   next,
          const double*   before,
          size_t          step) {
  double strongest = -HUGE_VAL;
  double all = 0.0;
  double strong = 0.0;
  double glides = 0.0;
  double n_strong = 0.0;
  for (size_t b = 0; b < onsets->n_bands; ++b) {
    strongest = fmax(strongest, next[b] / N_NEXT + onsets->top_db[b]);
  }
  for (size_t b = 0; b < onsets->n_bands; ++b) {
    const double level = next[b] / N_NEXT;
    const double rise = level - before[b] / N_BEFORE;
    all += fmax(rise, 0.0);
    if (level + onsets->top_db[b] >= strongest - STRONG_DB) {
      strong += rise;
      glides += glide_into(onsets, next, before, b);
      n_strong += 1.0;
    }
  }
  all /= (double)onsets->n_bands;
  onsets->rise_db[step] = fmax(all, strong / n_strong);
  onsets->attack_db[step] = fmax(all, (strong - glides) / n_strong);
}

static void
take_rises(VwOnsets* onsets) {
  double next[VW_ONSET_BANDS] = {0.0};
  double before[VW_ONSET_BANDS] = {0.0};
  for (ptrdiff_t i = -NEXT_TO; i < (ptrdiff_t)onsets->n; ++i) {
    move_sums(onsets, i + NEXT_TO, i + NEXT_FROM - 1, next);
    move_sums(onsets, i - BEFORE_FROM, i - BEFORE_TO - 1, before);
    if (i >= 0) {
      set_rises(onsets, next, before, (size_t)i);
    }
  }
}

VwStatus
vw_onsets_take(const VwSound* sound, VwOnsets* onsets) {
  const double length_s = (double)sound->n_frames / (double)sound->rate_hz;
  VwOnsets     out = {.n = (size_t)(length_s / VW_ONSET_STEP_S) + 1U};
  out.n_whole = out.n > END ? out.n - END : 0U;
  out.band_db = calloc(out.n * VW_ONSET_BANDS, sizeof(float));
  out.rise_db = calloc(out.n, sizeof(double));
  out.attack_db = calloc(out.n, sizeof(double));
  VwSound  thin = {0};
  VwStatus st =
    out.band_db && out.rise_db && out.attack_db ? VW_OK : VW_NO_MEMORY;
  st = st ? st : thin_out(sound, &thin);
  st = st ? st : take_powers(&thin, sound->rate_hz, &out);
  vw_sound_clear(&thin);
  if (!st) {
    take_levels(&out);
    take_rises(&out);
  }
  if (st) {
    vw_onsets_clear(&out);
    return st;
  }
  *onsets = out;
  return VW_OK;
}

void
vw_onsets_clear(VwOnsets* onsets) {
  if (onsets) {
    free(onsets->band_db);
    free(onsets->rise_db);
    free(onsets->attack_db);
    memset(onsets, 0, sizeof(*onsets));
  }
}

bool
vw_onsets_is_peak(const VwOnsets* onsets, size_t at) {
  for (size_t i = at > PEAK ? at - PEAK : 0U; i < onsets->n && i <= at + PEAK;
       ++i) {
    const bool higher = i < at ? onsets->rise_db[i] >= onsets->rise_db[at]
                               : onsets->rise_db[i] > onsets->rise_db[at];
    if (i != at && higher) {
      return false;
    }
  }
  return at < onsets->n_whole;
}

void
vw_onsets_end(const VwSound* sound, double loudest, VwOnsets* onsets) {
  const size_t n = vw_frames_of_s(SILENT_S, sound->rate_hz);
  double       sum = 0.0;
  for (size_t i = 1; i <= n && i <= sound->n_frames; ++i) {
    sum += vw_sound_power_at(sound, sound->n_frames - i);
  }
  if (sum <= loudest * vw_power_of_db(SILENT_DB) * (double)n) {
    onsets->n_whole = onsets->n;
  }
}

size_t
vw_onsets_frame(const VwSound* sound, size_t step) {
  const size_t frame =
    vw_frames_of_s((double)step * VW_ONSET_STEP_S, sound->rate_hz);
  return frame < sound->n_frames ? frame : sound->n_frames - 1U;
}
