#include "burst/vary.h"

#include "base/units.h"
#include "burst/shot.h"
#include "burst/turns.h"
#include "signal/sound.h"

#include <samplerate.h>

#include <assert.h>
#include <math.h>
#include <string.h>

// Zeros in front, so that the converter starts in silence.
#define PAD_S 0.020

/// The `i`-th of `n` numbers spread evenly over [-most, most].
static double
spread(size_t i, size_t n, double most) {
  return n > 1U ? most * (2.0 * (double)i / (double)(n - 1U) - 1.0) : 0.0;
}

void
vw_vary_draw(const VwFamilyOptions* options,
             size_t                 n_shots,
             VwRandom*              random,
             VwVariant*             variants) {
  size_t order[64];
  assert(n_shots <= sizeof(order) / sizeof(order[0]));
  for (size_t i = 0; i < n_shots; ++i) {
    order[i] = i;
  }
  vw_turns_shuffle(order, n_shots, random);
  for (size_t i = 0; i < n_shots; ++i) {
    variants[i].detune_cents = spread(order[i], n_shots, options->detune_cents);
  }
  vw_turns_shuffle(order, n_shots, random);
  double energy = 0.0;
  for (size_t i = 0; i < n_shots; ++i) {
    variants[i].gain_db = spread(order[i], n_shots, options->level_spread_db);
    energy += vw_power_of_db(variants[i].gain_db);
  }
  for (size_t i = 0; i < n_shots; ++i) {
    variants[i].gain_db -= vw_db_of_power(energy / (double)n_shots);
  }
}

/// Play a shot `speed` times as fast; its attack stays to the nearest frame.
static VwStatus
play_at(const VwSound* shot, double speed, VwSound* out) {
  const size_t n_channels = shot->n_channels;
  const size_t n_pre = vw_shot_pre_roll(shot->rate_hz);
  const size_t n_pad = vw_frames_of_s(PAD_S, shot->rate_hz);
  const size_t n_drop =
    (size_t)floor((double)(n_pad + n_pre) / speed + 0.5) - n_pre;
  const size_t n_in = shot->n_frames + 2U * n_pad;
  const size_t n_all = (size_t)((double)n_in / speed) + 1U;
  const size_t n_out =
    (size_t)floor((double)(shot->n_frames - n_pre) / speed + 0.5) + n_pre;
  VwSound  padded = {0};
  VwSound  played = {0};
  VwSound  result = {0};
  VwStatus st = vw_sound_init(&padded, n_in, shot->n_channels, shot->rate_hz);
  st = st ? st : vw_sound_init(&played, n_all, shot->n_channels, shot->rate_hz);
  st = st ? st : vw_sound_init(&result, n_out, shot->n_channels, shot->rate_hz);
  if (!st) {
    memcpy(padded.values + n_pad * n_channels,
           shot->values,
           shot->n_frames * n_channels * sizeof(float));
    SRC_DATA data = {.data_in = padded.values,
                     .data_out = played.values,
                     .input_frames = (long)n_in,
                     .output_frames = (long)n_all,
                     .src_ratio = 1.0 / speed};
    st = src_simple(&data, SRC_SINC_BEST_QUALITY, (int)n_channels)
           ? VW_NO_MEMORY
           : VW_OK;
  }
  if (!st) {
    memcpy(result.values,
           played.values + n_drop * n_channels,
           n_out * n_channels * sizeof(float));
    vw_shot_close_ends(&result);
    *out = result;
  } else {
    vw_sound_clear(&result);
  }
  vw_sound_clear(&padded);
  vw_sound_clear(&played);
  return st;
}

VwStatus
vw_vary(const VwSound* shot, const VwVariant* variant, VwSound* out) {
  const double speed = pow(2.0, variant->detune_cents / 1200.0);
  VwSound      varied = {0};
  VwStatus     st = VW_OK;
  if (variant->detune_cents != 0.0) {
    st = play_at(shot, speed, &varied);
  } else {
    st = vw_sound_copy(shot, &varied);
  }
  if (st) {
    return st;
  }
  vw_sound_scale(&varied, vw_gain_of_db(variant->gain_db));
  *out = varied;
  return VW_OK;
}
