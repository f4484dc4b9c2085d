// Each call of the system failing while files are written: what was there
// before is there after, and nothing else.

#define _XOPEN_SOURCE 700

#include "store/store.h"
#include "support/check.h"
#include "support/folder.h"
#include "support/outputs.h"

#include "volleyweave/volleyweave.h"

#include <errno.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

/* Calls of the system that can be made to fail: see the linker's --wrap. */

typedef enum {
  CALL_WRITE,
  CALL_FSYNC,
  CALL_CLOSE,
  CALL_LINK,
  CALL_RENAME,
  N_CALLS
} Call;

static const char* const call_names[] = {"write",
                                         "fsync",
                                         "close",
                                         "link",
                                         "rename"};

// The `countdown`th call fails with `error`, the first being 1; with `for_good`
// so do all after it. 0: none does.
static struct {
  unsigned countdown[N_CALLS];
  bool     for_good[N_CALLS];
  int      error;
} faults;

static void
clear_faults(void) {
  memset(&faults, 0, sizeof(faults));
}

static bool
fails(Call call) {
  unsigned* const left = &faults.countdown[call];
  if (*left == 0 || --*left > 0) {
    return false;
  }
  *left = faults.for_good[call] ? 1U : 0U;
  errno = faults.error;
  return true;
}

ssize_t __real_write(int fd, const void* bytes, size_t n_bytes);
int     __real_fsync(int fd);
int     __real_close(int fd);
int     __real_link(const char* from, const char* to);
int     __real_rename(const char* from, const char* to);
ssize_t __wrap_write(int fd, const void* bytes, size_t n_bytes);
int     __wrap_fsync(int fd);
int     __wrap_close(int fd);
int     __wrap_link(const char* from, const char* to);
int     __wrap_rename(const char* from, const char* to);

// In small portions, as a system may.
ssize_t
__wrap_write(int fd, const void* bytes, size_t n_bytes) {
  return fails(CALL_WRITE) ? -1
                           : __real_write(fd, bytes, n_bytes < 7 ? n_bytes : 7);
}

int
__wrap_fsync(int fd) {
  return fails(CALL_FSYNC) ? -1 : __real_fsync(fd);
}

int
__wrap_close(int fd) {
  const int failed = __real_close(fd);
  return fails(CALL_CLOSE) ? -1 : failed;
}

int
__wrap_link(const char* from, const char* to) {
  return fails(CALL_LINK) ? -1 : __real_link(from, to);
}

int
__wrap_rename(const char* from, const char* to) {
  return fails(CALL_RENAME) ? -1 : __real_rename(from, to);
}

/* Writing. */

static int
set_up(void** state) {
  clear_faults();
  return folder_enter(state) || mkdir("out", 0777);
}

static int
tear_down(void** state) {
  clear_faults();
  return folder_leave(state);
}

/* Each call of the system failing, each time it is made. */

static const VwWriteOptions forced = {.force = true};

// Two folders; of the files one is new, one ours, one somebody's.
static VwStatus
write_several(size_t* at) {
  const VwOutput outputs[] = {text_output("out/new.wav", "new file"),
                              text_output("out/ours.wav", "ours, second"),
                              text_output("other/mine.wav", "replaced"),
                              text_output("other/new.wav", "new again")};
  return vw_write(outputs, 4, &forced, at);
}

static void
prepare_several(void) {
  assert_int_equal(mkdir("other", 0777) && errno != EEXIST, 0);
  remove("out/new.wav");
  remove("other/new.wav");
  remove("other/.volleyweave.list");
  assert_int_equal(write_one("out/ours.wav", "ours, first", &forced), VW_OK);
  folder_put("other/mine.wav", "mine", 4);
}

static bool
check_as_before(void) {
  bool ok = check_that(folder_holds("out/ours.wav", "ours, first"), "ours");
  ok &= check_that(folder_holds("other/mine.wav", "mine"), "mine");
  ok &= check_that(folder_count("out") == 2, "nothing left in out");
  ok &= check_that(folder_count("other") == 1, "nothing left in other");
  ok &= check_that(vw_is_own_output("out/ours.wav"), "ours is still ours");
  return ok;
}

static bool
check_done(void) {
  bool ok = check_that(folder_holds("out/new.wav", "new file"), "new file");
  ok &= check_that(folder_holds("out/ours.wav", "ours, second"), "ours");
  ok &= check_that(folder_holds("other/mine.wav", "replaced"), "mine");
  ok &= check_that(folder_holds("other/new.wav", "new again"), "new again");
  ok &= check_that(folder_count("out") == 3, "files in out");
  ok &= check_that(folder_count("other") == 3, "files in other");
  ok &= check_that(vw_is_own_output("other/mine.wav"), "mine is now ours");
  return ok;
}

// Fail the n-th of a call. Returns whether there was an n-th at all.
static bool
fail_nth(Call call, unsigned n, VwStatus expected, bool* ok) {
  prepare_several();
  faults.countdown[call] = n;
  size_t         at = NOWHERE;
  const VwStatus st = write_several(&at);
  const bool     came = faults.countdown[call] == 0 || faults.for_good[call];
  faults.countdown[call] = 0;
  bool fine = true;
  if (st) {
    fine &= check_equal(st, expected, "status");
    fine &= check_that(at < 4, "the output is named");
    fine &= check_as_before();
  } else {
    fine &= check_equal((double)at, (double)NOWHERE, "no output named");
    fine &= check_done();
  }
  // Files systems without second names are no fault.
  fine &= check_that(!came || st || call == CALL_LINK, "it is a fault");
  *ok &= check_that(fine, "%s number %u failing", call_names[call], n);
  return came;
}

static void
test_each_call(void** state) {
  (void)state;
  static const struct {
    int      error;
    VwStatus status;
  } errors[] = {{ENOSPC, VW_DISK_FULL},
                {EDQUOT, VW_DISK_FULL},
                {EROFS, VW_FOLDER_READONLY},
                {EACCES, VW_FOLDER_READONLY},
                {EIO, VW_WRITE_FAILED}};

  bool ok = true;
  for (size_t i = 0; i < sizeof(errors) / sizeof(errors[0]); ++i) {
    for (int call = 0; call < N_CALLS; ++call) {
      // Reading what is there closes files too, which is no harm.
      if (call == CALL_CLOSE) {
        continue;
      }
      faults.error = errors[i].error;
      unsigned n = 1;
      while (n < 200 && fail_nth((Call)call, n, errors[i].status, &ok)) {
        ++n;
      }
      ok &= check_that(n > 2 && n < 200, "%s came", call_names[call]);
    }
  }
  assert_true(ok);
}

// Some systems tell of a full disk only when a file is closed.
static void
test_close(void** state) {
  (void)state;
  faults.error = ENOSPC;
  unsigned n_refused = 0;
  bool     ok = true;
  for (unsigned n = 1; n < 30; ++n) {
    prepare_several();
    size_t at = NOWHERE;
    faults.countdown[CALL_CLOSE] = n;
    const VwStatus st = write_several(&at);
    faults.countdown[CALL_CLOSE] = 0;
    n_refused += st == VW_DISK_FULL ? 1U : 0U;
    ok &= check_that(st ? check_as_before() : check_done(), "close %u", n);
  }
  assert_true(ok);
  // Four files and two lists.
  assert_int_equal(n_refused, 6);
}

// A card that knows no second names: files are copied before they go.
static void
test_no_second_names(void** state) {
  (void)state;
  bool ok = true;
  faults.error = EPERM;
  faults.for_good[CALL_LINK] = true;
  for (unsigned n = 1; n < 40; ++n) {
    prepare_several();
    faults.countdown[CALL_LINK] = 1;
    faults.countdown[CALL_RENAME] = n;
    size_t         at = NOWHERE;
    const VwStatus st = write_several(&at);
    faults.countdown[CALL_LINK] = 0;
    faults.countdown[CALL_RENAME] = 0;
    ok &= check_that(st ? check_as_before() : check_done(), "rename %u", n);
    // Four files and two lists.
    ok &= check_equal(st != VW_OK, n <= 6, "rename %u is a fault", n);
  }
  assert_true(ok);
}

// From the first write on, as on a disk that is full and stays so.
static void
test_full_for_good(void** state) {
  (void)state;
  bool ok = true;
  faults.error = ENOSPC;
  for (unsigned n = 1; n < 20; ++n) {
    faults.for_good[CALL_WRITE] = false;
    prepare_several();
    faults.for_good[CALL_WRITE] = true;
    fail_nth(CALL_WRITE, 1, VW_DISK_FULL, &ok);
  }
  assert_true(ok);
}

#define WRITE_TEST(function)                                                   \
  cmocka_unit_test_setup_teardown(function, set_up, tear_down)

int
main(void) {
  const struct CMUnitTest tests[] = {
    WRITE_TEST(test_each_call),
    WRITE_TEST(test_close),
    WRITE_TEST(test_no_second_names),
    WRITE_TEST(test_full_for_good),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
