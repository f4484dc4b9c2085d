// What sounds on in a pack, on every board: guessed to be looped, written, and
// from there checked, delivered, rehearsed and lit. The loops are judged as
// they are written.

#include "support/check.h"
#include "support/measure.h"
#include "support/meter.h"
#include "support/riff.h"
#include "support/run.h"
#include "support/wav_files.h"

#include <volleyweave/volleyweave.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))
#define PI 3.14159265358979323846

#define OWN_BOARD(name, words)                                                 \
  "\"$VOLLEYWEAVE\" boards wav-22k-mono | sed 's/^" words "/' >" name          \
  ".board.ini && "

static const WavFile takes[] = {
  {.path = "in/hum.wav", .fill = FILL_HUM, .seconds = 1.5},
  {.path = "in/hiss.wav", .fill = FILL_NOISE, .seconds = 2.5},
  {.path = "in/zap.wav", .fill = FILL_SHOT, .seconds = 0.5},
};

/// A board and where its pack goes.
typedef struct {
  const char* board;
  const char* folder;
  const char* ending;
  bool        pieces;
} BoardCase;

static const BoardCase boards[] = {
  {"wav-44k-stereo", "wav-44k-stereo", "wav", false},
  {"wav-22k-mono", "wav-22k-mono", "wav", false},
  {"ogg-44k-mono", "ogg-44k-mono", "ogg", false},
  {"raw-8k-8bit", "raw-8k-8bit", "raw", false},
  {"points.board.ini", "points", "wav", false},
  {"three.board.ini", "three", "wav", true},
};

/// Run a shell's line, with "$VOLLEYWEAVE" as the program; what it printed is
/// to be freed. NULL, and printed, where it failed or said something.
static char*
printed(const char* line) {
  Run   got = run_shell(line);
  char* out = NULL;
  if (run_check(got.status == 0 && !*got.err, &got, line)) {
    out = strdup(got.out);
  }
  run_clear(&got);
  return out;
}

static bool
prints(const char* line, const char* words) {
  char* const out = printed(line);
  const bool  is = out && strstr(out, words);
  if (out && !is) {
    printf("%s\nlacks: %s\nin: %s\n", line, words, out);
  }
  free(out);
  return is;
}

/* The files */

/// Read a file of a pack: WAV, or bytes of 8 bits.
static VwSound
read_part(const BoardCase* of, const char* name, const char* part) {
  char path[128];
  snprintf(
    path, sizeof(path), "out/%s/%s.%s.%s", of->folder, name, part, of->ending);
  size_t               n_bytes = 0;
  unsigned char* const data = (unsigned char*)read_file(path, &n_bytes);
  const VwBytes        bytes = {data, n_bytes};
  VwSound              sound = {0};
  Riff                 riff;
  assert_non_null(data);
  if (strcmp(of->ending, "raw") != 0) {
    assert_true(riff_parse(&bytes, &riff));
    sound = riff_sound(&riff, &bytes);
    if (riff.has_loop) {
      // What repeats alone.
      const size_t n = riff.loop_last + 1U - riff.loop_start;
      memmove(sound.values,
              sound.values + riff.loop_start * sound.n_channels,
              n * sound.n_channels * sizeof(float));
      sound.n_frames = n;
    }
  } else {
    assert_int_equal(vw_sound_init(&sound, n_bytes, 1U, 8000U), VW_OK);
    for (size_t i = 0; i < n_bytes; ++i) {
      sound.values[i] = (float)(data[i] - 128) / 128.0F;
    }
  }
  free(data);
  return sound;
}

/// Power of a loop, played without end, without a tone of a whole number of
/// periods; `all` is that with it.
static double
power_beside_tone(const VwSound* loop, double periods, double* all) {
  const double n = (double)loop->n_frames;
  double       sine = 0.0;
  double       cosine = 0.0;
  *all = 0.0;
  for (size_t i = 0; i < loop->n_frames; ++i) {
    const double value = (double)loop->values[i * loop->n_channels];
    const double at = 2.0 * PI * periods * (double)i / n;
    sine += value * sin(at);
    cosine += value * cos(at);
    *all += value * value / n;
  }
  return fmax(*all - 2.0 * (sine * sine + cosine * cosine) / n / n, 0.0);
}

/// No step at the seam that stands out, and in that of a hum nothing but its
/// tone.
static bool
check_loop(const BoardCase* of, const char* name) {
  VwSound      loop = read_part(of, name, "loop");
  VwSound      twice = {0};
  const size_t n = loop.n_frames;
  assert_int_equal(vw_sound_init(&twice, 2U * n, loop.n_channels, loop.rate_hz),
                   VW_OK);
  for (size_t i = 0; i < 2U * n * loop.n_channels; ++i) {
    twice.values[i] = loop.values[i % (n * loop.n_channels)];
  }
  // Simulated: the bound to which all seams are held.
  bool ok = check_at_most(measure_step_max(&twice, n - 1U, n),
                          2.0 * measure_step_percentile(&loop, 0.999),
                          "%s on %s: seam",
                          name,
                          of->folder);
  if (!strcmp(name, "hum")) {
    const double s = (double)n / loop.rate_hz;
    double       all = 0.0;
    const double rest = power_beside_tone(&loop, floor(150.0 * s + 0.5), &all);
    // -60 dB, but for the noise of 8 bits with triangular dither: a quarter of
    // a step squared (closed form), and some more.
    ok &= check_at_most(rest,
                        loop.rate_hz == 8000U ? 1.2 * 0.25 / 128.0 / 128.0
                                              : 1e-6 * all,
                        "%s on %s: power beside the tone",
                        name,
                        of->folder);
  }
  vw_sound_clear(&twice);
  vw_sound_clear(&loop);
  return ok;
}

/// The pieces run on into each other, from zero to zero.
static bool
check_pieces(const BoardCase* of, const char* name) {
  VwSound       parts[] = {read_part(of, name, "runin"),
                           read_part(of, name, "loop"),
                           read_part(of, name, "ringout")};
  VwSound       all = {0};
  size_t        n = 0;
  const double  most = 2.0 * measure_step_percentile(&parts[1], 0.999);
  const VwSound last = parts[2];
  assert_int_equal(
    vw_sound_init(&all,
                  parts[0].n_frames + parts[1].n_frames + parts[2].n_frames,
                  1U,
                  22050U),
    VW_OK);
  for (size_t i = 0; i < COUNT(parts); ++i) {
    memcpy(all.values + n, parts[i].values, parts[i].n_frames * sizeof(float));
    n += parts[i].n_frames;
  }
  bool ok = check_at_most(
    measure_step_max(&all, 0U, n - 1U), 1.5 * most, "%s: steps", name);
  ok &= check_equal((double)parts[0].values[0], 0.0, "%s: first frame", name);
  ok &= check_equal(
    (double)last.values[last.n_frames - 1U], 0.0, "%s: last frame", name);
  vw_sound_clear(&all);
  for (size_t i = 0; i < COUNT(parts); ++i) {
    vw_sound_clear(&parts[i]);
  }
  return ok;
}

/// Softer than the shots by what the guess asks.
static bool
check_level(const BoardCase* of, const char* name) {
  VwSound      loop = read_part(of, name, "loop");
  VwSound      shot = read_part(of, "zap", "shot");
  const double apart = meter_loop_lufs(&loop) - meter_effect_lufs(&shot);
  vw_sound_clear(&shot);
  vw_sound_clear(&loop);
  return check_at_most(
    fabs(apart + 6.0), 0.3, "%s on %s, LU", name, of->folder);
}

/* Each board */

static bool
check_board(const BoardCase* of) {
  char       line[256];
  const bool lossless = strcmp(of->ending, "ogg") != 0;
  bool       ok = true;
  snprintf(line,
           sizeof(line),
           "\"$VOLLEYWEAVE\" pack --board %s -o out sounds.ini 2>/dev/null "
           "| tr -s ' '",
           of->board);
  ok &= prints(line, "hum loop ");
  for (size_t i = 0; i < 2U; ++i) {
    const char* const name = i ? "hiss" : "hum";
    ok &= !lossless || check_loop(of, name);
    ok &= !lossless || check_level(of, name);
    ok &= !of->pieces || check_pieces(of, name);
  }
  // Nothing is found in them, nor in Ogg of whole blocks, which pads nothing.
  snprintf(line,
           sizeof(line),
           "\"$VOLLEYWEAVE\" check --board %s out/%s 2>&1 | grep -E "
           "'(hum|hiss)[.]'; true",
           of->board,
           of->folder);
  char* const found = printed(line);
  ok &= check_equal((double)strlen(found), 0.0, "%s: %s", of->board, found);
  free(found);
  snprintf(line,
           sizeof(line),
           "mkdir card; \"$VOLLEYWEAVE\" deliver -q --board %s --to card "
           "out/%s && ls card/*hum.loop.%s && rm -r card",
           of->board,
           of->folder,
           of->ending);
  ok &= prints(line, "hum.loop");
  return ok;
}

static void
test_boards(void** state) {
  bool ok = true;
  (void)state;
  for (size_t i = 0; i < COUNT(boards); ++i) {
    ok &= check_board(&boards[i]);
  }
  assert_true(ok);
}

/// No rate, no lamp; what the trigger lets go of stops or goes on.
static void
test_table(void** state) {
  (void)state;
  assert_true(prints("\"$VOLLEYWEAVE\" pack -n --board wav-22k-mono sounds.ini "
                     "2>/dev/null | sed 's/[0-9.]* kB *-[0-9.]*//' | tr -s ' '",
                     "hiss loop - stops no flash\n"));
  assert_true(prints("\"$VOLLEYWEAVE\" lamp --board wav-22k-mono sounds.ini",
                     "hum               loop      no flash\n"));
  assert_true(prints("\"$VOLLEYWEAVE\" pack -n --json --board wav-22k-mono "
                     "sounds.ini 2>/dev/null | grep '\"sound\": \"hum\"'",
                     "\"fire_rate_per_s\": null, "));
}

/// On a board that repeats nothing a loop is a finished burst, and its page
/// is written too.
static void
test_once(void** state) {
  (void)state;
  assert_true(
    prints("\"$VOLLEYWEAVE\" pack -q -o once --board once.board.ini "
           "sounds.ini && ls once/once/hum.burst.wav once/tryout.html",
           "once/tryout.html\n"));
}

/// The guess as it was written makes the same, to the byte.
static void
test_as_written(void** state) {
  (void)state;
  assert_true(
    prints("\"$VOLLEYWEAVE\" pack -q --board wav-22k-mono -o one in "
           "&& \"$VOLLEYWEAVE\" pack -q --board wav-22k-mono -o two "
           "sounds.ini && for i in one/*/*.wav; do cmp $i two/${i#one/};"
           " done && echo same",
           "same\n"));
}

/// What wants shots is refused of a loop that is joined; a pack makes the rest.
static void
test_refused(void** state) {
  static const RunCase cases[] = {
    {"loop --channels 2 --lamp-track in/hum.wav",
     1,
     NULL,
     "leave --lamp-track"},
    {"loop --as sustained --channels 2 --lamp-track in/hiss.wav",
     1,
     NULL,
     "a lamp track needs shots"},
    {"loop --channels 2 --lamp-track --burst 3 in/hum.wav",
     1,
     NULL,
     "a burst "},
    {"loop --burst 3 in/hum.wav", 1, NULL, "a burst needs single shots"},
    // What sounds on is no shot, and a click does not sound on.
    {"shot -n in/hiss.wav", 1, NULL, "no shot starts: use `loop`"},
    {"loop -n --as sustained --from 1 --to 1.04 in/hum.wav",
     1,
     NULL,
     "for only 40 ms, which is no"},
    {"loop --burst 5 in/rapid.wav", 1, NULL, "give --fire-rate for rapid fire"},
    {"loop -n --burst 5 --fire-rate 9 in/rapid.wav", 0, "burst", NULL},
    {"loop -n --channels 2 --lamp-track in/rapid.wav", 0, "pulses", NULL},
    // Three loops, and the shots before and behind them.
    {"loop -n --lamp-track --board lit.board.ini in/rapid.wav",
     0,
     "66 pulses",
     NULL},
    {"loop --fire-rate 5,8 --burst-seconds 2 -o ladder.wav in/hum.wav",
     1,
     NULL,
     "a burst needs single shots"},
  };
  (void)state;
  bool ok =
    prints("\"$VOLLEYWEAVE\" boards wav-44k-stereo | sed 's/^repeat .*/repeat "
           "= nothing/' >lit.board.ini; printf '[sound five]\ntake = "
           "in/rapid.wav\nmake = burst 5\n[sound lit]"
           "\ntake = in/hum.wav\nmake = loop\nlamp-track = yes\n[sound hum]\n"
           "take = in/hum.wav\nmake = loop\n' >few.ini; echo put",
           "put");
  wav_file_write(
    &(WavFile){.path = "in/rapid.wav", .fill = FILL_RAPID, .seconds = 2.0});
  for (size_t i = 0; i < COUNT(cases); ++i) {
    ok &= run_gave(run(cases[i].line), &cases[i]);
  }
  ok &= prints("\"$VOLLEYWEAVE\" shot -n in/hum.wav 2>&1",
               "taken for one shot: use `loop` for its loop");
  ok &=
    prints("\"$VOLLEYWEAVE\" inspect in/hiss.wav 2>&1", "record a shot nearer");
  ok &= prints("\"$VOLLEYWEAVE\" loop -n --as sustained in/zap.wav 2>&1",
               "sustained, 402.0 ms");
  ok &= prints("\"$VOLLEYWEAVE\" pack -q -o few --board wav-44k-stereo few.ini "
               "2>&1 | grep -o 'sound [a-z]*]: a [a-z]*'; ls few/*/*.wav",
               "sound five]: a burst\nfew/wav-44k-stereo/hum.loop.wav\n"
               "few/wav-44k-stereo/lit.loop.wav\n");
  assert_true(ok);
}

/* Takes of its ends */

/// Level of 50 ms of a sound from a frame on, dB.
static double
level_db(const VwSound* sound, size_t from) {
  const size_t n = sound->rate_hz / 20U;
  double       power = 0.0;
  for (size_t i = from; i < from + n; ++i) {
    power += (double)sound->values[i] * (double)sound->values[i] / (double)n;
  }
  return 10.0 * log10(power);
}

/// Other takes lead over to the loop and on from it: no step, one level.
static bool
check_led(const BoardCase* of) {
  VwSound      up = read_part(of, "motor", "runin");
  VwSound      loop = read_part(of, "motor", "loop");
  VwSound      down = read_part(of, "motor", "ringout");
  const size_t n = loop.n_frames;
  const double of_loop = level_db(&loop, n / 2U);
  bool         ok = check_pieces(of, "motor");
  // Those takes are glides, the loop is none.
  ok &= check_at_least((double)up.n_frames / up.rate_hz, 1.0, "spin-up, s");
  ok &=
    check_at_least((double)down.n_frames / down.rate_hz, 1.0, "wind-down, s");
  ok &=
    check_at_most(fabs(level_db(&up, up.n_frames - up.rate_hz / 20U) - of_loop),
                  1.0,
                  "before the loop, dB");
  ok &= check_at_most(
    fabs(level_db(&down, down.rate_hz / 10U) - of_loop), 1.0, "after it, dB");
  vw_sound_clear(&up);
  vw_sound_clear(&loop);
  vw_sound_clear(&down);
  return ok;
}

#define PACK "\"$VOLLEYWEAVE\" pack -q -o out/ends "
#define THREE "--board three.board.ini "

/// The section that loop prints makes the same three files, to the byte, from
/// another folder too; on a board that repeats one file it is refused.
static void
test_ends(void** state) {
  static const BoardCase three = {"", "ends/three", "wav", true};
  static const WavFile   ends[] = {
      {.path = "up.wav", .fill = FILL_GLIDE, .seconds = 1.5, .rate_hz = 22050U},
      {.path = "down.wav", .fill = FILL_GLIDE, .seconds = 2.0, .rate_hz = 48000U},
  };
  (void)state;
  wav_file_write(&ends[0]);
  wav_file_write(&ends[1]);
  bool ok = prints(
    "\"$VOLLEYWEAVE\" loop -q " THREE "--loudness keep --name motor "
    "--run-in-take up.wav --ring-out-take down.wav --print-section -o made "
    "in/hum.wav | grep -v '^#' | tee motor.ini",
    "make = loop\nloudness = keep\nrun-in-take = up.wav\n"
    "ring-out-take = down.wav\n");
  // It fires nothing rapidly.
  ok &= prints("\"$VOLLEYWEAVE\" loop -nq --print-section in/hum.wav",
               "[sound hum]\n");
  ok &= prints(PACK THREE
               "motor.ini && for i in runin loop ringout; do cmp "
               "made/motor.$i.wav out/ends/three/motor.$i.wav; done; "
               "mkdir sub && sed 's/= \\(in\\|up\\|down\\)/= ..\\/\\1/' "
               "motor.ini >sub/motor.ini && rm -r out/ends && " PACK THREE
               "sub/motor.ini && cmp out/ends/three/motor.runin.wav "
               "made/motor.runin.wav && echo same",
               "same\n");
  ok &= check_led(&three);
  static const RunCase refused[] = {
    {"pack -q --board wav-22k-mono motor.ini",
     1,
     NULL,
     "run-in-take: wav-22k-mono plays whole-file: leave it out"},
    {"pack -q --run-in-take up.wav " THREE "motor.ini",
     2,
     NULL,
     "--run-in-take: `volleyweave pack` has no such option"},
    {"pack -q -o none " THREE "shots.ini",
     1,
     NULL,
     "[sound a]: run-in and ring-out takes are for hums"},
    // A take is never replaced.
    {"pack -q -f -o out/ends " THREE "over.ini", 1, NULL, "hum.runin.wav: "},
  };
  ok &=
    prints("cp up.wav out/ends/three/hum.runin.wav; printf '[sound a]\\ntake = "
           "in/zap.wav\\nmake = loop\\nrun-in-take = up.wav\\n' >shots.ini; "
           "printf '[sound hum]\\ntake = in/hum.wav\\nmake = loop\\n"
           "run-in-take = out/ends/three/hum.runin.wav\\n' >over.ini; "
           "printf '[prop]\\nboards = wav-22k-mono, three\\n[sound hum]\\n"
           "take = in/hum.wav\\nmake = loop\\n[sound hum on three]\\n"
           "run-in-take = up.wav\\n' >on.ini; echo put",
           "put");
  for (size_t i = 0; i < COUNT(refused); ++i) {
    ok &= run_gave(run(refused[i].line), &refused[i]);
  }
  ok &= prints("cmp up.wav out/ends/three/hum.runin.wav && echo kept", "kept");
  ok &= prints(PACK "-f --board wav-22k-mono " THREE "on.ini && ls -d "
                    "out/ends/*/hum.runin.wav",
               "three/hum.runin.wav");
  assert_true(ok);
}

/// The hum, so many times softer, as both of its own ends.
typedef struct {
  int         softer;
  const char* said; ///< NULL: nothing of its level.
} FarCase;

// Levels are matched, and a change of more than 12 dB is told, as is what 20 dB
// do not reach (closed form: 20 log10 of how much softer).
static void
test_far_ends(void** state) {
  static const FarCase cases[] = {
    {3, NULL},
    {5, "loop: run-in +14.0 dB, ring-out +14.0 dB: "},
    {40, "ring-out +20.0 dB, 12.0 dB left: "}};
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    size_t      n = 0;
    char* const bytes = read_file("in/hum.wav", &n);
    for (size_t k = 44; k + 1U < n; k += 2U) {
      int16_t value = 0;
      memcpy(&value, bytes + k, sizeof(value));
      value = (int16_t)lround((double)value / cases[i].softer);
      memcpy(bytes + k, &value, sizeof(value));
    }
    bytes_write("soft.wav", bytes, n);
    free(bytes);
    Run got =
      run("loop -n --run-in-take soft.wav --ring-out-take soft.wav in/hum.wav");
    const bool far = strstr(got.err, "levels matched to the loop:") != NULL;
    const bool good = got.status == 0 && far == (cases[i].said != NULL) &&
                      (!far || strstr(got.err, cases[i].said));
    ok &= run_check(good, &got, "a soft take");
    run_clear(&got);
  }
  assert_true(ok);
}

int
main(int argc, char** argv) {
  run_set_up(argc, argv);
  (void)mkdir("in", 0777);
  for (size_t i = 0; i < COUNT(takes); ++i) {
    wav_file_write(&takes[i]);
  }
  Run made = run_shell(
    OWN_BOARD(
      "points",
      "repeat .*/repeat = loop-points/; s/^loop-points .*/loop-points = "
      "yes") OWN_BOARD("once", "repeat .*/repeat = nothing")
      OWN_BOARD("three",
                "repeat .*/repeat = three-files") "\"$VOLLEYWEAVE\" pack "
                                                  "--write-list sounds.ini in");
  const bool good = run_check(made.status == 0, &made, "the guess");
  run_clear(&made);
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_boards),
    cmocka_unit_test(test_table),
    cmocka_unit_test(test_as_written),
    cmocka_unit_test(test_once),
    cmocka_unit_test(test_ends),
    cmocka_unit_test(test_far_ends),
    cmocka_unit_test(test_refused),
  };
  const int n_failed = good ? cmocka_run_group_tests(tests, NULL, NULL) : 1;
  run_tear_down();
  return n_failed;
}
