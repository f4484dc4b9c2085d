#include "base/units.h"
#include "container/container.h"
#include "signal/signal.h"
#include "take/internal.h"
#include "take/take.h"

#include "volleyweave/volleyweave.h"

#include <assert.h>
#include <math.h>

// Nothing but noise: its loudest 10 ms are no more than this above its quiet.
#define NOISE_ONLY_DB 6.0

// A steady take shorter than this is a shot cut tight.
#define NOISE_ONLY_S 0.3

// The quiet of a take: low enough to lie in it where there is little, high
// enough not to be its one quietest moment.
#define QUIET_SHARE 0.1

// The tail's pitch is taken where the level has fallen so far.
#define TAIL_PITCH_DB 20.0

// With the highest value of a shot here, the board's noise lies at its level.
#define PEAK_DBFS (-1.0)

VwFindOptions
vw_find_defaults(void) {
  return (VwFindOptions){vw_encoding_noise_dbfs(VW_ENCODING_S16)};
}

/// All that the search for a shot comes by, and the facts it fills in.
typedef struct {
  const VwTake*        take;
  const VwFindOptions* options;
  VwCurve              curve;
  VwShots              shots;
  double               quietest; ///< Power of the quietest stretch.
  VwNoise              noise;
  VwShotFacts          facts;
} Search;

static double
ms_of_frames(const Search* search, size_t n_frames) {
  return 1000.0 * (double)n_frames / (double)search->take->sound.rate_hz;
}

static VwStatus
find_shots(Search* search) {
  const VwStatus st = vw_curve_take(&search->take->sound, &search->curve);
  if (st) {
    return st;
  }
  search->shots = vw_shots_find(&search->curve);
  search->facts.shots_in_take = search->shots.n_shots;
  search->facts.kind = vw_shots_sustained(&search->curve, &search->shots)
                         ? VW_KIND_SUSTAINED
                       : search->shots.n_shots > 1U ? VW_KIND_SEVERAL_SHOTS
                                                    : VW_KIND_SHOT;
  if (search->facts.kind == VW_KIND_SUSTAINED) {
    search->shots.limit = search->curve.n_steps;
    search->facts.shots_in_take = 1U;
  }
  return VW_OK;
}

/// The quietest there is, in the take or before the shot's crest.
static VwStatus
find_quietest(Search* search) {
  const VwCurve* const curve = &search->curve;
  double               before = 0.0;
  VwStatus             st =
    vw_noise_quietest(curve, 0, curve->n_steps, QUIET_SHARE, &search->quietest);
  st = st ? st : vw_noise_quietest(curve, 0, search->shots.crest, 0.0, &before);
  if (!st && before > 0.0) {
    search->quietest = fmin(search->quietest, before);
  }
  return st;
}

static void
find_attack(Search* search) {
  const VwSound* const sound = &search->take->sound;
  const VwAttack       attack =
    vw_attack_find(sound, &search->curve, &search->shots, search->quietest);
  VwShotFacts* const facts = &search->facts;
  facts->attack_frame = attack.frame;
  facts->attack_ms = ms_of_frames(search, attack.frame);
  facts->rise_ms = 1000.0 * attack.rise_s;
  facts->slow = attack.rise_s > VW_FAST_RISE_S;
  facts->earlier_sound_db = attack.earlier_db;
  facts->earlier_sound_ms = 1000.0 * attack.earlier_s;
  facts->crest_frame =
    search->shots.crest * search->curve.n_step + search->curve.n_step / 2U;
  facts->crest_ms = ms_of_frames(search, facts->crest_frame);
}

static VwStatus
find_noise(Search* search) {
  const size_t attack = search->facts.attack_frame / search->curve.n_step;
  return vw_noise_around(&search->curve,
                         attack,
                         search->shots.crest,
                         search->shots.limit,
                         &search->noise);
}

/// Power of the board's noise where the take is as loud as it came.
static double
board_power(const Search* search, size_t limit_frame) {
  const VwSound* const sound = &search->take->sound;
  float                peak = 0.0F;
  for (size_t i = search->facts.attack_frame * sound->n_channels;
       i < limit_frame * sound->n_channels;
       ++i) {
    peak = fmaxf(peak, fabsf(sound->values[i]));
  }
  const double below_db = search->options->board_noise_dbfs - PEAK_DBFS;
  return (double)peak * (double)peak * vw_power_of_db(below_db);
}

/// Power of the noise that a tail sinks into; 0 where none is known.
static double
tail_noise(const Search* search) {
  const double noise =
    isnan(search->noise.after) ? search->noise.before : search->noise.after;
  return isnan(noise) ? 0.0 : noise;
}

/// RMS of the noise before the shot, or else after it; NaN where none is.
static double
noise_floor(const Search* search) {
  const double noise =
    search->noise.before > 0.0 ? search->noise.before : search->noise.after;
  return noise > 0.0 ? vw_db_of_power(noise) : NAN;
}

static size_t
frame_of_step(const Search* search, size_t step) {
  const size_t frame = step * search->curve.n_step;
  const size_t n_frames = search->take->sound.n_frames;
  return frame < n_frames ? frame : n_frames;
}

/// A line whose times count from the crest's step.
static VwDecayLine
line_in_take(const Search* search, const VwDecayLine* line) {
  const double crest_ms =
    1000.0 * (double)search->shots.crest * search->curve.step_s;
  return (VwDecayLine){crest_ms + line->from_ms,
                       crest_ms + line->to_ms,
                       line->from_dbfs,
                       line->to_dbfs};
}

static VwStatus
find_tail(Search* search) {
  const size_t       limit = frame_of_step(search, search->shots.limit);
  const VwTailFloors floors = {tail_noise(search), board_power(search, limit)};
  VwDecay            tail = {0};
  const VwStatus     st =
    vw_tail_find(&search->curve, &search->shots, &floors, &tail);
  if (st) {
    return st;
  }
  VwShotFacts* const facts = &search->facts;
  facts->end_frame = frame_of_step(search, tail.end);
  facts->end_ms = ms_of_frames(search, facts->end_frame);
  facts->length_ms =
    facts->end_ms - fmax(facts->attack_ms - 1000.0 * VW_PRE_ROLL_S, 0.0);
  facts->decay_t20_s = tail.t20_s;
  facts->decay_t30_s = tail.t30_s;
  facts->decay_line = line_in_take(search, &tail.line);
  facts->cut_off_db = tail.cut_off_db;
  return VW_OK;
}

/// The frame from which 40 ms lie about the fall of the level by 20 dB.
static size_t
tail_pitch_frame(const Search* search) {
  const VwCurve* const curve = &search->curve;
  const double         fallen =
    curve->level[search->shots.crest] * vw_power_of_db(-TAIL_PITCH_DB);
  size_t step = search->shots.crest;
  while (step < search->shots.limit && curve->level[step] > fallen) {
    ++step;
  }
  const size_t half =
    vw_frames_of_s(VW_PITCH_WINDOW_S / 2.0, search->take->sound.rate_hz);
  const size_t middle = step * curve->n_step;
  return step == search->shots.limit ? search->take->sound.n_frames
         : middle > half             ? middle - half
                                     : 0U;
}

static VwStatus
find_pitch(Search* search) {
  const VwSound* const sound = &search->take->sound;
  VwShotFacts* const   facts = &search->facts;
  const VwStatus       st =
    vw_pitch_find(sound, facts->attack_frame, 0.0, &facts->pitch_attack_hz);
  return st ? st
            : vw_pitch_find(sound,
                            tail_pitch_frame(search),
                            VW_PITCH_WINDOW_S / 2.0,
                            &facts->pitch_tail_hz);
}

static VwStatus
find_fastest(Search* search) {
  const size_t reach = vw_curve_steps(&search->curve, VW_PRE_ROLL_S);
  const size_t attack = search->facts.attack_frame / search->curve.n_step;
  const size_t from = attack > reach ? attack - reach : 0U;
  const size_t to = search->facts.end_frame / search->curve.n_step;
  return vw_fastest_find(
    &search->curve, from, to, &search->facts.fastest_fire_rate_per_s);
}

/// The step before which the next shot comes; 0 where none does.
static size_t
next_shot(const Search* search) {
  const VwShotFacts* const facts = &search->facts;
  const size_t             n_steps = search->curve.n_steps;
  if (search->shots.limit < n_steps) {
    return search->shots.limit + 1U; // the quietest there is before it
  }
  if (isnan(facts->fastest_fire_rate_per_s)) {
    return 0;
  }
  const size_t next =
    facts->attack_frame / search->curve.n_step +
    vw_curve_steps(&search->curve,
                   1.0 / facts->fastest_fire_rate_per_s - VW_PRE_ROLL_S);
  return next < n_steps ? next : n_steps;
}

static void
find_valley(Search* search) {
  const VwCurve* const curve = &search->curve;
  const size_t         next = next_shot(search);
  size_t               lowest = search->shots.crest;
  for (size_t i = lowest; i < next; ++i) {
    lowest = curve->level[i] < curve->level[lowest] ? i : lowest;
  }
  search->facts.valley_ms =
    lowest > search->shots.crest
      ? ms_of_frames(search, lowest * curve->n_step + curve->n_step / 2U)
      : NAN;
}

/// Nothing stands out of the noise, in level or by a pitch.
static bool
is_noise(const Search* search) {
  const double length_s = (double)search->curve.n_steps * search->curve.step_s;
  const double crest = search->curve.level[search->shots.crest];
  return length_s >= NOISE_ONLY_S && isnan(search->facts.pitch_attack_hz) &&
         crest < search->quietest * vw_power_of_db(NOISE_ONLY_DB);
}

VwStatus
vw_find(const VwTake* take, const VwFindOptions* options, VwShotFacts* facts) {
  assert(take && options && facts);
  Search   search = {.take = take, .options = options};
  VwStatus st = find_shots(&search);
  st = st ? st : find_quietest(&search);
  if (!st) {
    find_attack(&search);
    st = find_noise(&search);
  }
  st = st ? st : find_tail(&search);
  st = st ? st : find_pitch(&search);
  st = st ? st : find_fastest(&search);
  if (!st) {
    find_valley(&search);
  }
  st = st ? st : is_noise(&search) ? VW_NO_SHOT : VW_OK;
  vw_curve_clear(&search.curve);
  if (!st) {
    search.facts.noise_floor_dbfs = noise_floor(&search);
    search.facts.dc_offset = take->dc_offset;
    search.facts.n_clipped_frames = take->n_clipped_frames;
    *facts = search.facts;
  }
  return st;
}

VwShotFacts
vw_facts_of_whole(const VwTake* take) {
  assert(take);
  return (VwShotFacts){.end_frame = take->sound.n_frames,
                       .end_ms = 1000.0 * (double)take->sound.n_frames /
                                 (double)take->sound.rate_hz,
                       .valley_ms = NAN,
                       .decay_t20_s = NAN,
                       .decay_t30_s = NAN,
                       .decay_line = {NAN, NAN, NAN, NAN},
                       .pitch_attack_hz = NAN,
                       .pitch_tail_hz = NAN,
                       .noise_floor_dbfs = NAN,
                       .dc_offset = take->dc_offset,
                       .n_clipped_frames = take->n_clipped_frames,
                       .fastest_fire_rate_per_s = NAN,
                       .earlier_sound_db = NAN,
                       .earlier_sound_ms = NAN,
                       .cut_off_db = NAN};
}
