// Packs for boards of which none comes with the program: small ones, and such
// as play by slots.

#include "board/board.h"
#include "cli/packing/packing.h"
#include "cli/prop/prop.h"
#include "support/run.h"
#include "support/wav_files.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define TEST(function)                                                         \
  cmocka_unit_test_setup_teardown(function, run_enter_folder, run_leave_folder)

#define PROP                                                                   \
  "[sound zap]\ntake = zap.wav\nmake = shot\n"                                 \
  "[sound zaps]\ntake = zap.wav\nmake = loop\nfire-rate = 9/s\n"               \
  "[sound hum]\ntake = hum.wav\nmake = whole\nlevel = -6\n"

static void
put_prop(Prop* prop) {
  const WavFile zap = {.path = "zap.wav", .fill = FILL_SHOT, .seconds = 1.0};
  const WavFile hum = {.path = "hum.wav", .fill = FILL_HUM, .seconds = 1.0};
  wav_file_write(&zap);
  wav_file_write(&hum);
  bytes_write("sounds.ini", PROP, strlen(PROP));
  assert_true(prop_read("sounds.ini", prop));
}

/// A board of our own, with so much room.
static VwBoard
board_of(uint64_t capacity_bytes) {
  VwBoard board = vw_board_defaults();
  strcpy(board.name, "small");
  board.sample_rates_hz[0] = 22050;
  board.sample_rates_hz[1] = 11025;
  board.n_sample_rates = 2;
  board.naming.digits = 3;
  board.capacity_bytes = capacity_bytes;
  return board;
}

/// Pack quietly. Returns the status; what was said is to be freed.
static int
pack(Prop* prop, const VwBoard* board, bool fit, char** said) {
  static const CommandName command = {.name = "pack",
                                      .bit = COMMAND_PACK | PROP_KEY};
  Settings                 settings = {.family = vw_family_defaults(),
                                       .reading = vw_read_defaults(),
                                       .quiet = true,
                                       .pack.fit = fit};
  PackRun                  run = {.command = &command,
                                  .settings = &settings,
                                  .prop = prop,
                                  .board = board,
                                  .folder = strdup("small"),
                                  .found_lufs = (double)NAN};
  const int                before = run_catch();
  const int                status = pack_run(&run);
  pack_run_clear(&run);
  *said = run_caught(before);
  return status;
}

/// Slots are in the names of the files.
static void
test_slots(void** state) {
  (void)state;
  const VwBoard        board = board_of(0);
  const VwBoard* const boards[] = {&board};
  Prop                 prop = {0};
  char*                said = NULL;
  put_prop(&prop);
  // Without slots there is no name for a file.
  assert_int_equal(pack(&prop, &board, false, &said), 1);
  assert_non_null(strstr(said, "slot"));
  free(said);
  assert_true(prop_slots_give(&prop, boards, 1U));
  assert_int_equal(pack(&prop, &board, false, &said), 0);
  assert_string_equal(said, "");
  assert_int_equal(access("small/001.zap.shot.wav", F_OK), 0);
  assert_int_equal(access("small/002.zaps.loop.wav", F_OK), 0);
  assert_int_equal(access("small/003.hum.wav", F_OK), 0);
  free(said);
  prop_clear(&prop);
}

/// Too big: by how much, and what would help; nothing is written.
static void
test_too_big(void** state) {
  (void)state;
  // A second at 22.05 kHz and 16 bits alone takes 44 kB.
  const VwBoard        board = board_of(50000);
  const VwBoard* const boards[] = {&board};
  Prop                 prop = {0};
  char*                said = NULL;
  put_prop(&prop);
  assert_true(prop_slots_give(&prop, boards, 1U));
  assert_int_equal(pack(&prop, &board, false, &said), 1);
  assert_non_null(strstr(said, "small: "));
  assert_non_null(strstr(said, " kB too big: "));
  assert_non_null(strstr(said, "50.0 kB of room"));
  assert_non_null(strstr(said, "sample-rate = 11025"));
  assert_non_null(strstr(said, "which fits"));
  assert_non_null(strstr(said, "or make them smaller"));
  assert_int_not_equal(access("small", F_OK), 0);
  free(said);
  // A hum loses nothing at half the rate, noise would.
  struct stat hum;
  struct stat zap;
  assert_int_equal(pack(&prop, &board, true, &said), 0);
  assert_string_equal(said, "");
  assert_int_equal(stat("small/003.hum.wav", &hum), 0);
  assert_int_equal(stat("small/001.zap.shot.wav", &zap), 0);
  assert_int_equal(hum.st_size, 44 + 2 * 11025);
  assert_true(zap.st_size > 2 * 22050 / 4);
  free(said);
  prop_clear(&prop);
}

int
main(int argc, char** argv) {
  const struct CMUnitTest tests[] = {
    TEST(test_slots),
    TEST(test_too_big),
  };
  run_set_up(argc, argv);
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  run_tear_down();
  return failed;
}
