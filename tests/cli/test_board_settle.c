// What boards decide and refuse that are like none of those built in: they are
// handed to the program's own functions.

#include "board/board.h"
#include "cli/boards/boards.h"
#include "cli/files/files.h"
#include "support/check.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

// The boards here are found already.
bool
board_find_or_default(const char* asked, VwBoard* board, bool* found) {
  (void)asked;
  (void)board;
  (void)found;
  return true;
}

static const CommandName loop = {.name = "loop", .bit = COMMAND_LOOP};

/// Settings with a board found: it finishes its files, which are numbered and
/// small.
static Settings
new_settings(void) {
  Settings settings = {0};
  settings_init(&settings, 4, 4);
  settings.takes[0] = "zap.wav";
  settings.n_takes = 1;
  settings.has_board = true;
  settings.board = vw_board_defaults();
  strcpy(settings.board.name, "mine");
  settings.board.sample_rates_hz[1] = 22050;
  settings.board.n_sample_rates = 2;
  settings.board.encodings[1] = VW_ENCODING_U8;
  settings.board.n_encodings = 2;
  settings.board.release = VW_RELEASE_FINISHES;
  settings.board.naming.digits = 2;
  settings.board.file_bytes_max = 10044;
  return settings;
}

static void
give(Settings* settings, const char* name, const char* value) {
  settings->given[settings->n_given++] = (Given){name, value};
}

static void
test_finishes(void** state) {
  (void)state;
  Settings settings = new_settings();
  assert_true(board_settle(&loop, &settings));
  bool ok = check_equal(settings.family.cycle_max_s, 1.0, "cycle");
  ok &= check_equal(settings.family.run_in_max_s, 0.5, "run-in");
  ok &= check_equal((double)settings.family.file_bytes_max, 10044.0, "bytes");
  settings_clear(&settings);

  settings = new_settings();
  give(&settings, "overrun-max", "400ms");
  settings.board_wish.overrun_max_s = 0.4;
  assert_true(board_settle(&loop, &settings));
  ok &= check_equal(settings.family.cycle_max_s, 0.4, "as asked");
  settings_clear(&settings);
  assert_true(ok);
}

// What is given, and accepted, goes before what the board has first; a gap and
// a buffer that are known better go before its own.
static void
test_given(void** state) {
  (void)state;
  Settings settings = new_settings();
  give(&settings, "sample-rate", "22050");
  give(&settings, "bits", "8");
  give(&settings, "gap", "50ms");
  settings.family.format.rate_hz = 22050;
  settings.family.format.encoding = VW_ENCODING_U8;
  settings.family.gap_ms = 50.0;
  settings.board.gap_ms = 25.0;
  settings.board.buffer_frames = 256;
  assert_true(board_settle(&loop, &settings));
  assert_int_equal(settings.family.format.rate_hz, 22050);
  assert_int_equal(settings.family.format.encoding, VW_ENCODING_U8);
  assert_true(check_equal(settings.family.gap_ms, 50.0, "gap"));
  assert_int_equal(settings.family.buffer_frames, 256);
  settings_clear(&settings);
}

// The form is that of the board, and no other is accepted; a burst is.
static void
test_forms(void** state) {
  (void)state;
  static const VwForm forms[] = {
    VW_FORM_WHOLE_FILE, VW_FORM_LOOP_POINTS, VW_FORM_PIECES, VW_FORM_BURST};

  bool ok = true;
  for (int repeat = 0; repeat < 4; ++repeat) {
    for (int form = 0; form < 4; ++form) {
      Settings settings = new_settings();
      settings.board.repeat = (VwRepeat)repeat;
      settings.family.form = (VwForm)form;
      settings.has_form = form != VW_FORM_BURST;
      settings.has_burst = form == VW_FORM_BURST;
      const bool accepted =
        form == VW_FORM_BURST || forms[repeat] == (VwForm)form;
      const VwForm wanted =
        form == VW_FORM_BURST ? VW_FORM_BURST : forms[repeat];
      ok &= check_that(board_settle(&loop, &settings) == accepted &&
                         (!accepted || settings.family.form == wanted),
                       "repeat %d, form %d",
                       repeat,
                       form);
      settings_clear(&settings);
    }
  }
  assert_true(ok);
}

static void
test_slots(void** state) {
  (void)state;
  static const struct {
    unsigned slot, most;
    size_t   n_takes;
    bool     good;
  } cases[] = {
    {0, 0, 1, false},
    {1, 0, 1, true},
    {99, 0, 1, true},
    {99, 0, 2, false},
    {98, 0, 2, true},
    {8, 8, 1, true},
    {9, 8, 1, false},
  };

  bool ok = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    Settings settings = new_settings();
    settings.slot = cases[i].slot;
    settings.n_takes = cases[i].n_takes;
    settings.board.slots_max = cases[i].most;
    ok &=
      check_that(board_check_slots(&settings) == cases[i].good, "case %zu", i);
    settings_clear(&settings);
  }
  assert_true(ok);
}

/// What is said of a file of so many frames, mono and 16 bits at 44.1 kHz.
static bool
says(VwPart part, size_t n_frames, const char* words) {
  Settings       settings = new_settings();
  const MadeFile file = {.part = part,
                         .bytes = {NULL, 44 + 2 * n_frames},
                         .n_frames = n_frames,
                         .n_channels = 1,
                         .rate_hz = 44100};
  char* const    fault = fit_fault(&settings, VW_ENCODING_S16, &file);
  const bool     good = words ? fault && strstr(fault, words) : fault == NULL;
  check_that(good, "%zu frames: %s", n_frames, fault ? fault : "nothing");
  free(fault);
  settings_clear(&settings);
  return good;
}

// 10,000 bytes behind a header of 44 (closed form).
static void
test_fit(void** state) {
  (void)state;
  bool ok = says(VW_PART_SHOT, 5000, NULL);
  ok &= says(VW_PART_SHOT, 5001, "10046 bytes, 2 more than the board mine");
  ok &= says(VW_PART_SHOT, 10000, "--sample-rate 22050 (10044 bytes)");
  ok &= says(VW_PART_SHOT, 10000, "--bits 8 (10044 bytes)");
  ok &= says(VW_PART_SHOT,
             20000,
             "with --sample-rate 22050 --bits 8 --channels 1 (10044 bytes)");
  ok &= says(VW_PART_SHOT, 20004, "takes: give a shorter take");
  ok &= says(VW_PART_RING_OUT, 9000, "--tail choke");
  ok &= says(VW_PART_BURST, 9000, "fewer shots");
  assert_true(ok);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_finishes),
    cmocka_unit_test(test_given),
    cmocka_unit_test(test_forms),
    cmocka_unit_test(test_slots),
    cmocka_unit_test(test_fit),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
