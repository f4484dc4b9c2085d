// The one file that knows the order of the steps.

#include "alone.h"
#include "burst.h"
#include "cut.h"
#include "fastest.h"
#include "late.h"
#include "level.h"
#include "options.h"
#include "plan.h"
#include "random.h"
#include "shot.h"
#include "sound.h"
#include "tighten.h"
#include "turns.h"
#include "vary.h"

#include "volleyweave/volleyweave.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

// Slower than this a trigger held does not feel like rapid fire.
#define CHOSEN_LEAST_PER_S 8.0

// The board's sample rate where none is asked.
#define RATE_MOST_HZ 44100U

// With variation as many shots as this are worth telling apart (6 to 8:
// common practice).
#define VARIED_SHOTS 6U

// Tails that overlap for longer than this are no shots; the work on a burst
// grows with the square of it.
#define SHOT_MOST_S 15.0

// A finished burst that is longer fills no board.
#define BURST_MOST_S 600.0

/// The takes and all that is being made of them.
typedef struct {
  const VwTake*          takes;
  const VwShotFacts*     facts;
  const VwFamilyOptions* options;
  VwFamily*              family;
  VwSound*               alone;     ///< The single shot of each take.
  size_t*                bend_from; ///< Of each shot of the cycle.
  VwRandom               random;
} Work;

/* Convert */

static unsigned
board_rate(const VwTake* takes, size_t n_takes, unsigned asked_hz) {
  unsigned highest = 0;
  for (size_t i = 0; i < n_takes; ++i) {
    const unsigned rate_hz = takes[i].sound.rate_hz;
    highest = rate_hz > highest ? rate_hz : highest;
  }
  return asked_hz ? asked_hz : highest < RATE_MOST_HZ ? highest : RATE_MOST_HZ;
}

static VwStatus
make_shots_alone(Work* work) {
  VwFamily* const family = work->family;
  VwStatus        st = VW_OK;
  for (size_t i = 0; !st && i < family->n_takes; ++i) {
    st = vw_alone_make(&work->takes[i],
                       &work->facts[i],
                       &family->format,
                       &work->alone[i],
                       &family->uses[i]);
  }
  return st;
}

/* Burst */

static bool
is_varied(const VwFamilyOptions* options, size_t n_takes) {
  return n_takes > 1U || options->detune_cents > 0.0 ||
         options->level_spread_db > 0.0;
}

/// The fastest rate that every take stands, but a rapid one.
static double
choose_fire_rate(const Work* work) {
  double slowest = VW_FASTEST_MOST_PER_S;
  for (size_t i = 0; i < work->family->n_takes; ++i) {
    const double fastest = work->facts[i].fastest_fire_rate_per_s;
    slowest = fmin(slowest, isnan(fastest) ? 0.0 : fastest);
  }
  return fmax(slowest, CHOSEN_LEAST_PER_S);
}

static VwStatus
make_plan(Work* work) {
  const VwFamilyOptions* const options = work->options;
  VwFamily* const              family = work->family;
  const bool                   chosen = options->fire_rate_per_s == 0.0;
  const VwPlanWish             wish = {
                chosen ? choose_fire_rate(work) : options->fire_rate_per_s,
    family->format.rate_hz,
    options->cycle_max_s,
    options->shots,
    is_varied(options, family->n_takes) ? VARIED_SHOTS : 1U,
    (unsigned)family->n_takes,
    vw_cut_frames_unit(&family->format)};
  const VwStatus st = vw_plan_make(&wish, &family->plan);
  family->plan.chosen = chosen;
  const bool endless =
    options->form == VW_FORM_BURST &&
    options->burst_shots > BURST_MOST_S * wish.fire_rate_per_s;
  return st ? st : endless ? VW_BURST_TOO_LONG : VW_OK;
}

/// The shot of each take as the burst has it, before variation.
static VwStatus
start_late(Work* work, VwSound* started, size_t* crests) {
  VwFamily* const family = work->family;
  const bool      left_alone = isnan(work->options->valley_db);
  VwStatus        st = VW_OK;
  for (size_t i = 0; !st && i < family->n_takes; ++i) {
    crests[i] = vw_late_crest(&family->uses[i], &family->plan);
    family->uses[i].crest_frame = crests[i];
    st = left_alone ? vw_sound_copy(&work->alone[i], &started[i])
                    : vw_late_start(&work->alone[i],
                                    1.0 / family->plan.fire_rate_per_s,
                                    &crests[i],
                                    &family->uses[i].late_start_ms,
                                    &started[i]);
  }
  return st;
}

static VwStatus
vary_shots(Work* work, const VwSound* started, const size_t* crests) {
  VwFamily* const family = work->family;
  const unsigned  n_shots = family->plan.shots;
  VwVariant*      variants = calloc(n_shots, sizeof(VwVariant));
  VwStatus        st = variants ? VW_OK : VW_NO_MEMORY;
  if (!st) {
    vw_turns_make(family->n_takes, n_shots, &work->random, family->turns);
    vw_vary_draw(work->options, n_shots, &work->random, variants);
  }
  for (unsigned i = 0; !st && i < n_shots; ++i) {
    const size_t take = family->turns[i];
    st = vw_vary(&started[take], &variants[i], &family->shots[i]);
    work->bend_from[i] =
      crests[take] + vw_tighten_margin(family->format.rate_hz);
  }
  free(variants);
  return st;
}

static VwStatus
make_shots(Work* work) {
  VwFamily* const family = work->family;
  VwSound* const  started = calloc(family->n_takes, sizeof(VwSound));
  size_t* const   crests = calloc(family->n_takes, sizeof(size_t));
  VwStatus        st = started && crests ? VW_OK : VW_NO_MEMORY;
  st = st ? st : start_late(work, started, crests);
  st = st ? st : vary_shots(work, started, crests);
  for (size_t i = 0; started && i < family->n_takes; ++i) {
    vw_sound_clear(&started[i]);
  }
  free(started);
  free(crests);
  return st;
}

static VwVolley
volley_of(const VwFamily* family) {
  return (VwVolley){family->shots,
                    &family->plan,
                    family->tail,
                    family->form == VW_FORM_WHOLE_FILE};
}

/// How far a slope brings a decay down by one period after the attack.
static double
fall_in_period(const Work* work, double slope_db_per_s) {
  const VwPlan* const plan = &work->family->plan;
  size_t              earliest = work->bend_from[0];
  for (unsigned i = 1; i < plan->shots; ++i) {
    earliest = work->bend_from[i] < earliest ? work->bend_from[i] : earliest;
  }
  const double from_s = (double)earliest / plan->rate_hz -
                        (double)vw_shot_pre_roll(plan->rate_hz) / plan->rate_hz;
  return slope_db_per_s * fmax(1.0 / plan->fire_rate_per_s - from_s, 0.0);
}

static VwStatus
tighten(Work* work) {
  VwFamily* const family = work->family;
  const VwVolley  volley = volley_of(family);
  const double    asked_db = work->options->valley_db;
  VwTightness     tightness = {0};
  const VwStatus  st =
    vw_tighten(&volley, family->shots, work->bend_from, asked_db, &tightness);
  family->valley_asked_db = asked_db;
  family->valley_db = tightness.valley_db;
  family->tightening_db = fall_in_period(work, tightness.slope_db_per_s);
  return st;
}

/* Level */

/// The highest value of the burst once it is steady, and before.
static VwStatus
burst_peak(const VwFamily* family, double* peak) {
  const VwVolley volley = volley_of(family);
  const size_t   n_cycles =
    vw_volley_longest(&volley) / family->plan.n_frames + 2U;
  VwSound        burst = {0};
  const VwStatus st =
    vw_burst_lay(&volley, n_cycles * family->plan.shots, &burst);
  *peak = st ? 0.0 : vw_sound_peak(&burst);
  vw_sound_clear(&burst);
  return st;
}

static VwStatus
level(Work* work) {
  VwFamily* const family = work->family;
  double          peak = 0.0;
  VwStatus        st = VW_OK;
  if (!work->options->shot_only) {
    st = burst_peak(family, &peak);
  }
  for (size_t i = 0; i < family->n_takes; ++i) {
    peak = fmax(peak, vw_sound_peak(&work->alone[i]));
  }
  if (st || peak <= 0.0) {
    return st;
  }
  family->gain_db = vw_level_gain_db(peak);
  const double gain = pow(10.0, family->gain_db / 20.0);
  for (size_t i = 0; i < family->n_takes; ++i) {
    vw_sound_scale(&work->alone[i], gain);
  }
  for (unsigned i = 0; family->shots && i < family->plan.shots; ++i) {
    vw_sound_scale(&family->shots[i], gain);
  }
  return st;
}

/* Cut */

static VwStatus
hand_out_shots(Work* work) {
  VwFamily* const family = work->family;
  family->pieces = calloc(family->n_takes + 3U, sizeof(VwPiece));
  if (!family->pieces) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < family->n_takes; ++i) {
    VwPiece* const piece = &family->pieces[family->n_pieces++];
    *piece = (VwPiece){.part = VW_PART_SHOT, .take = i};
    piece->sound = work->alone[i];
    work->alone[i] = (VwSound){0};
  }
  return VW_OK;
}

static VwStatus
cut(Work* work) {
  VwFamily* const family = work->family;
  const VwVolley  volley = volley_of(family);
  VwCutPoint      point = {0};
  size_t          n_pieces = 0;
  VwStatus        st = vw_cut_find(&volley, &family->format, &point);
  st = st ? st
          : vw_cut_pieces(&volley,
                          &point,
                          work->options,
                          family->pieces + family->n_pieces,
                          &n_pieces);
  family->n_pieces += n_pieces;
  family->run_in_shots = point.run_in_shots;
  family->join_residual_db = point.join_residual_db;
  family->lamp = vw_lamp(family->plan.fire_rate_per_s);
  return st;
}

/* The way of the data */

static VwStatus
make_burst(Work* work) {
  VwFamily* const family = work->family;
  VwStatus        st = make_plan(work);
  if (st) {
    return st;
  }
  family->shots = calloc(family->plan.shots, sizeof(VwSound));
  family->turns = calloc(family->plan.shots, sizeof(size_t));
  work->bend_from = calloc(family->plan.shots, sizeof(size_t));
  st = family->shots && family->turns && work->bend_from ? VW_OK : VW_NO_MEMORY;
  st = st ? st : make_shots(work);
  return st ? st : tighten(work);
}

static VwStatus
make_all(Work* work) {
  const bool burst = !work->options->shot_only;
  VwStatus   st = make_shots_alone(work);
  st = st || !burst ? st : make_burst(work);
  st = st ? st : level(work);
  st = st ? st : hand_out_shots(work);
  return st || !burst ? st : cut(work);
}

static VwStatus
check_lengths(const VwTake* takes, const VwShotFacts* facts, size_t n_takes) {
  for (size_t i = 0; i < n_takes; ++i) {
    const size_t n = facts[i].end_frame - facts[i].attack_frame;
    if ((double)n > SHOT_MOST_S * takes[i].sound.rate_hz) {
      return VW_TOO_LONG;
    }
  }
  return VW_OK;
}

static VwStatus
family_init(const VwTake*          takes,
            size_t                 n_takes,
            const VwFamilyOptions* options,
            VwFamily*              family) {
  *family = (VwFamily){.format = options->format,
                       .form = options->form,
                       .tail = options->tail,
                       .n_takes = n_takes};
  family->format.rate_hz = board_rate(takes, n_takes, options->format.rate_hz);
  family->uses = calloc(n_takes, sizeof(VwTakeUse));
  return family->uses ? VW_OK : VW_NO_MEMORY;
}

VwStatus
vw_family_make(const VwTake*          takes,
               const VwShotFacts*     facts,
               size_t                 n_takes,
               const VwFamilyOptions* options,
               VwFamily*              family) {
  assert(takes && facts && options && family);
  if (!vw_options_are_sound(options, n_takes)) {
    return VW_BAD_OPTION;
  }
  VwStatus st =
    options->shot_only ? VW_OK : check_lengths(takes, facts, n_takes);
  if (st) {
    return st;
  }
  VwFamily made = {0};
  Work     work = {takes, facts, options, &made, NULL, NULL, {options->seed}};
  st = family_init(takes, n_takes, options, &made);
  work.alone = calloc(n_takes, sizeof(VwSound));
  st = st || work.alone ? st : VW_NO_MEMORY;
  st = st ? st : make_all(&work);
  for (size_t i = 0; work.alone && i < n_takes; ++i) {
    vw_sound_clear(&work.alone[i]);
  }
  free(work.alone);
  free(work.bend_from);
  if (st) {
    vw_family_clear(&made);
    return st;
  }
  *family = made;
  return VW_OK;
}

void
vw_family_clear(VwFamily* family) {
  if (!family) {
    return;
  }
  for (unsigned i = 0; family->shots && i < family->plan.shots; ++i) {
    vw_sound_clear(&family->shots[i]);
  }
  for (size_t i = 0; i < family->n_pieces; ++i) {
    vw_sound_clear(&family->pieces[i].sound);
  }
  free(family->uses);
  free(family->shots);
  free(family->turns);
  free(family->pieces);
  memset(family, 0, sizeof(*family));
}
