// Real recordings: the 34 WAV files of the Debian package bzflag-data. Figures
// are those of this project, measured by the tests' own means.

#include "burst/burst.h"
#include "signal/signal.h"
#include "support/check.h"
#include "support/made.h"
#include "support/measure.h"
#include "support/recordings.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double fire_rates_per_s[] = {6.0, 9.0, 12.0};
static const double valleys_db[] = {9.0, 12.0, 20.0};

// No shots: hums and rumbles, exempt from fire rate and valley.
static const char* const sustained[] = {"phantom.wav",
                                        "burrow.wav",
                                        "steamroller.wav"};

// Of how many recordings there is a fastest rate.
static size_t n_untouched;

static bool
is_sustained(const char* name) {
  for (size_t i = 0; i < sizeof(sustained) / sizeof(sustained[0]); ++i) {
    if (!strcmp(name, sustained[i])) {
      return true;
    }
  }
  return false;
}

// What an inspection says makes sense, and calls a hum a hum.
static bool
check_found(const char* name, const VwSound* raw) {
  const VwFindOptions options = vw_find_defaults();
  VwTake              take;
  VwShotFacts         facts;
  bool ok = check_equal(vw_take_prepare(raw, &take), VW_OK, "%s: take", name);
  ok = ok &&
       check_equal(vw_find(&take, &options, &facts), VW_OK, "%s: found", name);
  if (!ok) {
    return false;
  }
  ok &= check_that(facts.attack_frame < facts.crest_frame, "%s: rises", name);
  ok &= check_that(facts.crest_frame < facts.end_frame, "%s: falls", name);
  ok &= check_that(facts.end_frame <= raw->n_frames, "%s: ends", name);
  if (is_sustained(name)) {
    ok &= check_equal(facts.kind, VW_KIND_SUSTAINED, "%s: kind", name);
  }
  if (!strcmp(name, "laser.wav")) {
    ok &=
      check_at_most(fabs(facts.dc_offset - 0.244), 0.001, "%s: offset", name);
  }
  if (!strcmp(name, "hunt.wav")) {
    ok &=
      check_at_least((double)facts.n_clipped_frames, 10.0, "%s: clipped", name);
  }
  if (!strcmp(name, "message_team.wav")) {
    ok &= check_at_least(facts.attack_ms, 34.0, "%s: attack", name);
  }
  if (!strcmp(name, "missile.wav") || !strcmp(name, "shock.wav")) {
    ok &= check_that(facts.slow, "%s: slow", name);
  }
  vw_take_clear(&take);
  return ok;
}

// The highest power of any `s` seconds of frames [from, to), every half.
static double
highest_power(const VwSound* sound, double s, size_t from, size_t to) {
  const size_t n = (size_t)(s * sound->rate_hz);
  double       highest = 0.0;
  for (size_t at = from; at + n <= to; at += n / 2) {
    double sum = 0.0;
    for (size_t i = at * sound->n_channels; i < (at + n) * sound->n_channels;
         ++i) {
      sum += (double)sound->values[i] * (double)sound->values[i];
    }
    highest = fmax(highest, sum / (double)(n * sound->n_channels));
  }
  return highest;
}

// Nothing within 40 dB of the crest is cut away in front, nothing within 50 dB
// behind, but for noise that was found and other shots.
static bool
check_kept(const char* name, const VwSound* sound, const VwShotFacts* facts) {
  const size_t lead = (size_t)lround(0.002 * sound->rate_hz);
  const size_t from =
    facts->attack_frame > lead ? facts->attack_frame - lead : 0;
  const size_t end = facts->end_frame;
  const double before = highest_power(sound, 0.001, 0, from);
  const double behind = highest_power(sound, 0.020, end, sound->n_frames);
  const double noise = pow(10.0, (facts->noise_floor_dbfs + 6.0) / 10.0);
  bool         ok = true;
  if (facts->shots_in_take == 1) {
    ok &= check_at_most(before,
                        1e-4 * highest_power(sound, 0.001, from, end),
                        "%s: before",
                        name);
    ok &= check_at_most(behind,
                        fmax(1e-5 * highest_power(sound, 0.020, from, end),
                             isnan(noise) ? 0.0 : noise),
                        "%s: behind",
                        name);
  }
  return ok;
}

// Digital silence about a take moves nothing, at any sample rate.
static bool
check_silence_about(const char* name, const VwSound* raw) {
  static const unsigned rates_hz[] = {
    8000, 11025, 16000, 22050, 32000, 44100, 48000, 96000};
  const VwFindOptions options = vw_find_defaults();
  bool                ok = true;
  for (size_t i = 0; i < sizeof(rates_hz) / sizeof(rates_hz[0]); ++i) {
    const size_t before = rates_hz[i] / 5;
    VwSound      sounds[2] = {{0}};
    VwTake       takes[2];
    VwShotFacts  facts[2];
    assert_int_equal(vw_convert(raw, rates_hz[i], &sounds[0]), VW_OK);
    const size_t n = sounds[0].n_frames;
    assert_int_equal(vw_sound_init(&sounds[1],
                                   before + n + rates_hz[i] * 3 / 10,
                                   raw->n_channels,
                                   rates_hz[i]),
                     VW_OK);
    memcpy(sounds[1].values + before * raw->n_channels,
           sounds[0].values,
           n * raw->n_channels * sizeof(float));
    for (size_t j = 0; j < 2; ++j) {
      assert_int_equal(vw_take_prepare(&sounds[j], &takes[j]), VW_OK);
      assert_int_equal(vw_find(&takes[j], &options, &facts[j]), VW_OK);
    }
    ok &= check_at_most(fabs(facts[1].attack_ms - facts[0].attack_ms - 200.0),
                        0.5,
                        "%s at %u Hz: attack moves",
                        name,
                        rates_hz[i]);
    ok &= check_at_most(fabs(facts[1].end_ms - facts[0].end_ms - 200.0),
                        5.0,
                        "%s at %u Hz: end moves",
                        name,
                        rates_hz[i]);
    ok &= check_kept(name, &takes[0].sound, &facts[0]);
    for (size_t j = 0; j < 2; ++j) {
      vw_take_clear(&takes[j]);
      vw_sound_clear(&sounds[j]);
    }
  }
  return ok;
}

static bool
check_shot(const char* name, const VwFamily* family) {
  const VwSound* const shot = &made_piece(family, VW_PART_SHOT)->sound;
  const size_t         last = (shot->n_frames - 1) * shot->n_channels;
  bool ok = check_equal(shot->values[0], 0.0, "%s: first frame", name);
  ok &= check_equal(shot->values[last], 0.0, "%s: last frame", name);
  ok &= check_at_most(
    measure_step_max(shot, 0, (size_t)lround(0.002 * shot->rate_hz)),
    2.0 * measure_step_percentile(shot, 0.999),
    "%s: step before the attack",
    name);
  return ok;
}

static bool
check_identity(const char* name, const VwFamily* family) {
  bool ok = true;
  for (size_t k = 0; k <= 5; ++k) {
    VwSound joined = made_joined(family, k);
    VwSound laid =
      made_laid_down(family, family->run_in_shots + k * family->plan.shots);
    ok &= check_at_most(measure_difference(&joined, &laid),
                        1e-6,
                        "%s, %.0f/s, k = %zu: difference",
                        name,
                        family->plan.fire_rate_asked_per_s,
                        k);
    vw_sound_clear(&joined);
    vw_sound_clear(&laid);
  }
  return ok;
}

// The cycle that follows two loops against the loop itself.
static bool
check_seam(const char* name, const VwFamily* family) {
  const VwSound* const loop = &made_piece(family, VW_PART_LOOP)->sound;
  const size_t         n_values = loop->n_frames * loop->n_channels;
  VwSound              laid =
    made_laid_down(family, family->run_in_shots + 3 * family->plan.shots);
  const size_t at =
    (vw_plan_start(&family->plan, family->run_in_shots) + loop->n_frames) *
    loop->n_channels;
  double energy = 1e-30;
  double rest = 0.0;
  for (size_t i = 0; i < n_values; ++i) {
    const double value = (double)loop->values[i];
    rest += pow((double)laid.values[at + i] - value, 2.0);
    energy += value * value;
  }
  vw_sound_clear(&laid);
  bool ok = check_at_most(10.0 * log10(fmax(rest / energy, 1e-20)),
                          -90.0,
                          "%s: join residual measured",
                          name);
  ok &= check_at_most(
    family->join_residual_db, -90.0, "%s: join residual reported", name);
  return ok;
}

static bool
check_rate(const char* name, const VwFamily* family) {
  const VwPlan* const  plan = &family->plan;
  const VwSound* const loop = &made_piece(family, VW_PART_LOOP)->sound;
  bool                 ok =
    check_equal(plan->fire_rate_per_s,
                (double)plan->shots * loop->rate_hz / (double)loop->n_frames,
                "%s: fire rate",
                name);
  ok &= check_at_most(
    fabs(plan->error_ppm), 1000.0, "%s: error of the fire rate", name);
  return ok;
}

// The loop played for 30 s repeats itself as often as is said.
static bool
check_played(const char* name, const VwFamily* family) {
  const VwPlan* const plan = &family->plan;
  const VwSound*      loop = &made_piece(family, VW_PART_LOOP)->sound;
  const double        length_s = (double)loop->n_frames / loop->rate_hz;
  VwSound      played = measure_played(loop, (size_t)ceil(30.0 / length_s));
  const double period_s = measure_period_s(&played);
  vw_sound_clear(&played);
  bool ok =
    check_at_most(fabs(1.0 / period_s / plan->fire_rate_per_s - 1.0) * 1e6,
                  100.0,
                  "%s, %.0f/s: ppm off in the loop played",
                  name,
                  plan->fire_rate_asked_per_s);
  ok &= check_equal(round(length_s / period_s),
                    plan->shots,
                    "%s, %.0f/s: N in the loop played",
                    name,
                    plan->fire_rate_asked_per_s);
  return ok;
}

// As asked, tight where bent, untouched where no bend is needed.
static bool
check_valley(const char* name, const VwFamily* family) {
  const double   asked = family->valley_asked_db;
  const VwSound* loop = &made_piece(family, VW_PART_LOOP)->sound;
  const double   valley = measure_valley_db(loop, family->plan.shots);
  bool           ok = check_at_least(valley,
                           asked,
                           "%s, %.0f/s, %.0f dB: valley",
                           name,
                           family->plan.fire_rate_asked_per_s,
                           asked);
  if (family->tightening_db > 0.0) {
    ok &= check_at_most(valley,
                        asked + 0.5,
                        "%s, %.0f/s, %.0f dB: valley where bent",
                        name,
                        family->plan.fire_rate_asked_per_s,
                        asked);
  }
  return ok;
}

// The burst's first shot is the single shot to just past its crest.
static bool
check_untouched(const char* name, const VwFamily* family) {
  const VwTakeUse* const use = family->uses;
  const VwSound* const   alone = &made_piece(family, VW_PART_SHOT)->sound;
  const double           rate_hz = alone->rate_hz;
  const size_t n_late = (size_t)lround(use->late_start_ms * rate_hz / 1000.0);
  const size_t from = n_late ? (size_t)lround(0.0075 * rate_hz) : 0;
  const size_t to = use->crest_frame - n_late + (size_t)lround(0.003 * rate_hz);
  double       most = 0.0;
  for (size_t i = from; i < to && i < family->shots->n_frames; ++i) {
    most = fmax(most,
                fabs((double)family->shots->values[i] -
                     (double)alone->values[i + n_late]));
  }
  return check_equal(most, 0.0, "%s: first shot to its crest", name);
}

static bool
check_loops(const char* name, const VwSound* raw) {
  bool ok = true;
  for (size_t i = 0; i < 3; ++i) {
    for (size_t j = 0; j < 3; ++j) {
      VwFamilyOptions options = made_options();
      Made            made;
      options.fire_rate_per_s = fire_rates_per_s[i];
      options.valley_db = valleys_db[j];
      if (!made_new(raw, &options, &made)) {
        return check_that(false, "%s: made", name);
      }
      if (!j) {
        ok &= check_shot(name, &made.family);
        ok &= check_identity(name, &made.family);
        ok &= check_seam(name, &made.family);
        ok &= check_untouched(name, &made.family);
      }
      if (!is_sustained(name)) {
        ok &= check_rate(name, &made.family);
        ok &= j || check_played(name, &made.family);
        ok &= check_valley(name, &made.family);
      }
      made_clear(&made);
    }
  }
  return ok;
}

// Fired as fast as it stands, and limited as by default, nothing is bent; the
// valley is in the file.
static bool
check_fastest(const char* name, const VwSound* raw) {
  const VwFindOptions finding = vw_find_defaults();
  VwFamilyOptions     options = made_options();
  VwTake              take;
  VwShotFacts         facts;
  Made                made;
  assert_int_equal(vw_take_prepare(raw, &take), VW_OK);
  assert_int_equal(vw_find(&take, &finding, &facts), VW_OK);
  vw_take_clear(&take);
  options.level = vw_level_defaults();
  options.fire_rate_per_s = facts.fastest_fire_rate_per_s;
  if (isnan(options.fire_rate_per_s)) {
    return true;
  }
  ++n_untouched;
  if (!made_new(raw, &options, &made)) {
    return check_that(false, "%s: made", name);
  }
  const VwSound* const cycle = &made_piece(&made.family, VW_PART_LOOP)->sound;
  bool ok = check_equal(made.family.tightening_db, 0.0, "%s: bent", name);
  ok &= check_at_least(measure_valley_db(cycle, 1U), 8.9, "%s: valley", name);
  made_clear(&made);
  return ok;
}

// Ten times the whole file: no click, the valley reported.
static bool
check_whole_file(const char* name, const VwSound* raw) {
  bool ok = true;
  for (size_t i = 0; i < 3; ++i) {
    VwFamilyOptions options = made_options();
    Made            made;
    options.fire_rate_per_s = fire_rates_per_s[i];
    options.form = VW_FORM_WHOLE_FILE;
    if (!made_new(raw, &options, &made)) {
      return check_that(false, "%s: made", name);
    }
    const VwSound* cycle = &made_piece(&made.family, VW_PART_LOOP)->sound;
    VwSound        played = measure_played(cycle, 10);
    ok &= check_equal(cycle->values[0], 0.0, "%s: starts at zero", name);
    ok &= check_equal(
      cycle->values[cycle->n_frames - 1], 0.0, "%s: ends at zero", name);
    ok &= check_at_most(measure_step_max(&played, 0, played.n_frames - 1),
                        2.0 * measure_step_percentile(&played, 0.999),
                        "%s, %.0f/s: step",
                        name,
                        fire_rates_per_s[i]);
    if (!is_sustained(name)) {
      // 60 dB is the deepest reported; 0.1 dB between two meters.
      const double valley =
        fmin(measure_valley_db(cycle, made.family.plan.shots), 60.0);
      ok &= check_at_least(
        valley, made.family.valley_db - 0.1, "%s: whole-file valley", name);
      ok &= check_at_most(
        valley, made.family.valley_db + 1.0, "%s: whole-file valley", name);
    }
    vw_sound_clear(&played);
    made_clear(&made);
  }
  return ok;
}

// Levelled, limited and written in 16 bits: the file has the valley asked for,
// but for 0.1 dB between two meters, and it is what is reported.
static bool
check_written(const char* name, const VwSound* raw) {
  static const double rates_per_s[] = {5.0, 8.0, 9.0, 12.0, 15.0, 20.0};
  static const VwForm forms[] = {VW_FORM_PIECES, VW_FORM_WHOLE_FILE};

  bool ok = true;
  for (size_t i = 0; i < 12; ++i) {
    VwFamilyOptions options = vw_family_defaults();
    Made            made;
    options.fire_rate_per_s = rates_per_s[i / 2];
    options.form = forms[i % 2];
    if (!made_new(raw, &options, &made)) {
      return check_that(false, "%s: made", name);
    }
    const VwFamily* const family = &made.family;
    VwSound               file = made_written(family, VW_PART_LOOP, 1);
    const double          valley = measure_valley_db(&file, family->plan.shots);
    ok &= check_at_least(valley,
                         9.0 - 0.1,
                         "%s, %g/s, form %d: valley in the file",
                         name,
                         rates_per_s[i / 2],
                         (int)forms[i % 2]);
    ok &= check_at_most(fabs(fmin(valley, 60.0) - family->valley_db),
                        0.1,
                        "%s, %g/s, form %d: valley reported, dB off",
                        name,
                        rates_per_s[i / 2],
                        (int)forms[i % 2]);
    vw_sound_clear(&file);
    made_clear(&made);
  }
  return ok;
}

static void
test_found(void** state) {
  (void)state;
  assert_int_equal(recordings_each(check_found), RECORDINGS);
}

static void
test_silence_about(void** state) {
  (void)state;
  assert_int_equal(recordings_each(check_silence_about), RECORDINGS);
}

static void
test_loops(void** state) {
  (void)state;
  assert_int_equal(recordings_each(check_loops), RECORDINGS);
}

static void
test_fastest(void** state) {
  (void)state;
  assert_int_equal(recordings_each(check_fastest), RECORDINGS);
  assert_in_range(n_untouched, 14, RECORDINGS);
}

static void
test_whole_file(void** state) {
  (void)state;
  assert_int_equal(recordings_each(check_whole_file), RECORDINGS);
}

static void
test_written(void** state) {
  (void)state;
  assert_int_equal(recordings_each(check_written), RECORDINGS);
}

int
main(int argc, char** argv) {
  if (!recordings_find(argc > 1 ? argv[1] : NULL)) {
    return RECORDINGS_MISSING;
  }
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_found),
    cmocka_unit_test(test_silence_about),
    cmocka_unit_test(test_loops),
    cmocka_unit_test(test_fastest),
    cmocka_unit_test(test_whole_file),
    cmocka_unit_test(test_written),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
