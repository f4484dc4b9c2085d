// The lamp on the command line: text, JSON, a C header that compiles, pictures.

#include "burst/burst.h"
#include "container/container.h"
#include "support/check.h"
#include "support/reports.h"
#include "support/run.h"
#include "support/signals.h"
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

/// A line, its exit status, and a word on either stream; NULL: nothing at all.
typedef struct {
  const char* line;
  int         status;
  const char* out;
  const char* err;
} Case;

static bool
has(const char* text, const char* word) {
  return word ? strstr(text, word) != NULL : !*text;
}

static bool
check_cases(const Case* cases, size_t n_cases) {
  bool ok = true;
  for (size_t i = 0; i < n_cases; ++i) {
    Run        made = run(cases[i].line);
    const bool good = made.status == cases[i].status &&
                      has(made.out, cases[i].out) &&
                      has(made.err, cases[i].err) &&
                      (!cases[i].err || is_one_line_with(made.err, ""));
    ok &= run_check(good, &made, cases[i].line);
    run_clear(&made);
  }
  return ok;
}

static void
test_bad_lines(void** state) {
  (void)state;
  static const Case cases[] = {
    {"lamp", 2, NULL, "volleyweave lamp 9/s"},
    {"lamp -v 9/s 8/s", 2, NULL, "one lamp at a time"},
    {"lamp -v 0", 2, NULL, "0.5 to 40"},
    {"lamp -v 1e6", 2, NULL, "0.5 to 40"},
    {"lamp -v 600", 2, NULL, "600/min"},
    {"lamp -v fast", 2, NULL, "neither a file nor a fire rate"},
    {"lamp -v 9x", 2, NULL, "no unit"},
    {"lamp -v inf/s", 2, NULL, "neither a file nor a fire rate"},
    {"lamp -v --supply 1.5V --diode schottky 9/s", 2, NULL, "a CMOS one 2 V"},
    {"lamp -v --duty 0 9/s", 2, NULL, "0.01 to 0.99"},
    {"lamp -v --duty 1 9/s", 2, NULL, "0.01 to 0.99"},
    {"lamp -v --duty 1.5 9/s", 2, NULL, "0.01 to 0.99"},
    {"lamp -v --duty 0.3 --on-time 30 9/s", 2, NULL, "one of them"},
    {"lamp -v --supply 0.4V 9/s", 2, NULL, "too low"},
    {"lamp -v --supply 4V --chip bipolar 9/s", 2, NULL, "too low"},
    {"lamp -v --supply 17V 9/s", 2, NULL, "too high"},
    {"lamp -v --supply five 9/s", 2, NULL, "5V"},
    {"lamp -v --capacitors 0uF 9/s", 2, NULL, "give 0.0001 to 10000 uF"},
    {"lamp -v --capacitors 1 9/s",
     2,
     NULL,
     "a number alone: write it as in 100nF"},
    {"lamp -v --capacitors 1uF, 9/s", 2, NULL, "100nF"},
    {"lamp -v --capacitors 1nF 9/s", 2, NULL, "add a bigger capacitor"},
    {"lamp -v --capacitors 5000uF 9/s", 2, NULL, "add a smaller capacitor"},
    {"lamp -v --wiring star 9/s", 2, NULL, "diode or two-resistors"},
    {"lamp -v --wiring diode --diode-drop 1.9V 9/s", 2, NULL, "too low"},
    {"lamp -v --e-series E48 9/s", 2, NULL, "E6, E12, E24 or E96"},
    {"lamp -v --prescalers 0 9/s", 2, NULL, "1 to 65536"},
    {"lamp -v --clock 1Hz 9/s", 2, NULL, "1000 to"},
    {"lamp -v --brightness-steps 1 9/s", 2, NULL, "2 to 1024"},
    {"lamp -v --header lamp.txt 9/s", 2, NULL, "ends in .h"},
    {"lamp -v --plot lamp.pdf 9/s", 2, NULL, ".svg or .png"},
    {"lamp -v --plot lamp.svg --led-current 3A 9/s",
     1,
     NULL,
     "LED current is more"},
    {"lamp -v --led ultraviolent 9/s", 2, NULL, "red, amber, green"},
    {"lamp -v --fire-rate 9/s", 2, NULL, "no such option"},
    {"lamp -v --board nowhere 9/s", 2, NULL, "nowhere"},
    {"lamp -v gone.wav", 1, NULL, "no file has that name"},
    {"lamp -v sounds.ini", 1, NULL, "no file has that name"},
    {"lamp -v hum.wav", 1, NULL, "a sustained sound"},
    {"lamp -v silence.wav", 1, NULL, "rapid fire"},
    {"lamp -v --header no/lamp.h 9/s", 1, NULL, "no/lamp.h"},
  };
  wav_file_write(
    &(WavFile){.path = "hum.wav", .fill = FILL_HUM, .seconds = 1.0});
  wav_file_write(
    &(WavFile){.path = "silence.wav", .fill = FILL_SILENCE, .seconds = 1.0});
  assert_true(check_cases(cases, COUNT(cases)));
}

static void
test_good_lines(void** state) {
  (void)state;
  static const Case cases[] = {
    {"lamp -v 9/s", 0, "seizures", NULL},
    {"lamp --on-time 120 9/s", 0, "55.6 ms, a duty cycle of 50 %, the", NULL},
    {"lamp -v --on-time 60 9/s", 0, "half the time to the next shot", NULL},
    {"lamp -v --on-time 55 9/s", 0, "as asked", NULL},
    {"lamp -v --duty 0.7 9/s", 0, "77.8 ms, a duty cycle of 70 %", NULL},
    {"lamp -v 9/s", 0, "photosensitive", NULL},
    {"lamp -v 9", 0, "9 per second", NULL},
    {"lamp -v 540/min", 0, "one every 111.111 ms", NULL},
    {"lamp -v 100ms", 0, "10 per second", NULL},
    {"lamp -v 9/s", 0, "it until 90 flashes", NULL},
    {"lamp -v 9/s", 0, "goes into the wire from", NULL},
    {"lamp -v 9/s", 0, "a contact that opens, +Vcc stays", NULL},
    {"lamp -v 9/s", 0, "--wiring two-resistors", NULL},
    {"lamp -v --wiring two-resistors 9/s", 0, "lit while it is reset", NULL},
    {"lamp -v --wiring two-resistors 9/s", 0, "into the wire", NULL},
    {"lamp -v --wiring two-resistors 9/s", 0, "RA, then P, to +Vcc", NULL},
    {"lamp -v --wiring diode 9/s",
     0,
     "RB, then P, to pin 6; D's end without",
     NULL},
    {"lamp -v 9/s", 0, "C8, to 0 V, close to pins 8 and 1", NULL},
    {"lamp -v 9/s", 0, "0.693 RA C, the formula", NULL},
    {"lamp -v 9/s", 0, "2.25 %, typical", NULL},
    {"lamp -v --chip cmos 9/s", 0, "3 %)", NULL},
    {"lamp -v --supply 9V 9/s", 0, "stated for 100 mA at 5 V", NULL},
    {"lamp -v --supply 9V --wiring two-resistors 9/s",
     0,
     "50 mA at 15 V",
     NULL},
    {"lamp -v --supply 9V 9/s", 0, "270 ohm, 1/4 W", NULL},
    {"lamp -v --supply 9V --leds 2 9/s", 0, "the short lead of each to", NULL},
    {"lamp -v --leds 2 9/s", 0, "(at 5.3 V it works)", NULL},
    {"lamp -v --leds 2 --supply 5.3V 9/s", 0, "for 17", NULL},
    {"lamp -v --help", 0, "amber, green, blue, white", NULL},
    {"lamp -v --led white 9/s", 0, "82 ohm, 1/8 W", NULL},
    {"lamp -v --led white 9/s", 0, "RC, to T's base", NULL},
    {"lamp -v --led white --led-forward 2V 9/s", 0, "150 ohm", NULL},
    {"lamp -v --led white --wiring two-resistors 9/s", 0, "3.2 V of", NULL},
    {"lamp -v --led-current 3A 9/s", 0, "none: the LED current is more", NULL},
    {"lamp -v --led-current 1.9A --supply 12V 9/s", 0, "for 1900 mA", NULL},
    {"lamp -v --led-current 60mA --wiring two-resistors 9/s",
     0,
     "--wiring diode, with which a transistor",
     NULL},
    {"lamp -v --led-current 20mA 9/s", 0, "without a transistor", NULL},
    {"lamp -v --led-current 30mA --chip cmos 9/s", 0, "(by a data sheet", NULL},
    {"lamp -v --duty 30% 10/s", 0, "30.0 ms, a duty cycle of 30 %", NULL},
    {"lamp -v --supply 3.3V 9/s", 0, "a bipolar one needs 4.5 V", NULL},
    {"lamp -v --supply 9V --led-current 20mA 9/s", 0, "LED", NULL},
    {"lamp -v --capacitors 470nF 9/s", 0, "470 nF, +-10 %", NULL},
    {"lamp -v --capacitors 1000000pF,2.2uF 9/s", 0, "1 uF, +-10 %", NULL},
    {"lamp -v --clock 12MHz 10/s", 0, "prescaler 32, period 37500", NULL},
    {"lamp -v --clock 12MHz --timer-bits 8 --prescalers 1 9/s",
     0,
     "more counts than the timer has",
     NULL},
    {"lamp -v --diode-drop 1.9V 9/s", 0, "the supply is too low", NULL},
    {"lamp -v --diode-drop 1.9V 9/s", 0, "RA, then P, to +Vcc", NULL},
    {"lamp -v 9/s", 0, "never, the sound itself", NULL},
    {"lamp -v 9/s", 0, "follow the data sheets", NULL},
    {"lamp -v 15/s", 0, "never more than 33.3 ms", NULL},
    {"lamp -q 9/s", 0, NULL, NULL},
    {"lamp -v --help", 0, "--capacitors", NULL},
    {"help lamp --verbose", 0, "--brightness-steps", NULL},
  };
  assert_true(check_cases(cases, COUNT(cases)));
}

/// Whether so many of a lamp's text, JSON, header and picture tell of seizures,
/// and the text says why.
static bool
check_flash(const char* rate, int n_told, const char* why) {
  char shell[300];
  (void)snprintf(
    shell,
    sizeof(shell),
    "\"$VOLLEYWEAVE\" lamp -v -f --header slow.h --plot slow.svg %s "
    ">slow.txt && \"$VOLLEYWEAVE\" lamp --json %s >slow.json && "
    "grep -l seizures slow.* | wc -l && tr -s ' \\n' ' ' <slow.txt",
    rate,
    rate);
  Run        told = run_shell(shell);
  const bool good = run_check(told.status == 0 && atoi(told.out) == n_told &&
                                has(told.out, why),
                              &told,
                              shell);
  run_clear(&told);
  return good;
}

// Below three flashes a second there is no caution of seizures, unless a
// timer's parts can make it more. 3 per second: G. Harding and others,
// Epilepsia 46(9), 2005.
static void
test_slow(void** state) {
  (void)state;
  bool good = check_flash("2/s", 0, "licensed people");
  good &= check_flash("2.9/s", 4, "until its trimmer is set");
  good &= check_flash("3/s", 4, "lamps with three flashes a second or more");
  assert_true(good);
  // The same of the loop itself.
  static const Case loop = {
    "loop -n --fire-rate 3/s zap.wav", 0, "seizures", NULL};
  wav_file_write(&(WavFile){.path = "zap.wav", .seconds = 1.0});
  Run slow_loop = run("loop -n --fire-rate 2.9/s zap.wav");
  assert_int_equal(slow_loop.status, 0);
  assert_null(strstr(slow_loop.out, "seizures"));
  assert_true(check_cases(&loop, 1));
  run_clear(&slow_loop);
}

/* JSON */

static void
test_json(void** state) {
  (void)state;
  json_t* const object = run_json(
    "lamp --json --clock 12MHz --brightness-steps 8 --on-time 30 10/s", 0);
  json_t* const controller = json_object_get(object, "microcontroller");
  assert_true(number_at(object, "lamp.pulse_hz") == 10.0);
  assert_true(number_at(object, "lamp.on_ms") == 30.0);
  assert_true(number_at(object, "microcontroller.period_us") == 100000.0);
  assert_true(number_at(object, "microcontroller.on_us") == 30000.0);
  assert_true(number_at(controller, "counts.period_counts") == 37500.0);
  // 5 V less 2.25 V at worst (NE555 data sheet SLFS022I, 7.5) less 2 V are less
  // than 1 V; less 0.2 V in a transistor (common practice) they are 140 ohm at
  // 20 mA.
  assert_true(fabs(number_at(object, "led.resistor_ohm") - 140.0) < 1e-9);
  assert_true(fabs(number_at(object, "led.next_e24_ohm") - 150.0) < 1e-9);
  assert_true(json_is_true(value_at(object, "led.transistor")));
  assert_true(json_is_null(json_object_get(object, "timer_two_resistors")));
  // With its LED at the supply the output pulls down, and drops 0.4 V up to 50
  // mA (from memory).
  json_t* const other =
    run_json("lamp --json --wiring two-resistors --on-time 30 10/s", 0);
  const json_t* const plain = json_object_get(other, "timer_two_resistors");
  assert_true(json_is_null(json_object_get(other, "timer_with_diode")));
  assert_true(fabs(number_at(plain, "led.resistor_ohm") - 130.0) < 1e-9);
  assert_true(fabs(number_at(plain, "led.next_e24_ohm") - 130.0) < 1e-9);
  assert_int_equal(json_array_size(json_object_get(
                     json_object_get(object, "brightness"), "steps")),
                   8);
  const char* const caution = json_string_value(
    json_object_get(json_object_get(object, "cautions"), "flash"));
  assert_non_null(strstr(caution, "screens are held to 3"));
  json_decref(object);
  json_decref(other);
}

/* Loops */

// Written by the program itself: 9 a second at 44.1 kHz are 4,900 frames.
static void
test_loops(void** state) {
  (void)state;
  wav_file_write(&(WavFile){.path = "zap.wav", .seconds = 1.0});
  Run made = run("loop -q --fire-rate 9/s --shots 3 --valley 15 zap.wav");
  Run points = run("loop -q --fire-rate 9/s --form loop-points --part loop -o "
                   "points.wav zap.wav");
  assert_true(run_check(made.status == 0, &made, "loop"));
  assert_true(run_check(points.status == 0, &points, "loop points"));
  json_t* const loop = run_json("lamp --json volleyweave-out/zap.loop.wav", 0);
  assert_true(number_at(loop, "found.shots") == 3.0);
  assert_true(number_at(loop, "lamp.pulse_hz") == 9.0);
  json_t* const marked = run_json("lamp --json points.wav", 0);
  assert_true(number_at(marked, "found.shots") == 1.0);
  assert_true(number_at(marked, "lamp.pulse_hz") == 9.0);
  // 14,700 frames and 50 ms: 3 shots in 383.333 ms.
  json_t* const gap =
    run_json("lamp --json --gap 50ms volleyweave-out/zap.loop.wav", 0);
  assert_true(number_at(gap, "lamp.pulse_hz") ==
              as_printed(3.0 / (14700.0 / 44100.0 + 0.05)));
  json_decref(loop);
  json_decref(marked);
  json_decref(gap);
  run_clear(&made);
  run_clear(&points);
}

// What nobody fires rapidly is no loop, unless it says that it is one.
static void
test_single_shots(void** state) {
  (void)state;
  static const Case cases[] = {
    {"lamp -v zap.wav", 1, NULL, "one shot in 1 s is no rapid fire"},
    {"lamp -v zap.wav", 1, NULL, "`volleyweave lamp 1/s`"},
    {"lamp -v volleyweave-out/zap.shot.wav",
     1,
     NULL,
     "give volleyweave-out/zap.loop.wav"},
    {"lamp -v volleyweave-out/zap.runin.wav", 1, NULL, "the run-in of a loop"},
    {"lamp -v lone.shot.wav", 1, NULL, "give a loop, or a fire rate"},
    {"lamp -v three.burst.wav", 1, NULL, "a finished burst of few shots"},
    {"lamp -v slow.loop.wav", 0, "2 per second", NULL},
    {"lamp -v slow.wav", 1, NULL, "`volleyweave lamp 2/s`"},
    {"lamp -v tick.wav", 0, "as written when it was made", NULL},
    {"lamp -v --shots 1 tock.wav", 0, "as --shots says", NULL},
    {"lamp -v --shots 60 tock.wav", 1, NULL, "--shots: 60 in a loop of "},
    {"lamp -v tock.wav", 0, "a loop of 1 shot", "but it dies away"},
    {"lamp -q tock.wav", 0, NULL, NULL},
    {"lamp -v cut.wav", 0, "a loop of 1 shot", "its name does not say"},
    {"lamp -v own.wav", 1, NULL, "made here as no loop"},
    {"lamp -v several.wav", 1, NULL, "made here as no loop"},
    {"lamp -v --shots 3 several.wav", 0, "as --shots says", NULL},
    {"lamp -v cut.loop.wav", 0, "a loop of 1 shot", NULL},
  };
  Run made = run_shell(
    "\"$VOLLEYWEAVE\" loop -q --fire-rate 2/s --shots 1 --form whole-file -o "
    "slow.loop.wav --part loop zap.wav && cp slow.loop.wav slow.wav && "
    "\"$VOLLEYWEAVE\" loop -q --fire-rate 5/s --shots 1 --form whole-file "
    "--valley 40 -o tick.wav --part loop zap.wav && cp tick.wav tock.wav && "
    "\"$VOLLEYWEAVE\" loop -q --fire-rate 5/s --burst 3 -o three.burst.wav "
    "--part burst zap.wav && cp volleyweave-out/zap.shot.wav lone.shot.wav && "
    "\"$VOLLEYWEAVE\" loop -q --fire-rate 5/s --shots 1 --form whole-file "
    "--valley none -o sawn.wav --part loop zap.wav && cp sawn.wav cut.wav && "
    "cp volleyweave-out/zap.loop.wav three.wav && \"$VOLLEYWEAVE\" convert -q "
    "-o several.wav "
    "three.wav && "
    "cp cut.wav cut.loop.wav && \"$VOLLEYWEAVE\" convert -q -o own.wav "
    "cut.wav");
  assert_true(run_check(made.status == 0, &made, "loops"));
  assert_true(check_cases(cases, COUNT(cases)));
  run_clear(&made);
}

// What a person has to know who builds it: common practice.
static void
test_building(void** state) {
  (void)state;
  static const Case cases[] = {
    {"lamp 9/s", 0, "by ohmmeter", NULL},
    {"lamp 9/s", 0, "polarity before power comes on", NULL},
    {"lamp -v 9/s", 0, "the middle pin, to an", NULL},
    {"lamp -v 9/s", 0, "multimeter's Hz", NULL},
    {"lamp -v 9/s", 0, "D's end with the ring", NULL},
    {"lamp -v 9/s", 0, "with nothing else, from pin 4", NULL},
    {"lamp -v 9/s", 0, "may get up to 50 ms", NULL},
  };
  static const char* const notes[] = {
    "P: a trimmer, set to 69 kohm", "ohmmeter", "Trigger: a", "D: a small"};
  assert_true(check_cases(cases, COUNT(cases)));
  Run asked = run("lamp --on-time 50 9/s");
  assert_true(run_check(
    asked.status == 0 && !strstr(asked.out, "up to 50 ms"), &asked, "asked"));
  run_clear(&asked);
  Run told = run("lamp --plot told.svg 9/s");
  assert_true(run_check(
    !told.status && !strstr(told.out, "--plot"), &told, "drawn already"));
  run_clear(&told);
  Run drawn = run_shell("\"$VOLLEYWEAVE\" lamp -q --plot circuit.svg 9/s && "
                        "tr '\\n' ' ' <circuit.svg");
  for (size_t i = 0; i < COUNT(notes); ++i) {
    assert_true(run_check(strstr(drawn.out, notes[i]), &drawn, notes[i]));
  }
  run_clear(&drawn);
}

// A loop with a lamp track wants what turns that into light, and no timer.
static void
test_track(void** state) {
  (void)state;
  Run made = run("loop -q --fire-rate 9/s --shots 3 --lamp-track --channels 2 "
                 "--track-level -12 -o track.wav --part loop zap.wav");
  assert_true(run_check(made.status == 0, &made, "loop"));
  Run told = run("lamp track.wav");
  assert_true(
    run_check(told.status == 0 && strstr(told.out, "nothing has to be set") &&
                strstr(told.out, "C2, R2, R1") && !strstr(told.out, "555") &&
                strstr(told.out, "a gain of 100 or more") &&
                strstr(told.out, "lamp 9/s") && strstr(told.out, "seizures"),
              &told,
              "lamp"));
  Run much = run("lamp --led-current 100mA track.wav");
  assert_true(run_check(
    strstr(much.out, "T switches 60 mA at most") != NULL, &much, "100 mA"));
  run_clear(&much);
  json_t* const lamp = run_json("lamp --json track.wav", 0);
  assert_true(number_at(lamp, "lamp.track.pulses") == 3.0);
  assert_true(fabs(number_at(lamp, "lamp.track.level_dbfs") + 12.0) < 0.2);
  assert_true(fabs(number_at(lamp, "lamp.track.tone_hz") - 3000.0) < 10.0);
  assert_true(fabs(number_at(lamp, "lamp.track.on_ms") -
                   number_at(lamp, "lamp.on_ms")) < 0.3);
  json_decref(lamp);
  json_t* const none = run_json("lamp --json slow.loop.wav", 0);
  assert_true(json_is_null(value_at(none, "lamp.track")));
  json_decref(none);
  run_clear(&told);
  run_clear(&made);
}

/* How many shots */

static bool
check_known(const char* line, const char* known, double shots) {
  json_t* const     lamp = run_json(line, 0);
  const char* const how = json_string_value(
    json_object_get(json_object_get(lamp, "found"), "shots_known"));
  const bool ok =
    check_that(how && !strcmp(how, known), "%s: %s", line, how ? how : "") &&
    check_equal(number_at(lamp, "found.shots"), shots, "%s: shots", line);
  json_decref(lamp);
  return ok;
}

// A file that was made here says it itself, until it is changed; one that was
// moved is counted; and a person knows best.
static void
test_known_shots(void** state) {
  (void)state;
  Run made = run("loop -q --form whole-file --fire-rate 8/s --gap 40ms --shots "
                 "5 -o known zap.wav");
  Run moved = run_shell("cp known/zap.loop.wav moved.wav && cp -r known other "
                        "&& printf x >> other/zap.loop.wav");
  assert_true(run_check(made.status == 0, &made, "loop"));
  assert_true(run_check(moved.status == 0, &moved, "cp"));
  bool ok = check_known("lamp --json known/zap.loop.wav", "made", 5.0);
  ok &= check_known("lamp --json moved.wav", "counted", 5.0);
  ok &= check_known("lamp --json other/zap.loop.wav", "counted", 5.0);
  ok &= check_known("lamp --json --shots 3 known/zap.loop.wav", "given", 3.0);
  // 5 shots at 8 per second, the gap told by the list or by the shots; and
  // one that is given: 625 ms, 40 of them the gap, and 65 in its place.
  json_t* const listed = run_json("lamp --json known/zap.loop.wav", 0);
  json_t* const told = run_json("lamp --json moved.wav", 0);
  json_t* const other =
    run_json("lamp --json --gap 65ms known/zap.loop.wav", 0);
  ok &= check_at_most(
    fabs(number_at(listed, "lamp.pulse_hz") - 8.0), 1e-3, "listed");
  ok &=
    check_at_most(fabs(number_at(told, "lamp.pulse_hz") - 8.0), 1e-3, "told");
  ok &= check_at_most(
    fabs(number_at(other, "lamp.pulse_hz") - 5.0 / 0.65), 1e-3, "given");
  ok &= check_equal(number_at(listed, "found.gap_ms"), 40.0, "listed gap");
  assert_true(ok);
  json_decref(listed);
  json_decref(told);
  json_decref(other);
  run_clear(&made);
  run_clear(&moved);
}

/// Rapid fire with jitter and noise after some lead, as a file; its realised
/// mean rate.
static double
recording_write(const char* path, SignalRandom* random) {
  const double rate = 4.0 * pow(5.0, signal_uniform(random));
  const size_t n = 8 + (size_t)(52.9 * signal_uniform(random));
  const double lead_s = 0.05 + 0.8 * signal_uniform(random);
  VwPiece      piece = {.sound =
                          signal_silence(lead_s + (double)n / rate + 0.5, 22050)};
  VwBytes      bytes = {NULL, 0};
  double       first = 0.0;
  SignalBurst  burst = {.rise_s = 0.002, .decay_s = 1.5 / rate, .level = 0.2};
  for (size_t i = 0; i < n; ++i) {
    burst.start_s = lead_s + (double)i / rate + 0.002 * signal_normal(random);
    first = i ? first : burst.start_s;
    signal_add_burst(&piece.sound, &burst, random);
  }
  signal_add_noise(&piece.sound, 0.01, random);
  const VwFormat format = vw_format_defaults();
  assert_int_equal(vw_encode_wav(&piece, &format, 1, &bytes), VW_OK);
  bytes_write(path, bytes.data, bytes.n_bytes);
  vw_bytes_clear(&bytes);
  vw_sound_clear(&piece.sound);
  return (double)(n - 1) / (burst.start_s - first);
}

// A recording is not taken for a loop, however often it repeats.
static void
test_recordings(void** state) {
  (void)state;
  SignalRandom random = signal_random(12);
  bool         ok = true;
  for (int i = 0; i < 12; ++i) {
    const double  mean = recording_write("rapid.wav", &random);
    json_t* const lamp = run_json("lamp --json rapid.wav", 0);
    const char*   kind = json_string_value(
      json_object_get(json_object_get(lamp, "found"), "kind"));
    ok &=
      check_that(!strcmp(kind, "recording"), "%d at %g/s: %s", i, mean, kind);
    ok &= check_at_most(fabs(number_at(lamp, "lamp.pulse_hz") / mean - 1.0),
                        0.005,
                        "%d at %g/s: rate",
                        i,
                        mean);
    const double known = number_at(lamp, "found.uncertainty_per_s") / mean;
    ok &= check_that(known > 1e-5 && known < 0.01,
                     "%d at %g/s: uncertainty %g",
                     i,
                     mean,
                     known);
    json_decref(lamp);
  }
  assert_true(ok);
}

// What is said of a recording overrules what is heard, be it a loop or not.
static void
test_as(void** state) {
  (void)state;
  static const Case cases[] = {
    {"lamp -v --as sustained rapid.wav", 1, NULL, "a sustained sound"},
    {"lamp -v --as several-shots rapid.wav", 1, NULL, "`split`"},
    {"lamp -v --as shot rapid.wav", 1, NULL, "as in 9/s\n"},
    {"lamp -v --as rapid-fire zap.wav", 1, NULL, "whose rate is in doubt"},
    {"lamp -v --as rapid-fire as/zap.loop.wav",
     0,
     "a recording of rapid fire",
     NULL},
    {"lamp -v --as shot as/zap.loop.wav", 1, NULL, "a single shot"},
    {"lamp -v --as shot --shots 4 rapid.wav", 2, NULL, "give one of both"},
    {"lamp -v --as shot 9/s", 2, NULL, "name its file"},
    {"lamp -v --as shot as", 2, NULL, "it is of one sound"},
  };
  SignalRandom random = signal_random(12);
  const double mean = recording_write("rapid.wav", &random);
  Run  made = run("loop -q --fire-rate 8/s --shots 8 -o as --name zap zap.wav");
  bool ok = run_check(made.status == 0, &made, "loop");
  ok &= check_cases(cases, COUNT(cases));
  json_t* const lamp = run_json("lamp --json --as rapid-fire rapid.wav", 0);
  ok &= check_at_most(fabs(number_at(lamp, "lamp.pulse_hz") / mean - 1.0),
                      0.005,
                      "rate of what is said to be rapid fire");
  json_decref(lamp);
  run_clear(&made);
  assert_true(ok);
}

// Shots that are not even have no rate: it says so, and what to do.
static void
test_several(void** state) {
  (void)state;
  static const Case cases[] = {
    {"lamp -v uneven.wav", 1, NULL, "several uneven shots"},
    {"lamp -v uneven.wav", 1, NULL, "`split`"},
    {"lamp -v uneven.wav", 1, NULL, "as in 9/s"},
    {"lamp -v --shots 4 uneven.wav", 0, "as --shots says", NULL},
  };
  static const double starts_s[] = {0.1, 0.55, 1.25, 1.5};
  SignalRandom        random = signal_random(5);
  VwPiece             piece = {.sound = signal_silence(2.2, 22050)};
  VwBytes             bytes = {NULL, 0};
  for (size_t i = 0; i < COUNT(starts_s); ++i) {
    const SignalBurst burst = {
      .start_s = starts_s[i], .rise_s = 0.002, .decay_s = 0.1, .level = 0.2};
    signal_add_burst(&piece.sound, &burst, &random);
  }
  signal_add_noise(&piece.sound, 0.001, &random);
  const VwFormat format = vw_format_defaults();
  assert_int_equal(vw_encode_wav(&piece, &format, 1, &bytes), VW_OK);
  bytes_write("uneven.wav", bytes.data, bytes.n_bytes);
  vw_bytes_clear(&bytes);
  vw_sound_clear(&piece.sound);
  assert_true(check_cases(cases, COUNT(cases)));
}

// What the list says of a loop goes with the next of that name.
static void
test_made_again(void** state) {
  (void)state;
  Run made = run("loop -q --form whole-file --fire-rate 8/s --shots 4 -o known "
                 "zap.wav");
  Run lines = run_shell("grep -c '^loop ' known/.volleyweave.list");
  assert_true(run_check(made.status == 0, &made, "loop"));
  assert_true(run_check(!strcmp(lines.out, "1\n"), &lines, "lines"));
  assert_true(check_known("lamp --json known/zap.loop.wav", "made", 4.0));
  run_clear(&made);
  run_clear(&lines);
}

// So does a pack, also where nothing was made anew.
static void
test_known_of_pack(void** state) {
  (void)state;
  static const char prop[] = "[sound zap]\ntake = zap.wav\nmake = loop\n"
                             "shots = 5\nfire-rate = 8/s\n";
  bytes_write("packed.ini", prop, strlen(prop));
  for (int i = 0; i < 2; ++i) {
    Run packed = run("pack -q --board wav-44k-mono -o packs packed.ini");
    assert_true(run_check(packed.status == 0, &packed, "pack"));
    run_clear(&packed);
    Run lines = run_shell("cat packs/*/.volleyweave.list | grep -c '^loop '");
    assert_true(run_check(!strcmp(lines.out, "1\n"), &lines, "lines"));
    run_clear(&lines);
    Run known = run_shell("for i in packs/*/*loop*; do \"$VOLLEYWEAVE\" lamp "
                          "\"$i\"; done");
    assert_true(run_check(strstr(known.out, "as written when it was made") &&
                            strstr(known.out, "5 shots"),
                          &known,
                          "known"));
    run_clear(&known);
  }
}

// A board's own gap and delay.
static void
test_board(void** state) {
  (void)state;
  Run board = run_shell("\"$VOLLEYWEAVE\" boards wav-44k-mono | sed "
                        "'s/^delay = .*/delay = 80ms/; s/^gap = .*/gap = 25ms/'"
                        " > own.board.ini");
  assert_true(run_check(board.status == 0, &board, "boards"));
  json_t* const loop = run_json(
    "lamp --json --board own.board.ini volleyweave-out/zap.loop.wav", 0);
  assert_true(number_at(loop, "lamp.hold_back_ms") == 80.0);
  assert_true(number_at(loop, "lamp.pulse_hz") ==
              as_printed(3.0 / (14700.0 / 44100.0 + 0.025)));
  static const Case cases[] = {
    {"lamp -v --board own.board.ini 9/s", 0, "hold back    80 ms", NULL},
    {"lamp -v --board own.board.ini 9/s", 0, "the lamp leads by 80 ms", NULL},
    {"lamp -v --board wav-44k-mono 9/s", 0, "states no delay", NULL}};
  assert_true(check_cases(cases, COUNT(cases)));
  json_decref(loop);
  run_clear(&board);
}

// A fire rate on a board is that of the loop made for it, whatever its frames
// and its gap; a finished burst has the same.
static bool
check_heard(const char* board, const char* rate) {
  char make[200];
  char find[200];
  (void)snprintf(make,
                 sizeof(make),
                 "loop --json -n --slot 1 --board %s --fire-rate %s zap.wav",
                 board,
                 rate);
  (void)snprintf(find, sizeof(find), "lamp --json --board %s %s", board, rate);
  json_t* const made = run_json(make, 0);
  json_t* const lamp = run_json(find, 0);
  bool          ok = check_equal(number_at(lamp, "lamp.pulse_hz"),
                        number_at(made, "lamp.pulse_hz"),
                        "%s on %s: rate",
                        rate,
                        board);
  ok &= check_equal(number_at(lamp, "heard.shots"),
                    number_at(made, "loop.shots"),
                    "%s on %s: shots",
                    rate,
                    board);
  json_decref(made);
  json_decref(lamp);
  return ok;
}

static void
test_heard(void** state) {
  (void)state;
  static const char* const boards[] = {
    "wav-44k-mono", "wav-22k-mono", "wav-to-44k", "own.board.ini"};
  static const char* const rates[] = {"4.1/s", "9/s", "9.37/s", "17.77/s"};
  bool                     ok = true;
  for (size_t i = 0; i < COUNT(boards); ++i) {
    for (size_t k = 0; k < COUNT(rates); ++k) {
      ok &= check_heard(boards[i], rates[k]);
    }
  }
  assert_true(ok);
  static const Case cases[] = {
    {"lamp -v --board wav-22k-mono 9.37/s", 0, "plays whole frames", NULL},
    {"lamp -v --board own.board.ini 9/s", 0, "25.0 ms of gap", NULL},
    {"lamp -v --gap 30ms --board own.board.ini 9/s", 0, "30.0 ms of", NULL},
    {"lamp -v --gap 90ms --board own.board.ini 9/s",
     0,
     "only a microcontroller or the",
     NULL},
    {"lamp -v 9.37/s", 0, "--board, or the loop", NULL}};
  assert_true(check_cases(cases, COUNT(cases)));
}

/// One number of a text, behind a word; NaN without it.
static double
number_behind(const char* text, const char* word) {
  const char* const at = strstr(text, word);
  return at ? strtod(at + strlen(word), NULL) : (double)NAN;
}

// A gap of 60 ms that is heard: the program of whoever counts a period alone
// would flash through it. Of a loop that was made here, and of one rate.
static void
test_uneven(void** state) {
  (void)state;
  Run made = run_shell(
    "sed 's/^gap = .*/gap = 60ms/' own.board.ini >gap.board.ini && "
    "\"$VOLLEYWEAVE\" loop -q --board gap.board.ini --fire-rate 9/s -o gap "
    "zap.wav && \"$VOLLEYWEAVE\" lamp -q --board gap.board.ini --clock 12MHz "
    "--header gap.h gap/zap.loop.wav && \"$VOLLEYWEAVE\" lamp --board "
    "gap.board.ini 9/s && cat gap.h && \"$VOLLEYWEAVE\" lamp -q --board "
    "gap.board.ini --plot gap.svg 9/s && cat gap.svg");
  // 44 bytes before the sound, 2 a frame, 44,100 frames a second.
  size_t n_bytes = 0;
  free(read_file("gap/zap.loop.wav", &n_bytes));
  json_t* const lamp =
    run_json("lamp --json --board gap.board.ini gap/zap.loop.wav", 0);
  const double shots = number_at(lamp, "lamp.uneven.shots");
  const double each_us = 1e6 * ((double)n_bytes - 44.0) / 2.0 / 44100.0 / shots;
  bool ok = run_check(made.status == 0 && strstr(made.out, "on average") &&
                        strstr(made.out, "Uneven: ") &&
                        !strstr(made.out, "LAMP_PERIOD"),
                      &made,
                      "uneven");
  const double interval_us = number_behind(made.out, "LAMP_INTERVAL_US ");
  const double last_us = number_behind(made.out, "LAMP_LAST_INTERVAL_US ");
  ok &= check_equal(number_behind(made.out, "LAMP_FLASHES "), shots, "flashes");
  ok &= check_at_least(shots, 2.0, "flashes");
  ok &= check_at_most(fabs(interval_us - each_us), 0.5, "interval, us");
  ok &= check_at_most(
    fabs(last_us - each_us - 60e3), 0.5 * shots, "last interval, us");
  // 12 MHz through the prescaler are counts of so many us.
  const double tick_us = number_behind(made.out, "LAMP_PRESCALER ") / 12.0;
  ok &= check_at_most(
    fabs(number_behind(made.out, "LAMP_INTERVAL_COUNTS ") * tick_us - each_us),
    tick_us,
    "counts");
  ok &= check_at_most(
    fabs(number_behind(made.out, "LAMP_LAST_INTERVAL_COUNTS ") * tick_us -
         each_us - 60e3),
    shots * tick_us,
    "last counts");
  // The last flash of a timer of the mean rate is late by all gaps but one's
  // share (closed form).
  ok &= check_at_most(fabs(number_at(lamp, "lamp.uneven.timer_off_ms") -
                           60.0 * (shots - 1.0) / shots),
                      1e-3,
                      "a timer, ms");
  // So little is left until it is 45 ms off.
  const json_t* const drift = json_array_get(json_object_get(lamp, "drift"), 1);
  const double        left_ms = fmax(45.0 - 60.0 * (shots - 1.0) / shots, 0.0);
  ok &= check_at_most(fabs(1000.0 * number_at(drift, "seconds_to_45_ms") *
                             number_at(drift, "error") -
                           left_ms),
                      0.1,
                      "drift");
  // 3.1 flashes a second, and a longer time behind the last: fewer than 3 on
  // average.
  static const Case fast = {
    "lamp --board wav-22k-mono --gap 200 3.1/s", 0, "lamps with three", NULL};
  ok &= check_cases(&fast, 1);
  assert_true(ok);
  json_decref(lamp);
  run_clear(&made);
}

/* Files */

static void
test_header(void** state) {
  (void)state;
  Run made = run("lamp -q --clock 12MHz --brightness-steps 20 --board "
                 "own.board.ini --header lamp.h 10/s");
  assert_true(run_check(made.status == 0, &made, "header"));
  size_t      n = 0;
  char* const text = read_file("lamp.h", &n);
  assert_non_null(text);
  assert_non_null(strstr(text, "#ifndef LAMP_OF_LAMP_H\n"));
  assert_non_null(strstr(text, "#define LAMP_PERIOD_US 100000UL\n"));
  assert_non_null(strstr(text, "#define LAMP_PRESCALER 32U\n"));
  assert_non_null(strstr(text, "#define LAMP_PERIOD_COUNTS 37500ULL\n"));
  assert_non_null(strstr(text, "#define LAMP_HOLD_BACK_US 80000UL\n"));
  assert_non_null(strstr(text, "lamp_brightness[LAMP_BRIGHTNESS_STEPS]"));
  assert_non_null(strstr(text, "seizures"));
  free(text);
  Run built = run_shell(
    "printf '#include \"lamp.h\"\\nint main(void) { return "
    "lamp_brightness[0] == 255U && LAMP_ON_COUNTS == 11250U ? 0 : 1; }\\n' "
    "> use.c && cc -std=c99 -Wall -Wextra -Wconversion -pedantic -Werror use.c "
    "-o use && ./use");
  assert_true(run_check(built.status == 0, &built, "cc"));
  run_clear(&built);
  run_clear(&made);
}

static void
test_pictures(void** state) {
  (void)state;
  static const unsigned char png[] = {0x89, 'P', 'N', 'G', 0x0D, 0x0A};
  Run                        svg = run("lamp -q --plot lamp.svg 9/s");
  Run    image = run("lamp -q --supply 9V --plot lamp.PNG 9/s");
  Run    dry = run("lamp -q -n --plot dry.svg --header dry.h 9/s");
  size_t n = 0;
  assert_true(run_check(svg.status == 0, &svg, "svg"));
  assert_true(run_check(image.status == 0, &image, "png"));
  assert_true(run_check(dry.status == 0, &dry, "dry run"));
  assert_int_not_equal(access("dry.svg", F_OK), 0);
  assert_int_not_equal(access("dry.h", F_OK), 0);
  char* const text = read_file("lamp.svg", &n);
  assert_non_null(text);
  assert_non_null(strstr(text, "<title>A lamp that flashes 9 times"));
  assert_non_null(strstr(text, "seizures"));
  assert_non_null(strstr(text, "</svg>"));
  free(text);
  char* const bytes = read_file("lamp.PNG", &n);
  assert_non_null(bytes);
  assert_true(n > 1000U && !memcmp(bytes, png, sizeof(png)));
  free(bytes);
  run_clear(&svg);
  run_clear(&image);
  run_clear(&dry);
}

// What was not made here is left alone.
static void
test_others_files(void** state) {
  (void)state;
  bytes_write("mine.h", "mine\n", 5);
  Run kept = run("lamp -q --header mine.h 9/s");
  assert_true(run_check(
    kept.status == 1 && has_bytes("mine.h", "mine\n", 5), &kept, "kept"));
  Run forced = run("lamp -q -f --header mine.h 9/s");
  assert_true(run_check(forced.status == 0 && !has_bytes("mine.h", "mine\n", 5),
                        &forced,
                        "forced"));
  run_clear(&kept);
  run_clear(&forced);
}

// What draws is loaded for pictures alone.
static void
test_not_loaded(void** state) {
  (void)state;
  Run needed = run_shell("ldd \"$VOLLEYWEAVE\"");
  assert_true(run_check(needed.status == 0 && !strstr(needed.out, "rsvg") &&
                          !strstr(needed.out, "cairo") &&
                          !strstr(needed.out, "png"),
                        &needed,
                        "ldd"));
  run_clear(&needed);
}

int
main(int argc, char** argv) {
  run_set_up(argc, argv);
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_bad_lines),
    cmocka_unit_test(test_good_lines),
    cmocka_unit_test(test_slow),
    cmocka_unit_test(test_json),
    cmocka_unit_test(test_loops),
    cmocka_unit_test(test_single_shots),
    cmocka_unit_test(test_building),
    cmocka_unit_test(test_track),
    cmocka_unit_test(test_known_shots),
    cmocka_unit_test(test_recordings),
    cmocka_unit_test(test_as),
    cmocka_unit_test(test_several),
    cmocka_unit_test(test_made_again),
    cmocka_unit_test(test_board),
    cmocka_unit_test(test_known_of_pack),
    cmocka_unit_test(test_heard),
    cmocka_unit_test(test_uneven),
    cmocka_unit_test(test_header),
    cmocka_unit_test(test_pictures),
    cmocka_unit_test(test_others_files),
    cmocka_unit_test(test_not_loaded),
  };
  const int n_failed = cmocka_run_group_tests(tests, NULL, NULL);
  run_tear_down();
  return n_failed;
}
