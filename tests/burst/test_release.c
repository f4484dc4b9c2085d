// Boards that finish their file when the trigger is let go, or stop at once,
// simulated here, on real takes: the figures are those of this project.

#include "support/check.h"
#include "support/made.h"
#include "support/measure.h"
#include "support/player.h"
#include "support/recordings.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <string.h>

static const char* demo_take;

static const double presses_s[] = {0.05, 0.11, 0.4, 0.77, 1.0, 1.93, 3.0};

enum { N_PRESSES = sizeof(presses_s) / sizeof(presses_s[0]) };

static const double gaps_ms[] = {0.0, 30.0};

static bool
is_zero(const VwSound* sound, size_t frame) {
  for (unsigned c = 0; c < sound->n_channels; ++c) {
    if (sound->values[frame * sound->n_channels + c] != 0.0F) {
      return false;
    }
  }
  return true;
}

// Nothing clicks from the first frame to the last.
static bool
check_steps(const char* name, const VwSound* heard, double most) {
  return check_at_most(measure_step_max(heard, 0, heard->n_frames - 1),
                       most,
                       "%s: step in what is heard",
                       name);
}

// Silence, the sound to its end, silence; the rest of one file at most.
static bool
check_finishes(const char*        name,
               const VwSound*     file,
               const PlayerPress* press,
               double             most) {
  VwSound      heard = player_pressed(file, press);
  const double overrun = (double)heard.n_frames - (double)press->n_frames;
  bool         ok = check_that(is_zero(&heard, 0), "%s: start", name);
  ok &=
    check_that(is_zero(&heard, heard.n_frames - 1), "%s: natural end", name);
  ok &=
    check_at_most(overrun, (double)file->n_frames, "%s: overrun, frames", name);
  ok &= check_steps(name, &heard, most);
  vw_sound_clear(&heard);
  return ok;
}

// The step to silence is as high as the sound stands there; up to it the sound
// is the one that goes on.
static bool
check_stops(const char*        name,
            const VwSound*     file,
            const PlayerPress* press,
            double             most) {
  PlayerPress finishing = *press;
  finishing.finishes = true;
  VwSound whole = player_pressed(file, &finishing);
  VwSound heard = player_pressed(file, press);
  bool    ok = check_at_most((double)heard.n_frames,
                          (double)press->n_frames,
                          "%s: frames after the stop",
                          name);
  ok &= check_that(is_zero(&heard, 0), "%s: start", name);
  whole.n_frames = heard.n_frames;
  ok &= check_equal(
    measure_difference(&whole, &heard), 0.0, "%s: up to the stop", name);
  ok &= check_steps(name, &heard, most);
  vw_sound_clear(&whole);
  vw_sound_clear(&heard);
  return ok;
}

static bool
check_presses(const char* name, const VwSound* file, size_t n_gap) {
  VwSound      played = player_repeats(file, n_gap, 4);
  const double most = 2.0 * measure_step_percentile(&played, 0.999);
  bool         ok = true;
  for (size_t i = 0; i < N_PRESSES; ++i) {
    const size_t n = (size_t)lround(presses_s[i] * file->rate_hz);
    ok &= check_finishes(name, file, &(PlayerPress){n, n_gap, true}, most);
    ok &= check_stops(name, file, &(PlayerPress){n, n_gap, false}, most);
  }
  vw_sound_clear(&played);
  return ok;
}

// A whole file as a board with 16 bits gets it: a second at most (common
// practice).
static bool
check_whole_file(const char* name, const VwSound* raw) {
  bool ok = true;
  for (size_t i = 0; i < 2; ++i) {
    VwFamilyOptions options = vw_family_defaults();
    Made            made;
    options.form = VW_FORM_WHOLE_FILE;
    options.fire_rate_per_s = 9.0;
    options.cycle_max_s = 1.0;
    options.gap_ms = gaps_ms[i];
    if (!made_new(raw, &options, &made)) {
      return check_that(false, "%s: made", name);
    }
    VwSound file = made_written(&made.family, VW_PART_LOOP, 1);
    ok &= check_at_most(
      (double)file.n_frames, file.rate_hz, "%s: frames of the file", name);
    ok &= check_equal(
      (double)file.n_frames,
      (double)(made.family.plan.n_frames - made.family.plan.gap_frames),
      "%s: frames reported",
      name);
    ok &=
      check_presses(name, &file, player_gap_frames(gaps_ms[i], file.rate_hz));
    vw_sound_clear(&file);
    made_clear(&made);
  }
  return ok;
}

// A board with three files plays the last one after any release, one without
// repeats its one file: both end by themselves.
static bool
check_other_forms(const char* name, const VwSound* raw) {
  VwFamilyOptions options = made_options();
  Made            made;
  options.fire_rate_per_s = 9.0;
  if (!made_new(raw, &options, &made)) {
    return check_that(false, "%s: made", name);
  }
  bool ok = true;
  for (size_t k = 0; k < 4; ++k) {
    VwSound heard = made_joined(&made.family, k);
    ok &= check_that(is_zero(&heard, 0), "%s, %zu loops: start", name, k);
    ok &= check_that(
      is_zero(&heard, heard.n_frames - 1), "%s, %zu loops: end", name, k);
    vw_sound_clear(&heard);
  }
  made_clear(&made);
  options.form = VW_FORM_BURST;
  if (!made_new(raw, &options, &made)) {
    return check_that(false, "%s: made", name);
  }
  const VwSound* const burst = &made_piece(&made.family, VW_PART_BURST)->sound;
  ok &= check_that(is_zero(burst, 0), "%s: burst's start", name);
  ok &=
    check_that(is_zero(burst, burst->n_frames - 1), "%s: burst's end", name);
  made_clear(&made);
  return ok;
}

static void
test_recordings(void** state) {
  (void)state;
  assert_int_equal(recordings_each(check_whole_file), RECORDINGS);
  assert_int_equal(recordings_each(check_other_forms), RECORDINGS);
}

static void
test_demo(void** state) {
  (void)state;
  const VwReadOptions options = vw_read_defaults();
  VwSound             raw;
  assert_int_equal(vw_read(demo_take, &options, &raw, NULL), VW_OK);
  assert_true(check_whole_file("demo", &raw));
  assert_true(check_other_forms("demo", &raw));
  vw_sound_clear(&raw);
}

int
main(int argc, char** argv) {
  if (argc < 2 || !recordings_find(NULL)) {
    return RECORDINGS_MISSING;
  }
  demo_take = argv[1];
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_recordings),
    cmocka_unit_test(test_demo),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
