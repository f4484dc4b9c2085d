#include "base/units.h"
#include "signal/signal.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

double
vw_stretch_step(const VwStretch* stretch) {
  assert(stretch && stretch->n_steps &&
         stretch->to_frame > stretch->from_frame);
  return (double)(stretch->to_frame - stretch->from_frame) /
         (double)stretch->n_steps;
}

/// Least and greatest so far.
typedef struct {
  float low;
  float high;
} Range;

/// Widen a range by all channels of frames [from, to).
static void
widen(const VwSound* sound, size_t from, size_t to, Range* range) {
  const size_t end = to < sound->n_frames ? to : sound->n_frames;
  const size_t n = sound->n_channels;
  if (to > sound->n_frames) {
    range->low = range->low < 0.0F ? range->low : 0.0F;
    range->high = range->high > 0.0F ? range->high : 0.0F;
  }
  for (size_t i = from * n; i < end * n; ++i) {
    const float value = sound->values[i];
    range->low = value < range->low ? value : range->low;
    range->high = value > range->high ? value : range->high;
  }
}

void
vw_outline_take(const VwSound*   sound,
                const VwStretch* stretch,
                float*           low,
                float*           high) {
  assert(sound && stretch && low && high);
  const double step = vw_stretch_step(stretch);
  for (size_t i = 0; i < stretch->n_steps; ++i) {
    const size_t from = stretch->from_frame + (size_t)((double)i * step);
    const size_t next = stretch->from_frame + (size_t)((double)(i + 1U) * step);
    const size_t to = next > from ? next : from + 1U;
    // A step of one frame is that frame.
    const size_t before = step > 1.0 && from ? from - 1U : from;
    Range        range = {0.0F, 0.0F};
    if (before < sound->n_frames) {
      range.low = sound->values[before * sound->n_channels];
      range.high = range.low;
    }
    widen(sound, before, to, &range);
    low[i] = range.low;
    high[i] = range.high;
  }
}

/* Spectrogram */

// Long enough to tell two tones 90 Hz apart, short enough to show an attack:
// chosen here; a Hann window resolves 2 / length (closed form).
#define WINDOW_S 0.023

// In a step that is longer than a window, at most so many are looked at: it is
// drawn as one column.
#define WINDOWS_MOST 16U

#define ROWS_MOST 1000U
#define STEPS_MOST 100000U

#define SILENCE_DB (-200.0)

/// A spectrogram being made.
typedef struct {
  const VwSound*   sound;
  const VwStretch* stretch;
  const VwRows*    rows;
  VwPowers*        powers;
  double*          sums; ///< Powers evenly spread over the frequencies.
  size_t           n_sums;
  double*          edges_hz; ///< Of the rows, one more than there are.
} Work;

/// The power at a frequency, between two of those at hand.
static double
power_at(const Work* work, double hz) {
  const double bin_hz =
    0.5 * work->sound->rate_hz / (double)(work->n_sums - 1U);
  const double place = fmin(hz / bin_hz, (double)work->n_sums - 1.0001);
  const size_t at = (size_t)place;
  const double part = place - (double)at;
  return (1.0 - part) * work->sums[at] + part * work->sums[at + 1U];
}

/// The greatest power from one frequency to another.
static double
power_between(const Work* work, double from_hz, double to_hz) {
  const double bin_hz =
    0.5 * work->sound->rate_hz / (double)(work->n_sums - 1U);
  double power = fmax(power_at(work, from_hz), power_at(work, to_hz));
  for (size_t i = (size_t)(from_hz / bin_hz) + 1U;
       i < work->n_sums && (double)i * bin_hz < to_hz;
       ++i) {
    power = fmax(power, work->sums[i]);
  }
  return power;
}

/// Add the windows of a step; returns how many.
static size_t
add_windows(const Work* work, size_t index) {
  const double step = vw_stretch_step(work->stretch);
  const size_t n_window = 2U * (work->n_sums - 1U);
  const size_t n_wanted = (size_t)(step / (double)n_window) + 1U;
  const size_t n = n_wanted < WINDOWS_MOST ? n_wanted : WINDOWS_MOST;
  for (size_t i = 0; i < work->n_sums; ++i) {
    work->sums[i] = 0.0;
  }
  for (size_t i = 0; i < n; ++i) {
    const double at = ((double)index + ((double)i + 0.5) / (double)n) * step;
    vw_powers_add(work->powers,
                  work->sound,
                  work->stretch->from_frame + (size_t)at,
                  work->sums);
  }
  return n;
}

static void
take_all(const Work* work, float* level_dbfs) {
  const VwRows* const rows = work->rows;
  for (size_t i = 0; i <= rows->n_rows; ++i) {
    work->edges_hz[i] = rows->low_hz * pow(rows->high_hz / rows->low_hz,
                                           (double)i / (double)rows->n_rows);
  }
  for (size_t step = 0; step < work->stretch->n_steps; ++step) {
    const double n = (double)add_windows(work, step);
    for (size_t row = 0; row < rows->n_rows; ++row) {
      const double power =
        power_between(work, work->edges_hz[row], work->edges_hz[row + 1U]);
      level_dbfs[row * work->stretch->n_steps + step] =
        (float)(power > 0.0 ? fmax(vw_db_of_power(power / n), SILENCE_DB)
                            : SILENCE_DB);
    }
  }
}

VwStatus
vw_spectrogram_take(const VwSound*   sound,
                    const VwStretch* stretch,
                    const VwRows*    rows,
                    float*           level_dbfs) {
  assert(sound && stretch && rows && level_dbfs);
  if (!(rows->low_hz > 0.0) || !(rows->high_hz > rows->low_hz) ||
      rows->high_hz > 0.5 * sound->rate_hz || !rows->n_rows ||
      rows->n_rows > ROWS_MOST || stretch->n_steps > STEPS_MOST) {
    return VW_BAD_OPTION;
  }
  Work work = {.sound = sound, .stretch = stretch, .rows = rows};
  work.powers =
    vw_powers_new(vw_frames_of_s(WINDOW_S, sound->rate_hz), &work.n_sums);
  work.sums = work.powers
                ? calloc(work.n_sums + rows->n_rows + 1U, sizeof(double))
                : NULL;
  if (work.sums) {
    work.edges_hz = work.sums + work.n_sums;
    take_all(&work, level_dbfs);
  }
  const VwStatus st = work.sums ? VW_OK : VW_NO_MEMORY;
  free(work.sums);
  vw_powers_free(work.powers);
  return st;
}
