// deliver, as a person runs it; with real cards where the system lets us mount
// some of our own.

#include "support/check.h"
#include "support/folder.h"
#include "support/plain_wav.h"
#include "support/run.h"

#include <jansson.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include <cmocka.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

static void
test_lines(void** state) {
  (void)state;
  static const RunCase cases[] = {
    {"deliver pack --to card -n",
     0,
     "would write  01.wav (8864 bytes)",
     "no "
     "card is "
     "mounted"},
    {"deliver pack --to card",
     0,
     "every byte reads back right; eject it",
     "no "
     "card"},
    {"deliver pack --to card", 0, "looks like a weapon", "no card"},
    {"deliver pack --to card -q", 0, NULL, NULL},
    {"deliver pack --to card -n", 0, "would clear  01.wav", "no card"},
    {"deliver pack", 2, NULL, "--to: missing"},
    {"deliver --to card", 2, NULL, "one folder is delivered at a time"},
    {"deliver pack pack --to card", 2, NULL, "one folder is delivered"},
    {"deliver pack --to pack", 1, NULL, "pack and card are one folder"},
    {"deliver gone --to card", 1, NULL, "gone: no file has that name"},
    {"deliver pack --to gone",
     1,
     NULL,
     "gone: there is no such folder: put the card in"},
    {"deliver pack --to take.wav", 1, NULL, "take.wav: a file stands where"},
    {"deliver pack --to other", 1, NULL, "other/01.wav: the file exists"},
    {"deliver pack --to other --force", 0, "eject", "other/._x.wav: warning"},
    {"deliver other --to card -n", 0, "would write", "not made by"},
    {"deliver packs --to card", 2, NULL, "did you mean packs/pack?"},
    {"deliver card --to packs/pack", 2, NULL, "did you swap them?"},
    {"deliver gone --to packs/pack -n", 2, NULL, "did you swap them?"},
    {"deliver --help", 0, "--to FOLDER", NULL},
  };
  bool ok = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    ok &= run_gave(run(cases[i].line), &cases[i]);
  }
  assert_true(ok);
  assert_int_equal(count_files("card"), 2);
}

// However it is asked, the same files take the same room.
static void
test_size(void** state) {
  (void)state;
  static const RunCase wanted = {
    "for i in 'deliver pack -f --to card' 'check --board wav-44k-mono card'; "
    "do \"$VOLLEYWEAVE\" $i --json; done | grep -o '\"bytes\": [0-9]*, "
    "\"bytes_on_card\": [0-9]*, \"cluster_bytes\": [0-9]*' | sort | uniq -c; "
    "\"$VOLLEYWEAVE\" check --board wav-44k-mono card",
    0,
    "2 \"bytes\": ",
    NULL};
  assert_true(run_gave(run_shell(wanted.line), &wanted));
}

static void
test_json(void** state) {
  (void)state;
  Run         made = run("deliver pack --to other --force --json");
  json_t*     object = json_loads(made.out, 0, NULL);
  const char* first = NULL;
  const char* litter = NULL;
  const char* hearing = NULL;
  const char* look_alike = NULL;
  int         verified = 0;
  assert_int_equal(made.status, 0);
  assert_int_equal(json_unpack(object,
                               "{s:n, s:b, s:[{s:s}], s:[{s:s}], s:{s:s, s:s}}",
                               "error",
                               "verified",
                               &verified,
                               "files",
                               "path",
                               &first,
                               "litter",
                               "path",
                               &litter,
                               "cautions",
                               "hearing",
                               &hearing,
                               "look_alike",
                               &look_alike),
                   0);
  assert_true(verified);
  assert_string_equal(first, "01.wav");
  assert_string_equal(litter, "._x.wav");
  json_decref(object);
  run_clear(&made);
  made = run("deliver pack --to gone --json");
  assert_int_equal(made.status, 1);
  assert_non_null(strstr(made.out, "\"status\": \"NO_FOLDER\""));
  run_clear(&made);
}

static void
test_read_only_folder(void** state) {
  (void)state;
  static const RunCase wanted = {
    "deliver pack --to closed", 1, NULL, "closed: the folder may not be"};
  Run made = {0};
  if (run_as_nobody(wanted.line, &made)) {
    assert_true(run_gave(made, &wanted));
  } else {
    run_clear(&made);
  }
}

static void
test_real_cards(void** state) {
  (void)state;
  static const struct {
    const char* options;
    RunCase     wanted;
  } cases[] = {
    {"size=64k",
     {"\"$VOLLEYWEAVE\" deliver pack --to real; exit $?",
      0,
      "eject it before you take it out",
      NULL}},
    {"size=20k",
     {"\"$VOLLEYWEAVE\" deliver pack --to real; exit $?",
      1,
      NULL,
      "real: the card is smaller than the pack"}},
    {"size=32k",
     {"head -c 12000 /dev/zero >real/x; "
      "\"$VOLLEYWEAVE\" deliver pack --to real; exit $?",
      1,
      NULL,
      "real: no room is left"}},
    {"size=32k",
     {"\"$VOLLEYWEAVE\" deliver -q pack --to real && "
      "\"$VOLLEYWEAVE\" deliver -q pack --to real; exit $?",
      0,
      NULL,
      NULL}},
    {"size=64k,ro",
     {"\"$VOLLEYWEAVE\" deliver pack --to real; exit $?",
      1,
      NULL,
      "real: the folder may not be written to"}},
  };
  bool ok = true;
  if (!run_can_mount()) {
    print_message("no card can be mounted here\n");
    return;
  }
  for (size_t i = 0; i < COUNT(cases); ++i) {
    const RunCase* const wanted = &cases[i].wanted;
    ok &= run_gave(run_with_card(cases[i].options, wanted->line), wanted);
  }
  assert_true(ok);
  assert_int_equal(count_files("real"), 0);
}

int
main(int argc, char** argv) {
  static const char* const folders[] = {
    "pack", "card", "other", "closed", "real", "packs"};

  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_lines),
    cmocka_unit_test(test_size),
    cmocka_unit_test(test_json),
    cmocka_unit_test(test_read_only_folder),
    cmocka_unit_test(test_real_cards),
  };
  run_set_up(argc, argv);
  for (size_t i = 0; i < COUNT(folders); ++i) {
    (void)mkdir(folders[i], 0755);
  }
  // What makes a folder one of the program's own.
  (void)mkdir("packs/pack", 0755);
  folder_put("packs/pack/.volleyweave.list", "pack 1 finished\n", 16U);
  plain_wav_put("pack/01.wav", &(PlainWav){0});
  plain_wav_put("pack/02.wav", &(PlainWav){0});
  plain_wav_put("other/01.wav", &(PlainWav){.first = 0.1});
  plain_wav_put("other/._x.wav", &(PlainWav){0});
  plain_wav_put("take.wav", &(PlainWav){0});
  Run noted = run_shell(
    "mkdir first && \"$VOLLEYWEAVE\" deliver -q pack --to first && (echo pack "
    "1 "
    "finished; sed 's/^/pack file /; s/  / /' pack/.volleyweave.delivered) "
    ">pack/.volleyweave.list && rm -r first pack/.volleyweave.delivered");
  run_clear(&noted);
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  run_tear_down();
  return failed;
}
