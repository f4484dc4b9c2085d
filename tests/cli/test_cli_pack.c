// Packs: what is made of a folder or a sound list, for which boards, and what
// is said where something is wrong.

#include "support/check.h"
#include "support/meter.h"
#include "support/recordings.h"
#include "support/reports.h"
#include "support/run.h"
#include "support/wav_files.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <dirent.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

#define B "--board wav-22k-mono "

// Where the pack of the folder "in" goes.
#define OUT "volleyweave-out/in/wav-22k-mono/"

static int
enter_folder(void** state) {
  return run_enter_folder(state) || mkdir("in", 0777);
}

#define TEST(function)                                                         \
  cmocka_unit_test_setup_teardown(function, enter_folder, run_leave_folder)

static void
put(const char* path, const char* text) {
  bytes_write(path, text, strlen(text));
}

static void
put_take(const char* path, Fill fill) {
  const WavFile take = {.path = path, .fill = fill, .seconds = 1.0};
  wav_file_write(&take);
}

static bool
is_there(const char* path) {
  return !access(path, F_OK);
}

/// Run a line that ends so, with these words on standard output and error;
/// NULL: with nothing there.
static void
expect(const char* line, int status, const char* out, const char* err) {
  Run        got = run(line);
  const bool good = got.status == status &&
                    (out ? strstr(got.out, out) != NULL : !*got.out) &&
                    (err ? strstr(got.err, err) != NULL : !*got.err);
  assert_true(run_check(good, &got, line));
  run_clear(&got);
}

/// Whether a shell's line goes well.
static bool
holds(const char* line) {
  Run        got = run_shell(line);
  const bool good = run_check(got.status == 0, &got, line);
  run_clear(&got);
  return good;
}

/* Folders */

static void
test_folder(void** state) {
  (void)state;
  put_take("in/zap.wav", FILL_SHOT);
  put_take("in/hum.wav", FILL_HUM);
  expect("pack -n " B "in", 0, "zap-rapid", NULL);
  assert_int_equal(count_files("."), 1);
  expect("pack -q " B "in", 0, NULL, NULL);
  assert_true(is_there(OUT "zap.shot.wav"));
  assert_true(is_there(OUT "zap-rapid.loop.wav"));
  assert_true(is_there(OUT "hum.loop.wav"));
  // Nothing changed, so nothing is written.
  expect("pack " B "in", 0, "files        3 unchanged", "");
  expect("pack -n " B "in", 0, "files        3 unchanged", NULL);
}

/// A take may be called anything.
static void
test_odd_names(void** state) {
  (void)state;
  put_take("in/new\nline.wav", FILL_SHOT);
  put_take("in/-it's \"q\" ; #1.wav", FILL_SHOT);
  expect("pack -q --write-list in/sounds.ini " B "in", 0, NULL, NULL);
  expect("pack -q " B "in/sounds.ini", 0, NULL, NULL);
  expect("pack -n " B "in/sounds.ini",
         0,
         " kB; room unknown: set capacity =\n",
         NULL);
  assert_true(is_there(OUT "new_line.shot.wav"));
}

/// Its guess is written once, and is then what counts.
static void
test_write_list(void** state) {
  (void)state;
  put_take("in/b.wav", FILL_SHOT);
  expect("pack --write-list in/sounds.ini " B "in",
         0,
         "b-rapid",
         "in/sounds.ini: written");
  assert_true(is_there("in/sounds.ini"));
  assert_true(holds("grep -q '^loudness-found = -' in/sounds.ini"));
  assert_true(holds("cp in/sounds.ini before; sed -i s/b-rapid/b-fast/ "
                    "in/sounds.ini"));
  expect(
    "pack --write-list in/sounds.ini " B "in", 2, NULL, "is there already");
  expect("pack --write-list other.ini " B "in", 2, NULL, "the pack goes by");
  expect("pack -q " B "in", 0, NULL, NULL);
  assert_true(is_there(OUT "b-fast.loop.wav"));
  // But for the name, it is as it was written, to the letter.
  assert_true(holds("sed -i s/b-fast/b-rapid/ in/sounds.ini; "
                    "cmp before in/sounds.ini"));
}

/// Without a board its guess is written all the same, and the next command is
/// one that works.
static void
test_write_list_alone(void** state) {
  (void)state;
  put_take("in/b.wav", FILL_SHOT);
  expect("pack in", 2, NULL, "for which board?");
  expect("pack --write-list - in", 2, NULL, "--write-list -: a sound list is");
  expect("pack --write-list in/sounds.ini in",
         0,
         "Next: volleyweave pack --board BOARD in/sounds.ini\n",
         "in/sounds.ini: written");
  assert_true(is_there("in/sounds.ini"));
  assert_false(is_there("volleyweave-out"));
  expect("pack -q " B "in", 0, NULL, NULL);
}

/// What is heard after the release is the file: the board's pause behind it is
/// none of it. At 4 shots per second and 100 ms of pause a cycle of one shot
/// leaves 0.15 s (closed form).
static void
test_release(void** state) {
  (void)state;
  put_take("in/b.wav", FILL_SHOT);
  assert_true(holds("\"$VOLLEYWEAVE\" boards wav-22k-mono | sed 's/^gap.*/gap "
                    "= 100ms/; s/^on-release.*/on-release = finishes/' "
                    ">pause.board.ini"));
  expect("pack --fire-rate 4/s --shots 1 --board pause.board.ini in",
         0,
         "   4/s  0.15 s",
         "");
}

/// A take that is added later is named, and moves nothing.
static void
test_added_take(void** state) {
  (void)state;
  put_take("in/a.wav", FILL_SHOT);
  put_take("in/c.wav", FILL_SHOT);
  expect("pack -q --write-list in/sounds.ini " B "in", 0, NULL, NULL);
  assert_true(holds("cp -r volleyweave-out before"));
  put_take("in/b.wav", FILL_HUM);
  expect("pack " B "in",
         0,
         "files        4 unchanged",
         "in/b.wav: warning: no sound is made of it");
  assert_true(holds("cd in; \"$VOLLEYWEAVE\" convert -q --print-section b.wav "
                    "-o ../other >>sounds.ini"));
  expect("pack " B "in", 0, "1 written, 4 unchanged", "");
  assert_true(
    holds("cd before/in/wav-22k-mono; for file in *; do "
          "cmp $file ../../../volleyweave-out/in/wav-22k-mono/$file || "
          "exit 1; done"));
}

/// What no sound makes any more goes, unless somebody changed it; where a sound
/// fails, nothing does.
static void
test_removed(void** state) {
  (void)state;
  put_take("in/a.wav", FILL_SHOT);
  put_take("in/b.wav", FILL_SHOT);
  expect("pack -q " B "in", 0, NULL, NULL);
  put(OUT "b-rapid.loop.wav", "mine");
  assert_int_equal(rename("in/b.wav", "b.wav"), 0);
  put("in/c.wav", "no sound");
  expect("pack " B "in", 1, "goes once all are made", "in/c.wav");
  assert_true(is_there(OUT "b.shot.wav"));
  assert_int_equal(unlink("in/c.wav"), 0);
  expect("pack -n " B "in", 0, "b.shot.wav: no sound makes it now", NULL);
  assert_true(is_there(OUT "b.shot.wav"));
  expect("pack " B "in", 0, "removed      b.shot.wav", "");
  assert_false(is_there(OUT "b.shot.wav"));
  // It is named as long as it is there, and never delivered.
  for (int i = 0; i < 2; ++i) {
    expect("pack " B "in", 0, "b-rapid.loop.wav: changed since", "");
  }
  assert_int_equal(mkdir("card", 0777), 0);
  expect("deliver " OUT " --to card",
         0,
         "2 files",
         "b-rapid.loop.wav: warning: none of the pack, and not delivered");
  assert_int_equal(count_files("card"), 2);
}

/// Where a slot moves, the file of the old one goes.
static void
test_moved_slot(void** state) {
  (void)state;
  put_take("in/a.wav", FILL_SHOT);
  put("sounds.ini", "[sound a]\ntake = in/a.wav\nmake = shot\nslot = 1\n");
  put("by.board.ini", "[names]\ndigits = 2\nsound = no\nparts = no\n");
  expect("pack -q -o out --board by.board.ini sounds.ini", 0, NULL, NULL);
  assert_true(holds("test \"$(ls out/by)\" = 01.wav"));
  assert_true(holds("sed -i 's/slot = 1/slot = 7/' sounds.ini"));
  expect("pack -q -o out --board by.board.ini sounds.ini", 0, NULL, NULL);
  assert_true(holds("test \"$(ls out/by)\" = 07.wav"));
}

/// Two props share no folder, unless it is asked for.
static void
test_two_props(void** state) {
  (void)state;
  assert_int_equal(mkdir("night", 0777), 0);
  put_take("in/a.wav", FILL_SHOT);
  put_take("night/b.wav", FILL_SHOT);
  expect("pack -q " B "in", 0, NULL, NULL);
  expect("pack -q " B "night", 0, NULL, NULL);
  assert_true(is_there(OUT "a.shot.wav"));
  assert_false(is_there(OUT "b.shot.wav"));
  assert_true(is_there("volleyweave-out/night/wav-22k-mono/b.shot.wav"));
  expect("deliver volleyweave-out --to .", 2, NULL, "did you mean volleyw");
  expect("pack -q -o one " B "in", 0, NULL, NULL);
  expect("pack -q -o one " B "night", 1, NULL, "the pack of another prop");
  assert_true(holds("ls one/wav-22k-mono | grep -q a.shot && "
                    "! ls one/wav-22k-mono | grep -q b.shot"));
  expect("pack -q -f -o one " B "night", 0, NULL, NULL);
  assert_true(holds("! ls one/wav-22k-mono | grep -q a.shot"));
}

/// A folder is called as the prop is, as far as a folder can be.
static void
test_prop_folders(void** state) {
  (void)state;
  static const char* const cases[][2] = {{"Night Watch", "Night Watch"},
                                         {"a/b", "a_b"},
                                         {"..", "prop"},
                                         {"nul", "nul_"}};
  put_take("in/a.wav", FILL_SHOT);
  for (size_t i = 0; i < COUNT(cases); ++i) {
    char text[128];
    char folder[64];
    (void)snprintf(text,
                   sizeof(text),
                   "[prop]\nname = %s\n[sound a]\ntake = in/a.wav\nmake = "
                   "shot\n",
                   cases[i][0]);
    (void)snprintf(
      folder, sizeof(folder), "volleyweave-out/%s/tryout.html", cases[i][1]);
    put("sounds.ini", text);
    expect("pack -q " B "sounds.ini", 0, NULL, NULL);
    assert_true(check_that(is_there(folder), "%s", folder));
  }
}

/// What lies beside the pack's files is told of, what is missing refused.
static void
test_deliver_list(void** state) {
  (void)state;
  put_take("in/a.wav", FILL_SHOT);
  expect("pack -q " B "in", 0, NULL, NULL);
  assert_int_equal(mkdir("card", 0777), 0);
  put(OUT "stray.wav", "mine");
  put_take(OUT "a.shot.wav", FILL_HUM);
  expect("deliver " OUT " --to card -n",
         0,
         "2 files",
         "stray.wav: warning: none of");
  expect("deliver " OUT " --to card -n",
         0,
         "2 files",
         "a.shot.wav: warning: it was");
  expect("deliver " OUT " --to card", 0, "2 files", "takes 22050");
  assert_false(is_there("card/stray.wav"));
  assert_int_equal(unlink(OUT "a.shot.wav"), 0);
  expect("deliver " OUT " --to card", 1, NULL, "a.shot.wav: the pack is unf");
}

/// A folder that may not be written to is no reason to fail where nothing is
/// to be written.
static void
test_read_only(void** state) {
  (void)state;
  Run made = {0};
  put_take("in/a.wav", FILL_SHOT);
  expect("pack -q -o out " B "in", 0, NULL, NULL);
  assert_true(holds("chmod a-w out out/wav-22k-mono"));
  if (run_as_nobody("pack -o out " B "in", &made)) {
    const bool same = !made.status && strstr(made.out, "2 unchanged");
    assert_true(run_check(same, &made, "unchanged"));
    run_clear(&made);
    put_take("in/b.wav", FILL_HUM);
    assert_true(run_as_nobody("pack -q -o out " B "in", &made));
    const bool said =
      made.status == 1 && strstr(made.err, "may not be written to");
    assert_true(run_check(said, &made, "changed"));
  }
  run_clear(&made);
  assert_true(holds("chmod u+w out out/wav-22k-mono"));
}

/// The loudness that a pack of a sound list reports, in LUFS.
static double
loudness_of(const char* line) {
  Run    got = run(line);
  double lufs = NAN;
  // The last line is on the pack.
  json_t* object = NULL;
  for (size_t i = 0; (object = parse_line(got.out, i)); ++i) {
    lufs = number_at(object, "loudness_lufs");
    json_decref(object);
  }
  run_clear(&got);
  return lufs;
}

/// The table has the loudness of what is in the file: of a loop that of its
/// steady burst, as `check` hears it. What was asked to be softer is named.
static void
test_loudness_in_table(void** state) {
  (void)state;
  put_take("in/a.wav", FILL_SHOT);
  put("sounds.ini",
      "[sound a]\ntake = in/a.wav\nmake = shot\n[sound b]\ntake = in/a.wav\n"
      "make = loop\nfire-rate = 12/s\n[sound c]\ntake = in/a.wav\nmake = shot\n"
      "level = -6\n");
  Run          got = run("pack -o out " B "sounds.ini");
  const char*  row = strstr(got.out, "\n  b ");
  double       lufs = NAN;
  const char*  softer = "  level =      c -6 LU, as the sound list has it\n";
  json_t*      loop = run_json("check --json out/wav-22k-mono/b.loop.wav", 0);
  const double heard = number_at(loop, "loop.loudness_lufs");
  bool         ok = row && sscanf(row, " b loop %*f kB %lf", &lufs) == 1 &&
            check_at_most(fabs(lufs - heard), 0.2, "off the loop heard, LU");
  row = strstr(got.out, "\n  a ");
  ok &= row && sscanf(row, " a shot %*f kB %lf", &lufs) == 1 &&
        check_at_least(fabs(lufs - heard), 0.5, "the shot's is another, LU");
  ok &=
    strstr(got.out, softer) && strstr(got.out, " LUFS of one shot, reached");
  assert_true(run_check(ok, &got, "table"));
  json_decref(loop);
  run_clear(&got);
}

/// What was found is kept for those sounds alone, and for a pack that was made:
/// leaving out what keeps the others soft makes these louder.
static void
test_loudness_found(void** state) {
  (void)state;
  put_take("in/a.wav", FILL_HUM);
  put_take("in/b.wav", FILL_SHOT);
  assert_true(holds("\"$VOLLEYWEAVE\" boards wav-22k-mono | sed 's/^capacity "
                    "=.*/capacity = 40kB/' >small.board.ini"));
  expect(
    "pack --all-reach --write-list in/sounds.ini --board small.board.ini in",
    1,
    "of 40.0 kB: not made\n  loudness",
    "leave sounds out");
  // It is as loud as nothing that was made.
  expect("pack --board small.board.ini in",
         1,
         "kB     -         -       -  one flash\n",
         "leave sounds out, or shorten them with to =,");
  assert_true(holds("! grep -q ^loudness-found in/sounds.ini"));
  put("sounds.ini",
      "[prop]\n[sound a]\ntake = in/a.wav\nmake = shot\n\n[sound b]\ntake = "
      "in/b.wav\nmake = whole\nlevel = 12\n");
  // The line that is told keeps it.
  assert_true(holds("\"$VOLLEYWEAVE\" pack " B "sounds.ini 2>said | sed -n 's/ "
                    "under .*//;s/^To keep this loudness: //p' >line && "
                    "test -s line && sed -i '/prop/r line' sounds.ini"));
  const double both = loudness_of("pack -n --json " B "sounds.ini");
  // Without the other, as if it never had been there.
  assert_true(holds("sed -i '/sound b/,$d' sounds.ini"));
  const double left = loudness_of("pack -n --json " B "sounds.ini");
  assert_true(holds("sed -i /^loudness-found/d sounds.ini"));
  const double anew = loudness_of("pack -n --json " B "sounds.ini");
  assert_true(check_at_least(left - both, 2.0, "louder by, LU"));
  assert_true(check_equal(left, anew, "as if found anew, LUFS"));
}

/* Sound lists */

#define PROP                                                                   \
  "[prop]\nboards = wav-22k-mono, wav-44k-stereo\n"                            \
  "[sound zap]\ntake = in/zap.wav\nmake = shot\n"                              \
  "[sound zaps]\ntake = in/zap.wav\nmake = loop\nfire-rate = 9/s\n"            \
  "[sound zaps on wav-44k-stereo]\nfire-rate = 6/s\n"                          \
  "[sound three]\ntake = in/zap.wav\nmake = burst 3\nlevel = -3\n"             \
  "[sound hum]\ntake = in/hum.wav\nmake = whole\nlevel = -6\n"

static void
put_prop(void) {
  put_take("in/zap.wav", FILL_SHOT);
  put_take("in/hum.wav", FILL_HUM);
  put("sounds.ini", PROP);
}

static void
test_boards(void** state) {
  (void)state;
  put_prop();
  expect("pack sounds.ini", 0, "      9/s ", "");
  assert_true(is_there("volleyweave-out/work/wav-22k-mono/zaps.loop.wav"));
  assert_true(is_there("volleyweave-out/work/wav-44k-stereo/zaps.loop.wav"));
  assert_true(is_there("volleyweave-out/work/wav-44k-stereo/three.burst.wav"));
  // The command line goes before the prop's boards.
  expect("pack -q -o one " B "sounds.ini", 0, NULL, NULL);
  // The pack, the page, and the list of what is written beside the packs.
  assert_int_equal(count_files("one"), 3);
  assert_true(holds("diff -r -x '.*' one/wav-22k-mono "
                    "volleyweave-out/work/wav-22k-mono"));
}

static void
test_same_bytes(void** state) {
  (void)state;
  put_prop();
  expect("pack -q -j 1 -o one " B "sounds.ini", 0, NULL, NULL);
  put("sounds.ini", PROP);
  expect("pack -q -j 8 -o two " B "sounds.ini", 0, NULL, NULL);
  assert_true(holds("diff -r one two"));
}

/// Whether a text stands in one of a pack, whose options are keys of its list.
static bool
is_as_key(const char* text, const char* in) {
  const char* const option = " --start ";
  const char* const at = strstr(text, option);
  const size_t      n = at ? (size_t)(at - text) : strlen(text);
  const char* const key = strstr(in, " start = ");
  return !strncmp(text, in, n) &&
         (at ? key && !strcmp(at + strlen(option), key + strlen(" start = "))
             : !in[n]);
}

/// Whether all texts of one array stand in another.
static bool
has_texts(const json_t* texts, const json_t* in) {
  bool    ok = true;
  size_t  i = 0;
  json_t* text = NULL;
  json_array_foreach(texts, i, text) {
    size_t  k = 0;
    json_t* other = NULL;
    bool    found = false;
    json_array_foreach(in, k, other) {
      found |= is_as_key(json_string_value(text), json_string_value(other));
    }
    ok &= check_that(found, "told: %s", json_string_value(text));
  }
  return ok && check_at_least((double)json_array_size(texts), 1.0, "warnings");
}

/// The object on a sound in what a pack prints.
static json_t*
sound_named(const char* lines, const char* name) {
  json_t* line = NULL;
  for (size_t i = 0; (line = parse_line(lines, i)); ++i) {
    const char* const sound = json_string_value(value_at(line, "sound"));
    if (sound && !strcmp(sound, name)) {
      return line;
    }
    json_decref(line);
  }
  return NULL;
}

// Whole buffers that no loop of rapid fire fits: the rate at which its shots
// are laid anew is named, as `loop` names it.
static void
test_buffer(void** state) {
  (void)state;
  const char* const why = "give --fire-rate 12.50/s to lay them down";
  wav_file_write(
    &(WavFile){.path = "r.wav", .fill = FILL_RAPID, .seconds = 2.0});
  put("r.ini", "[sound r]\ntake = r.wav\nmake = loop\n");
  assert_true(holds("\"$VOLLEYWEAVE\" boards wav-44k-mono | sed "
                    "'s/^buffer =.*/buffer = 65536/' >big.board.ini"));
  expect("loop -q --board ./big.board.ini r.wav", 1, NULL, why);
  expect("pack -q --board ./big.board.ini r.ini", 1, NULL, why);
}

static void
put_poor_takes(void) {
  wav_file_write(
    &(WavFile){.path = "in/a.wav", .fill = FILL_SLOW, .seconds = 0.9});
  wav_file_write(
    &(WavFile){.path = "in/b.wav", .fill = FILL_SLOW, .seconds = 1.1});
  put_take("in/c.wav", FILL_SLOW);
  put_take("in/d.wav", FILL_OFFSET);
  put_take("in/e.wav", FILL_CLIPPED);
  wav_file_write(
    &(WavFile){.path = "in/f.wav", .fill = FILL_TWICE, .seconds = 2.0});
}

// What is told of a loop is told of it in a pack too, options by their keys.
static void
test_warnings_as_of_loop(void** state) {
  (void)state;
  put_poor_takes();
  Run  pack = run("pack -n --json --fire-rate 9 " B "in");
  bool ok = true;
  for (char name = 'a'; name <= 'e'; ++name) {
    char line[80];
    char sound[16];
    (void)snprintf(
      line, sizeof(line), "loop -n --json --fire-rate 9 " B "in/%c.wav", name);
    (void)snprintf(sound, sizeof(sound), "%c-rapid", name);
    json_t* const loop = run_json(line, 0);
    json_t* const packed = sound_named(pack.out, sound);
    ok &= has_texts(value_at(loop, "warnings"), value_at(packed, "warnings"));
    json_decref(loop);
    json_decref(packed);
  }
  ok &= strstr(pack.out, "; give pick = N for another") != NULL;
  run_check(ok, &pack, "pack");
  run_clear(&pack);
  assert_true(ok);
}

// A remedy names the key and the section; a level, who chose it.
static void
test_words_of_list(void** state) {
  (void)state;
  put_take("in/hum.wav", FILL_HUM);
  put_take("in/zap.wav", FILL_SHOT);
  expect(
    "pack -n " B "in", 0, "  level =      hum -6 LU, by the guess\n", NULL);
  put("zap.ini",
      "[sound z]\ntake = in/zap.wav\nmake = loop\nfire-rate = 20/s\n"
      "valley = none\n");
  expect("pack -n " B "zap.ini",
         0,
         ": 1 sound, 1 file, ",
         "flutter: give valley = 9 in [sound z]\n");
}

// To a person, what many have in common is told once, and of a take once.
static void
test_warnings_in_short(void** state) {
  (void)state;
  put_poor_takes();
  Run  got = run("pack -n --fire-rate 9 " B "in");
  bool ok = strstr(got.err,
                   "wav-22k-mono: warning: a slow attack, which comes late "
                   "after the trigger, in 3 sounds: a, b, c\n") != NULL;
  ok &= strstr(got.err, "volleyweave: a: warning: a slow") == NULL;
  ok &= strstr(got.err, "volleyweave: d: warning: an offset (DC)") != NULL;
  ok &= strstr(got.err, "volleyweave: d-rapid: warning: an offset") == NULL;
  ok &= strstr(got.err, "volleyweave: e: warning: ") != NULL;
  ok &= strstr(got.err, "f-rapid: warning: a late crest") == NULL;
  ok &= strstr(got.err, "no fire rate") == NULL;
  assert_true(run_check(ok, &got, "pack"));
  run_clear(&got);
  // With its remedy it is told of each.
  got = run("pack -nv --fire-rate 9 " B "in");
  ok = strstr(got.err, "in 3 sounds") == NULL;
  ok &= strstr(got.err, "volleyweave: c: warning: a slow attack, loud") != NULL;
  assert_true(run_check(ok, &got, "pack -v"));
  run_clear(&got);
}

static void
test_json(void** state) {
  (void)state;
  put_prop();
  const char* const line = "pack --json -n " B "sounds.ini";
  Run               got = run(line);
  size_t            n_lines = 0;
  json_t*           last = NULL;
  for (const char* at = got.out; *at; at = strchr(at, '\n') + 1) {
    json_decref(last);
    last = json_loads(at, JSON_DISABLE_EOF_CHECK, NULL);
    assert_non_null(last);
    assert_int_equal(json_integer_value(json_object_get(last, "schema")), 1);
    json_t* const board = json_object_get(last, "board");
    assert_string_equal(json_string_value(json_object_get(board, "name")),
                        "wav-22k-mono");
    ++n_lines;
    // Before it is made, how loud it became does not exist.
    json_t* const level = json_object_get(last, "level");
    assert_true(!level ||
                json_is_null(json_object_get(level, "shot_loudness_lufs")));
    assert_int_equal(json_is_string(json_object_get(last, "sound")),
                     n_lines < 5U);
  }
  assert_int_equal(n_lines, 5);
  assert_int_equal(json_integer_value(json_object_get(last, "files_total")), 4);
  assert_int_equal(json_integer_value(json_object_get(last, "files_same")), 0);
  assert_true(json_is_number(json_object_get(last, "loudness_lufs")));
  Run text = run("pack -n " B "sounds.ini");
  assert_non_null(strstr(text.out, "looks like a weapon"));
  run_clear(&text);
  const json_t* const cautions = json_object_get(last, "cautions");
  assert_true(json_is_string(json_object_get(cautions, "flash")));
  assert_true(json_is_string(json_object_get(cautions, "hearing")));
  assert_true(json_is_string(json_object_get(cautions, "look_alike")));
  json_decref(last);
  run_clear(&got);
}

/* Faults */

static void
test_failing_take(void** state) {
  (void)state;
  put_prop();
  put("in/hum.wav", "no sound at all");
  expect("pack -q " B "sounds.ini", 1, NULL, "1 of 4 sounds failed");
  assert_true(is_there("volleyweave-out/work/wav-22k-mono/zaps.loop.wav"));
  assert_int_equal(unlink("in/hum.wav"), 0);
  expect(
    "pack -q " B "sounds.ini", 1, NULL, "sounds.ini:17: in/hum.wav: no such");
}

// Of what a board takes, a sound may ask for another than the first.
static void
test_asked_format(void** state) {
  (void)state;
  size_t n = 0;
  put_prop();
  put("both.board.ini", "[format]\nchannels = 2, 1\nencoding = 16, 8\n");
  put("sounds.ini",
      "[sound zap]\ntake = in/zap.wav\nmake = shot\n"
      "[sound low]\ntake = in/zap.wav\nmake = shot\n"
      "channels = 1\nbits = 8\n");
  expect("pack --board ./both.board.ini -o out sounds.ini", 0, "2 files", "");
  // Channels and bits of a plain WAV file: bytes 22 and 34.
  char* const zap = read_file("out/both/zap.shot.wav", &n);
  char* const low = read_file("out/both/low.shot.wav", &n);
  assert_non_null(zap);
  assert_non_null(low);
  assert_true(zap[22] == 2 && zap[34] == 16);
  assert_true(low[22] == 1 && low[34] == 8);
  free(zap);
  free(low);
}

static void
test_refused(void** state) {
  (void)state;
  put_prop();
  expect("pack", 2, NULL, "nothing to pack");
  expect("pack in", 2, NULL, "for which board?");
  expect("pack " B "in sounds.ini", 2, NULL, "one sound list or folder");
  expect("pack " B "-o in in", 2, NULL, "in the folder of its takes");
  expect("pack " B "-o in/out in", 2, NULL, "in the folder of its takes");
  expect("pack " B "-o ./in/../in/out/more in", 2, NULL, "of its takes");
  expect("pack " B "-o - in", 2, NULL, "name a folder");
  expect("pack " B "--all-reach --loudness=-16 in", 2, NULL, "leave one");
  expect("pack --board nothing sounds.ini", 2, NULL, "no such board");
  put("bad.board.ini", "[format]\nencoding = 12\n");
  expect("pack --board ./bad.board.ini sounds.ini", 2, NULL, "encoding = 12: ");
  assert_int_equal(unlink("bad.board.ini"), 0);
  expect("pack " B "--bits 8 sounds.ini", 1, NULL, "wav-22k-mono plays 16-bit");
  expect("pack " B "--burst 3 sounds.ini", 2, NULL, "has no such option");
  expect("shot --fit zap.wav", 2, NULL, "use `volleyweave pack`");
  expect("pack " B "gone.ini", 1, NULL, "gone.ini: ");
  put("sounds.ini",
      "[prop]\nsample-rate = 8000\n[sound zap]\n"
      "take = in/zap.wav\nmake = shot\n");
  expect("pack " B "sounds.ini", 1, NULL, "sounds.ini:2: sample-rate: ");
  put("sounds.ini", "[sound zap]\ntake = in/zap.wav\nmake = shot\n");
  put("plain", "a file");
  expect(
    "pack " B "-q -o plain/out sounds.ini", 1, NULL, "where a folder is meant");
  assert_true(has_bytes("plain", "a file", 6));
  assert_int_equal(count_files("."), 3);
}

/* Loudness */

/// How loud files of a folder are, by the tests' own meter.
typedef struct {
  double lufs[64];
  size_t n;
} Loudnesses;

static int
compare_numbers(const void* a, const void* b) {
  const double one = *(const double*)a;
  const double two = *(const double*)b;
  return (one > two) - (one < two);
}

/// Measure the files whose names end so, and sort what is found.
static void
measure(const char* folder,
        const char* ending,
        double (*meter)(const VwSound*),
        Loudnesses* found) {
  DIR* const           stream = opendir(folder);
  const VwReadOptions  options = vw_read_defaults();
  const struct dirent* entry = NULL;
  assert_non_null(stream);
  found->n = 0;
  while ((entry = readdir(stream))) {
    const char* const end = strstr(entry->d_name, ending);
    char              path[512];
    VwSound           sound = {0};
    if (end && !end[strlen(ending)]) {
      snprintf(path, sizeof(path), "%s/%s", folder, entry->d_name);
      assert_int_equal(vw_read(path, &options, &sound, NULL), VW_OK);
      assert_true(found->n < COUNT(found->lufs));
      found->lufs[found->n++] = meter(&sound);
      vw_sound_clear(&sound);
    }
  }
  closedir(stream);
  qsort(found->lufs, found->n, sizeof(double), compare_numbers);
}

#define REAL "--board wav-44k-mono /usr/share/games/bzflag"

/// What all reach, all have: shots beside shots, and loops beside loops where
/// these are to be equal.
static void
test_all_reach(void** state) {
  (void)state;
  Loudnesses found;
  expect("pack -q --all-reach -o one " REAL, 0, NULL, NULL);
  measure("one/wav-44k-mono", ".shot.wav", meter_effect_lufs, &found);
  assert_true(found.n >= 20U);
  // 0.3 LU, here and below: chosen here.
  assert_true(check_at_most(
    found.lufs[found.n - 1U] - found.lufs[0], 0.3, "shots, LU apart"));
  expect("pack -q --all-reach --loud-as burst -o two " REAL, 0, NULL, NULL);
  measure("two/wav-44k-mono", "-rapid.loop.wav", meter_loop_lufs, &found);
  assert_true(found.n >= 20U);
  assert_true(check_at_most(
    found.lufs[found.n - 1U] - found.lufs[0], 0.3, "loops, LU apart"));
}

/// As loud as nine tenths reach: so many are equal, and none is louder.
static void
test_loudest(void** state) {
  (void)state;
  Loudnesses found;
  expect("pack -q -o one " REAL, 0, NULL, NULL);
  measure("one/wav-44k-mono", ".shot.wav", meter_effect_lufs, &found);
  // A tenth of all families, which may all be shots.
  const size_t n_less = RECORDINGS / 10U;
  assert_true(found.n > 2U * n_less);
  assert_true(check_at_most(found.lufs[found.n - 1U] - found.lufs[n_less],
                            0.3,
                            "nine tenths of the shots, LU apart"));
}

/// A prop of real recordings, guessed.
static void
test_recordings(void** state) {
  (void)state;
  if (!recordings_find(NULL)) {
    skip();
  }
  expect("pack -q " B "/usr/share/games/bzflag", 0, NULL, NULL);
  assert_true(
    holds("test $(ls volleyweave-out/bzflag/wav-22k-mono | wc -l) -ge 34"));
}

// A full disk leaves no file under its name, a read-only one is said, and the
// next run completes the pack as if nothing had been.
static void
test_disk(void** state) {
  (void)state;
  put_take("in/zap.wav", FILL_SHOT);
  put_take("in/zip.wav", FILL_SHOT);
  (void)mkdir("real", 0777);
  if (!run_can_mount()) {
    print_message("no disk can be mounted here\n");
    return;
  }
  Run full = run_with_card(
    "size=64k",
    // One sound at a time: of two at once either may find the disk full first.
    "\"$VOLLEYWEAVE\" pack in -q -j 1 " B "-o real; a=$?; "
    "ls real/*/*.wav 2>real/none | wc -l; mount -o remount,size=4m real; "
    "\"$VOLLEYWEAVE\" pack in -q " B "-o real; b=$?; "
    "\"$VOLLEYWEAVE\" pack in -q " B "-o other; "
    "diff -r real/wav-22k-mono other/wav-22k-mono; echo $a $b $?");
  bool good = !strcmp(full.out, "0\n1 0 0\n") &&
              strstr(full.err, "no room is left on the disk");
  run_check(good, &full, "a full disk");
  run_clear(&full);
  Run closed = run_with_card(
    "size=4m,ro", "\"$VOLLEYWEAVE\" pack in -q " B "-o real; echo $?");
  const bool said = !strcmp(closed.out, "1\n") &&
                    strstr(closed.err, "the folder may not be written to");
  run_check(said, &closed, "a read-only disk");
  run_clear(&closed);
  assert_true(good && said);
}

int
main(int argc, char** argv) {
  const struct CMUnitTest tests[] = {
    TEST(test_folder),
    TEST(test_odd_names),
    TEST(test_write_list),
    TEST(test_write_list_alone),
    TEST(test_release),
    TEST(test_added_take),
    TEST(test_removed),
    TEST(test_loudness_found),
    TEST(test_loudness_in_table),
    TEST(test_moved_slot),
    TEST(test_two_props),
    TEST(test_prop_folders),
    TEST(test_deliver_list),
    TEST(test_read_only),
    TEST(test_boards),
    TEST(test_buffer),
    TEST(test_same_bytes),
    TEST(test_warnings_as_of_loop),
    TEST(test_words_of_list),
    TEST(test_warnings_in_short),
    TEST(test_json),
    TEST(test_failing_take),
    TEST(test_disk),
    TEST(test_asked_format),
    TEST(test_refused),
    TEST(test_recordings),
    TEST(test_all_reach),
    TEST(test_loudest),
  };
  run_set_up(argc, argv);
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  run_tear_down();
  return failed;
}
