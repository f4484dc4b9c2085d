#include "support/signals.h"

#include <math.h>
#include <stdlib.h>

#define TWO_PI 6.283185307179586

// The natural logarithm of a decay by 60 dB in amplitude, 3 ln 10.
#define DECAY_60 6.907755278982137

SignalRandom
signal_random(uint64_t seed) {
  const SignalRandom random = {seed * 0x9E3779B97F4A7C15U + 1U};
  return random;
}

// G. L. Steele et al., "Fast splittable pseudorandom number generators",
// OOPSLA 2014.
static uint64_t
next_bits(SignalRandom* random) {
  random->state += 0x9E3779B97F4A7C15U;
  uint64_t bits = random->state;
  bits = (bits ^ (bits >> 30U)) * 0xBF58476D1CE4E5B9U;
  bits = (bits ^ (bits >> 27U)) * 0x94D049BB133111EBU;
  return bits ^ (bits >> 31U);
}

double
signal_uniform(SignalRandom* random) {
  return (double)(next_bits(random) >> 11U) * 0x1p-53;
}

// G. E. P. Box and M. E. Muller, Ann. Math. Statist. 29(2), 1958.
double
signal_normal(SignalRandom* random) {
  const double radius = sqrt(-2.0 * log(1.0 - signal_uniform(random)));
  return radius * cos(TWO_PI * signal_uniform(random));
}

VwSound
signal_silence(double seconds, unsigned rate_hz) {
  VwSound      sound = {NULL, 0, 0, 0};
  const size_t n_frames = (size_t)lround(seconds * rate_hz);
  if (vw_sound_init(&sound, n_frames, 1, rate_hz)) {
    abort();
  }
  return sound;
}

static void
add_to_frame(VwSound* sound, size_t frame, double value) {
  for (unsigned channel = 0; channel < sound->n_channels; ++channel) {
    float* const place = &sound->values[frame * sound->n_channels + channel];
    *place = (float)((double)*place + value);
  }
}

double
signal_burst_envelope(const SignalBurst* burst, double at_s) {
  const double since_s = at_s - burst->start_s;
  if (since_s < 0.0) {
    return 0.0;
  }
  if (since_s < burst->rise_s) {
    return burst->level * since_s / burst->rise_s;
  }
  const double decaying_s = since_s - burst->rise_s - burst->hold_s;
  if (decaying_s <= 0.0 || burst->decay_s <= 0.0) {
    return burst->level;
  }
  return burst->level * exp(-DECAY_60 * decaying_s / burst->decay_s);
}

// Turns of a tone whose pitch changes exponentially: the integral of it.
static double
burst_turns(const SignalBurst* burst, double since_s) {
  const double growth = burst->glide_octaves_per_s * log(2.0);
  const double stretched =
    fabs(growth) > 0.0 ? expm1(growth * since_s) / growth : since_s;
  return burst->phase_turns + burst->pitch_hz * stretched;
}

void
signal_add_burst(VwSound*           sound,
                 const SignalBurst* burst,
                 SignalRandom*      random) {
  for (size_t i = 0; i < sound->n_frames; ++i) {
    const double at_s = (double)i / sound->rate_hz;
    const double envelope = signal_burst_envelope(burst, at_s);
    if (envelope <= 0.0) {
      continue;
    }
    const double turns = burst_turns(burst, at_s - burst->start_s);
    const double wave = burst->pitch_hz > 0.0
                          ? sin(TWO_PI * fmod(turns, 1.0))
                          : signal_normal(random) * sqrt(0.5);
    add_to_frame(sound, i, envelope * wave);
  }
}

void
signal_add_noise(VwSound* sound, double rms, SignalRandom* random) {
  for (size_t i = 0; i < sound->n_frames * sound->n_channels; ++i) {
    const double noise = rms * signal_normal(random);
    sound->values[i] = (float)((double)sound->values[i] + noise);
  }
}

void
signal_add_offset(VwSound* sound, double offset) {
  for (size_t i = 0; i < sound->n_frames; ++i) {
    add_to_frame(sound, i, offset);
  }
}

void
signal_add_offset_under(VwSound*           sound,
                        const SignalBurst* burst,
                        double             offset) {
  for (size_t i = 0; i < sound->n_frames; ++i) {
    const double at_s = (double)i / sound->rate_hz;
    add_to_frame(
      sound, i, offset * signal_burst_envelope(burst, at_s) / burst->level);
  }
}

void
signal_add_click(VwSound* sound, double at_s, double level) {
  const size_t frame = (size_t)lround(at_s * sound->rate_hz);
  if (frame < sound->n_frames) {
    add_to_frame(sound, frame, level);
  }
}

void
signal_add_tone(VwSound* sound, double pitch_hz, double level, double phase) {
  for (size_t i = 0; i < sound->n_frames; ++i) {
    const double turns = phase + pitch_hz * (double)i / sound->rate_hz;
    add_to_frame(sound, i, level * sin(TWO_PI * fmod(turns, 1.0)));
  }
}

VwSound
signal_take(double             seconds,
            unsigned           rate_hz,
            const SignalBurst* burst,
            uint64_t           seed) {
  SignalRandom random = signal_random(seed);
  VwSound      take = signal_silence(seconds, rate_hz);
  // 70 dB below a tone at the burst's level.
  signal_add_noise(&take, 0.7071 * burst->level * 3.16e-4, &random);
  signal_add_burst(&take, burst, &random);
  return take;
}
