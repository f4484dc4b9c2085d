// Packs: what is made, made again, left alone and removed.

#define _XOPEN_SOURCE 700

#include "board/board.h"
#include "pack/pack.h"
#include "store/store.h"
#include "support/check.h"
#include "support/folder.h"
#include "support/packs.h"

#include "volleyweave/volleyweave.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

enum { SOUNDS = 8 };

static const char* const takes[] = {"take0.wav",
                                    "take1.wav",
                                    "take2.wav",
                                    "take3.wav",
                                    "take4.wav"};
static const char* const names[] =
  {"knap", "knap", "horn", "horn", "bell", "drum", "gate", "whole"};

// Shots and loops of takes, and one as it is.
static size_t
make_wishes(VwSoundWish* wishes) {
  static const VwMake makes[] = {VW_MAKE_SHOT,
                                 VW_MAKE_LOOP,
                                 VW_MAKE_SHOT,
                                 VW_MAKE_LOOP,
                                 VW_MAKE_SHOT,
                                 VW_MAKE_LOOP,
                                 VW_MAKE_BURST,
                                 VW_MAKE_WHOLE};
  static const size_t of[] = {0, 0, 1, 1, 2, 3, 3, 4};
  for (size_t i = 0; i < SOUNDS; ++i) {
    wishes[i] = packs_wish(names[i], makes[i], &takes[of[i]]);
    wishes[i].slot = (unsigned)(SOUNDS - i);
  }
  return SOUNDS;
}

static int
set_up(void** state) {
  if (folder_enter(state)) {
    return -1;
  }
  for (unsigned i = 0; i < 5; ++i) {
    packs_put_take(takes[i], i + 1, 0.6);
  }
  return 0;
}

// When a file was written, and which it is.
typedef struct {
  struct timespec time;
  ino_t           inode;
} Written;

static Written
written(const char* folder, const char* name) {
  struct stat status;
  char        path[256];
  snprintf(path, sizeof(path), "%s/%s", folder, name);
  assert_int_equal(stat(path, &status), 0);
  return (Written){status.st_mtim, status.st_ino};
}

static bool
is_untouched(Written before, const char* folder, const char* name) {
  const Written now = written(folder, name);
  return now.inode == before.inode && now.time.tv_sec == before.time.tv_sec &&
         now.time.tv_nsec == before.time.tv_nsec;
}

static void
make_with(const VwSoundWish*   wishes,
          size_t               n,
          const VwPackOptions* options,
          size_t               n_threads,
          VwPackSums*          sums) {
  VwPack pack;
  assert_true(packs_make(wishes, n, options, n_threads, &pack));
  *sums = pack.sums;
  vw_pack_clear(&pack);
}

static void
check_same_bytes(const VwBoard* board) {
  VwSoundWish   wishes[SOUNDS];
  VwPackSums    sums;
  size_t        n_one = 0;
  size_t        n_eight = 0;
  const size_t  n = make_wishes(wishes);
  VwPackOptions options = packs_options(board, "out/one");
  make_with(wishes, n, &options, 1, &sums);
  assert_int_equal(sums.n_failed, 0);
  options.folder = "out/eight";
  make_with(wishes, n, &options, 8, &sums);
  const uint64_t one = packs_digest("out/one", &n_one);
  const uint64_t eight = packs_digest("out/eight", &n_eight);
  assert_int_equal(n_one, sums.n_files);
  assert_int_equal(n_eight, sums.n_files);
  assert_int_equal(one, eight);
  // Nothing is left beside the packs.
  assert_int_equal(folder_count("out"), 2);
}

static void
test_same_bytes(void** state) {
  (void)state;
  const VwBoard board = packs_board();
  check_same_bytes(&board);
  assert_true(vw_is_own_output("out/one/horn.shot.wav"));
}

// Also where an encoder could put a number of its own into each file.
static void
test_same_bytes_ogg(void** state) {
  (void)state;
  VwBoard board = packs_board();
  board.container = VW_CONTAINER_OGG;
  check_same_bytes(&board);
  assert_true(vw_is_own_output("out/one/horn.shot.ogg"));
}

static const char* const files[SOUNDS] = {"knap.shot.wav",
                                          "knap.loop.wav",
                                          "horn.shot.wav",
                                          "horn.loop.wav",
                                          "bell.shot.wav",
                                          "drum.loop.wav",
                                          "gate.burst.wav",
                                          "whole.wav"};

// All is made again, and no file is written.
static void
test_unchanged(void** state) {
  (void)state;
  VwSoundWish         wishes[SOUNDS];
  VwPackSums          sums;
  Written             before[SOUNDS];
  const VwBoard       board = packs_board();
  const size_t        n = make_wishes(wishes);
  const VwPackOptions options = packs_options(&board, "out");
  make_with(wishes, n, &options, 1, &sums);
  assert_int_equal(sums.n_other, n);
  assert_int_equal(sums.n_same, 0);
  const Written list = written("out", ".volleyweave.list");
  for (size_t i = 0; i < n; ++i) {
    before[i] = written("out", files[i]);
  }
  VwPack pack;
  assert_true(packs_make(wishes, n, &options, 2, &pack));
  assert_int_equal(pack.sums.n_other, 0);
  assert_int_equal(pack.sums.n_same, n);
  assert_true(pack.sounds[1].family.plan.fire_rate_per_s > 0.0);
  for (size_t i = 0; i < n; ++i) {
    assert_int_equal(pack.sounds[i].files[0].fate, VW_PACK_FILE_SAME);
    assert_true(check_that(
      is_untouched(before[i], "out", files[i]), "%s untouched", files[i]));
  }
  vw_pack_clear(&pack);
  assert_true(is_untouched(list, "out", ".volleyweave.list"));
  assert_int_not_equal(access("out.before", F_OK), 0);
  assert_int_not_equal(access("out.making", F_OK), 0);
}

// Only the files that differ are written: one of another take, one that is
// gone.
static void
test_one_changed(void** state) {
  (void)state;
  VwSoundWish   wishes[SOUNDS];
  VwPackSums    sums;
  Written       before[SOUNDS];
  const VwBoard board = packs_board();
  const size_t  n = make_wishes(wishes);
  VwPackOptions options = packs_options(&board, "out");
  size_t        n_files = 0;
  make_with(wishes, n, &options, 2, &sums);
  const uint64_t whole = packs_digest("out", &n_files);
  for (size_t i = 0; i < n; ++i) {
    before[i] = written("out", files[i]);
  }
  packs_put_take(takes[2], 7, 0.5);
  options.loudness_lufs = sums.loudness_lufs;
  VwPack pack;
  assert_true(packs_make(wishes, n, &options, 2, &pack));
  assert_int_equal(pack.sums.n_other, 1);
  assert_int_equal(pack.sums.n_same, n - 1U);
  assert_int_equal(pack.sounds[4].files[0].fate, VW_PACK_FILE_REPLACED);
  vw_pack_clear(&pack);
  for (size_t i = 0; i < n; ++i) {
    assert_true(check_that(is_untouched(before[i], "out", files[i]) == (i != 4),
                           "%s written where it differs",
                           files[i]));
  }
  // The version before is whole.
  assert_int_equal(packs_digest("out.before", &n_files), whole);
  assert_int_equal(n_files, sums.n_files);
  assert_int_not_equal(packs_digest("out", &n_files), whole);
  assert_int_equal(unlink("out/whole.wav"), 0);
  before[4] = written("out", files[4]);
  assert_true(packs_make(wishes, n, &options, 1, &pack));
  assert_int_equal(pack.sums.n_other, 1);
  assert_int_equal(pack.sounds[7].files[0].fate, VW_PACK_FILE_NEW);
  vw_pack_clear(&pack);
  assert_true(is_untouched(before[4], "out", files[4]));
  assert_int_equal(access("out/whole.wav", F_OK), 0);
}

/// Put another digest in front of that of each file in a pack's list, as older
/// lists have it.
static void
age_list(const char* path) {
  static const char word[] = "pack file ";
  char              line[512];
  FILE* const       in = fopen(path, "r");
  FILE* const       out = fopen("aged", "w");
  assert_true(in && out);
  while (fgets(line, sizeof(line), in)) {
    const bool file = !strncmp(line, word, strlen(word));
    fprintf(out,
            "%s%s%s",
            file ? word : "",
            file ? "0123456789abcdef " : "",
            line + (file ? strlen(word) : 0U));
  }
  assert_int_equal(fclose(in), 0);
  assert_int_equal(fclose(out), 0);
  assert_int_equal(rename("aged", path), 0);
}

// What is left over of a pack with an older list is known.
static void
test_older_list(void** state) {
  (void)state;
  VwSoundWish         wishes[SOUNDS];
  VwPackSums          sums;
  const VwBoard       board = packs_board();
  const size_t        n = make_wishes(wishes);
  const VwPackOptions options = packs_options(&board, "aging");
  make_with(wishes, n, &options, 1, &sums);
  age_list("aging/.volleyweave.list");
  VwPack pack;
  assert_true(packs_make(wishes, n - 1U, &options, 1, &pack));
  assert_int_equal(pack.n_old, 1);
  assert_false(pack.old[0].changed);
  vw_pack_clear(&pack);
}

// Without a beginning nothing is written, and all is known.
static void
test_not_begun(void** state) {
  (void)state;
  VwSoundWish         wishes[SOUNDS];
  VwPackSums          sums;
  const VwBoard       board = packs_board();
  const size_t        n = make_wishes(wishes);
  const VwPackOptions options = packs_options(&board, "out");
  VwPack              pack;
  for (int run = 0; run < 2; ++run) {
    assert_true(packs_settle(wishes, n, &options, 1, &pack));
    for (size_t i = 0; i < n; ++i) {
      assert_int_equal(vw_pack_render(&pack, i), VW_OK);
      assert_true(isfinite(pack.sounds[i].family.level.true_peak_dbtp));
    }
    assert_int_equal(vw_pack_end(&pack), VW_OK);
    assert_int_equal(pack.sums.n_other, run ? 0 : n);
    assert_int_equal(folder_count("."), run ? 6 : 5);
    vw_pack_clear(&pack);
    make_with(wishes, n, &options, 2, &sums);
  }
}

// An option that makes no difference to a sound: no file is said to be another.
static void
test_same_again(void** state) {
  (void)state;
  VwSoundWish         wishes[SOUNDS];
  VwPackSums          sums;
  const VwBoard       board = packs_board();
  const size_t        n = make_wishes(wishes);
  const VwPackOptions options = packs_options(&board, "out");
  make_with(wishes, n, &options, 2, &sums);
  wishes[0].options.cycle_max_s = 1.5;
  assert_int_equal(wishes[0].make, VW_MAKE_SHOT);
  VwPack pack;
  assert_true(packs_make(wishes, n, &options, 2, &pack));
  assert_int_equal(pack.sounds[0].files[0].fate, VW_PACK_FILE_SAME);
  vw_pack_clear(&pack);
  wishes[0].options.format.dither = VW_DITHER_NONE;
  assert_true(packs_make(wishes, n, &options, 2, &pack));
  assert_int_equal(pack.sounds[0].files[0].fate, VW_PACK_FILE_REPLACED);
  vw_pack_clear(&pack);
}

static void
test_one_gain(void** state) {
  (void)state;
  VwSoundWish         wishes[SOUNDS];
  const VwBoard       board = packs_board();
  const size_t        n = make_wishes(wishes);
  const VwPackOptions options = packs_options(&board, "out");
  VwPack              pack;
  assert_true(packs_make(wishes, n, &options, 2, &pack));
  const VwPackSound* const sounds = pack.sounds;
  assert_int_equal(sounds[1].family_of, 0);
  assert_int_equal(sounds[3].family_of, 2);
  assert_true(sounds[0].family.level.gain_db == sounds[1].family.level.gain_db);
  assert_true(sounds[2].family.level.gain_db == sounds[3].family.level.gain_db);
  assert_true(sounds[0].family.level.gain_db != sounds[2].family.level.gain_db);
  assert_int_equal(pack.sums.n_families, 5);
  vw_pack_clear(&pack);
}

static void
test_offset(void** state) {
  (void)state;
  VwSoundWish         wishes[SOUNDS];
  const VwBoard       board = packs_board();
  const VwPackOptions options = packs_options(&board, "out");
  VwPack              pack;
  make_wishes(wishes);
  wishes[4].offset_lu = -6.0;
  assert_true(packs_make(wishes, SOUNDS, &options, 2, &pack));
  const double lufs = pack.sounds[4].family.level.shot_loudness_lufs;
  assert_true(
    check_at_most(fabs(lufs - (pack.sums.loudness_lufs - 6.0)), 0.1, "offset"));
  vw_pack_clear(&pack);
}

static void
test_old(void** state) {
  (void)state;
  VwSoundWish         wishes[SOUNDS];
  VwPackSums          sums;
  const VwBoard       board = packs_board();
  const size_t        n = make_wishes(wishes);
  const VwPackOptions options = packs_options(&board, "out");
  VwPack              pack;
  make_with(wishes, n, &options, 2, &sums);
  folder_put("out/drum.loop.wav", "mine", 4);
  folder_put("out/other.wav", "other", 5);
  // Without the sounds of the last two takes.
  assert_true(packs_make(wishes, 5, &options, 2, &pack));
  assert_int_equal(pack.n_old, 3);
  for (size_t i = 0; i < pack.n_old; ++i) {
    const bool changed = !strcmp(pack.old[i].name, "drum.loop.wav");
    assert_int_equal(pack.old[i].changed, changed);
    assert_int_equal(pack.old[i].removed, !changed);
  }
  vw_pack_clear(&pack);
  assert_int_not_equal(access("out/whole.wav", F_OK), 0);
  assert_true(folder_holds("out/drum.loop.wav", "mine"));
  assert_true(folder_holds("out/other.wav", "other"));
}

static void
test_not_ours(void** state) {
  (void)state;
  VwSoundWish   wishes[SOUNDS];
  const VwBoard board = packs_board();
  const size_t  n = make_wishes(wishes);
  VwPackOptions options = packs_options(&board, "out");
  VwPack        pack;
  assert_int_equal(mkdir("out", 0777), 0);
  folder_put("out/bell.shot.wav", "mine", 4);
  assert_int_equal(symlink("../take1.wav", "out/horn.shot.wav"), 0);
  assert_true(packs_make(wishes, n, &options, 2, &pack));
  assert_int_equal(pack.sounds[4].status, VW_EXISTS);
  assert_string_equal(pack.sounds[4].subject, "bell.shot.wav");
  assert_int_equal(pack.sounds[2].status, VW_IS_TAKE);
  assert_int_equal(pack.sounds[0].status, VW_OK);
  vw_pack_clear(&pack);
  assert_true(folder_holds("out/bell.shot.wav", "mine"));
  options.force = true;
  assert_true(packs_make(wishes, n, &options, 2, &pack));
  assert_int_equal(pack.sounds[4].status, VW_OK);
  assert_int_equal(pack.sounds[2].status, VW_IS_TAKE);
  vw_pack_clear(&pack);
}

static void
test_failed_take(void** state) {
  (void)state;
  VwSoundWish         wishes[SOUNDS];
  VwPackSums          sums;
  const VwBoard       board = packs_board();
  const size_t        n = make_wishes(wishes);
  const VwPackOptions options = packs_options(&board, "out");
  VwPack              pack;
  make_with(wishes, n, &options, 2, &sums);
  folder_put(takes[2], "rubbish", 7);
  assert_true(packs_make(wishes, n, &options, 2, &pack));
  assert_int_equal(pack.sounds[4].status, VW_NOT_AUDIO);
  assert_string_equal(pack.sounds[4].subject, takes[2]);
  assert_int_equal(pack.sums.n_failed, 1);
  vw_pack_clear(&pack);
  assert_int_equal(remove(takes[2]), 0);
  assert_int_equal(mkdir(takes[2], 0777), 0);
  assert_true(packs_make(wishes, n, &options, 2, &pack));
  assert_int_equal(pack.sounds[4].status, VW_NOT_REGULAR);
  vw_pack_clear(&pack);
  // What it made before stays, and stays known.
  assert_true(vw_is_own_output("out/bell.shot.wav"));
}

static void
test_rubbish_list(void** state) {
  (void)state;
  VwSoundWish         wishes[SOUNDS];
  VwPackSums          sums;
  const VwBoard       board = packs_board();
  const size_t        n = make_wishes(wishes);
  const VwPackOptions options = packs_options(&board, "out");
  static const char   rubbish[] =
    "pack 1 finished\npack file 0\npack sound\npack file "
    "0000000000000000 ../take0.wav\n\0\xFF pack";
  assert_int_equal(mkdir("out", 0777), 0);
  folder_put("out/.volleyweave.list", rubbish, sizeof(rubbish));
  make_with(wishes, n, &options, 2, &sums);
  assert_int_equal(sums.n_failed, 0);
  assert_int_equal(sums.n_other, n);
}

static void
test_faults(void** state) {
  (void)state;
  VwSoundWish         wishes[SOUNDS];
  VwBoard             board = packs_board();
  const VwPackOptions options = packs_options(&board, "out");
  VwPack              pack;
  const size_t        n = make_wishes(wishes);
  board.slots_max = 8;
  wishes[7].slot = 9;
  wishes[2].slot = wishes[3].slot;
  wishes[4].name = "KNAP";
  assert_int_equal(vw_pack_open(wishes, n, &options, &pack), VW_OK);
  assert_int_equal(pack.faults.n_faults, 3);
  assert_non_null(strstr(pack.faults.faults[0].what, "both on slot"));
  assert_non_null(strstr(pack.faults.faults[1].what, "out of range"));
  assert_non_null(
    strstr(pack.faults.faults[2].what, "in case or coding alone"));
  assert_int_equal(vw_pack_begin(&pack), VW_BAD_OPTION);
  vw_pack_clear(&pack);
  assert_int_not_equal(access("out", F_OK), 0);
}

static void
test_shortened_alike(void** state) {
  (void)state;
  VwSoundWish wishes[2] = {
    packs_wish("fog-knapper-one", VW_MAKE_SHOT, &takes[0]),
    packs_wish("fog-knapper-two", VW_MAKE_SHOT, &takes[1])};
  VwBoard             board = packs_board();
  const VwPackOptions options = packs_options(&board, "out");
  VwPack              pack;
  board.naming.eight_three = true;
  assert_int_equal(vw_pack_open(wishes, 2, &options, &pack), VW_OK);
  assert_int_equal(pack.faults.n_faults, 1);
  assert_non_null(strstr(pack.faults.faults[0].what, "both make"));
  vw_pack_clear(&pack);
}

static bool
is_before(struct timespec a, struct timespec b) {
  return a.tv_sec < b.tv_sec ||
         (a.tv_sec == b.tv_sec && a.tv_nsec <= b.tv_nsec);
}

static void
test_written_order(void** state) {
  (void)state;
  VwSoundWish   wishes[SOUNDS];
  VwPackSums    sums;
  VwBoard       board = packs_board();
  const size_t  n = make_wishes(wishes);
  VwPackOptions options = packs_options(&board, "out");
  board.order = VW_ORDER_WRITTEN;
  make_with(wishes, n, &options, 8, &sums);
  for (int run = 0; run < 2; ++run) {
    const Written before = written("out", "whole.wav");
    if (run) {
      packs_put_take(takes[2], 9, 0.5);
      options.loudness_lufs = sums.loudness_lufs;
    }
    make_with(wishes, n, &options, 8, &sums);
    // All are written, or none.
    assert_int_equal(sums.n_other, run ? n : 0);
    assert_int_equal(sums.n_same, run ? 0 : n);
    assert_int_equal(is_untouched(before, "out", "whole.wav"), !run);
    // Slots run against the order of the wishes.
    struct timespec last = {0, 0};
    for (size_t i = n; i-- > 0;) {
      const Written now = written("out", files[i]);
      assert_true(
        check_that(is_before(last, now.time), "%s in order", files[i]));
      last = now.time;
    }
  }
}

static void
test_capacity(void** state) {
  (void)state;
  VwSoundWish   wishes[SOUNDS];
  VwBoard       board = packs_board();
  const size_t  n = make_wishes(wishes);
  VwPackOptions options = packs_options(&board, "out");
  VwPack        pack;
  board.sample_rates_hz[1] = 44100;
  board.sample_rates_hz[0] = 44100;
  board.sample_rates_hz[1] = 32000;
  board.sample_rates_hz[2] = 8000;
  board.n_sample_rates = 3;
  board.cluster_bytes = 4096;
  board.capacity_bytes = 1U << 30U;
  assert_true(packs_settle(wishes, n, &options, 2, &pack));
  uint64_t n_bytes = 0;
  for (size_t i = 0; i < n; ++i) {
    for (size_t k = 0; k < pack.sounds[i].n_files; ++k) {
      n_bytes += (pack.sounds[i].files[k].n_bytes + 4095U) / 4096U * 4096U;
    }
  }
  assert_int_equal(pack.sums.n_bytes_on_card, n_bytes);
  assert_int_equal(pack.sums.n_bytes_over, 0);
  vw_pack_clear(&pack);
  board.capacity_bytes = n_bytes / 3U;
  assert_true(packs_settle(wishes, n, &options, 2, &pack));
  assert_int_equal(pack.sums.n_bytes_over, n_bytes - n_bytes / 3U);
  bool fits = false;
  for (size_t i = 0; i < pack.sums.n_changes; ++i) {
    const VwPackChange* const change = &pack.sums.changes[i];
    assert_true(change->n_bytes_on_card < n_bytes);
    fits = fits || (change->kind == VW_PACK_RATE && change->rate_hz == 8000 &&
                    change->fits);
  }
  assert_true(fits);
  vw_pack_clear(&pack);
  // White noise leaves 32 kHz nothing of what lies above, but under a corner.
  board.capacity_bytes = n_bytes - 8192U;
  options.fit = true;
  assert_true(packs_settle(wishes, n, &options, 2, &pack));
  for (size_t i = 0; i < n; ++i) {
    assert_int_equal(pack.sounds[i].rate_before_hz, 0);
  }
  assert_true(pack.sums.n_bytes_over > 0);
  vw_pack_clear(&pack);
}

static void
test_groups(void** state) {
  (void)state;
  VwSoundWish         wishes[SOUNDS];
  VwPackSums          sums;
  VwBoard             board = packs_board();
  const size_t        n = make_wishes(wishes);
  const VwPackOptions options = packs_options(&board, "deep/out");
  VwPack              pack;
  board.naming.group_folders = true;
  for (size_t i = 0; i < n; ++i) {
    wishes[i].group = i < 4 ? "first" : "second";
  }
  make_with(wishes, n, &options, 2, &sums);
  assert_int_equal(access("deep/out/first/knap.shot.wav", F_OK), 0);
  assert_true(vw_is_own_output("deep/out/second/bell.shot.wav"));
  make_with(wishes, n, &options, 2, &sums);
  assert_int_equal(sums.n_other, 0);
  // A link in a group's place might lead anywhere.
  assert_int_equal(mkdir("away", 0777), 0);
  assert_int_equal(mkdir("linked", 0777), 0);
  assert_int_equal(symlink("../away", "linked/first"), 0);
  VwPackOptions linked = options;
  linked.folder = "linked";
  assert_true(packs_settle(wishes, n, &linked, 2, &pack));
  assert_int_equal(vw_pack_begin(&pack), VW_NOT_A_FOLDER);
  vw_pack_clear(&pack);
  assert_int_equal(folder_count("away"), 0);
}

// If a group's folder became a link, nothing is removed behind it.
static void
test_link_for_group(void** state) {
  (void)state;
  VwBoard       board = packs_board();
  VwSoundWish   wishes[SOUNDS];
  VwPackOptions options;
  VwPack        pack;
  make_wishes(wishes);
  board.naming.group_folders = true;
  for (size_t i = 0; i < SOUNDS; ++i) {
    wishes[i].group = i < 1 ? "first" : "second";
  }
  options = packs_options(&board, "out");
  assert_true(packs_make(wishes, SOUNDS, &options, 1, &pack));
  vw_pack_clear(&pack);
  const size_t n = folder_count("out/first");
  assert_int_equal(rename("out/first", "away"), 0);
  assert_int_equal(symlink("../away", "out/first"), 0);
  // The group is none of the pack's any more.
  assert_true(packs_make(wishes + 1, SOUNDS - 1, &options, 1, &pack));
  assert_int_equal(pack.n_old, 0);
  vw_pack_clear(&pack);
  assert_int_equal(folder_count("away"), n);
}

static void
test_file_for_folder(void** state) {
  (void)state;
  VwSoundWish         wishes[SOUNDS];
  const VwBoard       board = packs_board();
  const VwPackOptions options = packs_options(&board, "out");
  VwPack              pack;
  make_wishes(wishes);
  folder_put("out", "file", 4);
  assert_int_equal(vw_pack_open(wishes, 1, &options, &pack), VW_NOT_A_FOLDER);
  assert_true(folder_holds("out", "file"));
}

// On the way to the pack, and where the sounds of a group go.
static void
test_file_for_folder_inside(void** state) {
  (void)state;
  VwSoundWish   wishes[SOUNDS];
  VwBoard       board = packs_board();
  VwPackOptions options = packs_options(&board, "file/out");
  VwPack        pack;
  make_wishes(wishes);
  folder_put("file", "file", 4);
  board.naming.group_folders = true;
  VwStatus st = vw_pack_open(wishes, 1, &options, &pack);
  if (!st) {
    vw_pack_clear(&pack);
    assert_true(packs_settle(wishes, 1, &options, 1, &pack));
    st = vw_pack_begin(&pack);
    vw_pack_clear(&pack);
  }
  assert_int_equal(st, VW_NOT_A_FOLDER);
  assert_true(folder_holds("file", "file"));
  assert_int_equal(mkdir("out", 0777), 0);
  folder_put("out/first", "file", 4);
  wishes[0].group = "first";
  options.folder = "out";
  assert_true(packs_settle(wishes, 1, &options, 1, &pack));
  assert_int_equal(vw_pack_begin(&pack), VW_NOT_A_FOLDER);
  vw_pack_clear(&pack);
  assert_true(folder_holds("out/first", "file"));
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown(test_same_bytes, set_up, folder_leave),
    cmocka_unit_test_setup_teardown(test_same_bytes_ogg, set_up, folder_leave),
    cmocka_unit_test_setup_teardown(test_unchanged, set_up, folder_leave),
    cmocka_unit_test_setup_teardown(test_one_changed, set_up, folder_leave),
    cmocka_unit_test_setup_teardown(test_older_list, set_up, folder_leave),
    cmocka_unit_test_setup_teardown(test_not_begun, set_up, folder_leave),
    cmocka_unit_test_setup_teardown(test_same_again, set_up, folder_leave),
    cmocka_unit_test_setup_teardown(test_one_gain, set_up, folder_leave),
    cmocka_unit_test_setup_teardown(test_offset, set_up, folder_leave),
    cmocka_unit_test_setup_teardown(test_old, set_up, folder_leave),
    cmocka_unit_test_setup_teardown(test_not_ours, set_up, folder_leave),
    cmocka_unit_test_setup_teardown(test_failed_take, set_up, folder_leave),
    cmocka_unit_test_setup_teardown(test_rubbish_list, set_up, folder_leave),
    cmocka_unit_test_setup_teardown(test_faults, set_up, folder_leave),
    cmocka_unit_test_setup_teardown(test_shortened_alike, set_up, folder_leave),
    cmocka_unit_test_setup_teardown(test_written_order, set_up, folder_leave),
    cmocka_unit_test_setup_teardown(test_capacity, set_up, folder_leave),
    cmocka_unit_test_setup_teardown(test_groups, set_up, folder_leave),
    cmocka_unit_test_setup_teardown(test_link_for_group, set_up, folder_leave),
    cmocka_unit_test_setup_teardown(test_file_for_folder, set_up, folder_leave),
    cmocka_unit_test_setup_teardown(
      test_file_for_folder_inside, set_up, folder_leave),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
