#include "base/units.h"
#include "join/join.h"
#include "signal/signal.h"

#include <math.h>
#include <stdlib.h>

// Steps of 10 ms tell a tremolo of 30 per second; windows of three of them tell
// octaves from 63 Hz on.
#define STEP_S 0.010
#define WINDOW_STEPS 3U
#define LOWEST_HZ 62.5

// What lies so far below the loudest band's mean counts for nothing.
#define FLOOR_DB 50.0

// Lengths that are tried for a stretch, parts of the one wished for; and how
// much less steady than the steadiest it may be to be so long (chosen here).
static const double parts[] = {1.0, 0.85, 0.7, 0.55, 0.4, 0.3};
#define UNSTEADY_RATIO 1.5
#define UNSTEADY_DB 1.0

// So much less steady an earlier stretch of a length is taken for.
#define EARLIER_RATIO 1.1
#define EARLIER_DB 0.03

// Quieter by so much than the loudest of a length, a stretch is another part of
// the sound.
#define LOUD_DB (-9.0)

// A steady part goes on while its level over this time stays so near.
#define LEVEL_S 0.1
#define LEVEL_NEAR_DB 4.0

/* Texture */

/// The band of a frequency.
static size_t
band_of(double hz) {
  const double octave = hz > LOWEST_HZ ? floor(log2(hz / LOWEST_HZ)) : 0.0;
  return octave < VW_TEXTURE_BANDS - 1U ? (size_t)octave
                                        : VW_TEXTURE_BANDS - 1U;
}

static void
add_step(const VwSound* sound,
         const double*  powers,
         size_t         n_powers,
         float*         bands) {
  double sums[VW_TEXTURE_BANDS] = {0.0};
  for (size_t i = 1; i < n_powers; ++i) {
    const double hz =
      (double)i * 0.5 * (double)sound->rate_hz / (double)(n_powers - 1U);
    sums[band_of(hz)] += powers[i];
  }
  for (size_t k = 0; k < VW_TEXTURE_BANDS; ++k) {
    bands[k] = (float)vw_db_of_power(sums[k] + 1e-20);
  }
}

/// Lift what is far below the loudest band.
static void
lift(VwTexture* texture) {
  double loudest = -HUGE_VAL;
  for (size_t k = 0; k < VW_TEXTURE_BANDS; ++k) {
    double sum = 0.0;
    for (size_t i = 0; i < texture->n; ++i) {
      sum += (double)texture->band_db[i * VW_TEXTURE_BANDS + k];
    }
    loudest = fmax(loudest, sum / (double)texture->n);
  }
  for (size_t i = 0; i < texture->n * VW_TEXTURE_BANDS; ++i) {
    texture->band_db[i] =
      fmaxf(texture->band_db[i], (float)(loudest - FLOOR_DB));
  }
}

VwStatus
vw_texture_take(const VwSound* sound, VwTexture* texture) {
  const size_t    n_step = vw_frames_of_s(STEP_S, sound->rate_hz);
  const size_t    n = (sound->n_frames + n_step - 1U) / n_step;
  size_t          n_powers = 0;
  VwPowers* const powers = vw_powers_new(WINDOW_STEPS * n_step, &n_powers);
  double* const   sums = powers ? calloc(n_powers, sizeof(double)) : NULL;
  VwTexture out = {.band_db = calloc(n * VW_TEXTURE_BANDS + 1U, sizeof(float)),
                   .n = n,
                   .n_step = n_step};
  const VwStatus st = powers && sums && out.band_db ? VW_OK : VW_NO_MEMORY;
  for (size_t i = 0; !st && i < n; ++i) {
    for (size_t k = 0; k < n_powers; ++k) {
      sums[k] = 0.0;
    }
    vw_powers_add(powers, sound, i * n_step + n_step / 2U, sums);
    add_step(sound, sums, n_powers, out.band_db + i * VW_TEXTURE_BANDS);
  }
  free(sums);
  vw_powers_free(powers);
  if (st) {
    vw_texture_clear(&out);
    return st;
  }
  lift(&out);
  *texture = out;
  return VW_OK;
}

void
vw_texture_clear(VwTexture* texture) {
  if (texture) {
    free(texture->band_db);
    *texture = (VwTexture){0};
  }
}

double
vw_texture_apart_db(const VwTexture* texture, size_t a, size_t b, size_t n) {
  double squares = 0.0;
  if (!n || a + n > texture->n || b + n > texture->n) {
    return HUGE_VAL;
  }
  for (size_t i = 0; i < n * VW_TEXTURE_BANDS; ++i) {
    const double apart = (double)texture->band_db[a * VW_TEXTURE_BANDS + i] -
                         (double)texture->band_db[b * VW_TEXTURE_BANDS + i];
    squares += apart * apart;
  }
  return sqrt(squares / (double)(n * VW_TEXTURE_BANDS));
}

/* The steadiest stretch */

/// Sums of levels and of their squares up to each step, of each band, and of
/// the power of all.
typedef struct {
  double power;
  double sum[VW_TEXTURE_BANDS];
  double squares[VW_TEXTURE_BANDS];
} Point;

static Point*
points_new(const VwTexture* texture) {
  Point* const points = calloc(texture->n + 1U, sizeof(Point));
  for (size_t i = 0; points && i < texture->n; ++i) {
    for (size_t k = 0; k < VW_TEXTURE_BANDS; ++k) {
      const double db = (double)texture->band_db[i * VW_TEXTURE_BANDS + k];
      points[i + 1U].sum[k] = points[i].sum[k] + db;
      points[i + 1U].squares[k] = points[i].squares[k] + db * db;
      points[i + 1U].power += vw_power_of_db(db);
    }
    points[i + 1U].power += points[i].power;
  }
  return points;
}

/// How far the bands stray over a stretch, RMS, dB.
static double
strays_db(const Point* points, size_t from, size_t n) {
  double variance = 0.0;
  for (size_t k = 0; k < VW_TEXTURE_BANDS; ++k) {
    const double mean =
      (points[from + n].sum[k] - points[from].sum[k]) / (double)n;
    const double square =
      (points[from + n].squares[k] - points[from].squares[k]) / (double)n;
    variance += fmax(square - mean * mean, 0.0);
  }
  return sqrt(variance / VW_TEXTURE_BANDS);
}

static double
power_of(const Point* points, size_t from, size_t n) {
  return points[from + n].power - points[from].power;
}

/// The earliest of the steadiest stretches of a length that are loud enough.
static double
steadiest_of(const VwTexture* texture,
             const Point*     points,
             size_t           n,
             size_t*          from) {
  double least = HUGE_VAL;
  double loudest = 0.0;
  for (size_t i = 0; i + n <= texture->n; ++i) {
    loudest = fmax(loudest, power_of(points, i, n));
  }
  const double loud = loudest * vw_power_of_db(LOUD_DB);
  for (size_t i = 0; i + n <= texture->n; ++i) {
    if (power_of(points, i, n) >= loud) {
      least = fmin(least, strays_db(points, i, n));
    }
  }
  *from = 0;
  while (power_of(points, *from, n) < loud ||
         strays_db(points, *from, n) > EARLIER_RATIO * least + EARLIER_DB) {
    ++*from;
  }
  return least;
}

VwStatus
vw_texture_steadiest(const VwTexture* texture,
                     size_t           n_wished,
                     size_t*          from,
                     size_t*          n) {
  enum { N_PARTS = sizeof(parts) / sizeof(parts[0]) };
  Point* const points = points_new(texture);
  double       strays[N_PARTS];
  size_t       at[N_PARTS];
  size_t       length[N_PARTS];
  if (!points) {
    return VW_NO_MEMORY;
  }
  n_wished = n_wished < texture->n ? n_wished : texture->n;
  for (size_t i = 0; i < N_PARTS; ++i) {
    const size_t part = (size_t)(parts[i] * (double)n_wished);
    length[i] = part ? part : 1U;
    strays[i] = steadiest_of(texture, points, length[i], &at[i]);
  }
  size_t best = 0;
  while (best + 1U < N_PARTS &&
         strays[best] > UNSTEADY_RATIO * strays[N_PARTS - 1U] + UNSTEADY_DB) {
    ++best;
  }
  *from = at[best];
  *n = length[best];
  free(points);
  return VW_OK;
}

/* The steady part */

/// The level over some steps, dB.
static double
level_db(const VwTexture* texture, size_t from, size_t n) {
  double power = 0.0;
  for (size_t i = from * VW_TEXTURE_BANDS; i < (from + n) * VW_TEXTURE_BANDS;
       ++i) {
    power += vw_power_of_db((double)texture->band_db[i]);
  }
  return vw_db_of_power(power / (double)n);
}

void
vw_texture_widen(const VwTexture* texture, size_t* from, size_t* to) {
  const size_t n = (size_t)(LEVEL_S / STEP_S);
  const double db = level_db(texture, *from, *to - *from);
  while (*from >= n &&
         fabs(level_db(texture, *from - n, n) - db) < LEVEL_NEAR_DB) {
    *from -= n;
  }
  while (*to + n <= texture->n &&
         fabs(level_db(texture, *to, n) - db) < LEVEL_NEAR_DB) {
    *to += n;
  }
}
