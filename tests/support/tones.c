#include "support/tones.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define TWO_PI 6.283185307179586

enum { TERMS_MAX = 2 * 16 + 1 };

static double
value_at(const Stretch* stretch, size_t i) {
  const VwSound* const sound = stretch->sound;
  return (double)
    sound->values[(stretch->first + i) * sound->n_channels + stretch->channel];
}

static double
hann_power(const Stretch* stretch, double hz) {
  const double angle = TWO_PI * hz / stretch->sound->rate_hz;
  double       even = 0.0;
  double       odd = 0.0;
  for (size_t i = 0; i < stretch->n_frames; ++i) {
    const double place = ((double)i + 0.5) / (double)stretch->n_frames;
    const double x = value_at(stretch, i) * (1.0 - cos(TWO_PI * place));
    even += x * cos(angle * (double)i);
    odd += x * sin(angle * (double)i);
  }
  return even * even + odd * odd;
}

double
tone_pitch_hz(const Stretch* stretch, double near_hz) {
  double best_hz = near_hz;
  double reach = 0.04 * near_hz;
  // Each turn looks at 17 pitches and narrows the reach to two of their steps.
  while (reach > 1e-6 * near_hz) {
    const double middle = best_hz;
    double       highest = -1.0;
    for (int i = -8; i <= 8; ++i) {
      const double hz = middle + reach * i / 8.0;
      const double power = hann_power(stretch, hz);
      if (power > highest) {
        highest = power;
        best_hz = hz;
      }
    }
    reach /= 4.0;
  }
  return best_hz;
}

double
tone_cents(double from_hz, double to_hz) {
  return 1200.0 * log2(to_hz / from_hz);
}

// The terms of frame i: a constant, then a cosine and a sine of each tone.
static void
terms_at(const Stretch* stretch, const Tones* tones, size_t i, double* terms) {
  terms[0] = 1.0;
  for (size_t j = 0; j < tones->n_tones; ++j) {
    const double turns =
      fmod(tones->hz[j] * (double)i / stretch->sound->rate_hz, 1.0);
    terms[1 + 2 * j] = cos(TWO_PI * turns);
    terms[2 + 2 * j] = sin(TWO_PI * turns);
  }
}

// Solve the normal equations in place by elimination; they are positive
// definite, so no pivoting is needed.
static void
solve(double matrix[TERMS_MAX][TERMS_MAX + 1], size_t n) {
  for (size_t column = 0; column < n; ++column) {
    for (size_t row = 0; row < n; ++row) {
      if (row == column) {
        continue;
      }
      const double factor = matrix[row][column] / matrix[column][column];
      for (size_t k = column; k <= n; ++k) {
        matrix[row][k] -= factor * matrix[column][k];
      }
    }
  }
  for (size_t row = 0; row < n; ++row) {
    matrix[row][n] /= matrix[row][row];
  }
}

void
tones_fit(const Stretch* stretch, Tones* tones) {
  const size_t n = 2 * tones->n_tones + 1;
  double       matrix[TERMS_MAX][TERMS_MAX + 1] = {{0.0}};
  double       terms[TERMS_MAX];
  for (size_t i = 0; i < stretch->n_frames; ++i) {
    terms_at(stretch, tones, i, terms);
    for (size_t row = 0; row < n; ++row) {
      for (size_t column = 0; column < n; ++column) {
        matrix[row][column] += terms[row] * terms[column];
      }
      matrix[row][n] += terms[row] * value_at(stretch, i);
    }
  }
  solve(matrix, n);
  double sum = 0.0;
  for (size_t i = 0; i < stretch->n_frames; ++i) {
    terms_at(stretch, tones, i, terms);
    double rest = value_at(stretch, i);
    for (size_t row = 0; row < n; ++row) {
      rest -= matrix[row][n] * terms[row];
    }
    sum += rest * rest;
  }
  tones->rest_rms = sqrt(sum / (double)stretch->n_frames);
  for (size_t j = 0; j < tones->n_tones; ++j) {
    tones->level[j] = hypot(matrix[1 + 2 * j][n], matrix[2 + 2 * j][n]);
    tones->phase[j] =
      atan2(matrix[1 + 2 * j][n], matrix[2 + 2 * j][n]) / TWO_PI;
  }
}
