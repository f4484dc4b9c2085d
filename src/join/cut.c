#include "base/size.h"
#include "base/units.h"
#include "burst/internal.h"
#include "join/join.h"
#include "signal/signal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// Room for the fades of the first and the last frames (1 ms at most).
#define CLOSE_ROOM_S 0.001

bool
vw_join_suits(const VwShotFacts*     facts,
              size_t                 n_takes,
              const VwFamilyOptions* options) {
  return n_takes == 1U && !options->shot_only && !options->whole &&
         (facts->kind == VW_KIND_SUSTAINED ||
          (facts->kind == VW_KIND_RAPID_FIRE &&
           options->fire_rate_per_s == 0.0));
}

VwStatus
vw_join_check(const VwShotFacts*     facts,
              size_t                 n_takes,
              const VwFamilyOptions* options) {
  const bool ends = options->run_in_take || options->ring_out_take;
  const bool joins = vw_join_suits(facts, n_takes, options);
  const bool shots = options->form == VW_FORM_BURST && options->burst_of_shots;
  return ends && options->form == VW_FORM_WHOLE_FILE ? VW_BAD_OPTION
         : ends && !joins                            ? VW_NOT_JOINED
         : joins && shots                            ? VW_BURST_JOINED
                                                     : VW_OK;
}

static VwStatus
make_end(const VwTake* take, const VwAloneWish* wish, VwSound* sound) {
  VwTakeUse   use = {0};
  VwAloneWish as_it_is = *wish;
  as_it_is.whole = true;
  return take ? vw_alone_make(take, NULL, &as_it_is, sound, &use) : VW_OK;
}

VwStatus
vw_join_make_led(const VwSound*         sound,
                 const VwFamilyOptions* options,
                 const VwAloneWish*     wish,
                 VwJoin*                join,
                 VwJoined*              joined) {
  VwSound  run_in = {0};
  VwSound  ring_out = {0};
  VwStatus st = make_end(options->run_in_take, wish, &run_in);
  st = st ? st : make_end(options->ring_out_take, wish, &ring_out);
  joined->ends.run_in = run_in.values ? &run_in : NULL;
  joined->ends.ring_out = ring_out.values ? &ring_out : NULL;
  st = st ? st : vw_join_make(sound, options, join, joined);
  joined->ends = (VwJoinEnds){0};
  vw_sound_clear(&run_in);
  vw_sound_clear(&ring_out);
  return st;
}

/// How far two loops differ at most.
static double
apart(const VwJoined* joined, size_t one, size_t other) {
  const size_t       n_values = joined->n_loop * joined->sound.n_channels;
  const float* const a = joined->sound.values +
                         (joined->n_run_in * joined->sound.n_channels) +
                         one * n_values;
  const float* const b = joined->sound.values +
                         (joined->n_run_in * joined->sound.n_channels) +
                         other * n_values;
  double most = 0.0;
  for (size_t i = 0; i < n_values; ++i) {
    most = fmax(most, fabs((double)a[i] - (double)b[i]));
  }
  return most;
}

/// The first loop that is as the last.
static size_t
first_steady(const VwJoined* joined, double same) {
  size_t first = 0;
  while (first + 1U < joined->n_loops &&
         apart(joined, first, joined->n_loops - 1U) > same) {
    ++first;
  }
  return first;
}

bool
vw_join_waits(const VwJoined* joined, const VwFamilyOptions* options) {
  const double same =
    vw_cut_same(options->format.encoding, joined->sound.rate_hz);
  return joined->fire && !joined->settles && !options->run_in_take &&
         options->form != VW_FORM_BURST && first_steady(joined, same) > 0U;
}

/// Let the loop start where, of its first frames, it is nearest to zero: it
/// follows on nothing, and nothing follows on it.
static VwStatus
turn(VwSound* loop, size_t n_first) {
  VwSound turned = {0};
  size_t  nearest = 0;
  for (size_t i = 1; i < n_first && i < loop->n_frames; ++i) {
    if (vw_sound_height(loop, i) < vw_sound_height(loop, nearest)) {
      nearest = i;
    }
  }
  const VwStatus st = vw_sound_part(loop, nearest, loop->n_frames, &turned);
  if (!st) {
    memcpy(turned.values + (loop->n_frames - nearest) * loop->n_channels,
           loop->values,
           nearest * loop->n_channels * sizeof(float));
    vw_sound_clear(loop);
    *loop = turned;
  }
  return st;
}

/// Let what is played begin and end at zero, beside its loop.
static void
close_ends(VwSound* whole, size_t n_before, size_t n_after) {
  const size_t room = vw_frames_of_s(CLOSE_ROOM_S, (double)whole->rate_hz);
  if (n_before >= room && n_after >= room) {
    vw_shot_close_ends(whole);
  }
}

/// Cut run-in, loop and ring-out, each a piece.
static VwStatus
cut_three(const VwSound* whole, const size_t* ends, size_t unit, VwCut* cut) {
  static const VwPart parts[] = {
    VW_PART_RUN_IN, VW_PART_LOOP, VW_PART_RING_OUT};
  VwStatus st = VW_OK;
  for (size_t i = 0; !st && i < 3U; ++i) {
    cut->pieces[i].part = parts[i];
    st = vw_sound_part(
      whole, ends[i], ends[i + 1U] - ends[i], &cut->pieces[i].sound);
    cut->n_pieces += st ? 0U : 1U;
  }
  // What precedes the ring-out has even bytes, and so has it.
  return st ? st : vw_sound_pad(&cut->pieces[2].sound, unit, 0U);
}

/// Cut the loop alone. Rapid fire starts with a shot.
static VwStatus
cut_loop(const VwJoined* joined,
         const VwSound*  whole,
         size_t          from,
         VwCut*          cut) {
  VwSound* const sound = &cut->pieces[0].sound;
  const size_t   n_first =
    joined->fire ? vw_shot_pre_roll(whole->rate_hz) : joined->n_loop;
  VwStatus st = vw_sound_part(whole, from, joined->n_loop, sound);
  st = st ? st : turn(sound, n_first);
  cut->pieces[0].part = VW_PART_LOOP;
  cut->n_pieces = st ? 0U : 1U;
  return st;
}

static VwStatus
cut_form(const VwJoined* joined, const VwFamilyOptions* options, VwCut* cut) {
  const VwFormat format = {.n_channels = joined->sound.n_channels,
                           .encoding = options->format.encoding};
  const size_t   unit = vw_size_unit(&format);
  const size_t   first = first_steady(
    joined, vw_cut_same(options->format.encoding, joined->sound.rate_hz));
  const size_t loop_start = joined->n_run_in + first * joined->n_loop;
  const size_t loop_end = loop_start + joined->n_loop;
  const size_t after = joined->n_run_in + joined->n_loops * joined->n_loop;
  const size_t n_after = joined->sound.n_frames - after;
  // Of a burst no loop is left out.
  cut->run_in = options->form == VW_FORM_BURST ? joined->n_run_in : loop_start;
  cut->residual_db = vw_cut_residual_db(
    &joined->sound, after - joined->n_loop, loop_start, joined->n_loop);
  VwSound  whole = {0};
  VwStatus st =
    vw_sound_part(&joined->sound, 0U, joined->sound.n_frames, &whole);
  if (!st && options->form != VW_FORM_BURST) {
    // One loop alone between run-in and ring-out.
    memmove(whole.values + loop_end * whole.n_channels,
            whole.values + after * whole.n_channels,
            n_after * whole.n_channels * sizeof(float));
    whole.n_frames = loop_end + n_after;
  }
  if (!st && options->form != VW_FORM_WHOLE_FILE) {
    close_ends(&whole, loop_start, n_after);
  }
  st = st ? st : vw_sound_pad(&whole, unit, 0U);
  const size_t ends[] = {0U, loop_start, loop_end, whole.n_frames};
  if (!st && options->form == VW_FORM_PIECES) {
    st = cut_three(&whole, ends, unit, cut);
  } else if (!st && options->form == VW_FORM_WHOLE_FILE) {
    st = cut_loop(joined, &whole, loop_start, cut);
  } else if (!st) {
    cut->pieces[0] = (VwPiece){
      .part = options->form == VW_FORM_BURST ? VW_PART_BURST : VW_PART_LOOP,
      .sound = whole,
      .has_loop = options->form == VW_FORM_LOOP_POINTS,
      .loop_start = loop_start,
      .loop_end = loop_end};
    cut->n_pieces = 1U;
    whole = (VwSound){0};
  }
  vw_sound_clear(&whole);
  for (size_t i = 0; st && i < 3U; ++i) {
    vw_sound_clear(&cut->pieces[i].sound);
  }
  return st;
}

/// The rate at which the file is heard, a gap included.
static void
set_rate(const VwJoin* join, const VwFamilyOptions* options, VwPlan* plan) {
  const double fires = (double)join->shots * plan->rate_hz;
  const size_t gap = vw_size_gap(options, plan->rate_hz);
  plan->uneven = gap > join->gap_frames;
  plan->gap_frames = gap;
  plan->n_frames = join->n_frames - join->gap_frames + gap;
  plan->fire_rate_per_s = fires / (double)plan->n_frames;
  if (gap && !plan->uneven) {
    plan->plain_fire_rate_per_s = fires / (double)(join->n_frames + gap);
  }
}

VwStatus
vw_join_hand_out(const VwJoined*        joined,
                 const VwFamilyOptions* options,
                 VwFamily*              family) {
  VwCut cut = {0};
  family->pieces = calloc(3U, sizeof(VwPiece));
  const VwStatus st =
    family->pieces ? cut_form(joined, options, &cut) : VW_NO_MEMORY;
  if (!st && options->form == VW_FORM_WHOLE_FILE && options->gap_ms > 0.0) {
    cut.pieces[0].sound.n_frames -= family->join.gap_frames;
    vw_burst_close_cycle(&cut.pieces[0].sound, 0U);
  }
  for (size_t i = 0; !st && i < cut.n_pieces; ++i) {
    family->pieces[family->n_pieces++] = cut.pieces[i];
  }
  family->plan = (VwPlan){.n_frames = family->join.n_frames,
                          .rate_hz = family->format.rate_hz,
                          .shots = family->join.shots,
                          .fire_rate_asked_per_s = NAN,
                          .fire_rate_per_s = NAN,
                          .error_ppm = NAN,
                          .even_fire_rate_per_s = NAN,
                          .plain_fire_rate_per_s = NAN};
  if (family->join.shots) {
    set_rate(&family->join, options, &family->plan);
    const double period =
      (double)family->join.n_frames / (double)family->join.shots;
    const double n = floor((double)cut.run_in / period + 0.5);
    const double even = floor(n * period + 0.5);
    family->run_in_shots = (unsigned)n;
    family->join.lead_frames = (size_t)fmax((double)cut.run_in - even, 0.0);
  }
  family->join_residual_db = cut.residual_db;
  family->valley_asked_db = NAN;
  family->tightening_db = NAN;
  family->gap_depth_db = NAN;
  family->run_in_left_db = NAN;
  family->likeness = (VwLikeness){NAN, NAN};
  return st;
}
