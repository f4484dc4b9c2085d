// Files written all or none: whatever fails, what was there before is there
// after, and nothing else.

#define _XOPEN_SOURCE 700

#include "store/store.h"
#include "support/check.h"
#include "support/folder.h"
#include "support/outputs.h"

#include "volleyweave/volleyweave.h"

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

static int
set_up(void** state) {
  return folder_enter(state) || mkdir("out", 0777);
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

// Somebody moved ours and left a link: the link is not what was written.
static void
test_ours_became_a_link(void** state) {
  (void)state;
  assert_int_equal(write_one("out/a.wav", "one", NULL), VW_OK);
  assert_int_equal(rename("out/a.wav", "moved.wav"), 0);
  assert_int_equal(symlink("../moved.wav", "out/a.wav"), 0);
  assert_int_equal(write_one("out/a.wav", "two", NULL), VW_EXISTS);
  assert_true(folder_holds("moved.wav", "one"));
}

/* Refused, as a table. */

typedef struct {
  const char* path;
  bool        force;
  VwStatus    status;
} Refusal;

// take.wav is a take, with a second name and a link to it in out/; foreign.wav
// is somebody's; folder.wav, pipe.wav, to-pipe.wav are what they say. No
// device of the system: were the refusal broken, it would be replaced.
static void
make_obstacles(void) {
  folder_put("take.wav", "take", 4);
  folder_put("out/foreign.wav", "foreign", 7);
  assert_int_equal(link("take.wav", "out/same.wav"), 0);
  assert_int_equal(symlink("../take.wav", "out/link.wav"), 0);
  assert_int_equal(symlink("foreign.wav", "out/elsewhere.wav"), 0);
  assert_int_equal(symlink("nowhere", "out/dangling.wav"), 0);
  assert_int_equal(mkdir("out/folder.wav", 0777), 0);
  assert_int_equal(mkfifo("out/pipe.wav", 0666), 0);
  assert_int_equal(symlink("pipe.wav", "out/to-pipe.wav"), 0);
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
  {"out/to-pipe.wav", true, VW_NOT_REGULAR},
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
  folder_put("out/a", "one", 3);
  assert_false(vw_is_own_output("out/a"));
  assert_int_equal(unlink("out/a"), 0);
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

/* Several runs. */

enum { RUNS = 4, FILES = 25 };

// Each run writes its files one by one: all are on the list in the end.
static void
test_runs_at_once(void** state) {
  (void)state;
  for (int run = 0; run < RUNS; ++run) {
    if (fork() == 0) {
      VwStatus st = VW_OK;
      for (int i = 0; !st && i < FILES; ++i) {
        char name[32];
        (void)snprintf(name, sizeof(name), "out/%d-%d.wav", run, i);
        st = write_one(name, name, NULL);
      }
      _exit((int)st);
    }
  }
  for (int run = 0; run < RUNS; ++run) {
    int status = 0;
    assert_true(wait(&status) > 0);
    assert_int_equal(status, 0);
  }
  assert_int_equal(folder_count("out"), RUNS * FILES + 1);
  for (int i = 0; i < RUNS * FILES; ++i) {
    char name[32];
    (void)snprintf(name, sizeof(name), "out/%d-%d.wav", i / FILES, i % FILES);
    assert_true(check_that(vw_is_own_output(name), "%s is ours", name));
  }
}

/// Put a file as a process leaves it on its way to a name.
static void
put_on_its_way(char name[64], pid_t process, const char* ending) {
  (void)snprintf(name,
                 64,
                 "out/.volleyweave-%ld-0123456789abcdef-0%s",
                 (long)process,
                 ending);
  folder_put(name, "half", 4);
}

// What a run that is gone left is cleared, what another is at stays.
static void
test_left_behind(void** state) {
  (void)state;
  const pid_t child = fork();
  if (child == 0) {
    _exit(0);
  }
  assert_int_equal(waitpid(child, NULL, 0), child);
  char names[4][64];
  put_on_its_way(names[0], child, "");
  put_on_its_way(names[1], child, "~");
  put_on_its_way(names[2], getppid(), "");
  put_on_its_way(names[3], getpid(), "");
  folder_put("out/.volleyweave-lock", "", 0);
  assert_int_equal(write_one("out/a.wav", "one", NULL), VW_OK);
  assert_int_equal(access(names[0], F_OK), -1);
  assert_int_equal(access(names[1], F_OK), -1);
  assert_int_equal(access(names[2], F_OK), 0);
  assert_int_equal(access(names[3], F_OK), -1);
  assert_int_equal(access("out/.volleyweave-lock", F_OK), 0);
}

/* A folder that may not be written to. */

// Root may write anywhere: a child gives that up.
static int
child_status(const char* path, bool dry_run) {
  const pid_t child = fork();
  if (child == 0) {
    if (geteuid() == 0 && (setgid(65534) || setuid(65534))) {
      _exit(255);
    }
    const VwOutput       output = text_output(path, "new");
    const VwWriteOptions options = {.force = true, .dry_run = dry_run};
    size_t               at = 0;
    _exit((int)vw_write(&output, 1, &options, &at));
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
  assert_int_equal(child_status("out/b.wav", false), VW_FOLDER_READONLY);
  assert_int_equal(child_status("out/b.wav", true), VW_FOLDER_READONLY);
  assert_int_equal(child_status("out/a.wav", false), VW_FOLDER_READONLY);
  assert_int_equal(folder_count("out"), 1);
  assert_true(folder_holds("out/a.wav", "mine"));
  assert_int_equal(chmod("out", 0777), 0);
  assert_int_equal(child_status("out/b.wav", false), VW_OK);
}

#define WRITE_TEST(function)                                                   \
  cmocka_unit_test_setup_teardown(function, set_up, folder_leave)

int
main(void) {
  const struct CMUnitTest tests[] = {
    WRITE_TEST(test_new),
    WRITE_TEST(test_empty_and_none),
    WRITE_TEST(test_here),
    WRITE_TEST(test_ours_is_replaced),
    WRITE_TEST(test_changed_is_not_ours),
    WRITE_TEST(test_own),
    WRITE_TEST(test_ours_became_a_link),
    WRITE_TEST(test_refused),
    WRITE_TEST(test_links_forced),
    WRITE_TEST(test_same_name_twice),
    WRITE_TEST(test_dry_run),
    WRITE_TEST(test_names),
    WRITE_TEST(test_garbled_list),
    WRITE_TEST(test_list_cannot_be_written),
    WRITE_TEST(test_runs_at_once),
    WRITE_TEST(test_left_behind),
    WRITE_TEST(test_read_only),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
