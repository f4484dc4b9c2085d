// The one file that knows the order of the steps.

#include "family.h"

#include "base/size.h"
#include "base/units.h"
#include "burst/burst.h"
#include "burst/settle.h"
#include "join/join.h"
#include "lamp/lamp.h"
#include "signal/power.h"
#include "signal/signal.h"
#include "take/take.h"

#include "volleyweave/volleyweave.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

// Tails that overlap for longer than this are no shots; the work on a burst
// grows with the square of it.
#define SHOT_MOST_S 15.0

// The valley that is deep enough for an attack to cover a fade with all but few
// takes (measured).
#define COVERING_VALLEY_DB 15.0

/// The takes and all that is being made of them.
typedef struct {
  const VwTake*          takes;
  const VwShotFacts*     facts;
  const VwFamilyOptions* options;
  VwFamily*              family;
  VwSound*               alone; ///< The single shot of each take.
  VwSound*      plain; ///< The same before a kick; NULL: there is none.
  VwSettling    at;    ///< How all is brought to its level.
  double        peak;  ///< True peak of what is written so far.
  VwLevelCurve* curve; ///< To be measured, or NULL.
  bool          joins; ///< A sustained sound, of which a loop is
                       ///< joined.
  VwEvents fire;       ///< Of rapid fire, the shots in that one.
  VwJoined joined;     ///< How its sound, the one alone, is made up.
} Work;

/* Convert */

static VwAloneWish
alone_wish(const Work* work) {
  return (VwAloneWish){work->family->format,
                       work->options->level.speaker,
                       work->options->whole,
                       work->joins,
                       work->options->fade_ms};
}

static VwStatus
make_shots_alone(Work* work) {
  const VwAloneWish wish = alone_wish(work);
  VwTakeUse* const  uses = work->family->uses;
  VwStatus          st = VW_OK;
  for (size_t i = 0; !st && i < work->family->n_takes; ++i) {
    st = vw_alone_make(
      &work->takes[i], &work->facts[i], &wish, &work->alone[i], &uses[i]);
  }
  return st;
}

/* Burst */

static VwStatus
make_plan(Work* work) {
  const VwFamilyOptions* const options = work->options;
  VwFamily* const              family = work->family;
  const VwPlanWish             wish =
    vw_wish_make(options, work->facts, family->n_takes, family->format.rate_hz);
  const VwStatus st = vw_plan_make(&wish, &family->plan);
  family->plan.chosen = options->fire_rate_per_s == 0.0;
  family->plan.fewer_shots &= vw_wish_is_varied(options, family->n_takes);
  const bool endless =
    options->form == VW_FORM_BURST &&
    options->burst_shots > VW_BURST_MOST_S * wish.fire_rate_per_s;
  return st ? st : endless ? VW_BURST_TOO_LONG : VW_OK;
}

/* Level */

/// Bring the shots alone to their level, and note what it took.
static VwStatus
level_alone(Work* work) {
  VwLevel* const level = &work->family->level;
  VwStatus       st = VW_OK;
  level->shot_loudness_lufs = NAN;
  for (size_t i = 0; !st && i < work->family->n_takes; ++i) {
    VwSound* const alone = &work->alone[i];
    VwLimited      limited;
    double         lufs = NAN;
    vw_sound_scale(alone, vw_gain_of_db(level->gain_db));
    st = vw_limiter_run(work->at.ceiling, alone, &limited);
    st = st            ? st
         : work->joins ? vw_level_of_steady(&work->at.sounds, alone, &lufs)
                       : vw_loudness_of_effect(alone, &lufs);
    level->shot_loudness_lufs = fmax(level->shot_loudness_lufs, lufs);
    work->peak =
      fmax(work->peak, vw_peak_find(alone, vw_sound_peak(alone) / 2.0, NULL));
    vw_level_note(level, &limited);
  }
  return st;
}

/// Bring the burst's shots to their level, and note how loud it is once it is
/// steady.
static VwStatus
level_burst(Work* work) {
  VwFamily* const family = work->family;
  for (unsigned i = 0; i < family->plan.shots; ++i) {
    vw_sound_scale(&family->shots[i], vw_gain_of_db(family->level.gain_db));
  }
  return vw_level_of_steady(
    &work->at.sounds, &work->at.written, &family->level.burst_loudness_lufs);
}

/// Measure how alike neighbours are in the steady cycle at its level.
static VwStatus
measure_likeness(Work* work) {
  VwFamily* const     family = work->family;
  const VwPlan* const plan = &family->plan;
  VwSound             cycle = {0};
  family->likeness = (VwLikeness){NAN, NAN, NAN, NAN};
  if (!vw_wish_is_varied(work->options, family->n_takes) || plan->shots < 2U) {
    return VW_OK;
  }
  VwStatus st = vw_sound_part(
    &work->at.written, work->at.sounds.steady, plan->n_frames, &cycle);
  st = st ? st : vw_likeness_of_cycle(&cycle, plan, &family->likeness);
  vw_sound_clear(&cycle);
  return st;
}

static VwStatus
level(Work* work) {
  const VwLevelOptions* const options = &work->options->level;
  VwFamily* const             family = work->family;
  const bool                  bursts = family->plan.shots > 0U;
  work->at.wish.ceiling = vw_level_ceiling(options, family->format.encoding);
  work->at.wish.limiting_max_db =
    vw_level_limiting_most(options, vw_join_is_tones(&family->join));
  work->at.ceiling =
    options->aim == VW_AIM_KEEP ? HUGE_VAL : work->at.wish.ceiling;
  work->at.sounds =
    (VwLevelSounds){.alone = work->alone, .n_alone = family->n_takes};
  if (work->joins) {
    vw_join_steady(&work->joined, &work->at.sounds);
  }
  VwStatus st = vw_settle(&work->at);
  st = st || !work->curve ? st : vw_settling_curve(&work->at, work->curve);
  st = st ? st : level_alone(work);
  st = st || !bursts ? st : measure_likeness(work);
  return st || !bursts ? st : level_burst(work);
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
    *piece = (VwPiece){
      .part = work->options->whole ? VW_PART_WHOLE : VW_PART_SHOT, .take = i};
    piece->sound = work->alone[i];
    work->alone[i] = (VwSound){0};
  }
  return VW_OK;
}

static VwStatus
cut(Work* work) {
  VwFamily* const family = work->family;
  VwVolley        volley = vw_settling_volley(family);
  const VwSteady  of = {&work->at.written, work->at.sounds.steady};
  VwCut           cut = {0};
  volley.ceiling = work->at.ceiling;
  const VwCutPoint point = vw_cut_find(&volley, work->options, &of);
  VwStatus         st = vw_cut_pieces(&volley, &point, work->options, &cut);
  for (size_t i = 0; !st && i < cut.n_pieces; ++i) {
    family->pieces[family->n_pieces++] = cut.pieces[i];
  }
  if (!st && volley.closed && !family->plan.gap_frames) {
    st = vw_burst_fade_cover(&cut.pieces[0].sound, &family->fade_cover_db);
  }
  vw_level_note(&family->level, &cut.limited);
  work->peak = fmax(work->peak, cut.peak);
  family->run_in_shots = point.run_in_shots;
  family->run_in_left_db = point.run_in_left_db;
  family->join_residual_db = point.join_residual_db;
  return st;
}

/* The way of the data */

/// Frames of a join are those of the take.
static void
count_in_take(const Work* work, VwJoin* join) {
  const double starts = floor(work->family->uses[0].starts_s *
                                (double)work->family->format.rate_hz +
                              0.5);
  join->start_frame = (size_t)((double)join->start_frame + starts);
  join->steady_from = (size_t)((double)join->steady_from + starts);
  join->steady_to = (size_t)((double)join->steady_to + starts);
}

/// Find the shots of rapid fire.
static VwStatus
find_fire(Work* work) {
  const VwFindOptions finding = vw_find_wish(work->options);
  const VwJoinCut     cut = {&work->alone[0], work->family->uses[0].starts_s};
  if (work->facts[0].kind != VW_KIND_RAPID_FIRE) {
    return VW_OK;
  }
  work->joined.fire = &work->fire;
  return vw_join_find_fire(&work->takes[0], &finding, &cut, &work->fire);
}

/// Join a loop, and let run-in, loops and ring-out be the one sound whose level
/// is found.
static VwStatus
make_joined(Work* work) {
  VwSound* const    sound = &work->alone[0];
  const VwAloneWish wish = alone_wish(work);
  VwJoin* const     join = &work->family->join;
  const VwStatus    st =
    vw_join_make_led(sound, work->options, &wish, join, &work->joined);
  if (!st) {
    vw_sound_clear(sound);
    *sound = work->joined.sound;
    count_in_take(work, join);
  }
  return st;
}

/// Level what was joined; if the limiter is then not in the loop's own state
/// where the first loop of rapid fire starts, join again with a run-in that
/// brings it there.
static VwStatus
level_joined(Work* work) {
  VwJoined* const joined = &work->joined;
  VwStatus        st = level(work);
  joined->sound = work->alone[0];
  if (st || !vw_join_waits(joined, work->options)) {
    return st;
  }
  vw_sound_clear(&work->alone[0]);
  work->family->level = (VwLevel){0};
  work->peak = 0.0;
  joined->settles = true;
  st = make_shots_alone(work);
  st = st ? st : make_joined(work);
  return st ? st : level(work);
}

/// Lay a kick under the single shots; those of the cycle get their own.
static VwStatus
lay_kicks(Work* work) {
  VwFamily* const  family = work->family;
  const double     shots = family->plan.shots;
  const VwKickTone tone = vw_kick_tone(
    work->options, shots > 0.0 ? vw_plan_period_s(&family->plan) : 0.0);
  if (!tone.is_laid) {
    return VW_OK;
  }
  work->plain = calloc(family->n_takes, sizeof(VwSound));
  VwStatus st = work->plain ? VW_OK : VW_NO_MEMORY;
  for (size_t i = 0; !st && i < family->n_takes; ++i) {
    VwSound* const alone = &work->alone[i];
    VwKick         kick = {0};
    st = vw_sound_copy(alone, &work->plain[i]);
    st = st ? st
            : vw_kick_lay(&tone,
                          vw_shot_pre_roll(alone->rate_hz),
                          vw_size_unit(&family->format),
                          alone);
    st = st ? st : vw_kick_measure(&tone, &work->plain[i], alone, &kick);
    family->kick = kick.share >= family->kick.share ? kick : family->kick;
  }
  work->at.alone = work->plain;
  return st;
}

static VwStatus
make_burst(Work* work) {
  VwFamily* const family = work->family;
  VwStatus        st = make_plan(work);
  st = st ? st : lay_kicks(work);
  if (st) {
    return st;
  }
  family->shots = calloc(family->plan.shots, sizeof(VwSound));
  family->turns = calloc(family->plan.shots, sizeof(size_t));
  work->at.bend_from = calloc(family->plan.shots, sizeof(size_t));
  st =
    family->shots && family->turns && work->at.bend_from ? VW_OK : VW_NO_MEMORY;
  family->valley_asked_db = work->options->valley_db;
  return st ? st : vw_settling_shots(&work->at);
}

/// How hard a loop drives an amplifier.
static VwDrive
drive_of_loop(const VwPiece* piece, size_t n_gap) {
  VwSound heard = piece->sound; // a view
  if (piece->has_loop) {
    heard.values += piece->loop_start * heard.n_channels;
    heard.n_frames = piece->loop_end - piece->loop_start;
  }
  return vw_drive_of(&heard, n_gap, true);
}

/// How hard what is heard while it fires drives an amplifier; of several shots
/// alone the hardest counts.
static VwDrive
find_drive(const VwFamily* family) {
  VwDrive most = {0};
  for (size_t i = 0; i < family->n_pieces; ++i) {
    const VwPiece* const piece = &family->pieces[i];
    if (piece->part == VW_PART_LOOP) {
      return drive_of_loop(piece, family->plan.gap_frames);
    }
    if (piece->part == VW_PART_BURST) {
      return vw_drive_of(&piece->sound, 0U, false);
    }
  }
  for (size_t i = 0; i < family->n_pieces; ++i) {
    const VwDrive drive = vw_drive_of(&family->pieces[i].sound, 0U, false);
    most.mean = fmax(most.mean, drive.mean);
    most.most_10ms = fmax(most.most_10ms, drive.most_10ms);
    most.peak = fmax(most.peak, drive.peak);
  }
  return most;
}

static VwStatus
make_all(Work* work) {
  const VwFamilyOptions* const options = work->options;
  work->joins = vw_join_suits(work->facts, work->family->n_takes, options);
  work->at.joined = work->joins;
  const bool burst = !options->shot_only && !options->whole && !work->joins;
  VwStatus   st = make_shots_alone(work);
  st = st                              ? st
       : burst                         ? make_burst(work)
       : work->joins || options->whole ? VW_OK
                                       : lay_kicks(work);
  st = st || !work->joins ? st : find_fire(work);
  st = st || !work->joins ? st : make_joined(work);
  st = st ? st : work->joins ? level_joined(work) : level(work);
  work->joined.sound = work->alone[0];
  if (!st) {
    st = work->joins ? vw_join_hand_out(&work->joined, options, work->family)
                     : hand_out_shots(work);
  }
  st = st || !burst ? st : cut(work);
  const bool flashes = !st && work->family->plan.shots;
  st = flashes ? vw_lamp_of_family(options, work->family) : st;
  work->family->drive = st ? (VwDrive){0} : find_drive(work->family);
  work->family->level.true_peak_dbtp =
    work->peak > 0.0 ? 20.0 * log10(work->peak) : NAN;
  return st;
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
                       .tightening = options->tightening,
                       .n_takes = n_takes,
                       .fade_cover_db = NAN,
                       .covering_db = NAN};
  family->format.rate_hz =
    vw_alone_rate(takes, n_takes, options->format.rate_hz);
  family->uses = calloc(n_takes, sizeof(VwTakeUse));
  return family->uses ? VW_OK : VW_NO_MEMORY;
}

static VwStatus
make(const VwFamilyWish* wish, VwFamily* family, VwLevelCurve* curve) {
  const size_t n_takes = wish->n_takes;
  VwStatus     st = vw_options_are_sound(wish->options, n_takes)
                      ? vw_join_check(wish->facts, n_takes, wish->options)
                      : VW_BAD_OPTION;
  st = st ? st : vw_track_check(wish->options);
  st = st || wish->options->shot_only ||
           vw_join_suits(wish->facts, n_takes, wish->options)
         ? st
         : check_lengths(wish->takes, wish->facts, n_takes);
  if (st) {
    return st;
  }
  const VwFamilyOptions options = vw_track_sound_options(wish->options);
  VwFamily              made = {0};
  Work                  work = {.takes = wish->takes,
                                .facts = wish->facts,
                                .options = &options,
                                .family = &made,
                                .curve = curve};
  st = family_init(wish->takes, n_takes, &options, &made);
  work.alone = calloc(n_takes, sizeof(VwSound));
  work.at =
    (VwSettling){.options = &options, .family = &made, .alone = work.alone};
  st = st || work.alone ? st : VW_NO_MEMORY;
  st = st ? st : make_all(&work);
  st = st ? st : vw_track_add(wish->options, &made);
  st = st || work.joins || !made.plan.shots
         ? st
         : vw_valley_written(&made, options.seed, &work.at.valley);
  made.valley_db = work.joins ? (double)NAN : work.at.valley.depth_db;
  for (size_t i = 0; work.alone && i < n_takes; ++i) {
    vw_sound_clear(&work.alone[i]);
    if (work.plain) {
      vw_sound_clear(&work.plain[i]);
    }
  }
  free(work.plain);
  vw_settling_clear(&work.at);
  vw_events_clear(&work.fire);
  free(work.alone);
  if (st) {
    vw_family_clear(&made);
    return st;
  }
  *family = made;
  return VW_OK;
}

/// Find the shallowest of two deeper valleys with which the attack covers the
/// fade, if one is needed; with what cannot be made it does not.
static VwStatus
find_covering_valley(const VwFamilyWish* wish, VwFamily* family) {
  const double valleys_db[] = {vw_family_defaults().valley_db,
                               COVERING_VALLEY_DB};
  VwStatus     st = VW_OK;
  for (size_t i = 0; family->fade_cover_db < VW_COVER_LEAST_DB && i < 2U; ++i) {
    VwFamilyOptions    options = *wish->options;
    const VwFamilyWish deeper = {
      wish->takes, wish->facts, wish->n_takes, &options};
    VwFamily tried = {.fade_cover_db = NAN};
    if (options.valley_db >= valleys_db[i]) {
      continue;
    }
    options.valley_db = valleys_db[i];
    st = make(&deeper, &tried, NULL) == VW_NO_MEMORY ? VW_NO_MEMORY : VW_OK;
    const bool covers = tried.fade_cover_db >= VW_COVER_LEAST_DB;
    vw_family_clear(&tried);
    if (st || covers) {
      family->covering_db = covers ? valleys_db[i] : (double)NAN;
      break;
    }
  }
  return st;
}

VwStatus
vw_family_measure(const VwFamilyWish* wish,
                  VwFamily*           family,
                  VwLevelCurve*       curve) {
  VwFamily made = {0};
  VwStatus st = make(wish, &made, curve);
  st = st ? st : find_covering_valley(wish, &made);
  if (st) {
    vw_family_clear(&made);
    return st;
  }
  *family = made;
  return VW_OK;
}

VwStatus
vw_family_make(const VwTake*          takes,
               const VwShotFacts*     facts,
               size_t                 n_takes,
               const VwFamilyOptions* options,
               VwFamily*              family) {
  assert(takes && facts && options && family);
  const VwFamilyWish wish = {takes, facts, n_takes, options};
  return vw_family_measure(&wish, family, NULL);
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
