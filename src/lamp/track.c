// The lamp's own track: where every shot starts is known, so the lamp cannot
// drift away from the sound.

#include "base/size.h"
#include "base/units.h"
#include "burst/burst.h"
#include "lamp/lamp.h"
#include "take/take.h"

#include <assert.h>
#include <math.h>

// Slow enough not to click in the other channel's amplifier, and short against
// the lamp's on-time (chosen here).
#define EDGE_S 0.001

// Above this part of the sample rate a converter's filter takes too much
// (common practice).
#define TONE_MOST 0.4

/// The tone, which repeats itself after every cycle.
typedef struct {
  double amplitude;
  size_t n_periods; ///< In a cycle.
  size_t n_cycle;   ///< Frames.
  size_t n_on;      ///< Frames from half up to half down.
  size_t n_edge;    ///< Frames of rising, and of falling.
  size_t n_before;  ///< Frames from a shot's start to its attack.
} Tone;

/// The shots of a piece: so many, from the one of this index on.
typedef struct {
  size_t first;
  size_t n;
} Span;

/* Options */

VwStatus
vw_track_check(const VwFamilyOptions* options) {
  return options->lamp_track.wanted && options->format.n_channels != 2U
           ? VW_TRACK_IN_MONO
           : VW_OK;
}

VwFamilyOptions
vw_track_sound_options(const VwFamilyOptions* options) {
  VwFamilyOptions sound = *options;
  if (options->lamp_track.wanted) {
    sound.format.n_channels = 1U;
    sound.file_bytes_max = vw_size_of_one(options->file_bytes_max);
  }
  return sound;
}

/* Tone */

/// How long the tone of each shot lasts.
static double
on_s(const VwFamilyOptions* options, const VwFamily* family) {
  return (family->plan.shots ? family->lamp.on_ms
                             : vw_on_time_of_shot(options).on_ms) /
         1000.0;
}

static Tone
tone_of(const VwFamilyOptions* options, const VwFamily* family) {
  const unsigned rate_hz = family->format.rate_hz;
  const size_t   n_cycle = family->plan.shots ? family->plan.n_frames : rate_hz;
  const double   cycle_s = (double)n_cycle / rate_hz;
  const double   most = floor(TONE_MOST * (double)n_cycle);
  const double   nearest = floor(options->lamp_track.tone_hz * cycle_s + 0.5);
  return (Tone){.amplitude = vw_gain_of_db(options->lamp_track.level_dbfs),
                .n_periods = (size_t)fmin(nearest, most),
                .n_cycle = n_cycle,
                .n_on = vw_frames_of_s(on_s(options, family), rate_hz),
                .n_edge = vw_frames_of_s(EDGE_S, rate_hz),
                .n_before = vw_shot_pre_roll(rate_hz)};
}

/// The tone at a frame of the burst, the same in every cycle to the last bit.
static double
tone_at(const Tone* tone, size_t frame) {
  const size_t turns = frame % tone->n_cycle * tone->n_periods % tone->n_cycle;
  return tone->amplitude *
         sin(2.0 * VW_PI * (double)turns / (double)tone->n_cycle);
}

/// The gain at `i` of `n` frames of a pulse.
static double
gain_at(const Tone* tone, size_t i, size_t n) {
  const size_t n_edge = tone->n_edge < n / 2U ? tone->n_edge : n / 2U;
  return i < n_edge        ? 1.0 - vw_fade_out_at(i, n_edge)
         : i + n_edge >= n ? vw_fade_out_at(i + n_edge - n, n_edge)
                           : 1.0;
}

/// Write the pulse of a shot that starts at `start` of a piece, itself at
/// `piece_at` of the burst, into the second channel.
static void
put_pulse(const Tone* tone, size_t piece_at, size_t start, VwSound* piece) {
  const size_t from = start + tone->n_before;
  // The last frame of a piece stays zero.
  const size_t room =
    from + 1U < piece->n_frames ? piece->n_frames - from - 1U : 0U;
  const size_t whole = tone->n_on + tone->n_edge;
  const size_t n = whole < room ? whole : room;
  for (size_t i = 0; i < n; ++i) {
    piece->values[2U * (from + i) + 1U] =
      (float)(gain_at(tone, i, n) * tone_at(tone, piece_at + from + i));
  }
}

/* Pieces */

/// Of a joined loop, all shots that lead to it and on from it too.
static unsigned
shots_of_burst(const VwFamilyOptions* options, const VwFamily* family) {
  return family->join.n_frames
           ? family->run_in_shots + options->burst_shots * family->plan.shots +
               family->join.ring_out_shots
           : options->burst_shots;
}

static Span
span_of(const VwFamilyOptions* options,
        const VwFamily*        family,
        const VwPiece*         piece) {
  const unsigned run_in = family->run_in_shots;
  const unsigned shots = family->plan.shots;
  switch (piece->part) {
    case VW_PART_SHOT:
      return (Span){0U, 1U};
    case VW_PART_RUN_IN:
      return (Span){0U, run_in};
    case VW_PART_LOOP:
      return piece->has_loop ? (Span){0U, run_in + shots}
                             : (Span){run_in, shots};
    case VW_PART_BURST:
      return (Span){0U, shots_of_burst(options, family)};
    case VW_PART_RING_OUT: // its last shot is part of the loop
      return (Span){run_in + shots, family->join.ring_out_shots};
    case VW_PART_WHOLE:
      break;
  }
  return (Span){0U, 0U};
}

/// Where a shot starts; without a burst there is one.
static size_t
start_of(const VwPlan* plan, size_t index) {
  return index ? vw_plan_start(plan, index) : 0U;
}

static VwStatus
add_to_piece(const Tone*     tone,
             const VwFamily* family,
             const Span*     span,
             VwSound*        sound) {
  const VwPlan* const plan = &family->plan;
  const size_t        lead = span->first ? 0U : family->join.lead_frames;
  const size_t        at = start_of(plan, span->first);
  VwSound             both = {0};
  const VwStatus st = vw_sound_init(&both, sound->n_frames, 2U, sound->rate_hz);
  if (st) {
    return st;
  }
  for (size_t i = 0; i < sound->n_frames; ++i) {
    both.values[2U * i] = sound->values[i];
  }
  for (size_t i = 0; i < span->n; ++i) {
    put_pulse(tone, at, lead + start_of(plan, span->first + i) - at, &both);
  }
  vw_sound_clear(sound);
  *sound = both;
  return VW_OK;
}

static VwLampTrack
figures_of(const Tone*            tone,
           const VwFamilyOptions* options,
           const VwFamily*        family) {
  const double rate_hz = family->format.rate_hz;
  const bool   burst = family->plan.shots && family->form == VW_FORM_BURST;
  return (VwLampTrack){.tone_hz = (double)tone->n_periods * rate_hz /
                                  (double)tone->n_cycle,
                       .level_dbfs = options->lamp_track.level_dbfs,
                       .on_ms = 1000.0 * (double)tone->n_on / rate_hz,
                       .pulses = burst ? shots_of_burst(options, family)
                                 : family->plan.shots ? family->plan.shots
                                                      : 1U};
}

VwStatus
vw_track_add(const VwFamilyOptions* options, VwFamily* family) {
  if (!options->lamp_track.wanted) {
    return VW_OK;
  }
  const Tone tone = tone_of(options, family);
  VwStatus   st = VW_OK;
  for (size_t i = 0; !st && i < family->n_pieces; ++i) {
    VwPiece* const piece = &family->pieces[i];
    const Span     span = span_of(options, family, piece);
    st = add_to_piece(&tone, family, &span, &piece->sound);
  }
  family->format.n_channels = 2U;
  if (!options->whole) {
    family->lamp_track = figures_of(&tone, options, family);
  }
  return st;
}

// What tracks have, 2000 to 4000 Hz, with room for a mean that noise pulls off
// and for a tone lowered to 0.4 of a low sample rate (simulated here).
#define TONE_LEAST_HZ 1500.0
#define TONE_MOST_HZ 4200.0

// Of the frames at which the tone is there, so many have it in full: edges of
// 1 ms leave 80 % of the shortest pulse (closed form). Of a decay it is less
// than half: from 1 to 0.25 it takes ln 4, to 0.85 ln(1 / 0.85), an eighth of
// that.
#define THERE 0.25
#define HALF 0.5
#define FULL 0.85
#define SHARE_FULL_LEAST 0.7

static double
value_at(const VwSound* sound, size_t frame) {
  return (double)sound->values[2U * frame + 1U];
}

/// Half of what a frame's neighbours have in common.
static double
middle_at(const VwSound* sound, size_t frame) {
  return 0.5 * (value_at(sound, frame - 1U) + value_at(sound, frame + 1U));
}

/// The cosine of the mean turn from frame to frame; NaN where all is silent.
static double
turn_of(const VwSound* sound) {
  double energy = 0.0;
  double common = 0.0;
  for (size_t i = 1; i + 1U < sound->n_frames; ++i) {
    const double x = value_at(sound, i);
    energy += x * x;
    common += x * middle_at(sound, i);
  }
  return common / energy;
}

static double
hz_of(const VwSound* sound, double turn) {
  return acos(turn) / (2.0 * VW_PI) * sound->rate_hz;
}

/// The tone's amplitude at a frame.
static double
height_at(const VwSound* sound, size_t frame, double sine) {
  const double across =
    0.5 * (value_at(sound, frame + 1U) - value_at(sound, frame - 1U)) / sine;
  return hypot(value_at(sound, frame), across);
}

static double
highest(const VwSound* sound, double sine) {
  double most = 0.0;
  for (size_t i = 1; i + 1U < sound->n_frames; ++i) {
    most = fmax(most, height_at(sound, i, sine));
  }
  return most;
}

/// Whether the tone is there in full, or not at all.
static bool
is_keyed(const VwSound* sound, double sine) {
  const double most = highest(sound, sine);
  size_t       n_there = 0;
  size_t       n_full = 0;
  for (size_t i = 1; i + 1U < sound->n_frames; ++i) {
    const double height = height_at(sound, i, sine);
    n_there += height > THERE * most ? 1U : 0U;
    n_full += height > FULL * most ? 1U : 0U;
  }
  return (double)n_full >= SHARE_FULL_LEAST * (double)n_there;
}

/// Count the pulses and how long they are in all.
static void
count_pulses(const VwSound* sound, double sine, VwLampTrack* track) {
  const double most = highest(sound, sine);
  size_t       n_lit = 0;
  bool         on = false;
  for (size_t i = 1; i + 1U < sound->n_frames; ++i) {
    const double height = height_at(sound, i, sine);
    const bool   lit = height > HALF * most;
    track->pulses += lit && !on ? 1U : 0U;
    on = lit || (on && height > THERE * most);
    n_lit += lit ? 1U : 0U;
  }
  track->level_dbfs = vw_db_of_power(most * most);
  track->on_ms =
    1000.0 * (double)n_lit / (double)track->pulses / sound->rate_hz;
}

/// The cosine of the tone's turn from frame to frame; NaN where there is no
/// track.
static double
turn_of_track(const VwSound* sound) {
  if (sound->n_channels != 2U || sound->n_frames < 3U) {
    return (double)NAN;
  }
  const double turn = turn_of(sound);
  if (!(fabs(turn) < 1.0)) {
    return (double)NAN;
  }
  const double hz = hz_of(sound, turn);
  return hz >= TONE_LEAST_HZ && hz <= TONE_MOST_HZ &&
             is_keyed(sound, sqrt(1.0 - turn * turn))
           ? turn
           : (double)NAN;
}

bool
vw_has_lamp_track(const VwSound* sound) {
  assert(sound);
  return isfinite(turn_of_track(sound));
}

bool
vw_lamp_track_find(const VwSound* sound, VwLampTrack* track) {
  assert(sound && track);
  const double turn = turn_of_track(sound);
  if (!isfinite(turn)) {
    return false;
  }
  *track = (VwLampTrack){.tone_hz = hz_of(sound, turn)};
  count_pulses(sound, sqrt(1.0 - turn * turn), track);
  return true;
}
