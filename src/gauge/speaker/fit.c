// The response of a high-pass with resonances that is nearest to one that was
// measured: by damped least squares (D. W. Marquardt, "An algorithm for
// least-squares estimation of nonlinear parameters", 1963), from several
// corners on, one resonance after the other.

#include "gauge/speaker/fit.h"

#include "base/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// Values that are looked for: six, and three of each resonance. Three of the
// six are held.
#define BASE 6U
#define HELD 3U
#define EACH 3U
#define MOST (BASE + EACH * VW_RESONANCES_MOST)

#define ROUNDS 40U
#define POINTS_LEAST 24U

// What is farther off than this counts less (P. J. Huber, "Robust estimation of
// a location parameter", 1964).
#define NEAR_DB 1.5

// A resonance stands out by this (chosen here); so far a peaking filter goes.
#define RESONANCE_LEAST_DB 2.5
#define RESONANCE_MOST_DB 24.0
#define Q_USUAL 4.0

// Two resonances are taken for one that leaves more than this, if as two they
// leave so much less of it (chosen here: what is right leaves 0.12 dB with
// noise 40 dB down).
#define PARTED_MISS_DB 0.2
#define PARTED_SHARE 0.5

// What holds the values where a response tells nothing of them, as points of a
// step of 1 dB: a tilt of half a dB an octave, and a fall by 6 or 12 dB an
// octave from far above what the sweep plays on.
#define TILT_USUAL_DB 0.5
#define TOP_USUAL_HZ 40000.0

// What lies further below the loudest is not fitted; a resonance further below
// the corner is none (chosen here).
#define DEEPEST_DB 40.0
#define BELOW_CORNER 0.7

static const double corners_hz[] =
  {110.0, 170.0, 260.0, 400.0, 600.0, 850.0, 1200.0};

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

/// A fit that is under way: the values, and what they are fitted to.
typedef struct {
  const VwResponse* response;
  size_t            n;
  double            values[MOST];
  size_t            n_values;
} Work;

static double
peak_db(const VwResonance* at, double hz) {
  // The analogue filter of which that of the cuts is made.
  const double a = vw_gain_of_db(at->db / 2.0);
  const double w = hz / at->hz;
  const double even = (1.0 - w * w) * (1.0 - w * w);
  const double above = w * a / at->q;
  const double below = w / (a * at->q);
  return vw_db_of_power((even + above * above) / (even + below * below));
}

double
vw_fit_db(const VwFit* fit, size_t n, double hz) {
  const double coil = hz / fit->coil_hz;
  double       db = fit->level_db + fit->tilt_db * log2(hz / 1000.0) -
              vw_db_of_power(1.0 + pow(fit->corner_hz / hz, 2.0 * fit->order)) -
              vw_db_of_power(1.0 + pow(hz / fit->top_hz, 4.0)) -
              vw_db_of_power(1.0 + coil * coil);
  for (size_t i = 0; i < n; ++i) {
    db += peak_db(&fit->resonances[i], hz);
  }
  return db;
}

static double
between(double value, double least, double most) {
  return fmin(fmax(value, least), most);
}

/// The fit that values stand for; they are held in their bounds.
static VwFit
fit_of(double values[MOST], size_t n_values) {
  VwFit fit = {.n_resonances = (n_values - BASE) / EACH};
  values[1] = between(values[1], -6.0, 6.0);
  values[2] = between(values[2], log(40.0), log(2500.0));
  values[3] = between(values[3], log(0.7), log(5.0));
  values[4] = between(values[4], log(3000.0), log(200000.0));
  values[5] = between(values[5], log(3000.0), log(200000.0));
  fit.level_db = values[0];
  fit.tilt_db = values[1];
  fit.corner_hz = exp(values[2]);
  fit.order = exp(values[3]);
  fit.top_hz = exp(values[4]);
  fit.coil_hz = exp(values[5]);
  for (size_t i = 0; i < fit.n_resonances; ++i) {
    double* const at = &values[BASE + EACH * i];
    at[0] = between(at[0], log(80.0), log(16000.0));
    at[1] = between(at[1], 0.0, RESONANCE_MOST_DB);
    at[2] = between(at[2], log(0.8), log(25.0));
    fit.resonances[i] = (VwResonance){exp(at[0]), at[1], exp(at[2])};
  }
  return fit;
}

/// What is left of each point, and of what holds the values; returns the sum of
/// what it costs.
static double
rest_of(const Work* work, double values[MOST], double* rest) {
  const VwFit fit = fit_of(values, work->n_values);
  double      cost = 0.0;
  for (size_t i = 0; i < work->n; ++i) {
    const VwResponse* const at = &work->response[i];
    rest[i] = at->db - vw_fit_db(&fit, fit.n_resonances, at->hz);
    const double off = fabs(rest[i]) / NEAR_DB;
    cost += NEAR_DB * NEAR_DB * (off < 1.0 ? off * off : 2.0 * off - 1.0);
  }
  double* const held = &rest[work->n];
  held[0] = -fit.tilt_db / TILT_USUAL_DB;
  held[1] = log2(TOP_USUAL_HZ / fit.top_hz) / 2.0;
  held[2] = log2(TOP_USUAL_HZ / fit.coil_hz) / 2.0;
  return cost + held[0] * held[0] + held[1] * held[1] + held[2] * held[2];
}

/// Room for the points: the rest, the rest beside it, and how each value moves
/// each point.
typedef struct {
  double* rest;
  double* beside;
  double* moves; ///< Value after value.
} Room;

/// Solve so many equations by elimination, in place. False if they are not
/// independent.
static bool
solve(double matrix[MOST][MOST + 1U], size_t n) {
  for (size_t i = 0; i < n; ++i) {
    size_t best = i;
    for (size_t k = i + 1U; k < n; ++k) {
      best = fabs(matrix[k][i]) > fabs(matrix[best][i]) ? k : best;
    }
    if (fabs(matrix[best][i]) < 1e-12) {
      return false;
    }
    for (size_t c = 0; c <= n; ++c) {
      const double swapped = matrix[i][c];
      matrix[i][c] = matrix[best][c];
      matrix[best][c] = swapped;
    }
    for (size_t k = 0; k < n; ++k) {
      const double by = k == i ? 0.0 : matrix[k][i] / matrix[i][i];
      for (size_t c = i; c <= n; ++c) {
        matrix[k][c] -= by * matrix[i][c];
      }
    }
  }
  for (size_t i = 0; i < n; ++i) {
    matrix[i][n] /= matrix[i][i];
  }
  return true;
}

/// How each value moves what is left, upwards or, at its bound, downwards.
static void
differ(const Work* work, const Room* room) {
  const size_t n = work->n + HELD;
  for (size_t k = 0; k < work->n_values; ++k) {
    double step = k >= BASE && (k - BASE) % EACH == 1U ? 1e-3 : 1e-5;
    double values[MOST];
    memcpy(values, work->values, sizeof(values));
    values[k] += step;
    (void)rest_of(work, values, room->beside);
    if (values[k] <= work->values[k]) {
      step = -step;
      values[k] = work->values[k] + step;
      (void)rest_of(work, values, room->beside);
    }
    for (size_t i = 0; i < n; ++i) {
      room->moves[k * n + i] = (room->beside[i] - room->rest[i]) / step;
    }
  }
}

/// The equations of one step, points that are far off counting less.
static void
gather(const Work* work,
       const Room* room,
       double      damping,
       double      matrix[MOST][MOST + 1U]) {
  const size_t n = work->n + HELD;
  for (size_t a = 0; a < work->n_values; ++a) {
    for (size_t b = 0; b <= work->n_values; ++b) {
      const double* const one = &room->moves[a * n];
      const double* const other =
        b == work->n_values ? room->rest : &room->moves[b * n];
      double sum = 0.0;
      for (size_t i = 0; i < n; ++i) {
        const double off = i < work->n ? fabs(room->rest[i]) / NEAR_DB : 0.0;
        sum += one[i] * other[i] / fmax(off, 1.0);
      }
      matrix[a][b] = b == work->n_values ? -sum : sum;
    }
    matrix[a][a] += damping * matrix[a][a] + 1e-9;
  }
}

/// Improve the values until they stay. Returns what is left.
static double
improve(Work* work, const Room* room) {
  double matrix[MOST][MOST + 1U];
  double damping = 1e-2;
  double cost = rest_of(work, work->values, room->rest);
  for (unsigned round = 0; round < ROUNDS && damping < 1e6; ++round) {
    differ(work, room);
    bool better = false;
    while (!better && damping < 1e6) {
      double values[MOST];
      memcpy(values, work->values, sizeof(values));
      gather(work, room, damping, matrix);
      const bool solved = solve(matrix, work->n_values);
      for (size_t k = 0; solved && k < work->n_values; ++k) {
        values[k] += matrix[k][work->n_values];
      }
      const double now =
        solved ? rest_of(work, values, room->beside) : (double)INFINITY;
      better = now < cost;
      if (better) {
        const bool enough = cost - now < 1e-5 * cost;
        memcpy(work->values, values, sizeof(values));
        cost = rest_of(work, work->values, room->rest);
        damping = enough ? 1e6 : damping / 5.0;
      } else {
        damping *= 4.0;
      }
    }
  }
  return cost;
}

/// Add a resonance where the most is left. False where nothing stands out.
static bool
add_resonance(Work* work, const Room* room) {
  double most = RESONANCE_LEAST_DB;
  double hz = 0.0;
  (void)rest_of(work, work->values, room->rest);
  for (size_t i = 1; i + 1U < work->n; ++i) {
    const double mean =
      (room->rest[i - 1U] + room->rest[i] + room->rest[i + 1U]) / 3.0;
    if (mean > most &&
        work->response[i].hz > BELOW_CORNER * exp(work->values[2])) {
      most = mean;
      hz = work->response[i].hz;
    }
  }
  if (hz == 0.0 || work->n_values + EACH > MOST) {
    return false;
  }
  double* const at = &work->values[work->n_values];
  at[0] = log(hz);
  at[1] = most;
  at[2] = log(Q_USUAL);
  work->n_values += EACH;
  return true;
}

/// Start with no resonance, or over again beside those that were found.
static void
start(Work* work, double corner_hz) {
  double level = 0.0;
  double n = 0.0;
  for (size_t i = 0; i < work->n; ++i) {
    const bool above = work->response[i].hz > 1.5 * corner_hz;
    level += above ? work->response[i].db : 0.0;
    n += above ? 1.0 : 0.0;
  }
  work->values[0] = n > 0.0 ? level / n : 0.0;
  work->values[1] = 0.0;
  work->values[2] = log(corner_hz);
  work->values[3] = log(2.0);
  work->values[4] = log(TOP_USUAL_HZ);
  work->values[5] = log(TOP_USUAL_HZ);
}

static double
fit_from(Work* work, const Room* room, double corner_hz) {
  work->n_values = BASE;
  start(work, corner_hz);
  double cost = improve(work, room);
  while (add_resonance(work, room)) {
    cost = improve(work, room);
  }
  // A wide resonance has drawn the corner up before it was known, and what was
  // found first may have grown too wide or too narrow.
  Work again = *work;
  start(&again, corner_hz);
  for (size_t i = BASE; i < again.n_values; i += EACH) {
    again.values[i + 2U] = log(Q_USUAL);
  }
  const double cost_again = improve(&again, room);
  if (cost_again < cost) {
    *work = again;
    cost = cost_again;
  }
  return cost;
}

/// What is left of a point in the mean.
static double
miss_db(const Work* work, double cost) {
  return sqrt(cost / (double)work->n);
}

/// Whether all resonances stand out.
static bool
all_stand_out(const Work* work) {
  bool all = true;
  for (size_t i = BASE; i < work->n_values; i += EACH) {
    all &= work->values[i + 1U] >= RESONANCE_LEAST_DB;
  }
  return all;
}

/// Make two of a resonance, each half its width off.
static void
part(Work* work, size_t at) {
  double* const lower = &work->values[at];
  double* const upper = &work->values[work->n_values];
  const double  off = 0.5 / exp(lower[2]);
  lower[1] *= 0.7;
  lower[2] += log(1.5);
  memcpy(upper, lower, EACH * sizeof(double));
  lower[0] -= off;
  upper[0] += off;
  work->n_values += EACH;
}

/// Two resonances near each other pass for a wide one: try to part each.
static double
part_all(Work* work, const Room* room, double cost) {
  for (size_t i = BASE; i < work->n_values && work->n_values + EACH <= MOST &&
                        miss_db(work, cost) > PARTED_MISS_DB;) {
    Work parted = *work;
    part(&parted, i);
    const double cost_parted = improve(&parted, room);
    const bool   better =
      cost_parted < PARTED_SHARE * cost && all_stand_out(&parted);
    *work = better ? parted : *work;
    cost = better ? cost_parted : cost;
    i = better ? BASE : i + EACH;
  }
  return cost;
}

/// The best from several corners on.
static double
best_of(Work* work, const Room* room, Work* best) {
  double cost = (double)INFINITY;
  for (size_t i = 0; i < COUNT(corners_hz); ++i) {
    const double now = fit_from(work, room, corners_hz[i]);
    *best = now < cost ? *work : *best;
    cost = fmin(now, cost);
  }
  return part_all(best, room, cost);
}

static int
compare_resonances(const void* one, const void* other) {
  const VwResonance* const a = one;
  const VwResonance* const b = other;
  return (a->hz > b->hz) - (a->hz < b->hz);
}

/// Leave out what does not stand out after all.
static VwFit
sifted(VwFit fit) {
  size_t n = 0;
  for (size_t i = 0; i < fit.n_resonances; ++i) {
    if (fit.resonances[i].db >= RESONANCE_LEAST_DB) {
      fit.resonances[n++] = fit.resonances[i];
    }
  }
  fit.n_resonances = n;
  qsort(fit.resonances, n, sizeof(VwResonance), compare_resonances);
  return fit;
}

/// The points that have a level near the loudest. To be freed; NULL without
/// memory.
static VwResponse*
points_of(const VwResponse* response, size_t n, size_t* n_points) {
  VwResponse* const points = calloc(n + 1U, sizeof(VwResponse));
  double            most_db = -INFINITY;
  *n_points = 0;
  for (size_t i = 0; i < n; ++i) {
    most_db = fmax(most_db, response[i].db);
  }
  for (size_t i = 0; points && i < n; ++i) {
    if (response[i].db > most_db - DEEPEST_DB) {
      points[(*n_points)++] = response[i];
    }
  }
  return points;
}

VwStatus
vw_fit_find(const VwResponse* response, size_t n, VwFit* fit) {
  size_t            n_points = 0;
  VwResponse* const points = points_of(response, n, &n_points);
  double* const     room = calloc((n + HELD) * (MOST + 2U), sizeof(double));
  VwStatus          st = !points || !room          ? VW_NO_MEMORY
                         : n_points < POINTS_LEAST ? VW_SILENT
                                                   : VW_OK;
  Work              work = {.response = points, .n = n_points};
  if (!st) {
    const Room   in = {room, &room[n + HELD], &room[2U * (n + HELD)]};
    Work         best = work;
    const double cost = best_of(&work, &in, &best);
    *fit = sifted(fit_of(best.values, best.n_values));
    fit->miss_db = miss_db(&best, cost);
  }
  free(points);
  free(room);
  return st;
}
