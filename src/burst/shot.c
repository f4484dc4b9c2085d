#include "base/ranges.h"
#include "base/size.h"
#include "base/units.h"
#include "burst/burst.h"
#include "burst/internal.h"
#include "signal/signal.h"
#include "take/take.h"

#include <math.h>
#include <string.h>

#define FADE_IN_S 0.0005
#define FADE_OUT_S 0.020
#define CLOSE_OUT_S 0.001

// A fade takes no more than this part of a short shot.
#define FADE_SHARE 4U

// So near to the crest a sound is heard as loud as at it: the level of noise
// sways as much.
#define NEAR_DB 3.0

// Of a sound 50 dB down, in energy, a high-pass has left but its own answer to
// the sound's start.
#define LEFT_LEAST 1e-5

// What is near zero, of a step that is heard: the limiter takes 12 dB at most
// off the steps with which an end is compared.
#define NEAR_ZERO 0.25

// Past this part of the period too little of it is left for a valley (chosen
// here).
#define CREST_LATEST 0.4

#define LATE_FADE_IN_S 0.005

static size_t
fade_frames(const VwSound* sound, double seconds) {
  const size_t wanted = vw_frames_of_s(seconds, sound->rate_hz);
  const size_t most = sound->n_frames / FADE_SHARE;
  const size_t n = wanted < most ? wanted : most;
  return n ? n : 1U;
}

/// Fade in from zero at frame `from`.
static void
fade_in(VwSound* sound, size_t from, double seconds) {
  const size_t n = fade_frames(sound, seconds);
  for (size_t i = 0; i < n && from + i < sound->n_frames; ++i) {
    vw_sound_scale_frame(sound, from + i, 1.0 - vw_fade_out_at(i, n));
  }
}

/// Fade out to zero at the last frame.
static void
fade_out(VwSound* sound, double seconds) {
  const size_t n = fade_frames(sound, seconds);
  for (size_t i = 0; i < n; ++i) {
    vw_sound_scale_frame(
      sound, sound->n_frames - 1U - i, 1.0 - vw_fade_out_at(i, n));
  }
}

static double
energy_of(const VwSound* sound) {
  double energy = 0.0;
  for (size_t i = 0; i < sound->n_frames; ++i) {
    energy += vw_sound_power_at(sound, i);
  }
  return energy;
}

/// Fade in a shot from where the take begins, unless half of it would be lost:
/// a click.
static void
fade_in_shot(VwSound* shot, size_t from) {
  const size_t n = vw_frames_of_s(FADE_IN_S, shot->rate_hz);
  VwSound      rest = *shot; // a view
  rest.values += (from + n) * shot->n_channels;
  rest.n_frames = shot->n_frames - from - n;
  if (energy_of(&rest) >= 0.5 * energy_of(shot)) {
    fade_in(shot, from, FADE_IN_S);
  }
}

/**
 * Cut a shot from its take, at the take's own sample rate.
 *
 * The attack comes to lie where it falls, at `rate_hz`, on the frame
 * vw_shot_pre_roll() says; zeros stand where the take has nothing before it,
 * and behind a click that the take ends with.
 * The first half millisecond is faded in, the last 20 ms, or 5 ms before a shot
 * that comes while this one still sounds, are a raised cosine to exact zero.
 *
 * @param rate_hz The sample rate to which the shot is going to be converted.
 * @param shot Filled in on success; free it with vw_sound_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
static VwStatus
shot_cut(const VwSound*     take,
         const VwShotFacts* facts,
         unsigned           rate_hz,
         VwSound*           shot) {
  const double pre_roll_s = (double)vw_shot_pre_roll(rate_hz) / (double)rate_hz;
  const size_t n_pre = vw_frames_of_s(pre_roll_s, take->rate_hz);
  const size_t n_before = facts->attack_frame - facts->first_frame;
  const size_t n_there = n_before < n_pre ? n_before : n_pre;
  const size_t from = facts->attack_frame - n_there;
  const size_t n_zeros = n_pre - n_there;
  const size_t n = facts->end_frame - from;
  const size_t least = n_there + vw_frames_of_s(VW_SHORTEST_S, take->rate_hz);
  VwSound      out = {0};
  const VwStatus st = vw_sound_init(
    &out, n_zeros + (n > least ? n : least), take->n_channels, take->rate_hz);
  if (st) {
    return st;
  }
  memcpy(out.values + n_zeros * take->n_channels,
         take->values + from * take->n_channels,
         n * take->n_channels * sizeof(float));
  fade_in_shot(&out, n_zeros);
  fade_out(&out, facts->choked ? VW_CHOKE_S : FADE_OUT_S);
  *shot = out;
  return VW_OK;
}

/// Whether what sounds on does so from the take's start on.
static bool
starts_at_once(const VwShotFacts* facts, unsigned take_hz) {
  return facts->kind != VW_KIND_RAPID_FIRE &&
         facts->begins_frame <
           facts->first_frame + vw_frames_of_s(VW_PRE_ROLL_S, take_hz);
}

/**
 * Cut what is joined from its take: rapid fire as one long shot, what sounds on
 * likewise, but for an end at which the take itself starts or stops.
 */
static VwStatus
stretch_cut(const VwSound*     take,
            const VwShotFacts* facts,
            unsigned           rate_hz,
            VwSound*           stretch) {
  const VwSound sounding = vw_sound_sounding(take);
  const size_t  stops =
    (size_t)(sounding.values - take->values) / take->n_channels +
    sounding.n_frames;
  const bool starts = starts_at_once(facts, take->rate_hz);
  const bool stays =
    facts->kind != VW_KIND_RAPID_FIRE && facts->ends_frame >= stops;
  VwShotFacts all = *facts;
  all.attack_frame = facts->begins_frame;
  all.end_frame = facts->ends_frame;
  all.choked = false;
  if (!starts && !stays) {
    return shot_cut(take, &all, rate_hz, stretch);
  }
  const size_t from =
    starts ? facts->first_frame
           : all.attack_frame - vw_frames_of_s(VW_PRE_ROLL_S, take->rate_hz);
  const VwStatus st = vw_sound_part(take, from, all.end_frame - from, stretch);
  if (!st && !starts) {
    fade_in(stretch, 0U, FADE_IN_S);
  } else if (!st && !stays) {
    fade_out(stretch, FADE_OUT_S);
  }
  return st;
}

/// Where in the take what is joined starts.
static double
stretch_starts_s(const VwShotFacts* facts, unsigned take_hz, unsigned rate_hz) {
  return starts_at_once(facts, take_hz)
           ? (double)facts->first_frame / (double)take_hz
           : (double)facts->begins_frame / (double)take_hz -
               (double)vw_shot_pre_roll(rate_hz) / (double)rate_hz;
}

void
vw_shot_close_ends(VwSound* shot) {
  fade_in(shot, 0, FADE_IN_S);
  fade_out(shot, CLOSE_OUT_S);
}

/// Fade the ends of a whole take, each where it is not near zero.
static VwStatus
close_whole(VwSound* whole, double fade_ms, VwTakeUse* use) {
  const size_t n = whole->n_frames;
  const double near =
    n > 1U && fade_ms > 0.0 ? NEAR_ZERO * vw_sound_step_heard(whole) : HUGE_VAL;
  if (near < 0.0) {
    return VW_NO_MEMORY;
  }
  use->start_faded = n && vw_sound_height(whole, 0U) > near;
  use->end_faded = n && vw_sound_height(whole, n - 1U) > near;
  if (use->start_faded) {
    fade_in(whole, 0U, 1e-3 * fade_ms);
  }
  if (use->end_faded) {
    fade_out(whole, 1e-3 * fade_ms);
  }
  return VW_OK;
}

unsigned
vw_alone_rate(const VwTake* takes, size_t n_takes, unsigned asked_hz) {
  unsigned highest = 0;
  for (size_t i = 0; i < n_takes; ++i) {
    const unsigned rate_hz = takes[i].sound.rate_hz;
    highest = rate_hz > highest ? rate_hz : highest;
  }
  return asked_hz                            ? asked_hz
         : highest < VW_SAMPLE_RATE_USUAL_HZ ? highest
                                             : VW_SAMPLE_RATE_USUAL_HZ;
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

/// Take away what the speaker cannot play, and cut what it plays too loud.
static VwStatus
spare_speaker(VwSound* sound, const VwSpeaker* speaker) {
  const double before = energy_of(sound);
  if (speaker->corner_hz > VW_HIGH_PASS_MOST * sound->rate_hz) {
    return VW_BAD_OPTION;
  }
  vw_speaker_spare(speaker, sound);
  return energy_of(sound) < LEFT_LEAST * before ? VW_SILENT : VW_OK;
}

static VwStatus
cut_out(const VwTake*      take,
        const VwShotFacts* facts,
        const VwAloneWish* wish,
        VwSound*           cut) {
  const VwSound* const sound = &take->sound;
  const unsigned       rate_hz = wish->format.rate_hz;
  return wish->whole   ? vw_sound_copy(sound, cut)
         : wish->joins ? stretch_cut(sound, facts, rate_hz, cut)
                       : shot_cut(sound, facts, rate_hz, cut);
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
  if (wish->joins && !wish->whole) {
    made_use.starts_s =
      stretch_starts_s(facts, take->sound.rate_hz, format->rate_hz);
  }
  if (!st && wish->speaker.corner_hz > 0.0) {
    st = spare_speaker(&made, &wish->speaker);
  }
  if (!st && (wish->whole || wish->joins)) {
    st = close_whole(&made, wish->fade_ms, &made_use);
  } else if (!st) {
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

size_t
vw_late_crest(const VwTakeUse* use, double period_s, unsigned rate_hz) {
  const double latest = CREST_LATEST * period_s * (double)rate_hz;
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
  const VwStatus st =
    vw_sound_part(shot, n_late, shot->n_frames - n_late, &late);
  if (st) {
    return st;
  }
  if (n_late) {
    const size_t n_pre = vw_shot_pre_roll(shot->rate_hz);
    const size_t n_fade = vw_frames_of_s(LATE_FADE_IN_S, shot->rate_hz);
    for (size_t i = 0; i < n_pre + n_fade && i < late.n_frames; ++i) {
      const double gain =
        i < n_pre ? 0.0 : 1.0 - vw_fade_out_at(i - n_pre, n_fade);
      vw_sound_scale_frame(&late, i, gain);
    }
  }
  *crest -= n_late;
  *late_ms = 1000.0 * (double)n_late / (double)shot->rate_hz;
  *out = late;
  return VW_OK;
}
