// A sweep, and the answer to an impulse that its recording gives.

#include "base/units.h"
#include "gauge/speaker/speaker.h"

#include <math.h>
#include <stdlib.h>

double
vw_sweep_pace_s(const VwSweep* sweep) {
  return sweep->seconds / log(sweep->high_hz / sweep->low_hz);
}

double
vw_sweep_lead_s(const VwSweep* sweep, unsigned harmonic) {
  return vw_sweep_pace_s(sweep) * log((double)harmonic);
}

/// Half a turn of a cosine from 0 to 1.
static double
rise(double part) {
  return part < 1.0 ? 0.5 - 0.5 * cos(VW_PI * part) : 1.0;
}

double
vw_sweep_at(const VwSweep* sweep, double time_s) {
  const double pace_s = vw_sweep_pace_s(sweep);
  const double left_s = sweep->seconds - time_s;
  if (time_s < 0.0 || left_s <= 0.0) {
    return 0.0;
  }
  const double turns = sweep->low_hz * pace_s * (exp(time_s / pace_s) - 1.0);
  const double in =
    sweep->fade_in_s > 0.0 ? rise(time_s / sweep->fade_in_s) : 1.0;
  const double out =
    sweep->fade_out_s > 0.0 ? rise(left_s / sweep->fade_out_s) : 1.0;
  return in * out * sin(2.0 * VW_PI * turns);
}

double
vw_sweep_gain(const VwSweep* sweep, double rate_hz) {
  return rate_hz * rate_hz * vw_sweep_pace_s(sweep) / (4.0 * sweep->high_hz);
}

/// The sweep, each frequency weighed by itself: its inverse, backwards.
static void
weigh(const VwSweep* sweep, double rate_hz, float* values, size_t n) {
  const double pace_s = vw_sweep_pace_s(sweep);
  for (size_t i = 0; i < n; ++i) {
    const double time_s = (double)i / rate_hz;
    values[i] = (float)(vw_sweep_at(sweep, time_s) *
                        exp((time_s - sweep->seconds) / pace_s));
  }
}

/// Frame `at` of a recording; what lies outside is silence.
static float
frame_at(const VwSound* recording, double at) {
  return at >= 0.0 && at < (double)recording->n_frames
           ? recording->values[(size_t)at]
           : 0.0F;
}

VwStatus
vw_sweep_answer(const VwSweep*      sweep,
                const VwSound*      recording,
                const VwAnswerWish* wish,
                VwAnswer*           answer) {
  const double rate_hz = recording->rate_hz;
  const double first = floor((wish->start_s + wish->from_s) * rate_hz);
  const size_t n = vw_frames_of_s(sweep->seconds, rate_hz);
  const size_t n_lags = vw_frames_of_s(wish->to_s - wish->from_s, rate_hz) + 1U;
  float* const one = calloc(n, sizeof(float));
  float* const other = calloc(n + n_lags, sizeof(float));
  double* const sums = calloc(n_lags, sizeof(double));
  VwStatus      st = one && other && sums ? VW_OK : VW_NO_MEMORY;
  if (!st) {
    weigh(sweep, rate_hz, one, n);
    for (size_t i = 0; i < n + n_lags; ++i) {
      other[i] = frame_at(recording, first + (double)i);
    }
    const VwCross cross = {one, other, 1U, n, n_lags};
    st = vw_spectrum_cross(&cross, NULL, sums);
  }
  free(one);
  free(other);
  if (st) {
    free(sums);
    return st;
  }
  const double gain = vw_sweep_gain(sweep, rate_hz);
  for (size_t i = 0; i < n_lags; ++i) {
    sums[i] /= gain;
  }
  *answer = (VwAnswer){sums, n_lags, rate_hz, first / rate_hz - wish->start_s};
  return VW_OK;
}

void
vw_answer_clear(VwAnswer* answer) {
  if (answer) {
    free(answer->values);
    *answer = (VwAnswer){0};
  }
}

double
vw_answer_power(const VwAnswer* answer,
                double          middle_s,
                double          window_s,
                double          hz) {
  const double middle = (middle_s - answer->from_s) * answer->rate_hz;
  const double half = 0.5 * window_s * answer->rate_hz;
  const double from = ceil(fmax(middle - half, 0.0));
  const double to = floor(fmin(middle + half, (double)answer->n - 1.0));
  // The sum of what is turned back by the frequency, frame after frame.
  const double turn = 2.0 * VW_PI * hz / answer->rate_hz;
  const double twice = 2.0 * cos(turn);
  double       last = 0.0;
  double       before = 0.0;
  for (double i = from; i <= to; ++i) {
    const double off = fabs(i - middle) / half;
    const double weight = rise(2.0 * (1.0 - off));
    const double now =
      weight * answer->values[(size_t)i] + twice * last - before;
    before = last;
    last = now;
  }
  return last * last + before * before - twice * last * before;
}
