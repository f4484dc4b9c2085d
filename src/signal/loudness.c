#include "base/units.h"
#include "signal/signal.h"

#include <ebur128.h>

#include <assert.h>
#include <math.h>
#include <pthread.h>
#include <stdlib.h>

// Windows from which momentary and short-term loudness are summed.
#define HOPS_PER_S 100U
#define MOMENTARY_HOPS 40U
#define SHORT_TERM_HOPS 300U

// Below this the parameters of K-weighting that every meter uses are off by
// more than 0.1 dB: the bilinear transform bends the shelf.
#define METERED_LEAST_HZ 22000U
#define METERED_HZ 48000U

// The loudness range is for long programmes, and not stable in the first 60 s
// (EBU Tech 3342, whose test signals last from 40 s); for less it is left out
// (chosen here).
#define RANGE_LEAST_S 30.0

// -0.691 + 10 log10(z): Rec. ITU-R BS.1770-5, annex 1.
#define OFFSET_DB (-0.691)

/// Energies of 10 ms windows, summed up from the start.
typedef struct {
  double* sums;
  size_t  n_hops;
  size_t  n_open; ///< Frames fed of the window that is not full yet.
} Energies;

static double
loudness_of(double energy) {
  return energy > 0.0 ? OFFSET_DB + vw_db_of_power(energy) : NAN;
}

/// The loudest of all stretches of `n_hops`, silence about the sound.
static double
loudest(const Energies* energies, size_t n_hops) {
  double highest = 0.0;
  for (size_t to = 1; to <= energies->n_hops; ++to) {
    const size_t from = to > n_hops ? to - n_hops : 0U;
    highest = fmax(highest, energies->sums[to] - energies->sums[from]);
  }
  return loudness_of(highest / (double)n_hops);
}

/// Add the energy of the window that the meter has just been fed.
static VwStatus
close_hop(ebur128_state* meter, Energies* energies) {
  double lufs = 0.0;
  if (ebur128_loudness_window(meter, 1000U / HOPS_PER_S, &lufs)) {
    return VW_NO_MEMORY;
  }
  const double energy = isfinite(lufs) ? vw_power_of_db(lufs - OFFSET_DB) : 0.0;
  energies->sums[energies->n_hops + 1U] =
    energies->sums[energies->n_hops] + energy;
  ++energies->n_hops;
  energies->n_open = 0;
  return VW_OK;
}

/// Feed the meter hop by hop, and sum the energies up. A hop that is not full
/// waits for what is fed next: read early, it would count frames twice.
static VwStatus
feed(ebur128_state* meter,
     const float*   values,
     size_t         n_frames,
     Energies*      energies) {
  const size_t n_hop = meter->samplerate / HOPS_PER_S;
  VwStatus     st = VW_OK;
  for (size_t at = 0; !st && at < n_frames;) {
    const size_t n_lacking = n_hop - energies->n_open;
    const size_t n = n_frames - at < n_lacking ? n_frames - at : n_lacking;
    if (ebur128_add_frames_float(meter, values + at * meter->channels, n)) {
      return VW_NO_MEMORY;
    }
    at += n;
    energies->n_open += n;
    st = energies->n_open == n_hop ? close_hop(meter, energies) : VW_OK;
  }
  return st;
}

static double
finite_or_nan(double value) {
  return isfinite(value) ? value : NAN;
}

/// What the meter says of a sound that it has been fed.
static void
read_meter(ebur128_state* meter, const VwSound* sound, VwLoudness* loudness) {
  double value = NAN;
  if (sound->n_frames * 5U >= (size_t)sound->rate_hz * 2U &&
      !ebur128_loudness_global(meter, &value)) {
    loudness->integrated_lufs = finite_or_nan(value);
  }
  // Of silence the meter says that it has no range.
  if (isfinite(loudness->integrated_lufs) &&
      (double)sound->n_frames >= RANGE_LEAST_S * sound->rate_hz &&
      !ebur128_loudness_range(meter, &value)) {
    loudness->range_lu = finite_or_nan(value);
  }
}

/// Whether the meter takes a sound as it is: whole hops, and a rate it is right
/// at.
static bool
suits_meter(const VwSound* sound) {
  return sound->rate_hz >= METERED_LEAST_HZ && !(sound->rate_hz % HOPS_PER_S);
}

static VwStatus
meter_run(ebur128_state* meter, const VwSound* sound, VwLoudness* loudness) {
  const size_t n_hop = sound->rate_hz / HOPS_PER_S;
  const size_t n_tail = n_hop * MOMENTARY_HOPS;
  Energies     energies = {
        calloc((sound->n_frames + n_tail) / n_hop + 3U, sizeof(double)), 0U, 0U};
  float* const silence = calloc(n_tail * sound->n_channels, sizeof(float));
  VwStatus     st = energies.sums && silence ? VW_OK : VW_NO_MEMORY;
  st = st ? st : feed(meter, sound->values, sound->n_frames, &energies);
  if (!st) {
    read_meter(meter, sound, loudness);
    if (sound->n_frames >= n_hop * SHORT_TERM_HOPS) {
      loudness->short_term_max_lufs = loudest(&energies, SHORT_TERM_HOPS);
    }
    st = feed(meter, silence, n_tail, &energies);
  }
  if (!st) {
    loudness->momentary_max_lufs = loudest(&energies, MOMENTARY_HOPS);
  }
  free(energies.sums);
  free(silence);
  return st;
}

// libebur128 writes tables of its own, always the same, whenever a meter is
// made; a meter that gates reads them as it runs.
static pthread_mutex_t tables = PTHREAD_MUTEX_INITIALIZER;

static ebur128_state*
meter_new(const VwSound* sound, int mode) {
  pthread_mutex_lock(&tables);
  ebur128_state* const meter =
    ebur128_init(sound->n_channels, sound->rate_hz, mode);
  pthread_mutex_unlock(&tables);
  return meter;
}

/// Run a meter; those that read the tables one after the other.
static VwStatus
meter_run_safely(ebur128_state* meter,
                 const VwSound* sound,
                 VwLoudness*    loudness) {
  const bool gates = (meter->mode & EBUR128_MODE_I) == EBUR128_MODE_I;
  if (gates) {
    pthread_mutex_lock(&tables);
  }
  const VwStatus st = meter_run(meter, sound, loudness);
  if (gates) {
    pthread_mutex_unlock(&tables);
  }
  return st;
}

static VwStatus
measure(const VwSound* sound, int mode, VwLoudness* loudness) {
  const bool     suits = suits_meter(sound);
  VwSound        metered = *sound; // a view
  const VwStatus st =
    suits ? VW_OK : vw_convert_whole_band(sound, METERED_HZ, &metered);
  if (st) {
    return st;
  }
  *loudness = (VwLoudness){NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN};
  ebur128_state* meter = meter_new(&metered, mode);
  const VwStatus run =
    meter ? meter_run_safely(meter, &metered, loudness) : VW_NO_MEMORY;
  if (meter) {
    ebur128_destroy(&meter);
  }
  if (!suits) {
    vw_sound_clear(&metered);
  }
  return run;
}

VwStatus
vw_loudness_of_effect(const VwSound* sound, double* lufs) {
  VwLoudness     loudness = {0};
  const VwStatus st = measure(sound, EBUR128_MODE_M, &loudness);
  if (!st) {
    *lufs = loudness.momentary_max_lufs;
  }
  return st;
}

VwStatus
vw_loudness_measure(const VwSound* sound, VwLoudness* loudness) {
  assert(sound && loudness);
  VwLoudness out = {0};
  VwStatus   st = measure(sound, EBUR128_MODE_I | EBUR128_MODE_LRA, &out);
  st = st ? st : vw_spectrum_share_below(sound, 350.0, &out.energy_below_350hz);
  st = st ? st : vw_spectrum_share_below(sound, 800.0, &out.energy_below_800hz);
  if (st) {
    return st;
  }
  out.true_peak_dbtp = vw_peak_dbtp(sound);
  double energy = 0.0;
  for (size_t i = 0; i < sound->n_frames; ++i) {
    energy += vw_sound_power_at(sound, i);
  }
  const double peak = vw_sound_peak(sound);
  if (energy > 0.0) {
    out.crest_factor_db =
      vw_db_of_power(peak * peak / (energy / (double)sound->n_frames));
  }
  *loudness = out;
  return VW_OK;
}
