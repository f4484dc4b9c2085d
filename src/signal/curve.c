#include "signal/curve.h"

#include "base/units.h"
#include "signal/filter.h"
#include "signal/hann.h"

#include <stdlib.h>
#include <string.h>

#define STEP_S 0.0005

/// Add one channel's mean squares: as it is, and after the level's high-pass.
static void
add_channel(const VwSound* sound,
            unsigned       channel,
            const VwCurve* curve,
            double*        high_passed) {
  VwBiquad sections[VW_HIGH_PASS_SECTIONS];
  vw_high_pass_4th(sections, VW_LEVEL_CORNER_HZ, sound->rate_hz);
  const float* value = sound->values + channel;
  size_t       n_left = sound->n_frames;
  for (size_t step = 0; step < curve->n_steps; ++step) {
    const size_t n = n_left < curve->n_step ? n_left : curve->n_step;
    double       square = 0.0;
    double       high_square = 0.0;
    for (size_t i = 0; i < n; ++i, value += sound->n_channels) {
      const double x = (double)*value;
      const double y =
        vw_biquad_step(&sections[1], vw_biquad_step(&sections[0], x));
      square += x * x;
      high_square += y * y;
    }
    const double weight =
      1.0 / ((double)curve->n_step * (double)sound->n_channels);
    curve->power[step] += square * weight;
    high_passed[step] += high_square * weight;
    n_left -= n;
  }
}

static VwStatus
smooth(VwCurve* curve, const double* high_passed) {
  VwHann         hann;
  const VwStatus st = vw_hann_init(&hann,
                                   high_passed,
                                   curve->n_steps,
                                   vw_curve_steps(curve, VW_LEVEL_WINDOW_S));
  if (st) {
    return st;
  }
  for (size_t i = 0; i < curve->n_steps; ++i) {
    curve->level[i] = vw_hann_mean(&hann, i);
  }
  vw_hann_clear(&hann);
  return VW_OK;
}

VwStatus
vw_curve_take(const VwSound* sound, VwCurve* curve) {
  VwCurve out = {0};
  out.n_step = vw_frames_of_s(STEP_S, sound->rate_hz);
  out.n_steps = (sound->n_frames + out.n_step - 1U) / out.n_step;
  out.step_s = (double)out.n_step / (double)sound->rate_hz;
  double* const high_passed = calloc(out.n_steps + 1U, sizeof(double));
  out.power = calloc(out.n_steps + 1U, sizeof(double));
  out.level = calloc(out.n_steps + 1U, sizeof(double));
  VwStatus st = high_passed && out.power && out.level ? VW_OK : VW_NO_MEMORY;
  for (unsigned c = 0; !st && c < sound->n_channels; ++c) {
    add_channel(sound, c, &out, high_passed);
  }
  st = st ? st : smooth(&out, high_passed);
  free(high_passed);
  if (st) {
    vw_curve_clear(&out);
    return st;
  }
  *curve = out;
  return VW_OK;
}

void
vw_curve_clear(VwCurve* curve) {
  if (curve) {
    free(curve->power);
    free(curve->level);
    memset(curve, 0, sizeof(*curve));
  }
}

size_t
vw_curve_crest(const VwCurve* curve, size_t from, size_t to) {
  size_t crest = from;
  for (size_t i = from; i < to && i < curve->n_steps; ++i) {
    crest = curve->level[i] > curve->level[crest] ? i : crest;
  }
  return crest;
}

size_t
vw_curve_steps(const VwCurve* curve, double seconds) {
  return (size_t)(seconds / curve->step_s + 0.5);
}
