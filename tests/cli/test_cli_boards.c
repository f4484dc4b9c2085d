// boards, board files and the default board, as a person meets them.

#include "board/board.h"
#include "container/container.h"
#include "support/run.h"
#include "support/wav_files.h"

#include <volleyweave/volleyweave.h>

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
put(const char* path, const char* text) {
  bytes_write(path, text, strlen(text));
}

static unsigned
count_lines(const char* text) {
  unsigned n = 0;
  for (; *text; ++text) {
    n += *text == '\n';
  }
  return n;
}

/* Faults */

/// A board file, what is said of it, and in how many lines.
typedef struct {
  const char* text;
  const char* where;  ///< After "volleyweave: "; the first line has it.
  const char* remedy; ///< Somewhere in what is said.
  unsigned    n_lines;
} Fault;

static bool
check_fault(const Fault* fault) {
  put("b.board.ini", fault->text);
  char wanted[128];
  (void)snprintf(wanted, sizeof(wanted), "volleyweave: %s", fault->where);
  Run        got = run("boards ./b.board.ini");
  const bool good =
    got.status == 2 && !*got.out && !strncmp(got.err, wanted, strlen(wanted)) &&
    strstr(got.err, fault->remedy) && count_lines(got.err) == fault->n_lines;
  run_check(good, &got, fault->text);
  run_clear(&got);
  return good;
}

#define AT(line) "./b.board.ini:" line ": "

static const Fault faults[] = {
  // The text.
  {"", "./b.board.ini: nothing is in it", "`volleyweave boards", 1},
  {"# b\n", "./b.board.ini: nothing is in it", "`volleyweave boards", 1},
  {"container = wav\n", AT("1") "container: a key above", "[name]", 1},
  {"[format]\nwav\n", AT("2"), "key = value", 1},
  {"[format\n", AT("1"), "[name]", 1},
  {"[format]\nchannels = 1\nchannels = 2\n", AT("3"), "twice", 1},
  {"[format]\n[format]\n", AT("2") "format:", "twice", 1},
  {"[format]\ncontainer = \"wav\n", AT("2"), "\"value\"", 1},
  {"[format]\ncontainer = w\x01v\n", AT("2"), "control character", 1},
  {"[format]\ncontainer = w\xFFv\n", AT("2"), "not UTF-8", 1},
  // Sections and keys.
  {"[format]\nsample-rtae = 8000\n", AT("2"), "did you mean sample-rate?", 1},
  {"[format]\ncolour = red\n", AT("2") "colour:", "volleyweave boards", 1},
  {"[format]\nrate = 8000\n", AT("2") "rate:", "write sample-rate", 1},
  {"[format]\ninclude = a\n", AT("2") "include:", "no includes", 1},
  {"[format]\ngap = 5ms\n", AT("2") "gap:", "move it to [playing]", 1},
  {"[formt]\ngap = 5ms\n", AT("1") "[formt]:", "did you mean [format]?", 1},
  {"[colour]\n", AT("1") "[colour]:", "there are [format], [limits]", 1},
  // Units.
  {"[playing]\ngap = 5kHz\n", AT("2") "gap = 5kHz:", "25ms", 1},
  {"[playing]\ngap = 5Hz\n", AT("2") "gap = 5Hz:", "25ms", 1},
  {"[playing]\ngap = 0,5s\n", AT("2") "gap = 0,5s:", "0.5s", 1},
  {"[playing]\ngap = soon\n", AT("2") "gap = soon:", "25ms", 1},
  {"[playing]\ndelay = 5min\n", AT("2") "delay = 5min:", "50ms", 1},
  {"[limits]\ncapacity = 4Mbit\n", AT("2"), "2MiB or unknown", 1},
  {"[limits]\ncluster = 32K\n", AT("2") "cluster = 32K:", "32KiB", 1},
  {"[format]\nsample-rate = 44.1\n", AT("2"), "did you mean 44.1kHz?", 1},
  {"[format]\nsample-rate = 44.1MHz\n", AT("2"), "22.05kHz", 1},
  // Impossible values.
  {"[limits]\ncapacity = 0\n", AT("2") "capacity = 0:", "or unknown", 1},
  {"[limits]\ncapacity = -1\n", AT("2"), "64 to 1000000000000 bytes", 1},
  {"[limits]\ncapacity = 4KiB\ncluster = 32KiB\n",
   AT("2") "capacity: 4096",
   "smaller cluster",
   1},
  {"[limits]\ncluster = 0\n", AT("2") "cluster = 0:", "1 to 67108864", 1},
  {"[limits]\ncluster = 32KB\n", AT("2"), "did you mean 32KiB?", 1},
  {"[limits]\nfile-size-max = 0\n", AT("2"), "or none", 1},
  {"[limits]\nfile-size-max = 10\n", AT("2"), "64 to", 1},
  {"[limits]\nfile-size-max = 100.5\n", AT("2"), "not a whole number", 1},
  {"[limits]\nfiles-max = 0\n", AT("2"), "or none", 1},
  {"[limits]\nslots = 0\n", AT("2"), "or none", 1},
  {"[limits]\nslots = 100000\n", AT("2"), "1 to 99999", 1},
  {"[limits]\nslots = 100\n[names]\ndigits = 2\n", AT("2"), "99 only", 1},
  {"[playing]\ngap = 1001ms\n", AT("2"), "0 to 1000 ms", 1},
  {"[playing]\ngap = 1.1s\n", AT("2"), "0 to 1000 ms", 1},
  {"[playing]\ngap = -1\n", AT("2"), "0 to 1000 ms", 1},
  {"[playing]\nbuffer = 0\n", AT("2") "buffer = 0:", "1 to 65536", 1},
  {"[playing]\nbuffer = 65537\n", AT("2"), "1 to 65536", 1},
  {"[playing]\nbuffer = 1.5\n", AT("2"), "not a whole number", 1},
  {"[playing]\ndelay = 6s\n", AT("2"), "0 to 5000 ms", 1},
  {"[playing]\npress-min = 6s\n", AT("2"), "0 to 5000 ms", 1},
  {"[names]\ndigits = 6\n", AT("2") "digits = 6:", "0 to 5", 1},
  {"[names]\nlength = 0\n", AT("2"), "or none", 1},
  {"[names]\nlength = 7\ndigits = 3\n", AT("2") "length:", "write more", 1},
  {"[names]\neight-three = yes\n[format]\ncontainer = flac\n",
   AT("2") "eight-three:",
   ".flac",
   1},
  {"[names]\nsound = no\n", AT("2") "sound:", "sound = yes", 1},
  {"[names]\nparts = no\n[playing]\nrepeat = three-files\n",
   AT("2") "parts:",
   "parts = yes",
   1},
  {"[names]\njoiner = ....\n", AT("2"), "3 characters are the most", 1},
  {"[names]\njoiner = /\n", AT("2"), "other characters", 1},
  {"[names]\njoiner = \"\\n\"\n", AT("2"), "other characters", 1},
  {"[names]\nallowed = ../\n", AT("2"), "other characters", 1},
  {"[names]\nallowed =\n", AT("2"), "or any", 1},
  {"[names]\nsound = perhaps\n", AT("2"), "yes or no", 1},
  // Words and lists.
  {"[format]\ncontainer = wave\n", AT("2"), "did you mean wav?", 1},
  {"[format]\ncontainer = cassette\n", AT("2"), "wav, ogg, flac, raw", 1},
  {"[format]\nencoding = 8\ncontainer = flac\n", AT("2"), "8-bit", 1},
  {"[format]\nencoding = float\ncontainer = c-array\n", AT("2"), "float", 1},
  {"[format]\nencoding = 12\n", AT("2"), "8, 16, 24 or float", 1},
  {"[format]\nencoding =\n", AT("2"), "give one", 1},
  {"[format]\nencoding = 8, 16,\n", AT("2"), "take a comma out", 1},
  {"[format]\nencoding = 8, 16, 8\n", AT("2"), "8 stands twice", 1},
  {"[format]\nsample-rate = 44100, 44.1kHz\n", AT("2"), "twice", 1},
  {"[format]\nsample-rate = 8k,9k,10k,11k,12k,13k,14k,15k,16k\n",
   AT("2"),
   "8 are the most",
   1},
  {"[format]\nsample-rate = 3999\n", AT("2"), "4000 to 384000 Hz", 1},
  {"[format]\nchannels = 3\n", AT("2"), "1, 2, mono or stereo", 1},
  {"[format]\nchannels = 1, mono\n", AT("2"), "mono stands twice", 1},
  {"[playing]\nrepeat = loop-points\n", AT("2"), "loop-points = yes", 1},
  {"[playing]\nloop-points = yes\n[format]\ncontainer = ogg\n",
   AT("2") "loop-points:",
   "loop-points = no",
   1},
  {"[playing]\nrepeat = nothing\ngap = 5ms\n", AT("3") "gap:", "gap = 0", 1},
  {"[playing]\non-release = stop\n", AT("2"), "did you mean stops?", 1},
  {"[playing]\norder = written\n", AT("2"), "by-name or as-written", 1},
  // Several at once, each told.
  {"[format]\nrate = 1\nchannels = 3\n[limits]\ncapacity = 0\n",
   AT("2"),
   "",
   3},
};

static void
test_faults(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < COUNT(faults); ++i) {
    ok &= check_fault(&faults[i]);
  }
  assert_true(ok);
}

/// Whether one line is said of a file that has the word.
static bool
is_refused(const char* line, const char* word) {
  Run        got = run(line);
  const bool good =
    got.status == 2 && !*got.out && is_one_line_with(got.err, word);
  run_check(good, &got, line);
  run_clear(&got);
  return good;
}

static void
test_files(void** state) {
  (void)state;
  static char big[1000002];
  memset(big, '#', sizeof(big));
  bytes_write("big.board.ini", big, sizeof(big));
  bytes_write("zero.board.ini", "[format]\n\0\n", 11);
  put("a b.board.ini", "[format]\n");
  put("none.board.ini", "[format]\n");
  put("mine.ini", "[format]\n");
  mkdir("folder.board.ini", 0755);
  bool ok = is_refused("boards big.board.ini", "longer than 1 MB");
  ok &= is_refused("boards zero.board.ini", "bytes of 0");
  ok &= is_refused("boards gone.board.ini", "gone.board.ini: no file");
  ok &= is_refused("boards folder.board.ini", "folder.board.ini: ");
  ok &= is_refused("boards ./none.board.ini", "no board at all: rename");
  ok &= is_refused("boards ./mine.ini", "ends in .board.ini: rename it");
  ok &= is_refused("boards -- -a.board.ini", "rename the file");
  ok &= is_refused("boards a b", "one board is printed at a time");
  ok &= is_refused("boards --board wav-44k-mono", "no such option");
  Run got = run_shell("\"$VOLLEYWEAVE\" boards './a b.board.ini'");
  ok &= run_check(is_one_line_with(got.err, "one word"), &got, "a b");
  run_clear(&got);
  assert_true(ok);
}

/* Read back */

// Every key holds something else than by default.
static const char filled[] =
  "\xEF\xBB\xBF; a board of every kind\r\n"
  "[format]\r\ncontainer = wav\r\nencoding = 24, float,8\r\n"
  "sample-rate = 22.05kHz, 8000Hz ,44100\r\nchannels = stereo, mono\r\n"
  "[limits]\r\nfile-size-max = 512KiB\r\ncapacity = 8GB\r\n"
  "cluster = 32KiB\r\nfiles-max = 99\r\nslots = 12\r\n"
  "[names]\r\ndigits = 3\r\nsound = no\r\nparts = yes\r\n"
  "joiner = \" ;\\x2D\"\r\nlength = 31\r\neight-three = yes\r\n"
  "letters = upper\r\nallowed = \" ;#-\"\r\ngroup-folders = yes\r\n"
  "[playing]\r\n  repeat = whole-file\r\nloop-points = yes\r\n"
  "gap = 0.0123s\r\nbuffer = 256frames\r\ndelay = 33.3ms\r\n"
  "press-min = 100\r\non-release = finishes\r\norder = as-written\r\n";

static json_t*
board_json(const char* line) {
  Run           got = run(line);
  json_t* const object = json_loads(got.out, 0, NULL);
  run_check(got.status == 0 && object && !*got.err, &got, line);
  assert_int_equal(got.status, 0);
  assert_non_null(object);
  run_clear(&got);
  return object;
}

/// What the filled board is, without where it is from.
static json_t*
filled_json(void) {
  return json_pack(
    "{s:I, s:s, s:s, s:b, s:s, s:[sss], s:[III], s:[II], s:I, s:I, s:I, s:I, "
    "s:I, s:I, s:b, s:b, s:s, s:I, s:b, s:s, s:s, s:b, s:s, s:b, s:f, s:I, "
    "s:f, s:I, s:s, s:s}",
    "schema",
    (json_int_t)1,
    "command",
    "boards",
    "name",
    "filled",
    "default",
    0,
    "container",
    "wav",
    "encodings",
    "24",
    "float",
    "8",
    "sample_rates_hz",
    (json_int_t)22050,
    (json_int_t)8000,
    (json_int_t)44100,
    "channels",
    (json_int_t)2,
    (json_int_t)1,
    "file_bytes_max",
    (json_int_t)524288,
    "capacity_bytes",
    (json_int_t)8000000000,
    "cluster_bytes",
    (json_int_t)32768,
    "files_max",
    (json_int_t)99,
    "slots_max",
    (json_int_t)12,
    "name_slot_digits",
    (json_int_t)3,
    "name_has_sound",
    0,
    "name_has_part",
    1,
    "name_joiner",
    " ;-",
    "name_characters_max",
    (json_int_t)31,
    "name_eight_three",
    1,
    "name_letters",
    "upper",
    "name_allowed",
    " ;#-",
    "group_folders",
    1,
    "repeat",
    "whole-file",
    "loop_points",
    1,
    "gap_ms",
    12.3,
    "buffer_frames",
    (json_int_t)256,
    "delay_ms",
    33.3,
    "press_min_ms",
    (json_int_t)100,
    "on_release",
    "finishes",
    "order",
    "as-written");
}

static void
test_filled(void** state) {
  (void)state;
  put("filled.board.ini", filled);
  json_t* const wanted = filled_json();
  json_t* const got = board_json("boards --json ./filled.board.ini");
  assert_string_equal(json_string_value(json_object_get(got, "path")),
                      "./filled.board.ini");
  json_object_del(got, "path");
  char* const shown = json_dumps(got, JSON_INDENT(1));
  if (!json_equal(got, wanted)) {
    fprintf(stderr, "%s\n", shown);
  }
  assert_true(json_equal(got, wanted));
  free(shown);
  json_decref(got);
  json_decref(wanted);
}

/// Whether a board that is printed and read again is the same.
static bool
comes_back(const char* name) {
  char line[160];
  mkdir("back", 0755);
  (void)snprintf(line,
                 sizeof(line),
                 "\"$VOLLEYWEAVE\" boards %s > back/again.board.ini && "
                 "\"$VOLLEYWEAVE\" boards --json ./back/again.board.ini",
                 name);
  Run           got = run_shell(line);
  json_t* const again = json_loads(got.out, 0, NULL);
  (void)snprintf(line, sizeof(line), "boards --json %s", name);
  json_t* const first = board_json(line);
  json_object_del(again, "name");
  json_object_del(first, "name");
  json_object_del(again, "path");
  json_object_del(first, "path");
  const bool good =
    again && json_object_size(again) > 20U && json_equal(again, first);
  run_check(good, &got, name);
  run_clear(&got);
  json_decref(again);
  json_decref(first);
  return good;
}

static void
test_back(void** state) {
  (void)state;
  bool ok = true;
  put("filled.board.ini", filled);
  ok &= comes_back("./filled.board.ini");
  for (size_t i = 0; vw_board_built_in(i); ++i) {
    ok &= comes_back(vw_board_built_in(i)->name);
  }
  assert_true(ok);
}

// What is printed fits a terminal and explains each key.
static void
test_printed(void** state) {
  (void)state;
  Run      got = run("boards array-8k-8bit");
  unsigned n_keys = 0;
  bool     told = false;
  for (char* line = strtok(got.out, "\n"); line; line = strtok(NULL, "\n")) {
    const bool is_key = line[0] != '#' && line[0] != '[';
    assert_true(strlen(line) < 80U);
    assert_true(!is_key || told);
    n_keys += is_key;
    told = line[0] == '#';
  }
  assert_int_equal(n_keys, 26);
  run_clear(&got);
}

/* Built in */

// Nobody's own figures: what a board is like beyond its format is unknown.
static void
test_built_in(void** state) {
  (void)state;
  for (size_t i = 0; vw_board_built_in(i); ++i) {
    const VwBoard* const board = vw_board_built_in(i);
    assert_true(board->gap_ms == 0.0 && board->delay_ms == 0.0 &&
                board->press_min_ms == 0.0 && board->buffer_frames == 1U);
    assert_true(board->release == VW_RELEASE_STOPS &&
                board->repeat == VW_REPEAT_WHOLE_FILE);
    assert_true(!board->capacity_bytes && !board->file_bytes_max);
    assert_true(vw_container_carries(board->container, board->encodings[0]));
    for (size_t k = 0; k < i; ++k) {
      assert_string_not_equal(vw_board_built_in(k)->name, board->name);
    }
  }
}

/* The user's own, the default */

/// Whether a line prints a word and nothing on standard error.
static bool
prints(const char* line, const char* word) {
  Run        got = run_shell(line);
  const bool good = got.status == 0 && strstr(got.out, word) && !*got.err;
  run_check(good, &got, line);
  run_clear(&got);
  return good;
}

/// Whether a line ends with a status and says a word.
static bool
says(const char* line, int status, const char* word) {
  Run        got = run_shell(line);
  const bool good = got.status == status && strstr(got.err, word);
  run_check(good, &got, line);
  run_clear(&got);
  return good;
}

#define VW "\"$VOLLEYWEAVE\" "

static void
test_own(void** state) {
  (void)state;
  mkdir("volleyweave", 0755);
  mkdir("volleyweave/boards", 0755);
  put("volleyweave/boards/mine.board.ini", "[format]\nchannels = 2\n");
  put("volleyweave/boards/wav-22k-mono.board.ini", "[playing]\ngap = 5ms\n");
  put("volleyweave/boards/.mine.board.ini", "rubbish");
  put("volleyweave/boards/notes.txt", "rubbish");
  bool ok = prints(VW "boards", "mine            wav       44100       2  ");
  ok &= prints(VW "boards", "/volleyweave/boards/mine.board.ini\n");
  ok &= prints(VW "boards", "mkdir -p ");
  ok &= prints(VW "boards | grep -c wav-22k-mono.*built || true", "0\n");
  ok &= prints(VW "boards wav-22k-mono", "gap = 5ms\n");
  ok &= prints(VW "boards mine", "channels = 2\n");
  ok &= prints(VW "boards --json | wc -l", "8\n");
  ok &= prints(VW "boards --json mine", "\"path\": \"/");
  ok &= prints("unset XDG_CONFIG_HOME; mkdir -p .config && ln -s "
               "../volleyweave .config && HOME=$PWD " VW "boards mine",
               "channels = 2\n");
  ok &= says(VW "boards mien", 2, "did you mean mine?");
  ok &= says(VW "devices", 2, "volleyweave boards`?");
  ok &= says(VW "board", 2, "volleyweave boards`?");
  ok &= says(VW "shot --device x zap.wav", 2, "did you mean --board");
  ok &= says(VW "boards nothing-like-it", 2, "volleyweave boards` lists");
  ok &= says("XDG_CONFIG_HOME=volleyweave/.. HOME= " VW "boards mine",
             2,
             "no such board");
  put("volleyweave/boards/broken.board.ini", "[format]\nchannels = 5\n");
  ok &= says(VW "boards", 1, "broken.board.ini:2: channels = 5: ");
  ok &= says(VW "boards | grep mine", 0, "broken.board.ini:2: ");
  assert_true(ok);
  remove_all("volleyweave");
}

#define SHOT VW "shot -n --json zap.wav"

static void
test_default(void** state) {
  (void)state;
  mkdir("volleyweave", 0755);
  mkdir("system", 0755);
  mkdir("system/volleyweave", 0755);
  put("system/volleyweave/settings.ini",
      "[settings]\nboard = wav-44k-stereo\n");
  put("volleyweave/mine.board.ini", "[format]\nsample-rate = 16000\n");
  // Nothing set, the system, the user, the environment, the option.
  bool ok = prints(SHOT, "\"board\": null");
  ok &= prints("XDG_CONFIG_DIRS=relative::$PWD/gone:$PWD/system " SHOT,
               "\"name\": \"wav-44k-stereo\"");
  put("volleyweave/settings.ini", "[settings]\nboard = ogg-44k-mono\n");
  ok &= prints("XDG_CONFIG_DIRS=$PWD/system " SHOT, "ogg-44k-mono");
  ok &= prints(VW "boards", "built in, the default\n");
  ok &= prints(VW "boards --json ogg-44k-mono", "\"default\": true");
  ok &= prints(VW "boards --json wav-44k-mono", "\"default\": false");
  ok &= prints("VOLLEYWEAVE_BOARD= " SHOT, "ogg-44k-mono");
  ok &= prints("VOLLEYWEAVE_BOARD=wav-22k-mono " SHOT, "wav-22k-mono");
  ok &= prints("VOLLEYWEAVE_BOARD=none " SHOT, "\"board\": null");
  ok &= prints("VOLLEYWEAVE_BOARD=wav-22k-mono " SHOT " --board raw-8k-8bit",
               "raw-8k-8bit");
  ok &= prints(SHOT " --board none", "\"board\": null");
  ok &= prints("VOLLEYWEAVE_BOARD=wav-22k-mono " VW "shot -n --slot 3 zap.wav",
               "volleyweave loop --fire-rate 9/s --slot 4");
  ok &= prints("VOLLEYWEAVE_BOARD=volleyweave/mine.board.ini " SHOT,
               "\"name\": \"mine\"");
  ok &= prints("VOLLEYWEAVE_BOARD=./mine.board.ini " VW "boards",
               "The default: ./mine.board.ini\n");
  put("volleyweave/settings.ini", "[settings]\nboard = mine.board.ini\n");
  ok &= prints(SHOT, "\"name\": \"mine\"");
  put("volleyweave/settings.ini", "[settings]\nboard = none\n");
  ok &= prints("XDG_CONFIG_DIRS=$PWD/system " SHOT, "\"board\": null");
  assert_true(ok);
  remove_all("volleyweave");
}

static void
test_default_checks(void** state) {
  (void)state;
  bool ok = says(VW "check .", 2, "a folder needs a board");
  ok &= says("VOLLEYWEAVE_BOARD=none " VW "check .", 2, "needs a board");
  ok &= says("VOLLEYWEAVE_BOARD=nine " VW "check zap.wav", 2, "no such board");
  ok &= says(VW "check --board none .", 2, "a folder needs a board");
  Run got = run_shell("VOLLEYWEAVE_BOARD=wav-44k-stereo " VW "check zap.wav");
  ok &= run_check(got.status == 3, &got, "check for the default board");
  run_clear(&got);
  assert_true(ok);
}

// A pack is for the boards of the command line, else that of the environment,
// else those of the prop, else that of the settings.
static void
test_default_packs(void** state) {
  (void)state;
  put("bare.ini", "[sound zap]\ntake = zap.wav\nmake = shot\n");
  put("sounds.ini",
      "[prop]\nboards = wav-44k-stereo\n"
      "[sound zap]\ntake = zap.wav\nmake = shot\n");
  mkdir("volleyweave", 0755);
  bool ok = says(VW "pack -n bare.ini", 2, "for which board?");
  put("volleyweave/settings.ini", "[settings]\nboard = wav-22k-mono\n");
  ok &= prints(VW "pack -n --json bare.ini", "wav-22k-mono");
  ok &= prints(VW "pack -n --json sounds.ini", "wav-44k-stereo");
  ok &= prints("VOLLEYWEAVE_BOARD=raw-8k-8bit " VW "pack -n --json sounds.ini",
               "raw-8k-8bit");
  ok &= prints("VOLLEYWEAVE_BOARD=none " VW "pack -n --json sounds.ini",
               "wav-44k-stereo");
  ok &= says("VOLLEYWEAVE_BOARD=none " VW "pack -n bare.ini", 2, "for which");
  assert_true(ok);
  remove_all("volleyweave");
}

// A board that is a file is found again from a sound list in another folder.
static void
test_by_path(void** state) {
  (void)state;
  mkdir("props", 0755);
  put("props/mine.board.ini", "[format]\nsample-rate = 16000\n");
  put("props/sounds.ini",
      "[prop]\nboards = mine.board.ini, wav-22k-mono\n"
      "[sound zap]\ntake = ../zap.wav\nmake = shot\n"
      "[sound zap on mine]\nmake = whole\n");
  bool ok = prints(VW "pack -n --json props/sounds.ini", "\"mine\"");
  assert_true(ok);
}

static void
test_settings_faults(void** state) {
  (void)state;
  static const Fault bad[] = {
    {"[settings]\nboad = a\n", ":2: boad: no such key", "board = ", 1},
    {"[settings]\nboard =\n", ":2: board: no value", "leave the line", 1},
    {"[boards]\nboard = a\n", ":1: [boards]:", "write [settings]", 1},
    {"board = a\n", ":1: board: a key above", "[name]", 1},
    {"[settings]\nboard = gone\n", "gone: no such board", "", 1},
  };
  mkdir("volleyweave", 0755);
  bool ok = true;
  for (size_t i = 0; i < COUNT(bad); ++i) {
    put("volleyweave/settings.ini", bad[i].text);
    Run        got = run("shot -n zap.wav");
    const bool good = got.status == 2 && strstr(got.err, bad[i].where) &&
                      is_one_line_with(got.err, bad[i].remedy);
    ok &= run_check(good, &got, bad[i].text);
    run_clear(&got);
  }
  assert_true(ok);
  remove_all("volleyweave");
}

int
main(int argc, char** argv) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_faults),
    cmocka_unit_test(test_files),
    cmocka_unit_test(test_filled),
    cmocka_unit_test(test_back),
    cmocka_unit_test(test_printed),
    cmocka_unit_test(test_built_in),
    cmocka_unit_test(test_own),
    cmocka_unit_test(test_default),
    cmocka_unit_test(test_default_checks),
    cmocka_unit_test(test_default_packs),
    cmocka_unit_test(test_by_path),
    cmocka_unit_test(test_settings_faults),
  };
  run_set_up(argc, argv);
  wav_file_write(
    &(WavFile){.path = "zap.wav", .fill = FILL_SHOT, .seconds = 1.0});
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  run_tear_down();
  return failed;
}
