// Boards gauged by their test sound: simulated boards, rooms and phones.

#include "board/board.h"
#include "gauge/board/board.h"
#include "support/check.h"
#include "support/phone.h"
#include "support/signals.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// With this in the environment the sweeps are whole.
#define WHOLE "VOLLEYWEAVE_WHOLE_SWEEPS"
#define CASES_WHOLE 300U
#define CASES_BRIEF 60U

static VwTestSound
plan(unsigned rate_hz, unsigned n_channels) {
  const VwTestWish wish = {rate_hz, n_channels, 1U, 0U};
  VwTestSound      test;
  assert_int_equal(vw_test_plan(&wish, &test), VW_OK);
  return test;
}

static double
within(SignalRandom* random, double least, double most) {
  return least + (most - least) * signal_uniform(random);
}

static bool
one_in(SignalRandom* random, double n) {
  return signal_uniform(random) < 1.0 / n;
}

/// Hold it for about ten seconds, then, of two in three boards, ever shorter.
static void
press(Phone* phone, SignalRandom* random) {
  static const double held_s[] = {0.6, 0.3, 0.15, 0.08, 0.04, 0.02};
  phone->times_s[0] = within(random, 0.7, 1.2);
  phone->times_s[1] = within(random, 9.0, 11.0);
  phone->times_s[2] = within(random, 2.9, 3.3);
  phone->n_times = 3U;
  for (size_t i = 0; i < 6U && !one_in(random, 3.0 + 20.0 * (double)!!i); ++i) {
    phone->times_s[phone->n_times++] = held_s[i] * within(random, 0.9, 1.1);
    phone->times_s[phone->n_times++] = within(random, 2.9, 3.3);
  }
}

/// A board, a room and a phone of many kinds.
static Phone
any_phone(size_t index, const VwSound* file) {
  SignalRandom random = signal_random(1000000U * (uint64_t)index + 17U);
  Phone        phone = {.file = file,
                        .gap_ms = within(&random, 0.0, 150.0),
                        .jitter_ms = within(&random, 0.0, 2.0),
                        .press_ms = within(&random, 0.0, 60.0),
                        .finishes = one_in(&random, 2.0),
                        .board_ppm = within(&random, -100.0, 100.0),
                        .channels = (PhoneChannels)(4.0 * signal_uniform(&random)),
                        .click = pow(5.0, within(&random, -1.0, 0.0)),
                        .noise_db = within(&random, -45.0, -30.0),
                        .echo = within(&random, 0.0, 0.8),
                        .phone_ppm = within(&random, -100.0, 100.0),
                        .level = one_in(&random, 5.0) ? 2.0 : 0.5,
                        .gain = one_in(&random, 3.0) ? PHONE_QUICK : PHONE_STILL,
                        .packing = (PhonePacking)(3.0 * signal_uniform(&random)),
                        .seed = index};
  phone.gap_ms = one_in(&random, 6.0) ? 0.0 : phone.gap_ms;
  phone.delay_ms = phone.press_ms + within(&random, 0.0, 200.0);
  press(&phone, &random);
  phone.gates = one_in(&random, 4.0);
  phone.gain = one_in(&random, 6.0) ? PHONE_SLOW : phone.gain;
  return phone;
}

/// What came of a case.
typedef enum { RIGHT, CANNOT_TELL, WRONG } Outcome;

/// Whether a figure is near enough; one that is not told, or told with a doubt,
/// is no error.
static Outcome
near(const VwGauged* figure, double wanted, double bound) {
  if (figure->why || figure->doubt || isnan(figure->value)) {
    return CANNOT_TELL;
  }
  return fabs(figure->value - wanted) <= bound ? RIGHT : WRONG;
}

/// What is wrong, in the order of the figures.
static void
print_case(size_t index, const VwGaugedBoard* board, const PhoneHeard* heard) {
  printf("case %zu: gap %.3f for %.3f ms, why %d; clock %.1f for %.1f ppm, why "
         "%d; delay %.2f ms, why %d; release %.0f, why %d; channels %.0f, why "
         "%d; %zu presses for %zu; noise moves by %.1f dB\n",
         index,
         board->gap_ms.value,
         heard->gap_ms,
         (int)board->gap_ms.why,
         board->clock_ppm.value,
         heard->clock_ppm,
         (int)board->clock_ppm.why,
         board->delay_ms.value,
         (int)board->delay_ms.why,
         board->release.value,
         (int)board->release.why,
         board->channels.value,
         (int)board->channels.why,
         board->n_presses,
         heard->n_sounding,
         board->signs.noise_moves_db);
}

/// The same of a delay, the click of which noise suppression may take away, if
/// that is named.
static Outcome
near_delay(const VwGaugedBoard* board, const Phone* phone) {
  const Outcome outcome = near(&board->delay_ms, phone->delay_ms, 2.0);
  const bool    named = board->signs.noise_moves_db < -VW_SIGN_NOISE_MOVES_DB;
  return outcome == CANNOT_TELL && phone->gates && named ? RIGHT : outcome;
}

/// Gauge a recording of a test sound, and judge all that is found.
static Outcome
judge(size_t             index,
      const Phone*       phone,
      const PhoneHeard*  heard,
      const VwTestSound* test) {
  VwGaugedBoard board;
  assert_int_equal(vw_gauge_by_test(&heard->recording, test, &board), VW_OK);
  const double release =
    phone->finishes ? VW_RELEASE_FINISHES : VW_RELEASE_STOPS;
  const Outcome all[] = {
    near(&board.gap_ms, heard->gap_ms, 0.5),
    near(&board.clock_ppm, heard->clock_ppm, 50.0),
    near_delay(&board, phone),
    near(&board.release, release, 0.0),
    test->n_channels > 1U ? near(&board.channels, phone->channels, 0.0) : RIGHT,
    // The shortest press lies between those that were tried.
    board.press_ms.why || (board.press_ms.value >= phone->press_ms - 3.0 &&
                           board.silent_press_ms <= phone->press_ms + 3.0)
      ? RIGHT
      : WRONG,
  };
  Outcome worst = RIGHT;
  for (size_t i = 0; i < sizeof(all) / sizeof(all[0]); ++i) {
    worst = all[i] > worst ? all[i] : worst;
  }
  if (worst != RIGHT) {
    print_case(index, &board, heard);
  }
  return worst;
}

static void
boards_rooms_and_phones_of_many_kinds(void** state) {
  (void)state;
  const size_t n = getenv(WHOLE) ? CASES_WHOLE : CASES_BRIEF;
  size_t       n_of[3] = {0};
  for (size_t i = 0; i < n; ++i) {
    const VwTestSound test = plan(i % 3U ? 22050U : 44100U, i % 2U + 1U);
    VwSound           sound = {0};
    assert_int_equal(vw_test_make(&test, &sound), VW_OK);
    const Phone phone = any_phone(i, &sound);
    PhoneHeard  heard = phone_record(&phone);
    ++n_of[judge(i, &phone, &heard, &test)];
    vw_sound_clear(&heard.recording);
    vw_sound_clear(&sound);
  }
  printf("%zu right, %zu cannot tell, %zu wrong\n", n_of[0], n_of[1], n_of[2]);
  assert_true(
    check_at_least((double)n_of[RIGHT], 285.0 / 300.0 * (double)n, "right"));
  assert_int_equal(n_of[WRONG], 0);
}

static void
a_clock_without_a_crystal(void** state) {
  (void)state;
  static const double off_ppm[] = {1200.0, -1200.0, 20000.0, -25000.0};
  const VwTestSound   test = plan(22050U, 1U);
  VwSound             sound = {0};
  bool                good = true;
  assert_int_equal(vw_test_make(&test, &sound), VW_OK);
  for (size_t i = 0; i < sizeof(off_ppm) / sizeof(off_ppm[0]); ++i) {
    const Phone   phone = {.file = &sound,
                           .times_s = {0.8, 7.0, 1.0},
                           .n_times = 3U,
                           .gap_ms = 30.0,
                           .board_ppm = off_ppm[i],
                           .click = 0.5,
                           .noise_db = -40.0,
                           .echo = 0.3};
    PhoneHeard    heard = phone_record(&phone);
    VwGaugedBoard board;
    assert_int_equal(vw_gauge_by_test(&heard.recording, &test, &board), VW_OK);
    good &= check_at_most(fabs(board.gap_ms.value - heard.gap_ms),
                          0.5,
                          "gap at %g ppm",
                          off_ppm[i]);
    // Glides that are played 2 % faster lie 0.3 ms off, up or down.
    const Outcome clock = near(&board.clock_ppm, heard.clock_ppm, 50.0);
    good &= check_that(clock == (i < 2U ? RIGHT : CANNOT_TELL),
                       "clock at %g ppm: %g",
                       off_ppm[i],
                       board.clock_ppm.value);
    vw_sound_clear(&heard.recording);
  }
  vw_sound_clear(&sound);
  assert_true(good);
}

/// Record a board of the test sound, and gauge it.
static VwGaugedBoard
gauge(const VwTestSound* test, Phone phone, PhoneHeard* heard) {
  VwSound       sound = {0};
  VwGaugedBoard board;
  assert_int_equal(vw_test_make(test, &sound), VW_OK);
  phone.file = &sound;
  *heard = phone_record(&phone);
  assert_int_equal(vw_gauge_by_test(&heard->recording, test, &board), VW_OK);
  vw_sound_clear(&heard->recording);
  vw_sound_clear(&sound);
  return board;
}

/// Presses every 2.5 s, so many of them held over the end of the file.
static Phone
taps(double delay_ms, bool finishes, double held_s) {
  Phone phone = {.n_times = 13U,
                 .gap_ms = 40.0,
                 .delay_ms = delay_ms,
                 .finishes = finishes,
                 .click = 0.5,
                 .noise_db = -45.0,
                 .echo = 0.3};
  for (size_t i = 0; i < phone.n_times; i += 2U) {
    phone.times_s[i] = i ? 2.5 - held_s : 0.8;
    phone.times_s[i + 1U] = held_s;
  }
  return phone;
}

static void
presses_are_no_repeats(void** state) {
  (void)state;
  const VwTestSound test = plan(22050U, 1U);
  PhoneHeard        heard;
  Phone             phone = taps(120.0, true, 0.15);
  VwGaugedBoard     board = gauge(&test, phone, &heard);
  bool              good = check_that(
    board.gap_ms.why != VW_GAUGED, "taps: a gap of %g ms", board.gap_ms.value);
  // One repeat in a hold, and then more presses than that.
  phone.times_s[1] = 3.0;
  board = gauge(&test, phone, &heard);
  good &= check_that(near(&board.gap_ms, heard.gap_ms, 0.5) == RIGHT,
                     "a hold and taps: a gap of %g ms",
                     board.gap_ms.value);
  // Let go just behind the end, a board that stops sounds as one that does not.
  phone = taps(60.0, false, 2.08);
  board = gauge(&test, phone, &heard);
  good &= check_that(board.release.why != VW_GAUGED,
                     "let go behind the end: release %g",
                     board.release.value);
  assert_true(good);
}

static void
gaps_that_differ_are_not_exact(void** state) {
  (void)state;
  const VwTestSound   test = plan(22050U, 1U);
  PhoneHeard          heard;
  const Phone         phone = {.times_s = {0.8, 25.0, 1.0},
                               .n_times = 3U,
                               .gap_ms = 80.0,
                               .jitter_ms = 5.0,
                               .finishes = true,
                               .click = 0.5,
                               .noise_db = -45.0};
  const VwGaugedBoard board = gauge(&test, phone, &heard);
  assert_true(check_at_most(fabs(board.gap_ms.value - phone.gap_ms),
                            board.gap_ms.error,
                            "gap, %g ms of jitter",
                            board.gap_jitter_ms) &&
              check_at_most(board.gap_ms.error, 5.0, "its error"));
}

/// Mains hum four times as high as the marks, with overtones.
static void
hum_is_left_out(void** state) {
  (void)state;
  const VwTestSound test = plan(22050U, 1U);
  VwSound           sound = {0};
  assert_int_equal(vw_test_make(&test, &sound), VW_OK);
  const Phone   phone = {.file = &sound,
                         .times_s = {0.8, 7.0, 3.0, 0.3, 3.0},
                         .n_times = 5U,
                         .gap_ms = 30.0,
                         .delay_ms = 90.0,
                         .finishes = true,
                         .click = 0.5,
                         .noise_db = -45.0,
                         .level = 0.1};
  PhoneHeard    heard = phone_record(&phone);
  VwGaugedBoard board;
  for (size_t i = 0; i < heard.recording.n_frames; ++i) {
    const double turn =
      2.0 * 3.14159265358979 * 50.0 * (double)i / heard.recording.rate_hz;
    heard.recording.values[i] +=
      (float)(0.4 * sin(turn) + 0.2 * sin(3.0 * turn) + 0.1 * sin(5.0 * turn));
  }
  assert_int_equal(vw_gauge_by_test(&heard.recording, &test, &board), VW_OK);
  vw_sound_clear(&heard.recording);
  vw_sound_clear(&sound);
  bool ok = check_that(near(&board.gap_ms, heard.gap_ms, 0.5) == RIGHT, "gap");
  ok &=
    check_that(near(&board.clock_ppm, heard.clock_ppm, 50.0) == RIGHT, "clock");
  ok &=
    check_that(near(&board.delay_ms, phone.delay_ms, 2.0) == RIGHT, "delay");
  assert_true(ok);
}

/// Presses of 0.2, 0.1, 0.06, 0.03 and 0.015 s, by a board that stops or not:
/// the shortest that sounds lies between two.
static void
shortest_presses(void** state) {
  (void)state;
  static const struct {
    double press_ms;
    double delay_ms;
    bool   finishes;
    double sounds_ms; ///< 0: not found.
  } cases[] = {{40.0, 100.0, true, 60.0},
               {80.0, 30.0, true, 100.0},
               {150.0, 20.0, false, 200.0},
               {25.0, 120.0, false, 0.0}};
  const VwTestSound test = plan(22050U, 1U);
  bool              good = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    const Phone phone = {
      .times_s =
        {0.8, 7.03, 3.0, 0.2, 3.0, 0.1, 3.0, 0.06, 3.0, 0.03, 3.0, 0.015, 3.0},
      .n_times = 13U,
      .gap_ms = 30.0,
      .press_ms = cases[i].press_ms,
      .delay_ms = cases[i].delay_ms,
      .finishes = cases[i].finishes,
      .click = 0.5,
      .noise_db = -45.0};
    PhoneHeard          heard;
    const VwGaugedBoard board = gauge(&test, phone, &heard);
    good &= cases[i].sounds_ms > 0.0
              ? check_at_most(fabs(board.press_ms.value - cases[i].sounds_ms),
                              2.0,
                              "case %zu: shortest",
                              i)
              : check_that(board.press_ms.why == VW_WITHIN_DELAY ||
                             board.press_ms.why == VW_SEVERAL_CLICKS,
                           "case %zu: %g ms, why %d",
                           i,
                           board.press_ms.value,
                           (int)board.press_ms.why);
  }
  assert_true(good);
}

/* Loops */

/// Shots of noise or of a glide that follow each other evenly, their tails
/// running on over the end.
static VwSound
any_loop(SignalRandom* random) {
  const unsigned rate_hz = 22050U;
  const size_t   n_shots = 1U + (size_t)(8.0 * signal_uniform(random));
  const size_t   period = (size_t)(rate_hz / within(random, 6.0, 12.0));
  const bool     vary = one_in(random, 2.0);
  const bool     glides = one_in(random, 2.0);
  const double   decay_s = within(random, 0.1, 0.5);
  VwSound        loop = {0};
  assert_int_equal(vw_sound_init(&loop, n_shots * period, 1U, rate_hz), VW_OK);
  VwSound one = signal_silence(0.6, rate_hz);
  for (size_t i = 0; i < n_shots; ++i) {
    if (!i || vary) {
      const SignalBurst burst = {
        .start_s = 0.002,
        .rise_s = 0.001,
        .decay_s = decay_s,
        .level = 0.3,
        .pitch_hz = glides ? within(random, 1500.0, 2500.0) : 0.0,
        .glide_octaves_per_s = -6.0};
      memset(one.values, 0, one.n_frames * sizeof(float));
      signal_add_burst(&one, &burst, random);
    }
    for (size_t k = 0; k < one.n_frames; ++k) {
      loop.values[(i * period + k) % loop.n_frames] += one.values[k];
    }
  }
  vw_sound_clear(&one);
  return loop;
}

static void
boards_by_a_loop(void** state) {
  (void)state;
  const size_t n = getenv(WHOLE) ? CASES_WHOLE : CASES_BRIEF;
  size_t       n_of[3] = {0};
  for (size_t i = 0; i < n; ++i) {
    SignalRandom random = signal_random(1000000U * (uint64_t)i + 5U);
    VwSound      loop = any_loop(&random);
    Phone        phone = any_phone(i, &loop);
    phone.channels = PHONE_SUM;
    PhoneHeard    heard = phone_record(&phone);
    VwGaugedBoard board;
    assert_int_equal(vw_gauge_by_loop(&heard.recording, &loop, &board), VW_OK);
    const Outcome gap = near(&board.gap_ms, heard.gap_ms, 1.0);
    // A loop may be too short to tell a clock by it.
    const Outcome clock = near(
      &board.clock_ppm, heard.clock_ppm, 2.0 * board.clock_ppm.error + 20.0);
    if (gap != RIGHT || clock == WRONG) {
      print_case(i, &board, &heard);
    }
    ++n_of[clock == WRONG ? WRONG : gap];
    vw_sound_clear(&heard.recording);
    vw_sound_clear(&loop);
  }
  printf("%zu right, %zu cannot tell, %zu wrong\n", n_of[0], n_of[1], n_of[2]);
  assert_true(
    check_at_least((double)n_of[RIGHT], 280.0 / 300.0 * (double)n, "right"));
  assert_int_equal(n_of[WRONG], 0);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(boards_rooms_and_phones_of_many_kinds),
    cmocka_unit_test(a_clock_without_a_crystal),
    cmocka_unit_test(presses_are_no_repeats),
    cmocka_unit_test(gaps_that_differ_are_not_exact),
    cmocka_unit_test(hum_is_left_out),
    cmocka_unit_test(shortest_presses),
    cmocka_unit_test(boards_by_a_loop),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
