#include "base/units.h"
#include "lamp/lamp.h"
#include "lamp/pulse.h"

#include "volleyweave/volleyweave.h"

#include <math.h>
#include <stdlib.h>

// Loudness over power: it doubles every 10 dB (S. S. Stevens, "The measurement
// of loudness", J. Acoust. Soc. Am. 27, 1955), lg 2 in decades.
#define LOUDNESS_POWER 0.30102999566398120

#define BRIGHTEST 255.0

// A level falls by so much in the on-time, as that of a loop does whose on-time
// was taken from it (chosen here).
#define FALL_DB 12.0

static unsigned char
brightness_of(double power, double gamma) {
  const double share = pow(fmin(fmax(power, 0.0), 1.0), LOUDNESS_POWER * gamma);
  return (unsigned char)(BRIGHTEST * share + 0.5);
}

/// Mean level of a step of the period over all shots.
static double
level_in(const VwPulses* pulses, size_t step, size_t n_steps) {
  double sum = 0.0;
  for (size_t shot = 0; shot < pulses->shots; ++shot) {
    const double share = (double)step / (double)n_steps;
    const size_t from = vw_pulses_step(pulses, shot, share);
    const size_t next =
      vw_pulses_step(pulses, shot, share + 1.0 / (double)n_steps);
    const size_t to = next > from ? next : from + 1U;
    double       mean = 0.0;
    for (size_t i = from; i < to; ++i) {
      mean += pulses->curve.level[i] / (double)(to - from);
    }
    sum += mean;
  }
  return sum / (double)pulses->shots;
}

static VwStatus
set_steps(const VwPulses* pulses,
          double          gamma,
          size_t          n_steps,
          unsigned char*  steps) {
  double* const levels = calloc(n_steps, sizeof(double));
  double        most = 0.0;
  if (!levels) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < n_steps; ++i) {
    levels[i] = level_in(pulses, i, n_steps);
    most = fmax(most, levels[i]);
  }
  for (size_t i = 0; i < n_steps; ++i) {
    steps[i] = brightness_of(levels[i] / most, gamma);
  }
  free(levels);
  return VW_OK;
}

VwStatus
vw_brightness_of_loop(const VwSound* loop,
                      size_t         shots,
                      double         gamma,
                      size_t         n_steps,
                      unsigned char* steps) {
  VwPulses pulses = {0};
  VwStatus st = vw_pulses_take(loop, shots, &pulses);
  st = st ? st : set_steps(&pulses, gamma, n_steps, steps);
  vw_pulses_clear(&pulses);
  return st;
}

void
vw_brightness_of_decay(const VwLamp*  lamp,
                       double         gamma,
                       size_t         n_steps,
                       unsigned char* steps) {
  for (size_t i = 0; i < n_steps; ++i) {
    const double at_ms = lamp->period_ms * (double)i / (double)n_steps;
    const double fallen_db = FALL_DB * at_ms / lamp->on_ms;
    steps[i] = brightness_of(vw_power_of_db(-fallen_db), gamma);
  }
}
