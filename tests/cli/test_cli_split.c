// Takes with shots planted in them, split by the program, and the files as they
// are written: each shot has a pitch of its own, by which it is known.

#include "support/check.h"
#include "support/measure.h"
#include "support/meter.h"
#include "support/recordings.h"
#include "support/reports.h"
#include "support/run.h"
#include "support/signals.h"
#include "support/wav_files.h"

#include "container/container.h"

#include <volleyweave/volleyweave.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RATE_HZ 44100U
#define PRE_S 0.002
#define PI 3.14159265358979323846

/// A shot that is planted.
typedef struct {
  double start_s;
  double pitch_hz;
  double level;
  double decay_s;
} Planted;

/// A take of them.
typedef struct {
  const char*    path;
  const Planted* shots;
  size_t         n;
  double         seconds;
  double         noise;
} Take;

static void
write_sound(const char* path, VwSound* sound) {
  const VwFormat format = {
    .rate_hz = sound->rate_hz, .n_channels = 1U, .encoding = VW_ENCODING_S16};
  const VwPiece piece = {.part = VW_PART_WHOLE, .sound = *sound};
  VwBytes       bytes = {0};
  assert_int_equal(vw_encode_wav(&piece, &format, 1, &bytes), VW_OK);
  bytes_write(path, bytes.data, bytes.n_bytes);
  vw_bytes_clear(&bytes);
  vw_sound_clear(sound);
}

static void
write_take(const Take* take) {
  SignalRandom random = signal_random(7);
  VwSound      sound = signal_silence(take->seconds, RATE_HZ);
  for (size_t i = 0; i < take->n; ++i) {
    const Planted* const of = &take->shots[i];
    signal_add_burst(&sound,
                     &(SignalBurst){.start_s = of->start_s,
                                    .decay_s = of->decay_s,
                                    .level = of->level,
                                    .pitch_hz = of->pitch_hz},
                     &random);
  }
  signal_add_noise(&sound, take->noise, &random);
  write_sound(take->path, &sound);
}

static VwSound
sound_in(const char* path) {
  const VwReadOptions options = vw_read_defaults();
  VwSound             sound = {0};
  assert_int_equal(vw_read(path, &options, &sound, NULL), VW_OK);
  return sound;
}

/// Amplitude of a pitch in the last `s` seconds of a sound, Hann-weighted.
static double
amplitude_at_end(const VwSound* sound, double pitch_hz, double s) {
  const size_t most = (size_t)(s * sound->rate_hz);
  const size_t n = most < sound->n_frames ? most : sound->n_frames;
  double       re = 0.0;
  double       im = 0.0;
  double       weights = 0.0;
  for (size_t i = 0; i < n; ++i) {
    const double turn = 2.0 * PI * (double)i;
    const double weight = 0.5 - 0.5 * cos(turn / (double)n);
    const double value =
      weight * (double)sound->values[sound->n_frames - n + i];
    re += value * cos(turn * pitch_hz / sound->rate_hz);
    im += value * sin(turn * pitch_hz / sound->rate_hz);
    weights += weight;
  }
  return 2.0 * hypot(re, im) / weights;
}

/// Where a file first exceeds 0.4 of its peak, as what rings of others does
/// not, seconds.
static double
rises_at_s(const VwSound* sound) {
  const double least = 0.4 * measure_peak(sound);
  size_t       i = 0;
  while (fabs((double)sound->values[i]) < least) {
    ++i;
  }
  return (double)i / sound->rate_hz;
}

/// A take is split: each planted shot is a file, which starts where it does,
/// is as loud beside the others, and has nothing of the next.
static bool
check_split(const Take* take) {
  char line[128];
  write_take(take);
  (void)snprintf(
    line, sizeof(line), "split --json --loudness keep %s", take->path);
  json_t* const       said = run_json(line, 0);
  const json_t* const shots = value_at(said, "shots");
  const size_t        n = json_array_size(shots);
  bool ok = check_equal((double)n, (double)take->n, "%s: shots", take->path);
  ok &= check_equal((double)count_files("volleyweave-out"),
                    (double)take->n + 1.0,
                    "%s: files and their list",
                    take->path);
  for (size_t i = 0; ok && i < n; ++i) {
    const Planted* const of = &take->shots[i];
    const json_t* const  shot = json_array_get(shots, i);
    const char* const    path = json_string_value(value_at(shot, "path"));
    VwSound              sound = sound_in(path);
    ok &=
      check_at_most(fabs(number_at(shot, "start_ms") - 1000.0 * of->start_s),
                    1.0,
                    "%s: start, ms off",
                    path);
    ok &= check_at_most(
      fabs(rises_at_s(&sound) - PRE_S), 0.0015, "%s: rises, s off", path);
    ok &= check_equal(
      (double)sound.values[sound.n_frames - 1U], 0.0, "%s: ends at zero", path);
    ok &= check_at_most(fabs(20.0 * log10(measure_peak(&sound) / of->level)),
                        i && take->shots[i - 1U].decay_s > 0.5 ? 3.0 : 0.7,
                        "%s: level, dB off",
                        path);
    if (i + 1U < n) {
      ok &= check_at_most(
        amplitude_at_end(&sound, take->shots[i + 1U].pitch_hz, 0.02),
        0.01 * of->level,
        "%s: of the next shot",
        path);
    }
    vw_sound_clear(&sound);
  }
  json_decref(said);
  remove_all("volleyweave-out");
  return ok;
}

static const Planted apart[] = {{0.2, 700.0, 0.7, 0.3},
                                {0.9, 1500.0, 0.3, 0.2},
                                {1.7, 3100.0, 0.5, 0.4},
                                {2.3, 5300.0, 0.2, 0.2},
                                {2.8, 2300.0, 0.6, 0.3}};

// Of each 13 to 20 dB are left as the next starts.
static const Planted overlapping[] = {{0.2, 700.0, 0.4, 0.8},
                                      {0.42, 3100.0, 0.45, 0.8},
                                      {0.71, 1500.0, 0.4, 0.8},
                                      {0.9, 4700.0, 0.45, 0.8}};

// Six 9 to 16 dB softer than the loudest.
static const Planted soft[] = {{0.3, 700.0, 0.12, 0.1},
                               {0.8, 1500.0, 0.8, 0.1},
                               {1.3, 3100.0, 0.15, 0.1},
                               {1.9, 5300.0, 0.19, 0.1},
                               {2.4, 2300.0, 0.23, 0.1},
                               {3.0, 4100.0, 0.26, 0.1},
                               {3.6, 1100.0, 0.28, 0.1}};

static void
test_each_shot_is_a_file(void** state) {
  (void)state;
  static const Take takes[] = {{"apart.wav", apart, 5U, 3.5, 0.001},
                               {"over.wav", overlapping, 4U, 2.0, 0.0005},
                               {"soft.wav", soft, 7U, 4.2, 0.0001},
                               {"noisy.wav", soft, 7U, 4.2, 0.004}};

  bool ok = true;
  for (size_t i = 0; i < sizeof(takes) / sizeof(takes[0]); ++i) {
    ok &= check_split(&takes[i]);
  }
  assert_true(ok);
}

// Clicks of one frame, the first on a take's first frame, the last 3 ms before
// its end: each is a file with the click in it; and one on a last frame alone.
static void
test_clicks_at_the_edges(void** state) {
  (void)state;
  static const size_t at[] = {0, 22050, 44100, 66150};
  VwSound             sound = signal_silence(1.6, RATE_HZ);
  VwSound             last = signal_silence(1.0, RATE_HZ);
  sound.n_frames = at[3] + 132U;
  for (size_t i = 0; i < 4U; ++i) {
    sound.values[at[i]] = 0.5F;
  }
  last.values[RATE_HZ - 1U] = 0.5F;
  write_sound("clicks.wav", &sound);
  write_sound("last.wav", &last);
  assert_true(run_gave(run("split -q --loudness keep clicks.wav last.wav"),
                       &(RunCase){NULL, 0, NULL, NULL}));
  bool ok = true;
  for (size_t i = 0; i < 5U; ++i) {
    char path[64];
    (void)snprintf(path,
                   sizeof(path),
                   "volleyweave-out/%s-%zu.shot.wav",
                   i < 4U ? "clicks" : "last",
                   i % 4U + 1U);
    sound = sound_in(path);
    ok &= check_at_least(measure_peak(&sound), 0.49, "%s: peak", path);
    ok &= check_at_most(
      fabs(rises_at_s(&sound) - PRE_S), 0.00003, "%s: rises, s off", path);
    vw_sound_clear(&sound);
  }
  remove_all("volleyweave-out");
  assert_true(ok);
}

/// Nine shots of rapid fire, each a file.
static void
test_rapid_fire(void** state) {
  (void)state;
  Planted shots[9];
  for (size_t i = 0; i < 9U; ++i) {
    shots[i] = (Planted){0.2 + (double)i / 8.0, 800.0, 0.6, 0.25};
  }
  const Take take = {"rapid.wav", shots, 9U, 1.6, 0.0005};
  write_take(&take);
  json_t* const said = run_json("split --json --loudness keep rapid.wav", 0);
  json_t*       shot;
  size_t        i;
  bool          ok = check_that(
    !strcmp(json_string_value(value_at(said, "shot.kind")), "rapid fire"),
    "kind");
  ok &=
    check_equal((double)json_array_size(value_at(said, "shots")), 9.0, "shots");
  json_array_foreach(value_at(said, "shots"), i, shot) {
    VwSound sound = sound_in(json_string_value(value_at(shot, "path")));
    ok &= check_at_most(
      fabs(number_at(shot, "start_ms") - 1000.0 * shots[i].start_s),
      1.0,
      "shot %zu: start, ms off",
      i);
    ok &= check_at_least(
      number_at(shot, "likest_likeness"), 0.95, "shot %zu: alike", i);
    ok &= check_equal((double)measure_shots(&sound), 1.0, "shot %zu: one", i);
    vw_sound_clear(&sound);
  }
  json_decref(said);
  remove_all("volleyweave-out");
  assert_true(ok);
}

// Three sounds, the first twice more, one clipped, one 9 dB softer: of what may
// be kept, the three that differ.
static void
test_keep(void** state) {
  (void)state;
  static const Planted shots[] = {{0.2, 700.0, 0.6, 0.3},
                                  {0.9, 700.0, 0.6, 0.3},
                                  {1.6, 3100.0, 0.6, 0.3},
                                  {2.3, 300.0, 1.05, 0.3},
                                  {3.0, 7900.0, 0.2, 0.3},
                                  {3.7, 700.0, 0.6, 0.3},
                                  {4.4, 1900.0, 0.6, 0.6}};
  const Take           take = {"seven.wav", shots, 7U, 5.5, 0.0005};
  write_take(&take);
  json_t* const said = run_json("split --json --keep 3 seven.wav", 0);
  const json_t* of = value_at(said, "shots");
  size_t        n_kept = 0;
  size_t        n_alike = 0;
  for (size_t i = 0; i < json_array_size(of); ++i) {
    const json_t* const shot = json_array_get(of, i);
    const bool          kept = json_is_true(value_at(shot, "kept"));
    n_kept += kept ? 1U : 0U;
    n_alike += kept && shots[i].pitch_hz == 700.0 ? 1U : 0U;
    assert_int_equal(kept, json_is_string(value_at(shot, "path")));
  }
  assert_int_equal(json_array_size(of), 7);
  assert_int_equal(n_kept, 3);
  assert_int_equal(n_alike, 1);
  assert_true(json_is_true(value_at(json_array_get(of, 2), "kept")));
  assert_true(json_is_true(value_at(json_array_get(of, 6), "kept")));
  assert_true(number_at(json_array_get(of, 3), "clipped_frames") > 0.0);
  assert_int_equal(count_files("volleyweave-out"), 4);
  json_decref(said);
  // More than there are: all that may be kept, and it is said.
  assert_true(run_gave(run("split -n --keep 6 seven.wav"),
                       &(RunCase){NULL, 0, "left out", "6 shots to keep"}));
  remove_all("volleyweave-out");
}

// What an earlier split of the take made and this one did not is named, and
// stays; what somebody changed, or another take's is not.
static void
test_left_of_an_earlier_one(void** state) {
  (void)state;
  write_take(&(Take){"five.wav", apart, 5U, 3.5, 0.001});
  write_take(&(Take){"five-b.wav", apart, 5U, 3.5, 0.001});
  assert_true(run_gave(run("split -q five.wav five-b.wav"),
                       &(RunCase){NULL, 0, NULL, NULL}));
  json_t* const said = run_json("split --json --keep 2 five.wav", 0);
  const json_t* shots = value_at(said, "shots");
  size_t        left[5];
  size_t        n_left = 0;
  for (size_t i = 0; i < 5U; ++i) {
    if (!json_is_true(value_at(json_array_get(shots, i), "kept"))) {
      left[n_left++] = i + 1U;
    }
  }
  assert_int_equal(n_left, 3);
  char wanted[160];
  (void)snprintf(wanted,
                 sizeof(wanted),
                 "3 shots of an earlier split, five-%zu.shot.wav to "
                 "five-%zu.shot.wav, are left",
                 left[0],
                 left[2]);
  assert_true(run_gave(run("split --keep 2 five.wav"),
                       &(RunCase){NULL, 0, "left out", wanted}));
  char path[64];
  for (size_t i = 0; i < 2U; ++i) {
    (void)snprintf(
      path, sizeof(path), "volleyweave-out/five-%zu.shot.wav", left[i]);
    bytes_write(path, "mine", 4U);
  }
  (void)snprintf(
    wanted, sizeof(wanted), "split, five-%zu.shot.wav, is left", left[2]);
  assert_true(run_gave(run("split --keep 2 five.wav"),
                       &(RunCase){NULL, 0, "left out", wanted}));
  assert_int_equal(count_files("volleyweave-out"), 11);
  json_decref(said);
  remove_all("volleyweave-out");
}

/// The last line runs as it is printed, which starts so. What the first run cut
/// is no fault to warn of, and a file may be split once more.
static bool
check_next(const Take* take, const char* start, const char* warned) {
  char line[64];
  write_take(take);
  (void)snprintf(line, sizeof(line), "split %s", take->path);
  Run               made = run(line);
  const char* const next = strstr(made.out, "Next: volleyweave ");
  bool              ok = run_check(next && made.status == 0, &made, take->path);
  char* const       printed =
    ok ? strndup(next + 18, strcspn(next + 18, "\n")) : NULL;
  if (printed) {
    Run         looped = run(printed);
    const char* said = looped.err;
    ok &= check_that(!strncmp(printed, start, strlen(start)), "%s", printed);
    ok &= looped.status == 0;
    for (; (said = strstr(said, ": warning: ")); ++said) {
      ok &= warned && !strncmp(said + 11, warned, strlen(warned));
    }
    (void)run_check(ok, &looped, printed);
    run_clear(&looped);
    free(printed);
  }
  run_clear(&made);
  // Made here, so it is replaced unasked.
  (void)snprintf(line, sizeof(line), "split -q %s", take->path);
  ok &= run_gave(run(line), &(RunCase){NULL, 0, NULL, NULL});
  remove_all("volleyweave-out");
  return ok;
}

static void
test_next_runs(void** state) {
  (void)state;
  static const char rate[] = "no fire rate was given";
  Planted           fire[10];
  for (size_t i = 0; i < 10U; ++i) {
    fire[i] = (Planted){0.2 + (double)i / 8.0, 800.0, 0.4, 0.4};
  }
  const struct {
    Take        take;
    const char* start;
    const char* warned;
  } cases[] = {
    {{"apart.wav", apart, 5U, 3.5, 0.001},
     "loop --as shot --take-turns volleyweave-out/apart-1",
     rate},
    {{"over.wav", overlapping, 4U, 2.0, 0.0005},
     "loop --as shot --start 2ms --take-turns volleyweave-out/over-1",
     rate},
    {{"fire.wav", fire, 10U, 1.9, 0.0005},
     "loop --as shot --start 2ms --fire-rate 8.00",
     NULL},
    {{"one.wav", apart, 1U, 1.0, 0.0005},
     "loop --as shot volleyweave-out/one-1",
     rate}};
  bool ok = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    ok &= check_next(&cases[i].take, cases[i].start, cases[i].warned);
  }
  assert_true(ok);
}

/// Each file is what `shot` makes of that shot.
static void
test_same_as_picked(void** state) {
  (void)state;
  const Take take = {"over.wav", overlapping, 4U, 2.0, 0.0005};
  write_take(&take);
  const RunCase quiet = {"", 0, NULL, NULL};
  assert_true(
    run_gave(run("split -q --gain=-12 --dither none over.wav"), &quiet));
  for (unsigned i = 1; i <= 4U; ++i) {
    char line[128];
    (void)snprintf(line,
                   sizeof(line),
                   "shot -q --gain=-12 --dither none --pick %u over.wav",
                   i);
    assert_true(run_gave(run(line), &quiet));
    (void)snprintf(line, sizeof(line), "volleyweave-out/over-%u.shot.wav", i);
    size_t      n = 0;
    char* const bytes = read_file("volleyweave-out/over.shot.wav", &n);
    assert_true(n > 44U && has_bytes(line, bytes, n));
    free(bytes);
  }
  remove_all("volleyweave-out");
}

/* In turn */

// Ten shots of rapid fire at 10 per second, each of a pitch of its own; the
// third is clipped, the sixth 9 dB softer.
#define N_TURNS 10U
#define CLIPPED 2U
#define SOFT 5U

static Planted turns[N_TURNS];

static void
write_turns(void) {
  for (size_t i = 0; i < N_TURNS; ++i) {
    turns[i] = (Planted){0.2 + 0.1 * (double)i,
                         400.0 * pow(1.3, (double)i),
                         i == CLIPPED ? 1.5
                         : i == SOFT  ? 0.2
                                      : 0.6,
                         0.2};
  }
  const Take take = {"turns.wav", turns, N_TURNS, 1.6, 0.0003};
  write_take(&take);
}

/// The planted shot, from 1, whose pitch is the strongest in the 40 ms from a
/// time on.
static size_t
heard_at(const VwSound* sound, double at_s) {
  VwSound up_to = *sound; // a view
  size_t  heard = 0;
  double  strongest = 0.0;
  up_to.n_frames = (size_t)((at_s + 0.04) * sound->rate_hz);
  assert_true(up_to.n_frames <= sound->n_frames);
  for (size_t i = 0; i < N_TURNS; ++i) {
    const double amplitude = amplitude_at_end(&up_to, turns[i].pitch_hz, 0.04);
    heard = amplitude > strongest ? i + 1U : heard;
    strongest = fmax(amplitude, strongest);
  }
  return heard;
}

/// Where in 20 ms about a time a sound first exceeds 0.4 of its peak there.
static double
attack_near_s(const VwSound* sound, double at_s) {
  const size_t from = (size_t)(fmax(at_s - 0.005, 0.0) * sound->rate_hz);
  VwSound      near = *sound; // a view
  near.values += from;
  near.n_frames = sound->rate_hz / 50U;
  return (double)from / sound->rate_hz + rises_at_s(&near);
}

/// A loop of the take's own shots in turn.
typedef struct {
  const char* options;
  double      per_s;
  size_t      n_own; ///< How many take turns.
} Turns;

/// In the loop each of the shots named comes as often as any other, none
/// follows itself, and their attacks lie evenly at the rate asked.
static bool
check_heard(const Turns* of, const json_t* said, const VwSound* loop) {
  const json_t* const own = value_at(said, "loop.own_shots");
  const size_t        n = (size_t)number_at(said, "loop.shots");
  const double period_s = (double)loop->n_frames / loop->rate_hz / (double)n;
  size_t       times[N_TURNS + 1U] = {0};
  size_t       before = heard_at(loop, PRE_S + period_s * ((double)n - 1.0));
  bool         ok = true;
  for (size_t i = 0; i < n; ++i) {
    const size_t heard = heard_at(loop, PRE_S + period_s * (double)i);
    ok &= check_that(
      of->n_own == 1U || heard != before, "%s: %zu again", of->options, heard);
    ++times[heard];
    before = heard;
  }
  for (size_t i = 1; i <= N_TURNS; ++i) {
    bool named = false;
    for (size_t k = 0; k < json_array_size(own); ++k) {
      named |= json_integer_value(json_array_get(own, k)) == (json_int_t)i;
    }
    ok &= check_equal((double)times[i],
                      named ? (double)(n / of->n_own) : 0.0,
                      "%s: times of %zu",
                      of->options,
                      i);
  }
  const double first_s = attack_near_s(loop, PRE_S);
  const double last_s =
    attack_near_s(loop, PRE_S + period_s * ((double)n - 1.0));
  ok &= check_at_most(
    fabs(of->per_s * (double)loop->n_frames / (double)(n * loop->rate_hz) -
         1.0),
    0.003,
    "%s: rate of the cycle",
    of->options);
  return ok & check_at_most(
                fabs(of->per_s * (last_s - first_s) / ((double)n - 1.0) - 1.0),
                0.003,
                "%s: rate of the attacks",
                of->options);
}

static bool
check_turns(const Turns* of) {
  char line[160];
  (void)snprintf(line, sizeof(line), "loop --json %s turns.wav", of->options);
  json_t* const said = run_json(line, 0);
  VwSound       loop = sound_in("volleyweave-out/turns.loop.wav");
  VwSound       shot = sound_in("volleyweave-out/turns.shot.wav");
  const double  single = number_at(said, "loop.own_single_shot");
  bool          ok =
    check_equal((double)json_array_size(value_at(said, "loop.own_shots")),
                (double)of->n_own,
                "%s: in turn",
                of->options);
  ok = ok && check_heard(of, said, &loop);
  ok &= check_equal(
    (double)heard_at(&shot, PRE_S), single, "%s: single shot", of->options);
  ok &= check_at_most(fabs(number_at(said, "shot.attack_ms") -
                           1000.0 * turns[(size_t)single - 1U].start_s),
                      1.0,
                      "%s: its attack, ms off",
                      of->options);
  ok &= check_at_most(fabs(meter_effect_lufs(&shot) -
                           number_at(said, "level.shot_loudness_lufs")),
                      0.1,
                      "%s: its loudness, LU off",
                      of->options);
  ok &= run_gave(run("check volleyweave-out/turns.loop.wav"),
                 &(RunCase){NULL, 0, "a good loop", ""});
  vw_sound_clear(&loop);
  vw_sound_clear(&shot);
  json_decref(said);
  ok &= check_equal((double)count_files("volleyweave-out"),
                    strstr(of->options, "whole") ? 3.0 : 5.0,
                    "%s: files and their list",
                    of->options);
  remove_all("volleyweave-out");
  return ok;
}

// Rapid fire laid down anew: its own shots in turn, without the clipped and the
// soft one.
static void
test_own_shots_in_turn(void** state) {
  (void)state;
  static const Turns cases[] = {
    {"--fire-rate 6", 6.0, 8U},
    {"--fire-rate 540rpm --form whole-file", 9.0, 8U},
    {"--fire-rate 13 --tail choke --sample-rate 48000", 13.0, 8U},
    {"--fire-rate 7 --bits 24 --shots 9", 7.0, 3U},
    {"--fire-rate 8 --cycle-max 0.5s", 8.0, 4U},
    {"--fire-rate 5 --shots 5 --valley none --sample-rate 32000", 5.0, 5U},
  };
  bool ok = true;
  write_turns();
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    ok &= check_turns(&cases[i]);
  }
  assert_true(ok);
}

/// Where in a period from a frame on a sound is loudest over 5 ms, seconds.
static double
crest_after_s(const VwSound* sound, size_t from, size_t period) {
  const size_t n = sound->rate_hz / 200U;
  double       sum = 0.0;
  double       highest = 0.0;
  size_t       crest = 0;
  for (size_t i = 0; i < period; ++i) {
    const double comes = (double)sound->values[from + i];
    const double goes = i < n ? 0.0 : (double)sound->values[from + i - n];
    sum += comes * comes - goes * goes;
    crest = sum > highest ? i : crest;
    highest = fmax(sum, highest);
  }
  return (double)crest / sound->rate_hz;
}

// Shots that rise for 25 ms out of what rings of the one before, all alike:
// laid down anew their crests lie evenly.
static void
test_slow_shots_in_turn(void** state) {
  (void)state;
  static const double per_s[] = {7.7, 9.1, 11.1};
  bool                ok = true;
  for (size_t i = 0; i < 3U; ++i) {
    VwSound sound = signal_silence(2.5, RATE_HZ);
    for (size_t k = 0; k < 12U; ++k) {
      SignalRandom same = signal_random(9);
      signal_add_burst(&sound,
                       &(SignalBurst){.start_s = 0.5 + (double)k / per_s[i],
                                      .rise_s = 0.025,
                                      .decay_s = 3.0 / per_s[i] - 0.025,
                                      .level = 0.2},
                       &same);
    }
    SignalRandom random = signal_random(7);
    signal_add_noise(&sound, 0.0003, &random);
    write_sound("slow.wav", &sound);
    json_t* const said = run_json("loop --json --fire-rate 6 slow.wav", 0);
    VwSound       loop = sound_in("volleyweave-out/slow.loop.wav");
    const size_t  n = (size_t)number_at(said, "loop.shots");
    double        least = HUGE_VAL;
    double        most = 0.0;
    for (size_t k = 0; k < n; ++k) {
      const double at_s =
        crest_after_s(&loop, k * loop.n_frames / n, loop.n_frames / n);
      least = fmin(least, at_s);
      most = fmax(most, at_s);
    }
    ok &= check_equal((double)n, 8.0, "%g/s: in turn", per_s[i]);
    ok &= check_at_most(most - least, 0.002, "%g/s: crests, s off", per_s[i]);
    ok &= run_gave(run("check volleyweave-out/slow.loop.wav"),
                   &(RunCase){NULL, 0, "a good loop", ""});
    vw_sound_clear(&loop);
    json_decref(said);
    remove_all("volleyweave-out");
  }
  assert_true(ok);
}

// It is told; who picks a shot, or has another kind of take, gets one; what
// other commands do with it is theirs.
static void
test_own_shots_told(void** state) {
  (void)state;
  static const RunCase cases[] = {
    {"loop -n --fire-rate 6 turns.wav",
     0,
     "turns        8 of its own 10 shots: 1, 2, 4, 5, 7, 8, 9, 10; the loudest",
     "clipped frames"},
    {"loop -n --fire-rate 6 --shots 1 turns.wav",
     0,
     "turns        1 of its own 10 shots: 1\n",
     "clipped frames"},
    {"inspect turns.wav",
     0,
     "Next: volleyweave loop turns.wav\n",
     "`loop` uses all"},
    {"shot -n turns.wav", 0, "turns.shot.wav", "is used; give --pick N"},
  };
  static const char* const alone[] = {
    "--pick 4", "--as shot", "--as several-shots", "--start 210ms"};
  bool ok = true;
  write_turns();
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    ok &= run_gave(run(cases[i].line), &cases[i]);
  }
  for (size_t i = 0; i < sizeof(alone) / sizeof(alone[0]); ++i) {
    char line[80];
    (void)snprintf(line,
                   sizeof(line),
                   "loop -n --json --fire-rate 6 %s turns.wav",
                   alone[i]);
    json_t* const said = run_json(line, 0);
    ok &= check_that(json_is_null(value_at(said, "loop.own_shots")),
                     "%s: none in turn",
                     alone[i]);
    ok &=
      check_equal(number_at(said, "loop.shots"), 1.0, "%s: one shot", alone[i]);
    json_decref(said);
  }
  assert_true(ok);
}

// Several rates one after the other: in each step its own shots in turn.
static void
test_own_shots_of_ladder(void** state) {
  (void)state;
  write_turns();
  assert_true(run_gave(
    run("loop -q --fire-rate 5,8 --burst-seconds 2 -o ladder.wav turns.wav"),
    &(RunCase){NULL, 0, NULL, NULL}));
  VwSound ladder = sound_in("ladder.wav");
  bool    ok = true;
  for (size_t i = 0; i < 5U; ++i) {
    const double at_s = PRE_S + (double)i / 5.0;
    ok &=
      check_that(heard_at(&ladder, at_s) != heard_at(&ladder, at_s + 1.0 / 5.0),
                 "5/s: shot %zu again",
                 i);
    ok &= check_that(heard_at(&ladder, 2.0 + PRE_S + (double)i / 8.0) !=
                       heard_at(&ladder, 2.0 + PRE_S + (double)(i + 1U) / 8.0),
                     "8/s: shot %zu again",
                     i);
  }
  vw_sound_clear(&ladder);
  assert_true(ok);
}

// A pack makes the same file of the section that is printed, and names them.
static void
test_own_shots_in_a_pack(void** state) {
  (void)state;
  write_turns();
  Run made = run_shell(
    "\"$VOLLEYWEAVE\" loop --board wav-44k-mono --print-section --fire-rate 7 "
    "--loudness keep turns.wav -o one > section && "
    "(printf '[prop]\\nname = p\\nboards = wav-44k-mono\\n'; cat section) > "
    "sounds.ini && \"$VOLLEYWEAVE\" pack --json -o two sounds.ini && "
    "cmp one/turns.loop.wav \"$(find two -name '*.loop.wav')\"");
  assert_true(run_check(!made.status &&
                          strstr(made.out,
                                 "\"own_shots\": [1, 2, 4, 5, 7, 8, 9, 10], "
                                 "\"own_single_shot\": null") != NULL &&
                          !strstr(made.err, "is used"),
                        &made,
                        "a pack"));
  run_clear(&made);
}

// What was noted as a loop was made is known beside it, and nowhere else: of
// one shot a second, and of a real recording whose shots are uneven.
static void
test_noted(void** state) {
  (void)state;
  static const Planted once[] = {{0.2, 900.0, 0.7, 0.3}};
  const Take           take = {"once.wav", once, 1U, 1.0, 0.0005};
  static const RunCase cases[] = {
    {"loop -q --fire-rate 1 once.wav", 0, NULL, NULL},
    {"check volleyweave-out/once.loop.wav",
     0,
     "fire         1 shot, 1 per second\n",
     ""},
    {"check once.loop.wav",
     0,
     "dies away: no loop",
     "this is a single shot, not a loop"},
    {"loop -q --fire-rate 5 flag_lost.wav", 0, NULL, NULL},
    {"check volleyweave-out/flag_lost.loop.wav",
     0,
     "fire         8 shots, 5 per second",
     ""},
  };
  const bool real = recordings_find(NULL);
  bool       ok = true;
  write_take(&take);
  setenv("R", real ? recordings_place() : ".", 1);
  for (size_t i = 0; i < (real ? 5U : 3U); ++i) {
    ok &= run_gave(run(cases[i].line), &cases[i]);
    Run copied = run_shell("cp volleyweave-out/once.loop.wav . && "
                           "cp \"$R/flag_lost.wav\" .");
    run_clear(&copied);
  }
  remove_all("volleyweave-out");
  assert_true(ok);
}

// Other takes before and after it: of its own rate alone, in files that have a
// place for them.
static void
test_ends(void** state) {
  (void)state;
  static const RunCase cases[] = {
    {"loop -n --run-in-take hum.wav --ring-out-take hum.wav turns.wav",
     0,
     "leads over at",
     "clipped"},
    {"loop --run-in-take hum.wav --form whole-file turns.wav",
     2,
     NULL,
     "--run-in-take: one file that repeats has no run-in"},
    {"loop --ring-out-take hum.wav --board wav-44k-mono turns.wav",
     2,
     NULL,
     "--ring-out-take: one file that repeats"},
    {"loop --run-in-take hum.wav --take-turns turns.wav hum.wav",
     2,
     NULL,
     "--run-in-take: of one loop alone"},
    {"loop --ring-out-take hum.wav --fire-rate 5,8 --burst-seconds 2 turns.wav",
     2,
     NULL,
     "--ring-out-take: of one loop alone"},
    {"loop --ring-out-take hum.wav --fire-rate 6 turns.wav",
     1,
     NULL,
     "leave them or --fire-rate out"},
    {"loop --ring-out-take hum.wav --as rapid-fire --fire-rate 6 turns.wav",
     1,
     NULL,
     "leave them or --fire-rate out\n"},
    {"loop --run-in-take hum.wav --pick 2 --as several-shots turns.wav",
     1,
     NULL,
     "leave them out, or give another --as\n"},
    {"loop --run-in-take gone.wav turns.wav", 1, NULL, "no file has that name"},
  };
  bool ok = true;
  write_turns();
  wav_file_write(
    &(WavFile){.path = "hum.wav", .fill = FILL_HUM, .seconds = 2.0});
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    ok &= run_gave(run(cases[i].line), &cases[i]);
  }
  assert_int_equal(count_files("volleyweave-out"), 0);
  assert_true(ok);
}

static void
test_odd_takes(void** state) {
  (void)state;
  static const Planted once[] = {{0.2, 900.0, 0.7, 0.3}};
  static const Planted near[] = {{0.2, 900.0, 0.7, 0.3},
                                 {0.21, 900.0, 0.7, 0.3}};
  static const Take    takes[] = {{"once.wav", once, 1U, 1.0, 0.0005},
                                  {"near.wav", near, 2U, 1.0, 0.0005},
                                  {"click.wav", NULL, 0U, 1.0, 0.0}};
  static const RunCase cases[] = {
    {"split -n once.wav", 0, "once.wav: 1 shot\n", ""},
    {"split -n near.wav", 0, "near.wav: 1 shot\n", ""},
    {"split -n click.wav", 0, " 0.0 dB  short: a click?\n", ""},
    {"split -q hum.wav", 1, NULL, "a sustained sound"},
    {"split -o one.wav once.wav", 2, NULL, "name a folder"},
    {"split --keep 0 once.wav", 2, NULL, "--keep"},
    {"inspect --as several-shots hum.wav",
     0,
     "Next: volleyweave loop --fire-rate 9/s --as several-shots hum.wav\n",
     "but one shot was found"},
    {"inspect -v --as rapid-fire hum.wav",
     0,
     "rapid fire, as given\n  attack ",
     "but one shot was found"},
    {"loop --as rapid-fire hum.wav",
     1,
     NULL,
     "lay them down, or another --as\n"},
    {"loop --as several-shots --pick 9 once.wav",
     1,
     NULL,
     "leave --pick out\n"},
    {"loop --as shot --pick 9 once.wav", 1, NULL, "or give --as several-shots"},
    {"split --as sustained once.wav", 1, NULL, "or leave --as out\n"},
    {"loop -v -n --variants 4 --cycle 1 hum.wav",
     0,
     "Made",
     "no effect on a joined loop: --variants"},
  };

  for (size_t i = 0; i < 2U; ++i) {
    write_take(&takes[i]);
  }
  VwSound click = signal_silence(1.0, RATE_HZ);
  signal_add_click(&click, 0.4, 0.9);
  signal_add_click(&click, 0.4002, -0.7);
  write_sound("click.wav", &click);
  wav_file_write(
    &(WavFile){.path = "hum.wav", .fill = FILL_HUM, .seconds = 2.0});
  bool ok = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    ok &= run_gave(run(cases[i].line), &cases[i]);
  }
  assert_int_equal(count_files("volleyweave-out"), 0);
  assert_true(ok);
}

// A thousand shots in two minutes and a half, of two kinds.
static void
write_thousand(const char* path, double first_s, double seconds) {
  VwSound sound = signal_silence(seconds, RATE_HZ);
  for (size_t i = 0; i < 1000U; ++i) {
    const size_t from = (size_t)((first_s + 0.15 * (double)i) * RATE_HZ);
    const double pitch_hz = i % 2U ? 900.0 : 2100.0;
    for (size_t k = 0; k < RATE_HZ / 8U; ++k) {
      const double s = (double)k / RATE_HZ;
      sound.values[from + k] =
        (float)(0.6 * exp(-70.0 * s) * sin(2.0 * PI * pitch_hz * s));
    }
  }
  write_sound(path, &sound);
}

// As a loop it has as many, which are more than a loop is counted to have.
static void
test_thousand(void** state) {
  (void)state;
  static const RunCase cases[] = {
    {"split -n --keep 2 thousand.wav", 0, "1000 shots", ""},
    {"check loop.wav", 3, "1000 shots, 6.67 per second", ""}};
  write_thousand("thousand.wav", 0.2, 151.0);
  write_thousand("loop.wav", 0.0, 150.0);
  assert_true(run_gave(run(cases[0].line), &cases[0]));
  assert_true(run_gave(run(cases[1].line), &cases[1]));
}

int
main(int argc, char** argv) {
  run_set_up(argc, argv);
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_each_shot_is_a_file),
    cmocka_unit_test(test_clicks_at_the_edges),
    cmocka_unit_test(test_rapid_fire),
    cmocka_unit_test(test_keep),
    cmocka_unit_test(test_left_of_an_earlier_one),
    cmocka_unit_test(test_next_runs),
    cmocka_unit_test(test_same_as_picked),
    cmocka_unit_test(test_own_shots_in_turn),
    cmocka_unit_test(test_slow_shots_in_turn),
    cmocka_unit_test(test_own_shots_told),
    cmocka_unit_test(test_own_shots_of_ladder),
    cmocka_unit_test(test_own_shots_in_a_pack),
    cmocka_unit_test(test_noted),
    cmocka_unit_test(test_ends),
    cmocka_unit_test(test_odd_takes),
    cmocka_unit_test(test_thousand),
  };
  const int n_failed = cmocka_run_group_tests(tests, NULL, NULL);
  run_tear_down();
  return n_failed;
}
