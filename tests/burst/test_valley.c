// The valley between shots, found again by the tests' own measure, and how the
// shots were tightened to reach it: the figures of this project.

#include "burst/burst.h"
#include "support/check.h"
#include "support/made.h"
#include "support/measure.h"
#include "support/signals.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double fire_rates_per_s[] = {5.0, 7.0, 9.0, 11.3, 13.0, 15.0};
static const double asked_db[] = {9.0, 12.0, 20.0};

enum { N_FIRE_RATES = 6, N_ASKED = 3 };

static const SignalBurst bursts[] = {
  // Noise, short and long.
  {.start_s = 0.1, .decay_s = 0.25, .level = 0.4},
  {.start_s = 0.1, .decay_s = 0.6, .level = 0.4},
  {.start_s = 0.1, .decay_s = 1.5, .level = 0.4},
  // A tone, with a hold.
  {.start_s = 0.1, .decay_s = 0.5, .level = 0.4, .pitch_hz = 880.0},
  {.start_s = 0.1,
   .rise_s = 0.004,
   .hold_s = 0.02,
   .decay_s = 0.9,
   .level = 0.4,
   .pitch_hz = 300.0,
   .glide_octaves_per_s = 1.0},
  // Slow: at the higher rates it starts late.
  {.start_s = 0.1, .rise_s = 0.04, .decay_s = 0.5, .level = 0.4},
  {.start_s = 0.1, .rise_s = 0.15, .decay_s = 0.8, .level = 0.4},
  {.start_s = 0.1,
   .rise_s = 0.3,
   .decay_s = 0.5,
   .level = 0.4,
   .pitch_hz = 660.0},
};

enum { N_BURSTS = sizeof(bursts) / sizeof(bursts[0]) };

typedef struct {
  size_t burst;
  double fire_rate_per_s;
  double asked_db;
  VwTail tail;
} ValleyCase;

#define NAME "burst %zu, %g/s, %g dB, tail %d"
#define NAME_OF(c)                                                             \
  (c)->burst, (c)->fire_rate_per_s, (c)->asked_db, (int)(c)->tail

static bool
made_of(const ValleyCase* wanted, Made* made) {
  const SignalBurst* const burst = &bursts[wanted->burst];
  VwSound                  take =
    signal_take(0.2 + burst->rise_s + burst->hold_s + 0.8 * burst->decay_s,
                22050,
                burst,
                200 + wanted->burst);
  VwFamilyOptions options = made_options();
  options.fire_rate_per_s = wanted->fire_rate_per_s;
  options.valley_db = wanted->asked_db;
  options.tail = wanted->tail;
  const bool ok = made_new(&take, &options, made);
  vw_sound_clear(&take);
  return ok;
}

static double
valley_of(const VwFamily* family) {
  return measure_valley_db(&made_piece(family, VW_PART_LOOP)->sound,
                           family->plan.shots);
}

// The valley with half a dB of the bend undone: the shots' decays raised along
// the straight line in dB that the bend is, from 5 ms after the crest on.
static double
valley_with_less_bend(const VwFamily* family) {
  VwSound* const shot = &family->shots[0];
  const double   late_frames =
    family->uses[0].late_start_ms * shot->rate_hz / 1000.0;
  const double bend_at =
    (double)family->uses[0].crest_frame - late_frames + 0.005 * shot->rate_hz;
  const double period = (double)family->plan.n_frames / family->plan.shots;
  const double full_at = period + 0.002 * shot->rate_hz;
  float* const kept = shot->values;
  VwSound      raised = {NULL, 0, 0, 0};
  if (vw_sound_init(&raised, shot->n_frames, shot->n_channels, shot->rate_hz)) {
    return NAN;
  }
  for (size_t i = 0; i < shot->n_frames; ++i) {
    const double along = fmax((double)i - bend_at, 0.0) / (full_at - bend_at);
    raised.values[i] = (float)((double)kept[i] * pow(10.0, 0.5 * along / 20.0));
  }
  shot->values = raised.values;
  const size_t first =
    vw_plan_start(&family->plan, family->run_in_shots + 2 * family->plan.shots);
  VwSound burst =
    made_laid_down(family, family->run_in_shots + 4 * family->plan.shots);
  shot->values = kept;
  VwSound cycle = burst;
  cycle.values += first;
  cycle.n_frames = family->plan.n_frames;
  const double valley_db = measure_valley_db(&cycle, family->plan.shots);
  vw_sound_clear(&burst);
  vw_sound_clear(&raised);
  return valley_db;
}

// As deep as asked; no bend where none is needed; no more than needed.
static bool
check_case(const ValleyCase* wanted) {
  ValleyCase plain = *wanted;
  Made       made;
  Made       untouched;
  plain.asked_db = NAN;
  if (!made_of(wanted, &made) || !made_of(&plain, &untouched)) {
    return false;
  }
  const VwFamily* const family = &made.family;
  const double          found_db = valley_of(family);
  bool                  ok = check_at_least(
    found_db, wanted->asked_db, NAME ": valley", NAME_OF(wanted));
  ok &=
    check_at_most(fabs(fmin(found_db, 60.0) - fmin(family->valley_db, 60.0)),
                  0.1,
                  NAME ": valley reported, off by",
                  NAME_OF(wanted));
  ok &= check_equal(untouched.family.tightening_db,
                    0.0,
                    NAME ": bend where none was asked",
                    NAME_OF(wanted));
  // A late start is a change of its own: it can make a bend needless or not.
  if (family->uses[0].late_start_ms <= 0.0 &&
      valley_of(&untouched.family) >= wanted->asked_db + 0.02) {
    ok &= check_equal(family->tightening_db,
                      0.0,
                      NAME ": bend where none is needed",
                      NAME_OF(wanted));
  }
  if (family->tightening_db > 0.0 && found_db > wanted->asked_db + 0.5) {
    ok &= check_at_most(valley_with_less_bend(family),
                        wanted->asked_db,
                        NAME ": valley with less bend",
                        NAME_OF(wanted));
  }
  made_clear(&untouched);
  made_clear(&made);
  return ok;
}

static void
test_valleys(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < N_BURSTS * N_FIRE_RATES * N_ASKED; ++i) {
    const ValleyCase wanted = {i / N_ASKED / N_FIRE_RATES,
                               fire_rates_per_s[i / N_ASKED % N_FIRE_RATES],
                               asked_db[i % N_ASKED],
                               i % 5 == 4 ? VW_TAIL_CHOKE : VW_TAIL_OVERLAP};
    ok &= check_case(&wanted);
  }
  assert_true(ok);
}

// Frames that two sounds have in common from `first` on, `other` being
// `offset` ahead.
static size_t
equal_until(const VwSound* one,
            const VwSound* other,
            size_t         first,
            size_t         offset) {
  size_t i = first;
  while (i < one->n_frames && i + offset < other->n_frames &&
         one->values[i] == other->values[i + offset]) {
    ++i;
  }
  return i;
}

// Where the frames just before the laid-down shot's crest lie in the shot
// alone: the offset with the longest common run.
static size_t
offset_of(const VwSound* laid, const VwSound* alone, size_t from) {
  size_t best = 0;
  size_t longest = 0;
  for (size_t offset = 0; offset + from < alone->n_frames; ++offset) {
    const size_t n = equal_until(laid, alone, from, offset) - from;
    if (n > longest) {
      longest = n;
      best = offset;
    }
  }
  return best;
}

// The first shot of the burst, from its start (a late one: after its fade-in)
// to just past its crest, is the shot at the same gain, frame for frame.
static bool
check_untouched(const ValleyCase* wanted) {
  Made made;
  if (!made_of(wanted, &made)) {
    return false;
  }
  const VwFamily* const  family = &made.family;
  const VwTakeUse* const use = &family->uses[0];
  const VwSound* const   alone = &made_piece(family, VW_PART_SHOT)->sound;
  const VwSound* const   laid = &family->shots[0];
  const VwSound* const   run_in = &made_piece(family, VW_PART_RUN_IN)->sound;
  const bool             late = use->late_start_ms > 0.0;
  const size_t           from = late ? 1 + laid->rate_hz * 7 / 1000 : 0;
  const size_t           offset = late ? offset_of(laid, alone, from) : 0;
  const size_t           crest = use->crest_frame - offset;
  const double           until = (double)crest + 0.003 * (double)laid->rate_hz;
  bool ok = check_at_least((double)equal_until(laid, alone, from, offset),
                           until,
                           NAME ": first frame that was changed",
                           NAME_OF(wanted));
  const double next = (double)vw_plan_start(&family->plan, 1);
  ok &= check_at_least((double)equal_until(run_in, laid, 0, 0),
                       fmin(until, next),
                       NAME ": first frame that differs in the run-in",
                       NAME_OF(wanted));
  if (late) {
    const double period = (double)family->plan.n_frames / family->plan.shots;
    ok &= check_at_most(fabs((double)crest / period - 0.4),
                        0.03,
                        NAME ": place of the crest in the period, off by",
                        NAME_OF(wanted));
    ok &= check_at_most(
      fabs((double)offset - use->late_start_ms * laid->rate_hz / 1000.0),
      1.0,
      NAME ": late start reported, frames off",
      NAME_OF(wanted));
  }
  made_clear(&made);
  return ok;
}

static void
test_tightening(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < N_BURSTS * N_FIRE_RATES; ++i) {
    const ValleyCase wanted = {i / N_FIRE_RATES,
                               fire_rates_per_s[i % N_FIRE_RATES],
                               asked_db[i % N_ASKED],
                               VW_TAIL_OVERLAP};
    ok &= check_untouched(&wanted);
  }
  assert_true(ok);
}

// A rise too slow for the period is started late, and it is said.
static void
test_late(void** state) {
  (void)state;
  const ValleyCase slow = {7, 9.0, 9.0, VW_TAIL_OVERLAP};
  const ValleyCase fast = {1, 9.0, 9.0, VW_TAIL_OVERLAP};
  const ValleyCase left = {7, 9.0, NAN, VW_TAIL_OVERLAP};
  Made             made;
  assert_true(made_of(&slow, &made));
  assert_true(made.family.uses[0].late_start_ms > 0.0);
  made_clear(&made);
  assert_true(made_of(&fast, &made));
  assert_false(made.family.uses[0].late_start_ms > 0.0);
  made_clear(&made);
  assert_true(made_of(&left, &made));
  assert_false(made.family.uses[0].late_start_ms > 0.0);
  made_clear(&made);
}

/* As it is written */

// Whatever the form and the level: in the file there is what was asked, but for
// 0.1 dB between two meters, or it is said why not; and it is what is reported.
static bool
check_written(const char* name, size_t burst, const VwFamilyOptions* options) {
  VwSound raw = signal_take(1.2, 22050, &bursts[burst], 200 + burst);
  Made    made;
  if (!made_new(&raw, options, &made)) {
    return check_that(false, "%s: made", name);
  }
  const VwFamily* const family = &made.family;
  const VwPiece* const  piece = made_piece(family, VW_PART_LOOP);
  const VwPlan* const   plan = &family->plan;
  VwSound               file = made_written(family, VW_PART_LOOP, 1);
  VwSound               cycle = {NULL, 0, 0, 0};
  assert_int_equal(vw_sound_init(&cycle, plan->n_frames, 1, plan->rate_hz),
                   VW_OK);
  memcpy(cycle.values,
         file.values + piece->loop_start,
         vw_plan_file_frames(plan) * sizeof(float));
  const double valley = measure_valley_db(&cycle, plan->shots);
  bool         ok = check_at_most(fabs(fmin(valley, 60.0) - family->valley_db),
                          0.1,
                          "%s, burst %zu: valley reported, dB off",
                          name,
                          burst);
  if (!family->bent_most) {
    ok &= check_at_least(valley,
                         options->valley_db - 0.1,
                         "%s, burst %zu: valley in the file",
                         name,
                         burst);
  }
  vw_sound_clear(&cycle);
  vw_sound_clear(&file);
  vw_sound_clear(&raw);
  made_clear(&made);
  return ok;
}

static void
test_written(void** state) {
  (void)state;
  static const struct {
    const char* name;
    VwForm      form;
    VwTail      tail;
    VwAim       aim;
    VwLoudAs    loud_as;
    double      at; // Loudness or gain, as aimed.
    double      limiting_db;
    double      valley_db;
    double      gap_ms;
    double      detune_cents;
    unsigned    rate_hz;
    VwEncoding  encoding;
  } cases[] = {
    {"pieces", 0, 0, VW_AIM_LOUDEST, 0, 0, 3, 9, 0, 0, 44100, 1},
    {"deep", 0, 0, VW_AIM_LOUDEST, 0, 0, 3, 30, 0, 0, 44100, 1},
    {"hard", 0, 0, VW_AIM_LOUDEST, 0, 0, 12, 9, 0, 0, 22050, 1},
    {"whole",
     VW_FORM_WHOLE_FILE,
     0,
     VW_AIM_LOUDEST,
     0,
     0,
     6,
     9,
     0,
     0,
     11025,
     1},
    {"gap", VW_FORM_WHOLE_FILE, 0, VW_AIM_LOUDEST, 0, 0, 3, 9, 20, 0, 22050, 1},
    {"points",
     VW_FORM_LOOP_POINTS,
     0,
     VW_AIM_LOUDEST,
     0,
     0,
     3,
     9,
     0,
     0,
     8000,
     1},
    {"choke", 0, VW_TAIL_CHOKE, VW_AIM_LOUDEST, 0, 0, 6, 12, 0, 0, 22050, 1},
    {"varied", 0, 0, VW_AIM_LOUDEST, 0, 0, 3, 9, 0, 25, 22050, 1},
    {"loud", 0, 0, VW_AIM_LOUDNESS, 0, -10, 6, 9, 0, 0, 44100, 1},
    {"gain", 0, 0, VW_AIM_GAIN, 0, 4, 6, 9, 0, 0, 44100, 1},
    {"burst",
     0,
     0,
     VW_AIM_LOUDNESS,
     VW_LOUD_AS_BURST,
     -8,
     6,
     9,
     0,
     0,
     22050,
     1},
    {"keep", 0, 0, VW_AIM_KEEP, 0, 0, 3, 9, 0, 0, 44100, 1},
    {"8 bits", 0, 0, VW_AIM_LOUDEST, 0, 0, 3, 9, 0, 0, 11025, VW_ENCODING_U8},
  };
  bool ok = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]) * N_BURSTS; ++i) {
    const size_t    at = i / N_BURSTS;
    VwFamilyOptions options = vw_family_defaults();
    options.fire_rate_per_s = fire_rates_per_s[i % N_FIRE_RATES];
    options.form = cases[at].form;
    options.tail = cases[at].tail;
    options.level.aim = cases[at].aim;
    options.level.loud_as = cases[at].loud_as;
    *(cases[at].aim == VW_AIM_GAIN ? &options.level.gain_db
                                   : &options.level.loudness_lufs) =
      cases[at].at;
    options.level.limiting_max_db = cases[at].limiting_db;
    options.valley_db = cases[at].valley_db;
    options.gap_ms = cases[at].gap_ms;
    options.detune_cents = cases[at].detune_cents;
    options.format.rate_hz = cases[at].rate_hz;
    options.format.encoding = cases[at].encoding;
    ok &= check_written(cases[at].name, i % N_BURSTS, &options);
  }
  assert_true(ok);
}

// What no bend reaches is known, and so is what the noise of 8 bits fills.
static void
test_short(void** state) {
  (void)state;
  VwSound         raw = signal_take(1.2, 22050, &bursts[7], 207);
  VwFamilyOptions options = vw_family_defaults();
  Made            made;
  options.fire_rate_per_s = 40.0;
  options.valley_db = 40.0;
  assert_true(made_new(&raw, &options, &made));
  bool ok = check_that(made.family.bent_most, "a late crest: bent");
  ok &= check_at_most(made.family.valley_db, 39.0, "a late crest: valley");
  made_clear(&made);
  vw_sound_clear(&raw);
  for (size_t i = 0; i < 2U; ++i) {
    raw = signal_take(1.2, 22050, &bursts[2], 202);
    options.form = i ? VW_FORM_LOOP_POINTS : VW_FORM_PIECES;
    options.format.encoding = VW_ENCODING_U8;
    options.fire_rate_per_s = 9.0;
    assert_true(made_new(&raw, &options, &made));
    ok &= check_that(!made.family.bent_most, "8 bits: bent");
    ok &= check_at_most(made.family.valley_db, 39.0, "8 bits: valley");
    VwSound file = made_written(&made.family, VW_PART_LOOP, 1);
    VwSound cycle = file;
    cycle.values += made_piece(&made.family, VW_PART_LOOP)->loop_start;
    cycle.n_frames = made.family.plan.n_frames;
    ok &= check_at_most(fabs(measure_valley_db(&cycle, made.family.plan.shots) -
                             made.family.valley_db),
                        0.1,
                        "8 bits, form %zu: valley reported, dB off",
                        i);
    vw_sound_clear(&file);
    vw_sound_clear(&raw);
    made_clear(&made);
  }
  assert_true(ok);
}

/* Places */

/// The highest and the lowest level of [from, to) of a cycle, by the tests' own
/// measure, and the lowest after the highest.
typedef struct {
  double crest_db;
  size_t crest;
  size_t quiet;
} Places;

static Places
find_places(const double* level, size_t from, size_t to) {
  Places places = {.crest = from, .quiet = from};
  for (size_t i = from; i < to; ++i) {
    if (level[i] > level[places.crest]) {
      places.crest = i;
      places.quiet = i;
    }
    places.quiet = level[i] < level[places.quiet] ? i : places.quiet;
  }
  places.crest_db = 10.0 * log10(level[places.crest]);
  return places;
}

/// Whether a loop's shallowest valley lies where the tests' own measure has it.
static bool
check_places(size_t burst) {
  const ValleyCase wanted = {burst, 7.0, 9.0, VW_TAIL_OVERLAP};
  VwValley         valley = {0};
  Made             made;
  if (!made_of(&wanted, &made)) {
    return false;
  }
  const VwPlan* const  plan = &made.family.plan;
  const VwSound* const loop = &made_piece(&made.family, VW_PART_LOOP)->sound;
  assert_int_equal(vw_valley_of_loop(loop, plan, &valley), VW_OK);
  VwSound       played = measure_played(loop, 5);
  double* const level = measure_level(&played);
  const size_t  n = loop->n_frames;
  const Places  own = find_places(level + 2U * n,
                                 vw_plan_start(plan, valley.shot),
                                 vw_plan_start(plan, valley.shot + 1U));
  const double  ms = 1000.0 / loop->rate_hz;
  bool          ok =
    check_at_most(fabs(valley.depth_db - measure_valley_db(loop, plan->shots)),
                  0.2,
                  "burst %zu: depth, dB off",
                  burst);
  ok &= check_at_most(fabs(valley.crest_dbfs - own.crest_db),
                      0.1,
                      "burst %zu: crest, dB off",
                      burst);
  ok &=
    check_at_most(fabs(valley.quiet_dbfs - valley.crest_dbfs + valley.depth_db),
                  1e-9,
                  "burst %zu: quiet, dB off",
                  burst);
  // Where the level is all but flat, both may point anywhere on it.
  ok &= check_at_most(
    fabs(10.0 * log10(level[2U * n + valley.crest_frame]) - own.crest_db),
    0.1,
    "burst %zu: level at the crest's frame, %g ms off",
    burst,
    ms * ((double)valley.crest_frame - (double)own.crest));
  ok &= check_at_most(fabs(10.0 * log10(level[2U * n + valley.quiet_frame] /
                                        level[2U * n + own.quiet])),
                      0.3,
                      "burst %zu: level at the valley's frame, %g ms off",
                      burst,
                      ms * ((double)valley.quiet_frame - (double)own.quiet));
  VwPlan other = *plan;
  other.n_frames += 1U;
  ok &= check_that(vw_valley_of_loop(loop, &other, &valley) == VW_BAD_OPTION,
                   "another's plan");
  free(level);
  vw_sound_clear(&played);
  made_clear(&made);
  return ok;
}

static void
test_places(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < N_BURSTS; ++i) {
    ok &= check_places(i);
  }
  assert_true(ok);
}

/// Energy below and above 1 kHz in the second half of the periods of a loop.
static void
split_late(const VwSound* loop, unsigned shots, double energy[2]) {
  const double pole = 1.0 - exp(-2.0 * acos(-1.0) * 1000.0 / loop->rate_hz);
  double       low = 0.0;
  energy[0] = energy[1] = 0.0;
  for (size_t i = 0; i < loop->n_frames; ++i) {
    const double x = (double)loop->values[i];
    low += pole * (x - low);
    if (2U * (i * shots % loop->n_frames) > loop->n_frames) {
      energy[0] += low * low;
      energy[1] += (x - low) * (x - low);
    }
  }
}

// A natural bend reaches the valley too, and leaves more of the lows and less
// of the highs than a plain one.
static void
test_natural(void** state) {
  (void)state;
  static const SignalBurst noise = {
    .start_s = 0.05, .decay_s = 0.8, .level = 0.2};
  VwSound raw = signal_take(1.0, 44100U, &noise, 5U);
  double  energy[2][2];
  bool    ok = true;
  for (int i = 0; i < 2; ++i) {
    VwFamilyOptions options = made_options();
    Made            made;
    options.fire_rate_per_s = 8.0;
    options.valley_db = 15.0;
    options.tightening = i ? VW_BEND_NATURAL : VW_BEND_PLAIN;
    options.level.aim = VW_AIM_KEEP;
    assert_true(made_new(&raw, &options, &made));
    const VwSound* const loop = &made_piece(&made.family, VW_PART_LOOP)->sound;
    ok &= check_at_least(
      measure_valley_db(loop, made.family.plan.shots), 14.95, "bend %d", i);
    split_late(loop, made.family.plan.shots, energy[i]);
    made_clear(&made);
  }
  ok &= check_at_least(
    10.0 * log10(energy[1][0] / energy[0][0]), 1.0, "lows left, dB");
  ok &= check_at_most(
    10.0 * log10(energy[1][1] / energy[0][1]), 0.0, "highs left, dB");
  assert_true(ok);
  vw_sound_clear(&raw);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_valleys),
    cmocka_unit_test(test_tightening),
    cmocka_unit_test(test_late),
    cmocka_unit_test(test_written),
    cmocka_unit_test(test_short),
    cmocka_unit_test(test_places),
    cmocka_unit_test(test_natural),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
