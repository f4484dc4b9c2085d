#include "base/units.h"
#include "signal/signal.h"
#include "take/internal.h"
#include "take/take.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

#define LOWEST_HZ 50.0

// A period needs this many frames for its maximum to stand out.
#define SHORTEST_PERIOD 4U

// From here on a maximum of the normalised difference is a pitch; noise of the
// same length stays below half of it.
#define CLARITY 0.8

// The first maximum this near to the highest is the period, not a multiple.
#define NEAR_HIGHEST 0.9

// The fine measure may move the pitch so far, and only where the fundamental
// holds this part of the sound's RMS.
#define FINE_MOST 0.03
#define FINE_SHARE 0.1

/// The piece of sound at hand, one channel.
typedef struct {
  double* x;       ///< Values less their mean.
  double* nsdf;    ///< Normalised square difference by lag.
  size_t  n;       ///< Frames.
  size_t  n_lags;  ///< Lags looked at.
  double  rate_hz; ///< Sample rate.
} Piece;

/// Divide by the energy of the two overlapping stretches.
static void
normalise(const Piece* piece) {
  double energy = 0.0;
  for (size_t i = 0; i < piece->n; ++i) {
    energy += 2.0 * piece->x[i] * piece->x[i];
  }
  const double least = energy * 1e-12;
  for (size_t lag = 0; lag < piece->n_lags; ++lag) {
    piece->nsdf[lag] = energy > least ? 2.0 * piece->nsdf[lag] / energy : 0.0;
    const double first = piece->x[lag];
    const double last = piece->x[piece->n - 1U - lag];
    energy -= first * first + last * last;
  }
}

static bool
is_maximum(const double* y, size_t at) {
  return y[at] > y[at - 1U] && y[at] >= y[at + 1U];
}

/// The lag of the first high maximum after the first fall below zero, or 0.
static double
period_of(const Piece* piece) {
  const double* const y = piece->nsdf;
  size_t              start = 1;
  while (start < piece->n_lags && y[start] > 0.0) {
    ++start;
  }
  start = start < SHORTEST_PERIOD ? SHORTEST_PERIOD : start;
  double highest = 0.0;
  for (size_t i = start; i + 1U < piece->n_lags; ++i) {
    highest = is_maximum(y, i) ? fmax(highest, y[i]) : highest;
  }
  if (highest < CLARITY) {
    return 0.0;
  }
  size_t at = start;
  while (!is_maximum(y, at) || y[at] < NEAR_HIGHEST * highest) {
    ++at;
  }
  const double bend = y[at - 1U] - 2.0 * y[at] + y[at + 1U];
  const double shift = 0.5 * (y[at - 1U] - y[at + 1U]) / bend;
  return (double)at + shift;
}

/// Phase and size of one frequency under a Hann window.
typedef struct {
  double phase;
  double size;
} Partial;

static Partial
partial_at(const Piece* piece, size_t from, size_t n, double turn) {
  double re = 0.0;
  double im = 0.0;
  for (size_t i = 0; i < n; ++i) {
    const double window =
      0.5 - 0.5 * cos(2.0 * VW_PI * ((double)i + 0.5) / (double)n);
    const double x = piece->x[from + i] * window;
    re += x * cos(turn * (double)(from + i));
    im -= x * sin(turn * (double)(from + i));
  }
  return (Partial){atan2(im, re), 4.0 * hypot(re, im) / (double)n};
}

/// The pitch from the advance in phase over a quarter of the piece.
static double
finer(const Piece* piece, double period) {
  const double  turn = 2.0 * VW_PI / period;
  const size_t  shift = piece->n / 4U;
  const size_t  n = piece->n - shift;
  const Partial a = partial_at(piece, 0, n, turn);
  const Partial b = partial_at(piece, shift, n, turn);
  const double  moved = remainder(b.phase - a.phase, 2.0 * VW_PI);
  const double  finer_turn = turn + moved / (double)shift;
  double        energy = 0.0;
  for (size_t i = 0; i < piece->n; ++i) {
    energy += piece->x[i] * piece->x[i];
  }
  const double rms = sqrt(energy / (double)piece->n);
  const bool   sure = fabs(finer_turn / turn - 1.0) < FINE_MOST &&
                    a.size > FINE_SHARE * rms && b.size > FINE_SHARE * rms;
  return (sure ? finer_turn : turn) / (2.0 * VW_PI) * piece->rate_hz;
}

static void
take_piece(const VwSound* sound, size_t from, const Piece* piece) {
  const unsigned channel = vw_sound_strongest(sound, from, piece->n);
  double         mean = 0.0;
  for (size_t i = 0; i < piece->n; ++i) {
    piece->x[i] =
      (double)sound->values[(from + i) * sound->n_channels + channel];
    mean += piece->x[i] / (double)piece->n;
  }
  for (size_t i = 0; i < piece->n; ++i) {
    piece->x[i] -= mean;
  }
}

VwStatus
vw_pitch_find(const VwSound* sound, size_t from, double* pitch_hz) {
  const double rate_hz = (double)sound->rate_hz;
  const size_t n = vw_frames_of_s(VW_PITCH_WINDOW_S, rate_hz);
  if (from > sound->n_frames || sound->n_frames - from < n) {
    *pitch_hz = NAN;
    return VW_OK;
  }
  const size_t n_lags = (size_t)(rate_hz / LOWEST_HZ) + 2U;
  double*      buffer = calloc(n + n_lags, sizeof(double));
  const Piece  piece = {buffer, buffer + n, n, n_lags, rate_hz};
  VwStatus     st = buffer ? VW_OK : VW_NO_MEMORY;
  if (!st) {
    take_piece(sound, from, &piece);
    st = vw_spectrum_correlate(piece.x, piece.n, piece.nsdf, piece.n_lags);
  }
  if (!st) {
    normalise(&piece);
    const double period = period_of(&piece);
    *pitch_hz = period > 0.0 ? finer(&piece, period) : NAN;
  }
  free(buffer);
  return st;
}

VwStatus
vw_pitch_follow(const VwSound*   sound,
                const VwStretch* stretch,
                float*           pitch_hz) {
  assert(sound && stretch && pitch_hz);
  const double step = vw_stretch_step(stretch);
  const size_t half =
    vw_frames_of_s(VW_PITCH_WINDOW_S / 2.0, (double)sound->rate_hz);
  VwStatus st = VW_OK;
  for (size_t i = 0; !st && i < stretch->n_steps; ++i) {
    const size_t middle =
      stretch->from_frame + (size_t)(((double)i + 0.5) * step);
    double hz = NAN;
    st = middle < half ? VW_OK : vw_pitch_find(sound, middle - half, &hz);
    pitch_hz[i] = (float)hz;
  }
  return st;
}
