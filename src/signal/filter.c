#include "base/ranges.h"
#include "base/units.h"
#include "signal/signal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// One more coefficient from the errors forwards and backwards; both shrink by
/// what it explains.
static double
reflect(double* forward, double* backward, size_t from, size_t n) {
  double ab = 0.0;
  double aa = 0.0;
  for (size_t i = from; i < n; ++i) {
    ab += forward[i] * backward[i - 1U];
    aa += forward[i] * forward[i] + backward[i - 1U] * backward[i - 1U];
  }
  const double k = aa > 0.0 ? 2.0 * ab / aa : 0.0;
  for (size_t i = n; i-- > from;) {
    const double f = forward[i];
    forward[i] = f - k * backward[i - 1U];
    backward[i] = backward[i - 1U] - k * f;
  }
  return k;
}

bool
vw_predict_fit(const double* values, size_t n, size_t order, double* weights) {
  double* const errors = malloc(2U * n * sizeof(double));
  double        before[VW_PREDICT_MOST];
  if (!errors) {
    return false;
  }
  memcpy(errors, values, n * sizeof(double));
  memcpy(errors + n, values, n * sizeof(double));
  for (size_t m = 0; m < order; ++m) {
    const double k = reflect(errors, errors + n, m + 1U, n);
    memcpy(before, weights, m * sizeof(double));
    for (size_t i = 0; i < m; ++i) {
      weights[i] = before[i] - k * before[m - 1U - i];
    }
    weights[m] = k;
  }
  free(errors);
  return true;
}

VwBiquad
vw_biquad_high_pass(double corner_hz, double q, double rate_hz) {
  const double w = 2.0 * VW_PI * corner_hz / rate_hz;
  const double alpha = sin(w) / (2.0 * q);
  const double a0 = 1.0 + alpha;
  const double b = (1.0 + cos(w)) / 2.0 / a0;
  return (VwBiquad){.b0 = b,
                    .b1 = -2.0 * b,
                    .b2 = b,
                    .a1 = -2.0 * cos(w) / a0,
                    .a2 = (1.0 - alpha) / a0};
}

void
vw_biquad_settle(VwBiquad* biquad, double constant) {
  // The output of a high-pass on a constant is zero.
  biquad->s1 = -biquad->b0 * constant;
  biquad->s2 = biquad->b2 * constant;
}

void
vw_high_pass_4th(VwBiquad sections[VW_HIGH_PASS_SECTIONS],
                 double   corner_hz,
                 double   rate_hz) {
  sections[0] = vw_biquad_high_pass(corner_hz, 0.5 / cos(VW_PI / 8.0), rate_hz);
  sections[1] =
    vw_biquad_high_pass(corner_hz, 0.5 / cos(3.0 * VW_PI / 8.0), rate_hz);
}

VwBiquad
vw_biquad_peak(double hz, double db, double q, double rate_hz) {
  const double w = 2.0 * VW_PI * hz / rate_hz;
  const double a = vw_gain_of_db(db / 2.0);
  const double alpha = sin(w) / (2.0 * q);
  const double a0 = 1.0 + alpha / a;
  return (VwBiquad){.b0 = (1.0 + alpha * a) / a0,
                    .b1 = -2.0 * cos(w) / a0,
                    .b2 = (1.0 - alpha * a) / a0,
                    .a1 = -2.0 * cos(w) / a0,
                    .a2 = (1.0 - alpha / a) / a0};
}

/* Speakers */

/// All sections of a speaker.
typedef struct {
  VwBiquad sections[VW_HIGH_PASS_SECTIONS + VW_CUTS_MOST];
  size_t   n;
} Sections;

bool
vw_speaker_is_sound(const VwSpeaker* speaker) {
  bool sound =
    vw_is_zero_or_within(speaker->corner_hz, (VwRange)VW_RANGE_SPEAKER_HZ) &&
    vw_is_zero_or_within(speaker->resonance_hz, (VwRange)VW_RANGE_SPEAKER_HZ) &&
    speaker->n_cuts <= VW_CUTS_MOST;
  for (unsigned i = 0; sound && i < speaker->n_cuts; ++i) {
    const VwPeakCut* const cut = &speaker->cuts[i];
    sound = vw_is_within(cut->hz, (VwRange)VW_RANGE_CUT_HZ) &&
            vw_is_within(cut->db, (VwRange)VW_RANGE_CUT_DB) &&
            vw_is_within(cut->q, (VwRange)VW_RANGE_CUT_Q);
  }
  return sound;
}

/// Its sections at rest; the cuts times `sign`.
static Sections
sections_of(const VwSpeaker* speaker, double sign, double rate_hz) {
  Sections of = {.n = 0};
  if (speaker->corner_hz > 0.0) {
    vw_high_pass_4th(of.sections, speaker->corner_hz, rate_hz);
    of.n = VW_HIGH_PASS_SECTIONS;
  }
  for (unsigned i = 0; of.n && i < speaker->n_cuts; ++i) {
    const VwPeakCut* const cut = &speaker->cuts[i];
    if (cut->hz < VW_HIGH_PASS_MOST * rate_hz) {
      of.sections[of.n++] =
        vw_biquad_peak(cut->hz, sign * cut->db, cut->q, rate_hz);
    }
  }
  return of;
}

static void
filter(const Sections* sections, VwSound* sound) {
  for (unsigned c = 0; c < sound->n_channels; ++c) {
    Sections of = *sections;
    for (size_t i = 0; i < sound->n_frames; ++i) {
      float* const value = &sound->values[i * sound->n_channels + c];
      double       y = (double)*value;
      for (size_t k = 0; k < of.n; ++k) {
        y = vw_biquad_step(&of.sections[k], y);
      }
      *value = (float)y;
    }
  }
}

void
vw_speaker_spare(const VwSpeaker* speaker, VwSound* sound) {
  const Sections sections = sections_of(speaker, 1.0, sound->rate_hz);
  filter(&sections, sound);
}

void
vw_speaker_play(const VwSpeaker* speaker, VwSound* sound) {
  const Sections sections = sections_of(speaker, -1.0, sound->rate_hz);
  filter(&sections, sound);
}

/// What a section multiplies the power of a frequency by.
static double
power_of(const VwBiquad* of, double w) {
  const double c1 = cos(w);
  const double c2 = cos(2.0 * w);
  const double above = of->b0 * of->b0 + of->b1 * of->b1 + of->b2 * of->b2 +
                       2.0 * (of->b0 + of->b2) * of->b1 * c1 +
                       2.0 * of->b0 * of->b2 * c2;
  const double below = 1.0 + of->a1 * of->a1 + of->a2 * of->a2 +
                       2.0 * (1.0 + of->a2) * of->a1 * c1 + 2.0 * of->a2 * c2;
  return fmax(above, 0.0) / below;
}

double
vw_speaker_db(const VwSpeaker* speaker, double hz, double rate_hz) {
  const Sections of = sections_of(speaker, 1.0, rate_hz);
  double         power = 1.0;
  for (size_t i = 0; i < of.n; ++i) {
    power *= power_of(&of.sections[i], 2.0 * VW_PI * hz / rate_hz);
  }
  return 10.0 * log10(power);
}
