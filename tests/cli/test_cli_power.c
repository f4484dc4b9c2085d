// What loops and packs take from amplifier and cell, measured on the files, and
// a cell that is emptied step by step.

#include "support/check.h"
#include "support/measure.h"
#include "support/meter.h"
#include "support/reports.h"
#include "support/riff.h"
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

#define LOOP "loop --force --form whole-file --fire-rate 9/s "
#define KNOWN "--power-supply 3.7V --impedance 4ohm "
#define AMPLIFIER "--efficiency 85% --quiescent-current 20mA "
#define CELL "--cell-capacity 600mAh --firing-share 10% "
#define WIRED "--cell-resistance 100mohm --wire-resistance 50mohm "
#define NEAR 0.01 // a share

static int
enter(void** state) {
  const int failed = run_enter_folder(state);
  wav_file_write(
    &(WavFile){.path = "zap.wav", .fill = FILL_SHOT, .seconds = 1.0});
  return failed;
}

static bool
near(const char* what, double found, double wanted) {
  return check_at_most(
    fabs(found - wanted), NEAR * fabs(wanted), "%s, of %g", what, wanted);
}

static VwSound
read_loop(const char* path) {
  size_t        n_bytes = 0;
  char* const   data = read_file(path, &n_bytes);
  const VwBytes bytes = {(unsigned char*)data, n_bytes};
  Riff          riff;
  VwSound       sound = {0};
  assert_true(data && riff_parse(&bytes, &riff));
  sound = riff_sound(&riff, &bytes);
  free(data);
  return sound;
}

/// What flows from the supply in each millisecond of a loop.
static double*
currents(const VwSound* loop, const json_t* of, size_t* n) {
  const double  rate_hz = loop->rate_hz;
  const double  on_s = number_at(of, "lamp.on_ms") / 1000.0;
  const double  shots = number_at(of, "loop.shots");
  const double  period_s = (double)loop->n_frames / shots / rate_hz;
  double* const amps = calloc(loop->n_frames, sizeof(double));
  *n = (size_t)(1000.0 * (double)loop->n_frames / rate_hz);
  assert_non_null(amps);
  for (size_t i = 0; i < *n; ++i) {
    const size_t from = i * loop->n_frames / *n;
    const size_t to = (i + 1U) * loop->n_frames / *n;
    double       speaker_w = 0.0;
    for (size_t k = from; k < to; ++k) {
      const double volt = 3.7 * (double)loop->values[k];
      speaker_w += volt * volt / 4.0 / (double)(to - from);
    }
    const double at_s = fmod(0.001 * (double)i, period_s);
    amps[i] = speaker_w / 0.85 / 3.7 + 0.020 + (at_s < on_s ? 0.060 : 0.0);
  }
  return amps;
}

/// How long a cell of 0.6 Ah lasts, in hours, when the prop fires for 2 s of
/// every 20, a millisecond at a time.
static double
emptied_h(const double* amps, size_t n) {
  double as = 0.6 * 3600.0;
  size_t ms = 0;
  for (; as > 0.0; ++ms) {
    const size_t at = ms % 20000U;
    as -= 0.001 * (at < 2000U ? amps[at % n] : 0.020);
  }
  return (double)ms / 3.6e6;
}

static void
tells_how_long_a_cell_lasts(void** state) {
  (void)state;
  json_t* const of = run_json(
    LOOP KNOWN AMPLIFIER CELL WIRED "--lamp-current 60mA --json zap.wav", 0);
  VwSound       loop = read_loop("volleyweave-out/zap.loop.wav");
  size_t        n = 0;
  double* const amps = currents(&loop, of, &n);
  const double peak = pow(10.0, meter_true_peak_dbtp(&loop, METER_ITSELF) / 20);
  const double rms = measure_rms(&loop);
  const double mean_w = 3.7 * 3.7 * rms * rms / 4.0;
  const double peak_w = 3.7 * 3.7 * peak * peak / 4.0;
  const double peak_a = peak_w / 0.85 / 3.7 + 0.080;
  const bool   good =
    near("hours", number_at(of, "power.cell_hours"), emptied_h(amps, n)) &&
    near("mean", number_at(of, "power.speaker_mean_w"), mean_w) &&
    near("peak", number_at(of, "power.speaker_peak_w"), peak_w) &&
    near("current", number_at(of, "power.supply_peak_a"), peak_a) &&
    near("left", number_at(of, "power.cell_peak_v"), 3.7 - 0.15 * peak_a) &&
    value_at(of, "cautions.wiring");
  free(amps);
  vw_sound_clear(&loop);
  json_decref(of);
  assert_true(good);
}

/// What is not known is not told of, and what makes no sense is refused.
static void
tells_what_is_known(void** state) {
  (void)state;
  static const RunCase cases[] = {
    {LOOP KNOWN "zap.wav", 0, "W at the peak\n", NULL},
    {LOOP KNOWN AMPLIFIER "zap.wav", 0, "A drawn\n", NULL},
    {LOOP KNOWN AMPLIFIER CELL "zap.wav", 0, "hours, firing for 10 %", NULL},
    {LOOP KNOWN AMPLIFIER WIRED "zap.wav", 0, "V left at the peaks", NULL},
    {LOOP KNOWN "-v zap.wav", 0, "W over 10 ms", NULL},
    {LOOP KNOWN AMPLIFIER WIRED "--supply-min 3.6 zap.wav",
     0,
     "V left",
     "pull the supply to 3.5"},
    {LOOP KNOWN AMPLIFIER WIRED "--supply-min 3 zap.wav", 0, "V left", NULL},
    {LOOP KNOWN CELL "--print-section zap.wav",
     0,
     "# Under [power]: firing-share = 10%",
     "CAUTION"},
    {LOOP CELL "zap.wav", 2, NULL, "give --power-supply and --impedance"},
    {"loop --burst-seconds 2 --fire-rate 6,9 " KNOWN "zap.wav",
     2,
     NULL,
     "of one loop"},
    {LOOP KNOWN "--efficiency 850% zap.wav", 2, NULL, "0.1 to 1"},
    {LOOP KNOWN "--supply-min 3 zap.wav",
     0,
     "open without efficiency, cell-resistance",
     NULL},
    {LOOP KNOWN "--efficiency 85% --cell-capacity 2Ah zap.wav",
     0,
     "open without quiescent-current, firing-share",
     NULL},
    {LOOP KNOWN "--lamp-current 20mA zap.wav",
     0,
     "draws is open without efficiency",
     NULL},
    {LOOP KNOWN "--supply-min 3.8V zap.wav", 2, NULL, "at most the 3.7 V"},
  };
  bool good = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    good = run_gave(run(cases[i].line), &cases[i]) && good;
  }
  Run plain = run(LOOP KNOWN "zap.wav");
  good = run_check(!strstr(plain.out, "hours") && !strstr(plain.out, "left at"),
                   &plain,
                   "plain") &&
         good;
  run_clear(&plain);
  plain = run(LOOP "zap.wav");
  good = run_check(!strstr(plain.out, "power"), &plain, "none") && good;
  run_clear(&plain);
  assert_true(good);
}

#define SOUNDS                                                                 \
  "[sound zap]\ntake = zap.wav\nmake = shot\n"                                 \
  "[sound rapid]\ntake = zap.wav\nmake = loop\nfire-rate = 9/s\n"
#define POWER                                                                  \
  "[power]\npower-supply = 3.7\nimpedance = 4\nefficiency = 85%\n"             \
  "quiescent-current = 20mA\ncell-capacity = 600mAh\nfiring-share = 10%\n"

static void
put(const char* path, const char* text) {
  bytes_write(path, text, strlen(text));
}

/// A pack takes what a loop of its own takes, and the lamp as it is built.
static void
packs_tell_it_too(void** state) {
  (void)state;
  static const RunCase cases[] = {
    {"pack --board wav-44k-mono -n p.ini", 0, "hours, firing for 10 %", NULL},
    {"pack --board wav-44k-mono half.ini", 1, NULL, "power-supply and impeda"},
    {"pack --board wav-44k-mono low.ini", 1, NULL, "at most the 3.7 V"},
    {"pack --board wav-44k-mono astray.ini", 1, NULL, "under [power]"},
    {"pack --board wav-44k-mono lamp.ini", 1, NULL, "under [lamp]"},
    {"pack --board wav-44k-mono other.ini", 1, NULL, "under [prop] or [sound"},
  };
  put("p.ini", "[lamp]\nled-current = 60mA\n" POWER SOUNDS);
  put("half.ini", "[power]\npower-supply = 5V\n" SOUNDS);
  put("low.ini", POWER "supply-min = 3.8V\n" SOUNDS);
  put("astray.ini", "[prop]\nimpedance = 4\n" SOUNDS);
  put("lamp.ini", POWER "led-current = 60mA\n" SOUNDS);
  put("other.ini", POWER "fire-rate = 9/s\n" SOUNDS);
  bool good = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    good = run_gave(run(cases[i].line), &cases[i]) && good;
  }
  Run packed = run("pack --board wav-44k-mono p.ini");
  good = run_check(strstr(packed.out, "power        rapid: ") != NULL,
                   &packed,
                   "pack") &&
         good;
  run_clear(&packed);
  packed = run("pack --board wav-44k-mono --json p.ini");
  json_t* const rapid = parse_line(packed.out, 1U);
  json_t* const loop =
    run_json(LOOP KNOWN AMPLIFIER CELL
             "--lamp-current 60mA --board wav-44k-mono --json zap.wav",
             0);
  good = rapid && loop && good &&
         near("as a loop",
              number_at(rapid, "power.cell_hours"),
              number_at(loop, "power.cell_hours"));
  run_clear(&packed);
  json_decref(rapid);
  json_decref(loop);
  assert_true(good);
}

int
main(int argc, char** argv) {
  static const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown(
      tells_how_long_a_cell_lasts, enter, run_leave_folder),
    cmocka_unit_test_setup_teardown(
      tells_what_is_known, enter, run_leave_folder),
    cmocka_unit_test_setup_teardown(packs_tell_it_too, enter, run_leave_folder),
  };
  run_set_up(argc, argv);
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  run_tear_down();
  return failed;
}
