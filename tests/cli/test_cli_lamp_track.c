// The lamp track on the command line, in sound lists and packs, and as `check`
// sees it.

#include "container/container.h"
#include "support/check.h"
#include "support/reports.h"
#include "support/run.h"
#include "support/wav_files.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <volleyweave/volleyweave.h>

#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

static bool
check_cases(const RunCase* cases, size_t n_cases) {
  bool ok = true;
  for (size_t i = 0; i < n_cases; ++i) {
    ok &= run_gave(run(cases[i].line), &cases[i]);
  }
  return ok;
}

#define LOOP "loop --fire-rate 9/s --lamp-track "
#define OWN "channel of its own"

static void
test_lines(void** state) {
  (void)state;
  static const RunCase cases[] = {
    {LOOP "zap.wav", 2, NULL, "give --channels 2, or a board with two"},
    {LOOP "--board none zap.wav", 2, NULL, OWN},
    {LOOP "--channels 1 zap.wav", 2, NULL, OWN},
    {LOOP "--board wav-44k-mono zap.wav", 2, NULL, "wav-44k-mono takes one"},
    {LOOP "--board wav-to-44k zap.wav", 2, NULL, "give --channels 2"},
    {LOOP "--board wav-to-44k --channels 2 -n zap.wav", 0, "channel 2", NULL},
    {LOOP "--board wav-44k-stereo -n zap.wav", 0, "of 50.0 ms in", NULL},
    {LOOP "--channels 2 -n zap.wav", 0, "Hz at -6.0 dBFS", NULL},
    {LOOP "--channels 2 -n --track-level -12dBFS --on-time 20ms zap.wav",
     0,
     "1 pulse of 20.0 ms in the loop",
     NULL},
    {LOOP "-v --channels 2 -n --on-time 80 zap.wav",
     0,
     "a duty cycle of 50 %",
     NULL},
    {LOOP "-v --channels 2 -n --on-time 80 zap.wav",
     0,
     "half the time to the next shot",
     NULL},
    {LOOP "--channels 2 -n --on-time 80 zap.wav", 0, "each, half", NULL},
    {LOOP "--channels 2 -n --burst 3 zap.wav", 0, "3 pulses", NULL},
    {"loop -v --fire-rate 9/s -n --on-time 40 zap.wav", 0, "40.0 ms, a", NULL},
    {LOOP "--channels 2 --track-frequency 5kHz zap.wav", 2, NULL, "2000"},
    {LOOP "--channels 2 --track-level 1 zap.wav", 2, NULL, "-20"},
    {LOOP "--channels 2 --on-time 0 zap.wav", 2, NULL, "5"},
    {LOOP "--channels 2 --on-time 501 zap.wav", 2, NULL, "500"},
    {LOOP "--channels 2 --on-time long zap.wav", 2, NULL, "--on-time long"},
    {"loop --lamp-track=yes zap.wav", 2, NULL, "--lamp-track"},
    {"shot --lamp-track zap.wav", 2, NULL, "volleyweave loop"},
    {"loop --help --verbose", 0, "--lamp-track", NULL},
  };
  assert_true(check_cases(cases, COUNT(cases)));
}

static double
number_in(const json_t* object, const char* name) {
  return json_number_value(json_object_get(object, name));
}

static void
test_json(void** state) {
  (void)state;
  Run made = run(LOOP "--channels 2 --sample-rate 8000 --track-frequency 4kHz "
                      "--json -n zap.wav");
  json_t* const report = json_loads(made.out, 0, NULL);
  json_t* const lamp = json_object_get(report, "lamp");
  json_t* const track = json_object_get(lamp, "track");
  assert_int_equal(made.status, 0);
  assert_true(json_is_object(track));
  // No higher than 0.4 of the sample rate.
  assert_true(fabs(number_in(track, "tone_hz") - 3200.0) < 10.0);
  assert_true(number_in(track, "tone_hz") <= 3200.0);
  assert_true(fabs(number_in(track, "level_dbfs") + 6.0) < 1e-9);
  assert_true(fabs(number_in(track, "on_ms") - 50.0) < 0.1);
  assert_int_equal(json_integer_value(json_object_get(track, "channel")), 2);
  assert_int_equal(json_integer_value(json_object_get(track, "pulses")),
                   json_integer_value(json_object_get(
                     json_object_get(report, "loop"), "shots")));
  assert_non_null(
    strstr(json_string_value(json_object_get(lamp, "caution")), "seizures"));
  json_decref(report);
  run_clear(&made);
  made = run("loop --fire-rate 9/s --json -n zap.wav");
  json_t* const plain = json_loads(made.out, 0, NULL);
  assert_true(
    json_is_null(json_object_get(json_object_get(plain, "lamp"), "track")));
  json_decref(plain);
  run_clear(&made);
}

// The report of the sound is that of mono, down to the last letter.
static void
test_report_of_sound(void** state) {
  (void)state;
  Run         with = run(LOOP "--channels 2 --track-level 0 -v -n zap.wav");
  Run         mono = run("loop -v --fire-rate 9/s -n zap.wav");
  const char* from = strstr(with.out, "Level\n");
  const char* to = strstr(with.out, "Lamp\n");
  const char* other = strstr(mono.out, "Level\n");
  assert_non_null(from);
  assert_non_null(to);
  assert_non_null(other);
  assert_memory_equal(from, other, (size_t)(to - from));
  run_clear(&with);
  run_clear(&mono);
}

static void
put(const char* path, const char* text) {
  bytes_write(path, text, strlen(text));
}

#define SOUND "[sound rapid]\ntake = zap.wav\nmake = loop\nfire-rate = 9/s\n"

static void
test_prop(void** state) {
  (void)state;
  static const RunCase cases[] = {
    {"pack -q --board wav-44k-stereo -o yes yes.ini", 0, NULL, NULL},
    {"pack -q --board wav-44k-mono -o mono yes.ini", 1, NULL, OWN},
    {"pack -q --board wav-44k-mono -o no no.ini", 0, NULL, NULL},
    {"pack -q --board wav-44k-mono -o maybe maybe.ini", 1, NULL, "yes nor no"},
    {LOOP "-q -f --channels 2 --print-section zap.wav",
     0,
     "\nlamp-track = yes\n",
     NULL},
  };
  put("yes.ini", SOUND "lamp-track = yes\n");
  put("no.ini", SOUND "lamp-track = no\n");
  put("maybe.ini", SOUND "lamp-track = maybe\n");
  assert_true(check_cases(cases, COUNT(cases)));
}

// What is kept of a pack says the track too, and knows when it changed.
static void
test_pack_again(void** state) {
  (void)state;
  static const char line[] =
    "pack --json --board wav-44k-stereo -o again again.ini";
  put("again.ini", SOUND "lamp-track = yes\n");
  Run first = run(line);
  Run second = run(line);
  assert_int_equal(first.status, 0);
  assert_int_equal(second.status, 0);
  const char* const a = strstr(first.out, "\"track\": {");
  const char* const b = strstr(second.out, "\"track\": {");
  assert_non_null(a);
  assert_non_null(b);
  assert_memory_equal(a, b, (size_t)(strchr(a, '}') - a));
  size_t      n = 0;
  char* const before = read_file("again/wav-44k-stereo/rapid.loop.wav", &n);
  put("again.ini", SOUND "lamp-track = yes\ntrack-level = -12\n");
  run_clear(&second);
  second = run(line);
  assert_int_equal(second.status, 0);
  assert_non_null(before);
  assert_false(has_bytes("again/wav-44k-stereo/rapid.loop.wav", before, n));
  free(before);
  run_clear(&first);
  run_clear(&second);
}

// A track as loud as can be is no fault, but what is wrong beside it is.
static void
test_checked(void** state) {
  (void)state;
  static const RunCase make[] = {
    {LOOP
     "-q --board wav-44k-stereo --track-level 0 --gain -20 -o card zap.wav",
     0,
     NULL,
     NULL},
  };
  static const RunCase good[] = {
    {"check --board wav-44k-stereo card", 0, "good for", NULL},
  };
  static const RunCase bad[] = {
    {"check --board wav-44k-stereo clicks", 3, "it clicks: its last", NULL},
  };
  assert_true(check_cases(make, COUNT(make)));
  // A list of the program's own, which is none of the card's.
  assert_int_equal(unlink("card/.volleyweave.list"), 0);
  assert_true(check_cases(good, COUNT(good)));
  size_t      n = 0;
  char* const loop = read_file("card/zap.loop.wav", &n);
  assert_non_null(loop);
  // The last value of the first channel: a click, next to steps of the tone
  // that are no smaller.
  loop[n - 3] = 0x60;
  assert_int_equal(mkdir("clicks", 0777), 0);
  bytes_write("clicks/zap.loop.wav", loop, n);
  free(loop);
  assert_true(check_cases(bad, COUNT(bad)));
}

static int
make_takes(void** state) {
  (void)state;
  const WavFile take = {.path = "zap.wav", .fill = FILL_SHOT, .seconds = 1.0};
  wav_file_write(&take);
  return 0;
}

/* On-time */

// The tone is at full level between edges of 1 ms; between two of its crests
// lies at most half a period.
static double
pulse_ms(const VwSound* sound, size_t shots) {
  const size_t window = sound->rate_hz / 3000U;
  double       most = 0.0;
  size_t       n_lit = 0;
  for (size_t i = 0; i < sound->n_frames; ++i) {
    most = fmax(most, fabs((double)sound->values[2 * i + 1]));
  }
  for (size_t i = 0; i + window < sound->n_frames; ++i) {
    double high = 0.0;
    for (size_t k = 0; k < window; ++k) {
      high = fmax(high, fabs((double)sound->values[2 * (i + k) + 1]));
    }
    n_lit += high > 0.5 * most ? 1 : 0;
  }
  return 1000.0 * ((double)n_lit / (double)shots - (double)window / 2.0) /
         sound->rate_hz;
}

// One loop has one on-time: in the report of its making, found in the file, and
// as long as its track's pulses are.
static bool
check_agrees(const char* options, const char* reason, double off_ms) {
  char make[200];
  char find[200];
  (void)snprintf(make,
                 sizeof(make),
                 "loop --json -f --lamp-track --channels 2 "
                 "-o one.wav --part loop %s zap.wav",
                 options);
  (void)snprintf(find,
                 sizeof(find),
                 "lamp --json %s one.wav",
                 strstr(options, "--gap") ? "--gap 12ms" : "");
  const VwReadOptions reading = vw_read_defaults();
  json_t* const       made = run_json(make, 0);
  json_t* const       lamp = run_json(find, 0);
  VwSound             sound = {0};
  size_t              from = 0;
  size_t              to = 0;
  bool                ok =
    check_equal(vw_read("one.wav", &reading, &sound, NULL), VW_OK, "read");
  VwSound loop = sound;
  if (!vw_read_loop_points("one.wav", &from, &to) && to) {
    loop.values += 2 * from;
    loop.n_frames = to - from;
  }
  const double      on_ms = number_at(made, "lamp.on_ms");
  const double      shots = number_at(made, "loop.shots");
  const char* const why = json_string_value(value_at(made, "lamp.on_reason"));
  ok &= check_at_most(fabs(number_at(lamp, "lamp.on_ms") - on_ms),
                      off_ms,
                      "%s: found in the file, off by ms",
                      options);
  ok &= check_at_most(fabs(number_at(lamp, "lamp.shot_near_ms") -
                           number_at(made, "lamp.shot_near_ms")),
                      off_ms,
                      "%s: loud, off by ms",
                      options);
  // Of a track's pulses: a step of what it is told by, and a period of the tone
  // that the detector misses (3 kHz: 0.33 ms); both bounds are chosen here.
  ok &= check_at_most(fabs(number_at(made, "lamp.track.on_ms") - on_ms),
                      0.07,
                      "%s: track reported, off by ms",
                      options);
  ok &= check_at_most(fabs(pulse_ms(&loop, (size_t)shots) - on_ms),
                      0.3,
                      "%s: pulses, off by ms",
                      options);
  ok &= check_that(
    why && !strcmp(why, reason), "%s: %s, for %s", options, why, reason);
  vw_sound_clear(&sound);
  json_decref(made);
  json_decref(lamp);
  return ok;
}

static void
test_on_time_agrees(void** state) {
  (void)state;
  static const struct {
    const char* options;
    const char* reason;
    double      off_ms; // Chosen here: 0.05, but the noise of few bits moves
                        // where a level is passed.
  } cases[] = {
    {"--fire-rate 4/s", "most", 0.05},
    {"--fire-rate 9/s", "most", 0.05},
    {"--fire-rate 9/s --bits 8 --valley 36", "sound", 0.5},
    {"--fire-rate 9.3/s --shots 3 --detune 20 --valley 38", "sound", 0.05},
    {"--fire-rate 9/s --valley 40 --sample-rate 22050", "sound", 0.05},
    {"--fire-rate 12/s", "half", 0.05},
    {"--fire-rate 16/s --bits 8", "half", 0.5},
    {"--fire-rate 9/s --form loop-points --valley 36", "sound", 0.05},
    {"--fire-rate 9/s --form whole-file --valley 36", "sound", 0.05},
    {"--fire-rate 9/s --gap 12ms --shots 4 --valley 36", "sound", 0.05},
    {"--fire-rate 9/s --gain -60 --valley 36", "sound", 2.0},
  };
  bool ok = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    ok &= check_agrees(cases[i].options, cases[i].reason, cases[i].off_ms);
  }
  assert_true(ok);
}

int
main(int argc, char** argv) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_lines),
    cmocka_unit_test(test_json),
    cmocka_unit_test(test_report_of_sound),
    cmocka_unit_test(test_prop),
    cmocka_unit_test(test_pack_again),
    cmocka_unit_test(test_checked),
    cmocka_unit_test(test_on_time_agrees),
  };
  run_set_up(argc, argv);
  const int failed = cmocka_run_group_tests(tests, make_takes, NULL);
  run_tear_down();
  return failed;
}
