#include "alone.h"

#include "convert.h"
#include "curve.h"
#include "cut.h"
#include "downmix.h"
#include "shot.h"
#include "units.h"

// So near to the crest a sound is heard as loud as at it: the level of noise
// sways as much.
#define NEAR_DB 3.0

/// Bring `sound` to the board's sample rate, in place.
static VwStatus
to_rate(VwSound* sound, unsigned rate_hz) {
  VwSound converted = {0};
  if (sound->rate_hz == rate_hz) {
    return VW_OK;
  }
  const VwStatus st = vw_convert(sound, rate_hz, &converted);
  if (!st) {
    vw_sound_clear(sound);
    *sound = converted;
    vw_shot_close_ends(sound);
  }
  return st;
}

static size_t
frame_of_step(const VwCurve* curve, size_t step, const VwSound* sound) {
  const size_t frame = step * curve->n_step + curve->n_step / 2U;
  return frame < sound->n_frames ? frame : sound->n_frames - 1U;
}

static VwStatus
find_crest(const VwSound* alone, VwTakeUse* use) {
  VwCurve        curve = {0};
  const VwStatus st = vw_curve_take(alone, &curve);
  if (!st) {
    const size_t crest = vw_curve_crest(&curve, 0, curve.n_steps);
    const double near = curve.level[crest] * vw_power_of_db(-NEAR_DB);
    size_t       first = 0;
    while (curve.level[first] < near) {
      ++first;
    }
    use->crest_frame = frame_of_step(&curve, crest, alone);
    use->near_crest_frame = frame_of_step(&curve, first, alone);
  }
  vw_curve_clear(&curve);
  return st;
}

VwStatus
vw_alone_make(const VwTake*      take,
              const VwShotFacts* facts,
              const VwFormat*    format,
              VwSound*           alone,
              VwTakeUse*         use) {
  VwSound   cut = {0};
  VwSound   made = {0};
  VwTakeUse made_use = *use;
  VwStatus  st = vw_shot_cut(&take->sound, facts, format->rate_hz, &cut);
  st = st ? st : vw_downmix(&cut, format->n_channels, &made_use.downmix, &made);
  st = st ? st : to_rate(&made, format->rate_hz);
  st = st ? st : vw_cut_pad(&made, vw_cut_frames_unit(format), 0U);
  st = st ? st : find_crest(&made, &made_use);
  vw_sound_clear(&cut);
  if (st) {
    vw_sound_clear(&made);
    return st;
  }
  *alone = made;
  *use = made_use;
  return VW_OK;
}
