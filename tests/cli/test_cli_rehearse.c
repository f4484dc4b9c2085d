// Rehearsals and pages from the command line: what is written, what is refused.

#include "burst/burst.h"
#include "container/container.h"
#include "support/check.h"
#include "support/measure.h"
#include "support/run.h"
#include "support/signals.h"
#include "support/wav_files.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Write a board: one built in, with other lines.
static void
board_write(const char* name, const char* changes) {
  char line[512];
  (void)snprintf(line,
                 sizeof(line),
                 "\"$VOLLEYWEAVE\" boards wav-22k-mono | sed '%s' "
                 ">%s.board.ini",
                 changes,
                 name);
  Run made = run_shell(line);
  assert_true(run_check(made.status == 0, &made, line));
  run_clear(&made);
}

static bool
succeeds(const char* line) {
  Run        done = run(line);
  const bool good = run_check(done.status == 0, &done, line);
  run_clear(&done);
  return good;
}

/// Whether a line is refused in one line that has a word in it, and nothing is
/// written.
static bool
is_refused(const char* line, int status, const char* word) {
  Run        done = run(line);
  size_t     n = 0;
  char*      written = read_file("no.wav", &n);
  const bool good =
    run_check(done.status == status && is_one_line_with(done.err, word) &&
                !written && !done.n_out,
              &done,
              line);
  free(written);
  run_clear(&done);
  return good;
}

/// Whether the marked loop lies in a folder without its list.
static bool
is_copied_alone(void) {
  Run        made = run_shell("mkdir bare && cp marked/zap.loop.wav bare");
  const bool good = !made.status;
  run_clear(&made);
  return good;
}

static int
set_up(void** state) {
  (void)state;
  wav_file_write(&(WavFile){.path = "zap.wav", .seconds = 0.8});
  wav_file_write(
    &(WavFile){.path = "uneven.wav", .fill = FILL_UNEVEN, .seconds = 2.5});
  board_write("three",
              "s/^repeat.*/repeat = three-files/; s/^on-release.*/on-release = "
              "finishes/");
  board_write("whole", "s/^gap.*/gap = 20ms/");
  board_write("marked",
              "s/^repeat.*/repeat = loop-points/; s/^loop-points.*/loop-points "
              "= yes/");
  return succeeds("loop -q --fire-rate 9 --board three.board.ini -o three/ "
                  "zap.wav") &&
             succeeds("loop -q --fire-rate 9 --board whole.board.ini -o whole/ "
                      "zap.wav") &&
             succeeds("loop -q --fire-rate 9 --board marked.board.ini -o "
                      "marked/ zap.wav") &&
             is_copied_alone()
           ? 0
           : -1;
}

/// Times and a lamp's flashes: so many, and these are read back.
typedef struct {
  const char* line;
  const char* repeat;
  size_t      n_flashes;
} Case;

// At 9 shots per second one begins every 111 ms; the first attack is at 2 ms.
static const Case cases[] = {
  {"--hold 500ms --board whole.board.ini whole/zap.loop.wav", "whole-file", 5},
  {"--hold 0.5,1,0.3 --board whole.board.ini whole/zap.loop.wav",
   "whole-file",
   8},
  {"--hold 1s --board whole.board.ini whole/zap.shot.wav", "nothing", 1},
  {"--hold 0.5s --board marked.board.ini marked/zap.loop.wav",
   "loop-points",
   5},
  {"--hold 500ms --board whole.board.ini whole/zap.shot.wav whole/zap.loop.wav",
   "whole-file",
   5},
  {"--hold 1ms --board three.board.ini three/zap.ringout.wav "
   "three/zap.loop.wav three/zap.runin.wav",
   "three-files",
   0},
  {"--hold 1ms --board three.board.ini --sound zap three", "three-files", 0},
  // A loop with a run-in and a ring-out in the same file, by the list beside it
  // and by the file's marks alone: it does not fire in the ring-out.
  {"--hold 1s --board whole.board.ini marked/zap.loop.wav", "whole-file", 6},
  {"--hold 1s --board whole.board.ini bare/zap.loop.wav", "whole-file", 6},
  // Shots of no even rate.
  {"--hold 2.3s --board whole.board.ini uneven.wav", "whole-file", 3},
};

/// Whether a lamp that flashes often does so 9 times a second.
static bool
are_even(const json_t* lamp) {
  const json_t* const first = json_array_get(lamp, 0);
  const json_t* const next = json_array_get(lamp, 1);
  return json_array_size(lamp) < 5U ||
         fabs(json_number_value(json_object_get(next, "on_s")) -
              json_number_value(json_object_get(first, "on_s")) - 1.0 / 9.0) <
           0.002;
}

static bool
rehearses(const Case* wanted) {
  char line[256];
  (void)snprintf(
    line, sizeof(line), "rehearse --force --json -o held.wav %s", wanted->line);
  Run           done = run(line);
  json_t* const root = json_loads(done.out ? done.out : "", 0, NULL);
  size_t        n = 0;
  char* const   beside = read_file("held.lamp.json", &n);
  const json_t* lamp = json_object_get(root, "lamp");
  const char*   repeat = json_string_value(json_object_get(root, "repeat"));
  const bool    counted = wanted->n_flashes
                            ? json_array_size(lamp) == wanted->n_flashes
                            : json_array_size(lamp) > 0;
  const bool    good = run_check(
    done.status == 0 && repeat && !strcmp(repeat, wanted->repeat) && counted &&
      are_even(lamp) && beside && !strcmp(beside, done.out),
    &done,
    line);
  free(beside);
  json_decref(root);
  run_clear(&done);
  return good;
}

static void
test_rehearsed(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    ok = rehearses(&cases[i]) && ok;
  }
  assert_true(ok);
}

/// A track that switches a lamp is not heard, and what tells no format is read
/// as the board has it: the same sound from all of them.
static void
test_formats(void** state) {
  (void)state;
  static const struct {
    const char* changes;
    const char* more;
    const char* file;
  } formats[] = {
    {"s/^gap.*/gap = 20ms/", "", "zap.loop.wav"},
    {"s/^gap.*/gap = 20ms/; s/^channels.*/channels = 2, 1/",
     "--lamp-track",
     "zap.loop.wav"},
    {"s/^gap.*/gap = 20ms/; s/^container.*/container = raw/",
     "",
     "zap.loop.raw"},
    {"s/^gap.*/gap = 20ms/; s/^container.*/container = c-array/",
     "",
     "zap.loop.h"},
  };
  size_t n_first = 0;
  char*  first = NULL;
  for (size_t i = 0; i < sizeof(formats) / sizeof(formats[0]); ++i) {
    char line[256];
    board_write("other", formats[i].changes);
    (void)snprintf(line,
                   sizeof(line),
                   "loop -q --force --fire-rate 9 --dither none --board "
                   "other.board.ini %s "
                   "-o other/ zap.wav",
                   formats[i].more);
    assert_true(succeeds(line));
    (void)snprintf(line,
                   sizeof(line),
                   "rehearse --hold 0.5s --board other.board.ini -o - other/%s",
                   formats[i].file);
    Run heard = run(line);
    assert_true(run_check(heard.status == 0, &heard, line));
    if (first) {
      assert_true(
        run_check(heard.n_out == n_first && !memcmp(heard.out, first, n_first),
                  &heard,
                  line));
    } else {
      n_first = heard.n_out;
      first = malloc(n_first);
      assert_non_null(first);
      memcpy(first, heard.out, n_first);
    }
    run_clear(&heard);
  }
  free(first);
}

static void
test_pipe(void** state) {
  (void)state;
  Run to_file = run("rehearse --force --hold 0.3s --board whole.board.ini -o "
                    "held.wav whole/zap.loop.wav");
  Run to_pipe = run("rehearse --hold 0.3s --board whole.board.ini -o - "
                    "whole/zap.loop.wav");
  assert_int_equal(to_file.status, 0);
  assert_int_equal(to_pipe.status, 0);
  assert_true(has_bytes("held.wav", to_pipe.out, to_pipe.n_out));
  run_clear(&to_file);
  run_clear(&to_pipe);
}

/// Whether a line's text tells of ears, and of seizures where it `flashes`; and
/// its JSON has the same.
static bool
cautions_are(const char* line, bool flashes) {
  char with_json[256];
  (void)snprintf(with_json, sizeof(with_json), "%s --json", line);
  Run           told = run(line);
  Run           json = run(with_json);
  json_t* const root = json_loads(json.out ? json.out : "", 0, NULL);
  json_t* const cautions = json_object_get(root, "cautions");
  bool good = run_check(told.status == 0 && strstr(told.out, "at the ear") &&
                          (strstr(told.out, "seizures") != NULL) == flashes,
                        &told,
                        line);
  good = run_check(json.status == 0 &&
                     json_is_string(json_object_get(cautions, "hearing")) &&
                     json_object_size(cautions) == (flashes ? 2U : 1U) &&
                     (json_object_get(cautions, "flash") != NULL) == flashes,
                   &json,
                   with_json) &&
         good;
  json_decref(root);
  run_clear(&told);
  run_clear(&json);
  return good;
}

/// How often a word stands in a text.
static size_t
times_in(const char* text, const char* word) {
  size_t n = 0;
  for (const char* at = text; (at = strstr(at, word)); ++at) {
    ++n;
  }
  return n;
}

// Each is said once a run, however many takes or boards; that on hearing below
// the level, that on flashes below the lamp; also where the sound goes into a
// pipe, in source text, and in words for who does not see a picture.
static void
test_cautions_once(void** state) {
  (void)state;
  static const struct {
    const char* line;
    const char* words[2]; ///< Once each, in this order.
  } told_of[] = {
    {"\"$VOLLEYWEAVE\" loop -f --fire-rate 9 -o two zap.wav tap.wav",
     {"85 dB(A)", "seizures"}},
    {"\"$VOLLEYWEAVE\" loop -v -f --fire-rate 9 --loudness keep -o two zap.wav",
     {"\nLevel", "85 dB(A)"}},
    {"\"$VOLLEYWEAVE\" loop -v -f --fire-rate 9 -o two zap.wav",
     {"\nLamp", "seizures"}},
    {"\"$VOLLEYWEAVE\" rehearse --hold 1s --board whole.board.ini -o - "
     "whole/zap.loop.wav 2>&1 >/dev/null",
     {"seizures", "85 dB(A)"}},
    {"\"$VOLLEYWEAVE\" pack -f --board wav-22k-mono --board wav-44k-mono -o "
     "twice twice.ini 2>/dev/null",
     {"seizures", "licensed practice"}},
    {"\"$VOLLEYWEAVE\" pack -f --board wav-22k-mono --board wav-44k-mono -o "
     "twice twice.ini 2>/dev/null",
     {"licensed practice", "85 dB(A)"}},
    {"\"$VOLLEYWEAVE\" loop -f -q --board array-8k-8bit -o array zap.wav && "
     "tr -s ' \\n*' ' ' <array/zap.loop.h",
     {"85 dB(A)", "uint8_t"}},
    {"\"$VOLLEYWEAVE\" loop -f -q --fire-rate 9 --plot l.svg -o two zap.wav && "
     "grep '<desc>' l.svg",
     {"seizures", "85 dB(A)"}},
  };
  static const char prop[] =
    "[sound zap]\ntake = zap.wav\nmake = loop\nfire-rate = 9/s\n";
  Run  copied = run_shell("cp zap.wav tap.wav");
  bool ok = run_check(copied.status == 0, &copied, "cp");
  bytes_write("twice.ini", prop, strlen(prop));
  for (size_t i = 0; i < sizeof(told_of) / sizeof(told_of[0]); ++i) {
    Run               told = run_shell(told_of[i].line);
    const char* const first = told_of[i].words[0];
    const char* const second = told_of[i].words[1];
    ok &= run_check(told.status == 0 && times_in(told.out, first) == 1U &&
                      times_in(told.out, second) >= 1U &&
                      strstr(told.out, first) < strstr(told.out, second),
                    &told,
                    told_of[i].line);
    run_clear(&told);
  }
  run_clear(&copied);
  assert_true(ok);
}

static void
test_cautions(void** state) {
  (void)state;
#define WHOLE "--board whole.board.ini -f -o held.wav "
  bool ok = succeeds("loop -q --fire-rate 2 --board whole.board.ini -o slow/ "
                     "zap.wav");
  ok &= cautions_are("rehearse --hold 1s " WHOLE "whole/zap.loop.wav", true);
  ok &= cautions_are("rehearse --hold 1s " WHOLE "slow/zap.loop.wav", false);
  // A single shot, and the same by a quick finger.
  ok &= cautions_are("rehearse --hold 1s " WHOLE "whole/zap.shot.wav", false);
  ok &= cautions_are(
    "rehearse --hold 0.1s,0.1s,0.1s " WHOLE "whole/zap.shot.wav", true);
  ok &= cautions_are("loop --fire-rate 2,3 --burst-seconds 1s -f -o l.wav "
                     "zap.wav",
                     true);
  ok &= cautions_are("loop --fire-rate 2,2.9 --burst-seconds 1s -f -o l.wav "
                     "zap.wav",
                     false);
  assert_true(ok);
}

// What was written and heard: a loop of 9 shots per second held for half a
// second fires 5, and ends with its repeat.
static void
test_told(void** state) {
  (void)state;
  board_write("slow", "s/^press-min.*/press-min = 50ms/");
  static const RunCase told[] = {
    {"rehearse --hold 500ms " WHOLE "whole/zap.loop.wav",
     0,
     "s, 5 shots heard\nheld.lamp.json: 5 flashes of the lamp\n",
     NULL},
    {"rehearse --hold 1s " WHOLE "whole/zap.shot.wav",
     0,
     "held.wav: 1.000 s, 1 shot heard\nheld.lamp.json: 1 flash of",
     NULL},
    {"rehearse --hold 1s,0.2s,30ms --board slow.board.ini -f -o held.wav "
     "whole/zap.shot.wav",
     0,
     "1 shot heard",
     "the board misses a press of 30 ms, its shortest is 50 ms"},
    {"rehearse --hold 60ms --board slow.board.ini -f -o held.wav "
     "whole/zap.shot.wav",
     0,
     "1 shot heard",
     NULL},
    {"rehearse -q --hold 30ms --board slow.board.ini -f -o held.wav "
     "whole/zap.shot.wav",
     0,
     NULL,
     NULL},
  };
  bool ok = true;
  for (size_t i = 0; i < sizeof(told) / sizeof(told[0]); ++i) {
    ok &= run_gave(run(told[i].line), &told[i]);
  }
  assert_true(ok);
}

static json_t*
json_of(const char* line) {
  Run           made = run(line);
  json_t* const root = json_loads(made.out ? made.out : "", 0, NULL);
  run_clear(&made);
  return root;
}

static bool
is_played(const json_t* root, const char* repeat) {
  const char* const word = json_string_value(json_object_get(root, "repeat"));
  return check_that(word && !strcmp(word, repeat), "repeat %s", repeat);
}

// What is said of a file overrules what is heard; the loop of a hum that was
// made here lights no lamp, however it beats.
static const Case said[] = {
  {"--as shot --board whole.board.ini whole/zap.loop.wav", "nothing", 1},
  {"--as several-shots --board whole.board.ini whole/zap.loop.wav",
   "nothing",
   4},
  {"--as sustained --board whole.board.ini whole/zap.loop.wav",
   "whole-file",
   0},
  {"--as sustained --board three.board.ini three/zap.loop.wav",
   "three-files",
   0},
  {"--as sustained --board marked.board.ini marked/zap.loop.wav",
   "loop-points",
   0},
  {"--as rapid-fire --board whole.board.ini whole/zap.loop.wav",
   "whole-file",
   9},
  {"--board whole.board.ini hum/hum.loop.wav", "whole-file", 0},
  {"--board three.board.ini hum/hum.loop.wav", "three-files", 0},
  {"--shots 7 --board whole.board.ini hum/hum.loop.wav", "whole-file", 8},
};

static void
test_said(void** state) {
  (void)state;
  // Its beats are heard as shots, 3.3 a second.
  VwPiece piece = {.sound = signal_silence(4.0, 44100)};
  VwBytes bytes = {NULL, 0};
  signal_add_tone(&piece.sound, 120.0, 0.25, 0.0);
  signal_add_tone(&piece.sound, 123.3, 0.12, 0.0);
  const VwFormat format = vw_format_defaults();
  assert_int_equal(vw_encode_wav(&piece, &format, 1, &bytes), VW_OK);
  bytes_write("hum.wav", bytes.data, bytes.n_bytes);
  vw_bytes_clear(&bytes);
  vw_sound_clear(&piece.sound);
  bool ok =
    succeeds("loop -q --as sustained --form pieces --cycle 1s -o hum/ hum.wav");
  for (size_t i = 0; i < sizeof(said) / sizeof(said[0]); ++i) {
    char line[256];
    (void)snprintf(line,
                   sizeof(line),
                   "rehearse --force --json --hold 1s -o held.wav %s",
                   said[i].line);
    json_t* const held = json_of(line);
    ok &= is_played(held, said[i].repeat);
    ok &= check_equal((double)json_array_size(json_object_get(held, "lamp")),
                      (double)said[i].n_flashes,
                      "%s",
                      said[i].line);
    json_decref(held);
  }
  ok &= is_refused("lamp hum/hum.loop.wav", 1, "a sustained sound");
  ok &= run_gave(run("check hum/hum.loop.wav"),
                 &(RunCase){NULL, 0, "a sound that goes on", NULL});
  assert_true(ok);
}

// A board that plays by number: its pack's list knows what the sounds are
// called, and both are taken.
static void
test_numbers(void** state) {
  (void)state;
  board_write("digits",
              "s/^digits.*/digits = 2/; s/^sound = .*/sound = no/; "
              "s/^parts.*/parts = no/");
  Run made = run_shell("mkdir takes && cp zap.wav takes && \"$VOLLEYWEAVE\" "
                       "pack -q --board digits.board.ini -o packs takes");
  assert_true(run_check(made.status == 0, &made, "pack"));
  run_clear(&made);
#define OF "rehearse --hold 500ms --board digits.board.ini -q -f -o "
  bool ok = succeeds(OF "one.wav --sound zap packs/digits");
  ok &= succeeds(OF "same.wav --sound 01 packs/digits");
  ok &= succeeds(OF "two.wav --sound ZAP-rapid packs/digits");
  ok &= is_refused(OF "no.wav --sound hum packs/digits",
                   1,
                   "there are 01 (zap), 02 (zap-rapid)");
  ok &= is_refused(OF "no.wav packs/digits", 1, "01 (zap), 02 (zap-rapid)");
  size_t n = 0;
  char*  one = read_file("one.wav", &n);
  ok &= one && has_bytes("same.wav", one, n) && !has_bytes("two.wav", one, n);
  free(one);
  // The list marks the rapid fire alone as a loop: the shot is played once.
  json_t* const shot = json_of(OF "o.wav --json packs/digits/01.wav");
  json_t* const rapid = json_of(OF "o.wav --json packs/digits/02.wav");
  ok &= is_played(shot, "nothing") && is_played(rapid, "whole-file");
  json_decref(shot);
  json_decref(rapid);
  // Made for such a board, a ladder too has a number, and a pack is no take.
  ok &= is_refused("loop --board digits.board.ini --fire-rate 6,8 "
                   "--burst-seconds 2 zap.wav",
                   2,
                   "write for example --slot 1");
  ok &= is_refused(
    "lamp packs/digits --board digits.board.ini", 1, "give the sound list");
  assert_true(ok);
}

/// How often the lamp flashes while a numbered file of a pack is held.
static json_t*
flashes_of(unsigned slot) {
  char line[128];
  (void)snprintf(line,
                 sizeof(line),
                 "rehearse --hold 1s --board digits.board.ini -q -f -o o.wav "
                 "--json listed/digits/%02u.wav",
                 slot);
  json_t* const root = json_of(line);
  json_t* const lamp = json_incref(json_object_get(root, "lamp"));
  json_decref(root);
  return lamp;
}

static bool
flashes(unsigned slot, size_t n_least, size_t n_most, const char* list) {
  json_t* const lamp = flashes_of(slot);
  const size_t  n = json_array_size(lamp);
  json_decref(lamp);
  return check_that(n >= n_least && n <= n_most,
                    "%s: %02u flashes %zu times, not %zu to %zu",
                    list,
                    slot,
                    n,
                    n_least,
                    n_most);
}

#define LIST "listed/digits/.volleyweave.list"
#define EDIT(script)                                                           \
  "test -e list || cp " LIST " list; sed '" script "' list >" LIST

// What rings and echoes is heard as several shots: the list of what was made
// knows better. That of an older version tells of loops with shots alone.
static void
test_listed(void** state) {
  (void)state;
#define JUMP "take = /usr/share/games/bzflag/jump.wav\n"
  static const char prop[] =
    "[prop]\nfire-rate = 7/s\n"
    "[sound a]\n" JUMP "make = shot\n[sound b]\n" JUMP "make = burst 3\n"
    "[sound c]\n" JUMP "make = loop\n"
    "[sound d]\ntake = hum.wav\nmake = loop\n"
    "[sound e]\n" JUMP "make = whole\n";
  bytes_write("listed.ini", prop, strlen(prop));
  bool ok = succeeds("pack -q --board digits.board.ini -o listed listed.ini");
  ok &= flashes(1U, 1U, 1U, "shot");
  ok &= flashes(2U, 3U, 3U, "burst");
  ok &= flashes(3U, 7U, 7U, "loop");
  ok &= flashes(4U, 0U, 0U, "hum");
  ok &= flashes(5U, 0U, 0U, "whole");
  json_t* const burst = flashes_of(2U);
  for (size_t i = 1; i < 3U; ++i) {
    const json_t* const one = json_array_get(burst, i - 1U);
    const json_t* const other = json_array_get(burst, i);
    const double apart_s = json_number_value(json_object_get(other, "on_s")) -
                           json_number_value(json_object_get(one, "on_s"));
    // Two frames of 22050 in a second.
    ok &= check_at_most(fabs(apart_s - 1.0 / 7.0), 1e-4, "burst, s off");
  }
  json_decref(burst);
  // What cannot be is not believed, and neither is what is of another file.
  static const char* const edits[] = {
    EDIT("s/^shot \\(.*\\) 1 /shot \\1 9 /; s/^burst \\(.*\\) 3 /burst \\1 "
         "2000 /"),
    EDIT("s/^shot ./shot 7/; s/^burst ./burst 7/"),
    EDIT("/^[sbw][a-z]* /d; /^loop .* 0 0.0/d"),
  };
  for (size_t i = 0; i < sizeof(edits) / sizeof(edits[0]); ++i) {
    Run edited = run_shell(edits[i]);
    ok &= run_check(edited.status == 0, &edited, edits[i]);
    run_clear(&edited);
    ok &= flashes(1U, 2U, 20U, edits[i]);
    ok &= flashes(2U, 4U, 20U, edits[i]);
    ok &= flashes(3U, 7U, 7U, edits[i]);
  }
  // Made again for another fire rate, the list has one line on each.
  ok &= succeeds("pack -q --fire-rate 5/s --board digits.board.ini -o listed "
                 "listed.ini");
  Run lines = run_shell("grep -c '^[sblw][a-z]* [0-9a-f]\\{16\\} [0-9]* "
                        "[0-9.]* 0[1-5].wav$' " LIST);
  ok &= run_check(!strcmp(lines.out, "5\n"), &lines, "lines");
  run_clear(&lines);
  ok &= flashes(1U, 1U, 1U, "shot again");
  ok &= flashes(2U, 3U, 3U, "burst again");
  // Beside a file of its own, too.
  ok &= succeeds("shot -q --board digits.board.ini --slot 1 -f -o "
                 "listed/digits /usr/share/games/bzflag/shock.wav");
  ok &= flashes(1U, 1U, 1U, "shot beside");
  assert_true(ok);
}

static void
test_refused(void** state) {
  (void)state;
  static const struct {
    const char* line;
    int         status;
    const char* word;
  } bad[] = {
    {"--hold 0s --board whole.board.ini whole/zap.loop.wav", 2, "range"},
    {"--hold -1s --board whole.board.ini whole/zap.loop.wav", 2, "range"},
    {"--hold 60min --board whole.board.ini whole/zap.loop.wav", 2, "range"},
    {"--hold 1s,,1s --board whole.board.ini whole/zap.loop.wav", 2, "number"},
    {"--hold 1,2s --board whole.board.ini whole/zap.loop.wav", 2, "unit"},
    {"--hold ten --board whole.board.ini whole/zap.loop.wav", 2, "number"},
    {"--board whole.board.ini whole/zap.loop.wav", 2, "--hold"},
    {"--hold 1s --board whole.board.ini", 2, "no loop is given"},
    {"--hold 1s --board whole.board.ini whole/zap.loop.wav zip.loop.wav",
     2,
     "another sound"},
    {"--hold 1s --board whole.board.ini whole/zap.loop.wav three/zap.loop.wav",
     2,
     "another sound"},
    {"--hold 1s --board no-such whole/zap.loop.wav", 2, "no such board"},
    {"--hold 1s --board three.board.ini whole/zap.loop.wav", 1, "three files"},
    {"--hold 1s --board marked.board.ini whole/zap.loop.wav", 1, "loop points"},
    {"--hold 1s --board whole.board.ini whole/no.wav", 1, "no.wav"},
    {"--hold 1s --board whole.board.ini few.loop.wav", 1, "shorter than 5 ms"},
    {"--hold 1s --board whole.board.ini --sound hum whole", 1, "zap"},
    {"--hold 1s --board whole.board.ini --shots 60 whole/zap.loop.wav",
     1,
     "--shots: 60 in a loop"},
    {"--hold 1s --board whole.board.ini --through-speaker --speaker 2kHz "
     "--valley 9 whole/zap.loop.wav",
     2,
     "--valley"},
  };
  bool ok = true;
  wav_file_write(
    &(WavFile){.path = "few.loop.wav", .fill = FILL_HUM, .n_frames = 3U});
  for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); ++i) {
    char line[256];
    (void)snprintf(line, sizeof(line), "rehearse -o no.wav %s", bad[i].line);
    ok = is_refused(line, bad[i].status, bad[i].word) && ok;
  }
  assert_true(ok);
}

// What was read is a take, also if its name was not given and it is ours.
static void
test_over_what_was_read(void** state) {
  (void)state;
  static const char* const lines[] = {
    "-o three/zap.loop.wav three/zap.loop.wav",
    "-o three/zap.runin.wav three/zap.loop.wav",
    "-o three/zap.ringout.wav three/zap.loop.wav",
    "-o three/zap.runin.wav three",
    "--force -o three/zap.ringout.wav three/zap.runin.wav",
  };
  bool ok = true;
  for (size_t i = 0; i < sizeof(lines) / sizeof(lines[0]); ++i) {
    char line[256];
    (void)snprintf(line,
                   sizeof(line),
                   "rehearse --hold 1s --board three.board.ini %s",
                   lines[i]);
    ok = is_refused(line, 1, "replace a take") && ok;
  }
  assert_true(ok);
}

/* Several fire rates in one file */

static void
test_ladder(void** state) {
  (void)state;
  Run     done = run("loop --json --fire-rate 6,8,540rpm --burst-seconds 2 -o "
                     "ladder.wav zap.wav");
  json_t* root = json_loads(done.out ? done.out : "", 0, NULL);
  json_t* ladder = json_object_get(root, "ladder");
  assert_true(run_check(done.status == 0 && json_array_size(ladder) == 3U,
                        &done,
                        "loop --burst-seconds"));
  const double rates[] = {6.0, 8.0, 9.0};
  for (size_t i = 0; i < 3U; ++i) {
    const json_t* const step = json_array_get(ladder, i);
    const double        rate =
      json_number_value(json_object_get(step, "fire_rate_per_s"));
    // Whole frames may cost 0.1 % of the fire rate: `plan.c` allows it.
    assert_true(rate / rates[i] < 1.001 && rate / rates[i] > 0.999);
    assert_true(json_number_value(json_object_get(step, "from_s")) ==
                2.0 * (double)i);
  }
  json_decref(root);
  run_clear(&done);
  // Each is heard for two seconds: so many crests lie in them.
  VwSound             sound = {0};
  const VwReadOptions reading = vw_read_defaults();
  assert_int_equal(vw_read("ladder.wav", &reading, &sound, NULL), VW_OK);
  for (size_t i = 0; i < 3U; ++i) {
    VwSound step = sound;
    step.values += i * 2U * sound.rate_hz;
    step.n_frames = 2U * sound.rate_hz;
    assert_int_equal(measure_shots(&step), (size_t)(2.0 * rates[i]));
  }
  vw_sound_clear(&sound);
}

static void
test_ladder_refused(void** state) {
  (void)state;
  bool ok = is_refused("loop --fire-rate 6,8 -o no.wav zap.wav", 2, "comma");
  ok = is_refused("loop --fire-rate 6,8,10 -o no.wav zap.wav", 2, "write 6;") &&
       ok;
  ok = is_refused("loop --burst-seconds 2 -o no.wav zap.wav", 2, "fire rate") &&
       ok;
  ok = is_refused("loop --fire-rate 6,x --burst-seconds 2 -o no.wav zap.wav",
                  2,
                  "number") &&
       ok;
  ok = is_refused("loop --fire-rate 6, --burst-seconds 2 -o no.wav zap.wav",
                  2,
                  "number") &&
       ok;
  ok = is_refused("loop --fire-rate 6,8 --burst-seconds 2 -o no.wav zap.wav "
                  "zap.wav",
                  2,
                  "one take") &&
       ok;
  ok = is_refused("loop --fire-rate 6 --burst-seconds 0s -o no.wav zap.wav",
                  2,
                  "range") &&
       ok;
  assert_true(ok);
}

/* Pages */

// A board that plays by number, and one that allows short names alone: a page
// has no files to name, and shows both takes.
static void
test_page_without_names(void** state) {
  (void)state;
  board_write("number",
              "s/^digits.*/digits = 2/; s/^sound = .*/sound = no/; "
              "s/^parts.*/parts = no/; s/^slots.*/slots = 9/");
  board_write("brief", "s/^length.*/length = 20/");
  wav_file_write(&(WavFile){.path = "a-very-long-name.wav", .seconds = 0.8});
  bool ok = true;
#define TAKES "zap.wav a-very-long-name.wav"
  ok &= succeeds("tryout -o number.html --board number.board.ini " TAKES);
  ok &= succeeds("tryout -f -o number.html --slot 3 --board number.board.ini "
                 "zap.wav");
  ok &= succeeds("tryout -o brief.html --board brief.board.ini " TAKES);
  assert_true(ok);
}

int
main(int argc, char** argv) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_rehearsed),
    cmocka_unit_test(test_formats),
    cmocka_unit_test(test_pipe),
    cmocka_unit_test(test_cautions),
    cmocka_unit_test(test_cautions_once),
    cmocka_unit_test(test_told),
    cmocka_unit_test(test_said),
    cmocka_unit_test(test_numbers),
    cmocka_unit_test(test_listed),
    cmocka_unit_test(test_refused),
    cmocka_unit_test(test_over_what_was_read),
    cmocka_unit_test(test_ladder),
    cmocka_unit_test(test_ladder_refused),
    cmocka_unit_test(test_page_without_names),
  };
  run_set_up(argc, argv);
  const int n_failed = cmocka_run_group_tests(tests, set_up, NULL);
  run_tear_down();
  return n_failed;
}
