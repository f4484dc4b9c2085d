#include "burst/late.h"

#include "base/units.h"
#include "burst/plan.h"
#include "burst/shot.h"

#include <string.h>

// Past this part of the period too little of it is left for a valley (chosen
// here).
#define CREST_LATEST 0.4

#define FADE_IN_S 0.005

size_t
vw_late_crest(const VwTakeUse* use, const VwPlan* plan) {
  const double latest =
    CREST_LATEST * vw_plan_period_s(plan) * (double)plan->rate_hz;
  return (double)use->crest_frame > latest ? use->near_crest_frame
                                           : use->crest_frame;
}

VwStatus
vw_late_start(const VwSound* shot,
              double         period_s,
              size_t*        crest,
              double*        late_ms,
              VwSound*       out) {
  const size_t latest = vw_frames_of_s(CREST_LATEST * period_s, shot->rate_hz);
  const size_t n_late = *crest > latest ? *crest - latest : 0U;
  VwSound      late = {0};
  VwStatus     st = vw_sound_init(
    &late, shot->n_frames - n_late, shot->n_channels, shot->rate_hz);
  if (st) {
    return st;
  }
  memcpy(late.values,
         shot->values + n_late * shot->n_channels,
         late.n_frames * shot->n_channels * sizeof(float));
  if (n_late) {
    const size_t n_pre = vw_shot_pre_roll(shot->rate_hz);
    const size_t n_fade = vw_frames_of_s(FADE_IN_S, shot->rate_hz);
    for (size_t i = 0; i < n_pre + n_fade && i < late.n_frames; ++i) {
      const double gain =
        i < n_pre ? 0.0 : 1.0 - vw_fade_out_at(i - n_pre, n_fade);
      vw_shot_scale_frame(&late, i, gain);
    }
  }
  *crest -= n_late;
  *late_ms = 1000.0 * (double)n_late / (double)shot->rate_hz;
  *out = late;
  return VW_OK;
}
