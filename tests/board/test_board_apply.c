// What a board decides. The figures are those of the public header.

#include "board/board.h"
#include "support/check.h"

#include "volleyweave/volleyweave.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

static VwBoard
new_board(void) {
  return (VwBoard){.encodings = {VW_ENCODING_U8, VW_ENCODING_S16},
                   .n_encodings = 2,
                   .sample_rates_hz = {22050, 44100},
                   .n_sample_rates = 2,
                   .channels = {2, 1},
                   .n_channels = 2,
                   .buffer_frames = 1};
}

static VwFamilyOptions
apply(const VwBoard* board, const VwBoardWish* wish) {
  VwFamilyOptions options = vw_family_defaults();
  assert_int_equal(vw_board_apply(board, wish, &options), VW_OK);
  return options;
}

// The first of each list; what the board does not decide stays.
static void
test_format(void** state) {
  (void)state;
  const VwBoard     board = new_board();
  const VwBoardWish wish = {0.0, 0.0};
  VwFamilyOptions   options = vw_family_defaults();
  options.format.dither = VW_DITHER_NONE;
  options.fire_rate_per_s = 7.0;
  options.seed = 77;
  assert_int_equal(vw_board_apply(&board, &wish, &options), VW_OK);
  assert_int_equal(options.format.rate_hz, 22050);
  assert_int_equal(options.format.n_channels, 2);
  assert_int_equal(options.format.encoding, VW_ENCODING_U8);
  assert_int_equal(options.format.dither, VW_DITHER_NONE);
  assert_true(check_equal(options.fire_rate_per_s, 7.0, "fire rate"));
  assert_int_equal(options.seed, 77);
  assert_int_equal(options.shots, 0);
}

static void
test_form(void** state) {
  (void)state;
  static const VwForm forms[] = {[VW_REPEAT_WHOLE_FILE] = VW_FORM_WHOLE_FILE,
                                 [VW_REPEAT_LOOP_POINTS] = VW_FORM_LOOP_POINTS,
                                 [VW_REPEAT_THREE_FILES] = VW_FORM_PIECES,
                                 [VW_REPEAT_NOTHING] = VW_FORM_BURST};

  const VwBoardWish wish = {0.0, 0.0};
  for (size_t i = 0; i < 4; ++i) {
    VwBoard board = new_board();
    board.repeat = (VwRepeat)i;
    assert_int_equal(apply(&board, &wish).form, forms[i]);

    VwFamilyOptions options = vw_family_defaults();
    options.form = VW_FORM_BURST;
    options.burst_shots = 5;
    assert_int_equal(vw_board_apply(&board, &wish, &options), VW_OK);
    assert_int_equal(options.form, VW_FORM_BURST);
    assert_int_equal(options.burst_shots, 5);
  }
}

static void
test_repeats(void** state) {
  (void)state;
  const VwBoardWish wish = {0.0, 0.0};
  VwBoard           board = new_board();
  board.gap_ms = 25.0;
  board.buffer_frames = 256;
  board.file_bytes_max = 30000;
  const VwFamilyOptions options = apply(&board, &wish);
  assert_true(check_equal(options.gap_ms, 25.0, "gap"));
  assert_int_equal(options.buffer_frames, 256);
  assert_int_equal(options.file_bytes_max, 30000);

  board.repeat = VW_REPEAT_NOTHING;
  assert_true(check_equal(apply(&board, &wish).gap_ms, 0.0, "no gap"));
  board.buffer_frames = 0;
  assert_int_equal(apply(&board, &wish).buffer_frames, 1);
}

static double
cycle_max(double overrun_max_s, double gap_ms, double asked_s) {
  const VwBoardWish wish = {overrun_max_s, 0.0};
  VwBoard           board = new_board();
  board.release = VW_RELEASE_FINISHES;
  board.gap_ms = gap_ms;
  VwFamilyOptions options = vw_family_defaults();
  options.cycle_max_s = asked_s;
  assert_int_equal(vw_board_apply(&board, &wish, &options), VW_OK);
  return options.cycle_max_s;
}

// The file is what goes on after the release; a gap behind it is not heard
// (closed form).
static void
test_overrun(void** state) {
  (void)state;
  const VwBoard     board = new_board();
  const VwBoardWish wish = {0.5, 0.0};
  bool ok = check_equal(apply(&board, &wish).cycle_max_s, 2.0, "stops");
  ok &= check_equal(cycle_max(0.0, 0.0, 2.0), 1.0, "as usual");
  ok &= check_equal(cycle_max(0.4, 0.0, 2.0), 0.4, "asked");
  ok &= check_equal(cycle_max(3.0, 0.0, 2.0), 2.0, "never longer");
  ok &= check_equal(cycle_max(0.0, 0.0, 0.7), 0.7, "shorter already");
  ok &= check_equal(cycle_max(0.5, 250.0, 2.0), 0.5, "with a gap");
  assert_true(ok);
}

static double
run_in_max(uint64_t file_bytes, uint64_t capacity, double asked_s) {
  const VwBoardWish wish = {0.0, asked_s};
  VwBoard           board = new_board();
  board.file_bytes_max = file_bytes;
  board.capacity_bytes = capacity;
  return apply(&board, &wish).run_in_max_s;
}

// Half a second where there is at most a mebibyte: the figures of
// this project.
static void
test_run_in(void** state) {
  (void)state;
  bool ok = check_equal(run_in_max(0, 0, 0.0), 0.0, "room enough");
  ok &= check_equal(run_in_max(0, 1U << 30U, 0.0), 0.0, "a card");
  ok &= check_equal(run_in_max(32768, 0, 0.0), 0.5, "small files");
  ok &= check_equal(run_in_max(1U << 21U, 0, 0.0), 0.0, "large files");
  ok &= check_equal(run_in_max(0, 32768, 0.0), 0.5, "small flash");
  ok &= check_equal(run_in_max(32768, 0, 2.0), 2.0, "asked");
  ok &= check_equal(run_in_max(0, 0, 0.3), 0.3, "asked with room");
  assert_true(ok);
}

static void
check_refused(const VwBoard* board, const VwBoardWish* wish, int line) {
  VwFamilyOptions options = vw_family_defaults();
  const VwStatus  st = vw_board_apply(board, wish, &options);
  bool            ok = check_that(st == VW_BAD_OPTION, "line %d", line);
  ok &= check_equal(options.format.rate_hz, 0, "untouched, line %d", line);
  ok &= check_equal(options.form, VW_FORM_PIECES, "untouched, line %d", line);
  assert_true(ok);
}

static void
test_refused(void** state) {
  (void)state;
  static const VwBoardWish none = {0.0, 0.0};
  static const VwBoardWish wishes[] = {
    {0.04, 0.0}, {61.0, 0.0}, {-1.0, 0.0}, {0.0, 0.04}, {0.0, 61.0}};

  VwBoard board = new_board();
  for (size_t i = 0; i < sizeof(wishes) / sizeof(wishes[0]); ++i) {
    check_refused(&board, &wishes[i], (int)i);
  }
  board.n_encodings = 0;
  check_refused(&board, &none, __LINE__);
  board = new_board();
  board.sample_rates_hz[0] = 3999;
  check_refused(&board, &none, __LINE__);
  board = new_board();
  board.channels[0] = 3;
  check_refused(&board, &none, __LINE__);
  board = new_board();
  board.gap_ms = 1001.0;
  check_refused(&board, &none, __LINE__);
  board = new_board();
  board.buffer_frames = 65537;
  check_refused(&board, &none, __LINE__);
  board = new_board();
  board.container = VW_CONTAINER_FLAC;
  check_refused(&board, &none, __LINE__);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_format),
    cmocka_unit_test(test_form),
    cmocka_unit_test(test_repeats),
    cmocka_unit_test(test_overrun),
    cmocka_unit_test(test_run_in),
    cmocka_unit_test(test_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
