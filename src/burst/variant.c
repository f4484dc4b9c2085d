#include "base/random.h"
#include "base/ranges.h"
#include "base/units.h"
#include "burst/burst.h"
#include "burst/internal.h"
#include "signal/signal.h"
#include "take/take.h"

#include <samplerate.h>

#include <math.h>
#include <string.h>

// Zeros in front, so that the converter starts in silence.
#define PAD_S 0.020

// A tail is lengthened by no more than this at its end, or its noise is heard.
#define RAISE_MOST_DB 6.0

// A tilt is made of shelves two octaves apart from here up, which follow a
// straight line to 0.3 dB (closed form).
#define TILT_FROM_HZ 60.0
#define TILT_STEP 4.0
#define TILT_TO 0.4
#define DB_PER_OCTAVE_AND_ORDER 6.0206

// A tilt makes the bass of a body louder and the whole, as loudness weighs it,
// softer: no more apart than this (chosen here).
#define TORN_DB 0.6
#define TILT_ROUNDS 4

// The least part of the timing that a variant takes (chosen here).
#define APART 0.7

#define SHOTS_MOST VW_CYCLE_SHOTS_MOST
enum { MEASURES = 5 };

void
vw_shuffle(size_t* numbers, size_t n, VwRandom* random) {
  for (size_t i = n; i > 1U; --i) {
    const size_t j = (size_t)vw_random_below(random, i);
    const size_t number = numbers[i - 1U];
    numbers[i - 1U] = numbers[j];
    numbers[j] = number;
  }
}

/// Spread `n` numbers evenly over [-most, most], in any order.
static void
deal(double most, size_t n, VwRandom* random, double* numbers) {
  size_t order[SHOTS_MOST];
  for (size_t i = 0; i < n; ++i) {
    order[i] = i;
  }
  vw_shuffle(order, n, random);
  for (size_t i = 0; i < n; ++i) {
    numbers[i] =
      n > 1U ? most * (2.0 * (double)order[i] / (double)(n - 1U) - 1.0) : 0.0;
  }
}

/// A time between early and late: none lies near the middle, so that early and
/// late ones in turn are well apart.
static double
apart(double ms) {
  const double most = VW_VARIANT_TIMING_MS;
  return ms == 0.0 ? 0.0
                   : copysign(APART * most + (1.0 - APART) * fabs(ms), ms);
}

void
vw_variants_draw(const VwFamilyOptions* options,
                 size_t                 n,
                 VwRandom*              random,
                 VwVariant*             variants) {
  const bool   whole = options->variants > 0U;
  const double most[MEASURES] = {
    options->detune_cents > 0.0 || !whole ? options->detune_cents
                                          : VW_VARIANT_DETUNE_CENTS,
    options->level_spread_db > 0.0 || !whole ? options->level_spread_db
                                             : VW_VARIANT_LEVEL_DB,
    VW_VARIANT_TAIL,
    VW_VARIANT_TILT_DB,
    VW_VARIANT_TIMING_MS};
  double dealt[MEASURES][SHOTS_MOST] = {{0.0}};
  double energy = 0.0;
  for (size_t i = 0; i < (whole ? MEASURES : 2U); ++i) {
    deal(most[i], n, random, dealt[i]);
  }
  for (size_t i = 0; i < n; ++i) {
    energy += vw_power_of_db(dealt[1][i]) / (double)n;
  }
  for (size_t i = 0; i < n; ++i) {
    variants[i] = (VwVariant){
      .detune_cents = dealt[0][i],
      .gain_db = dealt[1][i] - vw_db_of_power(energy),
      .tail = 1.0 + dealt[2][i],
      .tilt_db = dealt[3][i],
      .delay_ms = whole ? VW_VARIANT_TIMING_MS + apart(dealt[4][i]) : 0.0,
      .is_whole = whole};
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
  VwStatus st = vw_sound_init(&padded, n_in, shot->n_channels, shot->rate_hz);
  st = st ? st : vw_sound_init(&played, n_all, shot->n_channels, shot->rate_hz);
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
  st = st ? st : vw_sound_part(&played, n_drop, n_out, out);
  if (!st) {
    vw_shot_close_ends(out);
  }
  vw_sound_clear(&padded);
  vw_sound_clear(&played);
  return st;
}

/// A shelf of first order: a pole, and a zero above or below it.
static VwBiquad
shelf(double pole_hz, double zero_hz, unsigned rate_hz) {
  const double turn = acos(-1.0) / (double)rate_hz;
  const double p = tan(turn * pole_hz);
  const double z = tan(turn * zero_hz);
  return (VwBiquad){.b0 = (1.0 + z) / (1.0 + p),
                    .b1 = (z - 1.0) / (1.0 + p),
                    .a1 = (p - 1.0) / (1.0 + p)};
}

/// Let the spectrum rise by `tilt_db` more an octave.
static void
tilt(VwSound* sound, double tilt_db) {
  const double order = tilt_db / DB_PER_OCTAVE_AND_ORDER;
  const double top_hz = TILT_TO * (double)sound->rate_hz;
  for (double hz = TILT_FROM_HZ; hz < top_hz; hz *= TILT_STEP) {
    const double zero_hz = fmin(hz * pow(TILT_STEP, -order), top_hz);
    for (unsigned c = 0; c < sound->n_channels; ++c) {
      VwBiquad section = shelf(hz, zero_hz, sound->rate_hz);
      for (size_t i = c; i < sound->n_frames * sound->n_channels;
           i += sound->n_channels) {
        sound->values[i] =
          (float)vw_biquad_step(&section, (double)sound->values[i]);
      }
    }
  }
}

/// How fast a sound decays from a frame on, dB per frame: its energy's mean
/// time is that of an exponential decay.
static double
decay_from(const VwSound* sound, size_t from) {
  double energy = 0.0;
  double moment = 0.0;
  for (size_t i = from; i < sound->n_frames; ++i) {
    const double power = vw_sound_power_at(sound, i);
    energy += power;
    moment += power * (double)(i - from);
  }
  return moment > 0.0 ? 10.0 / log(10.0) * energy / moment : 0.0;
}

/// Let a tail decay over `length` times the time.
static void
stretch_tail(VwSound* sound, size_t from, double length) {
  const double step_db = decay_from(sound, from) * (1.0 - 1.0 / length);
  for (size_t i = from; i < sound->n_frames; ++i) {
    const double db = fmin(step_db * (double)(i - from), RAISE_MOST_DB);
    vw_sound_scale_frame(sound, i, vw_gain_of_db(db));
  }
}

/// A shot that is coloured.
typedef struct {
  VwSound sound;   ///< Owned.
  double  tilt_db; ///< An octave.
  double  torn_db; ///< How much louder its body became than the whole.
} Coloured;

/// How loud a shot is by itself, in its first `n` frames.
static VwStatus
levels_alone(const VwSound* shot, size_t n, VwShotLevels* levels) {
  VwSound first = *shot; // a view
  first.n_frames = n < first.n_frames ? n : first.n_frames;
  levels->body_db = vw_shot_body(shot, 0U, first.n_frames);
  return vw_loudness_of_effect(&first, &levels->lufs);
}

/// Tilt a shot and let its tail decay over another time; its body and its
/// loudness become those wanted, or err by as much.
static VwStatus
colour(size_t              crest,
       const VwVariant*    variant,
       const VwShotLevels* wanted,
       Coloured*           coloured) {
  VwShotLevels   is = {NAN, NAN};
  VwSound* const out = &coloured->sound;
  tilt(out, coloured->tilt_db);
  stretch_tail(out, crest, variant->tail);
  vw_shot_close_ends(out);
  const VwStatus st = levels_alone(out, variant->n_heard, &is);
  const double   body_db = is.body_db - wanted->body_db;
  const double   whole_db = is.lufs - wanted->lufs;
  coloured->torn_db = body_db - whole_db;
  if (isfinite(body_db + whole_db)) {
    vw_sound_scale(out, vw_gain_of_db(-(body_db + whole_db) / 2.0));
  }
  return st;
}

/// Colour a shot, but tilt it less if that makes its body louder and the whole
/// softer, or the other way round.
static VwStatus
colour_evenly(const VwSound*   shot,
              size_t           crest,
              const VwVariant* variant,
              VwSound*         sound) {
  Coloured     coloured = {.tilt_db = variant->tilt_db};
  VwShotLevels wanted = {NAN, NAN};
  VwStatus     st = levels_alone(shot, variant->n_heard, &wanted);
  for (int i = 0; !st && i < TILT_ROUNDS; ++i) {
    vw_sound_clear(&coloured.sound);
    st = vw_sound_copy(sound, &coloured.sound);
    st = st ? st : colour(crest, variant, &wanted, &coloured);
    const double torn_db = fabs(coloured.torn_db);
    if (!(torn_db > TORN_DB)) {
      break;
    }
    coloured.tilt_db *= TORN_DB / torn_db;
  }
  vw_sound_clear(sound);
  *sound = coloured.sound;
  return st;
}

/// Let a sound come later by so many frames.
static VwStatus
delay(VwSound* sound, size_t n) {
  const size_t   n_values = sound->n_frames * sound->n_channels;
  const size_t   n_zeros = n * sound->n_channels;
  const VwStatus st = vw_sound_pad(sound, 1U, sound->n_frames + n);
  if (!st) {
    memmove(sound->values + n_zeros, sound->values, n_values * sizeof(float));
    memset(sound->values, 0, n_zeros * sizeof(float));
  }
  return st;
}

VwStatus
vw_variant_make(const VwSound*   shot,
                size_t           crest,
                const VwVariant* variant,
                VwSound*         out) {
  const double speed = pow(2.0, variant->detune_cents / 1200.0);
  VwStatus     st = variant->detune_cents != 0.0 ? play_at(shot, speed, out)
                                                 : vw_sound_copy(shot, out);
  if (!st && variant->is_whole) {
    st = colour_evenly(shot, crest, variant, out);
    st = st ? st : delay(out, vw_variant_delay(variant, shot->rate_hz));
  }
  if (!st) {
    vw_sound_scale(out, vw_gain_of_db(variant->gain_db));
  }
  return st;
}
