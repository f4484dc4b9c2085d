// The fire rate from a written loop, and from somebody's recording of rapid
// fire, both simulated here: the figures of this project. On-time from a sound.

#include "lamp/lamp.h"
#include "support/check.h"
#include "support/made.h"
#include "support/recordings.h"
#include "support/signals.h"

#include "take/events.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

/* Loops */

// Cases of loops, how many were read right, of how many others it was said that
// it is not sure, and how many gaps were found.
typedef struct {
  size_t n;
  size_t n_right;
  size_t n_open;
  size_t n_gaps;
} Tally;

static bool
check_read(const VwFamily*    family,
           const VwLoopKnown* known,
           const char*        name,
           Tally*             tally) {
  const VwPlan* const plan = &family->plan;
  VwSound             loop = made_written(family, VW_PART_LOOP, 1);
  VwRateFound         found = {0};
  const VwStatus      st = vw_rate_of_loop(&loop, known, &found);
  const bool          right = !st && found.shots == plan->shots;
  const bool   open = st == VW_NO_STEADY_RATE || (!right && found.other_shots);
  const double gap_ms = 1000.0 * (double)plan->gap_frames / plan->rate_hz;
  const double off = found.fire_rate_per_s / plan->fire_rate_per_s - 1.0;
  ++tally->n;
  tally->n_right += right ? 1 : 0;
  tally->n_open += open ? 1 : 0;
  tally->n_gaps += right && fabs(found.gap_ms - gap_ms) < 0.5 ? 1 : 0;
  check_that(right,
             "%s: %zu shots found (or %zu), %u in it at %.4g/s, gap %.0f ms, "
             "%u Hz: %s",
             name,
             found.shots,
             found.other_shots,
             plan->shots,
             plan->fire_rate_per_s,
             gap_ms,
             plan->rate_hz,
             vw_strerror(st));
  vw_sound_clear(&loop);
  // With the number and the gap the rate is exact.
  return !right || isnan(known->gap_ms) ||
         check_at_most(fabs(off), 1e-12, "%s: rate", name);
}

// With the gap given, and as if nobody told it.
static void
check_loop(const VwFamily* family, const char* name, Tally tallies[2]) {
  const VwPlan* const plan = &family->plan;
  VwLoopKnown         known = vw_loop_unknown();
  assert_true(check_read(family, &known, name, &tallies[1]));
  known.gap_ms = 1000.0 * (double)plan->gap_frames / plan->rate_hz;
  assert_true(check_read(family, &known, name, &tallies[0]));
}

static void
tell(const char* what, const Tally tallies[2]) {
  static const char* const names[] = {"gap given", "gap not given"};
  for (size_t i = 0; i < 2; ++i) {
    fprintf(stderr,
            "%s, %s: %zu of %zu, %zu others not sure, %zu gaps\n",
            what,
            names[i],
            tallies[i].n_right,
            tallies[i].n,
            tallies[i].n_open,
            tallies[i].n_gaps);
  }
}

// At least 199 of 200 are read right with the gap given and without, and every
// other is said to be not sure.
static bool
are_right(const Tally tallies[2]) {
  bool ok = true;
  for (size_t i = 0; i < 2; ++i) {
    const Tally* const tally = &tallies[i];
    const double       n = (double)tally->n;
    ok &= check_at_most(0.995 * n, (double)tally->n_right, "right");
    ok &= check_at_most(
      n, (double)(tally->n_right + tally->n_open), "right or not sure");
  }
  return ok;
}

static const SignalBurst bursts[] = {
  {.start_s = 0.05, .decay_s = 0.15, .level = 0.4, .pitch_hz = 1100.0},
  {.start_s = 0.05, .decay_s = 0.4, .level = 0.4},
  {.start_s = 0.05, .decay_s = 1.2, .level = 0.4},
  {.start_s = 0.05, .rise_s = 0.03, .decay_s = 0.5, .level = 0.4},
  {.start_s = 0.05, .decay_s = 0.6, .level = 0.4, .pitch_hz = 700.0},
  {.start_s = 0.05,
   .hold_s = 0.03,
   .decay_s = 0.3,
   .level = 0.4,
   .pitch_hz = 2000.0,
   .glide_octaves_per_s = -6.0},
};

static const double rates[] =
  {2.0, 3.7, 5.0, 6.3, 7.77, 9.0, 10.0, 11.3, 14.6, 17.0, 20.0};

static const unsigned rates_hz[] = {8000, 22050, 44100};

static const double gaps_ms[] = {10.0, 20.0, 40.0, 80.0};

// A take and what was found in it.
typedef struct {
  VwTake      take;
  VwShotFacts facts;
} Found;

static Found
found_in(const VwSound* raw) {
  const VwFindOptions options = vw_find_defaults();
  Found               found;
  assert_int_equal(vw_take_prepare(raw, &found.take), VW_OK);
  assert_int_equal(vw_find(&found.take, &options, &found.facts), VW_OK);
  return found;
}

static Found
found_burst(size_t kind, uint64_t seed) {
  VwSound     raw = signal_take(1.2, 44100, &bursts[kind], seed);
  const Found found = found_in(&raw);
  vw_sound_clear(&raw);
  return found;
}

static void
set_gap(VwFamilyOptions* options, double gap_ms) {
  options->gap_ms = gap_ms;
  options->form = gap_ms > 0.0 ? VW_FORM_WHOLE_FILE : options->form;
}

// How loud a loop is, is no matter here, and takes long to find.
static VwFamilyOptions
quick_options(void) {
  VwFamilyOptions options = made_options();
  options.level.aim = VW_AIM_KEEP;
  return options;
}

static VwFamilyOptions
plain_options(size_t i, int way) {
  VwFamilyOptions options = quick_options();
  options.format.rate_hz = rates_hz[i % COUNT(rates_hz)];
  options.format.encoding = way == 1 ? VW_ENCODING_U8 : VW_ENCODING_S16;
  options.fire_rate_per_s = rates[i / COUNT(bursts)];
  options.form = way == 2 ? VW_FORM_WHOLE_FILE : VW_FORM_PIECES;
  options.shots = way == 3 ? 3 : 0;
  options.detune_cents = way >= 4 ? 35.0 : 0.0;
  options.level_spread_db = way >= 4 ? 1.5 : 0.0;
  options.tail = way == 5 ? VW_TAIL_CHOKE : VW_TAIL_OVERLAP;
  options.cycle_max_s = 6.0;
  return options;
}

// One take, plain and varied, without a gap and with one.
static void
test_plain_loops(void** state) {
  (void)state;
  Tally tallies[2] = {{0}, {0}};
  Found founds[COUNT(bursts)];
  for (size_t kind = 0; kind < COUNT(bursts); ++kind) {
    founds[kind] = found_burst(kind, 8 + kind);
  }
  for (size_t i = 0; i < COUNT(bursts) * COUNT(rates); ++i) {
    for (int way = 0; way < 12; ++way) {
      // It takes long to make them all: from rate to rate other kinds.
      const bool varied = way % 6 > 3 || way > 5;
      if ((i + i / COUNT(bursts) + (size_t)way) % (varied ? 4U : 2U)) {
        continue;
      }
      const size_t       kind = i % COUNT(bursts);
      const Found* const found = &founds[kind];
      VwFamilyOptions    options = plain_options(i, way % 6);
      VwFamily           family;
      char               name[80];
      set_gap(&options,
              way < 6 ? 0.0
                      : gaps_ms[(i + i / 4 + (size_t)way) % COUNT(gaps_ms)]);
      snprintf(name, sizeof(name), "burst %zu, way %d", kind, way);
      assert_int_equal(
        vw_family_make(&found->take, &found->facts, 1, &options, &family),
        VW_OK);
      check_loop(&family, name, tallies);
      vw_family_clear(&family);
    }
  }
  for (size_t kind = 0; kind < COUNT(bursts); ++kind) {
    vw_take_clear(&founds[kind].take);
  }
  tell("plain", tallies);
  // Of loops that vary the gap is known to a few ms alone.
  assert_true(4U * tallies[1].n_gaps > 3U * tallies[1].n);
  assert_true(are_right(tallies));
}

// Takes that take turns: each has a course of its own.
static void
check_turns(size_t i, size_t n_takes, double gap_ms, Tally tallies[2]) {
  VwFamilyOptions options = quick_options();
  VwTake          takes[5];
  VwShotFacts     facts[5];
  VwFamily        family;
  char            name[80];
  for (size_t k = 0; k < n_takes; ++k) {
    const Found found = found_burst((i + k) % COUNT(bursts), k + 3);
    takes[k] = found.take;
    facts[k] = found.facts;
  }
  options.format.rate_hz = 22050;
  options.fire_rate_per_s = rates[i];
  options.cycle_max_s = 6.0;
  set_gap(&options, gap_ms);
  snprintf(name, sizeof(name), "%zu takes", n_takes);
  assert_int_equal(vw_family_make(takes, facts, n_takes, &options, &family),
                   VW_OK);
  check_loop(&family, name, tallies);
  vw_family_clear(&family);
  for (size_t k = 0; k < n_takes; ++k) {
    vw_take_clear(&takes[k]);
  }
}

static void
test_turns(void** state) {
  (void)state;
  Tally tallies[2] = {{0}, {0}};
  for (size_t i = 0; i < COUNT(rates); ++i) {
    for (size_t n_takes = 2; n_takes <= 5; ++n_takes) {
      check_turns(i, n_takes, 0.0, tallies);
      check_turns(i, n_takes, gaps_ms[(i + n_takes) % COUNT(gaps_ms)], tallies);
    }
  }
  tell("turns", tallies);
  assert_true(are_right(tallies));
}

static Tally real[2];

static bool
check_recording(const char* name, const VwSound* raw) {
  static size_t n_before;
  const Found   found = found_in(raw);
  // What may be several shots rises between those of its loop.
  const bool unsure = found.facts.sure < VW_SURE_LEAST &&
                      found.facts.other_kind == VW_KIND_SEVERAL_SHOTS;
  for (size_t i = 0; i < 12 && !unsure; ++i) {
    if (i >= 6 && (i + n_before) % 2) {
      continue;
    }
    VwFamilyOptions options = quick_options();
    VwFamily        family;
    options.fire_rate_per_s = (double[]){0.0, 5.0, 6.3, 9.0, 11.3, 14.6}[i % 6];
    options.format.encoding = VW_ENCODING_S16;
    options.format.rate_hz = i % 2 ? 22050 : 44100;
    options.detune_cents = i % 6 > 3 ? 20.0 : 0.0;
    options.level_spread_db = i % 6 > 3 ? 1.0 : 0.0;
    set_gap(&options, i < 6 ? 0.0 : gaps_ms[(i + n_before) % COUNT(gaps_ms)]);
    if (vw_family_make(&found.take, &found.facts, 1, &options, &family)) {
      continue;
    }
    // Where the valley asked, 9 dB, is missed, no shots can be told apart.
    if (found.facts.kind != VW_KIND_SUSTAINED && family.valley_db > 8.0) {
      check_loop(&family, name, real);
    }
    vw_family_clear(&family);
  }
  VwTake take = found.take;
  vw_take_clear(&take);
  ++n_before;
  return true;
}

// Loops of real recordings, plain and varied.
static void
test_real_loops(void** state) {
  (void)state;
  recordings_each(check_recording);
  tell("real", real);
  assert_true(are_right(real));
  assert_true(real[0].n > 190);
}

// The board's gap makes the period longer: 100 and 25 ms (closed form).
static void
test_gap(void** state) {
  (void)state;
  const SignalBurst burst = {.start_s = 0.002, .decay_s = 0.2, .level = 0.4};
  const VwLoopKnown known = {0, 25.0};
  VwSound           loop = signal_silence(0.1, 44100);
  SignalRandom      random = signal_random(2);
  VwRateFound       found = {0};
  signal_add_burst(&loop, &burst, &random);
  assert_int_equal(vw_rate_of_loop(&loop, &known, &found), VW_OK);
  assert_true(check_equal(found.fire_rate_per_s, 8.0, "rate with a gap"));
  vw_sound_clear(&loop);
}

// A person may know better: 100 ms with 4 shots are 40 a second (closed form).
static void
test_known_shots(void** state) {
  (void)state;
  const SignalBurst burst = {.start_s = 0.002, .decay_s = 0.2, .level = 0.4};
  const VwLoopKnown known = {4, 0.0};
  VwSound           loop = signal_silence(0.1, 44100);
  SignalRandom      random = signal_random(2);
  VwRateFound       found = {0};
  signal_add_burst(&loop, &burst, &random);
  assert_int_equal(vw_rate_of_loop(&loop, &known, &found), VW_OK);
  assert_true(check_equal((double)found.shots, 4.0, "shots that are known"));
  assert_true(check_equal(found.fire_rate_per_s, 40.0, "rate"));
  assert_true(check_equal((double)found.other_shots, 0.0, "nothing is open"));
  vw_sound_clear(&loop);
}

// Sounds with no shots in them.
static void
test_no_shots(void** state) {
  (void)state;
  const VwFindOptions finding = vw_find_defaults();
  bool                ok = true;
  for (int kind = 0; kind < 7; ++kind) {
    const VwLoopKnown known = {0, 0.0};
    const bool        hums = kind == 4;
    VwSound           sound = hums ? signal_silence(6.0, 44100)
                                   : signal_silence(kind > 4 ? 2.0 : 1.0, 22050);
    SignalRandom      random = signal_random(9);
    VwRateFound       found = {.shots = 99};
    if (kind == 1) {
      signal_add_noise(&sound, 0.1, &random);
    } else if (kind == 2) {
      signal_add_tone(&sound, 150.0, 0.3, 0.0);
    } else if (kind == 3) {
      signal_add_offset(&sound, 0.3);
    } else if (hums) {
      signal_add_tone(&sound, 101.3, 0.3, 0.0);
      signal_add_tone(&sound, 202.6, 0.15, 0.3);
      signal_add_tone(&sound, 911.7, 0.05, 0.0);
    } else if (kind > 4) {
      // From 200 Hz to 2 kHz, with a fade of 10 or 50 ms at its start.
      const SignalBurst glide = {.rise_s = kind == 5 ? 0.01 : 0.05,
                                 .level = 0.5,
                                 .pitch_hz = 200.0,
                                 .glide_octaves_per_s = 1.661};
      signal_add_burst(&sound, &glide, &random);
    }
    ok &=
      check_that(vw_rate_of_loop(&sound, &known, &found) == VW_NO_STEADY_RATE,
                 "kind %d as a loop: %zu",
                 kind,
                 found.shots);
    ok &= check_that(vw_rate_of_recording(&sound, &finding, &found) ==
                       VW_NO_STEADY_RATE,
                     "kind %d as a recording: %zu",
                     kind,
                     found.shots);
    ok &= check_equal((double)found.shots, 99, "untouched");
    vw_sound_clear(&sound);
  }
  assert_true(ok);
}

/* Recordings */

/// Rapid fire, as planted.
typedef struct {
  VwSound sound;
  size_t  n;
  double  rate_per_s; ///< Asked for.
  double  line_per_s; ///< Of the line through the starts.
} Planted;

// 4 to 30 per second, jitter up to 3 ms (but 5 % of the period, more is not
// steady), levels within 6 dB, 5 to 60 shots, noise and a lead-in.
static Planted
rapid_fire(SignalRandom* random) {
  const double rate = 4.0 * pow(7.5, signal_uniform(random));
  const size_t n = 5 + (size_t)(55.9 * signal_uniform(random));
  const double lead_s = 0.05 + 0.8 * signal_uniform(random);
  const double jitter_s = fmin(0.003 * signal_uniform(random), 0.05 / rate);
  const bool   tonal = signal_uniform(random) < 0.3;
  VwSound      sound = signal_silence(lead_s + (double)n / rate + 0.5, 22050);
  SignalBurst  burst = {.rise_s = 0.001 + 0.002 * signal_uniform(random),
                        .decay_s = (1.0 + 2.0 * signal_uniform(random)) / rate,
                        .pitch_hz =
                         tonal ? 400.0 + 1500.0 * signal_uniform(random) : 0.0};
  const double middle = 0.5 * (double)(n - 1);
  double       product = 0.0;
  double       square = 0.0;
  for (size_t i = 0; i < n; ++i) {
    const double k = (double)i - middle;
    burst.start_s =
      lead_s + (double)i / rate + jitter_s * signal_normal(random);
    burst.level = 0.3 * pow(10.0, 0.3 * (signal_uniform(random) - 0.5));
    product += k * burst.start_s;
    square += k * k;
    signal_add_burst(&sound, &burst, random);
  }
  signal_add_noise(
    &sound, 0.3 * pow(10.0, -1.0 - signal_uniform(random)), random);
  return (Planted){sound, n, rate, square / product};
}

enum { RECORDED = 100 };

// The rate is that of the line, and what is said of its uncertainty is true.
static void
test_recordings(void** state) {
  (void)state;
  const VwFindOptions finding = vw_find_defaults();
  SignalRandom        random = signal_random(77);
  size_t              n_found = 0;
  size_t              n_near = 0;
  size_t              n_true = 0;
  for (int i = 0; i < RECORDED; ++i) {
    Planted     planted = rapid_fire(&random);
    VwRateFound found = {0};
    if (!vw_rate_of_recording(&planted.sound, &finding, &found)) {
      const double off = fabs(found.fire_rate_per_s / planted.line_per_s - 1.0);
      const double off_per_s = fabs(found.fire_rate_per_s - planted.rate_per_s);
      const bool   is_true = off_per_s <= found.uncertainty_per_s;
      ++n_found;
      n_near += off <= 0.003 ? 1U : 0U;
      n_true += is_true ? 1U : 0U;
      if (off > 0.003) {
        fprintf(stderr,
                "%d: %zu at %g/s, %g, %zu found\n",
                i,
                planted.n,
                planted.line_per_s,
                found.fire_rate_per_s,
                found.shots);
      }
    } else {
      fprintf(stderr,
              "none: %d, %g/s, %zu shots\n",
              i,
              planted.rate_per_s,
              planted.n);
    }
    vw_sound_clear(&planted.sound);
  }
  fprintf(stderr,
          "found %zu of %d, near %zu, uncertainty true %zu\n",
          n_found,
          RECORDED,
          n_near,
          n_true);
  assert_true(check_at_most(0.97 * RECORDED, (double)n_found, "found"));
  assert_true(check_at_most(0.97 * RECORDED, (double)n_near, "near"));
  assert_true(check_at_most(0.93 * RECORDED, (double)n_true, "true"));
}

// Shots at random are no steady rate.
static void
test_unsteady(void** state) {
  (void)state;
  const VwFindOptions finding = vw_find_defaults();
  SignalRandom        random = signal_random(31);
  size_t              n_found = 0;
  for (int i = 0; i < 40; ++i) {
    VwSound     sound = signal_silence(4.0, 22050);
    VwRateFound found;
    double      at = 0.1;
    while (at < 3.6) {
      const SignalBurst burst = {
        .start_s = at, .decay_s = 0.15, .level = 0.3, .rise_s = 0.001};
      signal_add_burst(&sound, &burst, &random);
      at += 0.06 + 0.5 * signal_uniform(&random);
    }
    n_found += vw_rate_of_recording(&sound, &finding, &found) == VW_OK ? 1 : 0;
    vw_sound_clear(&sound);
  }
  assert_true(check_at_most((double)n_found, 0, "rates where there is none"));
}

int
main(int argc, char** argv) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_plain_loops),
    cmocka_unit_test(test_turns),
    cmocka_unit_test(test_real_loops),
    cmocka_unit_test(test_gap),
    cmocka_unit_test(test_known_shots),
    cmocka_unit_test(test_no_shots),
    cmocka_unit_test(test_recordings),
    cmocka_unit_test(test_unsteady),
  };
  if (!recordings_find(argc > 1 ? argv[1] : NULL)) {
    return RECORDINGS_MISSING;
  }
  return cmocka_run_group_tests(tests, NULL, NULL);
}
