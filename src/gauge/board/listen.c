// A recording, and where known waves lie in it.

#include "base/units.h"
#include "gauge/board/internal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

VwStatus
vw_listen_to(const VwSound* recording, VwListening* listening) {
  const size_t   n = recording->n_frames;
  const unsigned strongest = vw_sound_strongest(recording, 0, n);
  VwSound        one = {0};
  VwSound        slow = {0};
  VwStatus       st = vw_sound_channel(recording, strongest, &one);
  if (!st && one.rate_hz > VW_LISTEN_HZ) {
    st = vw_convert(&one, VW_LISTEN_HZ, &slow);
    vw_sound_clear(&one);
    one = slow;
  }
  if (st) {
    return st;
  }
  *listening = (VwListening){.sound = one,
                             .n_hops = one.n_frames / VW_LISTEN_HOP + 1U,
                             .hop_s = (double)VW_LISTEN_HOP / one.rate_hz};
  return VW_OK;
}

void
vw_listen_clear(VwListening* listening) {
  if (listening) {
    for (size_t i = 0; i < listening->n_waves; ++i) {
      vw_matcher_free(listening->waves[i].matcher);
      free(listening->waves[i].near);
    }
    free(listening->waves);
    free(listening->matches);
    vw_sound_clear(&listening->sound);
    *listening = (VwListening){0};
  }
}

/// Look for a wave from a frame on. Returns how many places were looked at.
static size_t
run_from(VwListening* listening, size_t wave, size_t from) {
  const VwSound* const sound = &listening->sound;
  VwMatcher* const     matcher = listening->waves[wave].matcher;
  vw_matcher_run(
    matcher, sound->values + from, sound->n_frames - from, listening->matches);
  const size_t n = vw_matcher_lags(matcher);
  return n < sound->n_frames - from ? n : sound->n_frames - from;
}

/// Note how near the wave is in each hop, and beside it: as far as the clock of
/// a file of 2 s may be off before it is known.
static void
note_near(VwListening* listening, size_t wave) {
  float* const near = listening->waves[wave].near;
  const size_t n_frames = listening->sound.n_frames;
  for (size_t at = 0; at < n_frames;) {
    const size_t n = run_from(listening, wave, at);
    for (size_t i = 0; i < n; ++i) {
      const size_t hop = (at + i) / VW_LISTEN_HOP;
      const float  likeness = listening->matches[i].likeness;
      for (size_t k = hop ? hop - 1U : 0U;
           k <= hop + 1U && k < listening->n_hops;
           ++k) {
        near[k] = fmaxf(near[k], likeness);
      }
    }
    at += n;
  }
}

/// Room for one wave more.
static bool
add_wave(VwListening* listening, const float* wave, size_t n_frames) {
  const size_t          n = listening->n_waves;
  VwListenedWave* const waves =
    realloc(listening->waves, (n + 1U) * sizeof(VwListenedWave));
  if (!waves) {
    return false;
  }
  listening->waves = waves;
  listening->n_waves = n + 1U;
  waves[n] = (VwListenedWave){.matcher = vw_matcher_new(wave, n_frames),
                              .near = calloc(listening->n_hops, sizeof(float))};
  if (!waves[n].matcher || !waves[n].near) {
    return false;
  }
  VwMatch* const matches = realloc(
    listening->matches, vw_matcher_lags(waves[n].matcher) * sizeof(VwMatch));
  listening->matches = matches ? matches : listening->matches;
  return matches != NULL;
}

VwStatus
vw_listen_for(VwListening* listening, const float* wave, size_t n_frames) {
  if (!add_wave(listening, wave, n_frames)) {
    return VW_NO_MEMORY;
  }
  note_near(listening, listening->n_waves - 1U);
  return VW_OK;
}

/// The frame at a time, within the sound.
static size_t
frame_at(const VwListening* listening, double time_s) {
  const double frame = floor(time_s * listening->sound.rate_hz);
  return (size_t)fmin(fmax(frame, 0.0),
                      (double)(listening->sound.n_frames - 1U));
}

/// How far the top of a parabola through three heights lies from the middle.
static double
top_of(double before, double middle, double after) {
  const double bend = before - 2.0 * middle + after;
  return bend < 0.0 ? 0.5 * (before - after) / bend : 0.0;
}

VwHeard
vw_listen_about(VwListening* listening,
                size_t       wave,
                double       time_s,
                double       reach_s) {
  const double   rate_hz = listening->sound.rate_hz;
  const size_t   from = frame_at(listening, time_s - reach_s);
  const size_t   to = frame_at(listening, time_s + reach_s) + 2U;
  const size_t   n = run_from(listening, wave, from);
  const VwMatch* matches = listening->matches;
  size_t         best = 1U;
  for (size_t i = 1; i + 1U < n && from + i < to; ++i) {
    best = matches[i].height > matches[best].height ? i : best;
  }
  if (best + 1U >= n) {
    return (VwHeard){time_s, 0.0, 0.0};
  }
  const double part = top_of(
    matches[best - 1U].height, matches[best].height, matches[best + 1U].height);
  return (VwHeard){((double)(from + best) + part) / rate_hz,
                   matches[best].height,
                   matches[best].likeness};
}

void
vw_listen_course(VwListening* listening,
                 size_t       wave,
                 double       from_s,
                 double*      heights,
                 size_t       n) {
  const double rate_hz = listening->sound.rate_hz;
  const double from = from_s * rate_hz;
  const double first = floor(fmax(from, 0.0));
  const size_t skipped = (size_t)(first - floor(from));
  const size_t n_run = first < (double)listening->sound.n_frames
                         ? run_from(listening, wave, (size_t)first)
                         : 0U;
  for (size_t i = 0; i < n; ++i) {
    heights[i] = i >= skipped && i - skipped < n_run
                   ? (double)listening->matches[i - skipped].height
                   : 0.0;
  }
}

VwStatus
vw_listen_above(const VwListening* listening, double above_hz, VwSound* high) {
  const double   rate_hz = listening->sound.rate_hz;
  const VwStatus st = vw_sound_copy(&listening->sound, high);
  VwBiquad       once[VW_HIGH_PASS_SECTIONS];
  VwBiquad       again[VW_HIGH_PASS_SECTIONS];
  vw_high_pass_4th(once, above_hz, rate_hz);
  vw_high_pass_4th(again, above_hz, rate_hz);
  for (size_t i = 0; !st && i < high->n_frames; ++i) {
    high->values[i] = (float)vw_high_pass_step(
      again, vw_high_pass_step(once, (double)high->values[i]));
  }
  return st;
}
