// Sound lists: what is read from one, what is said of a bad one, what is
// written of a guess, and that slots stay where they are.

#include "board/board.h"
#include "cli/prop/prop.h"
#include "pack/pack.h"
#include "support/check.h"
#include "support/recordings.h"
#include "support/run.h"
#include "support/wav_files.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

#define TEST(function)                                                         \
  cmocka_unit_test_setup_teardown(function, run_enter_folder, run_leave_folder)

static void
put(const char* path, const char* text) {
  bytes_write(path, text, strlen(text));
}

/// Write files that can be taken for takes where nothing reads them.
static void
put_takes(void) {
  put("zap.wav", "x");
  put("hum.wav", "x");
}

static size_t
count_lines(const char* text) {
  size_t n = 0;
  for (; *text; ++text) {
    n += *text == '\n' ? 1U : 0U;
  }
  return n;
}

/// Read a prop from a text; NaN-free comparisons are left to the callers.
static bool
read_prop(const char* text, Prop* prop, char** said) {
  put("sounds.ini", text);
  const int  before = run_catch();
  const bool good = prop_read("sounds.ini", prop);
  *said = run_caught(before);
  assert_non_null(*said);
  return good;
}

/* Reading */

#define GOOD                                                                   \
  "# a prop\n"                                                                 \
  "[prop]\n"                                                                   \
  "name = Lamp keeper's knapper\n"                                             \
  "boards = wav-22k-mono, other\n"                                             \
  "loudness = -16\n"                                                           \
  "loudness-found = -17.25\n"                                                  \
  "valley = 12dB\n"                                                            \
  "\n"                                                                         \
  "[sound zap]\n"                                                              \
  "take = zap.wav\n"                                                           \
  "make = shot\n"                                                              \
  "slot = 2\n"                                                                 \
  "\n"                                                                         \
  "[sound zap rapid]\n"                                                        \
  "take = zap.wav\n"                                                           \
  "take = hum.wav\n"                                                           \
  "make = loop\n"                                                              \
  "fire-rate = 540/min\n"                                                      \
  "group = fire\n"                                                             \
  "\n"                                                                         \
  "[sound zap rapid on other]\n"                                               \
  "fire-rate = 8/s\n"                                                          \
  "slot = 7\n"                                                                 \
  "level = -3LU\n"                                                             \
  "\n"                                                                         \
  "[sound three]\n"                                                            \
  "take = zap.wav\n"                                                           \
  "make = burst 3\n"                                                           \
  "gain = 2dB\n"                                                               \
  "\n"                                                                         \
  "[sound hum]\n"                                                              \
  "take = hum.wav\n"                                                           \
  "make = whole\n"                                                             \
  "level = -6\n"

static void
check_wishes(const Prop* prop) {
  VwSoundWish* const wishes = prop_wishes(prop, "wav-22k-mono", NULL);
  assert_non_null(wishes);
  assert_string_equal(wishes[0].name, "zap");
  assert_int_equal(wishes[0].make, VW_MAKE_SHOT);
  assert_int_equal(wishes[0].slot, 2);
  assert_null(wishes[0].group);
  assert_string_equal(wishes[0].takes[0], "zap.wav");
  // Asked for all, a loudness is that of the pack.
  assert_int_equal(wishes[0].options.level.aim, VW_AIM_LOUDEST);
  assert_true(wishes[0].options.valley_db == 12.0);
  assert_int_equal(wishes[1].n_takes, 2);
  assert_string_equal(wishes[1].takes[1], "hum.wav");
  assert_true(wishes[1].options.fire_rate_per_s == 9.0);
  assert_int_equal(wishes[1].slot, 0);
  assert_string_equal(wishes[1].group, "fire");
  assert_true(wishes[1].offset_lu == 0.0);
  assert_int_equal(wishes[2].make, VW_MAKE_BURST);
  assert_int_equal(wishes[2].options.burst_shots, 3);
  assert_int_equal(wishes[2].options.level.aim, VW_AIM_GAIN);
  assert_int_equal(wishes[3].make, VW_MAKE_WHOLE);
  assert_true(wishes[3].offset_lu == -6.0);
  free(wishes);
}

static void
check_wishes_on_other(const Prop* prop) {
  VwSoundWish* const wishes = prop_wishes(prop, "other", NULL);
  assert_non_null(wishes);
  assert_true(wishes[1].options.fire_rate_per_s == 8.0);
  assert_int_equal(wishes[1].slot, 7);
  assert_true(wishes[1].offset_lu == -3.0);
  assert_int_equal(wishes[1].make, VW_MAKE_LOOP);
  assert_int_equal(wishes[0].slot, 2);
  free(wishes);
}

static void
test_read(void** state) {
  (void)state;
  Prop  prop = {0};
  char* said = NULL;
  put_takes();
  assert_true(read_prop(GOOD, &prop, &said));
  assert_string_equal(said, "");
  assert_string_equal(prop.name, "Lamp keeper's knapper");
  assert_int_equal(prop.n_boards, 2);
  assert_string_equal(prop.boards[1], "other");
  assert_true(prop.loudness_found_lufs == -17.25);
  assert_int_equal(prop.n_sounds, 4);
  check_wishes(&prop);
  check_wishes_on_other(&prop);
  const Settings all = prop_settings(&prop, NULL, NULL, NULL);
  assert_int_equal(all.family.level.aim, VW_AIM_LOUDNESS);
  assert_true(all.family.level.loudness_lufs == -16.0);
  prop_clear(&prop);
  prop_clear(&prop);
  prop_clear(NULL);
  free(said);
}

/// Takes are seen from the sound list, wherever that lies.
static void
test_read_elsewhere(void** state) {
  (void)state;
  Prop prop = {0};
  assert_int_equal(mkdir("in", 0777), 0);
  put("in/zap.wav", "x");
  put("in/sounds.ini", "[sound zap]\ntake = zap.wav\nmake = shot\n");
  assert_true(prop_read("in/sounds.ini", &prop));
  assert_string_equal(prop.sounds[0].takes[0], "in/zap.wav");
  prop_clear(&prop);
}

/* Faults */

static const struct {
  const char* text;
  const char* line; ///< What has to be said first.
  const char* word; ///< And in the same line.
  size_t      n_lines;
} faults[] = {
#define SOUND "[sound zap]\ntake = zap.wav\nmake = loop\n"
  {"[sound zap]\ntake = zap.wav\nmake = loop\nfire-rte = 9\n",
   "sounds.ini:4: fire-rte:",
   "did you mean fire-rate?",
   1},
  {"[sound zap]\ntaek = zap.wav\ntake = zap.wav\nmake = loop\n",
   "sounds.ini:2: taek:",
   "did you mean take?",
   1},
  {SOUND "fire-rate = 9 bananas\n",
   "sounds.ini:4: fire-rate = 9 bananas:",
   "no unit",
   1},
  {SOUND "fire-rate = 900\n", "sounds.ini:4: ", "900/min", 1},
  {SOUND "level = loud\n", "sounds.ini:4: level = loud:", "not a number", 1},
  {SOUND "slot = 0\n", "sounds.ini:4: slot = 0:", "out of range", 1},
  {SOUND "slot = 1.5\n", "sounds.ini:4: slot = 1.5:", "whole number", 1},
  {SOUND "slot = 100000\n", "sounds.ini:4: ", "out of range", 1},
  {SOUND "form = pieces\nform = pieces\n", "sounds.ini:5: form:", "twice", 1},
  {SOUND "gain = 3\nloudness = -16\n", "sounds.ini:4: gain:", "loudness", 1},
  {SOUND "shots = 40\nfire-rate = 9/s\n",
   "sounds.ini:1: ",
   "the cycle 2 s at most",
   1},
  {SOUND "burst = 3\n", "sounds.ini:4: burst:", "make = burst 3", 1},
  {SOUND "include = other.ini\n", "sounds.ini:4: include:", "no includes", 1},
  {SOUND "output = there\n", "sounds.ini:4: output:", "command line", 1},
  {SOUND "colour = red\n", "sounds.ini:4: colour:", "volleyweave-sounds", 1},
  {SOUND "boards = one\n", "sounds.ini:4: boards:", "[prop]", 1},
  {SOUND "name = one\n", "sounds.ini:4: name:", "[prop]", 1},
  {"[prop]\ntake = zap.wav\n" SOUND, "sounds.ini:2: take:", "[sound NAME]", 1},
  {"[prop]\nboards = a, b, a\n" SOUND, "sounds.ini:2: boards:", "twice", 1},
  {"[prop]\nboards =\n" SOUND, "sounds.ini:2: boards:", "no board", 1},
  {"[prop]\n[prop]\n" SOUND, "sounds.ini:2: prop:", "twice", 1},
  {"[prop]\nloudness-found = loud\n" SOUND,
   "sounds.ini:2: ",
   "not a number",
   1},
  {"[prop]\nloudness-found = -17 of 12 sounds\n" SOUND,
   "sounds.ini:2: loudness-found: ",
   "eight digits",
   1},
  {SOUND "[zap]\nmake = shot\n", "sounds.ini:4: [zap]:", "[sound NAME]", 1},
  {SOUND "[sound]\nmake = shot\n", "sounds.ini:4: [sound]:", "no name", 1},
  {SOUND "[sound zip on b]\nslot = 1\n", "sounds.ini:4: ", "no [sound zip]", 1},
  {"[prop]\nboards = a\n" SOUND "[sound zap on b]\nslot = 1\n",
   "sounds.ini:6: ",
   "no board of this prop",
   1},
  {SOUND "[sound zap on b]\nslot = 1\n[sound zap on b]\nslot = 2\n",
   "sounds.ini:6: ",
   "twice",
   1},
  {"[prop]\nrun-in-take = hum.wav\n",
   "sounds.ini:2: run-in-take:",
   "put it under [sound NAME]",
   1},
  {"[sound zap]\ntake = zap.wav\nmake = shot\nrun-in-take = hum.wav\n",
   "sounds.ini:4: run-in-take:",
   "write make = loop",
   1},
  {SOUND "[sound zap on b]\nmake = whole\nring-out-take = hum.wav\n",
   "sounds.ini:6: ring-out-take:",
   "write make = loop",
   1},
  {SOUND "take = hum.wav\nrun-in-take = hum.wav\n",
   "sounds.ini:5: run-in-take:",
   "give one take",
   1},
  {SOUND "run-in-take =\n", "sounds.ini:4: run-in-take =", "empty", 1},
  {SOUND "[sound zap on b]\ntake = hum.wav\n",
   "sounds.ini:5: take:",
   "[sound NAME]",
   1},
  {SOUND SOUND, "sounds.ini:4: sound zap:", "twice", 1},
  {SOUND "[sound  zap]\ntake = zap.wav\nmake = shot\n",
   "sounds.ini:4: [sound zap]:",
   "line 1",
   1},
  {SOUND "[sound ZAP]\ntake = zap.wav\nmake = shot\n",
   "sounds.ini:4: [sound ZAP]:",
   "capital letters",
   1},
  {SOUND "slot = 3\n[sound zip]\ntake = zap.wav\nmake = shot\nslot = 3\n",
   "sounds.ini:8: slot 3:",
   "line 4",
   1},
  {"[sound zap]\nmake = shot\n", "sounds.ini:1: [sound zap]:", "no take", 1},
  {"[sound zap]\n", "sounds.ini:1: [sound zap]:", "no take", 2},
  {"[sound zap]\ntake =\nmake = shot\n", "sounds.ini:2: take:", "no value", 2},
  {"[sound zap]\ntake = zap.wav\n", "sounds.ini:1: ", "what to make", 1},
  {"[sound zap]\ntake = zap.wav\nmake = noise\n",
   "sounds.ini:3: make:",
   "give shot",
   1},
  {"[sound zap]\ntake = zap.wav\nmake = burst\n",
   "sounds.ini:3: make = burst:",
   "not a number",
   1},
  {"[sound zap]\ntake = zap.wav\ntake = hum.wav\nmake = shot\n",
   "sounds.ini:3: ",
   "one take",
   1},
  {SOUND "take = hum.wav\nshots = 3\n", "sounds.ini:1: ", "shared by 2", 1},
  {"take = zap.wav\n" SOUND,
   "sounds.ini:1: take:",
   "above the first section",
   1},
  {SOUND "overrun-max = 1s\n", "sounds.ini:4: overrun-max:", "[prop]", 1},
  {SOUND "rubbish\n", "sounds.ini:4: ", "key = value", 1},
  {"[prop]\nname = nothing\n", "sounds.ini: ", "no sound", 1},
  {"", "sounds.ini: ", "no sound", 1},
  {SOUND "fire-rate = 9q\nvalley = 99\nlevel = x\n",
   "sounds.ini:4: ",
   "no unit",
   3},
};

static void
test_faults(void** state) {
  (void)state;
  size_t n_bad = 0;
  put_takes();
  for (size_t i = 0; i < COUNT(faults); ++i) {
    Prop              prop = {0};
    char*             said = NULL;
    const bool        good = read_prop(faults[i].text, &prop, &said);
    const char* const end = strchr(said, '\n');
    const char* const word = strstr(said, faults[i].word);
    if (good || strncmp(said, "volleyweave: ", 13) != 0 ||
        strncmp(said + 13, faults[i].line, strlen(faults[i].line)) != 0 ||
        !word || word > end || count_lines(said) != faults[i].n_lines) {
      ++n_bad;
      print_error("of \"%s\" is said:\n%s", faults[i].text, said);
    }
    assert_null(prop.sounds);
    free(said);
  }
  assert_int_equal(n_bad, 0);
}

/// A take that is missing is named with its line, and the rest still counts.
static void
test_missing_take(void** state) {
  (void)state;
  Prop  prop = {0};
  char* said = NULL;
  put_takes();
  assert_true(read_prop(
    SOUND "[sound zip]\ntake = gone.wav\nmake = shot\n"
          "[sound zop]\ntake = hum.wav\nmake = loop\nrun-in-take = away.wav\n",
    &prop,
    &said));
  assert_non_null(strstr(said, "sounds.ini:5: gone.wav: no such take"));
  assert_non_null(strstr(said, "sounds.ini:10: away.wav: no such take"));
  assert_false(prop.sounds[0].missing);
  assert_true(prop.sounds[1].missing);
  assert_true(prop.sounds[2].missing);
  prop_clear(&prop);
  free(said);
}

static void
test_no_text(void** state) {
  (void)state;
  Prop        prop = {0};
  const int   before = run_catch();
  char* const big = malloc(1100000U);
  assert_non_null(big);
  memset(big, '#', 1100000U);
  bytes_write("big.ini", big, 1100000U);
  free(big);
  bytes_write("nul.ini", "[prop]\0\n", 8U);
  bytes_write("latin.ini", "[prop]\nname = \xe9\n", 16U);
  assert_false(prop_read("big.ini", &prop));
  assert_false(prop_read("nul.ini", &prop));
  assert_false(prop_read("latin.ini", &prop));
  assert_false(prop_read("gone.ini", &prop));
  assert_false(prop_read(".", &prop));
  char* const said = run_caught(before);
  assert_int_equal(count_lines(said), 5);
  assert_non_null(strstr(said, "big.ini: it is longer than 1 MB"));
  assert_non_null(strstr(said, "nul.ini: it holds bytes of 0"));
  assert_non_null(strstr(said, "latin.ini:2: it is not UTF-8"));
  free(said);
}

/// Rubbish says no more than helps.
static void
test_many_faults(void** state) {
  (void)state;
  Prop  prop = {0};
  char* said = NULL;
  char  text[4096] = "[prop]\n";
  for (size_t i = 0; i < 300U; ++i) {
    strcat(text, "what = x\n");
  }
  assert_false(read_prop(text, &prop, &said));
  assert_int_equal(count_lines(said), 21);
  assert_non_null(strstr(said, "sounds.ini: more faults"));
  free(said);
}

/* Slots */

#define PLAYS_BY_SLOT                                                          \
  { .name = "b", .slots_max = 3, .naming.digits = 2 }

static void
test_slots(void** state) {
  (void)state;
  const VwBoard        board = PLAYS_BY_SLOT;
  const VwBoard* const boards[] = {&board};
  Prop                 prop = {0};
  char*                said = NULL;
  put_takes();
  assert_true(read_prop("[sound a]\ntake = zap.wav\nmake = shot\n# one\n"
                        "[sound c]\ntake = zap.wav\nmake = shot\nslot = 1\n",
                        &prop,
                        &said));
  assert_true(prop_slots_give(&prop, boards, 1U));
  assert_true(prop_slots_are_given(&prop));
  assert_int_equal(prop.sounds[0].keys.slot, 2);
  assert_int_equal(prop.sounds[1].keys.slot, 1);
  prop_clear(&prop);
  free(said);
  // A sound in the middle moves none of the others.
  assert_true(read_prop("[sound a]\ntake = zap.wav\nmake = shot\nslot = 2\n"
                        "[sound b]\ntake = zap.wav\nmake = shot\n"
                        "[sound c]\ntake = zap.wav\nmake = shot\nslot = 1\n",
                        &prop,
                        &said));
  assert_true(prop_slots_give(&prop, boards, 1U));
  assert_int_equal(prop.sounds[0].keys.slot, 2);
  assert_int_equal(prop.sounds[1].keys.slot, 3);
  assert_int_equal(prop.sounds[2].keys.slot, 1);
  prop_clear(&prop);
  free(said);
}

/// Where none is left, that is said; where none is needed, none is given.
static void
test_slots_left(void** state) {
  (void)state;
  const VwBoard        few = {.name = "b", .slots_max = 1};
  const VwBoard        none = {.name = "c"};
  const VwBoard* const boards[] = {&few, &none};
  const char* const    text = "[sound a]\ntake = zap.wav\nmake = shot\n"
                              "[sound b]\ntake = zap.wav\nmake = shot\n";
  Prop                 prop = {0};
  char*                said = NULL;
  put_takes();
  assert_true(read_prop(text, &prop, &said));
  assert_true(prop_slots_give(&prop, boards + 1, 1U));
  assert_int_equal(prop.sounds[0].keys.slot, 0);
  assert_false(prop_slots_are_given(&prop));
  free(said);
  const int before = run_catch();
  assert_false(prop_slots_give(&prop, boards, 2U));
  said = run_caught(before);
  assert_non_null(strstr(said, "b: no slot is left for it"));
  prop_clear(&prop);
  free(said);
}

static void
test_slots_checked(void** state) {
  (void)state;
  Prop   prop = {0};
  char*  said = NULL;
  Faults bad = {.path = "sounds.ini"};
  put_takes();
  assert_true(read_prop(SOUND "slot = 4\n[sound b]\ntake = zap.wav\n"
                              "make = shot\nslot = 5\n"
                              "[sound b on q]\nslot = 4\n",
                        &prop,
                        &said));
  free(said);
  const int before = run_catch();
  prop_slots_check(&prop, "q", 3U, &bad);
  said = run_caught(before);
  assert_int_equal(bad.n, 3);
  assert_non_null(strstr(said, "sounds.ini:4: slot 4: q has slots 1 to 3"));
  assert_non_null(
    strstr(said, "sounds.ini:10: slot 4 on q: [sound zap] has it"));
  prop_clear(&prop);
  free(said);
}

/* Size */

/// Ten thousand sounds: read, and given slots. Searching all of them
/// for each would take a hundred million steps; the time is only printed.
static void
test_many_sounds(void** state) {
  (void)state;
  const VwBoard        board = {.name = "b", .naming.digits = 5};
  const VwBoard* const boards[] = {&board};
  Prop                 prop = {0};
  FILE* const          file = fopen("sounds.ini", "w");
  put_takes();
  assert_non_null(file);
  for (unsigned i = 0; i < 10000U; ++i) {
    fprintf(file, "[sound s%u]\ntake = zap.wav\nmake = loop\n\n", i);
    fprintf(file, "[sound s%u on b]\nvalley = 12\n\n", i);
  }
  assert_int_equal(fclose(file), 0);
  const clock_t start = clock();
  assert_true(prop_read("sounds.ini", &prop));
  const clock_t read = clock();
  assert_true(prop_slots_give(&prop, boards, 1U));
  printf("10000 sounds: read in %.3f s, numbered in %.3f s\n",
         (double)(read - start) / CLOCKS_PER_SEC,
         (double)(clock() - read) / CLOCKS_PER_SEC);
  assert_int_equal(prop.n_sounds, 10000);
  assert_int_equal(prop.sounds[9999].n_ons, 1);
  for (unsigned i = 0; i < 10000U; ++i) {
    assert_int_equal(prop.sounds[i].keys.slot, i + 1U);
  }
  prop_clear(&prop);
}

/* Guess */

/// Make a guess, and read it as it is written, in the folder or elsewhere.
static void
guess(const char* folder, const char* path, size_t n_failed, Prop* prop) {
  Prop      guessed = {0};
  size_t    n = 0;
  Settings  settings = {.family = vw_family_defaults(),
                        .reading = vw_read_defaults()};
  const int before = run_catch();
  assert_true(prop_guess(folder, &settings, &guessed, &n));
  assert_true(prop_write(&guessed, path));
  assert_true(prop_read(path, prop));
  char* const said = run_caught(before);
  assert_int_equal(n, n_failed);
  assert_int_equal(count_lines(said), n_failed);
  assert_int_equal(guessed.n_sounds, prop->n_sounds);
  prop_clear(&guessed);
  free(said);
}

/// What is there stays as it is.
static void
test_write_again(void** state) {
  (void)state;
  Prop prop = {.name = NULL};
  put("sounds.ini", "mine");
  const int before = run_catch();
  assert_false(prop_write(&prop, "sounds.ini"));
  free(run_caught(before));
  assert_true(has_bytes("sounds.ini", "mine", 4U));
}

static void
test_guess(void** state) {
  (void)state;
  Prop          prop = {0};
  const WavFile takes[] = {
    {.path = "in/b zap;1.wav", .fill = FILL_SHOT, .seconds = 1.0},
    {.path = "in/c.wav", .fill = FILL_TWICE, .seconds = 2.0},
    {.path = "in/C.WAV", .fill = FILL_HUM, .seconds = 2.0},
    {.path = "in/doors/a.wav", .fill = FILL_HUM, .seconds = 2.0},
    {.path = "in/.hidden.wav", .fill = FILL_SHOT, .seconds = 1.0},
    {.path = "in/doors/r.wav", .fill = FILL_RAPID, .seconds = 2.0},
    {.path = "in/z.wav", .fill = FILL_SILENCE, .seconds = 1.0},
  };
  assert_int_equal(mkdir("in", 0777), 0);
  assert_int_equal(mkdir("in/doors", 0777), 0);
  for (size_t i = 0; i < COUNT(takes); ++i) {
    wav_file_write(&takes[i]);
  }
  put("in/notes.txt", "not a sound");
  put("in/bad.wav", "not a sound");
  guess("in", "in/sounds.ini", 2U, &prop);
  assert_int_equal(prop.n_sounds, 8);
  assert_string_equal(prop.sounds[0].name, "C");
  assert_int_equal(prop.sounds[0].keys.make, VW_MAKE_LOOP);
  assert_int_equal(prop.sounds[0].keys.n_options, 0);
  assert_true(prop.sounds[0].keys.level_lu == -6.0);
  assert_string_equal(prop.sounds[1].name, "b zap_1");
  assert_string_equal(prop.sounds[1].takes[0], "in/b zap;1.wav");
  assert_int_equal(prop.sounds[1].keys.make, VW_MAKE_SHOT);
  assert_string_equal(prop.sounds[2].name, "b zap_1-rapid");
  assert_int_equal(prop.sounds[2].keys.make, VW_MAKE_LOOP);
  // Names that differ only in capital letters are one on many cards.
  assert_string_equal(prop.sounds[3].name, "c-2");
  assert_string_equal(prop.sounds[4].name, "c-rapid");
  assert_string_equal(prop.sounds[5].name, "a");
  assert_string_equal(prop.sounds[5].keys.group, "doors");
  // Rapid fire is fired again at its own rate: every 80 ms.
  assert_int_equal(prop.sounds[6].keys.make, VW_MAKE_SHOT);
  assert_int_equal(prop.sounds[7].keys.make, VW_MAKE_LOOP);
  assert_int_equal(prop.sounds[7].keys.n_options, 1);
  assert_string_equal(prop.sounds[7].keys.options[0].option->name, "fire-rate");
  assert_true(fabs(strtod(prop.sounds[7].keys.options[0].value, NULL) - 12.5) <
              0.05);
  size_t      n_bytes = 0;
  char* const text = read_file("in/sounds.ini", &n_bytes);
  assert_non_null(strstr(text, "# several shots, 2 of them: the first loud"));
  assert_non_null(strstr(text, "# rapid fire of 24 shots"));
  assert_null(strstr(text, "[sound C-rapid]"));
  free(text);
  prop_clear(&prop);
}

/// Put the lines of a remark into one; none may have been over 79 columns.
static void
join_remarks(char* text) {
  for (const char* at = text; *at; at += strcspn(at, "\n"), at += *at != 0) {
    assert_true(strcspn(at, "\n") <= 79U);
  }
  for (char* at = text; (at = strstr(at, "\n# ")); ++at) {
    if (at > text && at[-1] != '\n') {
      *at = ' ';
      memmove(at + 1, at + 3, strlen(at + 3) + 1U);
    }
  }
}

/// What sounds on is looped if it can be; if not, it is played as it is, and
/// the remark says why.
static void
test_guess_what_sounds_on(void** state) {
  (void)state;
  static const struct {
    WavFile     take;
    VwMake      make;
    const char* remark;
    const char* as; ///< NULL: as it is found.
  } cases[] = {
    {{.path = "in/a.wav", .fill = FILL_HUM, .seconds = 2.0},
     VW_MAKE_LOOP,
     "# sustained: looped; softer than the shots\n[sound a]"},
    {{.path = "in/b.wav", .fill = FILL_NOISE, .seconds = 4.0},
     VW_MAKE_LOOP,
     "# sustained: looped; softer than the shots\n[sound b]"},
    {{.path = "in/c.wav", .fill = FILL_NOISE, .seconds = 0.8},
     VW_MAKE_WHOLE,
     "since it is too short for a loop; softer than the shots\n[sound c]"},
    {{.path = "in/d.wav", .fill = FILL_GLIDE, .seconds = 3.0},
     VW_MAKE_WHOLE,
     "# sustained: played as it is, since its pitch glides; softer than the "
     "shots\n[sound d]"},
    {{.path = "in/e.wav", .fill = FILL_HORN, .seconds = 2.0},
     VW_MAKE_WHOLE,
     "# sustained: played as it is, since it ends by itself; softer than the "
     "shots\n[sound e]"},
    {{.path = "in/f.wav", .fill = FILL_HUM, .seconds = 0.32},
     VW_MAKE_LOOP,
     "# shot or sustained: looped; in doubt nothing is fired: `make = loop` "
     "with `as = shot` fires it; softer than the shots\n[sound f]",
     "sustained"},
    {{.path = "in/g.wav", .fill = FILL_HUM, .seconds = 0.37},
     VW_MAKE_LOOP,
     "# sustained or shot: looped; in doubt nothing is fired: `make = loop` "
     "with `as = shot` fires it; softer than the shots\n[sound g]"},
    {{.path = "in/h.wav", .fill = FILL_LOW, .seconds = 1.25},
     VW_MAKE_WHOLE,
     "# shot or sustained: played as it is, since its level changes; in doubt "
     "nothing is fired: `make = loop` with `as = shot` fires it; softer than "
     "the shots\n[sound h]"},
  };
  Prop prop = {0};
  assert_int_equal(mkdir("in", 0777), 0);
  for (size_t i = 0; i < COUNT(cases); ++i) {
    wav_file_write(&cases[i].take);
  }
  guess("in", "in/sounds.ini", 0U, &prop);
  size_t      n_bytes = 0;
  char* const text = read_file("in/sounds.ini", &n_bytes);
  join_remarks(text);
  assert_int_equal(prop.n_sounds, COUNT(cases));
  for (size_t i = 0; i < COUNT(cases); ++i) {
    const PropKeys* const keys = &prop.sounds[i].keys;
    assert_int_equal(keys->make, cases[i].make);
    assert_true(keys->level_lu == -6.0);
    assert_int_equal(keys->n_options, cases[i].as ? 1 : 0);
    if (cases[i].as) {
      assert_string_equal(keys->options[0].option->name, "as");
      assert_string_equal(keys->options[0].value, cases[i].as);
    }
    assert_non_null(strstr(text, cases[i].remark));
  }
  free(text);
  prop_clear(&prop);
}

/// Real recordings: every one becomes a sound at least, and a text that reads
/// without a fault.
static void
test_guess_recordings(void** state) {
  (void)state;
  Prop     prop = {0};
  unsigned n_whole = 0;
  unsigned n_shots = 0;
  unsigned n_loops = 0;
  guess("/usr/share/games/bzflag", "sounds.ini", 0, &prop);
  for (size_t i = 0; i < prop.n_sounds; ++i) {
    n_whole += prop.sounds[i].keys.make == VW_MAKE_WHOLE ? 1U : 0U;
    n_shots += prop.sounds[i].keys.make == VW_MAKE_SHOT ? 1U : 0U;
    n_loops += prop.sounds[i].keys.make == VW_MAKE_LOOP ? 1U : 0U;
  }
  // A loop beside each shot, and of some of what sounds on.
  assert_int_equal(n_whole + n_loops, RECORDINGS);
  assert_true(n_shots > n_whole && n_loops > n_shots);
  prop_clear(&prop);
}

/* The section of what was made */

/// Whether a line prints this alone on standard output, whatever it says
/// beside.
static bool
prints(const char* line, const char* out) {
  Run        got = run(line);
  const bool good = got.status == 0 && !strcmp(got.out, out);
  run_check(good, &got, line);
  run_clear(&got);
  return good;
}

static void
test_section(void** state) {
  (void)state;
  const WavFile take = {.path = "in/zap;.wav", .fill = FILL_SHOT, .seconds = 1};
  assert_int_equal(mkdir("in", 0777), 0);
  wav_file_write(&take);
  assert_true(prints("loop -n --fire-rate 540/min --valley=12 -f --loudness "
                     "-16 --print-section in/zap;.wav",
                     "[sound zap_-rapid]\ntake = in/zap;.wav\nmake = loop\n"
                     "fire-rate = 540/min\nvalley = 12\nloudness = -16\n"));
  assert_true(prints("shot -q --print-section in/zap;.wav",
                     "[sound zap_]\ntake = in/zap;.wav\nmake = shot\n"));
  assert_true(prints("loop -n --burst 4 --print-section in/zap;.wav",
                     "[sound zap_-burst]\ntake = in/zap;.wav\n"
                     "make = burst 4\n"));
  assert_true(prints("convert -n --print-section in/zap;.wav",
                     "[sound zap_]\ntake = in/zap;.wav\nmake = whole\n"));
}

/// A sound is called as its files are; of several takes each is another one,
/// unless they take turns.
static void
test_section_named(void** state) {
  (void)state;
  const WavFile one = {.path = "a.wav", .fill = FILL_SHOT, .seconds = 1};
  const WavFile two = {.path = "b.wav", .fill = FILL_SHOT, .seconds = 1};
  wav_file_write(&one);
  wav_file_write(&two);
  assert_true(prints("shot -n --name zap --print-section a.wav b.wav",
                     "[sound zap]\ntake = a.wav\nmake = shot\n\n"
                     "[sound zap-2]\ntake = b.wav\nmake = shot\n"));
  assert_true(prints("loop -n --take-turns --print-section a.wav b.wav",
                     "[sound a-rapid]\ntake = a.wav\ntake = b.wav\n"
                     "make = loop\n"));
}

/// A slot belongs to the sound; what holds for all is told for where it
/// belongs. Pasted, it is read.
static void
test_section_board(void** state) {
  (void)state;
  const WavFile take = {.path = "zap.wav", .fill = FILL_SHOT, .seconds = 1};
  const char*   text = "# Under [prop]: boards = wav-22k-mono\n"
                       "# Under [prop]: run-in-max = 1s\n"
                       "[sound zaps]\ntake = zap.wav\nmake = loop\n"
                       "fire-rate = 9/s\nslot = 3\n";
  Prop          prop = {0};
  wav_file_write(&take);
  assert_true(prints("loop -n --name zaps --slot 3 --board wav-22k-mono "
                     "--fire-rate 9/s --run-in-max 1s --print-section zap.wav",
                     text));
  put("p.ini", text);
  assert_true(prop_read("p.ini", &prop));
  assert_int_equal(prop.n_sounds, 1);
  assert_int_equal(prop.sounds[0].keys.slot, 3);
  prop_clear(&prop);
}

/// Nothing is printed of what could not be made, or beside the sound itself.
static void
test_section_refused(void** state) {
  (void)state;
  put("bad.wav", "no sound");
  Run got = run("shot --print-section bad.wav");
  assert_int_equal(got.status, 1);
  assert_string_equal(got.out, "");
  run_clear(&got);
  got = run("shot --print-section -o - bad.wav");
  assert_int_equal(got.status, 2);
  assert_true(is_one_line_with(got.err, "standard output has the sound"));
  run_clear(&got);
}

int
main(int argc, char** argv) {
  const struct CMUnitTest tests[] = {
    TEST(test_read),
    TEST(test_read_elsewhere),
    TEST(test_faults),
    TEST(test_missing_take),
    TEST(test_no_text),
    TEST(test_many_faults),
    TEST(test_slots),
    TEST(test_slots_left),
    TEST(test_slots_checked),
    TEST(test_many_sounds),
    TEST(test_guess),
    TEST(test_guess_what_sounds_on),
    TEST(test_guess_recordings),
    TEST(test_write_again),
    TEST(test_section),
    TEST(test_section_named),
    TEST(test_section_board),
    TEST(test_section_refused),
  };
  run_set_up(argc, argv);
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  run_tear_down();
  return failed;
}
