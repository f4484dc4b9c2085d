#include "base/units.h"
#include "signal/signal.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

// If the means of stretches so long spread more than this, half as much is no
// constant but follows the sound. Set on the same loops: of one recording, low
// and lopsided, they spread by 0.17 and more, and the mean is up to 0.044; of
// all others by up to 0.15.
#define STRETCH_S 0.01
#define FOLLOWS_LEAST 0.16
#define FOLLOWS_SHARE 0.5

// Such a sound may tell all the same: faded at its seam, it comes to rest there
// at its constant, from frame to frame within three steps of 16 bits. What is
// more than three times the 1 % looked for is no rest but a crest (chosen
// here).
#define REST_STEP_MOST 1e-4
#define REST_MOST 0.03

/// Where a channel comes to rest at the seam; 0 if it does not.
static double
rest_of(const VwSound* loop, unsigned channel) {
  const size_t last = (loop->n_frames - 1U) * loop->n_channels;
  const double end = (double)loop->values[last + channel];
  const double start = (double)loop->values[channel];
  return fabs(end - start) <= REST_STEP_MOST && fabs(end) <= REST_MOST ? end
                                                                       : 0.0;
}

double
vw_sound_constant(const VwSound* loop, unsigned channel) {
  const size_t n = vw_frames_of_s(STRETCH_S, loop->rate_hz);
  double       sum = 0.0;
  double       squares = 0.0;
  double       stretch = 0.0;
  double       n_stretches = 0.0;
  for (size_t i = 0; i < loop->n_frames; ++i) {
    stretch += (double)loop->values[i * loop->n_channels + channel];
    if ((i + 1U) % n == 0U || i + 1U == loop->n_frames) {
      const double n_here = (double)(i % n + 1U);
      squares += stretch * stretch / n_here;
      n_stretches += n_here;
      sum += stretch;
      stretch = 0.0;
    }
  }
  const double mean = sum / n_stretches;
  const double spread = sqrt(fmax(squares / n_stretches - mean * mean, 0.0));
  return spread <= FOLLOWS_LEAST || fabs(mean) >= FOLLOWS_SHARE * spread
           ? mean
           : rest_of(loop, channel);
}

// Values looked at side by side.
#define ABREAST 8U

// Steps are counted in widths of a 16-bit code, up to twice full scale.
#define STEP_WIDTH (1.0 / 32768.0)
#define N_STEPS 65538U

// A step more than twice as high as the one that this share of all others stays
// below is heard as a click (simulated: the bound to which the seams of loops
// are held).
#define SHARE_BELOW 0.999
#define TIMES_MOST 2.0

VwStatus
vw_sound_init(VwSound* sound,
              size_t   n_frames,
              unsigned n_channels,
              unsigned rate_hz) {
  assert(sound);
  if (n_channels && n_frames > SIZE_MAX / sizeof(float) / n_channels) {
    return VW_NO_MEMORY;
  }
  // One value is asked for where none is needed: NULL means no memory.
  const size_t n_values = n_frames * n_channels;
  float* const values = calloc(n_values ? n_values : 1U, sizeof(float));
  if (!values) {
    return VW_NO_MEMORY;
  }
  *sound = (VwSound){values, n_frames, n_channels, rate_hz};
  return VW_OK;
}

void
vw_sound_clear(VwSound* sound) {
  if (sound) {
    free(sound->values);
    memset(sound, 0, sizeof(*sound));
  }
}

VwStatus
vw_sound_channel(const VwSound* sound, unsigned channel, VwSound* out) {
  assert(sound && out && channel < sound->n_channels);
  VwSound        made = {0};
  const VwStatus st = vw_sound_init(&made, sound->n_frames, 1U, sound->rate_hz);
  if (st) {
    return st;
  }
  for (size_t i = 0; i < sound->n_frames; ++i) {
    made.values[i] = sound->values[i * sound->n_channels + channel];
  }
  *out = made;
  return VW_OK;
}

VwStatus
vw_sound_heard(const VwSound* sound, bool track, VwSound* heard) {
  return track ? vw_sound_channel(sound, 0U, heard)
               : vw_sound_copy(sound, heard);
}

VwStatus
vw_sound_copy(const VwSound* sound, VwSound* copy) {
  return vw_sound_part(sound, 0, sound->n_frames, copy);
}

VwStatus
vw_sound_part(const VwSound* sound,
              size_t         from,
              size_t         n_frames,
              VwSound*       part) {
  VwSound        out = {0};
  const VwStatus st =
    vw_sound_init(&out, n_frames, sound->n_channels, sound->rate_hz);
  if (st) {
    return st;
  }
  const size_t there = from < sound->n_frames ? sound->n_frames - from : 0U;
  const size_t n = there < n_frames ? there : n_frames;
  if (n) {
    memcpy(out.values,
           sound->values + from * sound->n_channels,
           n * sound->n_channels * sizeof(float));
  }
  *part = out;
  return VW_OK;
}

VwStatus
vw_sound_pad(VwSound* sound, size_t frames_unit, size_t least) {
  const size_t   n = sound->n_frames < least ? least : sound->n_frames;
  VwSound        padded = {0};
  const VwStatus st = vw_sound_part(
    sound, 0, (n + frames_unit - 1U) / frames_unit * frames_unit, &padded);
  if (!st) {
    vw_sound_clear(sound);
    *sound = padded;
  }
  return st;
}

void
vw_sound_scale(VwSound* sound, double gain) {
  for (size_t i = 0; i < sound->n_frames * sound->n_channels; ++i) {
    sound->values[i] = (float)((double)sound->values[i] * gain);
  }
}

double
vw_sound_peak(const VwSound* sound) {
  const size_t n_values = sound->n_frames * sound->n_channels;
  const float* value = sound->values;
  // Side by side, so that a compiler can look at several at once.
  float highest[ABREAST] = {0.0F};
  for (size_t i = 0; i < n_values / ABREAST; ++i, value += ABREAST) {
    for (size_t k = 0; k < ABREAST; ++k) {
      const float size = fabsf(value[k]);
      highest[k] = size > highest[k] ? size : highest[k];
    }
  }
  for (size_t k = 0; k < n_values % ABREAST; ++k) {
    const float size = fabsf(value[k]);
    highest[k] = size > highest[k] ? size : highest[k];
  }
  for (size_t k = 1; k < ABREAST; ++k) {
    highest[0] = highest[k] > highest[0] ? highest[k] : highest[0];
  }
  return (double)highest[0];
}

double
vw_sound_power_at(const VwSound* sound, size_t frame) {
  double sum = 0.0;
  for (unsigned c = 0; c < sound->n_channels; ++c) {
    const double x = (double)sound->values[frame * sound->n_channels + c];
    sum += x * x;
  }
  return sum / (double)sound->n_channels;
}

VwSound
vw_sound_sounding(const VwSound* sound) {
  VwSound part = *sound;
  while (part.n_frames > 1U && vw_sound_power_at(&part, 0) <= 0.0) {
    part.values += part.n_channels;
    --part.n_frames;
  }
  while (part.n_frames > 1U &&
         vw_sound_power_at(&part, part.n_frames - 1U) <= 0.0) {
    --part.n_frames;
  }
  return part;
}

unsigned
vw_sound_strongest(const VwSound* sound, size_t from, size_t n) {
  double   highest = -1.0;
  unsigned strongest = 0;
  for (unsigned c = 0; c < sound->n_channels; ++c) {
    double energy = 0.0;
    for (size_t i = from; i < from + n; ++i) {
      const double x = (double)sound->values[i * sound->n_channels + c];
      energy += x * x;
    }
    strongest = energy > highest ? c : strongest;
    highest = fmax(energy, highest);
  }
  return strongest;
}

double
vw_sound_height(const VwSound* sound, size_t frame) {
  const unsigned n = sound->n_channels;
  double         most = 0.0;
  for (unsigned i = 0; i < n; ++i) {
    most = fmax(most, fabs((double)sound->values[frame * n + i]));
  }
  return most;
}

double
vw_sound_step(const VwSound* sound, size_t from, size_t to) {
  const unsigned n = sound->n_channels;
  double         most = 0.0;
  for (unsigned i = 0; i < n; ++i) {
    most = fmax(most,
                fabs((double)sound->values[to * n + i] -
                     (double)sound->values[from * n + i]));
  }
  return most;
}

double
vw_sound_step_heard(const VwSound* sound) {
  size_t* const counts = calloc(N_STEPS, sizeof(size_t));
  if (!counts) {
    return -1.0;
  }
  const size_t n_steps = sound->n_frames - 1U;
  for (size_t i = 0; i < n_steps; ++i) {
    const double widths = vw_sound_step(sound, i, i + 1U) / STEP_WIDTH;
    ++counts[widths < N_STEPS - 1U ? (size_t)widths : N_STEPS - 1U];
  }
  size_t at = 0;
  size_t n_below = counts[0];
  while ((double)n_below < SHARE_BELOW * (double)n_steps) {
    n_below += counts[++at];
  }
  free(counts);
  return TIMES_MOST * (double)(at + 1U) * STEP_WIDTH;
}
