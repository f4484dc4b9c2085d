// The page of a pack: what is in it, when it is written, when it is left alone.

#include "support/check.h"
#include "support/printed.h"
#include "support/reports.h"
#include "support/run.h"
#include "support/wav_files.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define B "--board wav-22k-mono "
#define PAGE "out/tryout.html"

#define TEST(function)                                                         \
  cmocka_unit_test_setup_teardown(function, enter_folder, run_leave_folder)

#define ZAPS                                                                   \
  "[sound zap]\ntake = zap.wav\nmake = shot\nslot = 7\n"                       \
  "[sound zaps]\ntake = zap.wav\nmake = loop\nfire-rate = 9/s\nslot = 8\n"     \
  "[sound both]\ntake = zap.wav\ntake = zip.wav\nmake = loop\nslot = 9\n"      \
  "[sound hum]\ntake = hum.wav\nmake = whole\nlevel = -6\nslot = 10\n"

#define GONE "[sound gone]\ntake = gone.wav\nmake = shot\nslot = 11\n"
#define SILENT "[sound still]\ntake = still.wav\nmake = shot\nslot = 12\n"

static void
put(const char* path, const char* text) {
  bytes_write(path, text, strlen(text));
}

static int
enter_folder(void** state) {
  const int failed = run_enter_folder(state);
  wav_file_write(&(WavFile){.path = "zap.wav", .seconds = 0.8});
  wav_file_write(&(WavFile){.path = "zip.wav", .seconds = 0.7});
  wav_file_write(
    &(WavFile){.path = "hum.wav", .fill = FILL_HUM, .seconds = 1.0});
  wav_file_write(
    &(WavFile){.path = "still.wav", .fill = FILL_SILENCE, .seconds = 1.0});
  put("prop.ini", "[prop]\nname = Fog knapper\n" ZAPS);
  return failed;
}

static void
expect(const char* line, int status, const char* out, const char* err) {
  const RunCase wanted = {line, status, out, err};
  assert_true(run_gave(run(line), &wanted));
}

/* What is in it */

/// The `index`th block of JSON of a class in the page, or NULL.
static json_t*
block_of(const char* class, size_t index) {
  char   begin[80];
  size_t n = 0;
  (void)snprintf(
    begin, sizeof(begin), "<script type=\"application/json\" %s>", class);
  char* const page = read_file(PAGE, &n);
  char*       at = page;
  for (size_t i = 0; at && i <= index; ++i) {
    at = strstr(at, begin);
    at = at ? at + strlen(begin) : NULL;
  }
  char* const end = at ? strstr(at, "</script>") : NULL;
  json_t*     block = NULL;
  if (end) {
    block = json_loadb(at, (size_t)(end - at), 0, NULL);
  }
  free(page);
  return block;
}

static const char*
string_at(const json_t* object, const char* key) {
  const char* const text = json_string_value(json_object_get(object, key));
  return text ? text : "";
}

static json_int_t
count_at(const json_t* object, const char* key) {
  return json_integer_value(json_object_get(object, key));
}

/// A sound of the page: what it is called, and which trigger it has.
typedef struct {
  const char* name;
  unsigned    slot;
  const char* trigger; ///< NULL where it failed.
  const char* codes;
} Shown;

static bool
shows(size_t index, const Shown* wanted) {
  json_t* const sound = block_of("class=\"sound\"", index);
  json_t* const frames = block_of("class=\"frames\"", index);
  const char*   trigger = wanted->trigger ? wanted->trigger : "single";
  const json_t* played = json_object_get(sound, trigger);
  const char*   heard = string_at(json_object_get(frames, trigger), "main");
  bool          ok = check_that(!strcmp(string_at(sound, "name"), wanted->name),
                       "%s, not %s",
                       wanted->name,
                       string_at(sound, "name"));
  ok &=
    check_equal((double)count_at(sound, "slot"), (double)wanted->slot, "slot");
  if (wanted->trigger) {
    const json_t* file =
      json_object_get(json_object_get(played, "files"), "main");
    const size_t n_frames = (size_t)count_at(file, "nFrames");
    ok &= check_that(!strcmp(string_at(played, "codes"), wanted->codes),
                     "codes %s",
                     string_at(played, "codes"));
    // Two bytes a frame, four characters for three bytes (RFC 4648).
    ok &= check_equal((double)strlen(heard),
                      (double)((2U * n_frames + 2U) / 3U * 4U),
                      "characters");
    ok &= check_that(n_frames > 1000U, "%zu frames", n_frames);
  } else {
    ok &= check_that(*string_at(sound, "error"), "a reason");
    ok &= check_that(!*heard, "nothing is heard");
  }
  json_decref(sound);
  json_decref(frames);
  return ok;
}

static void
test_sounds(void** state) {
  (void)state;
  static const Shown shown[] = {
    {"zap", 7, "single", "s16"},
    {"zaps", 8, "rapid", "s16"},
    {"both", 9, "rapid", "s16"},
    {"hum", 10, "single", "s16"},
  };
  expect("pack -o out " B "prop.ini", 0, PAGE ": open it in a browser", "");
  bool ok = true;
  for (size_t i = 0; i < sizeof(shown) / sizeof(shown[0]); ++i) {
    ok &= check_that(shows(i, &shown[i]), "sound %zu", i);
  }
  assert_true(ok);
  assert_null(block_of("class=\"sound\"", 4U));
  json_t* const data = block_of("id=\"data\"", 0);
  assert_string_equal(string_at(data, "title"), "Fog knapper");
  assert_int_equal(json_array_size(json_object_get(data, "boards")), 1);
  // So many bytes a browser opens in some seconds (measured here).
  assert_int_equal(count_at(data, "heardMost"), 64000000);
  json_decref(data);
}

/// Whether a line begins with a comment of a script or a style.
static bool
is_comment(const char* line) {
  const char* const at = line + strspn(line, " \t");
  return !strncmp(at, "// ", 3) || !strncmp(at, "/*", 2);
}

// Comments are for readers of the source: they name people.
static void
test_no_comments(void** state) {
  (void)state;
  size_t n = 0;
  size_t n_comments = 0;
  expect("tryout -q -o page.html zap.wav", 0, NULL, NULL);
  char* const page = read_file("page.html", &n);
  assert_non_null(page);
  assert_non_null(strstr(page, "--paper: #fbfaf6"));
  assert_non_null(strstr(page, "function highPassSection"));
  for (const char* at = page; at; at = strchr(at, '\n')) {
    at += *at == '\n' ? 1 : 0;
    n_comments += is_comment(at) ? 1U : 0U;
  }
  assert_int_equal(n_comments, 0);
  free(page);
}

/// What failed is shown, with the reason, among what did not.
static void
test_failures(void** state) {
  (void)state;
  static const Shown shown[] = {{"hum", 10, "single", "s16"},
                                {"gone", 11, NULL, NULL},
                                {"still", 12, NULL, NULL}};
  put("prop.ini", ZAPS GONE SILENT);
  Run made = run("pack -q -o out " B "prop.ini");
  assert_int_equal(made.status, 1);
  run_clear(&made);
  bool ok = true;
  for (size_t i = 0; i < 3U; ++i) {
    ok &= shows(3U + i, &shown[i]);
  }
  assert_true(ok);
}

/// One page for all boards of a run; a pack that was not made is named.
static void
test_boards(void** state) {
  (void)state;
  Run made =
    run_shell("\"$VOLLEYWEAVE\" boards wav-22k-mono | sed "
              "'s/^capacity.*/capacity = 1000/' >small.board.ini && "
              "\"$VOLLEYWEAVE\" pack -q -o out --board small.board.ini "
              "--board wav-44k-stereo prop.ini");
  assert_true(run_check(made.status == 1, &made, "two boards"));
  run_clear(&made);
  json_t* const       data = block_of("id=\"data\"", 0);
  const json_t* const boards = json_object_get(data, "boards");
  assert_int_equal(json_array_size(boards), 2);
  assert_string_equal(string_at(json_array_get(boards, 0), "name"), "small");
  assert_true(*string_at(json_array_get(boards, 0), "error"));
  assert_true(!*string_at(json_array_get(boards, 1), "error"));
  json_decref(data);
  json_t* const sound = block_of("class=\"sound\"", 0);
  assert_int_equal(count_at(sound, "board"), 1);
  json_decref(sound);
}

/// A page of takes says in JSON what is in it: a line for each take, one for
/// all.
static void
test_json(void** state) {
  (void)state;
  static const char line[] =
    "tryout --json --fire-rate 9 -o page.html " B "zap.wav still.wav";
  Run           done = run(line);
  json_t* const made = parse_line(done.out, 0);
  json_t* const failed = parse_line(done.out, 1U);
  json_t* const page = parse_line(done.out, 2U);
  assert_true(
    run_check(done.status == 1 && made && failed && page, &done, line));
  assert_string_equal(string_at(made, "command"), "tryout");
  assert_true(number_at(made, "loop.fire_rate_per_s") > 8.99);
  assert_true(number_at(made, "loop.fire_rate_per_s") < 9.01);
  assert_true(json_is_object(json_object_get(failed, "error")));
  assert_string_equal(string_at(page, "page"), "page.html");
  assert_int_equal(count_at(page, "sounds_total"), 2);
  assert_int_equal(count_at(page, "sounds_failed"), 1);
  json_decref(made);
  json_decref(failed);
  json_decref(page);
  run_clear(&done);
}

/* When it is written */

static bool
is_page_there(void) {
  return !access(PAGE, F_OK);
}

static void
test_not_written(void** state) {
  (void)state;
  static const char* const lines[] = {
    "pack -n -o out " B "prop.ini",
    "pack -q -o out --board small.board.ini prop.ini",
  };
  Run made = run_shell("\"$VOLLEYWEAVE\" boards wav-22k-mono | sed "
                       "'s/^capacity.*/capacity = 1000/' >small.board.ini");
  run_clear(&made);
  for (size_t i = 0; i < sizeof(lines) / sizeof(lines[0]); ++i) {
    Run done = run(lines[i]);
    assert_true(run_check(!is_page_there(), &done, lines[i]));
    run_clear(&done);
  }
}

static ino_t
page_inode(void) {
  struct stat status;
  assert_int_equal(stat(PAGE, &status), 0);
  return status.st_ino;
}

/// Where nothing changed it is left alone; it is written where anything did.
static void
test_unchanged(void** state) {
  (void)state;
  static const char* const changes[] = {
    "sed -i 's/9.s/8\\/s/' prop.ini",
    "sed -i 's/Fog knapper/Reed knapper/' prop.ini",
    "sed -i 's/slot = 10/slot = 20/' prop.ini",
    "cp zip.wav zap.wav",
    "printf x >>out/tryout.html; rm out/tryout.html",
  };
  expect("pack -q -o out " B "prop.ini", 0, "", "");
  for (size_t i = 0; i < sizeof(changes) / sizeof(changes[0]); ++i) {
    const ino_t before = page_inode();
    expect("pack -o out " B "prop.ini", 0, PAGE ": as it was", "");
    assert_true(page_inode() == before);
    Run changed = run_shell(changes[i]);
    run_clear(&changed);
    const bool  gone = !is_page_there();
    size_t      n = 0;
    char* const old = gone ? NULL : read_file(PAGE, &n);
    expect("pack -q -o out " B "prop.ini", 0, "", "");
    assert_true(check_that(gone || !has_bytes(PAGE, old, n), "%s", changes[i]));
    free(old);
  }
}

/// The text behind a key of the page's data, from a place on; NULL: there is no
/// more. To be freed.
static char*
text_after(const char* key, const char** at) {
  *at = strstr(*at, key);
  *at = *at ? *at + strlen(key) : NULL;
  return *at ? strndup(*at, strcspn(*at, "\"")) : NULL;
}

/// Try the commands of a page: those that it shows, and those to which its
/// sliders add.
static void
try_commands(const char* line, size_t* n) {
  size_t      n_bytes = 0;
  char* const page = read_file("page.html", &n_bytes);
  char        command[1024];
  const char* at = page;
  assert_non_null(page);
  for (char* made = NULL; (made = text_after("\"madeBy\":\"", &at)); ++*n) {
    (void)snprintf(command, sizeof(command), "Next: %s\n", made);
    printed_try(line, command);
    free(made);
  }
  at = page;
  for (char* lay = NULL; (lay = text_after("\"command\":\"volleyweave", &at));
       ++*n) {
    char* const take = text_after("\"take\":\"", &at);
    (void)snprintf(command,
                   sizeof(command),
                   "Next: volleyweave%s --fire-rate 7.5/s --valley none --tail "
                   "choke --shots 2 --loudness keep %s\n",
                   lay,
                   take ? take : "");
    printed_try(line, command);
    free(take);
    free(lay);
  }
  free(page);
}

/// Whatever the board, the page's commands run.
static void
test_commands(void** state) {
  (void)state;
  static const char* const boards[] = {
    "",
    "s/^digits.*/digits = 2/",
    "s/^digits.*/digits = 2/;s/^sound =.*/sound = no/;s/^parts.*/parts = no/",
    "s/^parts.*/parts = no/",
    "s/^repeat.*/repeat = three-files/;s/^digits.*/digits = 3/",
    "s/^parts.*/parts=no/;s/^digits.*/digits=2/;s/^repeat.*/repeat=nothing/",
  };
  static const char* const asked[] = {"zap.wav zip.wav",
                                      "--slot 4 zip.wav zap.wav",
                                      "--burst 3 --gain -3 zap.wav",
                                      "--speaker 40mm -- -zap.wav"};
  size_t                   n = 0;
  assert_int_equal(rename("hum.wav", "-zap.wav"), 0);
  assert_int_equal(remove("still.wav"), 0);
  wav_file_write(&(WavFile){.path = "-zap.wav", .seconds = 0.7});
  for (size_t i = 0; i < sizeof(boards) / sizeof(boards[0]); ++i) {
    char line[512];
    (void)snprintf(line,
                   sizeof(line),
                   "\"$VOLLEYWEAVE\" boards wav-22k-mono | sed '%s' "
                   ">b%zu.board.ini",
                   boards[i],
                   i);
    Run board = run_shell(line);
    run_clear(&board);
    for (size_t k = 0; k < sizeof(asked) / sizeof(asked[0]); ++k) {
      (void)snprintf(line,
                     sizeof(line),
                     "tryout -q -f --board b%zu.board.ini -o page.html %s",
                     i,
                     asked[k]);
      expect(line, 0, "", "");
      try_commands(line, &n);
    }
  }
  assert_true(check_at_least((double)n, 60.0, "commands of pages"));
}

/// A stranger's file is not replaced unasked; the packs are made all the same.
static void
test_stranger(void** state) {
  (void)state;
  assert_int_equal(mkdir("out", 0777), 0);
  put(PAGE, "mine");
  Run refused = run("pack -q -o out " B "prop.ini");
  assert_true(run_check(refused.status == 1 &&
                          is_one_line_with(refused.err, "tryout.html"),
                        &refused,
                        "a stranger's page"));
  run_clear(&refused);
  assert_true(has_bytes(PAGE, "mine", 4U));
  assert_int_equal(access("out/wav-22k-mono/zap.shot.wav", F_OK), 0);
  expect("pack -q --force -o out " B "prop.ini", 0, "", "");
  assert_false(has_bytes(PAGE, "mine", 4U));
}

/// However many threads there are, and whatever was there before.
static void
test_same_bytes(void** state) {
  (void)state;
  size_t n = 0;
  expect("pack -q -j 1 -o out " B "prop.ini", 0, "", "");
  char* const first = read_file(PAGE, &n);
  Run         again =
    run_shell("rm -r out; \"$VOLLEYWEAVE\" pack -q -j 8 -o out " B "prop.ini");
  assert_int_equal(again.status, 0);
  run_clear(&again);
  assert_true(has_bytes(PAGE, first, n));
  free(first);
}

/// What interrupts the program leaves the page of before, and nothing beside.
static void
test_interrupted(void** state) {
  (void)state;
  size_t n = 0;
  expect("pack -q -o out " B "prop.ini", 0, "", "");
  char* const before = read_file(PAGE, &n);
  // The disk is full: a page is larger than the files, which are made already.
  Run full =
    run_shell("sed -i 's/Fog/Reed/' prop.ini; (ulimit -f 40; trap '' "
              "XFSZ; exec \"$VOLLEYWEAVE\" pack -q -o out " B "prop.ini)");
  assert_true(run_check(full.status == 1, &full, "a page too large"));
  run_clear(&full);
  assert_true(has_bytes(PAGE, before, n));
  // The pack, the page, and the list of what is written beside the packs.
  assert_int_equal(count_files("out"), 3);
  free(before);
}

/// Neither is the page in the way of what is done with the pack.
static void
test_check_and_deliver(void** state) {
  (void)state;
  assert_int_equal(mkdir("card", 0777), 0);
  expect("pack -q -o out " B "prop.ini", 0, "", "");
  Run checked = run("check " B "out/wav-22k-mono");
  assert_non_null(strstr(checked.out, "good for wav-22k-mono"));
  assert_null(strstr(checked.out, "tryout"));
  run_clear(&checked);
  Run done = run("deliver -q out/wav-22k-mono --to card");
  assert_true(run_check(done.status == 0, &done, "deliver"));
  assert_int_equal(access("card/zap.shot.wav", F_OK), 0);
  assert_int_equal(access("card/tryout.html", F_OK), -1);
  run_clear(&done);
}

int
main(int argc, char** argv) {
  const struct CMUnitTest tests[] = {
    TEST(test_sounds),
    TEST(test_no_comments),
    TEST(test_failures),
    TEST(test_boards),
    TEST(test_json),
    TEST(test_not_written),
    TEST(test_unchanged),
    TEST(test_commands),
    TEST(test_stranger),
    TEST(test_same_bytes),
    TEST(test_interrupted),
    TEST(test_check_and_deliver),
  };
  run_set_up(argc, argv);
  const int n_failed = cmocka_run_group_tests(tests, NULL, NULL);
  run_tear_down();
  return n_failed;
}
