// A file written as it is made: whole under its name, or not at all, whichever
// call of the system fails.

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
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

/* Calls of the system that can be made to fail: see the linker's --wrap. */

typedef enum { CALL_NONE, CALL_WRITE, CALL_FSYNC, CALL_RENAME } Call;

// The `countdown`th of a call fails with a full disk, the first being 1.
static struct {
  Call     call;
  unsigned countdown;
} fault;

static bool
fails(Call call) {
  if (fault.call != call || !fault.countdown || --fault.countdown) {
    return false;
  }
  errno = ENOSPC;
  return true;
}

ssize_t __real_write(int fd, const void* bytes, size_t n_bytes);
int     __real_fsync(int fd);
int     __real_rename(const char* from, const char* to);
ssize_t __wrap_write(int fd, const void* bytes, size_t n_bytes);
int     __wrap_fsync(int fd);
int     __wrap_rename(const char* from, const char* to);

// In portions, as a system may.
ssize_t
__wrap_write(int fd, const void* bytes, size_t n_bytes) {
  return fails(CALL_WRITE)
           ? -1
           : __real_write(fd, bytes, n_bytes < 30000 ? n_bytes : 30000);
}

int
__wrap_fsync(int fd) {
  return fails(CALL_FSYNC) ? -1 : __real_fsync(fd);
}

int
__wrap_rename(const char* from, const char* to) {
  return fails(CALL_RENAME) ? -1 : __real_rename(from, to);
}

/* Pouring. */

// More than is collected at once, and no whole multiple of it.
#define N_BYTES 200001U

static char content[N_BYTES];

static int
set_up(void** state) {
  fault.call = CALL_NONE;
  for (size_t i = 0; i < N_BYTES; ++i) {
    content[i] = (char)('a' + i % 23U);
  }
  return folder_enter(state) || mkdir("out", 0777);
}

static VwStatus
begin(const char* path, bool force, VwPour** pour) {
  const VwWriteOptions options = {.force = force};
  return vw_pour_begin(path, &options, pour);
}

/// Pour the first `n_bytes` of the content, in pieces of some size.
static VwStatus
pour_all(const char* path, bool force, size_t n_bytes, size_t n_piece) {
  VwPour*  pour = NULL;
  VwStatus st = begin(path, force, &pour);
  for (size_t at = 0; !st && at < n_bytes; at += n_piece) {
    const size_t n = n_bytes - at < n_piece ? n_bytes - at : n_piece;
    // The end tells of it again.
    (void)vw_pour_add(pour, content + at, n);
  }
  return st ? st : vw_pour_end(pour);
}

static bool
holds(const char* path, size_t n_bytes) {
  size_t      n = 0;
  char* const bytes = folder_get(path, &n);
  const bool  same = bytes && n == n_bytes && !memcmp(bytes, content, n);
  free(bytes);
  return same;
}

static void
test_pieces(void** state) {
  (void)state;
  static const size_t pieces[] = {1U, 65535U, 65536U, 65537U, N_BYTES};
  for (size_t i = 0; i < sizeof(pieces) / sizeof(pieces[0]); ++i) {
    assert_int_equal(pour_all("out/a", false, N_BYTES, pieces[i]), VW_OK);
    assert_true(holds("out/a", N_BYTES));
    // The file and the list, which knows it.
    assert_int_equal(folder_count("out"), 2);
    assert_true(vw_is_own_output("out/a"));
  }
  assert_int_equal(pour_all("out/a", false, 0, 1), VW_OK);
  assert_true(holds("out/a", 0));
}

static void
test_refused(void** state) {
  (void)state;
  VwPour* pour = NULL;
  folder_put("out/mine", "mine", 4);
  assert_int_equal(begin("out/mine", false, &pour), VW_EXISTS);
  assert_int_equal(begin("out", true, &pour), VW_NOT_REGULAR);
  assert_int_equal(begin("none/a", false, &pour), VW_NO_FOLDER);
  assert_null(pour);
  assert_int_equal(pour_all("out/mine", true, 10, 3), VW_OK);
  assert_true(holds("out/mine", 10));
  // Somebody changes it.
  folder_put("out/mine", "mine", 4);
  assert_int_equal(pour_all("out/mine", false, 10, 3), VW_EXISTS);
  assert_true(folder_holds("out/mine", "mine"));
}

static void
test_dropped(void** state) {
  (void)state;
  VwPour* pour = NULL;
  assert_int_equal(begin("out/a", false, &pour), VW_OK);
  assert_int_equal(vw_pour_add(pour, content, N_BYTES), VW_OK);
  // Nothing has the name yet.
  assert_int_equal(access("out/a", F_OK), -1);
  vw_pour_drop(pour);
  assert_int_equal(folder_count("out"), 0);
  vw_pour_drop(NULL);
}

/// Fail the n-th of a call. Returns whether there was an n-th at all.
static bool
fail_nth(Call call, unsigned n, bool* ok) {
  fault.call = CALL_NONE;
  (void)unlink("out/a");
  *ok &= check_that(!pour_all("out/a", true, 99, 99), "the one before");
  fault.call = call;
  fault.countdown = n;
  const VwStatus st = pour_all("out/a", true, N_BYTES, 7777);
  const bool     came = !fault.countdown;
  fault.call = CALL_NONE;
  *ok &= check_equal(st, came ? VW_DISK_FULL : VW_OK, "status");
  *ok &= check_that(holds("out/a", st ? 99U : N_BYTES), "call %u", n);
  *ok &= check_that(folder_count("out") == 2, "left behind, call %u", n);
  *ok &= check_that(vw_is_own_output("out/a"), "ours, call %u", n);
  return came;
}

static void
test_each_call(void** state) {
  (void)state;
  static const struct {
    Call     call;
    unsigned least;
  } calls[] = {{CALL_WRITE, 8U}, {CALL_FSYNC, 2U}, {CALL_RENAME, 2U}};
  bool ok = true;
  for (size_t i = 0; i < sizeof(calls) / sizeof(calls[0]); ++i) {
    unsigned n = 1;
    while (n < 100 && fail_nth(calls[i].call, n, &ok)) {
      ++n;
    }
    ok &= check_that(n > calls[i].least && n < 100, "call %zu: %u", i, n);
  }
  assert_true(ok);
}

#define POUR_TEST(function)                                                    \
  cmocka_unit_test_setup_teardown(function, set_up, folder_leave)

int
main(void) {
  const struct CMUnitTest tests[] = {
    POUR_TEST(test_pieces),
    POUR_TEST(test_refused),
    POUR_TEST(test_dropped),
    POUR_TEST(test_each_call),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
