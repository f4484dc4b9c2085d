// The recordings packed to one loudness, as written and as heard.

#define _XOPEN_SOURCE 700

#include "board/board.h"
#include "pack/pack.h"
#include "support/check.h"
#include "support/folder.h"
#include "support/meter.h"
#include "support/packs.h"
#include "support/recordings.h"
#include "support/riff.h"

#include "volleyweave/volleyweave.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

// What all families are to be within: the figure of this project.
#define CLOSE_LU 0.3

static char        paths[RECORDINGS][512];
static const char* path_of[RECORDINGS];
static char        names[RECORDINGS][64];
static size_t      n_paths;

static bool
note(const char* name, const VwSound* raw) {
  (void)raw;
  snprintf(paths[n_paths], sizeof(paths[0]), "%s/%s", recordings_place(), name);
  snprintf(names[n_paths], sizeof(names[0]), "%.50s", name);
  *strrchr(names[n_paths], '.') = '\0';
  path_of[n_paths] = paths[n_paths];
  ++n_paths;
  return true;
}

static size_t
make_wishes(VwMake make, VwLoudAs loud_as, VwSoundWish* wishes) {
  for (size_t i = 0; i < n_paths; ++i) {
    wishes[i] = packs_wish(names[i], make, &path_of[i]);
    wishes[i].options.level.loud_as = loud_as;
    wishes[i].options.fire_rate_per_s = make == VW_MAKE_LOOP ? 8.0 : 0.0;
  }
  return n_paths;
}

// Loudness of a file as it is heard: once, or again and again.
static double
heard(const char* folder, const VwPackFile* file) {
  char    path[1024];
  VwBytes bytes = {NULL, 0};
  Riff    riff;
  snprintf(path, sizeof(path), "%s/%s", folder, file->name);
  bytes.data = (unsigned char*)folder_get(path, &bytes.n_bytes);
  if (!bytes.data || !riff_parse(&bytes, &riff)) {
    return NAN;
  }
  VwSound      sound = riff_sound(&riff, &bytes);
  const double lufs = file->part == VW_PART_LOOP ? meter_loop_lufs(&sound)
                                                 : meter_effect_lufs(&sound);
  vw_sound_clear(&sound);
  vw_bytes_clear(&bytes);
  return lufs;
}

// Checks that all that lack nothing are as loud as the pack, that the others
// lack what is said, and returns how many those are.
static size_t
check_pack(const VwPack* pack, const char* folder) {
  size_t n_lacking = 0;
  bool   all = true;
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    const VwPackSound* const sound = &pack->sounds[i];
    if (sound->status) {
      continue;
    }
    const double lufs = heard(folder, &sound->files[0]);
    const double off = lufs + sound->lacks_lu - pack->sums.loudness_lufs;
    n_lacking += sound->lacks_lu > 0.0 ? 1U : 0U;
    all &= check_at_most(fabs(off), CLOSE_LU, "%s", sound->wish->name);
  }
  assert_true(all);
  return n_lacking;
}

static void
pack_all(const VwSoundWish* wishes, VwPackAim aim, bool loops) {
  const VwBoard board = packs_board();
  VwPackOptions options = packs_options(&board, "out");
  VwPack        pack;
  options.aim = aim;
  assert_true(packs_make(wishes, n_paths, &options, 2, &pack));
  assert_true(loops ? pack.sums.n_failed <= 6 : pack.sums.n_failed <= 4);
  const size_t n_lacking = check_pack(&pack, "out");
  assert_int_equal(n_lacking, pack.sums.n_lacking);
  if (aim == VW_PACK_ALL_REACH) {
    assert_int_equal(n_lacking, 0);
  } else {
    assert_true(n_lacking <= pack.sums.n_families / 10U);
    assert_true(pack.sums.loudest_lufs >= pack.sums.all_reach_lufs);
  }
  printf("%zu of %zu sounds at %.2f LUFS, %zu lack something\n",
         pack.n_sounds - pack.sums.n_failed,
         pack.n_sounds,
         pack.sums.loudness_lufs,
         n_lacking);
  vw_pack_clear(&pack);
}

static void
test_shots_all_reach(void** state) {
  (void)state;
  VwSoundWish wishes[RECORDINGS];
  make_wishes(VW_MAKE_SHOT, VW_LOUD_AS_SHOT, wishes);
  pack_all(wishes, VW_PACK_ALL_REACH, false);
}

static void
test_shots_loudest(void** state) {
  (void)state;
  VwSoundWish wishes[RECORDINGS];
  make_wishes(VW_MAKE_SHOT, VW_LOUD_AS_SHOT, wishes);
  pack_all(wishes, VW_PACK_LOUDEST, false);
}

static void
test_whole_all_reach(void** state) {
  (void)state;
  VwSoundWish wishes[RECORDINGS];
  make_wishes(VW_MAKE_WHOLE, VW_LOUD_AS_SHOT, wishes);
  pack_all(wishes, VW_PACK_ALL_REACH, false);
}

static void
test_loops_all_reach(void** state) {
  (void)state;
  VwSoundWish wishes[RECORDINGS];
  make_wishes(VW_MAKE_LOOP, VW_LOUD_AS_BURST, wishes);
  pack_all(wishes, VW_PACK_ALL_REACH, true);
}

int
main(int argc, char** argv) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown(
      test_shots_all_reach, folder_enter, folder_leave),
    cmocka_unit_test_setup_teardown(
      test_shots_loudest, folder_enter, folder_leave),
    cmocka_unit_test_setup_teardown(
      test_whole_all_reach, folder_enter, folder_leave),
    cmocka_unit_test_setup_teardown(
      test_loops_all_reach, folder_enter, folder_leave),
  };

  if (!recordings_find(argc > 1 ? argv[1] : NULL)) {
    return RECORDINGS_MISSING;
  }
  if (recordings_each(note) != RECORDINGS) {
    return 1;
  }
  return cmocka_run_group_tests(tests, NULL, NULL);
}
