// The command line: wrong ones are refused in one line that says what to do,
// before anything is read or written.

#include "support/check.h"
#include "support/run.h"
#include "support/wav_files.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

// A command line, and a word that must stand in the one line of answer.
typedef struct {
  const char* line;
  const char* names; // the option or file that is at fault
  const char* remedy;
} Case;

// The take's bytes, to see that nothing touches it.
static char*  take_bytes;
static size_t n_take_bytes;

static bool
check_refused(const Case* refused) {
  Run        got = run(refused->line);
  const bool good = got.status == 2 && got.n_out == 0U &&
                    is_one_line_with(got.err, refused->names) &&
                    strstr(got.err, refused->remedy) &&
                    count_files(".") == 1U &&
                    has_bytes("zap.wav", take_bytes, n_take_bytes);
  run_check(good, &got, refused->line);
  if (!good) {
    fprintf(stderr, "  wanted: %s ... %s\n", refused->names, refused->remedy);
  }
  run_clear(&got);
  return good;
}

static bool
check_all(const Case* cases, size_t n_cases) {
  bool good = true;
  for (size_t i = 0; i < n_cases; ++i) {
    good &= check_refused(&cases[i]);
  }
  return good;
}

#define CHECK_ALL(cases)                                                       \
  assert_true(check_all(cases, sizeof(cases) / sizeof((cases)[0])))

static void
test_fire_rate(void** state) {
  (void)state;
  static const Case cases[] = {
    {"loop --fire-rate 0 zap.wav", "--fire-rate 0", "0.5 to 40"},
    {"loop --fire-rate -1 zap.wav", "--fire-rate -1", "0.5 to 40"},
    {"loop --fire-rate=-1 zap.wav", "--fire-rate -1", "0.5 to 40"},
    {"loop --fire-rate 1e9 zap.wav", "--fire-rate 1e9", "0.5 to 40"},
    {"loop --fire-rate 9x zap.wav", "--fire-rate 9x", "540rpm"},
    {"loop --fire-rate 9,5 zap.wav", "--fire-rate 9,5", "write 9.5"},
    {"loop --fire-rate nan zap.wav", "--fire-rate nan", "9/s"},
    {"loop --fire-rate inf zap.wav", "--fire-rate inf", "9/s"},
    {"loop --fire-rate 0x9 zap.wav", "--fire-rate 0x9", "9/s"},
    {"loop --fire-rate= zap.wav", "--fire-rate", "9/s"},
    {"loop --fire-rate zap.wav", "--fire-rate zap.wav", "9/s"},
    {"loop zap.wav --fire-rate", "--fire-rate", "9/s"},
    {"loop --fire-rate --json zap.wav", "--fire-rate", "9/s"},
    {"loop --fire-rate 9 --fire-rate 9 zap.wav", "--fire-rate", "give it once"},
    {"loop --fire-rate 600 zap.wav",
     "more than 40 shots per second",
     "600/min"},
    {"loop --fire-rate 110 zap.wav", "--fire-rate 110: more than 40", "110ms"},
    {"loop --fire-rate 0ms zap.wav", "--fire-rate 0ms", "0.5 to 40"},
    {"loop --fire-rate 9..5 zap.wav", "--fire-rate 9..5", "9/s"},
    {"loop --fire-rate 40.01 zap.wav", "--fire-rate 40.01", "40"},
    {"loop --fire-rate 0.49 zap.wav", "--fire-rate 0.49", "0.5 to 40"},
  };
  CHECK_ALL(cases);
}

static void
test_numbers(void** state) {
  (void)state;
  static const Case cases[] = {
    // counts
    {"loop --shots 0 zap.wav", "--shots 0", "1 to 64"},
    {"loop --shots 65 zap.wav", "--shots 65", "1 to 64"},
    {"loop --shots 1.5 zap.wav", "--shots 1.5", "whole"},
    {"loop --shots x zap.wav", "--shots x", "3"},
    {"loop --burst 0 zap.wav", "--burst 0", "1 to 1000"},
    {"loop --burst 1001 zap.wav", "--burst 1001", "1 to 1000"},
    {"loop --burst 3x zap.wav", "--burst 3x", "write 3"},
    {"loop --seed -1 zap.wav", "--seed -1", "0 to 18446744073709551615"},
    {"loop --seed 1.5 zap.wav", "--seed 1.5", "whole"},
    {"loop --seed 18446744073709551616 zap.wav", "--seed", "0 to"},
    // measures
    {"loop --valley 2 zap.wav", "--valley 2", "3 to 40 dB"},
    {"loop --valley 41dB zap.wav", "--valley 41dB", "3 to 40 dB"},
    {"loop --valley deep zap.wav", "--valley deep", "none"},
    {"loop --valley 12Hz zap.wav", "--valley 12Hz", "12dB"},
    {"loop --detune 5000 zap.wav", "--detune 5000", "0 to 100 cents"},
    {"loop --detune -5 zap.wav", "--detune -5", "0 to 100 cents"},
    {"loop --level-spread 7 zap.wav", "--level-spread 7", "0 to 6 dB"},
    {"loop --cycle-max 0 zap.wav", "--cycle-max 0", "0.05 to 60 seconds"},
    {"loop --cycle-max 61s zap.wav", "--cycle-max 61s", "0.05 to 60 seconds"},
    {"loop --cycle-max 2h zap.wav", "--cycle-max 2h", "2s"},
    {"inspect --seconds-max 0 zap.wav", "--seconds-max 0", "0.005"},
    // format
    {"shot --sample-rate 44.1 zap.wav", "--sample-rate 44.1", "44.1kHz"},
    {"shot --sample-rate 3999 zap.wav", "--sample-rate 3999", "4000 to 384000"},
    {"shot --sample-rate 385kHz zap.wav", "385kHz", "4000 to 384000"},
    {"shot --sample-rate 22050.5 zap.wav", "22050.5", "whole"},
    {"shot --sample-rate 1e300 zap.wav", "1e300", "4000 to 384000"},
    {"shot --bits 12 zap.wav", "--bits 12", "8, 16, 24 or float"},
    {"shot --bits 32 zap.wav", "--bits 32", "float"},
    {"shot --bits flot zap.wav", "--bits flot", "float"},
    {"shot --channels 0 zap.wav", "--channels 0", "1, 2"},
    {"shot --channels 6 zap.wav", "--channels 6", "1, 2"},
    {"shot --dither noise zap.wav", "--dither noise", "tpdf or none"},
  };
  CHECK_ALL(cases);
}

static void
test_level(void** state) {
  (void)state;
  static const Case cases[] = {
    {"shot --loudness 20 zap.wav", "--loudness 20", "+20 LUFS"},
    {"shot --loudness=+20 zap.wav", "--loudness +20", "-60 to 0"},
    {"shot --loudness 0.1 zap.wav", "--loudness 0.1", "full scale"},
    {"shot --loudness -200 zap.wav", "--loudness -200", "-60 to 0"},
    {"loop --loudness=-60.1 zap.wav", "--loudness -60.1", "-60 to 0"},
    {"loop --loudness -1e999 zap.wav", "--loudness -1e999", "-60 to 0"},
    {"shot --loudness nan zap.wav", "--loudness nan", "loudest or keep"},
    {"shot --loudness -inf zap.wav", "--loudness", "--loudness -16"},
    {"shot --loudness -16dBFS zap.wav", "\"dBFS\" is no unit", "-16LUFS"},
    {"shot --loudness -16,5 zap.wav", "--loudness -16,5", "write -16.5"},
    {"shot --loudness lodest zap.wav", "--loudness lodest", "loudest"},
    {"shot --loudness kep zap.wav", "--loudness kep", "keep"},
    {"shot --loudness zap.wav", "--loudness zap.wav", "-16"},
    {"convert zap.wav --loudness", "--loudness", "--loudness -16"},
    {"shot --gain 61 zap.wav", "--gain 61", "-60 to 60 dB"},
    {"shot --gain nan zap.wav", "--gain nan", "6dB"},
    {"shot --gain loud zap.wav", "--gain loud", "6dB"},
    {"shot --gain 3 --loudness -16 zap.wav", "--gain", "one of them"},
    {"loop --loudness keep --gain 3 zap.wav", "--gain", "one of them"},
    {"shot --ceiling 3 zap.wav", "--ceiling 3", "a board clips"},
    {"shot --ceiling +3 zap.wav", "--ceiling +3", "-20 to 0"},
    {"shot --ceiling -21 zap.wav", "--ceiling -21", "-20 to 0 dBTP"},
    {"shot --ceiling nan zap.wav", "--ceiling nan", "-1dBTP"},
    {"shot --limiting-max -1 zap.wav", "--limiting-max -1", "0 to 12 dB"},
    {"shot --limiting-max 12.1 zap.wav", "--limiting-max 12.1", "0 to 12 dB"},
    {"shot --limiting-max none zap.wav", "--limiting-max none", "3dB"},
    {"shot --speaker 35mm zap.wav", "--speaker 35mm", "28mm, 40mm or 57mm"},
    {"shot --speaker 0mm zap.wav", "--speaker 0mm", "28mm, 40mm or 57mm"},
    {"shot --speaker 40 zap.wav", "--speaker 40", "40mm"},
    {"shot --speaker 0 zap.wav", "--speaker 0", "350Hz"},
    {"shot --speaker 0Hz zap.wav", "--speaker 0Hz", "50 to 2000 Hz"},
    {"shot --speaker 49Hz zap.wav", "--speaker 49Hz", "50 to 2000 Hz"},
    {"shot --speaker 2.1kHz zap.wav", "--speaker 2.1kHz", "50 to 2000 Hz"},
    {"shot --speaker nan zap.wav", "--speaker nan", "40mm, 350Hz or none"},
    {"shot --speaker big zap.wav", "--speaker big", "40mm, 350Hz or none"},
    {"loop --loud-as both zap.wav", "--loud-as both", "shot or burst"},
    {"loop --loud-as brst zap.wav", "--loud-as brst", "burst"},
    {"shot --loud-as burst zap.wav", "--loud-as burst", "volleyweave loop"},
    {"convert --loud-as shot zap.wav", "--loud-as", "volleyweave shot"},
    {"inspect --loudness -16 zap.wav", "--loudness", "volleyweave shot"},
    {"convert --fire-rate 9 zap.wav", "--fire-rate", "volleyweave loop"},
    {"convert --part shot zap.wav", "--part", "volleyweave shot"},
    {"convert -o x.wav zap.wav two.wav", "-o x.wav", "folder"},
    {"convert", "convert", "no take is given"},
  };
  CHECK_ALL(cases);
}

static void
test_options(void** state) {
  (void)state;
  static const Case cases[] = {
    // none given, unknown, in the wrong place
    {"inspect", "inspect", "zap.wav"},
    {"shot", "shot", "zap.wav"},
    {"loop --json", "loop", "zap.wav"},
    {"loop --", "loop", "zap.wav"},
    {"loop - --fire-rate 9", "-", "save it as a file"},
    {"loop --wobble zap.wav", "--wobble", "help loop"},
    {"loop -x zap.wav", "-x", "help loop"},
    {"loop --fire-rat 9 zap.wav", "--fire-rat", "--fire-rate"},
    {"loop --fire 9 zap.wav", "--fire", "--fire-rate"},
    {"loop --jsno zap.wav", "--jsno", "--json"},
    {"loop --json=yes zap.wav", "--json", "alone"},
    {"loop --json --json zap.wav", "--json", "give it once"},
    {"loop -qq zap.wav", "--quiet", "give it once"},
    {"loop -q --quiet zap.wav", "--quiet", "give it once"},
    {"loop -o a --output=b zap.wav", "--output", "give it once"},
    {"loop -form pieces zap.wav", "-form", "--form"},
    {"loop -rate 9 zap.wav", "-rate", "--fire-rate"},
    {"loop -qx zap.wav", "-x", "help loop"},
    {"loop zap.wav -o", "--output", "sounds"},
    {"shot --fire-rate 9 zap.wav", "--fire-rate", "volleyweave loop"},
    {"inspect --bits 8 zap.wav", "--bits", "volleyweave shot"},
    {"shot --take-turns zap.wav", "--take-turns", "volleyweave loop"},
    // words
    {"loop --form burst zap.wav", "--form burst", "--burst 3"},
    {"loop --form pices zap.wav", "--form pices", "pieces"},
    {"loop --form x zap.wav", "--form x", "loop-points"},
    {"loop --tail chok zap.wav", "--tail chok", "choke"},
    {"loop --tail 5 zap.wav", "--tail 5", "overlap or choke"},
    {"loop --part lop zap.wav", "--part lop", "loop"},
    {"loop --part x zap.wav", "--part x", "ring-out"},
  };
  CHECK_ALL(cases);
}

static void
test_contradictions(void** state) {
  (void)state;
  static const Case cases[] = {
    {"loop --form pieces --burst 3 zap.wav", "--burst", "leave --form out"},
    {"loop --part burst zap.wav", "--part burst", "--burst 3"},
    {"loop --part loop --burst 3 zap.wav", "--part loop", "leave --burst out"},
    {"loop --part run-in --form whole-file zap.wav",
     "--part runin",
     "leave --form out"},
    {"shot --part loop zap.wav", "--part loop", "use `loop`"},
    {"loop --shots 8 --fire-rate 2 --cycle-max 2 zap.wav",
     "--shots",
     "--cycle-max"},
    {"loop --fire-rate 2 --cycle-max 100ms zap.wav",
     "--fire-rate",
     "--cycle-max"},
    {"loop --take-turns --shots 3 zap.wav two.wav", "--shots", "multiple of 2"},
    // where the files go
    {"loop -o out.wav zap.wav", "-o out.wav", "--part"},
    {"loop -o - zap.wav", "-o -", "--part"},
    {"shot -o out.wav zap.wav two.wav", "-o out.wav", "folder"},
    {"loop --part loop -o out.wav zap.wav two.wav", "-o out.wav", "folder"},
    {"loop -o zap.wav zap.wav", "-o zap.wav", "--part"},
    {"shot -o out.mp3 zap.wav", "out.mp3", ".wav"},
    {"shot --output= zap.wav", "--output", "sounds"},
    {"shot -o a\xFF zap.wav", "--output a\\xFF", "UTF-8"},
    // names that meet
    {"loop zap.wav zap.wav", "zap.wav", "rename"},
    {"shot zap.wav other/ZAP.flac", "other/ZAP.flac", "rename"},
    {"loop --take-turns zap.wav ./zap.wav", "./zap.wav", "rename"},
  };
  CHECK_ALL(cases);
}

/// A name is shown as a shell takes it.
static void
test_first_word(void** state) {
  (void)state;
  static const RunCase wanted = {
    "a;b.wav", 2, NULL, "did you mean `volleyweave loop 'a;b.wav'`?"};
  wav_file_write(&(WavFile){.path = wanted.line, .seconds = 1.0});
  assert_true(run_gave(run(wanted.line), &wanted));
  assert_int_equal(unlink(wanted.line), 0);
}

static void
test_first_tries(void** state) {
  (void)state;
  static const Case cases[] = {
    {"zap.wav", "zap.wav: a file", "did you mean `volleyweave loop zap.wav`?"},
    {"zap.wav inspect",
     "zap.wav: the",
     "did you mean `volleyweave inspect zap"},
    {"loop --burst zap.wav", "zap.wav: a file, not", "as in --burst 3"},
    {"loop --board wav-22k zap.wav", "wav-22k: no", "wav-22k-mono?"},
    {"rehearse zap.wav", "--hold, -o and --board are", "-o held.wav`"},
    {"rehearse zap.wav -o no.wav", "--hold and --board are", "-o held.wav`"},
    {"rehearse zap.wav --hold 1s", "-o and --board are", "-o held.wav`"},
    {"gone.wav", "gone.wav: no command", "volleyweave loop zap.wav"},
    {"./zap.wav --json", "./zap.wav: a file", "volleyweave loop ./zap.wav"},
    {".", ".: a folder", "*.wav"},
    {"--fire-rate 9 zap.wav", "--fire-rate", "the command comes before"},
    {"-o x zap.wav", "-o", "the command comes before"},
    {"wobble zap.wav", "wobble", "`volleyweave help` lists"},
    {"pack zap.wav", "zap.wav", "name the folder that it lies in"},
    {"lop zap.wav", "lop", "`volleyweave loop`"},
    {"inspct zap.wav", "inspct", "`volleyweave inspect`"},
    {"halp", "halp", "`volleyweave help`"},
    {"help wobble", "wobble", "`volleyweave help` lists"},
    {"strobe zap.wav", "strobe", "volleyweave loop"},
    {"flash 9", "flash", "lamp"},
    {"light 9", "light", "lamp"},
    {"555 9", "555", "volleyweave lamp"},
    {"resample zap.wav", "resample", "volleyweave convert FILE"},
    {"normalize zap.wav", "normalize", "volleyweave convert FILE"},
    {"convrt zap.wav", "convrt", "`volleyweave convert`"},
    {"cut zap.wav", "cut", "volleyweave shot"},
    {"trim zap.wav", "trim", "volleyweave shot"},
    {"info zap.wav", "info", "volleyweave inspect"},
    {"analyze zap.wav", "analyze", "volleyweave inspect"},
    {"autofire zap.wav", "autofire", "volleyweave loop"},
    {"rapid zap.wav", "rapid", "volleyweave loop"},
    {"fire zap.wav", "fire", "volleyweave loop"},
    {"burst zap.wav", "burst", "--burst 3"},
    {"play zap.wav", "play", "`volleyweave tryout TAKE`"},
    {"preview zap.wav", "preview", "`volleyweave rehearse LOOP`"},
    {"loop --rate 9 zap.wav", "--rate", "--fire-rate (shots per second)"},
    {"loop --rate 9 zap.wav", "--rate", "--sample-rate"},
    {"loop --speed 9 zap.wav", "--speed", "--fire-rate"},
    {"loop --rpm 540 zap.wav", "--rpm", "--fire-rate 540rpm"},
    {"loop --period 110 zap.wav", "--period", "--fire-rate 110ms"},
    {"loop --strobe zap.wav", "--strobe", "lamp"},
    {"loop --crossfade 5 zap.wav", "--crossfade", "crossfades"},
    {"loop --normalize zap.wav", "--normalize", "--loudness -16"},
    {"loop --volume 3 zap.wav", "--volume", "--gain"},
    {"shot --peak -1 zap.wav", "--peak", "--ceiling -1"},
    {"shot --limiter 3 zap.wav", "--limiter", "--limiting-max 3"},
    {"shot --highpass 300 zap.wav", "--highpass", "--speaker 40mm"},
    {"loop --pause 3 zap.wav", "--pause", "--gap"},
    {"loop --repeat 3 zap.wav", "--repeat", "--burst"},
    {"loop --pitch 3 zap.wav", "--pitch", "--detune"},
    {"loop --random zap.wav", "--random", "--level-spread"},
    {"loop --alternate zap.wav", "--alternate", "--take-turns"},
    {"shot --mono zap.wav", "--mono", "--channels 1"},
    {"shot --sr 22050 zap.wav", "--sr", "--sample-rate"},
    {"shot --bit-depth 8 zap.wav", "--bit-depth", "--bits"},
    {"shot --out x zap.wav", "--out", "--output"},
    {"shot --overwrite zap.wav", "--overwrite", "--force"},
    {"shot --mp3 zap.wav", "--mp3", "WAV"},
  };
  CHECK_ALL(cases);
}

// Control characters and direction marks in a name must not reach a terminal.
static void
test_unsafe_names(void** state) {
  (void)state;
  static const Case cases[] = {
    {"a\x1B[31m", "a\\x1B[31m", "help"},
    {"a\x7F", "a\\x7F", "help"},
    {"a\xE2\x80\xAE", "a\\xE2\\x80\\xAE", "help"},
    {"a\nb", "a\\x0Ab", "help"},
    {"loop --fire-rate 9\x1B[2J zap.wav", "9\\x1B[2J", "9/s"},
  };
  CHECK_ALL(cases);
}

// What is no fault: help, versions, every way of writing an option.
static void
test_good_lines(void** state) {
  (void)state;
  static const struct {
    const char* line;
    const char* prints;
  } cases[] = {
    {"help", "volleyweave loop --fire-rate 9/s zap.wav"},
    {"--help", "inspect"},
    {"-h", "inspect"},
    {"help help", "inspect"},
    {"help shot", "--sample-rate HZ"},
    {"help loop", "--burst N"},
    {"loop --help", "--burst N"},
    {"loop --fire-rate 9x -h", "--burst N"},
    {"loop -qh", "--burst N"},
    {"inspect zap.wav --help", "--seconds-max"},
    {"--version", "volleyweave 0."},
    {"loop --version", "volleyweave 0."},
    {"inspect -v zap.wav", "Found in zap.wav"},
    {"inspect -v -- zap.wav", "Found in zap.wav"},
    {"loop -v -n zap.wav --fire-rate 9", "9 shots per second asked (9)"},
    {"loop -v --fire-rate=9/s zap.wav -n", "9 shots per second asked (9/s)"},
    {"loop -v -n --fire-rate 9Hz zap.wav", "9 shots per second asked (9Hz)"},
    {"loop -v -n --fire-rate 540/min zap.wav",
     "9 shots per second asked (540/min)"},
    {"loop -v -n --fire-rate 540rpm zap.wav",
     "9 shots per second asked (540rpm)"},
    {"loop -v -n --fire-rate 110ms zap.wav", "9.09091 shots per second asked"},
    {"loop -v -n --fire-rate .5e1 zap.wav", "5 shots per second asked"},
    {"loop -v -n --valley 12dB zap.wav", "12 dB asked"},
    {"loop -v -n --valley none zap.wav", "none asked"},
    {"loop -v -n --cycle-max 500ms zap.wav", "Lamp"},
    {"loop -v -n --detune 20cents --level-spread 1dB zap.wav", "6 shots"},
    {"loop -v -n --seed 18446744073709551615 zap.wav", "Lamp"},
    {"loop -v -n --tail choke --dither none zap.wav", "Lamp"},
    {"loop -vnf -ofolder zap.wav", "folder/zap.loop.wav"},
    {"loop -vno folder/ zap.wav", "folder/zap.loop.wav"},
    {"loop -v -n --part runin zap.wav", "zap.runin.wav"},
    {"loop -v -n --part ring-out zap.wav", "zap.ringout.wav"},
    {"shot -v -n --sample-rate 22.05kHz zap.wav", "22050 Hz, 16-bit PCM"},
    {"shot -v -n --sample-rate 22050Hz zap.wav", "22050 Hz, 16-bit PCM"},
    {"shot -v -n --channels 2 --bits 24 zap.wav", "stereo, 44100 Hz, 24-bit"},
    {"shot -v -n --bits float -o some.wav zap.wav", "some.wav"},
    {"help convert", "--loudness LUFS"},
    {"shot -v -n --loudness -30 zap.wav", "-30.0 LUFS after"},
    {"shot -v -n --loudness=-30 zap.wav", "-30.0 LUFS after"},
    {"shot -v -n --loudness -30LUFS zap.wav", "-30.0 LUFS after"},
    {"shot -v -n --loudness loudest zap.wav", "Level"},
    {"shot -v -n --loudness keep zap.wav", "limiting     none"},
    {"shot -v -n --gain -3dB zap.wav", "-3.0 dB"},
    {"shot -v -n --gain=-.5 zap.wav", "-0.5 dB"},
    {"shot -v -n --ceiling -6dBTP zap.wav", "the ceiling is -6.0 dBTP"},
    {"shot -v -n --ceiling 0 zap.wav", "the ceiling is 0.0 dBTP"},
    {"shot -v -n --limiting-max 0 zap.wav", "limiting     none"},
    {"shot -v -n --limiting-max 12dB zap.wav", "12.0 dB at most"},
    {"shot -v -n --speaker 15mm zap.wav", "corner of 800 Hz"},
    {"shot -v -n --speaker 20mm zap.wav", "corner of 800 Hz"},
    {"shot -v -n --speaker 28mm zap.wav", "corner of 550 Hz"},
    {"shot -v -n --speaker 40mm zap.wav", "corner of 375 Hz"},
    {"shot -v -n --speaker 57mm zap.wav", "corner of 400 Hz"},
    {"shot -v -n --speaker 350Hz zap.wav", "corner of 350 Hz"},
    {"shot -v -n --speaker 0.35kHz zap.wav", "corner of 350 Hz"},
    {"shot -v -n --speaker none zap.wav", "none given"},
    {"shot -v -n --loud-as shot zap.wav", "Level"},
    {"loop -v -n --loud-as burst --loudness -20 zap.wav",
     "in the burst -20.0 LUFS"},
    {"convert -v -n --loudness -30 zap.wav", "volleyweave-out/zap.wav"},
    {"loop -v -n --fire-rate 9 zap.wav", "seizures"},
    {"loop -n --fire-rate 9 zap.wav", "ONE file while held: add --form whole"},
    {"loop -n --fire-rate 9 zap.wav", ".loop.wav (middle)"},
    {"loop -n --form whole-file zap.wav", ".loop.wav (while"},
    {"loop -n --loudness -60 zap.wav", "shot -60.0 LUFS, burst"},
    {"shot -n zap.wav", "To hear it: volleyweave tryout zap.wav\nNext: "},
    {"loop -v -n --fire-rate 9 zap.wav",
     "To hear it: volleyweave tryout --fire-rate 9"},
  };
  bool good = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    Run        got = run(cases[i].line);
    const bool fine = got.status == 0 && strstr(got.out, cases[i].prints) &&
                      count_files(".") == 1U;
    good &= run_check(fine, &got, cases[i].line);
    run_clear(&got);
  }
  assert_true(good);
}

/// Commands that are printed start as the program was called: by a path, too.
static void
test_called_by_a_path(void** state) {
  (void)state;
  Run made = run_shell(
    "p=$VOLLEYWEAVE; \"$p\" shot -n zap.wav | grep -qF \"Next: $p loop\" && "
    "\"$p\" help loop | grep -qF \"Example: $p loop\" && \"$p\" play 2>&1 | "
    "grep -qF \"\\`$p tryout\"");
  assert_true(run_check(!made.status, &made, "called by a path"));
  run_clear(&made);
}

/// Whether a command ends with a next one that has these words, and that works.
static bool
check_next(const char* line, const char* words) {
  char  next[400];
  Run   made = run(line);
  char* at = strstr(made.out, ": volleyweave ");
  bool  good = at && strstr(at, words);
  if (good) {
    at[strcspn(at, "\n")] = '\0';
    (void)snprintf(next, sizeof(next), "%s -n", at + strlen(": volleyweave "));
  }
  good = run_check(good, &made, line);
  run_clear(&made);
  if (good) {
    Run second = run(next);
    good = run_check(second.status == 0, &second, next);
    run_clear(&second);
  }
  return good;
}

// The next command makes what this one made and changes one thing, or shows how
// it sounds; of a ladder no page does.
static void
test_next(void** state) {
  (void)state;
  static const char* const kept[][2] = {
    {"loop -n --fire-rate 9/s --lamp-track --channels 2 zap.wav",
     "--fire-rate 9/s --lamp-track --channels 2 zap.wav"},
    {"loop -n --valley 12 --speaker 40mm --detune 20 --sample-rate 22050 "
     "zap.wav",
     " --valley 12 --speaker 40mm --detune 20 --sample-rate 22050 "},
    {"loop -n --valley none --gain=-.5 zap.wav", "--valley none --gain=-.5 "},
    {"loop -n --board wav-22k-mono --run-in-max 500ms zap.wav",
     "--run-in-max 500ms --board wav-22k-mono zap.wav"},
    {"shot -n --speaker 40mm --bits 8 --part shot --plot zap.svg zap.wav",
     "loop --fire-rate 9/s --speaker 40mm --bits 8 zap.wav"},
    {"inspect --seconds-max 300 zap.wav", "--seconds-max 300 zap.wav"},
    {"loop -n --burst 3 zap.wav", "tryout --fire-rate 8/s --burst 3 zap.wav"},
    {"loop -n --form loop-points zap.wav", " --form loop-points zap.wav"},
    {"loop -n --slot 6 --part loop --board wav-44k-mono zap.wav",
     " --board wav-44k-mono --slot 6 zap.wav"},
    {"loop -n --part loop zap.wav", "tryout --fire-rate 8/s zap.wav"},
  };
  bool good = true;
  for (size_t i = 0; i < sizeof(kept) / sizeof(kept[0]); ++i) {
    good &= check_next(kept[i][0], kept[i][1]);
  }
  Run made = run("loop -n --fire-rate 6,8 --burst-seconds 1 zap.wav");
  good &= run_check(
    made.status == 0 && !strstr(made.out, ": volleyweave "), &made, "ladder");
  run_clear(&made);
  assert_true(good);
}

// What an option means to one command alone is not told of another: a pack is
// no single file, a check needs a board, a delivery reads no take.
static void
test_help_of_command(void** state) {
  (void)state;
  static const struct {
    const char* line;
    const char* prints;
    const char * not ;
  } cases[] = {
    {"help pack --verbose", "folder of the packs", "a file, or -"},
    {"help pack --verbose",
     "for example wav-22k-mono\n",
     "or none\n      --overrun-max"},
    {"help check --verbose", "for example wav-22k-mono\n", "or none"},
    {"help deliver --verbose",
     "files that were not written here",
     "never a take"},
    {"help deliver --verbose", "would be removed", "check and report"},
    {"help lamp --verbose", "replace files not made here\n", "never a take"},
    {"help lamp --verbose", "wav-22k-mono, none ...", "longest take"},
    {"help rehearse --verbose", "a file, or -", "volleyweave-out"},
    {"help tryout --verbose", "tryout.html)", "volleyweave-out"},
    {"help shot --verbose", "a file, or -", "folder of the packs"},
    {"help shot --verbose", "never a take", "replace files not made here\n"},
  };
  bool good = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    Run got = run(cases[i].line);
    good &= run_check(strstr(got.out, cases[i].prints) &&
                        !strstr(got.out, cases[i].not ),
                      &got,
                      cases[i].line);
    run_clear(&got);
  }
  assert_true(good);
}

// Without arguments: a short help with examples, but nothing was done.
static void
test_no_arguments(void** state) {
  (void)state;
  Run got = run("");
  assert_true(run_check(got.status == 2 && !got.n_out &&
                          strstr(got.err, "loop --fire-rate 9/s zap.wav"),
                        &got,
                        ""));
  run_clear(&got);
}

// A number has a point in every locale.
static void
test_decimal_comma(void** state) {
  (void)state;
  static const Case refused = {
    "loop --fire-rate 9,5 zap.wav", "--fire-rate 9,5", "write 9.5"};
  assert_int_equal(setenv("LC_ALL", "de_DE.UTF-8", 1), 0);
  assert_true(check_refused(&refused));
  Run got = run("loop -v -n --fire-rate 9.5 zap.wav");
  assert_true(
    run_check(strstr(got.out, "9.5 shots per second asked"), &got, "9.5"));
  run_clear(&got);
  assert_int_equal(unsetenv("LC_ALL"), 0);
}

int
main(int argc, char** argv) {
  run_set_up(argc, argv);
  wav_file_write(&(WavFile){.path = "zap.wav", .seconds = 1.0});
  take_bytes = read_file("zap.wav", &n_take_bytes);
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_called_by_a_path),
    cmocka_unit_test(test_fire_rate),
    cmocka_unit_test(test_numbers),
    cmocka_unit_test(test_level),
    cmocka_unit_test(test_options),
    cmocka_unit_test(test_contradictions),
    cmocka_unit_test(test_first_word),
    cmocka_unit_test(test_first_tries),
    cmocka_unit_test(test_unsafe_names),
    cmocka_unit_test(test_good_lines),
    cmocka_unit_test(test_next),
    cmocka_unit_test(test_help_of_command),
    cmocka_unit_test(test_no_arguments),
    cmocka_unit_test(test_decimal_comma),
  };
  const int n_failed = cmocka_run_group_tests(tests, NULL, NULL);
  free(take_bytes);
  run_tear_down();
  return n_failed;
}
