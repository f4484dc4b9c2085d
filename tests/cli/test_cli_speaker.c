// A speaker from the command line: its test sound, what is said of recordings,
// and the file that other commands then make sounds for. Speakers are
// simulated, and what is made for them is measured here.

#include "support/check.h"
#include "support/folder.h"
#include "support/reports.h"
#include "support/run.h"
#include "support/speakers.h"
#include "support/wav_files.h"

#include <sndfile.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))
#define TEST_SOUND "volleyweave-out/gauge-speaker.wav"
#define PI 3.14159265358979323846

/* Files */

/// A mono file. Free it with vw_sound_clear().
static VwSound
read_sound(const char* path) {
  SF_INFO        info = {0};
  SNDFILE* const file = sf_open(path, SFM_READ, &info);
  VwSound        sound = {0};
  assert_non_null(file);
  assert_int_equal(info.channels, 1);
  assert_int_equal(
    vw_sound_init(&sound, (size_t)info.frames, 1U, (unsigned)info.samplerate),
    VW_OK);
  assert_true(sf_readf_float(file, sound.values, info.frames) == info.frames);
  sf_close(file);
  return sound;
}

/// Write frames [from_s, to_s) of a sound.
static void
write_sound(const char*    path,
            const VwSound* sound,
            double         from_s,
            double         to_s) {
  const size_t rate = sound->rate_hz;
  const size_t from = (size_t)(from_s * (double)rate);
  const size_t to = (size_t)fmin(to_s * (double)rate, (double)sound->n_frames);
  const int    ogg = SF_FORMAT_OGG | SF_FORMAT_VORBIS;
  SF_INFO      info = {
         .samplerate = (int)rate,
         .channels = 1,
         .format = strstr(path, ".ogg") ? ogg : SF_FORMAT_WAV | SF_FORMAT_PCM_16};
  SNDFILE* const file = sf_open(path, SFM_WRITE, &info);
  assert_non_null(file);
  for (size_t i = from; i < to; i += 4096U) {
    const size_t n = to - i < 4096U ? to - i : 4096U;
    sf_writef_float(file, sound->values + i, (sf_count_t)n);
  }
  sf_close(file);
}

static void
record(const char* path, const Speaker* speaker) {
  VwSound played = read_sound(TEST_SOUND);
  VwSound heard = speakers_recorded(speaker, &played);
  write_sound(path, &heard, 0.0, 100.0);
  vw_sound_clear(&played);
  vw_sound_clear(&heard);
}

static const Speaker desk = {.corner_hz = 410.0,
                             .order = 2U,
                             .peaks = {{1210.0, 9.0, 4.0}, {3400.0, 6.0, 5.0}},
                             .n_peaks = 2U,
                             .noise_db = 40.0};

static int
enter(void** state) {
  const int  failed = run_enter_folder(state);
  Run        made = run("gauge speaker --write");
  const bool good =
    run_check(!failed && !made.status && strstr(made.out, "never at the ear"),
              &made,
              "gauge speaker --write");
  run_clear(&made);
  return good ? 0 : 1;
}

/* What is written */

static void
writes_a_sweep_as_the_board_plays_it(void** state) {
  (void)state;
  Run  made = run("gauge speaker --write --board wav-22k-mono -o small.wav");
  bool good = run_check(
    !made.status && strstr(made.out, "  record  ") &&
      strstr(made.out,
             "gauge speaker --board wav-22k-mono REC.wav --save NAME\n"),
    &made,
    "for a board");
  run_clear(&made);
  VwSound usual = read_sound(TEST_SOUND);
  VwSound small = read_sound("small.wav");
  double  peak = 0.0;
  for (size_t i = 0; i < usual.n_frames; ++i) {
    peak = fmax(peak, fabs((double)usual.values[i]));
  }
  // -12 dBFS: common practice.
  good &= check_at_most(fabs(20.0 * log10(peak) + 12.0), 0.05, "peak, dBFS");
  good &= check_equal(usual.rate_hz, 44100.0, "usual");
  good &= check_equal(small.rate_hz, 22050.0, "of the board");
  vw_sound_clear(&usual);
  vw_sound_clear(&small);
  assert_true(good);
}

/* What is found */

static size_t
lines_of(const char* text) {
  size_t n = 0;
  for (; *text; ++text) {
    n += *text == '\n' ? 1U : 0U;
  }
  return n;
}

/// The resonance or cut of a list, or NaN.
static double
entry(const json_t* all, const char* list, size_t index, const char* key) {
  return number_at(json_array_get(value_at(all, list), index), key);
}

static void
finds_corner_and_resonances(void** state) {
  (void)state;
  record("desk.wav", &desk);
  json_t* const all = run_json("gauge speaker --json desk.wav", 0);
  bool          good =
    check_at_most(fabs(number_at(all, "corner_hz") / 410.0 - 1.0), 0.05, "Hz");
  good &= check_at_most(
    fabs(number_at(all, "slope_db_per_octave") - 12.0), 1.0, "slope");
  for (size_t i = 0; i < 2U; ++i) {
    good &= check_at_most(
      fabs(entry(all, "resonances", i, "frequency_hz") / desk.peaks[i].hz -
           1.0),
      0.03,
      "resonance %zu",
      i);
    good &= check_at_most(
      fabs(entry(all, "resonances", i, "height_db") - desk.peaks[i].db),
      1.5,
      "its height, %zu",
      i);
    good &= check_at_most(
      fabs(entry(all, "made_for_it.cuts", i, "gain_db") + desk.peaks[i].db),
      1.5,
      "its cut, %zu",
      i);
  }
  // Each sixth of an octave.
  const json_t* const response = value_at(all, "response");
  for (size_t i = 0; i < json_array_size(response); ++i) {
    const json_t* const at = json_array_get(response, i);
    const double        hz = number_at(at, "frequency_hz");
    const double        db =
      number_at(at, "level_db") -
      number_at(json_array_get(response, json_array_size(response) - 3U),
                "level_db");
    good &=
      hz < 300.0 || hz > 12000.0 ||
      check_at_most(fabs(db - speakers_db(&desk, hz)), 1.0, "at %.0f Hz", hz);
    good &= check_at_most(number_at(at, "after_db") - number_at(at, "level_db"),
                          0.01,
                          "nothing raised at %.0f Hz",
                          hz);
  }
  good &= check_at_least((double)json_array_size(response), 40.0, "points");
  json_decref(all);
  assert_true(good);
}

static void
says_little_of_many(void** state) {
  (void)state;
  static const char* const lines[] = {
    "gauge speaker a.wav",
    "gauge speaker a.wav b.wav",
    "gauge speaker a.wav b.wav a.wav b.wav --save two --plot two.svg"};
  Speaker held = desk;
  held.corner_hz = 440.0;
  held.peaks[0].db = 14.0;
  held.gain = 0.5;
  record("a.wav", &desk);
  record("b.wav", &held);
  bool good = true;
  for (size_t i = 0; i < COUNT(lines); ++i) {
    Run made = run(lines[i]);
    good &= run_check(
      !made.status && lines_of(made.out) <= 14U && !*made.err, &made, lines[i]);
    good &= run_check(!i || (strstr(made.out, "a.wav  ") &&
                             strstr(made.out, "b.wav  ") &&
                             strstr(made.out, "differ by up to")),
                      &made,
                      "side by side");
    run_clear(&made);
  }
  size_t      n = 0;
  char* const picture = read_file("two.svg", &n);
  good &= check_that(picture && strstr(picture, "as it plays") &&
                       strstr(picture, "made for it") &&
                       strstr(picture, "what is cut"),
                     "the picture");
  free(picture);
  assert_true(good);
}

static void
packs_a_transducer(void** state) {
  (void)state;
  Speaker loose = desk;
  loose.gain = 0.4;
  record("tight.wav", &desk);
  record("loose.wav", &loose);
  Run made =
    run("gauge speaker --speaker transducer loose.wav tight.wav --save body");
  bool good = run_check(
    !made.status && strstr(made.out, "as in tight.wav"), &made, "transducer");
  run_clear(&made);
  // An octave lower than its corner.
  made = run("gauge speaker --json --speaker transducer loose.wav tight.wav");
  json_t* const all = parse_line(made.out, 0);
  good &= check_at_most(
    fabs(number_at(all, "made_for_it.high_pass_hz") - 205.0), 10.0, "lows");
  json_decref(all);
  run_clear(&made);
  // A kick is of its resonance.
  wav_file_write(
    &(WavFile){.path = "zap.wav", .fill = FILL_SHOT, .seconds = 1.0});
  json_t* const kicked =
    run_json("shot -n --json --kick 12 --speaker body zap.wav", 0);
  good &= check_at_most(
    fabs(number_at(kicked, "level.kick_hz") - 410.0), 20.0, "kick");
  json_decref(kicked);
  assert_true(good);
}

/* What cannot be used, and what can be in part */

/// Record speakers, each with one thing wrong.
static void
record_wrong(void) {
  Speaker bad = desk;
  bad.clip = 0.04;
  bad.noise_db = 0.0;
  record("clipped.wav", &bad);
  bad.clip = 0.25;
  record("part.wav", &bad);
  bad = desk;
  bad.echo_s = 0.003;
  bad.echo_db = -6.0;
  record("wall.wav", &bad);
  bad = desk;
  bad.echo_s = 0.015;
  bad.echo_db = -6.0;
  record("echo.wav", &bad);
  bad = desk;
  bad.peaks[0].db = -15.0;
  record("dip.wav", &bad);
  bad = desk;
  bad.noise_db = 0.0;
  record("quiet.wav", &bad);
}

static void
says_what_is_wrong(void** state) {
  (void)state;
  static const RunCase cases[] = {
    {"gauge speaker end.wav", 1, "", "before the chirp behind"},
    {"gauge speaker front.wav", 1, "", "chirp before the sweep is missing"},
    {"gauge speaker other.wav", 1, "", "is not in it"},
    {"gauge speaker silent.wav", 1, "", "it is silent"},
    {"gauge speaker call.wav", 1, "", "a telephone call's"},
    {"gauge speaker clipped.wav", 1, "", "is clipped, from"},
    {"gauge speaker part.wav", 1, "", "turn the board down"},
    {"gauge speaker wall.wav", 1, "", "in a bigger room"},
    {"gauge speaker --seconds-max 5 good.wav", 1, "", "longer than 5 s"},
    {"gauge speaker none.wav", 1, "", "no file has that name"},
    {"gauge speaker good.wav end.wav", 1, "1 recording", "end.wav"},
    {"gauge speaker echo.wav", 0, "corner", "an echo of -6"},
    {"gauge speaker dip.wav", 0, "corner", "miss the response by"},
    {"gauge speaker quiet.wav", 0, "corner", "turn noise suppression off"},
    {"gauge speaker good.ogg", 0, "corner", "leaves out what is hardly heard"},
    {"gauge speaker", 2, NULL, "no recording is given"},
    {"gauge speaker --write good.wav", 2, NULL, "takes no recording"},
    {"gauge speaker --write --save x", 2, NULL, "--save"},
    {"gauge speaker --speaker 40mm good.wav", 2, NULL, "give transducer"},
  };
  record("good.wav", &desk);
  VwSound good_one = read_sound("good.wav");
  write_sound("end.wav", &good_one, 0.0, 6.0);
  write_sound("front.wav", &good_one, 2.0, 60.0);
  write_sound("good.ogg", &good_one, 0.0, 60.0);
  VwSound silent = {0};
  assert_int_equal(vw_sound_init(&silent, 96000U, 1U, 8000U), VW_OK);
  write_sound("call.wav", &silent, 0.0, 60.0);
  silent.rate_hz = 48000U;
  write_sound("silent.wav", &silent, 0.0, 60.0);
  for (size_t i = 0; i < silent.n_frames; ++i) {
    silent.values[i] = (float)(0.2 * sin(0.06 * (double)i));
  }
  write_sound("other.wav", &silent, 0.0, 60.0);
  record_wrong();
  bool good = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    good &= run_gave(run(cases[i].line), &cases[i]);
  }
  vw_sound_clear(&good_one);
  vw_sound_clear(&silent);
  assert_true(good);
}

/* What is made for it */

#define KITCHEN                                                                \
  "[speaker]\nhigh-pass = 300Hz\ncut = 1kHz -8dB 2\ncut = 3000Hz, -5dB, 4\n"

/// Power of a frequency in a file.
static double
power_of(const char* path, double hz) {
  VwSound sound = read_sound(path);
  double  re = 0.0;
  double  im = 0.0;
  for (size_t i = 0; i < sound.n_frames; ++i) {
    const double turn = 2.0 * PI * hz * (double)i / sound.rate_hz;
    re += sound.values[i] * cos(turn);
    im += sound.values[i] * sin(turn);
  }
  vw_sound_clear(&sound);
  return re * re + im * im;
}

/// By how much louder one file is than another at a frequency, dB.
static double
louder_db(const char* one, const char* other, double hz) {
  return 10.0 * log10(power_of(one, hz) / power_of(other, hz));
}

/// A click, in which all frequencies are alike.
static void
put_click(void) {
  VwSound click = {0};
  assert_int_equal(vw_sound_init(&click, 22050U, 1U, 44100U), VW_OK);
  for (size_t i = 0; i < 4000U; ++i) {
    click.values[4410U + i] = (float)(i ? 0.0 : 0.7);
  }
  write_sound("click.wav", &click, 0.0, 10.0);
  vw_sound_clear(&click);
}

static void
makes_sounds_for_it(void** state) {
  (void)state;
  static const struct {
    const char* line;
    const char* path;
    double      db; ///< At 1 kHz and, a fifth of it down, at 3 kHz.
  } cases[] = {
    {"convert --gain 0 --speaker kitchen click.wav -o made.wav",
     "made.wav",
     -8.0},
    {"convert --gain 0 --speaker kitchen.speaker.ini click.wav -o full.wav",
     "full.wav",
     -8.0},
    {"convert --gain 0 --speaker in/kitchen.speaker.ini click.wav -o in.wav",
     "in.wav",
     -8.0},
  };
  put_click();
  folder_put("kitchen.speaker.ini", KITCHEN, strlen(KITCHEN));
  Run  made = run_shell("mkdir in && cp kitchen.speaker.ini in/ && "
                        "\"$VOLLEYWEAVE\" convert -q --gain 0 --speaker 300Hz "
                        "click.wav -o plain.wav");
  bool good = run_check(!made.status, &made, "without cuts");
  run_clear(&made);
  made = run("convert -v -n --speaker kitchen click.wav");
  good &= run_check(strstr(made.out, "300 Hz is left out, 2 resonances cut"),
                    &made,
                    "what is cut");
  run_clear(&made);
  for (size_t i = 0; i < COUNT(cases); ++i) {
    made = run(cases[i].line);
    good &= run_check(!made.status, &made, cases[i].line);
    run_clear(&made);
    good &= check_at_most(
      fabs(louder_db(cases[i].path, "plain.wav", 1000.0) - cases[i].db),
      0.5,
      "%s at 1 kHz",
      cases[i].path);
    good &=
      check_at_most(fabs(louder_db(cases[i].path, "plain.wav", 3000.0) + 5.0),
                    0.5,
                    "%s at 3 kHz",
                    cases[i].path);
  }
  assert_true(good);
}

// A list of sounds and the speakers that it names lie in one folder.
static void
serves_in_lists_and_rehearsals(void** state) {
  (void)state;
  static const char list[] = "[prop]\nspeaker = kitchen\n[sound click]\ntake = "
                             "click.wav\nmake = whole\ngain = 0\n";
  static const char other[] = "[prop]\nspeaker = 300Hz\n[sound click]\ntake = "
                              "click.wav\nmake = whole\ngain = 0\n";
  put_click();
  folder_put("kitchen.speaker.ini", KITCHEN, strlen(KITCHEN));
  folder_put("cut.ini", list, strlen(list));
  folder_put("plain.ini", other, strlen(other));
  Run made = run_shell(
    "mkdir in && mv *.ini click.wav in/ && for each in cut plain; do "
    "\"$VOLLEYWEAVE\" pack -q --board wav-44k-mono -o $each in/$each.ini || "
    "exit 9; cp $each/*.wav $each.wav 2>/dev/null || cp "
    "$each/*/*.wav $each.wav; done; cp in/kitchen.speaker.ini .; "
    "\"$VOLLEYWEAVE\" shot -q --gain 0 in/click.wav -o zap.wav && "
    "for each in kitchen 300Hz; do \"$VOLLEYWEAVE\" rehearse -q --hold 300ms "
    "--board wav-44k-mono --through-speaker --speaker $each zap.wav -o "
    "through-$each.wav || exit 8; done");
  bool good = run_check(!made.status, &made, "list");
  run_clear(&made);
  good &= check_at_most(
    fabs(louder_db("cut.wav", "plain.wav", 1000.0) + 8.0), 0.5, "of a list");
  // Heard through it, what is cut rings.
  good &= check_at_most(
    fabs(louder_db("through-kitchen.wav", "through-300Hz.wav", 1000.0) - 8.0),
    0.5,
    "as it is heard");
  assert_true(good);
}

static void
refuses_files_of_no_speaker(void** state) {
  (void)state;
  static const struct {
    const char* text;
    const char* says;
  } cases[] = {
    {"", "high-pass is missing"},
    {"[speaker]\ncut = 1kHz -8dB 2\n", "high-pass is missing"},
    {"[speaker]\nhigh-pass = 300\n", "high-pass"},
    {"[speaker]\nhigh-pass = 20Hz\n", "50 to 2000 Hz"},
    {"[speaker]\nhigh-pass = 300Hz\ncut = 1kHz 3dB 2\n", "-9 to 0 dB"},
    {"[speaker]\nhigh-pass = 300Hz\ncut = 1kHz -3dB\n", "cut = 1210Hz"},
    {"[speaker]\nhigh-pass = 300Hz\ncut = 1kHz -3dB 2 9\n", "cut = 1210Hz"},
    {KITCHEN "cut = 5kHz -3dB 2\ncut = 6kHz -3dB 2\n", "3 at most"},
    {"[speaker]\nhigh-pass = 300Hz\nboost = 3dB\n", "boost: no such key"},
    {"[speaker]\nhigh-pass = 75Hz\nresonance = 3Hz\n", "50 to 2000 Hz"},
    {"[horn]\nhigh-pass = 300Hz\n", "[horn]: no such section"},
  };
  bool good = true;
  put_click();
  for (size_t i = 0; i < COUNT(cases); ++i) {
    folder_put("bad.speaker.ini", cases[i].text, strlen(cases[i].text));
    const RunCase wanted = {
      "convert --speaker bad click.wav", 2, NULL, cases[i].says};
    good &= run_gave(run(wanted.line), &wanted);
  }
  assert_true(good);
}

// Saved, named, used: what is made for a speaker and played by it lies even.
static void
evens_a_speaker_out(void** state) {
  (void)state;
  record("desk.wav", &desk);
  put_click();
  Run  made = run("gauge speaker desk.wav --save desk");
  bool good =
    run_check(!made.status && strstr(made.out, "--speaker desk.speaker.ini"),
              &made,
              "saved");
  run_clear(&made);
  made = run_shell("\"$VOLLEYWEAVE\" convert -q --gain 0 --speaker desk "
                   "click.wav -o made.wav");
  good &= run_check(!made.status, &made, "used");
  run_clear(&made);
  for (size_t i = 0; i < desk.n_peaks; ++i) {
    const double hz = desk.peaks[i].hz;
    const double there =
      louder_db("made.wav", "click.wav", hz) + speakers_db(&desk, hz);
    const double beside =
      louder_db("made.wav", "click.wav", 7000.0) + speakers_db(&desk, 7000.0);
    good &= check_at_most(fabs(there - beside), 3.0, "at %.0f Hz", hz);
  }
  // It is not written over unasked, if somebody changed it.
  folder_put("desk.speaker.ini", KITCHEN, strlen(KITCHEN));
  const RunCase again = {
    "gauge speaker desk.wav --save desk", 1, NULL, "desk.speaker.ini"};
  good &= run_gave(run(again.line), &again);
  assert_true(good);
}

int
main(int argc, char** argv) {
#define IN_FOLDER(test)                                                        \
  cmocka_unit_test_setup_teardown(test, enter, run_leave_folder)
  static const struct CMUnitTest tests[] = {
    IN_FOLDER(writes_a_sweep_as_the_board_plays_it),
    IN_FOLDER(finds_corner_and_resonances),
    IN_FOLDER(says_little_of_many),
    IN_FOLDER(packs_a_transducer),
    IN_FOLDER(says_what_is_wrong),
    IN_FOLDER(makes_sounds_for_it),
    IN_FOLDER(serves_in_lists_and_rehearsals),
    IN_FOLDER(refuses_files_of_no_speaker),
    IN_FOLDER(evens_a_speaker_out),
  };
  run_set_up(argc, argv);
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  run_tear_down();
  return failed;
}
