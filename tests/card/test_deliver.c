// A pack onto a card: what is cleared, what is refused, and each call of the
// system failing on the way. No half file ever has a final name.

#define _XOPEN_SOURCE 700

#include "card/internal.h"
#include "support/check.h"
#include "support/folder.h"

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

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

/* Calls that can be made to fail: see the linker's --wrap. */

typedef enum {
  CALL_WRITE,
  CALL_FSYNC,
  CALL_RENAME,
  CALL_UNLINK,
  CALL_MKDIR,
  N_CALLS
} Call;

static const char* const call_names[] = {"write",
                                         "fsync",
                                         "rename",
                                         "unlink",
                                         "mkdir"};

// The `countdown`th call fails with `error`; 0: none does. After it so do all
// calls where the card is gone.
static struct {
  unsigned   countdown[N_CALLS];
  bool       gone;
  bool       all;
  int        error;
  int        access_error;
  bool       unsynced;   ///< Something was written and not synced since.
  unsigned   n_unsynced; ///< How often that was renamed.
  VwCardRoom room;
} faults;

static bool
fails(Call call) {
  unsigned* const left = &faults.countdown[call];
  const bool      now = *left > 0 && --*left == 0;
  if (!now && !faults.all) {
    return false;
  }
  faults.all = faults.gone;
  errno = faults.error;
  return true;
}

ssize_t  __real_write(int fd, const void* bytes, size_t n_bytes);
int      __real_fsync(int fd);
int      __real_rename(const char* from, const char* to);
int      __real_unlink(const char* path);
int      __real_mkdir(const char* path, mode_t mode);
int      __real_access(const char* path, int mode);
VwStatus __real_vw_card_room(const char* path, VwCardRoom* room);
ssize_t  __wrap_write(int fd, const void* bytes, size_t n_bytes);
int      __wrap_fsync(int fd);
int      __wrap_rename(const char* from, const char* to);
int      __wrap_unlink(const char* path);
int      __wrap_mkdir(const char* path, mode_t mode);
int      __wrap_access(const char* path, int mode);
VwStatus __wrap_vw_card_room(const char* path, VwCardRoom* room);

// In small portions, as a system may.
ssize_t
__wrap_write(int fd, const void* bytes, size_t n_bytes) {
  faults.unsynced = true;
  return fails(CALL_WRITE) ? -1
                           : __real_write(fd, bytes, n_bytes < 7 ? n_bytes : 7);
}

int
__wrap_fsync(int fd) {
  faults.unsynced = false;
  return fails(CALL_FSYNC) ? -1 : __real_fsync(fd);
}

int
__wrap_rename(const char* from, const char* to) {
  faults.n_unsynced += faults.unsynced;
  return fails(CALL_RENAME) ? -1 : __real_rename(from, to);
}

int
__wrap_unlink(const char* path) {
  return fails(CALL_UNLINK) ? -1 : __real_unlink(path);
}

int
__wrap_mkdir(const char* path, mode_t mode) {
  return fails(CALL_MKDIR) ? -1 : __real_mkdir(path, mode);
}

int
__wrap_access(const char* path, int mode) {
  errno = faults.access_error;
  return faults.access_error ? -1 : __real_access(path, mode);
}

VwStatus
__wrap_vw_card_room(const char* path, VwCardRoom* room) {
  if (faults.room.n_bytes) {
    *room = faults.room;
    return VW_OK;
  }
  return __real_vw_card_room(path, room);
}

/* A pack and a card. */

static const char* const pack_names[] = {"01.wav", "02.wav", "g/03.wav"};

static const char* const pack_texts[] = {"the first sound of all",
                                         "the second, a little longer",
                                         "the third in a folder"};

static void
put(const char* path, const char* text) {
  folder_put(path, text, strlen(text));
}

static void
put_in(const char* folder, const char* name, const char* text) {
  char path[64];
  (void)snprintf(path, sizeof(path), "%s/%s", folder, name);
  put(path, text);
}

static int
set_up(void** state) {
  memset(&faults, 0, sizeof(faults));
  if (folder_enter(state) || mkdir("pack", 0777) || mkdir("pack/g", 0777) ||
      mkdir("card", 0777)) {
    return -1;
  }
  for (size_t i = 0; i < COUNT(pack_names); ++i) {
    put_in("pack", pack_names[i], pack_texts[i]);
  }
  put("pack/.volleyweave.list", "0123456789abcdef  01.wav\n");
  put("pack/.hidden", "not for the card");
  return 0;
}

static int
tear_down(void** state) {
  memset(&faults, 0, sizeof(faults));
  return folder_leave(state);
}

/// All steps of a delivery.
static VwStatus
deliver_to(VwDelivery* delivery, bool force) {
  VwStatus st = vw_delivery_plan("pack", "card", force, delivery);
  st = st ? st : vw_delivery_make_room(delivery);
  for (size_t i = 0; !st && i < delivery->n_files; ++i) {
    st = vw_delivery_write(delivery, i);
  }
  for (size_t i = 0; !st && i < delivery->n_files; ++i) {
    st = vw_delivery_verify(delivery, i);
  }
  return st ? st : vw_delivery_finish(delivery);
}

static VwStatus
deliver(bool force) {
  VwDelivery     delivery = {0};
  const VwStatus st = deliver_to(&delivery, force);
  assert_true(!st == !delivery.at);
  vw_delivery_clear(&delivery);
  return st;
}

/// Whether a file on the card is what it is in the pack, or is not there.
static bool
is_whole_or_missing(size_t index) {
  char path[64];
  (void)snprintf(path, sizeof(path), "card/%s", pack_names[index]);
  return access(path, F_OK) || folder_holds(path, pack_texts[index]);
}

static bool
card_is_complete(void) {
  return folder_count("card") == 3 && folder_count("card/g") == 1 &&
         folder_holds("card/01.wav", pack_texts[0]) &&
         folder_holds("card/02.wav", pack_texts[1]) &&
         folder_holds("card/g/03.wav", pack_texts[2]);
}

/* What is cleared and what stays. */

static void
test_first(void** state) {
  (void)state;
  VwDelivery delivery = {0};
  assert_int_equal(deliver_to(&delivery, false), VW_OK);
  assert_int_equal(delivery.n_files, 3);
  assert_string_equal(delivery.files[0].path, "01.wav");
  assert_string_equal(delivery.files[1].path, "02.wav");
  assert_string_equal(delivery.files[2].path, "g/03.wav");
  assert_int_equal(delivery.n_bytes, 22 + 27 + 21);
  assert_int_equal(delivery.n_old, 0);
  assert_int_equal(delivery.n_left, 0);
  assert_false(delivery.mounted);
  assert_int_equal(faults.n_unsynced, 0);
  vw_delivery_clear(&delivery);
  assert_true(card_is_complete());
}

static void
test_plan_changes_nothing(void** state) {
  (void)state;
  VwDelivery delivery = {0};
  assert_int_equal(vw_delivery_plan("pack", "card", false, &delivery), VW_OK);
  vw_delivery_clear(&delivery);
  assert_int_equal(folder_count("card"), 0);
  assert_int_equal(folder_count("pack"), 5);
}

static void
test_again(void** state) {
  (void)state;
  VwDelivery delivery = {0};
  assert_int_equal(deliver(false), VW_OK);
  // A sound goes, one changes, and the card was used by somebody else.
  remove("pack/g/03.wav");
  put("pack/02.wav", "made anew");
  put("card/mine.txt", "mine");
  assert_int_equal(deliver_to(&delivery, false), VW_OK);
  assert_int_equal(delivery.n_old, 3);
  assert_int_equal(delivery.n_left, 1);
  assert_string_equal(delivery.left[0].path, "mine.txt");
  vw_delivery_clear(&delivery);
  assert_int_equal(folder_count("card"), 3);
  assert_true(folder_holds("card/01.wav", pack_texts[0]));
  assert_true(folder_holds("card/02.wav", "made anew"));
  assert_true(folder_holds("card/mine.txt", "mine"));
}

// A card that was left out once is known all the same.
static void
test_older_version(void** state) {
  (void)state;
  assert_int_equal(deliver(false), VW_OK);
  assert_int_equal(rename("card", "first"), 0);
  assert_int_equal(mkdir("card", 0777), 0);
  put("pack/02.wav", "second version");
  assert_int_equal(deliver(false), VW_OK);
  put("pack/02.wav", "third version");
  assert_int_equal(rename("card", "second"), 0);
  assert_int_equal(rename("first", "card"), 0);
  assert_int_equal(deliver(false), VW_OK);
  assert_true(folder_holds("card/02.wav", "third version"));
  assert_int_equal(folder_count("card"), 3);
}

static void
test_not_ours(void** state) {
  (void)state;
  VwDelivery delivery = {0};
  assert_int_equal(deliver(false), VW_OK);
  put("card/02.wav", "changed by somebody");
  assert_int_equal(vw_delivery_plan("pack", "card", false, &delivery),
                   VW_EXISTS);
  assert_non_null(strstr(delivery.at, "card/02.wav"));
  vw_delivery_clear(&delivery);
  assert_true(folder_holds("card/02.wav", "changed by somebody"));
  assert_int_equal(deliver(true), VW_OK);
  assert_true(card_is_complete());
  // Nor is what only differs in its letters, which a card would replace.
  remove("card/01.wav");
  put("card/01.WAV", "somebody's");
  assert_int_equal(deliver(false), VW_EXISTS);
}

// Cards do not tell capital letters from small ones, nor keep them always.
static void
test_other_letters(void** state) {
  (void)state;
  assert_int_equal(deliver(false), VW_OK);
  assert_int_equal(rename("card/01.wav", "card/01.WAV"), 0);
  assert_int_equal(deliver(false), VW_OK);
  assert_true(card_is_complete());
}

static void
test_left_behind(void** state) {
  (void)state;
  put("card/" VW_CARD_TEMPORARY, "half a f");
  assert_int_equal(deliver(false), VW_OK);
  assert_true(card_is_complete());
}

/* What is refused. */

static void
test_refused(void** state) {
  (void)state;
  static const struct {
    const char* from;
    const char* to;
    VwStatus    status;
  } cases[] = {
    {"nowhere", "card", VW_MISSING},
    {"pack/01.wav", "card", VW_NOT_A_FOLDER},
    {"pack", "nowhere", VW_NO_FOLDER},
    {"pack", "pack/01.wav", VW_NOT_A_FOLDER},
    {"pack", "pack/01.wav/x", VW_NOT_A_FOLDER},
    {"pack", "pack", VW_NESTED},
    {"pack", "card/../pack/.", VW_NESTED},
    {"pack", "pack/g", VW_NESTED},
    {"pack/g", "pack", VW_NESTED},
    {"pack", "alias", VW_NESTED},
    {"pack", "/", VW_NESTED},
    {"empty", "card", VW_NO_FILES},
    {"pack", "empty", VW_OK},
  };
  bool ok = true;
  assert_int_equal(mkdir("empty", 0777), 0);
  assert_int_equal(symlink("pack/g", "alias"), 0);
  for (size_t i = 0; i < COUNT(cases); ++i) {
    VwDelivery     delivery = {0};
    const VwStatus st =
      vw_delivery_plan(cases[i].from, cases[i].to, true, &delivery);
    ok &=
      check_equal(st, cases[i].status, "%s to %s", cases[i].from, cases[i].to);
    ok &= check_that(!st == !delivery.at && !st == (delivery.from != NULL),
                     "%s to %s: what is told",
                     cases[i].from,
                     cases[i].to);
    vw_delivery_clear(&delivery);
  }
  assert_true(ok);
  assert_int_equal(folder_count("card"), 0);
}

static void
test_refused_inside(void** state) {
  (void)state;
  assert_int_equal(symlink("/etc/passwd", "pack/04.wav"), 0);
  assert_int_equal(deliver(true), VW_NOT_REGULAR);
  remove("pack/04.wav");
  put("pack/.volleyweave.list", "pack 1 unfinished\n");
  assert_int_equal(deliver(true), VW_UNFINISHED);
  put("pack/.volleyweave.list",
      "pack 1 finished\npack file 0123456789abcdef 01.wav\n"
      "pack file 0123456789abcdef 02.wav\n"
      "pack file 0123456789abcdef g/03.wav\n");
  // What stands in the way on the card and is no file stays.
  assert_int_equal(mkdir("card/01.wav", 0777), 0);
  assert_int_equal(deliver(true), VW_NOT_REGULAR);
  assert_int_equal(rmdir("card/01.wav"), 0);
  assert_int_equal(mkdir("other", 0777), 0);
  assert_int_equal(symlink("../other", "card/g"), 0);
  assert_int_equal(deliver(true), VW_NOT_REGULAR);
  assert_int_equal(folder_count("other"), 0);
  remove("card/g");
  put("card/g", "a file where a folder is to be");
  assert_int_equal(deliver(false), VW_EXISTS);
  assert_int_equal(deliver(true), VW_OK);
  assert_true(card_is_complete());
}

static void
test_room(void** state) {
  (void)state;
  // Three files and a folder.
  faults.room = (VwCardRoom){4096, 4 * 4096, 4 * 4096};
  assert_int_equal(deliver(false), VW_OK);
  // The old ones make room for the new.
  faults.room.n_bytes_free = 4096;
  assert_int_equal(deliver(false), VW_OK);
  faults.room.n_bytes_free = 4095;
  assert_int_equal(deliver(false), VW_DISK_FULL);
  faults.room.n_bytes = 4 * 4096 - 1;
  assert_int_equal(deliver(false), VW_CARD_TOO_SMALL);
  // Nothing was cleared before.
  assert_true(card_is_complete());
}

// Every folder takes a cluster once, also one that holds nothing but folders.
static void
test_room_of_folders(void** state) {
  (void)state;
  assert_int_equal(mkdir("pack/a", 0777) || mkdir("pack/a/b", 0777) ||
                     mkdir("pack/g/c", 0777),
                   0);
  put("pack/a/b/04.wav", "the fourth");
  put("pack/g/c/05.wav", "the fifth");
  put("pack/g/06.wav", "the sixth");
  // Six files; a, a/b, g and g/c.
  faults.room = (VwCardRoom){4096, 10 * 4096, 10 * 4096};
  assert_int_equal(deliver(false), VW_OK);
  faults.room.n_bytes = 10 * 4096 - 1;
  assert_int_equal(deliver(false), VW_CARD_TOO_SMALL);
}

// A card holds one of two names that differ in case alone, whatever the script.
static void
test_case(void** state) {
  (void)state;
  put("pack/\u00E9clat.wav", "a flash");
  put("card/\u00C9CLAT.WAV", "somebody's own");
  assert_int_equal(deliver(false), VW_EXISTS);
  assert_int_equal(remove("card/\u00C9CLAT.WAV"), 0);
  assert_int_equal(deliver(false), VW_OK);
  // Ours, whichever case the card gives it.
  assert_int_equal(rename("card/\u00E9clat.wav", "card/\u00C9clat.wav"), 0);
  assert_int_equal(deliver(false), VW_OK);
  // Nor may a file stand where a folder of that name is to be.
  put("card/G", "no folder");
  assert_int_equal(deliver(false), VW_EXISTS);
}

static void
test_read_only(void** state) {
  (void)state;
  faults.access_error = EROFS;
  assert_int_equal(deliver(true), VW_FOLDER_READONLY);
  faults.access_error = EIO;
  assert_int_equal(deliver(true), VW_CARD_GONE);
  assert_int_equal(folder_count("card"), 0);
}

/* What goes wrong on the way. */

// Of how many of a record's portions the writing failed.
#define RECORD_CALLS_MOST 80U

static unsigned n_in_pack;

/// Fail the n-th of a call. Returns whether there was an n-th.
static bool
fail_nth(Call call, unsigned n, VwStatus expected, bool* ok) {
  put("pack/02.wav", "the version before");
  faults.countdown[call] = 0;
  faults.all = false;
  *ok &= check_that(!deliver(true), "the version before");
  put("pack/02.wav", pack_texts[1]);
  faults.countdown[call] = n;
  const VwStatus st = deliver(false);
  const bool     came = faults.countdown[call] == 0;
  const bool     gone = faults.all;
  faults.countdown[call] = 0;
  faults.all = false;
  bool fine = check_that(!came == !st, "it is a fault");
  if (st) {
    // The pack's own folder is no card: there it is another fault.
    const bool in_pack = expected == VW_CARD_GONE && st == VW_WRITE_FAILED;
    fine &= check_that(in_pack || st == expected, "status %d", (int)st);
    n_in_pack += in_pack;
    fine &= check_that(gone || access("card/" VW_CARD_TEMPORARY, F_OK) ||
                         call == CALL_UNLINK,
                       "nothing unfinished is left");
  }
  for (size_t i = 0; i < COUNT(pack_names); ++i) {
    fine &= check_that(
      is_whole_or_missing(i) ||
        (i == 1 && folder_holds("card/02.wav", "the version before")),
      "%s is whole",
      pack_names[i]);
  }
  fine &= check_that(!deliver(false), "the next run");
  fine &= check_that(card_is_complete(), "completes it");
  *ok &= check_that(
    fine, "%s number %u failing with %d", call_names[call], n, faults.error);
  return came;
}

static void
test_each_call(void** state) {
  (void)state;
  static const struct {
    int      error;
    bool     gone;
    VwStatus status;
  } errors[] = {{ENOSPC, false, VW_DISK_FULL},
                {EROFS, false, VW_FOLDER_READONLY},
                {EIO, true, VW_CARD_GONE},
                {ENODEV, true, VW_CARD_GONE}};

  bool ok = true;
  for (size_t i = 0; i < COUNT(errors); ++i) {
    for (int call = 0; call < N_CALLS; ++call) {
      unsigned n = 1;
      faults.error = errors[i].error;
      faults.gone = errors[i].gone;
      // The first is that of an outdated record, which may stay.
      const unsigned first = call == CALL_UNLINK ? 2U : 1U;
      for (n = first; n < 200U; ++n) {
        if (!fail_nth((Call)call, n, errors[i].status, &ok)) {
          break;
        }
      }
      ok &= check_at_most(n_in_pack, RECORD_CALLS_MOST, "in the pack");
      n_in_pack = 0;
      ok &= check_that(
        call == CALL_MKDIR || (n > first && n < 200U), "%s", call_names[call]);
    }
  }
  assert_true(ok);
}

static void
test_read_back(void** state) {
  (void)state;
  VwDelivery delivery = {0};
  assert_int_equal(deliver_to(&delivery, false), VW_OK);
  put("card/02.wav", "the second, a little longeR");
  assert_int_equal(vw_delivery_verify(&delivery, 0), VW_OK);
  assert_int_equal(vw_delivery_verify(&delivery, 1), VW_NOT_SAME);
  assert_non_null(strstr(delivery.at, "card/02.wav"));
  remove("card/02.wav");
  assert_int_equal(vw_delivery_verify(&delivery, 1), VW_NOT_SAME);
  vw_delivery_clear(&delivery);
}

static void
test_pack_changed_meanwhile(void** state) {
  (void)state;
  VwDelivery delivery = {0};
  assert_int_equal(vw_delivery_plan("pack", "card", false, &delivery), VW_OK);
  assert_int_equal(vw_delivery_make_room(&delivery), VW_OK);
  put("pack/02.wav", "another");
  assert_int_equal(vw_delivery_write(&delivery, 0), VW_OK);
  assert_int_equal(vw_delivery_write(&delivery, 1), VW_NOT_SAME);
  assert_int_equal(folder_count("card"), 1);
  vw_delivery_clear(&delivery);
}

// Where a card was mounted there is a folder of the same name without it.
static void
test_taken_away(void** state) {
  (void)state;
  VwDelivery delivery = {0};
  assert_int_equal(vw_delivery_plan("pack", "card", false, &delivery), VW_OK);
  assert_int_equal(vw_delivery_make_room(&delivery), VW_OK);
  assert_int_equal(vw_delivery_write(&delivery, 0), VW_OK);
  assert_int_equal(rename("card", "away"), 0);
  assert_int_equal(mkdir("card", 0777), 0);
  assert_int_equal(vw_delivery_write(&delivery, 1), VW_CARD_GONE);
  assert_int_equal(vw_delivery_verify(&delivery, 0), VW_CARD_GONE);
  assert_int_equal(vw_delivery_finish(&delivery), VW_CARD_GONE);
  assert_int_equal(folder_count("card"), 0);
  vw_delivery_clear(&delivery);
}

int
main(void) {
#define IN_FOLDER(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
  const struct CMUnitTest tests[] = {
    IN_FOLDER(test_first),
    IN_FOLDER(test_plan_changes_nothing),
    IN_FOLDER(test_again),
    IN_FOLDER(test_older_version),
    IN_FOLDER(test_not_ours),
    IN_FOLDER(test_other_letters),
    IN_FOLDER(test_left_behind),
    IN_FOLDER(test_refused),
    IN_FOLDER(test_refused_inside),
    IN_FOLDER(test_room),
    IN_FOLDER(test_room_of_folders),
    IN_FOLDER(test_case),
    IN_FOLDER(test_read_only),
    IN_FOLDER(test_each_call),
    IN_FOLDER(test_read_back),
    IN_FOLDER(test_pack_changed_meanwhile),
    IN_FOLDER(test_taken_away),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
