// What is heard when a trigger is held: the rules of this project, followed by
// hand, and the identity of the burst.

#include "board/board.h"
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

enum { RATE_HZ = 8000, N_MOST_PLAYS = 8, N_MOST_TIMES = 6 };

/// Frames [from, to) of a file (m, r or o: main, run-in, ring-out) at `at` ms;
/// all in milliseconds, of which each is eight frames.
typedef struct {
  char   file;
  double from;
  double to;
  double at;
} Expected;

typedef struct {
  const char* name;
  VwRepeat    repeat;
  VwRelease   release;
  double      gap_ms;
  double      delay_ms;
  double      press_min_ms;
  double      times_ms[N_MOST_TIMES];
  Expected    plays[N_MOST_PLAYS];
  double      end_ms;
} Case;

// The main file takes 100 ms (loop points 30 and 80), the run-in 60, the
// ring-out 50.
static const Case cases[] = {
  {"held over two repeats",
   VW_REPEAT_WHOLE_FILE,
   VW_RELEASE_STOPS,
   0,
   0,
   0,
   {250},
   {{'m', 0, 100, 0}, {'m', 0, 100, 100}, {'m', 0, 50, 200}},
   250},
  {"let go in a gap",
   VW_REPEAT_WHOLE_FILE,
   VW_RELEASE_STOPS,
   20,
   0,
   0,
   {110},
   {{'m', 0, 100, 0}},
   110},
  {"a gap between repeats",
   VW_REPEAT_WHOLE_FILE,
   VW_RELEASE_FINISHES,
   20,
   0,
   0,
   {121},
   {{'m', 0, 100, 0}, {'m', 0, 100, 120}},
   220},
  {"let go in a gap of a board that finishes",
   VW_REPEAT_WHOLE_FILE,
   VW_RELEASE_FINISHES,
   20,
   0,
   0,
   {120},
   {{'m', 0, 100, 0}},
   120},
  {"shorter than the shortest press",
   VW_REPEAT_WHOLE_FILE,
   VW_RELEASE_FINISHES,
   0,
   0,
   30,
   {29},
   {{0}},
   29},
  {"as short as the shortest press: heard once it is noticed",
   VW_REPEAT_WHOLE_FILE,
   VW_RELEASE_FINISHES,
   0,
   10,
   30,
   {30},
   {{'m', 0, 100, 30}},
   130},
  {"let go during the delay of a board that stops",
   VW_REPEAT_WHOLE_FILE,
   VW_RELEASE_STOPS,
   0,
   40,
   0,
   {30},
   {{0}},
   30},
  {"let go during the delay of a board that finishes",
   VW_REPEAT_WHOLE_FILE,
   VW_RELEASE_FINISHES,
   0,
   40,
   0,
   {30},
   {{'m', 0, 100, 40}},
   140},
  {"pressed again, let go before the file's end: lost",
   VW_REPEAT_WHOLE_FILE,
   VW_RELEASE_FINISHES,
   0,
   0,
   0,
   {20, 20, 50},
   {{'m', 0, 100, 0}},
   100},
  {"pressed again, held at the file's end: once more",
   VW_REPEAT_WHOLE_FILE,
   VW_RELEASE_FINISHES,
   0,
   0,
   0,
   {20, 20, 70},
   {{'m', 0, 100, 0}, {'m', 0, 100, 100}},
   200},
  {"pressed again at the end, not yet noticed there",
   VW_REPEAT_WHOLE_FILE,
   VW_RELEASE_FINISHES,
   0,
   0,
   30,
   {40, 50, 60},
   {{'m', 0, 100, 30}, {'m', 0, 100, 130}},
   230},
  {"pressed again, noticed just as the board looks",
   VW_REPEAT_WHOLE_FILE,
   VW_RELEASE_FINISHES,
   20,
   40,
   30,
   {50, 80, 70},
   {{'m', 0, 100, 40}, {'m', 0, 100, 160}},
   260},
  {"a single file stopped",
   VW_REPEAT_NOTHING,
   VW_RELEASE_STOPS,
   0,
   0,
   0,
   {40, 20, 300},
   {{'m', 0, 40, 0}, {'m', 0, 100, 60}},
   360},
  {"a single file finished, pressed while it sounds and after",
   VW_REPEAT_NOTHING,
   VW_RELEASE_FINISHES,
   0,
   0,
   0,
   {40, 20, 60, 10, 5, 50},
   {{'m', 0, 100, 0}, {'m', 0, 100, 130}},
   230},
  {"three files, let go in the run-in",
   VW_REPEAT_THREE_FILES,
   VW_RELEASE_STOPS,
   0,
   0,
   0,
   {60},
   {{'r', 0, 60, 0}, {'o', 0, 50, 60}},
   110},
  {"three files, let go in the second loop",
   VW_REPEAT_THREE_FILES,
   VW_RELEASE_FINISHES,
   10,
   5,
   0,
   {190},
   {{'r', 0, 60, 5}, {'m', 0, 100, 75}, {'m', 0, 100, 185}, {'o', 0, 50, 295}},
   345},
  {"three files, pressed again in the loop: it goes on",
   VW_REPEAT_THREE_FILES,
   VW_RELEASE_FINISHES,
   0,
   0,
   0,
   {70, 20, 80},
   {{'r', 0, 60, 0}, {'m', 0, 100, 60}, {'m', 0, 100, 160}, {'o', 0, 50, 260}},
   310},
  {"three files, pressed again in the ring-out: on top of it",
   VW_REPEAT_THREE_FILES,
   VW_RELEASE_FINISHES,
   0,
   0,
   0,
   {10, 70, 10},
   {{'r', 0, 60, 0}, {'o', 0, 50, 60}, {'r', 0, 60, 80}, {'o', 0, 50, 140}},
   190},
  {"loop points, stopped in the loop",
   VW_REPEAT_LOOP_POINTS,
   VW_RELEASE_STOPS,
   0,
   0,
   0,
   {150},
   {{'m', 0, 80, 0}, {'m', 30, 80, 80}, {'m', 30, 50, 130}},
   150},
  {"loop points, finished",
   VW_REPEAT_LOOP_POINTS,
   VW_RELEASE_FINISHES,
   0,
   0,
   0,
   {100},
   {{'m', 0, 80, 0}, {'m', 30, 80, 80}, {'m', 80, 100, 130}},
   150},
};

enum { N_CASES = sizeof(cases) / sizeof(cases[0]) };

static size_t
frames_of(double ms) {
  return (size_t)(ms * RATE_HZ / 1000.0);
}

/// A file in which every frame has a value of its own.
static VwSound
numbered(double ms, float from) {
  VwSound sound = signal_silence(ms / 1000.0, RATE_HZ);
  for (size_t i = 0; i < sound.n_frames; ++i) {
    sound.values[i] = from + (float)i / 16384.0F;
  }
  return sound;
}

/// The three files of all cases.
typedef struct {
  VwSound main;
  VwSound run_in;
  VwSound ring_out;
} Files;

static Files
files_new(void) {
  return (Files){
    numbered(100, 0.125F), numbered(60, 0.25F), numbered(50, -0.5F)};
}

static void
files_clear(Files* files) {
  vw_sound_clear(&files->main);
  vw_sound_clear(&files->run_in);
  vw_sound_clear(&files->ring_out);
}

static VwRehearsal
rehearsal_of(const Files* files, VwRepeat repeat) {
  return (VwRehearsal){.repeat = repeat,
                       .main = {.sound = &files->main},
                       .run_in = {.sound = &files->run_in},
                       .ring_out = {.sound = &files->ring_out},
                       .loop_start = frames_of(30),
                       .loop_end = frames_of(80)};
}

static VwBoard
board_of(const Case* wanted) {
  VwBoard board = (VwBoard){0};
  board.release = wanted->release;
  board.gap_ms = wanted->gap_ms;
  board.delay_ms = wanted->delay_ms;
  board.press_min_ms = wanted->press_min_ms;
  return board;
}

static VwSound
expected_sound(const Files* files, const Case* wanted) {
  VwSound sound = signal_silence(wanted->end_ms / 1000.0, RATE_HZ);
  for (size_t i = 0; i < N_MOST_PLAYS && wanted->plays[i].file; ++i) {
    const Expected* const play = &wanted->plays[i];
    const VwSound* const  file = play->file == 'm'   ? &files->main
                                 : play->file == 'r' ? &files->run_in
                                                     : &files->ring_out;
    const size_t          at = frames_of(play->at);
    for (size_t j = frames_of(play->from); j < frames_of(play->to); ++j) {
      sound.values[at + j - frames_of(play->from)] += file->values[j];
    }
  }
  return sound;
}

static bool
follows(const Files* files, const Case* wanted) {
  const VwRehearsal rehearsal = rehearsal_of(files, wanted->repeat);
  const VwBoard     board = board_of(wanted);
  double            held_s[N_MOST_TIMES];
  size_t            n_times = 0;
  for (; n_times < N_MOST_TIMES && wanted->times_ms[n_times] > 0; ++n_times) {
    held_s[n_times] = wanted->times_ms[n_times] / 1000.0;
  }
  VwRehearsed rehearsed = {0};
  if (vw_rehearse(&rehearsal, &board, held_s, n_times, &rehearsed)) {
    return check_that(false, "%s: made", wanted->name);
  }
  VwSound expected = expected_sound(files, wanted);
  bool    ok = check_equal((double)rehearsed.sound.n_frames,
                        (double)expected.n_frames,
                        "%s: length",
                        wanted->name);
  ok = check_at_most(measure_difference(&rehearsed.sound, &expected),
                     0.0,
                     "%s: difference",
                     wanted->name) &&
       ok;
  vw_sound_clear(&expected);
  vw_rehearsed_clear(&rehearsed);
  return ok;
}

static void
test_boards(void** state) {
  (void)state;
  Files files = files_new();
  bool  ok = true;
  for (size_t i = 0; i < N_CASES; ++i) {
    ok = follows(&files, &cases[i]) && ok;
  }
  files_clear(&files);
  assert_true(ok);
}

/* The burst */

static bool
made_of(VwForm form, unsigned shots, double gap_ms, Made* made) {
  const SignalBurst burst = {.start_s = 0.1,
                             .rise_s = 0.001,
                             .decay_s = 0.6,
                             .level = 0.5,
                             .pitch_hz = 900.0};
  VwSound           take = signal_take(0.9, 22050, &burst, 3);
  VwFamilyOptions   options = made_options();
  options.form = form;
  options.fire_rate_per_s = 9.0;
  options.shots = shots;
  options.gap_ms = gap_ms;
  const bool ok = made_new(&take, &options, made);
  vw_sound_clear(&take);
  return ok;
}

/// Run-in, `k` loops and ring-out are what is heard when the trigger is let go
/// in the last of them.
static void
test_burst(void** state) {
  (void)state;
  Made made = {0};
  assert_true(made_of(VW_FORM_PIECES, 2, 0.0, &made));
  const VwSound* const run_in =
    &made_piece(&made.family, VW_PART_RUN_IN)->sound;
  const VwSound* const loop = &made_piece(&made.family, VW_PART_LOOP)->sound;
  const VwSound* const ring_out =
    &made_piece(&made.family, VW_PART_RING_OUT)->sound;
  const VwRehearsal rehearsal = {.repeat = VW_REPEAT_THREE_FILES,
                                 .main = {.sound = loop},
                                 .run_in = {.sound = run_in},
                                 .ring_out = {.sound = ring_out}};
  const VwBoard     board = (VwBoard){0};
  bool              ok = true;
  for (size_t k = 0; k < 4U; ++k) {
    const double held_s =
      ((double)run_in->n_frames + ((double)k - 0.5) * (double)loop->n_frames) /
      22050.0;
    VwRehearsed rehearsed = {0};
    VwSound     burst = made_joined(&made.family, k);
    ok = check_equal(vw_rehearse(&rehearsal, &board, &held_s, 1, &rehearsed),
                     0,
                     "made") &&
         ok;
    ok = check_at_most(measure_difference(&rehearsed.sound, &burst),
                       0.0,
                       "%zu loops: difference",
                       k) &&
         ok;
    vw_sound_clear(&burst);
    vw_rehearsed_clear(&rehearsed);
  }
  made_clear(&made);
  assert_true(ok);
}

/* Shots and lamp */

static bool
shots_are_found(VwForm form, VwPart part, unsigned shots, double gap_ms) {
  Made made = {0};
  if (!made_of(form, shots, gap_ms, &made)) {
    return false;
  }
  const VwSound* const sound = &made_piece(&made.family, part)->sound;
  const bool           loop = part == VW_PART_LOOP;
  const VwLoopKnown    known = {
       .gap_ms = 1000.0 * (double)made.family.plan.gap_frames / sound->rate_hz};
  size_t* found = NULL;
  size_t  n_found = 0;
  bool    ok = check_equal(
    vw_rehearse_find_shots(sound, loop ? &known : NULL, &found, &n_found),
    0,
    "found");
  const size_t n = part == VW_PART_BURST ? 3U : shots;
  ok = check_equal((double)n_found, (double)n, "%u shots: found", shots) && ok;
  for (size_t i = 0; ok && i < n; ++i) {
    const double off_ms = fabs((double)found[i] - 44.0 -
                               (double)vw_plan_start(&made.family.plan, i)) /
                          22.05;
    ok = check_at_most(off_ms, loop ? 0.05 : 1.0, "shot %zu: off, ms", i) && ok;
  }
  free(found);
  made_clear(&made);
  return ok;
}

static void
test_shots(void** state) {
  (void)state;
  bool ok = true;
  for (unsigned shots = 1; shots <= 12; shots += 1U + shots / 3U) {
    ok = shots_are_found(VW_FORM_WHOLE_FILE, VW_PART_LOOP, shots, 0.0) && ok;
    ok = shots_are_found(VW_FORM_WHOLE_FILE, VW_PART_LOOP, shots, 25.0) && ok;
    ok = shots_are_found(VW_FORM_WHOLE_FILE, VW_PART_LOOP, shots, 60.0) && ok;
    ok = shots_are_found(VW_FORM_PIECES, VW_PART_LOOP, shots, 0.0) && ok;
  }
  assert_true(shots_are_found(VW_FORM_BURST, VW_PART_BURST, 1, 0.0) && ok);
}

static void
test_lamp(void** state) {
  (void)state;
  Files        files = files_new();
  VwRehearsal  rehearsal = rehearsal_of(&files, VW_REPEAT_WHOLE_FILE);
  const size_t shots[] = {16, 416};
  rehearsal.main.shots = shots;
  rehearsal.main.n_shots = 2;
  rehearsal.fire_rate_per_s = 16.0;
  VwBoard board = (VwBoard){0};
  board.gap_ms = 25;
  // The third repeat, from 250 ms on, is stopped before its second attack.
  const double held_s = 0.290;
  VwRehearsed  rehearsed = {0};
  assert_int_equal(vw_rehearse(&rehearsal, &board, &held_s, 1, &rehearsed),
                   VW_OK);
  const double on_s[] = {0.002, 0.052, 0.127, 0.177, 0.252};
  bool         ok = check_equal((double)rehearsed.n_flashes, 5, "flashes");
  for (size_t i = 0; ok && i < 5U; ++i) {
    const VwFlash* const flash = &rehearsed.flashes[i];
    ok = check_at_most(fabs(flash->on_s - on_s[i]), 1e-9, "flash %zu: on", i) &&
         ok;
    // 0.4 of the period of 62.5 ms.
    ok = check_at_most(
           fabs(flash->off_s - on_s[i] - 0.025), 1e-9, "flash %zu: off", i) &&
         ok;
  }
  vw_rehearsed_clear(&rehearsed);
  files_clear(&files);
  assert_true(ok);
}

/* Speaker */

/// Level of a tone through a speaker, dB below the tone.
static double
through_db(double pitch_hz, double corner_hz) {
  VwSound tone = signal_silence(1.0, RATE_HZ);
  signal_add_tone(&tone, pitch_hz, 0.5, 0.0);
  const VwRehearsal rehearsal = {.repeat = VW_REPEAT_NOTHING,
                                 .main = {.sound = &tone},
                                 .speaker.corner_hz = corner_hz};
  VwBoard           board = (VwBoard){0};
  board.release = VW_RELEASE_FINISHES;
  const double held_s = 0.1;
  VwRehearsed  rehearsed = {0};
  assert_int_equal(vw_rehearse(&rehearsal, &board, &held_s, 1, &rehearsed),
                   VW_OK);
  // Once the filter has settled.
  memset(tone.values, 0, RATE_HZ / 2U * sizeof(float));
  memset(rehearsed.sound.values, 0, RATE_HZ / 2U * sizeof(float));
  const double db =
    20.0 * log10(measure_rms(&rehearsed.sound) / measure_rms(&tone));
  vw_rehearsed_clear(&rehearsed);
  vw_sound_clear(&tone);
  return db;
}

/// Fourth-order Butterworth: closed form, with the bilinear warp.
static double
butterworth_db(double pitch_hz, double corner_hz) {
  const double pi = acos(-1.0);
  const double ratio =
    tan(pi * corner_hz / RATE_HZ) / tan(pi * pitch_hz / RATE_HZ);
  return -10.0 * log10(1.0 + pow(ratio, 8.0));
}

static void
test_speaker(void** state) {
  (void)state;
  bool ok = true;
  for (double pitch_hz = 200.0; pitch_hz < 2000.0; pitch_hz *= 1.3) {
    ok = check_at_most(
           fabs(through_db(pitch_hz, 400.0) - butterworth_db(pitch_hz, 400.0)),
           0.02,
           "%g Hz: off, dB",
           pitch_hz) &&
         ok;
  }
  assert_true(ok);
}

/* What is refused */

static bool
is_refused(const VwRehearsal* rehearsal,
           const VwBoard*     board,
           double             held_s,
           const char*        name) {
  VwRehearsed    rehearsed = {0};
  const VwStatus st = vw_rehearse(rehearsal, board, &held_s, 1, &rehearsed);
  vw_rehearsed_clear(&rehearsed);
  return check_equal(st, VW_BAD_OPTION, "%s", name);
}

static void
test_refused(void** state) {
  (void)state;
  Files             files = files_new();
  const VwBoard     board = (VwBoard){0};
  const VwRehearsal good = rehearsal_of(&files, VW_REPEAT_THREE_FILES);
  bool              ok = is_refused(&good, &board, 0.0, "not held");
  ok = is_refused(&good, &board, -1.0, "negative") && ok;
  ok = is_refused(&good, &board, 601.0, "too long") && ok;
  ok = is_refused(&good, &board, NAN, "no number") && ok;
  VwRehearsal bad = good;
  bad.ring_out.sound = NULL;
  ok = is_refused(&bad, &board, 1.0, "no ring-out") && ok;
  bad = good;
  bad.speaker.corner_hz = 3601.0;
  ok = is_refused(&bad, &board, 1.0, "speaker") && ok;
  bad = rehearsal_of(&files, VW_REPEAT_LOOP_POINTS);
  bad.loop_end = files.main.n_frames + 1U;
  ok = is_refused(&bad, &board, 1.0, "loop points") && ok;
  bad = good;
  files.run_in.rate_hz = 8001;
  ok = is_refused(&bad, &board, 1.0, "sample rates") && ok;
  files_clear(&files);
  assert_true(ok);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_boards),
    cmocka_unit_test(test_burst),
    cmocka_unit_test(test_shots),
    cmocka_unit_test(test_lamp),
    cmocka_unit_test(test_speaker),
    cmocka_unit_test(test_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
