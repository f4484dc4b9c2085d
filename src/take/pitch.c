#include "base/units.h"
#include "signal/signal.h"
#include "take/internal.h"
#include "take/take.h"

#include <assert.h>
#include <complex.h>
#include <math.h>
#include <stdlib.h>

#define LOWEST_HZ 50.0

// Lags are looked at in so many steps a frame, by so many frames to both sides:
// a period of 8 kHz is three frames long at the sample rates of small boards.
#define FINE 4U
#define FINE_REACH 12

// From here on a maximum of the normalised difference is a pitch; noise of the
// same length stays below half of it.
#define CLARITY 0.8

// The first maximum this near to the highest is the period, not a multiple.
#define NEAR_HIGHEST 0.9

// So many periods keep harmonics apart under a Hann window.
#define PERIODS 6.0

// So many harmonics give the pitch finely, up to this part of the band.
#define HARMONICS 4
#define TOP 0.95

// A pitch glides where that tells so much more of the sound than a steady one
// does, or some more and the pitches of its ends bear it out to this part.
#define BETTER 1.5
#define ENDS_MOST 0.2

// The fine measure may move the pitch so far: the mean of a glide is not its
// middle.
#define FINE_MOST 0.1

// So many octaves from the middle of the window to its end are the most that
// is told to 5 cents (measured here).
#define GLIDE_MOST 0.3

// It is brought nearer so often, in no window shorter than this, frames.
#define ROUNDS 2
#define SHORTEST 64U

/// The piece of sound at hand, one channel.
typedef struct {
  double* x;        ///< Values less their mean.
  double* nsdf;     ///< Normalised square difference by lag.
  double* fine;     ///< The same in steps of a part of a frame.
  size_t  n;        ///< Those that tell the period.
  size_t  n_lags;   ///< Lags looked at.
  size_t  n_window; ///< Those that tell the pitch finely.
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

/// Look between the lags: a sinc under a Hann window.
static void
interpolate(const Piece* piece) {
  const long n_lags = (long)piece->n_lags;
  for (size_t part = 0; part < FINE; ++part) {
    double       weights[2 * FINE_REACH];
    const double at = (double)part / FINE;
    for (int i = 0; i < 2 * FINE_REACH; ++i) {
      const double off = (double)(i - FINE_REACH + 1) - at;
      const double hann = 0.5 + 0.5 * cos(VW_PI * off / FINE_REACH);
      weights[i] =
        fabs(off) < 1e-9 ? 1.0 : hann * sin(VW_PI * off) / (VW_PI * off);
    }
    for (long lag = 0; lag < n_lags; ++lag) {
      double sum = 0.0;
      for (int i = 0; i < 2 * FINE_REACH; ++i) {
        const long from = labs(lag + i - FINE_REACH + 1);
        sum += from < n_lags ? weights[i] * piece->nsdf[from] : 0.0;
      }
      piece->fine[(size_t)lag * FINE + part] = sum;
    }
  }
}

static bool
is_maximum(const double* y, size_t at) {
  return y[at] > y[at - 1U] && y[at] >= y[at + 1U];
}

/// The lag of the first high maximum after the first fall below zero, or 0.
static double
period_of(const Piece* piece) {
  const double* const y = piece->fine;
  // The last lags lack neighbours.
  const size_t n = (piece->n_lags - FINE_REACH) * FINE;
  size_t       start = 1;
  while (start < n && y[start] > 0.0) {
    ++start;
  }
  double highest = 0.0;
  for (size_t i = start; i + 1U < n; ++i) {
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
  return ((double)at + shift) / FINE;
}

/// A pitch that glides, about the middle of a window.
typedef struct {
  double turn;   ///< Radians a frame in the middle.
  double change; ///< How much that changes in a frame.
} Glide;

/// A complex number of size 1. C's own would be multiplied with a look at NaN.
typedef struct {
  double re;
  double im;
} Turn;

static Turn
turn_of(double phase) {
  return (Turn){cos(phase), sin(phase)};
}

static Turn
turn_on(Turn a, Turn b) {
  return (Turn){a.re * b.re - a.im * b.im, a.re * b.im + a.im * b.re};
}

/// What is left of a sound when one harmonic of a glide is taken for constant.
typedef struct {
  double complex sums[3];    ///< Of its values, weighted by time^0, ^1, ^2.
  double         weights[3]; ///< Sums of the Hann window, by time^0, ^2, ^4.
} Moments;

static Moments
moments_of(const Piece* piece, size_t n, const Glide* glide, int harmonic) {
  const size_t from = (piece->n_window - n) / 2U;
  const double half = 0.5 * ((double)n - 1.0);
  const double turn = glide->turn * harmonic;
  const double change = glide->change * harmonic;
  const Turn   widen = turn_of(-change);
  const Turn   hann_step = turn_of(2.0 * VW_PI / (double)n);
  Turn         step = turn_of(-turn - change * (0.5 - half));
  Turn         turned = turn_of(-half * (0.5 * change * half - turn));
  Turn         hann = turn_of(VW_PI / (double)n);
  double       re[3] = {0.0, 0.0, 0.0};
  double       im[3] = {0.0, 0.0, 0.0};
  double       weights[3] = {0.0, 0.0, 0.0};
  for (size_t i = 0; i < n; ++i) {
    const double t = (double)i - half;
    double       window = 0.5 - 0.5 * hann.re;
    double       x = window * piece->x[from + i];
    for (int j = 0; j < 3; ++j) {
      re[j] += x * turned.re;
      im[j] += x * turned.im;
      weights[j] += window;
      x *= t;
      window *= t * t;
    }
    turned = turn_on(turned, step);
    step = turn_on(step, widen);
    hann = turn_on(hann, hann_step);
  }
  return (Moments){{re[0] + I * im[0], re[1] + I * im[1], re[2] + I * im[2]},
                   {weights[0], weights[1], weights[2]}};
}

/// How many harmonics of a glide are looked at.
static int
n_harmonics(const Glide* glide) {
  const double room = TOP * VW_PI / glide->turn;
  return room < HARMONICS ? (int)room : HARMONICS;
}

/**
 * Bring a glide nearer to the sound, its change only if it `bends`.
 *
 * Less its phase, a tone that decays and is a little off is about a + b t +
 * c t^2 of a complex exponential whose exponent is linear and square in t. Its
 * harmonics count by their energy.
 */
static void
correct(const Piece* piece, size_t n, bool bends, Glide* glide) {
  double turn = 0.0;
  double change = 0.0;
  double all = 0.0;
  for (int k = 1; k <= n_harmonics(glide); ++k) {
    const Moments        m = moments_of(piece, n, glide, k);
    const double* const  w = m.weights;
    const double complex a = m.sums[0] * w[2] - m.sums[2] * w[1];
    const double complex c = m.sums[2] * w[0] - m.sums[0] * w[1];
    const double complex b = m.sums[1] / w[1] * (w[0] * w[2] - w[1] * w[1]);
    const double complex line = cabs(a) > 0.0 ? b / a : 0.0;
    const double complex bend = cabs(a) > 0.0 ? 2.0 * c / a - line * line : 0.0;
    const double         weight = pow(cabs(m.sums[0]), 2.0) * k * k;
    turn += weight * cimag(line) / k;
    change += weight * cimag(bend) / k;
    all += weight;
  }
  if (all > 0.0) {
    glide->turn += turn / all;
    glide->change += bends ? change / all : 0.0;
  }
}

/// How much of the sound lies on a glide and its harmonics.
static double
energy_on(const Piece* piece, const Glide* glide) {
  double energy = 0.0;
  for (int k = 1; k <= n_harmonics(glide); ++k) {
    energy +=
      pow(cabs(moments_of(piece, piece->n_window, glide, k).sums[0]), 2);
  }
  return energy;
}

/// The glide about the middle of the piece's window, from a longer and longer
/// part of it.
static Glide
follow(const Piece* piece, double period, bool bends) {
  Glide  glide = {2.0 * VW_PI / period, 0.0};
  size_t n = (size_t)(PERIODS * period);
  n = n < SHORTEST ? SHORTEST : n;
  n = n < piece->n_window ? n : piece->n_window;
  while (true) {
    for (int i = 0; i < ROUNDS; ++i) {
      correct(piece, n, bends, &glide);
    }
    if (n == piece->n_window ||
        !(fabs(glide.turn * period / (2.0 * VW_PI) - 1.0) < FINE_MOST)) {
      return glide;
    }
    n = 2U * n < piece->n_window ? 2U * n : piece->n_window;
  }
}

/// Whether the pitch of both ends of a piece changes as a glide does: strokes
/// of unlike partials, as a bell has, bend the pitch of the whole alone.
static bool
ends_agree(const Piece* piece, double period, const Glide* glide) {
  const size_t apart = piece->n_window / 3U;
  Piece        part = *piece;
  part.n_window -= apart;
  const Glide first = follow(&part, period, false);
  part.x += apart;
  const Glide  last = follow(&part, period, false);
  const double change = log(last.turn / first.turn) / (double)apart;
  return fabs(change * glide->turn / glide->change - 1.0) < ENDS_MOST;
}

/// A steady pitch, unless a glide tells more of the sound; NaN where that is
/// not near the period or glides too fast.
static Glide
finer(const Piece* piece, double period) {
  const Glide  steady = follow(piece, period, false);
  const Glide  bent = follow(piece, period, true);
  const double better = energy_on(piece, &bent) / energy_on(piece, &steady);
  Glide        glide =
    better > BETTER || (better > 1.0 && ends_agree(piece, period, &bent))
             ? bent
             : steady;
  const double octaves =
    0.5 * (double)piece->n_window * glide.change / glide.turn / log(2.0);
  if (!(fabs(glide.turn * period / (2.0 * VW_PI) - 1.0) < FINE_MOST) ||
      fabs(octaves) > GLIDE_MOST) {
    glide.turn = NAN;
  }
  return glide;
}

static void
take_piece(const VwSound* sound, size_t from, size_t n, const Piece* piece) {
  const unsigned channel = vw_sound_strongest(sound, from, piece->n);
  double         mean = 0.0;
  for (size_t i = 0; i < n; ++i) {
    piece->x[i] =
      (double)sound->values[(from + i) * sound->n_channels + channel];
    mean += i < piece->n ? piece->x[i] / (double)piece->n : 0.0;
  }
  for (size_t i = 0; i < n; ++i) {
    piece->x[i] -= mean;
  }
}

/// The turn at a frame of the piece; NaN without a pitch.
static double
turn_at(Piece* piece, size_t n_there, double at) {
  const double period = period_of(piece);
  if (period <= 0.0) {
    return NAN;
  }
  const size_t wanted = (size_t)(PERIODS * period);
  piece->n_window = wanted < piece->n  ? piece->n
                    : wanted < n_there ? wanted
                                       : n_there;
  const Glide  glide = finer(piece, period);
  const double half = 0.5 * (double)piece->n_window;
  return glide.turn * exp(glide.change / glide.turn * (at - half));
}

VwStatus
vw_pitch_find(const VwSound* sound,
              size_t         from,
              double         at_s,
              double*        pitch_hz) {
  const double rate_hz = (double)sound->rate_hz;
  const size_t n = vw_frames_of_s(VW_PITCH_WINDOW_S, rate_hz);
  *pitch_hz = NAN;
  if (from > sound->n_frames || sound->n_frames - from < n) {
    return VW_OK;
  }
  const size_t  left = sound->n_frames - from;
  const size_t  most = (size_t)(PERIODS * rate_hz / LOWEST_HZ);
  const size_t  n_there = left < most ? left : most;
  const size_t  n_lags = (size_t)(rate_hz / LOWEST_HZ) + 2U + FINE_REACH;
  double* const buffer = calloc(n_there + (1U + FINE) * n_lags, sizeof(double));
  if (!buffer) {
    return VW_NO_MEMORY;
  }
  Piece piece = {
    buffer, buffer + n_there, buffer + n_there + n_lags, n, n_lags, 0U};
  take_piece(sound, from, n_there, &piece);
  const VwStatus st =
    vw_spectrum_correlate(piece.x, piece.n, piece.nsdf, piece.n_lags);
  if (!st) {
    normalise(&piece);
    interpolate(&piece);
    *pitch_hz =
      turn_at(&piece, n_there, at_s * rate_hz) / (2.0 * VW_PI) * rate_hz;
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
    st = middle < half
           ? VW_OK
           : vw_pitch_find(sound, middle - half, VW_PITCH_WINDOW_S / 2.0, &hz);
    pitch_hz[i] = (float)hz;
  }
  return st;
}
