#include "burst/alone.h"

#include "base/size.h"
#include "base/units.h"
#include "burst/shot.h"
#include "signal/convert.h"
#include "signal/curve.h"
#include "signal/downmix.h"
#include "signal/filter.h"
#include "signal/sound.h"

// So near to the crest a sound is heard as loud as at it: the level of noise
// sways as much.
#define NEAR_DB 3.0

// Above this part of the sample rate a high-pass leaves next to nothing.
#define CORNER_MOST 0.45

// Of a sound 50 dB down, in energy, a high-pass has left but its own answer to
// the sound's start.
#define LEFT_LEAST 1e-5

// The board's sample rate where none is asked.
#define RATE_MOST_HZ 44100U

unsigned
vw_alone_rate(const VwTake* takes, size_t n_takes, unsigned asked_hz) {
  unsigned highest = 0;
  for (size_t i = 0; i < n_takes; ++i) {
    const unsigned rate_hz = takes[i].sound.rate_hz;
    highest = rate_hz > highest ? rate_hz : highest;
  }
  return asked_hz ? asked_hz : highest < RATE_MOST_HZ ? highest : RATE_MOST_HZ;
}

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

static double
energy_of(const VwSound* sound) {
  double energy = 0.0;
  for (size_t i = 0; i < sound->n_frames; ++i) {
    energy += vw_sound_power_at(sound, i);
  }
  return energy;
}

/// Take away what the speaker cannot play (fourth order: common practice).
static VwStatus
spare_speaker(VwSound* sound, double corner_hz) {
  const double before = energy_of(sound);
  if (corner_hz > CORNER_MOST * sound->rate_hz) {
    return VW_BAD_OPTION;
  }
  for (unsigned c = 0; c < sound->n_channels; ++c) {
    VwBiquad sections[VW_HIGH_PASS_SECTIONS];
    vw_high_pass_4th(sections, corner_hz, sound->rate_hz);
    for (size_t i = 0; i < sound->n_frames; ++i) {
      float* const value = &sound->values[i * sound->n_channels + c];
      const double first = vw_biquad_step(&sections[0], (double)*value);
      *value = (float)vw_biquad_step(&sections[1], first);
    }
  }
  return energy_of(sound) < LEFT_LEAST * before ? VW_SILENT : VW_OK;
}

static VwStatus
cut_out(const VwTake*      take,
        const VwShotFacts* facts,
        const VwAloneWish* wish,
        VwSound*           cut) {
  return wish->whole
           ? vw_sound_copy(&take->sound, cut)
           : vw_shot_cut(&take->sound, facts, wish->format.rate_hz, cut);
}

VwStatus
vw_alone_make(const VwTake*      take,
              const VwShotFacts* facts,
              const VwAloneWish* wish,
              VwSound*           alone,
              VwTakeUse*         use) {
  const VwFormat* const format = &wish->format;
  VwSound               cut = {0};
  VwSound               made = {0};
  VwTakeUse             made_use = *use;
  VwStatus              st = cut_out(take, facts, wish, &cut);
  st = st ? st : vw_downmix(&cut, format->n_channels, &made_use.downmix, &made);
  st = st ? st : to_rate(&made, format->rate_hz);
  vw_sound_clear(&cut);
  if (!st && wish->speaker_hz > 0.0) {
    st = spare_speaker(&made, wish->speaker_hz);
  }
  if (!st && !wish->whole) {
    vw_shot_close_ends(&made);
  }
  st = st ? st : vw_sound_pad(&made, vw_size_unit(format), 0U);
  st = st ? st : find_crest(&made, &made_use);
  if (st) {
    vw_sound_clear(&made);
    return st;
  }
  *alone = made;
  *use = made_use;
  return VW_OK;
}
