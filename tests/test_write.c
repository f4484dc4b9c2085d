// Files written all or none: whatever fails, what was there before is there
// after, and nothing else.

#define _XOPEN_SOURCE 700

#include "check.h"
#include "folder.h"

#include "volleyweave/volleyweave.h"

#include <errno.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
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

static const size_t NOWHERE = 99;

static VwOutput
text_output(const char* path, const char* text) {
  return (VwOutput){path, {(unsigned char*)(uintptr_t)text, strlen(text)}};
}

static VwStatus
write_one(const char* path, const char* text, const VwWriteOptions* options) {
  const VwWriteOptions none = {.force = false};
  const VwOutput       output = text_output(path, text);
  size_t               at = NOWHERE;
  const VwStatus st = vw_write(&output, 1, options ? options : &none, &at);
  assert_int_equal(at, st ? 0 : NOWHERE);
  return st;
}

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

static void
test_new(void** state) {
  (void)state;
  const mode_t mask = umask(027);
  assert_int_equal(write_one("out/a.wav", "one, in portions", NULL), VW_OK);
  umask(mask);
  assert_true(folder_holds("out/a.wav", "one, in portions"));
  // The file and the list.
  assert_int_equal(folder_count("out"), 2);
  struct stat status;
  assert_int_equal(stat("out/a.wav", &status), 0);
  assert_int_equal(status.st_mode & 0777, 0640);
  assert_true(vw_is_own_output("out/a.wav"));
}

static void
test_empty_and_none(void** state) {
  (void)state;
  const VwWriteOptions options = {.force = false};
  size_t               at = NOWHERE;
  assert_int_equal(write_one("out/a.wav", "", NULL), VW_OK);
  assert_true(folder_holds("out/a.wav", ""));
  assert_int_equal(vw_write(NULL, 0, &options, &at), VW_OK);
  assert_int_equal(at, NOWHERE);
}

static void
test_here(void** state) {
  (void)state;
  assert_int_equal(write_one("a.wav", "one", NULL), VW_OK);
  assert_int_equal(write_one("./a.wav", "two", NULL), VW_OK);
  assert_true(folder_holds("a.wav", "two"));
}

static void
test_ours_is_replaced(void** state) {
  (void)state;
  static const char* const texts[] = {"one", "two", "two", "three", "four"};

  for (size_t i = 0; i < sizeof(texts) / sizeof(texts[0]); ++i) {
    assert_int_equal(write_one("out/a.wav", texts[i], NULL), VW_OK);
    assert_int_equal(write_one("out/b.wav", texts[i], NULL), VW_OK);
    assert_true(folder_holds("out/a.wav", texts[i]));
    assert_true(vw_is_own_output("out/a.wav"));
    assert_true(vw_is_own_output("out/b.wav"));
    assert_int_equal(folder_count("out"), 3);
  }
  // The list does not grow: two lines a file.
  size_t      n_bytes = 0;
  char* const list = folder_get("out/.volleyweave.list", &n_bytes);
  assert_int_equal(n_bytes, 4 * (16 + 2 + strlen("a.wav") + 1));
  free(list);
}

static void
test_changed_is_not_ours(void** state) {
  (void)state;
  const VwWriteOptions force = {.force = true};
  assert_int_equal(write_one("out/a.wav", "one", NULL), VW_OK);
  folder_put("out/a.wav", "One", 3);
  assert_false(vw_is_own_output("out/a.wav"));
  assert_int_equal(write_one("out/a.wav", "two", NULL), VW_EXISTS);
  assert_true(folder_holds("out/a.wav", "One"));
  assert_int_equal(write_one("out/a.wav", "two", &force), VW_OK);
  assert_true(folder_holds("out/a.wav", "two"));
  assert_true(vw_is_own_output("out/a.wav"));
}

// The same bytes under another name, in another folder, through a link.
static void
test_own(void** state) {
  (void)state;
  assert_int_equal(write_one("out/a.wav", "one", NULL), VW_OK);
  folder_put("out/b.wav", "one", 3);
  folder_put("a.wav", "one", 3);
  assert_false(vw_is_own_output("out/b.wav"));
  assert_false(vw_is_own_output("a.wav"));
  assert_false(vw_is_own_output("none.wav"));
  assert_false(vw_is_own_output("out"));
  assert_false(vw_is_own_output("out/.volleyweave.list"));
  assert_int_equal(symlink("out/a.wav", "link.wav"), 0);
  assert_true(vw_is_own_output("link.wav"));
}

/* Refused, as a table. */

typedef struct {
  const char* path;
  bool        force;
  VwStatus    status;
} Refusal;

// take.wav is a take, with a second name and a link to it in out/; foreign.wav
// is somebody's; folder.wav, pipe.wav, null.wav are what they say.
static void
make_obstacles(void) {
  folder_put("take.wav", "take", 4);
  folder_put("out/foreign.wav", "foreign", 7);
  assert_int_equal(link("take.wav", "out/same.wav"), 0);
  assert_int_equal(symlink("../take.wav", "out/link.wav"), 0);
  assert_int_equal(symlink("foreign.wav", "out/elsewhere.wav"), 0);
  assert_int_equal(symlink("nowhere", "out/dangling.wav"), 0);
  assert_int_equal(symlink("/dev/null", "out/null.wav"), 0);
  assert_int_equal(mkdir("out/folder.wav", 0777), 0);
  assert_int_equal(mkfifo("out/pipe.wav", 0666), 0);
}

static const Refusal refusals[] = {
  {"out/foreign.wav", false, VW_EXISTS},
  {"out/elsewhere.wav", false, VW_EXISTS},
  {"out/dangling.wav", false, VW_EXISTS},
  {"out/folder.wav", false, VW_NOT_REGULAR},
  {"out/folder.wav", true, VW_NOT_REGULAR},
  {"out/folder.wav/", true, VW_NOT_REGULAR},
  {"out", true, VW_NOT_REGULAR},
  {"out/", true, VW_NOT_REGULAR},
  {"out/..", true, VW_NOT_REGULAR},
  {"out/pipe.wav", true, VW_NOT_REGULAR},
  {"out/null.wav", true, VW_NOT_REGULAR},
  {"/dev/null", true, VW_NOT_REGULAR},
  {"take.wav", false, VW_IS_TAKE},
  {"take.wav", true, VW_IS_TAKE},
  {"out/../take.wav", true, VW_IS_TAKE},
  {"out/same.wav", true, VW_IS_TAKE},
  {"out/link.wav", true, VW_IS_TAKE},
  {"none/a.wav", true, VW_NO_FOLDER},
  {"none/", true, VW_NO_FOLDER},
  {"", true, VW_NOT_REGULAR},
  {"take.wav/a.wav", true, VW_NOT_A_FOLDER},
  {"out/.volleyweave.list", true, VW_EXISTS},
};

static void
test_refused(void** state) {
  (void)state;
  const char* const takes[] = {"none.wav", "take.wav"};
  make_obstacles();
  const size_t n_before = folder_count("out");

  bool ok = true;
  for (size_t i = 0; i < 2 * sizeof(refusals) / sizeof(refusals[0]); ++i) {
    const Refusal* const refusal = &refusals[i / 2];
    const VwWriteOptions options = {.force = refusal->force,
                                    .dry_run = i % 2 == 1,
                                    .takes = takes,
                                    .n_takes = 2};
    ok &= check_equal(write_one(refusal->path, "new", &options),
                      refusal->status,
                      "%s, dry run %d",
                      refusal->path,
                      options.dry_run);
    ok &=
      check_that(folder_holds("take.wav", "take") &&
                   folder_holds("out/foreign.wav", "foreign") &&
                   folder_count("out") == n_before && folder_count(".") == 2,
                 "%s: all as before",
                 refusal->path);
  }
  assert_true(ok);
}

// A link is replaced itself; what it leads to is not touched.
static void
test_links_forced(void** state) {
  (void)state;
  const VwWriteOptions force = {.force = true};
  make_obstacles();
  assert_int_equal(write_one("out/elsewhere.wav", "new", &force), VW_OK);
  assert_int_equal(write_one("out/dangling.wav", "new", &force), VW_OK);
  assert_true(folder_holds("out/foreign.wav", "foreign"));
  assert_true(folder_holds("out/elsewhere.wav", "new"));
  assert_true(folder_holds("out/dangling.wav", "new"));
  assert_int_equal(access("out/nowhere", F_OK), -1);
}

static void
test_same_name_twice(void** state) {
  (void)state;
  static const char* const others[] = {
    "out/a.wav", "out/./a.wav", "link/a.wav"};
  assert_int_equal(symlink("out", "link"), 0);
  for (size_t i = 0; i < sizeof(others) / sizeof(others[0]); ++i) {
    const VwOutput       outputs[] = {text_output("out/a.wav", "one"),
                                      text_output("out/b.wav", "two"),
                                      text_output(others[i], "three")};
    const VwWriteOptions options = {.force = true};
    size_t               at = NOWHERE;
    assert_int_equal(vw_write(outputs, 3, &options, &at), VW_SAME_STEM);
    assert_int_equal(at, 2);
    assert_int_equal(folder_count("out"), 0);
  }
}

static void
test_dry_run(void** state) {
  (void)state;
  const VwWriteOptions options = {.dry_run = true};
  assert_int_equal(write_one("out/a.wav", "one", &options), VW_OK);
  assert_int_equal(folder_count("out"), 0);
}

static void
test_names(void** state) {
  (void)state;
  char longest[4 + 255 + 1] = "out/";
  memset(longest + 4, 'n', 255);
  assert_int_equal(write_one(longest, "one", NULL), VW_OK);
  assert_int_equal(write_one(longest, "two", NULL), VW_OK);
  char longer[4 + 256 + 1] = "out/";
  memset(longer + 4, 'n', 256);
  assert_int_equal(write_one(longer, "one", NULL), VW_WRITE_FAILED);
  // A name that would break the list's lines is written, but not remembered.
  assert_int_equal(write_one("out/a\nb.wav", "one", NULL), VW_OK);
  assert_int_equal(write_one("out/a\nb.wav", "two", NULL), VW_EXISTS);
  assert_int_equal(write_one("out/ .wav", "one", NULL), VW_OK);
  assert_true(vw_is_own_output("out/ .wav"));
  assert_int_equal(folder_count("out"), 4);
}

// Whatever a list holds, it is read without harm; nothing is ours by it.
static void
test_garbled_list(void** state) {
  (void)state;
  static const char* const lists[] = {
    "",
    "\n\n\n",
    "a.wav",
    "0123456789abcdef  ",
    "0123456789abcdef  a.wav",
    "0123456789abcdef a.wav\n",
    "\xFF\xFE  a.wav\n0123456789abcdefg a.wav\n",
  };

  for (size_t i = 0; i < sizeof(lists) / sizeof(lists[0]); ++i) {
    folder_put("out/a.wav", "mine", 4);
    folder_put("out/.volleyweave.list", lists[i], strlen(lists[i]));
    assert_int_equal(write_one("out/a.wav", "one", NULL), VW_EXISTS);
    assert_int_equal(write_one("out/b.wav", "one", NULL), VW_OK);
    assert_true(vw_is_own_output("out/b.wav"));
    assert_int_equal(unlink("out/b.wav"), 0);
  }
}

// A folder in the place of the list.
static void
test_list_cannot_be_written(void** state) {
  (void)state;
  assert_int_equal(mkdir("out/.volleyweave.list", 0777), 0);
  folder_put("out/a.wav", "mine", 4);
  const VwWriteOptions force = {.force = true};
  assert_int_equal(write_one("out/a.wav", "one", &force), VW_WRITE_FAILED);
  assert_int_equal(write_one("out/b.wav", "one", &force), VW_WRITE_FAILED);
  assert_true(folder_holds("out/a.wav", "mine"));
  assert_int_equal(folder_count("out"), 2);
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

// A card that knows no second names: files step aside, and come back.
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
    ok &= check_that(st || n > 6, "rename %u is a fault", n);
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

/* A folder that may not be written to. */

// Root may write anywhere: a child gives that up.
static int
child_status(const char* path) {
  const pid_t child = fork();
  if (child == 0) {
    if (geteuid() == 0 && (setgid(65534) || setuid(65534))) {
      _exit(255);
    }
    const VwOutput output = text_output(path, "new");
    size_t         at = 0;
    _exit((int)vw_write(&output, 1, &forced, &at));
  }
  int status = 0;
  assert_int_equal(waitpid(child, &status, 0), child);
  return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

static void
test_read_only(void** state) {
  (void)state;
  assert_int_equal(chmod(".", 0755), 0);
  folder_put("out/a.wav", "mine", 4);
  assert_int_equal(chmod("out", 0555), 0);
  assert_int_equal(child_status("out/b.wav"), VW_FOLDER_READONLY);
  assert_int_equal(child_status("out/a.wav"), VW_FOLDER_READONLY);
  assert_int_equal(folder_count("out"), 1);
  assert_true(folder_holds("out/a.wav", "mine"));
  assert_int_equal(chmod("out", 0777), 0);
  assert_int_equal(child_status("out/b.wav"), VW_OK);
}

#define WRITE_TEST(function)                                                   \
  cmocka_unit_test_setup_teardown(function, set_up, tear_down)

int
main(void) {
  const struct CMUnitTest tests[] = {
    WRITE_TEST(test_new),
    WRITE_TEST(test_empty_and_none),
    WRITE_TEST(test_here),
    WRITE_TEST(test_ours_is_replaced),
    WRITE_TEST(test_changed_is_not_ours),
    WRITE_TEST(test_own),
    WRITE_TEST(test_refused),
    WRITE_TEST(test_links_forced),
    WRITE_TEST(test_same_name_twice),
    WRITE_TEST(test_dry_run),
    WRITE_TEST(test_names),
    WRITE_TEST(test_garbled_list),
    WRITE_TEST(test_list_cannot_be_written),
    WRITE_TEST(test_each_call),
    WRITE_TEST(test_close),
    WRITE_TEST(test_no_second_names),
    WRITE_TEST(test_full_for_good),
    WRITE_TEST(test_read_only),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
