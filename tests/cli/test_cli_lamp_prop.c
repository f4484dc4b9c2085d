// The lamps of a whole prop: tables and JSON.

#include "support/check.h"
#include "support/reports.h"
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
#include <unistd.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

#define SOUND(name, make, more)                                                \
  "[sound " name "]\ntake = zap.wav\nmake = " make "\n" more "\n"

static void
put(const char* path, const char* text) {
  bytes_write(path, text, strlen(text));
}

static int
make_props(void** state) {
  (void)state;
  wav_file_write(
    &(WavFile){.path = "zap.wav", .fill = FILL_SHOT, .seconds = 1.0});
  put("sounds.ini",
      SOUND("zap", "shot", "slot = 1")
        SOUND("rapid", "loop", "slot = 2\nfire-rate = 9/s\nvalley = 36")
          SOUND("near rapid", "loop", "slot = 3\nfire-rate = 9.04/s")
            SOUND("slower", "loop", "slot = 4\nfire-rate = 8.8/s")
              SOUND("far", "loop", "slot = 5\nfire-rate = 17.3/s")
                SOUND("three", "burst 3", "slot = 6\nfire-rate = 9.02/s")
                  SOUND("horn", "whole", "slot = 7"));
  put("gone.ini",
      SOUND("rapid", "loop", "fire-rate = 9/s") "[sound gone]\n"
                                                "take = gone.wav\n"
                                                "make = loop\n");
  put("single.ini", SOUND("zap", "shot", "on-time = 40ms"));
  put("horn.ini", SOUND("horn", "whole", ""));
  put("track.ini",
      SOUND("rapid", "loop", "fire-rate = 9/s\nlamp-track = yes\n"));
  put("same.ini",
      SOUND("a b", "loop", "fire-rate = 9/s")
        SOUND("a-b", "loop", "fire-rate = 9/s")
          SOUND("*/ 3", "loop", "fire-rate = 9/s")
            SOUND("H\xC3\xA4mmer, ein sehr langer Name ohne Ende", "shot", ""));
  put("names.ini",
      SOUND("fog-knapper", "loop", "fire-rate = 9/s")
        SOUND("fog-knapper-rapid-fire", "loop", "fire-rate = 8/s"));
  put("lamp.ini",
      "[lamp]\nsupply = 9V\nled = white\nchip = cmos\n" SOUND(
        "rapid", "loop", "fire-rate = 9/s"));
  put("misplaced.ini", "[lamp]\nfire-rate = 9/s\n" SOUND("a", "shot", ""));
  put("amiss.ini", "[prop]\nsupply = 9V\n" SOUND("a", "shot", ""));
  put("bad.ini", "[sound rapid]\ntake = zap.wav\nmake = loops\n");
  return 0;
}

#define ON "lamp -v --board wav-44k-mono "

static void
test_lines(void** state) {
  (void)state;
  static const RunCase cases[] = {
    {ON "sounds.ini", 0, "Lamps for sounds.ini on wav-44k-mono", NULL},
    {ON "sounds.ini", 0, "one flash", NULL},
    {ON "sounds.ini", 0, "no flash", NULL},
    {ON "sounds.ini", 0, "150 ohm, 1/8 W", NULL},
    {ON "sounds.ini", 0, "not packed as it stands", NULL},
    {ON "sounds.ini", 0, "seizures", NULL},
    {ON "sounds.ini", 0, "follow the data sheets", NULL},
    {ON "--clock 12MHz sounds.ini", 0, "    41667      ", NULL},
    {ON "--duty 25% sounds.ini", 0, "  25 %  asked", NULL},
    {ON "--on-time 33 sounds.ini", 0, "     33000 ", NULL},
    {ON "-q sounds.ini", 0, NULL, NULL},
    {ON "gone.ini", 1, "failed", "gone.wav"},
    {ON "single.ini", 0, "     40000 ", NULL},
    {ON "single.ini", 0, "`make = loop` fires", NULL},
    {ON "horn.ini", 0, "no flash", NULL},
    {ON "bad.ini", 1, NULL, "not a thing to make"},
    {ON "none.ini", 1, NULL, "none.ini"},
    {ON "--gap 25ms sounds.ini", 2, NULL, "gaps of their own"},
    {ON "--brightness-steps 8 sounds.ini", 2, NULL, "give the loop of one"},
    {ON "--plot lamp.svg sounds.ini", 2, NULL, "give the loop of one"},
    {ON "--header lamp.h sounds.ini", 2, NULL, "give the loop of one"},
    {ON "sounds.ini", 0, "a diode across RB", NULL},
    {ON "--wiring two-resistors sounds.ini", 0, "5.0 V, two resistors", NULL},
    {ON "--diode-drop 1.9V sounds.ini", 0, "two resistors, without", NULL},
    {ON "--supply 4V --chip bipolar sounds.ini", 2, NULL, "too low"},
    {ON "lamp.ini", 0, "CMOS, at 9.0 V", NULL},
    {ON "lamp.ini", 0, "less 1 x 3.2 V", NULL},
    {ON "--supply 12V lamp.ini", 0, "CMOS, at 12.0 V", NULL},
    {ON "--led red lamp.ini", 0, "less 1 x 2 V", NULL},
    {ON "misplaced.ini", 1, NULL, "under [prop] or [sound"},
    {ON "amiss.ini", 1, NULL, "under [lamp]"},
    {"lamp sounds.ini", 2, NULL, "for which board?"},
    {"lamp my.board.ini", 2, NULL, "a board: name it with --board"},
    {"lamp --board wav-44k-stereo track.ini", 0, "channel 2 switches", NULL},
  };
  bool ok = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    ok &= run_gave(run(cases[i].line), &cases[i]);
  }
  assert_true(ok);
  assert_int_not_equal(access("volleyweave-out", F_OK), 0);
}

// Of takes that are missing it is not said that nothing fires.
static void
test_all_gone(void** state) {
  (void)state;
  put("all-gone.ini", "[sound gone]\ntake = gone.wav\nmake = loop\n");
  Run gone = run(ON "all-gone.ini");
  assert_true(run_check(gone.status == 1 && strstr(gone.out, "failed") &&
                          !strstr(gone.out, "there is none in it"),
                        &gone,
                        "all gone"));
  run_clear(&gone);
}

// What is told of each sound is what is packed of it, before and after.
static bool
check_as_packed(const char* lamps, const char* packed) {
  bool ok = true;
  for (size_t i = 0; i < 7; ++i) {
    json_t* const lamp = parse_line(lamps, i);
    json_t* const sound = parse_line(packed, i);
    const double  rate = number_at(sound, "lamp.pulse_hz");
    ok &= check_equal(
      number_at(lamp, "slot"), number_at(sound, "slot"), "sound %zu: slot", i);
    if (i == 0 || i == 6) {
      ok &= check_that(isnan(rate) && isnan(number_at(lamp, "lamp.pulse_hz")),
                       "sound %zu: no rate",
                       i);
    } else {
      ok &= check_equal(
        number_at(lamp, "lamp.pulse_hz"), rate, "sound %zu: rate", i);
      ok &= check_equal(number_at(lamp, "lamp.on_ms"),
                        number_at(sound, "lamp.on_ms"),
                        "sound %zu: on-time",
                        i);
      // A period of whole frames, as heard from the board.
      const double rated = 44100.0 * number_at(sound, "loop.shots");
      ok &= check_equal(
        as_printed(rated / round(rated / rate)), rate, "sound %zu: frames", i);
      ok &= check_equal(number_at(lamp, "microcontroller.period_us"),
                        round(1e6 / rate),
                        "sound %zu: period",
                        i);
    }
    json_decref(lamp);
    json_decref(sound);
  }
  return ok;
}

static void
test_as_packed(void** state) {
  (void)state;
  Run before = run(ON "--json sounds.ini");
  Run dry = run("pack --json -n --board wav-44k-mono sounds.ini");
  Run packed = run("pack --json --board wav-44k-mono sounds.ini");
  Run after = run(ON "--json sounds.ini");
  assert_true(run_check(before.status == 0, &before, "lamp"));
  assert_true(run_check(dry.status == 0, &dry, "dry run"));
  assert_true(run_check(packed.status == 0, &packed, "pack"));
  assert_true(check_as_packed(before.out, dry.out));
  assert_true(check_as_packed(after.out, packed.out));
  json_t* const unmade = parse_line(before.out, 7);
  assert_true(json_is_false(value_at(unmade, "packed")));
  json_decref(unmade);
  json_t* const all = parse_line(after.out, 7);
  assert_true(json_is_true(value_at(all, "packed")));
  assert_non_null(strstr(json_string_value(value_at(all, "cautions.flash")),
                         "screens are held to 3"));
  json_decref(all);
  run_clear(&before);
  run_clear(&dry);
  run_clear(&packed);
  run_clear(&after);
}

// Bytes of UTF-8 that begin a character.
static size_t
columns_of(const char* line, size_t n) {
  size_t columns = 0;
  for (size_t i = 0; i < n; ++i) {
    columns += ((unsigned char)line[i] & 0xC0U) != 0x80U ? 1U : 0U;
  }
  return columns;
}

static void
test_columns(void** state) {
  (void)state;
  static const char* const lines[] = {ON
                                      "--clock 12MHz --e-series E96 sounds.ini",
                                      ON "--clock 12MHz same.ini",
                                      ON "--diode-drop 1.9V sounds.ini"};
  bool                     ok = true;
  for (size_t i = 0; i < COUNT(lines); ++i) {
    Run made = run(lines[i]);
    ok &= run_check(made.status == 0, &made, lines[i]);
    for (const char* at = made.out; *at; at += *at ? 1 : 0) {
      const size_t n = strcspn(at, "\n");
      ok &= check_at_most((double)columns_of(at, n), 80.0, "%.*s", (int)n, at);
      at += n;
    }
    run_clear(&made);
  }
  assert_true(ok);
}

// Names that begin alike are told apart in all three tables.
static void
test_long_names(void** state) {
  (void)state;
  static const char name[] = "  fog-knapper-rapid-fire\n";
  size_t            n = 0;
  Run               made = run(ON "--clock 12MHz names.ini");
  for (const char* at = made.out; (at = strstr(at, name)); ++at) {
    ++n;
  }
  assert_true(run_check(made.status == 0 && n == 3U, &made, "names.ini"));
  run_clear(&made);
}

// A sound without shots has no lamp, and a single shot one flash: in all
// tables, in the page, and in what is heard of the files.
static void
test_lone(void** state) {
  (void)state;
  static const RunCase cases[] = {
    {ON "lone.ini", 0, "whole     no flash", NULL},
    {ON "lone.ini", 0, "shot     one flash", NULL},
    {"pack --board wav-44k-mono -o lone lone.ini", 0, " no flash", ""},
    {"pack --board wav-44k-mono -o lone lone.ini", 0, " one flash", ""},
    {"rehearse --hold 1s --board wav-44k-mono -f -o r.wav "
     "lone/wav-44k-mono/horn.wav",
     0,
     " 0 flashes",
     NULL},
    {"rehearse --hold 1s --board wav-44k-mono -f -o r.wav "
     "lone/wav-44k-mono/zap.shot.wav",
     0,
     " 1 flash ",
     NULL},
  };
  bool ok = true;
  put("lone.ini", SOUND("horn", "whole", "") SOUND("zap", "shot", ""));
  for (size_t i = 0; i < COUNT(cases); ++i) {
    ok &= run_gave(run(cases[i].line), &cases[i]);
  }
  assert_true(ok);
}

static void
test_several_boards(void** state) {
  (void)state;
  put("both.ini",
      "[prop]\nboards = wav-44k-mono, wav-22k-mono\n" SOUND(
        "rapid", "loop", "fire-rate = 9.3/s"));
  static const RunCase cases[] = {
    {"lamp both.ini", 0, "both.ini on wav-44k-mono", NULL},
    {"lamp both.ini", 0, "both.ini on wav-22k-mono", NULL},
  };
  bool ok = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    ok &= run_gave(run(cases[i].line), &cases[i]);
  }
  assert_true(ok);
}

int
main(int argc, char** argv) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_lines),
    cmocka_unit_test(test_all_gone),
    cmocka_unit_test(test_as_packed),
    cmocka_unit_test(test_columns),
    cmocka_unit_test(test_long_names),
    cmocka_unit_test(test_lone),
    cmocka_unit_test(test_several_boards),
  };
  run_set_up(argc, argv);
  const int failed = cmocka_run_group_tests(tests, make_props, NULL);
  run_tear_down();
  return failed;
}
