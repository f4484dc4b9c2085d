// Packs: names of files and of the folders of groups.

#define _XOPEN_SOURCE 700

#include "board/board.h"
#include "pack/pack.h"
#include "support/folder.h"
#include "support/packs.h"

#include "volleyweave/volleyweave.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

static const char* const take = "take.wav";

static int
set_up(void** state) {
  if (folder_enter(state)) {
    return -1;
  }
  packs_put_take(take, 1, 0.3);
  return 0;
}

static VwBoard
board_of_groups(void) {
  VwBoard board = packs_board();
  board.naming.allowed[0] = 0;
  board.naming.group_folders = true;
  return board;
}

// How many faults two sounds have, of which the first tells `word`.
static size_t
count_faults(const VwSoundWish wishes[2],
             const VwBoard*    board,
             const char*       word) {
  const VwPackOptions options = packs_options(board, "out");
  VwPack              pack;
  assert_int_equal(vw_pack_open(wishes, 2, &options, &pack), VW_OK);
  const size_t n = pack.faults.n_faults;
  if (n) {
    fprintf(stderr, "%s\n", pack.faults.faults[0].what);
    assert_non_null(strstr(pack.faults.faults[0].what, word));
  }
  vw_pack_clear(&pack);
  return n;
}

// Pairs as the Unicode Character Database has them: from memory.
static void
test_case(void** state) {
  (void)state;
  static const struct {
    const char* a;
    const char* b;
    size_t      n_faults;
  } cases[] = {
    {"knap", "KNAP", 1},
    {"bo\xC3\xABn", "BO\xC3\x8BN", 1},   // e with diaeresis
    {"\xC5\x82ona", "\xC5\x81ona", 1},   // l with stroke
    {"\xCE\xBB", "\xCE\x9B", 1},         // lambda
    {"\xD0\xB6", "\xD0\x96", 1},         // zhe
    {"\xD1\x91", "\xD0\x81", 1},         // io
    {"\xC3\xBF", "\xC5\xB8", 1},         // y with diaeresis
    {"\xC3\xB7", "\xC3\x97", 0},         // division, times
    {"bo\xC3\xABn", "bo\xC3\xA9n", 0},   // other accents
    {"\xE6\x97\xA5", "\xE6\x9C\xAC", 0}, // no letters with case
    {"caf\xC3\xA9", "cafe\xCC\x81", 1},  // an accent coded in two ways
    {"\xC4\x81", "\xC4\x82", 0},         // neighbours
  };
  const VwBoard board = board_of_groups();
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    const VwSoundWish wishes[2] = {packs_wish(cases[i].a, VW_MAKE_SHOT, &take),
                                   packs_wish(cases[i].b, VW_MAKE_SHOT, &take)};
    assert_int_equal(count_faults(wishes, &board, "in case or coding alone"),
                     cases[i].n_faults);
  }
}

static void
test_groups(void** state) {
  (void)state;
  const VwBoard board = board_of_groups();
  VwSoundWish   wishes[2] = {packs_wish("knap", VW_MAKE_SHOT, &take),
                             packs_wish("horn", VW_MAKE_SHOT, &take)};
  wishes[0].group = "Tower";
  wishes[1].group = "Tower";
  assert_int_equal(count_faults(wishes, &board, ""), 0);
  wishes[1].group = "tower";
  assert_int_equal(count_faults(wishes, &board, "folders whose names"), 1);
  wishes[1].group = NULL;
  wishes[0].group = "Horn.shot.wav";
  assert_int_equal(count_faults(wishes, &board, "of the name of a file"), 1);
}

static void
test_folders_on_card(void** state) {
  (void)state;
  VwBoard             board = board_of_groups();
  const VwPackOptions options = packs_options(&board, "out");
  VwSoundWish         wishes[3] = {packs_wish("knap", VW_MAKE_SHOT, &take),
                                   packs_wish("horn", VW_MAKE_SHOT, &take),
                                   packs_wish("bell", VW_MAKE_SHOT, &take)};
  uint64_t            n_bytes[2];
  board.cluster_bytes = 32768;
  for (size_t i = 0; i < 2; ++i) {
    VwPack pack;
    wishes[0].group = i ? "tower" : NULL;
    wishes[1].group = i ? "shore" : NULL;
    wishes[2].group = i ? "tower" : NULL;
    assert_true(packs_settle(wishes, 3, &options, 1, &pack));
    n_bytes[i] = pack.sums.n_bytes_on_card;
    vw_pack_clear(&pack);
  }
  assert_int_equal(n_bytes[1] - n_bytes[0], 2 * 32768);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown(test_case, set_up, folder_leave),
    cmocka_unit_test_setup_teardown(test_groups, set_up, folder_leave),
    cmocka_unit_test_setup_teardown(test_folders_on_card, set_up, folder_leave),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
