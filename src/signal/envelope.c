#include "base/units.h"
#include "signal/signal.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define STEP_S 0.0005

// The quiet of a valley is the lowest fifth of its levels.
#define QUIET_SHARE 5U

/* A moving mean with Hann weights */

VwStatus
vw_hann_init(VwHann* hann, const double* values, size_t n, size_t n_window) {
  VwHann out = {malloc((n + 1U) * sizeof(VwHannPoint)), n, n_window};
  if (!out.points) {
    return VW_NO_MEMORY;
  }
  out.n_window = n_window ? n_window : 1U;
  // A phasor that is turned step by step is off by less than 1e-15 a step.
  const double turn = 2.0 * VW_PI / (double)out.n_window;
  const double turn_cos = cos(turn);
  const double turn_sin = sin(turn);
  VwHannPoint  point = {0.0, 0.0, 0.0, 1.0, 0.0};
  for (size_t i = 0; i < n; ++i) {
    out.points[i] = point;
    point.sum += values[i];
    point.sum_cos += values[i] * point.phase_cos;
    point.sum_sin += values[i] * point.phase_sin;
    const double turned =
      point.phase_cos * turn_cos - point.phase_sin * turn_sin;
    point.phase_sin = point.phase_sin * turn_cos + point.phase_cos * turn_sin;
    point.phase_cos = turned;
  }
  out.points[n] = point;
  *hann = out;
  return VW_OK;
}

void
vw_hann_clear(VwHann* hann) {
  if (hann) {
    free(hann->points);
    memset(hann, 0, sizeof(*hann));
  }
}

double
vw_hann_mean(const VwHann* hann, size_t at) {
  const size_t             half = hann->n_window / 2U;
  const size_t             from = at > half ? at - half : 0U;
  const size_t             to_wanted = at + hann->n_window - half;
  const size_t             to = to_wanted < hann->n ? to_wanted : hann->n;
  const VwHannPoint* const a = &hann->points[from];
  const VwHannPoint* const b = &hann->points[to];
  const VwHannPoint* const middle = &hann->points[at];
  // w(i) = 1 + cos(turn (i - at)); its sum over the window is n.
  const double sum = (b->sum - a->sum) +
                     (b->sum_cos - a->sum_cos) * middle->phase_cos +
                     (b->sum_sin - a->sum_sin) * middle->phase_sin;
  return sum > 0.0 ? sum / (double)hann->n_window : 0.0;
}

/* Level */

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
      const double y = vw_high_pass_step(sections, x);
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

VwStatus
vw_course_take(const VwSound* sound, VwCourse* course) {
  assert(sound && course);
  VwCurve curve = {0};
  if (!sound->n_frames) {
    return VW_NO_FRAMES;
  }
  const VwStatus st = vw_curve_take(sound, &curve);
  if (st) {
    return st;
  }
  for (size_t i = 0; i < curve.n_steps; ++i) {
    const double power = curve.level[i];
    curve.level[i] = power > 0.0 ? vw_db_of_power(power) : NAN;
  }
  *course = (VwCourse){curve.level, curve.n_steps, curve.step_s};
  curve.level = NULL;
  vw_curve_clear(&curve);
  return VW_OK;
}

void
vw_course_clear(VwCourse* course) {
  if (course) {
    free(course->level_dbfs);
    memset(course, 0, sizeof(*course));
  }
}

/* Valley */

/// Part levels low to high, two or more, so that none up to the returned place
/// exceeds any after it; that place lies before `high`.
static size_t
part(double* levels, size_t low, size_t high) {
  const double pivot = levels[low + (high - low) / 2U];
  size_t       i = low;
  size_t       j = high;
  while (true) {
    while (levels[i] < pivot) {
      ++i;
    }
    while (levels[j] > pivot) {
      --j;
    }
    if (i >= j) {
      return j;
    }
    const double level = levels[i];
    levels[i++] = levels[j];
    levels[j--] = level;
  }
}

/// Bring the `n_lowest` lowest of `n` levels to the front (C. A. R. Hoare,
/// Algorithm 65, CACM 1961).
static void
select_lowest(double* levels, size_t n, size_t n_lowest) {
  size_t low = 0;
  size_t high = n - 1U;
  while (low < high) {
    const size_t last = part(levels, low, high);
    if (n_lowest <= last + 1U) {
      high = last;
    } else {
      low = last + 1U;
    }
  }
}

double
vw_valley_of_levels(double* levels, size_t n) {
  const size_t n_quiet = n < QUIET_SHARE ? 1U : n / QUIET_SHARE;
  double       crest = 0.0;
  double       sum = 0.0;
  for (size_t i = 0; i < n; ++i) {
    crest = fmax(crest, levels[i]);
  }
  select_lowest(levels, n, n_quiet);
  for (size_t i = 0; i < n_quiet; ++i) {
    sum += levels[i];
  }
  const double quiet = sum / (double)n_quiet;
  if (crest <= 0.0) {
    return 0.0;
  }
  return quiet > crest * vw_power_of_db(-VW_VALLEY_DEEPEST_DB)
           ? vw_db_of_power(crest / quiet)
           : VW_VALLEY_DEEPEST_DB;
}
