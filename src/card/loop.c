#include "card/loop.h"
#include "base/ranges.h"
#include "base/units.h"
#include "card/internal.h"
#include "lamp/lamp.h"
#include "signal/signal.h"
#include "take/events.h"

#include <assert.h>
#include <math.h>
#include <string.h>

// Played on for so long, a loop is as loud as it gets; and peaks are looked for
// between fades of so many frames.
#define PLAYED_S 1.0
#define EDGE_FRAMES 64U

bool
vw_loop_is_short(size_t n_frames, unsigned rate_hz) {
  return n_frames < VW_LOOP_LEAST_FRAMES ||
         (double)n_frames < VW_LOOP_LEAST_S * rate_hz;
}

/* Shots */

static void
judge_cycle(double gap_ms, VwLoopFacts* facts) {
  const VwCycle* const cycle = &facts->cycle;
  const double         left = cycle->left_frames;
  const bool           silent =
    facts->flaws[VW_FLAW_GAP].there || facts->flaws[VW_FLAW_PADDING].there;
  if (isnan(left) || cycle->even || silent) {
    return;
  }
  // A loop that is somewhat too short may be made for a board's gap.
  if (left < 0.0 && -left <= VW_GAP_FOUND_MOST * cycle->period_frames &&
      gap_ms <= 0.0) {
    return;
  }
  const double over = left > 0.0 ? left : left + cycle->period_frames;
  facts->flaws[VW_FLAW_CYCLE] =
    (VwFlaw){true, left / cycle->period_frames, 0U, (size_t)(over + 0.5)};
}

/// Find what repeats in the cycle: in the file alone if the board's gap is too
/// long to be hidden, for `loop` then leaves the file's shots even.
static VwStatus
find_repeats(const VwSound*     loop,
             const VwEvents*    events,
             const VwLoopAsked* asked,
             VwLoopFacts*       facts) {
  const size_t gap = vw_frames_of_s(asked->gap_ms / 1000.0, loop->rate_hz);
  VwCycle      in_file = {0};
  VwStatus     st = vw_cycle_find(loop, events, gap, &facts->cycle);
  if (st || !gap || facts->cycle.even) {
    return st;
  }
  st = vw_cycle_find(loop, events, 0U, &in_file);
  if (!st && in_file.even &&
      (double)gap > VW_GAP_HIDDEN * in_file.period_frames) {
    facts->cycle = in_file;
    facts->heard_gap_ms = asked->gap_ms;
  }
  return st;
}

/// Find what repeats, unless it is one shot or no shots at all.
static VwStatus
find_cycle(const VwSound*     loop,
           const VwEvents*    events,
           const VwLoopAsked* asked,
           VwLoopFacts*       facts) {
  VwStatus st = VW_OK;
  facts->cycle = (VwCycle){.period_frames = NAN, .left_frames = NAN};
  if (asked->has_kind) {
    facts->goes_on = asked->kind == VW_KIND_SUSTAINED;
    facts->single = asked->kind == VW_KIND_SHOT;
  } else {
    st = vw_loop_sounds_on(loop, &facts->goes_on);
    if (!st && !facts->goes_on && events->kind != VW_KIND_SHOT) {
      st = vw_loop_goes_on(loop, &facts->goes_on);
    }
    facts->single = vw_loop_is_single(loop, events);
  }
  if (st || facts->goes_on || facts->single) {
    return st;
  }
  st = find_repeats(loop, events, asked, facts);
  facts->goes_on =
    isnan(facts->cycle.period_frames) && vw_loop_is_sustained(events);
  return st;
}

/// Whether two events follow each other over the seam as within, as evenly as
/// real fire does.
static bool
are_even_round(const VwSound* loop, const VwEvents* events) {
  const double half = 0.5 * (double)loop->n_frames;
  return events->n_events == 2U &&
         half <= VW_LOOP_SINGLE_LEAST_S * loop->rate_hz &&
         fabs((double)events->events[1].start_frame -
              (double)events->events[0].start_frame - half) <=
           VW_LEFT_SHARE * half;
}

/// Go by the events if no shots are counted, or if they are several and not as
/// many; but a loop that is no whole number of shots long is one, unless two
/// surely are all there are, which make no period.
static void
judge_events(const VwSound* loop, const VwEvents* events, VwLoopFacts* facts) {
  const bool rapid = events->kind == VW_KIND_RAPID_FIRE;
  const bool even = are_even_round(loop, events);
  const bool two =
    events->n_events == 2U && !even && vw_events_are_uneven(events, 0U);
  if (facts->flaws[VW_FLAW_CYCLE].there
        ? !two
        : facts->shots && !vw_events_are_uneven(events, facts->shots)) {
    return;
  }
  facts->several = events->kind == VW_KIND_SEVERAL_SHOTS && !even;
  facts->goes_on = events->kind == VW_KIND_SUSTAINED;
  facts->shots = vw_events_are_shots(events) ? events->n_events
                 : facts->goes_on            ? 0U
                                             : 1U;
  facts->fire_rate_per_s =
    rapid ? events->rapid.fire_rate_per_s
    : facts->shots == 1U || (even && facts->shots)
      ? (double)facts->shots * loop->rate_hz / (double)loop->n_frames
      : (double)NAN;
  facts->jitter_ms = rapid ? events->rapid.jitter_ms : (double)NAN;
  facts->cycle = (VwCycle){.period_frames = NAN, .left_frames = NAN};
  if (facts->several) {
    facts->flaws[VW_FLAW_GAP].there = false;
    facts->flaws[VW_FLAW_CYCLE].there = false;
  }
}

/// The gap of a board for which a loop may be made that is somewhat too short;
/// or else the one asked.
static double
likely_gap_ms(const VwSound* loop, double gap_ms, const VwLoopFacts* facts) {
  const double left = facts->cycle.left_frames;
  return !facts->cycle.even && left < 0.0 && !facts->flaws[VW_FLAW_CYCLE].there
           ? gap_ms - 1000.0 * left / loop->rate_hz
           : gap_ms;
}

static VwStatus
judge_shots(const VwSound*  loop,
            const VwEvents* events,
            double          gap_ms,
            VwLoopFacts*    facts) {
  VwLoopKnown known = {0U, likely_gap_ms(loop, gap_ms, facts)};
  // A recording of far more shots than a loop holds is none to count.
  const bool many =
    vw_events_are_shots(events) && events->n_events > 2U * VW_CYCLE_SHOTS_MOST;
  const bool counted = facts->rest_ms <= 0.0 && !many &&
                       (isnan(facts->cycle.period_frames) ||
                        facts->cycle.even || known.gap_ms > gap_ms);
  VwRateFound found = {0};
  VwStatus    st = VW_OK;
  facts->fire_rate_per_s = NAN;
  facts->jitter_ms = NAN;
  if (facts->single) {
    facts->shots = 1U;
    return VW_OK;
  }
  if (facts->goes_on) {
    return VW_OK;
  }
  if (counted) {
    st = vw_rate_of_loop(loop, &known, &found);
    // It may be made for a gap that nobody told.
    if (st == VW_NO_STEADY_RATE && known.gap_ms <= 0.0) {
      known.gap_ms = NAN;
      st = vw_rate_of_loop(loop, &known, &found);
    }
    facts->shots = st ? 0U : found.shots;
    facts->fire_rate_per_s = st ? (double)NAN : found.fire_rate_per_s;
  }
  // What is too short for whole shots has those of its cycle.
  if (!counted || (known.gap_ms > gap_ms && facts->shots > 1U)) {
    facts->shots = facts->cycle.shots;
    facts->fire_rate_per_s = loop->rate_hz / facts->cycle.period_frames;
  }
  if (facts->shots > 2U && events->rapid.n_on_line >= facts->shots) {
    facts->jitter_ms = events->rapid.jitter_ms;
  }
  judge_events(loop, events, facts);
  return st == VW_NO_STEADY_RATE ? VW_OK : st;
}

/* Level */

/// That of the channel that lies highest.
static double
offset_of(const VwSound* loop) {
  double most = 0.0;
  for (unsigned c = 0; c < loop->n_channels; ++c) {
    const double constant = vw_sound_constant(loop, c);
    most = fabs(constant) > fabs(most) ? constant : most;
  }
  return most;
}

/// Measure a loop as it sounds while it is played on.
static VwStatus
measure_played(const VwSound* loop, VwLoopFacts* facts) {
  VwSound      played = {0};
  const size_t n =
    loop->n_frames + 2U * EDGE_FRAMES + vw_frames_of_s(PLAYED_S, loop->rate_hz);
  VwStatus st = vw_sound_init(&played, n, loop->n_channels, loop->rate_hz);
  for (size_t i = 0; !st && i < n; ++i) {
    const size_t from = (i + loop->n_frames - EDGE_FRAMES) % loop->n_frames;
    memcpy(played.values + i * loop->n_channels,
           loop->values + from * loop->n_channels,
           loop->n_channels * sizeof(float));
  }
  for (size_t i = 0; !st && i < EDGE_FRAMES; ++i) {
    vw_sound_scale_frame(&played, i, (double)i / EDGE_FRAMES);
    vw_sound_scale_frame(&played, n - 1U - i, (double)i / EDGE_FRAMES);
  }
  if (!st) {
    facts->true_peak_dbtp = vw_peak_dbtp(&played);
    st = vw_loudness_of_effect(&played, &facts->loudness_lufs);
  }
  vw_sound_clear(&played);
  return st;
}

static VwStatus
judge_with(const VwSound*     loop,
           const VwEvents*    events,
           const VwLoopAsked* asked,
           VwLoopFacts*       facts) {
  VwStatus st = find_cycle(loop, events, asked, facts);
  st = st ? st : vw_seam_measure(loop, &facts->seam);
  if (st) {
    return st;
  }
  const VwSeam* const seam = &facts->seam;
  const double worst = fmax(fmax(seam->step, seam->slope), seam->residual);
  facts->n_frames = loop->n_frames;
  facts->flaws[VW_FLAW_SEAM] = (VwFlaw){worst > VW_SEAM_MOST, worst, 0U, 0U};
  facts->offset = offset_of(loop);
  facts->flaws[VW_FLAW_OFFSET] =
    (VwFlaw){fabs(facts->offset) > VW_OFFSET_MOST, facts->offset, 0U, 0U};
  vw_silence_judge(loop, events, facts);
  judge_cycle(asked->gap_ms, facts);
  facts->single = facts->single && !facts->flaws[VW_FLAW_GAP].there;
  st = judge_shots(loop, events, asked->gap_ms, facts);
  st = st ? st : vw_side_late(loop, &facts->side_late_ms);
  return st ? st : measure_played(loop, facts);
}

/// Have the events be of the kind that is said: a shot, and what goes on, are
/// one.
static void
overrule(const VwLoopAsked* asked, VwEvents* events) {
  const VwFindOptions said = {.has_kind = asked->has_kind, .kind = asked->kind};
  vw_events_overrule(&said, events);
  if (asked->has_kind && !vw_events_are_shots(events)) {
    events->n_events = 1U;
  }
}

static VwStatus
judge_heard(const VwSound* loop, const VwLoopAsked* asked, VwLoopFacts* facts) {
  VwEvents events = {0};
  VwStatus st = vw_sound_peak(loop) > 0.0 ? VW_OK : VW_SILENT;
  st = st ? st : vw_events_heard(loop, &events);
  if (!st) {
    overrule(asked, &events);
  }
  st = st ? st : judge_with(loop, &events, asked, facts);
  vw_events_clear(&events);
  return st;
}

VwStatus
vw_loop_judge(const VwSound*     loop,
              const VwLoopAsked* asked,
              VwLoopFacts*       facts) {
  assert(!vw_loop_is_short(loop->n_frames, loop->rate_hz));
  VwLoopFacts made = {.start = facts->start, .marked = facts->marked};
  VwSound     heard = {0};
  VwStatus    st = vw_sound_heard(loop, vw_has_lamp_track(loop), &heard);
  st = st ? st : judge_heard(&heard, asked, &made);
  vw_sound_clear(&heard);
  if (!st) {
    *facts = made;
  }
  return st;
}
