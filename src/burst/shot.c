#include "burst/shot.h"

#include "base/units.h"
#include "take/attack.h"

#include <string.h>

#define FADE_IN_S 0.0005
#define FADE_OUT_S 0.020
#define CLOSE_OUT_S 0.001

// A fade takes no more than this part of a short shot.
#define FADE_SHARE 4U

size_t
vw_shot_pre_roll(unsigned rate_hz) {
  return vw_frames_of_s(VW_PRE_ROLL_S, rate_hz);
}

static size_t
fade_frames(const VwSound* sound, double seconds) {
  const size_t wanted = vw_frames_of_s(seconds, sound->rate_hz);
  const size_t most = sound->n_frames / FADE_SHARE;
  const size_t n = wanted < most ? wanted : most;
  return n ? n : 1U;
}

/// Fade in from zero at frame `from`.
static void
fade_in(VwSound* sound, size_t from) {
  const size_t n = fade_frames(sound, FADE_IN_S);
  for (size_t i = 0; i < n && from + i < sound->n_frames; ++i) {
    vw_shot_scale_frame(sound, from + i, 1.0 - vw_fade_out_at(i, n));
  }
}

/// Fade out to zero at the last frame.
static void
fade_out(VwSound* sound, double seconds) {
  const size_t n = fade_frames(sound, seconds);
  for (size_t i = 0; i < n; ++i) {
    vw_shot_scale_frame(
      sound, sound->n_frames - 1U - i, 1.0 - vw_fade_out_at(i, n));
  }
}

VwStatus
vw_shot_cut(const VwSound*     take,
            const VwShotFacts* facts,
            unsigned           rate_hz,
            VwSound*           shot) {
  const double pre_roll_s = (double)vw_shot_pre_roll(rate_hz) / (double)rate_hz;
  const size_t n_pre = vw_frames_of_s(pre_roll_s, take->rate_hz);
  const size_t n_there =
    facts->attack_frame < n_pre ? facts->attack_frame : n_pre;
  const size_t   from = facts->attack_frame - n_there;
  const size_t   n_zeros = n_pre - n_there;
  VwSound        out = {0};
  const VwStatus st = vw_sound_init(
    &out, n_zeros + facts->end_frame - from, take->n_channels, take->rate_hz);
  if (st) {
    return st;
  }
  memcpy(out.values + n_zeros * take->n_channels,
         take->values + from * take->n_channels,
         (facts->end_frame - from) * take->n_channels * sizeof(float));
  fade_in(&out, n_zeros);
  fade_out(&out, FADE_OUT_S);
  *shot = out;
  return VW_OK;
}

void
vw_shot_close_ends(VwSound* shot) {
  fade_in(shot, 0);
  fade_out(shot, CLOSE_OUT_S);
}
