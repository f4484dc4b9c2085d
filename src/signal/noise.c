#include "base/units.h"
#include "signal/signal.h"

#include <math.h>
#include <stdlib.h>

// Over which a power is taken where the quietest is looked for.
#define MEAN_S 0.010

// Noise before a rise lasts so long, and from its quietest on as long as its
// level is no more than this above that.
#define BEFORE_S 0.020
#define BEFORE_ABOVE_DB 6.0

// The quarters of a stretch of noise are as loud as each other to so much.
#define QUARTERS_DB 3.0

// The end of a take that may be noise: this part of it, and as long as this.
#define END_SHARE 0.1
#define END_LEAST_S 0.100

// Noise lies so far below the crest; behind the tail it is no more than this
// above that before.
#define BELOW_CREST_DB 25.0
#define ABOVE_BEFORE_DB 6.0

// Its halves differ by so much at most. A slow decay also differs little: what
// is before it is either no louder than this, or louder by a knee: by so much,
// and as many times what the halves differ, where a decay has twice.
#define HALVES_DB 1.0
#define NO_LOUDER_DB 0.5
#define KNEE_DB 1.0
#define KNEE_TIMES 4.0

static double
mean_of(const double* powers, size_t from, size_t to) {
  double sum = 0.0;
  for (size_t i = from; i < to; ++i) {
    sum += powers[i];
  }
  return to > from ? sum / (double)(to - from) : 0.0;
}

/// The sorted 10 ms means of steps [from, to).
typedef struct {
  double* means;
  size_t  n;
} Means;

static VwStatus
means_take(const VwCurve* curve, size_t from, size_t to, Means* means) {
  const size_t n_mean = vw_curve_steps(curve, MEAN_S);
  // The last step of a curve may hold fewer frames than the others.
  const size_t end = to < curve->n_steps ? to : curve->n_steps - 1U;
  means->n = end > from ? (end - from) / n_mean : 0U;
  means->means = calloc(means->n + 1U, sizeof(double));
  if (!means->means) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < means->n; ++i) {
    const size_t at = from + i * n_mean;
    means->means[i] = mean_of(curve->power, at, at + n_mean);
  }
  qsort(means->means, means->n, sizeof(double), vw_compare_doubles);
  return VW_OK;
}

VwStatus
vw_noise_quietest(const VwCurve* curve,
                  size_t         from,
                  size_t         to,
                  double         share,
                  double*        power) {
  Means          means = {0};
  const VwStatus st = means_take(curve, from, to, &means);
  if (st) {
    return st;
  }
  size_t n_silent = 0;
  while (n_silent < means.n && means.means[n_silent] <= 0.0) {
    ++n_silent;
  }
  const size_t at = (size_t)(share * (double)(means.n - n_silent));
  *power = means.means[n_silent + at];
  free(means.means);
  return VW_OK;
}

static double
highest_noise(const VwCurve* curve, size_t crest) {
  return curve->level[crest] * vw_power_of_db(-BELOW_CREST_DB);
}

/// Whether the quarters of steps [from, to) have one level.
static bool
is_steady(const VwCurve* curve, size_t from, size_t to) {
  double lowest = HUGE_VAL;
  double highest = 0.0;
  for (size_t i = 0; i < 4U; ++i) {
    const double mean = mean_of(curve->level,
                                from + i * (to - from) / 4U,
                                from + (i + 1U) * (to - from) / 4U);
    lowest = fmin(lowest, mean);
    highest = fmax(highest, mean);
  }
  return lowest > 0.0 && vw_db_of_power(highest / lowest) <= QUARTERS_DB;
}

double
vw_noise_before(const VwCurve* curve, size_t to, size_t crest) {
  const size_t n = vw_curve_steps(curve, BEFORE_S);
  if (to < n) {
    return NAN;
  }
  double sum = mean_of(curve->level, 0, n) * (double)n;
  double lowest = sum;
  size_t from = 0;
  for (size_t i = n; i < to; ++i) {
    sum += curve->level[i] - curve->level[i - n];
    from = sum < lowest ? i + 1U - n : from;
    lowest = fmin(sum, lowest);
  }
  const double most = lowest / (double)n * vw_power_of_db(BEFORE_ABOVE_DB);
  size_t       end = from + n;
  while (end < to && curve->level[end] <= most) {
    ++end;
  }
  while (from > 0U && curve->level[from - 1U] <= most) {
    --from;
  }
  const double noise = mean_of(curve->power, from, end);
  return is_steady(curve, from, end) && noise <= highest_noise(curve, crest)
           ? noise
           : NAN;
}

double
vw_noise_after(const VwCurve* curve,
               size_t         crest,
               size_t         limit,
               double         before) {
  const size_t least = vw_curve_steps(curve, END_LEAST_S);
  const size_t share = (size_t)(END_SHARE * (double)(limit - crest));
  const size_t n = share > least ? share : least;
  // The last step of a curve may hold fewer frames than the others.
  const size_t end = limit < curve->n_steps ? limit : curve->n_steps - 1U;
  if (end < crest + 2U * n) {
    return NAN;
  }
  const double* const power = curve->power;
  const double        noise = mean_of(power, end - n, end);
  const double        earlier = mean_of(power, end - 2U * n, end - n);
  const double        first = mean_of(power, end - n, end - n / 2U);
  const double        second = mean_of(power, end - n / 2U, end);
  double              highest = highest_noise(curve, crest);
  if (before > 0.0) {
    highest = fmin(highest, before * vw_power_of_db(ABOVE_BEFORE_DB));
  }
  if (first <= 0.0 || second <= 0.0 || noise > highest ||
      !is_steady(curve, end - n, end)) {
    return NAN;
  }
  const double halves_db = fabs(vw_db_of_power(second / first));
  const double louder_db = vw_db_of_power(earlier / noise);
  return halves_db <= HALVES_DB &&
             (fabs(louder_db) <= NO_LOUDER_DB ||
              louder_db >= KNEE_TIMES * halves_db + KNEE_DB)
           ? noise
           : NAN;
}
