#include "signal/signal.h"

#include "volleyweave/volleyweave.h"

#include <assert.h>

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
