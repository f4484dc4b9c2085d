#include "support/player.h"

#include "support/measure.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

size_t
player_gap_frames(double gap_ms, unsigned rate_hz) {
  return (size_t)lround(gap_ms / 1000.0 * rate_hz);
}

static VwSound
silence_like(const VwSound* sound, size_t n_frames) {
  VwSound silence = {NULL, 0, 0, 0};
  if (vw_sound_init(&silence, n_frames, sound->n_channels, sound->rate_hz)) {
    abort();
  }
  return silence;
}

VwSound
player_repeats(const VwSound* file, size_t n_gap, size_t n_times) {
  const size_t n_cycle = file->n_frames + n_gap;
  VwSound      heard = silence_like(file, n_times * n_cycle);
  for (size_t i = 0; i < n_times; ++i) {
    memcpy(heard.values + i * n_cycle * file->n_channels,
           file->values,
           file->n_frames * file->n_channels * sizeof(float));
  }
  return heard;
}

VwSound
player_pressed(const VwSound* file, const PlayerPress* press) {
  const size_t n_cycle = file->n_frames + press->n_gap;
  const size_t n_whole = press->n_frames / n_cycle;
  const size_t rest = press->n_frames % n_cycle;
  const bool   in_file = rest > 0 && rest < file->n_frames;
  VwSound      heard = player_repeats(file, press->n_gap, n_whole + 1);
  heard.n_frames = n_whole * n_cycle;
  if (rest) {
    heard.n_frames += in_file && !press->finishes ? rest : file->n_frames;
  } else {
    heard.n_frames -= press->n_gap;
  }
  return heard;
}

size_t
player_shots(const VwSound* heard, double* at, size_t most) {
  double* const level = measure_level(heard);
  double        max = 0.0;
  for (size_t i = 0; i < heard->n_frames; ++i) {
    max = fmax(max, level[i]);
  }
  const double high = max * pow(10.0, -0.3);
  const double low = max * pow(10.0, -0.8);
  size_t       n = 0;
  bool         armed = true;
  for (size_t i = 1; i < heard->n_frames && n < most; ++i) {
    if (armed && level[i] > high) {
      // Between the frames on a straight line.
      at[n++] =
        (double)i - (level[i] - high) / fmax(level[i] - level[i - 1], 1e-30);
      armed = false;
    }
    armed = armed || level[i] < low;
  }
  free(level);
  return n;
}
