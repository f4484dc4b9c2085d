// Which part of a take is used, and as what: stretches, picked shots, starts
// and kinds as told, held against the files as they are written.

#include "support/check.h"
#include "support/folder.h"
#include "support/measure.h"
#include "support/recordings.h"
#include "support/reports.h"
#include "support/riff.h"
#include "support/run.h"
#include "support/signals.h"
#include "support/svg.h"
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

#define PLAIN "--json -f --bits float --dither none --loudness keep "

#define ATTACK_COLOUR 0xD55E00U

// Where the shots of the take of three start, the first 10 dB down.
static const double starts_s[3] = {0.2, 0.9, 1.6};

/// Write frames [from, to) as 32-bit floating point.
static void
put(const char* path, const VwSound* sound, size_t from, size_t to) {
  const uint32_t n_channels = sound->n_channels;
  const uint32_t n_data = (uint32_t)(to - from) * n_channels * 4U;
  const uint32_t head[11] = {0x46464952U, // RIFF
                             n_data + 36U,
                             0x45564157U, // WAVE
                             0x20746D66U, // fmt
                             16U,
                             3U | n_channels << 16U,
                             sound->rate_hz,
                             sound->rate_hz * n_channels * 4U,
                             n_channels * 4U | 32U << 16U,
                             0x61746164U, // data
                             n_data};
  char* const    bytes = malloc(sizeof(head) + n_data);
  assert_non_null(bytes);
  memcpy(bytes, head, sizeof(head));
  memcpy(bytes + sizeof(head), sound->values + from * n_channels, n_data);
  bytes_write(path, bytes, sizeof(head) + n_data);
  free(bytes);
}

/// Three shots of noise and a tone in a little noise, as of channels.
static VwSound
three_shots(unsigned rate_hz, unsigned n_channels) {
  SignalRandom random = signal_random(5U);
  VwSound      mono = signal_silence(2.4, rate_hz);
  VwSound      sound = {0};
  for (size_t i = 0; i < 3U; ++i) {
    const SignalBurst burst = {.start_s = starts_s[i],
                               .decay_s = 0.4,
                               .level = i ? 0.2 : 0.06,
                               .pitch_hz = 0.0};
    signal_add_burst(&mono, &burst, &random);
  }
  signal_add_noise(&mono, 1e-4, &random);
  sound = (VwSound){
    .values = calloc(mono.n_frames * n_channels, sizeof(float)),
    .n_frames = mono.n_frames,
    .n_channels = n_channels,
    .rate_hz = rate_hz,
  };
  assert_non_null(sound.values);
  for (size_t i = 0; i < mono.n_frames * n_channels; ++i) {
    sound.values[i] = mono.values[i / n_channels];
  }
  vw_sound_clear(&mono);
  return sound;
}

static VwSound
put_three(void) {
  const VwSound sound = three_shots(44100U, 1U);
  put("three.wav", &sound, 0U, sound.n_frames);
  return sound;
}

/// One shot that swells again 180 ms later.
static void
put_swell(void) {
  SignalRandom      random = signal_random(8U);
  VwSound           sound = signal_silence(1.2, 44100U);
  const SignalBurst bursts[] = {
    {.start_s = 0.2, .decay_s = 0.9, .level = 0.2},
    {.start_s = 0.38, .rise_s = 0.02, .decay_s = 0.7, .level = 0.16}};
  signal_add_burst(&sound, &bursts[0], &random);
  signal_add_burst(&sound, &bursts[1], &random);
  signal_add_noise(&sound, 1e-4, &random);
  put("swell.wav", &sound, 0U, sound.n_frames);
  vw_sound_clear(&sound);
}

/// What a line says, after it wrote out.wav.
static json_t*
make(const char* command, const char* options, const char* take) {
  char line[512];
  (void)snprintf(
    line, sizeof(line), "%s " PLAIN "-o out.wav %s %s", command, options, take);
  return run_json(line, 0);
}

static VwSound
read_out(void) {
  size_t        n = 0;
  char* const   bytes = folder_get("out.wav", &n);
  const VwBytes all = {(unsigned char*)bytes, n};
  Riff          riff = {0};
  assert_non_null(bytes);
  assert_true(riff_parse(&all, &riff));
  const VwSound sound = riff_sound(&riff, &all);
  free(bytes);
  return sound;
}

/* Stretches */

typedef struct {
  const char* command;
  const char* options;
  double      from_s;
  double      to_s; ///< 0: the take's end.
  unsigned    rate_hz;
  unsigned    n_channels;
} Stretch;

static const Stretch stretches[] = {
  {"shot", "", 0.7, 1.5, 44100U, 1U},
  {"shot", "", 0.93, 1.5, 44100U, 2U}, // starts within the shot
  {"shot", "", 0.7, 0.97, 22050U, 1U}, // ends within it
  {"shot", "--sample-rate 22050", 0.0, 0.8, 48000U, 1U},
  {"shot", "", 1.4, 0.0, 44100U, 2U},
  {"loop", "--fire-rate 9/s --part loop", 0.7, 1.5, 44100U, 1U},
  {"loop", "--fire-rate 9/s --burst 3 --part burst", 0.93, 1.5, 22050U, 1U},
  {"convert", "", 0.93, 1.02, 44100U, 1U},
  {"convert", "", 0.3, 0.0, 44100U, 2U},
};

static bool
check_stretch(const Stretch* wanted) {
  VwSound      take = three_shots(wanted->rate_hz, wanted->n_channels);
  const size_t from = (size_t)lround(wanted->from_s * wanted->rate_hz);
  const size_t to = wanted->to_s > 0.0
                      ? (size_t)lround(wanted->to_s * wanted->rate_hz)
                      : take.n_frames;
  char         options[128];
  size_t       n = 0;
  (void)snprintf(options,
                 sizeof(options),
                 wanted->to_s > 0.0 ? "%s --from %gs --to %gs"
                                    : "%s --from %gs",
                 wanted->options,
                 wanted->from_s,
                 wanted->to_s);
  put("take.wav", &take, from, to);
  json_decref(make(wanted->command, wanted->options, "take.wav"));
  char* const cut = folder_get("out.wav", &n);
  put("take.wav", &take, 0U, take.n_frames);
  json_t* const said = make(wanted->command, options, "take.wav");
  const double  attack_ms = number_at(said, "shot.attack_ms");
  bool          good = check_that(has_bytes("out.wav", cut, n),
                         "%s %s: not as of a file cut so",
                         wanted->command,
                         options);
  for (size_t i = 0; i < 3U && strcmp(wanted->command, "convert") != 0; ++i) {
    if (wanted->from_s < starts_s[i] &&
        (wanted->to_s > starts_s[i] || wanted->to_s == 0.0)) {
      good &= check_equal(round(attack_ms),
                          1000.0 * starts_s[i],
                          "%s %s: attack",
                          wanted->command,
                          options);
    }
  }
  json_decref(said);
  free(cut);
  vw_sound_clear(&take);
  return good;
}

// A stretch gives what a file of those frames alone gives, byte for byte; times
// are those in the take.
static void
test_stretches(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < sizeof(stretches) / sizeof(stretches[0]); ++i) {
    ok &= check_stretch(&stretches[i]);
  }
  assert_true(ok);
}

/// A stretch of the take of three, and where the shot starts that it tears.
typedef struct {
  const char* options;
  double      torn_ms; ///< 0: none.
} Torn;

/// Every command that looks for shots says so.
static bool
check_torn(const char* line, const Torn* of) {
  Run          got = run(line);
  const char*  said = strstr(got.err, "starts within the shot at ");
  const double at_ms =
    said ? strtod(said + strlen("starts within the shot at "), NULL) : 0.0;
  const bool good = got.status == 0 && fabs(at_ms - of->torn_ms) <= 1.0;
  run_check(good, &got, line);
  run_clear(&got);
  return good;
}

static void
test_torn(void** state) {
  (void)state;
  static const char* const commands[] = {
    "inspect", "shot -n", "split -n", "loop -n --fire-rate 9"};
  static const Torn torn[] = {{"--from 0.93s", 900.0},
                              {"--from 0.25s --to 1.5s", 200.0},
                              {"--from 1.65s", 1600.0},
                              {"--from 1.64s --as shot", 1600.0},
                              {"--from 0.9s", 0.0},
                              {"--from 0.89s", 0.0},
                              {"--from 0.7s", 0.0},
                              {"--to 0.93s", 0.0}};
  VwSound           take = put_three();
  bool              ok = true;
  char              line[128];
  for (size_t i = 0; i < 4U * sizeof(torn) / sizeof(torn[0]); ++i) {
    (void)snprintf(line,
                   sizeof(line),
                   "%s %s three.wav",
                   commands[i % 4U],
                   torn[i / 4U].options);
    ok &= check_torn(line, &torn[i / 4U]);
  }
  static const char prop[] =
    "[sound zap]\nmake = shot\ntake = three.wav\nfrom = 0.93s\n";
  bytes_write("torn.ini", prop, strlen(prop));
  ok &= check_torn("pack -n --board wav-22k-mono torn.ini", &torn[0]);
  vw_sound_clear(&take);
  assert_true(ok);
}

/// A stretch of noise under two shots, and of soft sounds: what is no sound of
/// the take is told of, wherever it lies.
static void
test_faint(void** state) {
  (void)state;
  static const struct {
    const char* line;
    double      faint_db; ///< 0: not told.
  } cases[] = {
    {"inspect --to 0.28s faint.wav", 66.0},
    {"shot -n --to 0.28s faint.wav", 66.0},
    {"loop -n --fire-rate 9 --from 1.6s --to 1.9s --as sustained faint.wav",
     66.0},
    {"pack -n --board wav-22k-mono faint.ini", 66.0},
    {"shot -n --from 1.25s faint.wav", 0.0},
    {"shot -n --to 1s faint.wav", 0.0},
    {"loop -n --fire-rate 9 faint.wav", 0.0}};
  SignalRandom      random = signal_random(8U);
  VwSound           sound = signal_silence(2.0, 44100U);
  const SignalBurst bursts[] = {
    {.start_s = 0.3, .decay_s = 0.3, .level = 0.4},
    {.start_s = 1.3, .decay_s = 0.2, .level = 0.03}};
  signal_add_burst(&sound, &bursts[0], &random);
  signal_add_burst(&sound, &bursts[1], &random);
  signal_add_noise(&sound, 1.4e-4, &random);
  put("faint.wav", &sound, 0U, sound.n_frames);
  static const char prop[] =
    "[sound zap]\nmake = shot\ntake = faint.wav\nto = 0.28s\n";
  bytes_write("faint.ini", prop, strlen(prop));
  bool ok = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    Run               got = run(cases[i].line);
    const char* const said = strstr(got.err, "warning: the stretch is ");
    const double      db = said ? strtod(said + 24, NULL) : 0.0;
    ok &= run_check(
      !got.status && fabs(db - cases[i].faint_db) <= 2.0, &got, cases[i].line);
    run_clear(&got);
  }
  vw_sound_clear(&sound);
  assert_true(ok);
}

/* Shots and starts */

/// What lies where in the take in which file.
typedef struct {
  const char* options;
  double      start_s;  ///< Of the shot in the take.
  double      length_s; ///< About so long; 0: any.
  double      shots;    ///< As reported.
  double      before;   ///< The 2 ms before hold sound (1) or next to none.
} Used;

static const Used used[] = {
  {"", 0.9, 0.4, 3.0, 0.0},
  {"--pick 1", 0.2, 0.36, 3.0, 0.0},
  {"--pick 2", 0.9, 0.4, 3.0, 0.0},
  {"--pick 3", 1.6, 0.4, 3.0, 0.0},
  {"--from 0.5 --pick 2", 1.6, 0.4, 2.0, 0.0},
  {"--from 0.5 --to 1.5", 0.9, 0.4, 1.0, 0.0},
  {"--start 925ms", 0.925, 0.375, 3.0, 1.0},
  {"--pick 3 --start 1650ms", 1.65, 0.35, 3.0, 1.0},
  {"--as shot", 0.2, 1.8, 1.0, 0.0},
  {"--as shot --start 150ms", 0.15, 1.85, 1.0, 0.0},
  {"--as sustained", 0.2, 1.8, 1.0, 0.0},
  {"--as several-shots", 0.9, 0.4, 3.0, 0.0},
};

static bool
check_used(const Used* wanted, const VwSound* take) {
  json_t* const said = make("shot", wanted->options, "three.wav");
  VwSound       out = read_out();
  const size_t  n_pre = out.rate_hz * 2U / 1000U;
  double        before = 0.0;
  double        after = 0.0;
  for (size_t i = 0; i < n_pre; ++i) {
    before = fmax(before, fabs((double)out.values[i]));
    after = fmax(after, fabs((double)out.values[n_pre + i]));
  }
  const double lag_s = measure_lag_s(&out, take, wanted->start_s - 0.002);
  const double length_s = (double)out.n_frames / out.rate_hz - 0.002;
  bool good = check_at_most(fabs(lag_s), 0.001, "%s: late by", wanted->options);
  good &= check_at_most(fabs(length_s - wanted->length_s),
                        0.1,
                        "%s: %g s instead of %g",
                        wanted->options,
                        length_s,
                        wanted->length_s);
  good &= check_equal(number_at(said, "shot.shots_in_take"),
                      wanted->shots,
                      "%s: shots",
                      wanted->options);
  good &= check_that((before > 0.2 * after) == (wanted->before > 0.0) ||
                       wanted->start_s == 0.15,
                     "%s: before it %g, after it %g",
                     wanted->options,
                     before,
                     after);
  vw_sound_clear(&out);
  json_decref(said);
  return good;
}

static void
test_used(void** state) {
  (void)state;
  VwSound take = put_three();
  bool    ok = true;
  for (size_t i = 0; i < sizeof(used) / sizeof(used[0]); ++i) {
    ok &= check_used(&used[i], &take);
  }
  vw_sound_clear(&take);
  assert_true(ok);
}

/* Kinds */

// Each word is taken, and inspect says what was told.
static void
test_kinds(void** state) {
  (void)state;
  static const char* const words[] = {
    "shot", "several-shots", "rapid-fire", "sustained"};
  VwSound take = put_three();
  bool    ok = true;
  for (size_t i = 0; i < 4U; ++i) {
    char line[80];
    char kind[20];
    (void)snprintf(
      line, sizeof(line), "inspect --json --as %s three.wav", words[i]);
    (void)snprintf(kind, sizeof(kind), "%s", words[i]);
    if (strchr(kind, '-')) {
      *strchr(kind, '-') = ' ';
    }
    json_t* const     said = run_json(line, 0);
    const char* const found = json_string_value(value_at(said, "shot.kind"));
    ok &= check_that(
      found && !strcmp(found, kind), "%s: found %s", words[i], found);
    json_decref(said);
  }
  vw_sound_clear(&take);
  assert_true(ok);
}

// A shot that swells is used whole, or up to its second swell where it is told
// to be several.
static void
test_swell(void** state) {
  (void)state;
  put_swell();
  json_decref(make("shot", "--as shot", "swell.wav"));
  VwSound whole = read_out();
  json_decref(make("shot", "--as several-shots", "swell.wav"));
  VwSound      first = read_out();
  const double whole_s = (double)whole.n_frames / whole.rate_hz;
  const double first_s = (double)first.n_frames / first.rate_hz;
  vw_sound_clear(&whole);
  vw_sound_clear(&first);
  assert_true(check_at_least(whole_s, 0.6, "whole"));
  assert_true(check_at_most(fabs(first_s - 0.182), 0.03, "up to the second"));
}

/* What is joined */

/// A hum, or shots so far apart, half a second after the take's start and long
/// before its end, in a little noise.
static VwSound
joined_take(double period_s) {
  SignalRandom      random = signal_random(9U);
  const SignalBurst hum = {.start_s = 0.5,
                           .hold_s = 3.0,
                           .decay_s = 0.2,
                           .level = 0.3,
                           .pitch_hz = 150.0};
  VwSound           sound = signal_silence(5.0, 44100U);
  for (double at_s = 0.5; period_s > 0.0 && at_s < 2.5; at_s += period_s) {
    const SignalBurst shot = {
      .start_s = at_s, .decay_s = 0.12, .level = 0.15, .pitch_hz = 900.0};
    signal_add_burst(&sound, &shot, &random);
  }
  if (period_s <= 0.0) {
    signal_add_burst(&sound, &hum, &random);
  }
  signal_add_noise(&sound, 2e-4, &random);
  return sound;
}

/// The first frame from one on that is so loud; a sound's length: none.
static size_t
loud_from(const VwSound* sound, size_t from, double level) {
  while (from < sound->n_frames && fabs((double)sound->values[from]) < level) {
    ++from;
  }
  return from;
}

/// The attacks heard, each after 15 ms without anything a tenth as loud as the
/// loudest, and the nearest of the lamp's flashes: as many, 5 ms off at most.
static bool
check_flashes(const char* hold, json_t* said) {
  const VwSound heard = read_out();
  const double  level = 0.1 * measure_peak(&heard);
  const size_t  quiet = heard.rate_hz * 15U / 1000U;
  const json_t* lamp = value_at(said, "lamp");
  size_t        n = 0;
  size_t        last = 0;
  double        most_s = 0.0;
  for (size_t i = loud_from(&heard, 0U, level); i < heard.n_frames;
       i = loud_from(&heard, i + 1U, level)) {
    if (!n || i - last > quiet) {
      const double at_s = (double)i / heard.rate_hz;
      const double on_s =
        json_number_value(json_object_get(json_array_get(lamp, n), "on_s"));
      most_s = fmax(most_s, fabs(at_s - on_s));
      ++n;
    }
    last = i;
  }
  bool good =
    check_equal((double)json_array_size(lamp), (double)n, "%s: flashes", hold);
  good &= check_at_most(most_s, 0.005, "%s: flashes off, s", hold);
  VwSound cleared = heard;
  vw_sound_clear(&cleared);
  return good;
}

static bool
check_held(const char* repeat, const char* form) {
  static const char* const holds[] = {"0.3", "1", "2"};
  char                     line[300];
  bool                     good = true;
  (void)snprintf(line,
                 sizeof(line),
                 "\"$VOLLEYWEAVE\" boards wav-44k-mono | sed "
                 "'s/^repeat.*/repeat = %s/; s/^loop-points.*/loop-points = "
                 "yes/' >b.board.ini && \"$VOLLEYWEAVE\" loop -qf --form %s "
                 "-o made take.wav",
                 repeat,
                 form);
  Run made = run_shell(line);
  good &= run_check(made.status == 0, &made, line);
  run_clear(&made);
  for (size_t i = 0; i < 3U; ++i) {
    (void)snprintf(
      line,
      sizeof(line),
      "rehearse --json -f --hold %s --board b.board.ini -o out.wav "
      "made/take.loop.wav",
      holds[i]);
    json_t* const said = run_json(line, 0);
    good &= check_flashes(line, said);
    json_decref(said);
  }
  return good;
}

// The lamp flashes with each shot that is heard, before and behind the loop
// too.
static void
test_flashes(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < 2U; ++i) {
    VwSound take = joined_take(i ? 0.08 : 0.11);
    put("take.wav", &take, 0U, take.n_frames);
    vw_sound_clear(&take);
    ok &= check_held("three-files", "pieces");
    ok &= check_held("loop-points", "loop-points");
  }
  assert_true(ok);
}

/// What is joined starts and ends with what sounds, as of a file cut so.
static bool
check_joined(double period_s, const char* options, size_t from, size_t to) {
  VwSound      take = joined_take(period_s);
  const double ends_s = period_s > 0.0 ? 2.5 + 0.12 - period_s : 3.7;
  size_t       n = 0;
  put("take.wav", &take, from, to ? to : take.n_frames);
  json_decref(make("loop", "--form loop-points --part loop", "take.wav"));
  char* const cut = folder_get("out.wav", &n);
  put("take.wav", &take, 0U, take.n_frames);
  char all[64];
  (void)snprintf(
    all, sizeof(all), "--form loop-points --part loop %s", options);
  json_t* const said = make("loop", all, "take.wav");
  VwSound       out = read_out();
  const double  level = 0.1 * measure_peak(&out);
  size_t        last = out.n_frames;
  while (last && fabs((double)out.values[last - 1U]) < level / 30.0) {
    --last;
  }
  bool good = check_that(
    has_bytes("out.wav", cut, n), "%g, %s: not as cut", period_s, options);
  good &= check_at_most((double)loud_from(&out, 0U, level) / out.rate_hz,
                        0.003,
                        "%g, %s: silent, s",
                        period_s,
                        options);
  good &= check_at_most((double)(out.n_frames - last) / out.rate_hz,
                        0.05,
                        "%g, %s: nothing behind it, s",
                        period_s,
                        options);
  good &= check_at_most((double)out.n_frames / out.rate_hz,
                        ends_s,
                        "%g, %s: length, s",
                        period_s,
                        options);
  json_decref(said);
  free(cut);
  vw_sound_clear(&out);
  vw_sound_clear(&take);
  return good;
}

static void
test_joined(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < 2U; ++i) {
    const double period_s = i ? 0.11 : 0.0;
    ok &= check_joined(period_s, "", 0U, 0U);
    ok &= check_joined(period_s, "--from 0.3", 13230U, 0U);
    ok &= check_joined(period_s, "--from 1.05 --to 2.2", 46305U, 97020U);
  }
  assert_true(ok);
}

// Where the kind is near another, what overrules it is named; so is what picks
// another of several shots.
static void
test_named(void** state) {
  (void)state;
  char line[4096];
  if (!recordings_find(NULL)) {
    skip();
  }
  (void)snprintf(line,
                 sizeof(line),
                 "\"$VOLLEYWEAVE\" inspect %s/*.wav > said 2> /dev/null; "
                 "near=$(grep -c ': it is near both$' said); "
                 "[ $near -gt 2 ] && [ $near -lt 20 ] && [ $near = "
                 "$(grep -A1 ': it is near both$' said | grep -c "
                 "'^  overrule  *--as [a-z-]*, or --as [a-z-]*$') ]",
                 recordings_place());
  Run made = run_shell(line);
  assert_true(run_check(!made.status, &made, "overrule"));
  run_clear(&made);
  VwSound take = put_three();
  made = run("inspect three.wav");
  assert_true(run_check(
    strstr(made.out, "Next: volleyweave shot --pick 2 three.wav\n") != NULL,
    &made,
    "next"));
  run_clear(&made);
  made = run_shell(
    "\"$VOLLEYWEAVE\" convert --from 0.5 --to 0.6 three.wav | "
    "grep -q '^Next: .*volleyweave inspect [^ ]*$' && "
    "\"$VOLLEYWEAVE\" split --from 0.5 three.wav | "
    "grep -q '^Next: .*volleyweave loop --as shot --take-turns [^ ]*1.shot'");
  assert_true(run_check(!made.status, &made, "next, of what was made"));
  run_clear(&made);
  vw_sound_clear(&take);
}

/* The picture */

/// Where the attack's line lies in the first panel, as a share of its width.
static double
attack_in_picture(const char* line) {
  json_decref(run_json(line, 0));
  Svg    svg = {0};
  SvgBox panel = {0};
  double share = NAN;
  assert_true(svg_read("p.svg", &svg));
  assert_true(svg_panels(&svg, &panel, 1U) > 0U);
  for (size_t i = 0; i < svg.n_items; ++i) {
    const SvgItem* const item = &svg.items[i];
    if (item->kind == SVG_LINE && item->colour == ATTACK_COLOUR &&
        item->n_points > 1U && item->points[0] == item->points[2]) {
      share = (item->points[0] - panel.left) / (panel.right - panel.left);
      break;
    }
  }
  svg_clear(&svg);
  return share;
}

// The picture shows the stretch alone, at its times in the take.
static void
test_picture(void** state) {
  (void)state;
  VwSound      take = put_three();
  const double whole =
    attack_in_picture("inspect --json --plot p.svg --to 2.4s three.wav");
  const double part = attack_in_picture(
    "inspect --json -f --plot p.svg --from 0.7s --to 1.5s three.wav");
  vw_sound_clear(&take);
  assert_true(
    check_at_most(fabs(whole - 0.9 / 2.4), 0.003, "whole: %g", whole));
  assert_true(check_at_most(fabs(part - 0.2 / 0.8), 0.003, "part: %g", part));
}

/* Refused */

static const RunCase refused[] = {
  {"shot --from 1s --to 0.5s three.wav", 2, NULL, "before --from"},
  {"shot --from 1s --to 1.004s three.wav", 2, NULL, "shorter than 5 ms"},
  {"shot --to 3s three.wav", 1, NULL, "past its end, at 2.400 s"},
  {"inspect --from 2.4s three.wav", 1, NULL, "past its end, at 2.400 s"},
  {"convert --from 2.398s three.wav", 1, NULL, "shorter than 5 ms"},
  {"shot --pick 4 three.wav", 1, NULL, "it holds 3 shots: pick one of 1 to 3"},
  {"loop --pick 4 three.wav", 1, NULL, "it holds 3 shots: pick one of 1 to 3"},
  {"shot --pick 2 --as shot three.wav", 1, NULL, "it holds 1 shot (shot)"},
  {"shot --pick 2 --to 0.6 three.wav", 1, NULL, "it holds 1 shot"},
  {"shot --pick 0 three.wav", 2, NULL, "--pick 0"},
  {"loop --start 1.9s three.wav", 1, NULL, "lies past the end of its shot"},
  {"shot --pick 3 --start 0.9s three.wav", 1, NULL, "the shot before the one"},
  {"loop --pick 2 --start 200ms three.wav", 1, NULL, "lies from 900 to "},
  {"shot --as drone three.wav", 2, NULL, "shot, several-shots, rapid-fire"},
};

static void
test_refused(void** state) {
  (void)state;
  VwSound take = put_three();
  bool    ok = true;
  for (size_t i = 0; i < sizeof(refused) / sizeof(refused[0]); ++i) {
    ok &= run_gave(run(refused[i].line), &refused[i]);
  }
  vw_sound_clear(&take);
  assert_int_equal(folder_count("."), 1U);
  assert_true(ok);
}

/* Kept */

// The settings stand in the section that is printed, and a pack made from it
// has the file that the command writes.
static void
test_kept(void** state) {
  (void)state;
  VwSound take = put_three();
  Run     made = run_shell(
    "\"$VOLLEYWEAVE\" shot --print-section --from 0.5s --to 2.2s --pick 2 "
        "--start 1620ms --as several-shots --loudness keep --name zap three.wav "
        "-o one > section && "
        "(printf '[prop]\\nname = p\\nboards = wav-44k-mono\\n'; cat section) > "
        "sounds.ini && \"$VOLLEYWEAVE\" pack -q -o two sounds.ini && "
        "grep -c 'from = 0.5s\\|to = 2.2s\\|pick = 2\\|start = 1620ms\\|as = "
        "several-shots' section");
  assert_true(
    run_check(!made.status && strstr(made.out, "5\n"), &made, "kept"));
  run_clear(&made);
  made = run_shell("cmp \"$(find one -name '*.wav')\" "
                   "\"$(find two -name '*.wav')\"");
  assert_true(run_check(!made.status, &made, "same"));
  run_clear(&made);
  vw_sound_clear(&take);
}

int
main(int argc, char** argv) {
#define IN_FOLDER(test)                                                        \
  cmocka_unit_test_setup_teardown(test, run_enter_folder, run_leave_folder)
  const struct CMUnitTest tests[] = {
    IN_FOLDER(test_stretches),
    IN_FOLDER(test_torn),
    IN_FOLDER(test_faint),
    IN_FOLDER(test_used),
    IN_FOLDER(test_kinds),
    IN_FOLDER(test_swell),
    IN_FOLDER(test_flashes),
    IN_FOLDER(test_joined),
    IN_FOLDER(test_named),
    IN_FOLDER(test_picture),
    IN_FOLDER(test_refused),
    IN_FOLDER(test_kept),
  };
  run_set_up(argc, argv);
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  run_tear_down();
  return failed;
}
