#include "base/units.h"
#include "card/loop.h"
#include "signal/signal.h"
#include "take/events.h"
#include "take/take.h"

#include <math.h>
#include <stdlib.h>

// Levels are those of so many steps of 1 ms. Of two lengths, for shots may
// rise as they fall at one.
#define STEP_S 0.001
static const size_t lengths[] = {12U, 20U};

// What swells is no shot if the squares of all rises of the level, from half a
// length to the next, are those of its falls, within this share: shots rise at
// once and die away. Set on loops of 34 recordings and of synthetic sounds: 87
// of 100 hums with beats, and 1 of 900 loops of shots.
#define SYMMETRY_NEAR 0.015

// It goes on if so much of it is within 40 dB of its loudest (chosen here).
#define SOUNDS_SHARE 0.5
#define SOUNDS_RATIO 1e-4

/// The power of a loop, step by step, as it goes on at its start again.
typedef struct {
  double* power; ///< Owned.
  size_t  n;
} Course;

static bool
take_course(const VwSound* loop, Course* course) {
  const double step = STEP_S * loop->rate_hz;
  course->n = (size_t)((double)loop->n_frames / step);
  course->power = calloc(course->n + 1U, sizeof(double));
  for (size_t i = 0; course->power && i < loop->n_frames; ++i) {
    const size_t at = (size_t)((double)i / step);
    course->power[at < course->n ? at : course->n] +=
      vw_sound_power_at(loop, i);
  }
  return course->power != NULL;
}

static double
level_at(const Course* course, size_t from, size_t length) {
  double sum = 0.0;
  for (size_t i = 0; i < length; ++i) {
    sum += course->power[(from + i) % course->n];
  }
  return sqrt(sum);
}

/// Whether the level rises as it falls.
static bool
is_symmetric(const Course* course, size_t length) {
  double rises = 0.0;
  double falls = 0.0;
  for (size_t i = 0; i < course->n; ++i) {
    const double from = level_at(course, i + course->n - length / 2U, length);
    const double change = level_at(course, i, length) - from;
    *(change > 0.0 ? &rises : &falls) += change * change;
  }
  return fabs(rises - falls) <= SYMMETRY_NEAR * falls;
}

/// Whether most of a loop is heard.
static bool
sounds_mostly(const Course* course) {
  double most = 0.0;
  size_t n = 0;
  for (size_t i = 0; i < course->n; ++i) {
    most = fmax(most, course->power[i]);
  }
  for (size_t i = 0; i < course->n; ++i) {
    n += course->power[i] >= SOUNDS_RATIO * most;
  }
  return (double)n >= SOUNDS_SHARE * (double)course->n;
}

bool
vw_loop_is_sustained(const VwEvents* events) {
  return events->kind == VW_KIND_SUSTAINED && events->n_events == 1U;
}

VwStatus
vw_loop_goes_on(const VwSound* loop, bool* goes_on) {
  Course course = {0};
  if (!take_course(loop, &course)) {
    return VW_NO_MEMORY;
  }
  *goes_on = course.n > lengths[1] && sounds_mostly(&course);
  for (size_t i = 0; *goes_on && i < sizeof(lengths) / sizeof(*lengths); ++i) {
    *goes_on = is_symmetric(&course, lengths[i]);
  }
  free(course.power);
  return VW_OK;
}

// Where it is not digital silence, this far below the peak counts as such.
#define SILENT_RATIO 1e-3

// Silence over the seam is a gap if it is so much longer than any within: shots
// that vary start up to 2 ms off, both ways (common practice).
#define GAP_LEAST_S 0.0045

// Of shots whose waves are alike so much tells (chosen here).
#define GAP_EXACT_S 0.001

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

// Fire rests over the seam if its shots are so many periods apart there,
// and what is near silence is half a period longer than any within: 20 dB below
// the peak; or 10 dB if they are farther apart than a shot that is too faint
// for an event explains (chosen here).
#define REST_LEAST 1.5
#define REST_DB 20.0
#define REST_FAR 2.5
#define REST_FAR_DB 10.0
#define REST_LONGER 0.5

// Several shots are fire if they are so many, and so nearly as far apart
// (chosen here).
#define EVEN_LEAST 3U
#define EVEN_RATIO 1.1

// What compressed formats add: so many frames in front, and at the end what
// fills a block (common practice). A sound starts up to 2.5 ms after.
#define PADDING_FRONT 1105U
#define PADDING_BLOCK 1152U
#define PADDING_LEAD_S 0.0025

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
  const double more = (double)total - (double)silences->within;
  const double least =
    (cycle->exact ? GAP_EXACT_S : GAP_LEAST_S) * loop->rate_hz;
  if (more < least || (cycle->whole && !cycle->exact)) {
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

/// Whether near silence over the seam is by half a period longer than within.
static bool
rests_at(const VwSound* loop, double db, double period, VwLoopFacts* facts) {
  const Silences rests =
    find_silences(loop, vw_gain_of_db(-db) * vw_sound_peak(loop));
  const double over = (double)over_seam(&rests);
  facts->flaws[VW_FLAW_GAP].size = db;
  facts->rest_ms = 1000.0 * over / loop->rate_hz;
  return over - (double)rests.within >= REST_LONGER * period;
}

/// Shots and their period: of rapid fire by its line, of several even shots the
/// longest from one to the next. False if there are none.
static bool
find_shots(const VwSound* loop, const VwEvents* events, VwRateFound* found) {
  const VwEvent* const first = events->events;
  const size_t         n = events->n_events;
  double               longest = 0.0;
  double               shortest = HUGE_VAL;
  if (!vw_rate_of_events(loop, events, found)) {
    return true;
  }
  if (events->kind != VW_KIND_SEVERAL_SHOTS || n < EVEN_LEAST) {
    return false;
  }
  for (size_t i = 1; i < n; ++i) {
    const double apart =
      (double)(first[i].start_frame - first[i - 1U].start_frame);
    longest = fmax(longest, apart);
    shortest = fmin(shortest, apart);
  }
  found->shots = n;
  found->fire_rate_per_s = loop->rate_hz / longest;
  found->first_s = (double)first->start_frame / loop->rate_hz;
  found->left_s =
    (double)(loop->n_frames - first[n - 1U].start_frame) / loop->rate_hz;
  return longest <= EVEN_RATIO * shortest;
}

/// Judge whether fire rests over the seam, which that of a loop does not, in
/// silence or in a floor of noise.
static void
judge_rest(const VwSound* loop, const VwEvents* events, VwLoopFacts* facts) {
  VwRateFound found = {0};
  if (facts->flaws[VW_FLAW_PADDING].there ||
      !find_shots(loop, events, &found)) {
    return;
  }
  const double period = loop->rate_hz / found.fire_rate_per_s;
  const double apart = (found.first_s + found.left_s) * loop->rate_hz;
  if (apart < REST_LEAST * period ||
      !(rests_at(loop, REST_DB, period, facts) ||
        (apart >= REST_FAR * period &&
         rests_at(loop, REST_FAR_DB, period, facts)))) {
    facts->rest_ms = 0.0;
    return;
  }
  const size_t  n = (size_t)(apart - period + 0.5);
  const size_t  front = vw_frames_of_s(found.first_s, loop->rate_hz);
  const size_t  lead = vw_shot_pre_roll(loop->rate_hz);
  VwFlaw* const gap = &facts->flaws[VW_FLAW_GAP];
  gap->there = true;
  gap->front = front > lead ? front - lead : 0U;
  gap->front = gap->front < n ? gap->front : n;
  gap->back = n - gap->front;
  facts->cycle = (VwCycle){period, NAN, found.shots, false, false, false};
}

void
vw_silence_judge(const VwSound*  loop,
                 const VwEvents* events,
                 VwLoopFacts*    facts) {
  const double levels[] = {0.0, SILENT_RATIO * vw_sound_peak(loop)};
  Silences     silences = {0};
  size_t       n = 0;
  VwCycle      cycle = facts->cycle;
  // A sound that goes on falls silent nowhere, whatever repeats in it.
  if (vw_loop_is_sustained(events)) {
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
  judge_rest(loop, events, facts);
  silences = find_silences(loop, levels[1]);
  facts->silence_ms = 1000.0 * (double)over_seam(&silences) / loop->rate_hz;
}

bool
vw_loop_is_single(const VwSound* loop, const VwEvents* events) {
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
