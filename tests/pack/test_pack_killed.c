// A pack that is killed on its way: whatever the moment, every file is whole,
// and the next run makes what an undisturbed one does.

#define _XOPEN_SOURCE 700

#include "board/board.h"
#include "pack/pack.h"
#include "support/check.h"
#include "support/folder.h"
#include "support/packs.h"
#include "support/riff.h"

#include "volleyweave/volleyweave.h"

#include <dirent.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

enum { SOUNDS = 6, KILLS = 50, DELAY_MOST_US = 40000 };

static const char* const takes[SOUNDS] =
  {"0.wav", "1.wav", "2.wav", "3.wav", "4.wav", "5.wav"};
static const char* const names[SOUNDS] = {"a", "b", "c", "d", "e", "f"};

// The process kills itself before this change of names or in the middle of this
// writing, counted from 1.
static int kill_at;

ssize_t __real_write(int fd, const void* bytes, size_t n_bytes);
ssize_t __wrap_write(int fd, const void* bytes, size_t n_bytes);
int     __real_rename(const char* from, const char* to);
int     __wrap_rename(const char* from, const char* to);
int     __real_unlink(const char* path);
int     __wrap_unlink(const char* path);

static void
count_change(void) {
  if (kill_at && !--kill_at) {
    raise(SIGKILL);
  }
}

ssize_t
__wrap_write(int fd, const void* bytes, size_t n_bytes) {
  if (kill_at == 1) {
    (void)!__real_write(fd, bytes, n_bytes / 2U);
  }
  count_change();
  return __real_write(fd, bytes, n_bytes);
}

int
__wrap_rename(const char* from, const char* to) {
  count_change();
  return __real_rename(from, to);
}

int
__wrap_unlink(const char* path) {
  count_change();
  return __real_unlink(path);
}

static void
make_wishes(VwSoundWish* wishes, double ceiling_dbtp) {
  for (size_t i = 0; i < SOUNDS; ++i) {
    wishes[i] =
      packs_wish(names[i], i % 2U ? VW_MAKE_LOOP : VW_MAKE_SHOT, &takes[i]);
    wishes[i].slot = (unsigned)(i + 1);
    wishes[i].options.level.ceiling_dbtp = ceiling_dbtp;
  }
}

static int
set_up(void** state) {
  if (folder_enter(state)) {
    return -1;
  }
  for (unsigned i = 0; i < SOUNDS; ++i) {
    packs_put_take(takes[i], i + 1, 0.2);
  }
  return 0;
}

static uint64_t
pack_into(const char* folder, const VwBoard* board, double ceiling_dbtp) {
  VwSoundWish         wishes[SOUNDS];
  const VwPackOptions options = packs_options(board, folder);
  VwPack              pack;
  size_t              n_files = 0;
  make_wishes(wishes, ceiling_dbtp);
  assert_true(packs_make(wishes, SOUNDS, &options, 2, &pack));
  assert_int_equal(pack.sums.n_failed, 0);
  vw_pack_clear(&pack);
  const uint64_t digest = packs_digest(folder, &n_files);
  assert_int_equal(n_files, SOUNDS);
  return digest;
}

// Packs in a process of its own, and kills that after some time.
static void
pack_and_kill(const VwBoard* board, double ceiling_dbtp, long delay_us) {
  const struct timespec delay = {0, delay_us * 1000};
  const pid_t           child = fork();
  if (!child) {
    VwSoundWish         wishes[SOUNDS];
    const VwPackOptions options = packs_options(board, "out");
    VwPack              pack;
    make_wishes(wishes, ceiling_dbtp);
    packs_make(wishes, SOUNDS, &options, 2, &pack);
    _exit(0);
  }
  assert_true(child > 0);
  nanosleep(&delay, NULL);
  kill(child, SIGKILL);
  waitpid(child, NULL, 0);
}

// Whether each file is a whole WAV, as its header says.
static bool
is_all_whole(const char* folder) {
  DIR* const there = opendir(folder);
  bool       all = true;
  if (!there) {
    return true;
  }
  for (const struct dirent* entry = readdir(there); entry;
       entry = readdir(there)) {
    char    path[512];
    VwBytes bytes = {NULL, 0};
    Riff    riff;
    if (*entry->d_name == '.') {
      continue;
    }
    snprintf(path, sizeof(path), "%s/%s", folder, entry->d_name);
    bytes.data = (unsigned char*)folder_get(path, &bytes.n_bytes);
    all &=
      check_that(bytes.data && bytes.n_bytes > 44U && riff_parse(&bytes, &riff),
                 "%s is whole",
                 path);
    free(bytes.data);
  }
  closedir(there);
  return all;
}

// A list that says so tells the truth: all files of one of the two packs.
static bool
is_list_true(const uint64_t wanted[2]) {
  size_t         n = 0;
  char* const    list = folder_get("out/.volleyweave.list", &n);
  const bool     finished = list && !strncmp(list, "pack 1 finished", 15);
  const uint64_t is = finished ? packs_digest("out", &n) : wanted[0];
  free(list);
  return check_that(is == wanted[0] || is == wanted[1], "the list is true");
}

static void
kill_often(const VwBoard* board) {
  static const double ceilings[] = {-1.0, -4.0};
  uint64_t            wanted[2];
  uint32_t            bits = 20;
  bool                all = true;
  wanted[0] = pack_into("one", board, ceilings[0]);
  wanted[1] = pack_into("two", board, ceilings[1]);
  assert_int_not_equal(wanted[0], wanted[1]);
  for (int i = 0; i < KILLS; ++i) {
    bits = bits * 1664525U + 1013904223U;
    pack_and_kill(board, ceilings[i % 2], bits % DELAY_MOST_US);
    all &= is_all_whole("out");
    all &= is_all_whole("out.before");
    all &= is_list_true(wanted);
    // Often several runs in a row are killed.
    if (i % 3 == 2) {
      all &=
        check_that(pack_into("out", board, ceilings[i % 2]) == wanted[i % 2],
                   "same files after kill %d",
                   i);
    }
  }
  all &= check_that(pack_into("out", board, -1.0) == wanted[0], "at the end");
  // Three packs, the version before of one, and the takes.
  all &= check_that(folder_count(".") == 4U + SOUNDS, "nothing left beside");
  all &= check_that(folder_count("out") == SOUNDS + 1U, "nothing left inside");
  assert_true(all);
}

// Killed before every single change of a name, and in every writing.
static void
kill_everywhere(const VwBoard* board) {
  static const double ceilings[] = {-1.0, -4.0};
  uint64_t            wanted[2];
  bool                all = true;
  int                 status = SIGKILL;
  wanted[0] = pack_into("one", board, ceilings[0]);
  wanted[1] = pack_into("two", board, ceilings[1]);
  pack_into("out", board, ceilings[0]);
  int at = 0;
  for (; status && at < 1000; ++at) {
    const double ceiling_dbtp = ceilings[(at + 1) % 2];
    const pid_t  child = fork();
    if (!child) {
      kill_at = at + 1;
      pack_into("out", board, ceiling_dbtp);
      _exit(0);
    }
    waitpid(child, &status, 0);
    all &= is_all_whole("out");
    all &= is_all_whole("out.before");
    all &= is_list_true(wanted);
    all &=
      check_that(pack_into("out", board, ceiling_dbtp) == wanted[(at + 1) % 2],
                 "same files after change %d",
                 at);
    all &= check_that(folder_count("out") == SOUNDS + 1U, "nothing left");
  }
  // Three a file at least: its bytes, where it waits, and its name.
  all &= check_at_least(at, 3.0 * SOUNDS, "kills");
  assert_true(all);
}

static void
test_by_name(void** state) {
  (void)state;
  const VwBoard board = packs_board();
  kill_often(&board);
}

static void
test_every_change(void** state) {
  (void)state;
  const VwBoard board = packs_board();
  kill_everywhere(&board);
}

static void
test_written(void** state) {
  (void)state;
  VwBoard board = packs_board();
  board.order = VW_ORDER_WRITTEN;
  kill_often(&board);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown(test_by_name, set_up, folder_leave),
    cmocka_unit_test_setup_teardown(test_every_change, set_up, folder_leave),
    cmocka_unit_test_setup_teardown(test_written, set_up, folder_leave),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
