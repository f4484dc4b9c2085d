// What is said of a burst that is not what its shot promises, held against the
// files as they are written: real recordings from the package bzflag-data, and
// takes that are made here.

#include "support/check.h"
#include "support/measure.h"
#include "support/meter.h"
#include "support/recordings.h"
#include "support/reports.h"
#include "support/run.h"
#include "support/wav_files.h"

#include <volleyweave/volleyweave.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SOFTER "LU softer than one shot"
#define SLOW "ms to get loud: "
#define FLUTTER "heard as a flutter"

/// A loop that was made, and what is said of it.
typedef struct {
  json_t* said;
  VwSound loop;
  VwSound shot;
} Loop;

static VwSound
sound_in(const char* path) {
  const VwReadOptions options = vw_read_defaults();
  VwSound             sound = {0};
  assert_int_equal(vw_read(path, &options, &sound, NULL), VW_OK);
  return sound;
}

/// What all takes made are said to be; empty: what is found.
static const char* as = "";

static Loop
make(const char* take, const char* options) {
  char line[4096];
  (void)snprintf(line, sizeof(line), "loop --json %s %s %s", as, options, take);
  Loop    made = {.said = run_json(line, 0)};
  json_t* file;
  size_t  i;
  json_array_foreach(value_at(made.said, "files"), i, file) {
    if (!strncmp(options, "-n", 2U)) {
      break; // a dry run wrote none
    }
    const char* const part = json_string_value(value_at(file, "part"));
    const char* const path = json_string_value(value_at(file, "path"));
    if (!strcmp(part, "loop")) {
      made.loop = sound_in(path);
    } else if (!strcmp(part, "shot")) {
      made.shot = sound_in(path);
    }
  }
  return made;
}

static void
clear(Loop* made) {
  json_decref(made->said);
  vw_sound_clear(&made->loop);
  vw_sound_clear(&made->shot);
  remove_all("volleyweave-out");
}

/// The warning with such words; NULL where there is none.
static const char*
warning(const Loop* made, const char* words) {
  json_t* text;
  size_t  i;
  json_array_foreach(value_at(made->said, "warnings"), i, text) {
    if (strstr(json_string_value(text), words)) {
      return json_string_value(text);
    }
  }
  return NULL;
}

/// Whether it is warned of exactly where a figure lies below a bound; so near
/// to it that the two meters may disagree, either will do.
static bool
check_warned(const Loop*  made,
             const char*  words,
             const double below[3],
             const char*  name) {
  const bool warned = warning(made, words) != NULL;
  return fabs(below[0] - below[1]) < below[2] ||
         check_that(warned == (below[0] < below[1]),
                    "%s: %g is %sbelow %g, and %ssaid",
                    name,
                    below[0],
                    below[0] < below[1] ? "" : "not ",
                    below[1],
                    warned ? "" : "not ");
}

static const char*
path_of(const char* name) {
  static char path[2048];
  (void)snprintf(path, sizeof(path), "%s/%s", recordings_place(), name);
  return path;
}

/// Whether a recording sounds on, so that no shots are laid down unless it is
/// taken for a shot.
static bool
sounds_on(const VwSound* raw) {
  const VwFindOptions options = vw_find_defaults();
  VwTake              take;
  VwShotFacts         facts = {.kind = VW_KIND_SHOT};
  if (!vw_take_prepare(raw, &take)) {
    (void)vw_find(&take, &options, &facts);
    vw_take_clear(&take);
  }
  return facts.kind == VW_KIND_SUSTAINED;
}

/* Softer than the shot */

static double
over_shot_lu(const Loop* made) {
  return meter_loop_lufs(&made->loop) - meter_effect_lufs(&made->shot);
}

static unsigned n_warned;

static bool
check_softer(const char* name, const VwSound* raw) {
  as = sounds_on(raw) ? "--as shot" : "";
  bool         ok = true;
  Loop         made = make(path_of(name), "--fire-rate 9");
  const double lu = over_shot_lu(&made);
  ok &=
    check_at_most(fabs(number_at(made.said, "level.burst_over_shot_lu") - lu),
                  0.1,
                  "%s: LU off",
                  name);
  ok &= check_warned(&made, SOFTER, (double[]){lu, -0.05, 0.1}, name);
  const char* const text = warning(&made, SOFTER);
  n_warned += text ? 1U : 0U;
  if (text) {
    ok &= check_that(
      strstr(text, "--valley 3 or none") != NULL, "%s: a cure is named", name);
  }
  // What is advised helps.
  for (int i = 0; text && i < 2; ++i) {
    Loop cured =
      make(path_of(name),
           i ? "--fire-rate 9 --valley none" : "--fire-rate 9 --valley 3");
    ok &= check_at_least(over_shot_lu(&cured), 0.0, "%s: cured, LU", name);
    ok &= check_that(!warning(&cured, SOFTER), "%s: no longer said", name);
    clear(&cured);
  }
  clear(&made);
  return ok;
}

static void
test_softer_burst_is_said(void** state) {
  (void)state;
  n_warned = 0;
  assert_int_equal(recordings_each(check_softer), RECORDINGS);
  assert_in_range(n_warned, 5, 15);
}

// Each remedy is named where it applies.
static void
test_softer_remedies(void** state) {
  (void)state;
  static const struct {
    const char* options;
    const char* there;
    const char* missing;
  } cases[] = {
    {"--tail choke", "--tail overlap", "--loud-as"},
    {"--tail choke --valley none", "--tail overlap", "--valley"},
    {"--loudness -20", "--loud-as burst", "--tail"},
    {"", "--valley 3", "--limiting-max"},
    {"--tail choke --valley 3", "--valley none", "--valley 3"},
  };
  bool ok = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    char options[128];
    (void)snprintf(
      options, sizeof(options), "-n --fire-rate 9 %s", cases[i].options);
    Loop              made = make(path_of("explosion.wav"), options);
    const char* const text = warning(&made, SOFTER);
    ok &= check_that(text && strstr(text, cases[i].there) &&
                       !strstr(text, cases[i].missing),
                     "%s: %s",
                     cases[i].options,
                     text ? text : "nothing");
    clear(&made);
  }
  assert_true(ok);
}

// Without a valley and a choke it is the limiter that squashes tails that pile
// up.
static void
test_softer_by_limiting(void** state) {
  (void)state;
  const char* const options = "-n --fire-rate 5 --valley none --limiting-max";
  char              wish[128];
  (void)snprintf(wish, sizeof(wish), "%s 9", options);
  Loop              made = make(path_of("boom.wav"), wish);
  const char* const text = warning(&made, SOFTER);
  assert_non_null(text);
  assert_non_null(strstr(text, "--limiting-max"));
  clear(&made);
  (void)snprintf(wish, sizeof(wish), "%s 0", options);
  made = make(path_of("boom.wav"), wish);
  assert_null(warning(&made, SOFTER));
  clear(&made);
}

/* Attack and period */

/// What part of the period the level rises for, from a tenth to nine tenths of
/// its way in dB.
static double
rising_share(const VwSound* loop) {
  const size_t  n = loop->n_frames;
  VwSound       played = measure_played(loop, 4);
  double* const level = measure_level(&played);
  size_t        crest = n;
  double        least = HUGE_VAL;
  for (size_t i = n; i < 2U * n; ++i) {
    crest = level[i] > level[crest] ? i : crest;
    least = fmin(least, level[i]);
  }
  const double low_db = 10.0 * log10(fmax(least, level[crest] * 1e-6));
  const double way_db = 10.0 * log10(level[crest]) - low_db;
  const double low = pow(10.0, (low_db + 0.1 * way_db) / 10.0);
  const double high = pow(10.0, (low_db + 0.9 * way_db) / 10.0);
  // From the crest of the next repeat back to where it last was low, and on to
  // where it is high.
  size_t from = crest + n;
  while (level[from] > low) {
    --from;
  }
  size_t to = from;
  while (level[to] < high) {
    ++to;
  }
  free(level);
  vw_sound_clear(&played);
  return (double)(to - from) / (double)n;
}

/// The fire rate that a warning names, behind such words; NaN without one.
static double
rate_behind(const char* text, const char* words) {
  const char* const at = text ? strstr(text, words) : NULL;
  return at ? strtod(at + strlen(words), NULL) : (double)NAN;
}

// A level that rises and falls like a cosine takes 0.3 of its period from a
// tenth to nine tenths of the way (closed form). One that is called too slow
// takes as long; at the fire rate that is named it does not.
static void
test_slow_attack_is_said(void** state) {
  (void)state;
  Loop         swell = make("slow.wav", "--fire-rate 7");
  const double named = rate_behind(warning(&swell, SLOW), ": try ");
  const double at_seven = rising_share(&swell.loop);
  char         options[64];
  (void)snprintf(options, sizeof(options), "--fire-rate %g", named);
  clear(&swell);
  Loop         slower = make("slow.wav", options);
  const double at_named = rising_share(&slower.loop);
  bool         ok = check_at_least(at_seven, 0.27, "part that rises at 7/s");
  ok &= check_at_most(at_named, 0.23, "part that rises at %g/s", named);
  ok &= check_that(!warning(&slower, SLOW), "not said of %g/s", named);
  clear(&slower);
  Loop shot = make("zap.wav", "--fire-rate 15");
  ok &= check_at_most(rising_share(&shot.loop), 0.15, "part of a shot");
  ok &= check_that(!warning(&shot, SLOW), "not said of a shot");
  clear(&shot);
  assert_true(ok);
}

static bool
check_slow(const char* name, const VwSound* raw) {
  as = sounds_on(raw) ? "--as shot" : "";
  bool              ok = true;
  Loop              made = make(path_of(name), "-n --fire-rate 9");
  const char* const text = warning(&made, SLOW);
  const double      named = rate_behind(text, ": try ");
  n_warned += text ? 1U : 0U;
  ok &= check_that((text != NULL) ==
                     (number_at(made.said, "shot.rise_ms") * 9.0 > 400.0),
                   "%s: said where its attack takes 0.4 of the period",
                   name);
  if (isfinite(named)) {
    char options[64];
    (void)snprintf(options, sizeof(options), "-n --fire-rate %g", named);
    Loop slower = make(path_of(name), options);
    ok &= check_that(!warning(&slower, SLOW), "%s at %g/s", name, named);
    clear(&slower);
  }
  clear(&made);
  return ok;
}

static void
test_named_rate_is_slow_enough(void** state) {
  (void)state;
  n_warned = 0;
  assert_int_equal(recordings_each(check_slow), RECORDINGS);
  assert_in_range(n_warned, 10, 20);
}

// The start that is named for a slow attack leaves a fast one, at once.
static bool
check_start(const char* name, const VwSound* raw) {
  as = sounds_on(raw) ? "--as shot" : "";
  const char* const slow = "a slow attack, loud only ";
  char              options[64];
  Loop              made = make(path_of(name), "-n --fire-rate 4");
  const char* const text = warning(&made, slow);
  const double      start_ms = rate_behind(text, "the trigger: give --start ");
  bool ok = check_that(json_is_true(value_at(made.said, "shot.slow_attack")) ==
                         isfinite(start_ms),
                       "%s: named if it is slow",
                       name);
  n_warned += text ? 1U : 0U;
  (void)snprintf(
    options, sizeof(options), "-n --fire-rate 4 --start %g", start_ms);
  if (isfinite(start_ms)) {
    Loop later = make(path_of(name), options);
    ok &= check_that(
      !warning(&later, slow), "%s: no later one than %g", name, start_ms);
    clear(&later);
  }
  clear(&made);
  return ok;
}

static void
test_named_start_is_late_enough(void** state) {
  (void)state;
  n_warned = 0;
  assert_int_equal(recordings_each(check_start), RECORDINGS);
  assert_in_range(n_warned, 20, RECORDINGS);
}

/* What is faded */

/// How far the level in the 20 ms after the seam comes above that before it,
/// the 2 ms of fade on either side left aside.
static double
over_fade_db(const VwSound* loop) {
  const double  ms = 1e-3 * loop->rate_hz;
  const size_t  seam = 3U * loop->n_frames;
  VwSound       played = measure_played(loop, 5);
  double* const level = measure_level(&played);
  double        attack = 0.0;
  for (size_t i = seam + (size_t)lround(7.0 * ms);
       i <= seam + (size_t)lround(15.0 * ms);
       ++i) {
    attack = fmax(attack, level[i]);
  }
  const double db =
    10.0 * log10(attack / fmax(level[seam - (size_t)lround(7.0 * ms)], 1e-12));
  free(level);
  vw_sound_clear(&played);
  return db;
}

static unsigned n_advised;

/// Whether a valley that is advised covers the fade, and is the least that
/// does: without advice none that is deeper does.
static bool
check_advice(const char* name, const char* options, const char* text) {
  const double advised = rate_behind(text, "give --valley ");
  char         line[128];
  bool         ok = true;
  for (double valley = 9.0; valley <= 15.0; valley += 6.0) {
    (void)snprintf(line, sizeof(line), "%s --valley %g", options, valley);
    Loop              deeper = make(path_of(name), line);
    const double      db = over_fade_db(&deeper.loop);
    const char* const still = warning(&deeper, FLUTTER);
    ok &= check_that((still == NULL) == (advised <= valley),
                     "%s %s: %g advised",
                     name,
                     line,
                     advised);
    ok &= advised > valley || isnan(advised) ||
          check_at_least(db, 3.0 - 0.7, "%s %s: covered", name, line);
    clear(&deeper);
  }
  n_advised += isfinite(advised) ? 1U : 0U;
  return ok;
}

static bool
check_fade(const char* name, const VwSound* raw) {
  as = sounds_on(raw) ? "--as shot" : "";
  bool         ok = true;
  Loop         made = make(path_of(name), "--form whole-file --fire-rate 9");
  const double db = over_fade_db(&made.loop);
  const double said_db = number_at(made.said, "loop.fade_cover_db");
  if (said_db < 60.0) {
    ok &= check_at_most(fabs(said_db - db), 0.7, "%s: dB off", name);
  }
  ok &= check_warned(&made, FLUTTER, (double[]){db, 3.0, 0.7}, name);
  clear(&made);
  // What is cut in pieces is not faded; nor does a fade count before a gap.
  for (int i = 0; i < 2; ++i) {
    Loop other = make(path_of(name),
                      i ? "-n --fire-rate 9"
                        : "-n --form whole-file --gap 30ms --fire-rate 9");
    ok &= check_that(!warning(&other, FLUTTER) &&
                       json_is_null(value_at(other.said, "loop.fade_cover_db")),
                     "%s: no fade, or a gap",
                     name);
    clear(&other);
  }
  return ok;
}

static bool
check_remedy(const char* name, const VwSound* raw) {
  as = sounds_on(raw) ? "--as shot" : "";
  bool ok = true;
  for (int rate = 9; rate <= 12; rate += 3) {
    char options[64];
    char line[128];
    (void)snprintf(
      options, sizeof(options), "--form whole-file --fire-rate %d", rate);
    (void)snprintf(line, sizeof(line), "-n %s --valley none", options);
    Loop              off = make(path_of(name), line);
    const char* const text = warning(&off, FLUTTER);
    n_warned += text ? 1U : 0U;
    ok &= !text || check_advice(name, options, text);
    clear(&off);
  }
  return ok;
}

static void
test_flutter_is_said(void** state) {
  (void)state;
  assert_int_equal(recordings_each(check_fade), RECORDINGS);
}

// A valley that is advised was tried.
static void
test_flutter_remedies(void** state) {
  (void)state;
  n_warned = 0;
  n_advised = 0;
  assert_int_equal(recordings_each(check_remedy), RECORDINGS);
  assert_in_range(n_warned, 20, 2 * RECORDINGS);
  assert_in_range(n_advised, n_warned / 2U, n_warned - 2U);
}

/* Limiting */

// For how much of the time more than 1 dB is taken: beside the same shot with
// nothing taken.
static void
test_share_of_limiting(void** state) {
  (void)state;
  json_t* const plain_said =
    run_json("shot --json --bits 24 --limiting-max 0 -o plain.wav zap.wav", 0);
  json_t* const said = run_json(
    "shot --json --bits 24 --limiting-max 6 -o limited.wav zap.wav", 0);
  VwSound      plain = sound_in("plain.wav");
  VwSound      limited = sound_in("limited.wav");
  const double gain = pow(10.0,
                          (number_at(said, "level.gain_db") -
                           number_at(plain_said, "level.gain_db")) /
                            20.0);
  size_t       n_over = 0;
  bool         over = false;
  for (size_t i = 0; i < plain.n_frames; ++i) {
    const double from = fabs((double)plain.values[i]) * gain;
    const double to = fabs((double)limited.values[i]);
    // Of what is near zero the ratio is rounding alone.
    over = from > 1e-3 ? to < from * pow(10.0, -1.0 / 20.0) : over;
    n_over += over ? 1U : 0U;
  }
  const double share = (double)n_over / (double)plain.n_frames;
  Run          text = run("shot -v --limiting-max 6 -n zap.wav");
  char         line[64];
  (void)snprintf(line,
                 sizeof(line),
                 "for %.0f %% of the time",
                 100.0 * number_at(said, "level.limiting_share"));
  bool ok = check_at_least(share, 0.01, "some of the time");
  ok &= check_at_most(
    fabs(number_at(said, "level.limiting_share") - share), 0.005, "share off");
  ok &= run_check(strstr(text.out, line) != NULL, &text, line);
  run_clear(&text);
  vw_sound_clear(&plain);
  vw_sound_clear(&limited);
  json_decref(plain_said);
  json_decref(said);
  assert_true(ok);
}

int
main(int argc, char** argv) {
  if (!recordings_find(NULL)) {
    return RECORDINGS_MISSING;
  }
  run_set_up(argc, argv);
  wav_file_write(&(WavFile){.path = "zap.wav", .seconds = 1.0});
  wav_file_write(
    &(WavFile){.path = "slow.wav", .fill = FILL_SLOW, .seconds = 1.0});
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_softer_burst_is_said),
    cmocka_unit_test(test_softer_remedies),
    cmocka_unit_test(test_softer_by_limiting),
    cmocka_unit_test(test_slow_attack_is_said),
    cmocka_unit_test(test_named_rate_is_slow_enough),
    cmocka_unit_test(test_named_start_is_late_enough),
    cmocka_unit_test(test_flutter_is_said),
    cmocka_unit_test(test_flutter_remedies),
    cmocka_unit_test(test_share_of_limiting),
  };
  const int n_failed = cmocka_run_group_tests(tests, NULL, NULL);
  run_tear_down();
  return n_failed;
}
