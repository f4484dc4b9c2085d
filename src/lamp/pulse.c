#include "lamp/pulse.h"
#include "lamp/lamp.h"
#include "signal/signal.h"

#include <string.h>

// The first channel counts unless another is 20 dB stronger (chosen here): the
// second may be a lamp track.
#define FAINT_POWER 0.01

static double
energy_of(const VwSound* sound, unsigned channel) {
  double energy = 0.0;
  for (size_t i = 0; i < sound->n_frames; ++i) {
    const double x = (double)sound->values[i * sound->n_channels + channel];
    energy += x * x;
  }
  return energy;
}

VwStatus
vw_pulse_channel(const VwSound* sound, VwSound* mono) {
  const unsigned strongest = vw_sound_strongest(sound, 0, sound->n_frames);
  const double   energy = energy_of(sound, 0);
  // A lamp track is no sound, however faint that is.
  const bool faint = energy < FAINT_POWER * energy_of(sound, strongest) &&
                     !(energy > 0.0 && vw_has_lamp_track(sound));
  return vw_sound_channel(sound, faint ? strongest : 0U, mono);
}

static VwStatus
play(const VwSound* mono, size_t n_more, VwSound* played) {
  const size_t   n = mono->n_frames;
  const VwStatus st = vw_sound_init(played, n + 2U * n_more, 1U, mono->rate_hz);
  for (size_t i = 0; !st && i < played->n_frames; ++i) {
    played->values[i] = mono->values[(i + n - n_more % n) % n];
  }
  return st;
}

VwStatus
vw_pulses_take(const VwSound* loop, size_t shots, VwPulses* pulses) {
  VwPulses out = {.n_cycle = loop->n_frames, .shots = shots};
  VwSound  mono = {0};
  VwSound  played = {0};
  VwStatus st = loop->n_frames ? vw_pulse_channel(loop, &mono) : VW_SILENT;
  // One cycle to read, and one on each side for the level's window to reach
  // into.
  st = st ? st : play(&mono, mono.n_frames, &played);
  st = st ? st : vw_curve_take(&played, &out.curve);
  vw_sound_clear(&mono);
  vw_sound_clear(&played);
  if (st) {
    return st;
  }
  const size_t crest = vw_curve_crest(&out.curve, 0, out.curve.n_steps);
  if (!(out.curve.level[crest] > 0.0)) {
    vw_pulses_clear(&out);
    return VW_SILENT;
  }
  *pulses = out;
  return VW_OK;
}

void
vw_pulses_clear(VwPulses* pulses) {
  if (pulses) {
    vw_curve_clear(&pulses->curve);
    memset(pulses, 0, sizeof(*pulses));
  }
}

size_t
vw_pulses_step(const VwPulses* pulses, size_t shot, double share) {
  const double cycle = (double)pulses->n_cycle / (double)pulses->curve.n_step;
  const double at =
    cycle * (1.0 + ((double)shot + share) / (double)pulses->shots);
  const size_t step = (size_t)(at + 0.5);
  return step < pulses->curve.n_steps ? step : pulses->curve.n_steps - 1U;
}
