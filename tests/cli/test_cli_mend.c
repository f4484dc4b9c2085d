// check and mend of files as others make them: what is said, with which status,
// and what the mended copy holds, read here.

#include "support/check.h"
#include "support/measure.h"
#include "support/recordings.h"
#include "support/riff.h"
#include "support/run.h"
#include "support/signals.h"
#include "support/wav_files.h"

#include <sndfile.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))
#define WAV (SF_FORMAT_WAV | SF_FORMAT_PCM_16)
#define OGG (SF_FORMAT_OGG | SF_FORMAT_VORBIS)
#define MP3 (SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III)
#define RATE 44100U
#define LOOP_FRAMES 22050U
#define MARK_FRAMES 1000U // Before a marked loop, and behind it.
#define NEAR_FRAMES 883U  // 20 ms

/// What a file holds.
typedef enum {
  HOLDS_FIRE,   ///< A loop of four shots that ring into each other.
  HOLDS_HUM,    ///< A loop of three tones with beats.
  HOLDS_BEATS,  ///< A loop of two tones, which swells ten times a second.
  HOLDS_SHOT,   ///< One shot that dies away.
  HOLDS_CLICK,  ///< Silence with one click.
  HOLDS_SILENCE ///< Nothing.
} Holds;

/// A file, and what is said of it.
typedef struct {
  const char* path;
  Holds       holds;
  int         format;   ///< Of libsndfile.
  double      seconds;  ///< Length; 0: that of the loop.
  unsigned    rate_hz;  ///< 0: 44.1 kHz.
  size_t      n_gap;    ///< Frames of silence added to its end.
  size_t      n_cut;    ///< Frames cut off its start.
  size_t      late;     ///< Frames by which a second channel is late.
  bool        marked;   ///< With something before and behind, and loop points.
  bool        unnamed;  ///< An MP3 file that does not say what is padding.
  int         status;   ///< Of check.
  const char* says;     ///< What check says, of both streams.
  int         mended;   ///< Status of mend.
  const char* mends;    ///< What mend says, of both streams.
  size_t      n_frames; ///< Of the mended copy; 0: there is none.
  bool        same;     ///< All but 20 ms about the seam is as it was.
} Case;

static const Case cases[] = {
  {.path = "padded.mp3",
   .format = MP3,
   .unnamed = true,
   .status = 3,
   .says = "ms too long for whole shots, one every 125.0 ms",
   .mends = "nothing more",
   .n_frames = LOOP_FRAMES},
  {.path = "plain.ogg",
   .format = OGG,
   .says = "warning: a loop in Ogg",
   .mends = "written",
   .n_frames = LOOP_FRAMES},
  {.path = "padded.ogg",
   .format = OGG,
   .n_gap = 800U,
   .status = 3,
   .says = "ms too long for whole shots, one every 125.0 ms",
   .mends = "nothing more",
   .n_frames = LOOP_FRAMES},
  {.path = "half.wav",
   .format = WAV,
   .n_cut = LOOP_FRAMES / 8U,
   .status = 3,
   .says = "ms too short for whole shots, one every 125.0 ms",
   .mends = "nothing more",
   .n_frames = LOOP_FRAMES / 4U * 3U},
  {.path = "tick.wav",
   .holds = HOLDS_CLICK,
   .format = WAV,
   .seconds = 0.2,
   .says = "1 shot, 5 per second",
   .mends = "nothing is written"},
  {.path = "late.wav",
   .holds = HOLDS_HUM,
   .format = SF_FORMAT_WAV | SF_FORMAT_PCM_24,
   .late = 441U,
   .status = 3,
   .says = "seam         a click",
   .mends = "not mended: its right side is 10.0 ms late",
   .n_frames = LOOP_FRAMES,
   .same = true},
  {.path = "marked.wav",
   .holds = HOLDS_HUM,
   .format = WAV,
   .marked = true,
   .status = 3,
   .says = "seam         a click",
   .mends = "nothing more",
   .n_frames = LOOP_FRAMES + 2U * MARK_FRAMES,
   .same = true},
  {.path = "hum.wav",
   .holds = HOLDS_HUM,
   .format = WAV,
   .says = "a sound that goes on",
   .mends = "nothing is written"},
  {.path = "beats.wav",
   .holds = HOLDS_BEATS,
   .format = WAV,
   .seconds = 1.0,
   .says = "a sound that goes on",
   .mends = "nothing is written"},
  {.path = "ten.wav",
   .holds = HOLDS_HUM,
   .format = WAV,
   .seconds = 600.0,
   .rate_hz = 8000U,
   .says = "a sound that goes on",
   .mends = "nothing is written"},
  {.path = "one.wav",
   .holds = HOLDS_SHOT,
   .format = WAV,
   .seconds = 1.0,
   .says = "warning: this is a single shot, not a loop",
   .mends = "not mended: this is a single shot, not a loop: it dies away: make "
            "a loop"},
  {.path = "click.wav",
   .holds = HOLDS_CLICK,
   .format = WAV,
   .says = "warning: this is a single shot, not a loop",
   .mends = "nothing is written"},
  {.path = "two.shot.wav",
   .format = WAV,
   .n_cut = LOOP_FRAMES / 8U,
   .says = "a shot is played once, so no seam is judged",
   .mends = "since it has no fault that mend repairs"},
  {.path = "silence.wav",
   .holds = HOLDS_SILENCE,
   .format = WAV,
   .status = 1,
   .says = "silent",
   .mended = 1,
   .mends = "silent"},
  {.path = "three.wav",
   .format = WAV,
   .seconds = 3.0 / RATE,
   .status = 1,
   .says = "it is shorter than 5 ms",
   .mended = 1,
   .mends = "it is shorter than 5 ms"},
};

/* Files */

/// Add a shot that goes on at the start again, or not.
static void
add_shot(VwSound* sound, size_t at, bool wraps) {
  SignalRandom random = signal_random(3U);
  for (size_t i = at; i < at + sound->n_frames; ++i) {
    const double t = (double)(i - at) / sound->rate_hz;
    const double x = sin(2070.0 * t) + signal_uniform(&random) - 0.5;
    if (wraps || i < sound->n_frames) {
      sound->values[i % sound->n_frames] += (float)(0.3 * exp(-t / 0.03) * x);
    }
  }
}

/// What a case holds, one channel.
static VwSound
fill(const Case* of) {
  static const double tones[] = {100.0, 152.0, 214.0};
  const unsigned      rate = of->rate_hz ? of->rate_hz : RATE;
  const double s = of->seconds > 0.0 ? of->seconds : (double)LOOP_FRAMES / RATE;
  VwSound      sound = signal_silence(s, rate);
  for (size_t i = 0; of->holds == HOLDS_FIRE && i < 4U; ++i) {
    add_shot(&sound, i * sound.n_frames / 4U, true);
  }
  for (size_t i = 0; of->holds == HOLDS_HUM && i < COUNT(tones); ++i) {
    signal_add_tone(&sound, tones[i], 0.2, 0.1 * (double)i);
  }
  for (size_t i = 0; of->holds == HOLDS_BEATS && i < 2U; ++i) {
    signal_add_tone(&sound, 200.0 + 10.0 * (double)i, 0.3, 0.0);
  }
  if (of->holds == HOLDS_SHOT) {
    add_shot(&sound, 100U, false);
  } else if (of->holds == HOLDS_CLICK) {
    sound.values[sound.n_frames / 3U] = 0.5F;
  }
  return sound;
}

/// One channel of a case's file.
static double
value_at(const Case* of, const VwSound* sound, size_t i, unsigned channel) {
  const size_t n = sound->n_frames;
  if (of->marked) {
    // Up to the loop's last frame it bends away, and behind it comes back.
    const double off = fabs((double)i - (double)(MARK_FRAMES + n)) / 220.0;
    return (double)sound->values[(i + 3000U) % n] + 0.2 * fmax(0.0, 1.0 - off);
  }
  const size_t late = channel * of->late;
  i += of->n_cut;
  return i >= late && i - late < n ? (double)sound->values[i - late] : 0.0;
}

static void
mark(SNDFILE* out, size_t n_frames) {
  SF_INSTRUMENT marks = {.gain = 1, .loop_count = 1};
  marks.loops[0].mode = SF_LOOP_FORWARD;
  marks.loops[0].start = MARK_FRAMES;
  marks.loops[0].end = (uint32_t)(MARK_FRAMES + n_frames);
  assert_true(sf_command(out, SFC_SET_INSTRUMENT, &marks, sizeof(marks)));
}

/// Take the first frame off an MP3 file, which says what of the others is
/// padding.
static void
forget_padding(const char* path) {
  size_t      n = 0;
  char* const bytes = read_file(path, &n);
  size_t      at = 4U;
  while (at + 4U < n && (memcmp(bytes + at, bytes, 2U) ||
                         (bytes[at + 2U] ^ bytes[2]) & 0x0C)) {
    ++at;
  }
  bytes_write(path, bytes + at, n - at);
  free(bytes);
}

static void
write_case(const Case* of) {
  VwSound        sound = fill(of);
  const unsigned n_channels = of->late ? 2U : 1U;
  const size_t   n = sound.n_frames - of->n_cut + of->n_gap +
                   (of->marked ? 2U * MARK_FRAMES : 0U);
  float* const   values = calloc(n * n_channels, sizeof(float));
  SF_INFO        info = {.channels = (int)n_channels,
                         .samplerate = (int)sound.rate_hz,
                         .format = of->format};
  SNDFILE* const out = sf_open(of->path, SFM_WRITE, &info);
  assert_non_null(values);
  assert_non_null(out);
  for (size_t i = 0; i < n * n_channels; ++i) {
    values[i] =
      (float)value_at(of, &sound, i / n_channels, (unsigned)(i % n_channels));
  }
  if (of->marked) {
    mark(out, sound.n_frames);
  }
  assert_int_equal(sf_writef_float(out, values, (sf_count_t)n), n);
  assert_int_equal(sf_close(out), 0);
  free(values);
  vw_sound_clear(&sound);
  if (of->unnamed) {
    forget_padding(of->path);
  }
}

/* What is said, and what is left */

/// Whether a command says something of a case's file, with a status.
static bool
says(const char* command, const Case* of, int status, const char* wanted) {
  char line[128];
  // So much time of a processor is enough for ten minutes of sound: a tenth is
  // taken, also by a build with sanitizers.
  (void)snprintf(line,
                 sizeof(line),
                 "ulimit -t 60; \"$VOLLEYWEAVE\" %s %s",
                 command,
                 of->path);
  Run        made = run_shell(line);
  const bool good = made.status == status &&
                    (strstr(made.out, wanted) || strstr(made.err, wanted));
  (void)run_check(good, &made, line);
  run_clear(&made);
  return good;
}

static VwSound
read_wav(const char* path, Riff* riff) {
  VwBytes bytes = {0};
  bytes.data = (unsigned char*)read_file(path, &bytes.n_bytes);
  assert_non_null(bytes.data);
  assert_true(riff_parse(&bytes, riff));
  VwSound sound = riff_sound(riff, &bytes);
  free(bytes.data);
  return sound;
}

/// Whether a sound starts with a shot's attack.
static bool
starts_with_shot(const VwSound* sound) {
  VwSound start = *sound;
  start.n_frames = RATE / 50U; // MP3 blurs 13 ms before it.
  return measure_peak(&start) > 0.5 * measure_peak(sound);
}

/// Whether the mended copy is as long as it has to be, and the same but near
/// the seam.
static bool
is_mended(const Case* of, const char* path) {
  Riff    riff = {0};
  Riff    before = {0};
  VwSound after = read_wav(path, &riff);
  // Period by period, a frame may be missing.
  bool good =
    after.n_frames <= of->n_frames + 4U && after.n_frames + 4U >= of->n_frames;
  good &= of->holds != HOLDS_FIRE || starts_with_shot(&after);
  if (!good) {
    print_error("%s: %zu frames\n", path, after.n_frames);
  }
  if (of->same) {
    VwSound      was = read_wav(of->path, &before);
    const size_t from = of->marked ? before.loop_start : 0U;
    const size_t seam = of->marked ? before.loop_last : was.n_frames - 1U;
    good &= riff.has_loop == before.has_loop &&
            riff.loop_start == before.loop_start &&
            riff.loop_last == before.loop_last && riff.bits == before.bits;
    for (size_t i = 0; good && i < was.n_frames * was.n_channels; ++i) {
      const size_t frame = i / was.n_channels;
      const bool   near =
        frame + NEAR_FRAMES > seam && frame < seam + NEAR_FRAMES;
      const bool start = frame >= from && frame < from + NEAR_FRAMES;
      good &=
        near || start ||
        !(was.values[i] < after.values[i] || was.values[i] > after.values[i]);
    }
    vw_sound_clear(&was);
  }
  vw_sound_clear(&after);
  return good;
}

static bool
check_case(const Case* of) {
  char copy[64];
  (void)snprintf(copy,
                 sizeof(copy),
                 "volleyweave-out/%.*s.loop.wav",
                 (int)strcspn(of->path, "."),
                 of->path);
  write_case(of);
  bool good = says("check", of, of->status, of->says) &&
              says("mend", of, of->mended, of->mends);
  size_t      n = 0;
  char* const bytes = read_file(copy, &n);
  good &= (bytes != NULL) == (of->n_frames != 0U);
  free(bytes);
  if (good && of->n_frames) {
    good = is_mended(of, copy) &&
           says("check",
                &(Case){.path = copy},
                0,
                of->late ? "side is 10.0 ms late" : "a good loop") &&
           says("check",
                &(Case){.path = copy},
                0,
                of->holds == HOLDS_FIRE ? "shots, 8" : "goes on");
  }
  if (!good) {
    print_error("%s is not as it should be\n", of->path);
  }
  return good;
}

static void
test_files(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    ok &= check_case(&cases[i]);
  }
  assert_true(ok);
}

static void
test_words(void** state) {
  (void)state;
  static const RunCase lines[] = {
    {"check --json hum.wav", 0, "\"kind\": \"sustained\"", NULL},
    {"check --json one.wav", 0, "\"kind\": \"shot\"", NULL},
    {"check --json half.wav", 3, "\"kind\": \"rapid fire\"", NULL},
    {"inspect --json tick.wav", 0, "\"warnings\": []", NULL},
    {"loop -q -f --fire-rate 9/s tick.wav", 0, NULL, NULL},
    {"split -q -f tick.wav", 0, NULL, NULL},
    {"mend --help", 0, "8, 16, 24 or float (default the file's own)", NULL},
    {"mend --help", 0, "tpdf (default with --bits) or none", NULL},
  };
  bool ok = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    if (cases[i].seconds < 2.0) {
      write_case(&cases[i]);
    }
  }
  for (size_t i = 0; i < COUNT(lines); ++i) {
    ok &= run_gave(run(lines[i].line), &lines[i]);
  }
  assert_true(ok);
}

/* Loops of real rapid fire */

static char   labels[4096];
static size_t n_fine;
static size_t n_rapid;

/// Whether a loop steps at its seam no more than it does elsewhere.
static bool
has_no_step(const char* path) {
  Riff         riff = {0};
  VwSound      loop = read_wav(path, &riff);
  VwSound      played = measure_played(&loop, 2U);
  const size_t seam = loop.n_frames;
  const bool   good = measure_step_max(&played, seam - 1U, seam + 1U) <=
                    1.8 * measure_step_percentile(&loop, 0.999);
  vw_sound_clear(&played);
  vw_sound_clear(&loop);
  return good;
}

/// Have a loop made of it if it is rapid fire, and checked.
static void
try_rapid(const RecordingLabel* label, const VwSound* raw) {
  if (strcmp(label->kind, vw_kind_name(VW_KIND_RAPID_FIRE))) {
    return;
  }
  SF_INFO        info = {.channels = (int)raw->n_channels,
                         .samplerate = (int)raw->rate_hz,
                         .format = WAV};
  SNDFILE* const out = sf_open("take.wav", SFM_WRITE, &info);
  assert_non_null(out);
  assert_int_equal(sf_writef_float(out, raw->values, (sf_count_t)raw->n_frames),
                   raw->n_frames);
  assert_int_equal(sf_close(out), 0);
  static const RunCase wanted[] = {
    {"loop -q -f -o real take.wav", 0, NULL, NULL},
    {"check real/take.loop.wav", 0, "a good loop", NULL},
  };
  const bool good = run_gave(run(wanted[0].line), &wanted[0]) &&
                    run_gave(run(wanted[1].line), &wanted[1]) &&
                    has_no_step("real/take.loop.wav");
  if (!good) {
    print_error("%s is not as it should be\n", label->path);
  }
  ++n_rapid;
  n_fine += good;
}

static void
test_rapid(void** state) {
  (void)state;
  (void)recordings_labelled(labels, try_rapid);
  if (!n_rapid) {
    skip();
  }
  assert_int_equal(n_fine, n_rapid);
}

int
main(int argc, char** argv) {
#define IN_FOLDER(test)                                                        \
  cmocka_unit_test_setup_teardown(test, run_enter_folder, run_leave_folder)
  const struct CMUnitTest tests[] = {
    IN_FOLDER(test_files),
    IN_FOLDER(test_words),
    IN_FOLDER(test_rapid),
  };
  char here[2048];
  assert_true(argc > 2 && getcwd(here, sizeof(here)));
  (void)snprintf(labels,
                 sizeof(labels),
                 "%s%s%s",
                 *argv[2] == '/' ? "" : here,
                 *argv[2] == '/' ? "" : "/",
                 argv[2]);
  run_set_up(argc, argv);
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  run_tear_down();
  return failed;
}
