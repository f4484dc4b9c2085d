#include "card/loop.h"
#include "base/ranges.h"
#include "base/units.h"
#include "card/internal.h"
#include "container/container.h"
#include "signal/signal.h"
#include "take/events.h"

#include <assert.h>
#include <fcntl.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

// Where it is not digital silence, this far below the peak counts as such.
#define SILENT_RATIO 1e-3

// Silence over the seam is a gap if it is so much longer than any within: shots
// that vary start up to 2 ms off, both ways (common practice).
#define GAP_LEAST_S 0.0045

// If nothing tells when the next shot is due, silence is a gap only if the
// sound breaks off before it (chosen here): 2.5 to 4.5 ms before, where a fade
// of 2 ms has not begun, it is within 60 dB of its loudest 2 ms and has not
// fallen by 16 dB from what comes up to 25 ms before it, as the fade of a
// shot's end makes it. Of 8 bits it has to be above their lowest three steps,
// in which all sound ends.
#define LOWEST_RATIO 1e-6
#define FADED_RATIO 0.025
#define COARSE_POWER (9.0 / 128.0 / 128.0)
#define LEVEL_S 0.002
#define NEAR_S 0.0025
#define FAR_S 0.025

// A single shot may be followed by any silence; only if not even its last 0.5
// ms, in which a fade of 2 ms falls by 20 dB, have fallen by 16 dB, it breaks
// off.
#define LAST_S 0.0005

// It has died away if it is followed by more than 0.25 s of silence, or the
// last 10 ms that are not silent are 25 dB below its loudest. Of loops that are
// heard as one shot, longer than 0.25 s, they are at most 13 dB below; of
// single shots cut from recordings, at least 32 dB.
#define AWAY_S 0.01
#define AWAY_RATIO 0.00316

// What compressed formats add: so many frames in front, and at the end what
// fills a block (common practice). A sound starts up to 2.5 ms after.
#define PADDING_FRONT 1105U
#define PADDING_BLOCK 1152U
#define PADDING_LEAD_S 0.0025

// A constant that takes 0.048 dB of headroom: 20 log10(1 / 0.9945) (closed
// form); the mean of a loop of 34 recordings is up to 0.0052.
#define OFFSET_MOST 0.0055

// If the means of stretches so long spread more than this, half as much is no
// constant but follows the sound. Set on the same loops: of one recording, low
// and lopsided, they spread by 0.17 and more, and the mean is up to 0.044; of
// all others by up to 0.15.
#define STRETCH_S 0.01
#define FOLLOWS_LEAST 0.16
#define FOLLOWS_SHARE 0.5

// Such a sound may tell all the same: faded at its seam, it comes to rest there
// at its constant, from frame to frame within three steps of 16 bits. What is
// more than three times the 1 % looked for is no rest but a crest (chosen
// here).
#define REST_STEP_MOST 1e-4
#define REST_MOST 0.03

// Played on for so long, a loop is as loud as it gets; and peaks are looked for
// between fades of so many frames.
#define PLAYED_S 1.0
#define EDGE_FRAMES 64U

bool
vw_loop_is_short(size_t n_frames, unsigned rate_hz) {
  return n_frames < VW_LOOP_LEAST_FRAMES ||
         (double)n_frames < VW_LOOP_LEAST_S * rate_hz;
}

/* Silence */

/// Runs of frames that are silent.
typedef struct {
  size_t front;
  size_t back;
  size_t within; ///< The longest that touches neither end.
} Silences;

static Silences
find_silences(const VwSound* loop, double level) {
  Silences found = {0};
  size_t   run = 0;
  size_t   i = 0;
  for (; i < loop->n_frames && vw_sound_height(loop, i) <= level; ++i) {
    ++found.front;
  }
  for (; i < loop->n_frames; ++i) {
    if (vw_sound_height(loop, i) <= level) {
      ++run;
    } else {
      found.within = run > found.within ? run : found.within;
      run = 0;
    }
  }
  found.back = run;
  return found;
}

static size_t
over_seam(const Silences* silences) {
  return silences->front + silences->back;
}

/// Mean power of `n` frames that end so many seconds before another.
static double
power_before(const VwSound* loop, size_t end, double before_s, size_t n) {
  const size_t before = vw_frames_of_s(before_s, loop->rate_hz) + n;
  double       sum = 0.0;
  for (size_t i = 0; i < n && before <= end; ++i) {
    sum += vw_sound_power_at(loop, (end - before + i) % loop->n_frames);
  }
  return sum / (double)n;
}

/// Whether a loop has the few values of 8 bits.
static bool
is_coarse(const VwSound* loop) {
  const size_t n = loop->n_frames * loop->n_channels;
  size_t       i = 0;
  while (i < n && loop->values[i] * 128.0F == rintf(loop->values[i] * 128.0F)) {
    ++i;
  }
  return i == n;
}

/// Whether one shot is all that is heard in a loop.
static bool
is_one_shot(const VwEvents* events) {
  return events->kind == VW_KIND_SHOT && events->n_events == 1U;
}

/// Whether a sound goes on, without shots that are told apart.
static bool
is_sustained(const VwEvents* events) {
  return events->kind == VW_KIND_SUSTAINED && events->n_events == 1U;
}

/// Whether the sound breaks off before the silence over the seam.
static bool
breaks_off(const VwSound* loop, const Silences* silences, bool one_shot) {
  const size_t n = vw_frames_of_s(LEVEL_S, loop->rate_hz) + 1U;
  const size_t end = 2U * loop->n_frames - silences->back;
  const double near = power_before(loop, end, NEAR_S, n);
  double       most = is_coarse(loop) ? COARSE_POWER / LOWEST_RATIO : 0.0;
  double       lately = 0.0;
  for (size_t i = n; i <= loop->n_frames; i += n) {
    most = fmax(most, power_before(loop, i, 0.0, n));
  }
  for (double before_s = NEAR_S; before_s < FAR_S; before_s += LEVEL_S) {
    lately = fmax(lately, power_before(loop, end, before_s, n));
  }
  const size_t n_last = vw_frames_of_s(LAST_S, loop->rate_hz);
  const double last = one_shot ? power_before(loop, end, 0.0, n_last) : near;
  return near > LOWEST_RATIO * most && near > FADED_RATIO * lately &&
         last > FADED_RATIO * near;
}

/// Frames of silence over the seam that are too many; 0 if none are.
static size_t
frames_too_many(const VwSound*  loop,
                const Silences* silences,
                const VwCycle*  cycle,
                bool            one_shot) {
  const size_t total = over_seam(silences);
  const double least = GAP_LEAST_S * loop->rate_hz;
  if ((double)total < (double)silences->within + least || cycle->whole) {
    return 0U;
  }
  if (isnan(cycle->period_frames)) {
    return breaks_off(loop, silences, one_shot) ? total - silences->within : 0U;
  }
  const double left = cycle->left_frames > 0.0
                        ? cycle->left_frames
                        : cycle->left_frames + cycle->period_frames;
  return left >= least && left <= (double)total + 0.1 * cycle->period_frames
           ? (size_t)fmin(floor(left + 0.5), (double)total)
           : 0U;
}

/// Whether silence is what compressed formats add; a cycle that is whole all
/// the same may have as much of it as takes a shot's place.
static bool
is_padding(const VwSound*  loop,
           const Silences* silences,
           const VwCycle*  cycle) {
  const double more = (double)over_seam(silences) - (double)silences->within;
  const double most = PADDING_FRONT + PADDING_LEAD_S * loop->rate_hz;
  return silences->front >= PADDING_FRONT &&
         (loop->n_frames % PADDING_BLOCK == 0U ||
          (double)silences->front <= most) &&
         more >= GAP_LEAST_S * loop->rate_hz &&
         (!cycle->whole || more > 0.5 * cycle->period_frames);
}

static void
judge_silence(const VwSound* loop, const VwEvents* events, VwLoopFacts* facts) {
  const double levels[] = {0.0, SILENT_RATIO * vw_sound_peak(loop)};
  Silences     silences = {0};
  size_t       n = 0;
  VwCycle      cycle = facts->cycle;
  // A sound that goes on falls silent nowhere, whatever repeats in it.
  if (is_sustained(events)) {
    cycle = (VwCycle){.period_frames = NAN, .left_frames = NAN};
  }
  const bool known = !isnan(cycle.period_frames);
  for (size_t i = 0; !n && i < (known ? 2U : 1U); ++i) {
    silences = find_silences(loop, levels[i]);
    n = frames_too_many(loop, &silences, &cycle, is_one_shot(events));
    if (is_padding(loop, &silences, &cycle)) {
      facts->flaws[VW_FLAW_PADDING] = (VwFlaw){true, 0.0, PADDING_FRONT, 0U};
      n = PADDING_FRONT;
    }
  }
  if (n && !facts->flaws[VW_FLAW_PADDING].there) {
    const size_t back = n < silences.back ? n : silences.back;
    facts->flaws[VW_FLAW_GAP] = (VwFlaw){true, 0.0, n - back, back};
  }
  silences = find_silences(loop, levels[1]);
  facts->silence_ms = 1000.0 * (double)over_seam(&silences) / loop->rate_hz;
}

/* Shots */

/// Whether all of a loop is a shot that dies away.
static bool
is_single(const VwSound* loop, const VwEvents* events) {
  const size_t n = vw_frames_of_s(AWAY_S, loop->rate_hz) + 1U;
  const double least = VW_LOOP_SINGLE_LEAST_S * loop->rate_hz;
  const size_t back = find_silences(loop, 0.0).back;
  const size_t end = loop->n_frames - back;
  double       most = 0.0;
  if (events->kind != VW_KIND_SHOT || (double)loop->n_frames <= least) {
    return false;
  }
  if ((double)back > least) {
    return true;
  }
  for (size_t i = n; i <= end; i += n) {
    most = fmax(most, power_before(loop, i, 0.0, n));
  }
  return power_before(loop, end, 0.0, n) <= AWAY_RATIO * most;
}

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

/// Find what repeats, unless it is one shot or no shots at all.
static VwStatus
find_cycle(const VwSound*     loop,
           const VwEvents*    events,
           const VwLoopAsked* asked,
           VwLoopFacts*       facts) {
  const size_t gap = vw_frames_of_s(asked->gap_ms / 1000.0, loop->rate_hz);
  VwStatus     st = VW_OK;
  facts->cycle = (VwCycle){.period_frames = NAN, .left_frames = NAN};
  if (asked->has_kind) {
    facts->goes_on = asked->kind == VW_KIND_SUSTAINED;
    facts->single = asked->kind == VW_KIND_SHOT;
  } else {
    st = vw_loop_goes_on(loop, &facts->goes_on);
    facts->single = is_single(loop, events);
  }
  if (st || facts->goes_on || facts->single) {
    return st;
  }
  st = vw_cycle_find(loop, events, gap, &facts->cycle);
  facts->goes_on = isnan(facts->cycle.period_frames) && is_sustained(events);
  return st;
}

static VwStatus
judge_shots(const VwSound*  loop,
            const VwEvents* events,
            double          gap_ms,
            VwLoopFacts*    facts) {
  const VwLoopKnown known = {0U, gap_ms};
  VwRateFound       found = {0};
  VwStatus          st = VW_NO_STEADY_RATE;
  facts->fire_rate_per_s = NAN;
  facts->jitter_ms = NAN;
  if (facts->single) {
    facts->shots = 1U;
    return VW_OK;
  }
  if (facts->goes_on) {
    return VW_OK;
  }
  if (isnan(facts->cycle.period_frames) || facts->cycle.even) {
    st = vw_rate_of_loop(loop, &known, &found);
  }
  if (!st) {
    facts->shots = found.shots;
    facts->fire_rate_per_s = found.fire_rate_per_s;
  } else if (!isnan(facts->cycle.period_frames)) {
    facts->shots = facts->cycle.shots;
    facts->fire_rate_per_s = loop->rate_hz / facts->cycle.period_frames;
  }
  if (facts->shots > 2U && events->rapid.n_on_line >= facts->shots) {
    facts->jitter_ms = events->rapid.jitter_ms;
  }
  return st == VW_NO_STEADY_RATE ? VW_OK : st;
}

/* Level */

/// Where a channel comes to rest at the seam; 0 if it does not.
static double
rest_of(const VwSound* loop, unsigned channel) {
  const size_t last = (loop->n_frames - 1U) * loop->n_channels;
  const double end = (double)loop->values[last + channel];
  const double start = (double)loop->values[channel];
  return fabs(end - start) <= REST_STEP_MOST && fabs(end) <= REST_MOST ? end
                                                                       : 0.0;
}

double
vw_loop_constant(const VwSound* loop, unsigned channel) {
  const size_t n = vw_frames_of_s(STRETCH_S, loop->rate_hz);
  double       sum = 0.0;
  double       squares = 0.0;
  double       stretch = 0.0;
  double       n_stretches = 0.0;
  for (size_t i = 0; i < loop->n_frames; ++i) {
    stretch += (double)loop->values[i * loop->n_channels + channel];
    if ((i + 1U) % n == 0U || i + 1U == loop->n_frames) {
      const double n_here = (double)(i % n + 1U);
      squares += stretch * stretch / n_here;
      n_stretches += n_here;
      sum += stretch;
      stretch = 0.0;
    }
  }
  const double mean = sum / n_stretches;
  const double spread = sqrt(fmax(squares / n_stretches - mean * mean, 0.0));
  return spread <= FOLLOWS_LEAST || fabs(mean) >= FOLLOWS_SHARE * spread
           ? mean
           : rest_of(loop, channel);
}

/// That of the channel that lies highest.
static double
offset_of(const VwSound* loop) {
  double most = 0.0;
  for (unsigned c = 0; c < loop->n_channels; ++c) {
    const double constant = vw_loop_constant(loop, c);
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
    (VwFlaw){fabs(facts->offset) > OFFSET_MOST, facts->offset, 0U, 0U};
  judge_silence(loop, events, facts);
  judge_cycle(asked->gap_ms, facts);
  facts->single = facts->single && !facts->flaws[VW_FLAW_GAP].there;
  st = judge_shots(loop, events, asked->gap_ms, facts);
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
  st = st ? st : vw_events_find(loop, &events);
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
  VwStatus    st = VW_OK;
  if (vw_has_lamp_track(loop)) {
    st = vw_sound_channel(loop, 0U, &heard);
    st = st ? st : judge_heard(&heard, asked, &made);
    vw_sound_clear(&heard);
  } else {
    st = judge_heard(loop, asked, &made);
  }
  if (!st) {
    *facts = made;
  }
  return st;
}
