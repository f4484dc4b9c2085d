#include "take/take.h"
#include "base/ranges.h"
#include "base/units.h"
#include "signal/signal.h"

#include "volleyweave/volleyweave.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

// The corner lies below what any small speaker plays.
#define OFFSET_CORNER_HZ 20.0

// The level by which stretches are compared is that of so long.
#define LOUDEST_S 0.010

// A start counts as quiet where its RMS about its mean is below this part of
// the mean: the mean is then an offset and not a piece of sound.
#define QUIET_PART 0.25

// What is left of the filter's ringing in digital silence is silence again.
// -180 dBFS, far below the noise of 24 bits.
#define SILENCE 1e-9

// Flat tops: at least so many frames at the extreme, which lies this high.
#define CLIPPED_RUN 3U
#define CLIPPED_LEVEL 0.98F

static VwStatus
check_shape(const VwSound* raw) {
  if (!vw_is_within(raw->n_channels, (VwRange)VW_RANGE_TAKE_CHANNELS)) {
    return VW_CHANNELS;
  }
  if (!vw_is_within(raw->rate_hz, (VwRange)VW_RANGE_SAMPLE_RATE_HZ)) {
    return VW_SAMPLE_RATE;
  }
  if (!raw->n_frames) {
    return VW_NO_FRAMES;
  }
  return (double)raw->n_frames < VW_SHORTEST_S * raw->rate_hz ? VW_TOO_SHORT
                                                              : VW_OK;
}

static VwStatus
check_values(const VwSound* raw) {
  const size_t n_values = raw->n_frames * raw->n_channels;
  bool         constant = true;
  for (size_t i = 0; i < n_values; ++i) {
    if (!isfinite(raw->values[i])) {
      return VW_NOT_FINITE;
    }
    constant = constant && (i < raw->n_channels ||
                            raw->values[i] == raw->values[i - raw->n_channels]);
  }
  return constant ? VW_SILENT : VW_OK;
}

static double
mean_of(const VwSound* raw) {
  const size_t n_values = raw->n_frames * raw->n_channels;
  double       sum = 0.0;
  for (size_t i = 0; i < n_values; ++i) {
    sum += (double)raw->values[i];
  }
  return sum / (double)n_values;
}

/// Whether a value is one at which a recorder clips.
static bool
is_clipping(float extreme) {
  return fabsf(extreme) >= CLIPPED_LEVEL;
}

/// Add the frames of one channel in runs at the value `extreme` to the counts
/// of stretches; a run belongs to that in which it ends.
static void
count_runs(const VwSound*  raw,
           unsigned        channel,
           float           extreme,
           const VwEvents* events,
           size_t*         n_clipped) {
  size_t run = 0;
  size_t at = 0;
  for (size_t i = 0; i <= raw->n_frames; ++i) {
    while (at + 1U < events->n_events &&
           i > events->events[at + 1U].start_frame) {
      ++at;
    }
    if (i < raw->n_frames &&
        raw->values[i * raw->n_channels + channel] == extreme) {
      ++run;
    } else {
      n_clipped[at] += run >= CLIPPED_RUN ? run : 0U;
      run = 0;
    }
  }
}

void
vw_clipped_of_events(const VwSound*  raw,
                     const VwEvents* events,
                     size_t*         n_clipped) {
  memset(n_clipped, 0, events->n_events * sizeof(*n_clipped));
  for (unsigned c = 0; c < raw->n_channels; ++c) {
    float highest = 0.0F;
    float lowest = 0.0F;
    for (size_t i = 0; i < raw->n_frames; ++i) {
      const float value = raw->values[i * raw->n_channels + c];
      highest = value > highest ? value : highest;
      lowest = value < lowest ? value : lowest;
    }
    if (is_clipping(highest)) {
      count_runs(raw, c, highest, events, n_clipped);
    }
    if (is_clipping(lowest)) {
      count_runs(raw, c, lowest, events, n_clipped);
    }
  }
}

/// The offset a channel starts with, 0 where its start is not quiet.
static double
offset_at_start(const VwSound* raw, unsigned channel) {
  const size_t n_frames = vw_frames_of_s(VW_SHORTEST_S, raw->rate_hz);
  double       sum = 0.0;
  double       squares = 0.0;
  for (size_t i = 0; i < n_frames && i < raw->n_frames; ++i) {
    const double value = (double)raw->values[i * raw->n_channels + channel];
    sum += value;
    squares += value * value;
  }
  const double mean = sum / (double)n_frames;
  const double variance = squares / (double)n_frames - mean * mean;
  return variance < QUIET_PART * QUIET_PART * mean * mean ? mean : 0.0;
}

/// Digital silence at both ends has no offset, and nothing rings into it.
static void
remove_offset(const VwSound* raw, VwSound* sound) {
  const VwSound part = vw_sound_sounding(raw);
  float* const  values = sound->values + (part.values - raw->values);
  for (unsigned c = 0; c < raw->n_channels; ++c) {
    VwBiquad filter =
      vw_biquad_high_pass(OFFSET_CORNER_HZ, sqrt(0.5), raw->rate_hz);
    vw_biquad_settle(&filter, offset_at_start(&part, c));
    for (size_t i = 0; i < part.n_frames; ++i) {
      const size_t at = i * raw->n_channels + c;
      const double value = vw_biquad_step(&filter, (double)part.values[at]);
      values[at] = fabs(value) < SILENCE ? 0.0F : (float)value;
    }
  }
}

VwStatus
vw_take_prepare(const VwSound* raw, VwTake* take) {
  assert(raw && take);
  VwStatus st = check_shape(raw);
  st = st ? st : check_values(raw);
  VwTake out = {0};
  st =
    st
      ? st
      : vw_sound_init(&out.sound, raw->n_frames, raw->n_channels, raw->rate_hz);
  if (st) {
    return st;
  }
  remove_offset(raw, &out.sound);
  if (vw_sound_peak(&out.sound) <= 0.0) {
    vw_sound_clear(&out.sound);
    return VW_SILENT;
  }
  out.dc_offset = mean_of(raw);
  VwEvent        whole = {0};
  const VwEvents all = {.events = &whole, .n_events = 1U};
  vw_clipped_of_events(raw, &all, &out.n_clipped_frames);
  st = vw_side_late(&out.sound, &out.side_late_ms);
  if (st) {
    vw_sound_clear(&out.sound);
    return st;
  }
  *take = out;
  return VW_OK;
}

VwStatus
vw_stretch_view(const VwSound*       raw,
                const VwFindOptions* options,
                VwSound*             view) {
  const size_t from = vw_frames_of_s(options->from_s, raw->rate_hz);
  const size_t to = options->to_s > 0.0
                      ? vw_frames_of_s(options->to_s, raw->rate_hz)
                      : raw->n_frames;
  if (!from && to == raw->n_frames) {
    *view = *raw;
    return VW_OK;
  }
  if (to > raw->n_frames || from > to ||
      (double)(to - from) < VW_SHORTEST_S * raw->rate_hz) {
    return VW_BAD_STRETCH;
  }
  *view = (VwSound){.values = raw->values + from * raw->n_channels,
                    .n_frames = to - from,
                    .n_channels = raw->n_channels,
                    .rate_hz = raw->rate_hz};
  return VW_OK;
}

/// Power of the loudest 10 ms, whatever offset lies under them.
static double
loudest_power(const VwSound* sound) {
  const size_t window = vw_frames_of_s(LOUDEST_S, sound->rate_hz);
  const size_t n_channels = sound->n_channels;
  double       loudest = 0.0;
  for (size_t from = 0; from < sound->n_frames; from += window) {
    const size_t left = sound->n_frames - from;
    const size_t n = left < window ? left : window;
    double       power = 0.0;
    for (size_t c = 0; c < n_channels; ++c) {
      double sum = 0.0;
      double squares = 0.0;
      for (size_t i = from; i < from + n; ++i) {
        const double value = (double)sound->values[i * n_channels + c];
        sum += value;
        squares += value * value;
      }
      power += (squares - sum * sum / (double)n) / (double)window;
    }
    loudest = fmax(loudest, power);
  }
  return loudest;
}

double
vw_stretch_level_db(const VwSound* raw, const VwFindOptions* options) {
  VwSound view = {0};
  if (vw_stretch_view(raw, options, &view) || view.n_frames == raw->n_frames) {
    return 0.0;
  }
  return vw_db_of_power(fmax(loudest_power(&view), 1e-20) /
                        fmax(loudest_power(raw), 1e-20));
}

/// Put silence about a stretch, where the rest of its take was.
static VwStatus
put_back(const VwSound* raw, size_t first, VwSound* stretch) {
  VwSound        out = {0};
  const VwStatus st =
    vw_sound_init(&out, raw->n_frames, raw->n_channels, raw->rate_hz);
  if (!st) {
    memcpy(out.values + first * raw->n_channels,
           stretch->values,
           stretch->n_frames * raw->n_channels * sizeof(float));
    vw_sound_clear(stretch);
    *stretch = out;
  }
  return st;
}

VwStatus
vw_take_prepare_stretch(const VwSound*       raw,
                        const VwFindOptions* options,
                        bool                 whole,
                        VwTake*              take) {
  assert(raw && options && take);
  VwSound  view = {0};
  VwTake   out = {0};
  VwStatus st = vw_stretch_view(raw, options, &view);
  st = st ? st : vw_take_prepare(&view, &out);
  if (!st && !whole && view.n_frames < raw->n_frames) {
    const size_t first = (size_t)(view.values - raw->values) / raw->n_channels;
    st = put_back(raw, first, &out.sound);
  }
  if (st) {
    vw_take_clear(&out);
    return st;
  }
  *take = out;
  return VW_OK;
}

void
vw_take_clear(VwTake* take) {
  if (take) {
    vw_sound_clear(&take->sound);
    memset(take, 0, sizeof(*take));
  }
}
