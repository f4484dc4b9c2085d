// Reading whole files, and refusing by name what is none.

#define _XOPEN_SOURCE 700

#include "check.h"
#include "folder.h"
#include "takes.h"

#include "volleyweave/volleyweave.h"

#include <sndfile.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

// The descriptor that the next file opened gets.
static int
next_descriptor(void) {
  const int fd = dup(STDOUT_FILENO);
  close(fd);
  return fd;
}

// Read; where that fails, the sound must be left as it was. No file stays open.
static VwStatus
read_take(const char* path, VwSound* sound, VwReadFault* fault) {
  const VwReadOptions options = vw_read_defaults();
  const VwSound       before = {NULL, 77, 77, 77};
  *sound = before;
  const int      next = next_descriptor();
  const VwStatus st = vw_read(path, &options, sound, fault);
  assert_int_equal(next_descriptor(), next);
  if (st) {
    assert_memory_equal(sound, &before, sizeof(before));
  }
  return st;
}

static VwStatus
status_of(const char* path) {
  VwSound        sound;
  const VwStatus st = read_take(path, &sound, NULL);
  if (!st) {
    vw_sound_clear(&sound);
  }
  return st;
}

/* Formats. */

typedef struct {
  const char* name;
  int         format;
  double      error; ///< Greatest, of what was written.
} Format;

// What loses nothing gives the codes of 16 bits back; the others are near.
static const Format formats[] = {
  {"WAV 16", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 0.0},
  {"WAV 24", SF_FORMAT_WAV | SF_FORMAT_PCM_24, 0.0},
  {"WAV 32", SF_FORMAT_WAV | SF_FORMAT_PCM_32, 0.0},
  {"WAV float", SF_FORMAT_WAV | SF_FORMAT_FLOAT, 0.0},
  {"WAV double", SF_FORMAT_WAV | SF_FORMAT_DOUBLE, 0.0},
  {"WAV 8", SF_FORMAT_WAV | SF_FORMAT_PCM_U8, 1.0 / 128.0},
  {"WAV A-law", SF_FORMAT_WAV | SF_FORMAT_ALAW, 0.02},
  {"WAV extensible", SF_FORMAT_WAVEX | SF_FORMAT_PCM_16, 0.0},
  {"RIFX", SF_FORMAT_WAV | SF_FORMAT_PCM_16 | SF_ENDIAN_BIG, 0.0},
  {"RF64", SF_FORMAT_RF64 | SF_FORMAT_PCM_16, 0.0},
  {"AIFF", SF_FORMAT_AIFF | SF_FORMAT_PCM_16, 0.0},
  {"AIFC", SF_FORMAT_AIFF | SF_FORMAT_FLOAT, 0.0},
  {"FLAC", SF_FORMAT_FLAC | SF_FORMAT_PCM_16, 0.0},
  {"Ogg Vorbis", SF_FORMAT_OGG | SF_FORMAT_VORBIS, 0.1},
  {"Ogg Opus", SF_FORMAT_OGG | SF_FORMAT_OPUS, 0.1},
  {"MP3", SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III, 0.1},
};

enum { N_FORMATS = sizeof(formats) / sizeof(formats[0]) };

static const TakeFile take = {"take", 0, 2, 48000, 48000, 0.5};

// Compressed sound has some disorder where it starts and ends: 10 ms of it.
static double
error_of(const VwSound* sound, const TakeFile* file, size_t margin) {
  double most = 0.0;
  for (size_t i = margin; i + margin < file->n_frames; ++i) {
    for (unsigned c = 0; c < file->n_channels; ++c) {
      const double value = (double)sound->values[i * file->n_channels + c];
      most = fmax(most, fabs(value - (double)takes_value(file, i)));
    }
  }
  return most;
}

static bool
check_format(const Format* format) {
  TakeFile file = take;
  file.format = format->format;
  takes_put(&file);
  VwSound  sound;
  VwStatus st = read_take(file.path, &sound, NULL);
  if (st) {
    return check_that(false, "%s: status %d", format->name, (int)st);
  }
  bool ok = check_equal(
    (double)sound.n_frames, (double)file.n_frames, "%s: frames", format->name);
  ok &= check_equal(sound.n_channels, 2, "%s: channels", format->name);
  ok &= check_equal(sound.rate_hz, 48000, "%s: sample rate", format->name);
  ok &=
    ok && check_at_most(error_of(&sound, &file, format->error > 0 ? 480 : 0),
                        format->error,
                        "%s: error",
                        format->name);
  vw_sound_clear(&sound);
  return ok;
}

static void
test_formats(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < N_FORMATS; ++i) {
    ok &= check_format(&formats[i]);
  }
  assert_true(ok);
}

static double
peak_of(const VwSound* sound) {
  double peak = 0.0;
  for (size_t i = 0; i < sound->n_frames * sound->n_channels; ++i) {
    peak = fmax(peak, fabs((double)sound->values[i]));
  }
  return peak;
}

// +6 dBFS, as a loud compressed recording may decode to.
static void
test_over_full_scale(void** state) {
  (void)state;
  static const int over[] = {SF_FORMAT_WAV | SF_FORMAT_FLOAT,
                             SF_FORMAT_OGG | SF_FORMAT_VORBIS,
                             SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III};

  bool ok = true;
  for (size_t i = 0; i < sizeof(over) / sizeof(over[0]); ++i) {
    TakeFile file = take;
    file.format = over[i];
    file.level = 1.9953;
    takes_put(&file);
    VwSound sound;
    assert_int_equal(read_take(file.path, &sound, NULL), VW_OK);
    ok &= check_at_least(peak_of(&sound), 1.9, "format %zu: peak", i);
    ok &= check_at_most(error_of(&sound, &file, 480), 0.1, "format %zu", i);
    vw_sound_clear(&sound);
  }
  assert_true(ok);
}

/* Less than promised. */

static void
test_cut_short(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < N_FORMATS; ++i) {
    TakeFile file = take;
    file.format = formats[i].format;
    takes_put(&file);
    size_t n_bytes = 0;
    free(folder_get(file.path, &n_bytes));
    for (size_t percent = 90; percent >= 30; percent -= 15) {
      VwSound     sound;
      VwReadFault fault = {1, 1, 1};
      takes_cut(file.path, n_bytes * percent / 100);
      const VwStatus st = read_take(file.path, &sound, &fault);
      const char*    name = formats[i].name;
      ok &= check_equal(st, VW_CUT_SHORT, "%s at %zu %%", name, percent);
      const double promised = (double)fault.n_frames_promised;
      // Ogg promises nothing, and ends at a page.
      const bool is_ogg = !strncmp(name, "Ogg", 3);
      ok &= check_at_most(fabs(promised - (is_ogg ? 0.0 : 48000.0)),
                          formats[i].error > 0 ? 2000.0 : 0.0,
                          "%s: promised",
                          name);
      ok &= check_at_most((double)fault.n_frames_there,
                          480.0 * (double)percent + 2000.0,
                          "%s at %zu %%: there",
                          name,
                          percent);
    }
  }
  assert_true(ok);
}

static void
test_cut_exactly(void** state) {
  (void)state;
  const TakeHeader header = {1, 2, 44100, 16, 4000, 3999};
  VwSound          sound;
  VwReadFault      fault = {0};
  takes_put_header("cut.wav", &header);
  assert_int_equal(read_take("cut.wav", &sound, &fault), VW_CUT_SHORT);
  assert_int_equal(fault.n_frames_promised, 1000);
  assert_int_equal(fault.n_frames_there, 999);
  assert_int_equal(fault.rate_hz, 44100);
  assert_int_equal(status_of("cut.wav"), VW_CUT_SHORT);
}

/* Headers. */

typedef struct {
  TakeHeader header;
  VwStatus   status;
} HeaderCase;

static const HeaderCase header_cases[] = {
  {{1, 1, 44100, 16, 2, 2}, VW_OK},
  {{1, 1, 44100, 16, 3, 3}, VW_OK},
  {{1, 1, 44100, 16, 2000, 2001}, VW_OK},
  {{1, 8, 44100, 16, 1600, 1600}, VW_OK},
  {{1, 1, 4000, 16, 2000, 2000}, VW_OK},
  {{1, 1, 384000, 16, 2000, 2000}, VW_OK},
  {{1, 0, 44100, 16, 2000, 2000}, VW_CHANNELS},
  {{1, 9, 44100, 16, 1800, 1800}, VW_CHANNELS},
  {{1, 1025, 44100, 16, 4100, 4100}, VW_CHANNELS},
  {{1, 65535, 44100, 16, 131070, 131070}, VW_CHANNELS},
  {{1, 1, 0, 16, 2000, 2000}, VW_SAMPLE_RATE},
  {{1, 1, 3999, 16, 2000, 2000}, VW_SAMPLE_RATE},
  {{1, 1, 384001, 16, 2000, 2000}, VW_SAMPLE_RATE},
  {{1, 1, 0x80000000U, 16, 2000, 2000}, VW_SAMPLE_RATE},
  {{1, 1, 0xFFFFFFFFU, 16, 2000, 2000}, VW_SAMPLE_RATE},
  {{1, 1, 44100, 16, 0, 0}, VW_NO_FRAMES},
  {{1, 1, 44100, 16, 2000, 0}, VW_NO_FRAMES},
  {{1, 1, 44100, 16, 0xFFFFFFFFU, 0}, VW_NO_FRAMES},
  {{1, 1, 44100, 16, 1, 1}, VW_NO_FRAMES},
  {{1, 1, 44100, 16, 2001, 2000}, VW_CUT_SHORT},
  {{1, 1, 44100, 16, 0x7FFFFFFFU, 2000}, VW_CUT_SHORT},
  {{1, 1, 44100, 16, 0xFFFFFFFFU, 2000}, VW_CUT_SHORT},
  {{0x0161, 2, 44100, 16, 2000, 2000}, VW_CONTAINER},
  {{0x00FF, 2, 44100, 16, 2000, 2000}, VW_CONTAINER},
};

static void
test_headers(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < sizeof(header_cases) / sizeof(header_cases[0]); ++i) {
    takes_put_header("header.wav", &header_cases[i].header);
    ok &= check_equal(
      status_of("header.wav"), header_cases[i].status, "header %zu", i);
  }
  assert_true(ok);
}

/* What is no sound file. */

typedef struct {
  const char* bytes;
  size_t      n_bytes;
  VwStatus    status;
} BytesCase;

#define BYTES(text) (text), sizeof(text) - 1

static const BytesCase bytes_cases[] = {
  {BYTES(""), VW_EMPTY},
  {BYTES("R"), VW_NOT_AUDIO},
  {BYTES("This is a letter and no sound at all.\n"), VW_NOT_AUDIO},
  {BYTES("\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0"), VW_NOT_AUDIO},
  {BYTES("\x89PNG\r\n\x1A\n\0\0\0\rIHDR\0\0\0\1\0\0\0\1"), VW_NOT_AUDIO},
  {BYTES("\0\0\0\x20"
         "ftypM4A \0\0\0\0M4A mp42isom\0\0\0\0\0\0\0\0moov"),
   VW_CONTAINER},
  {BYTES("\0\0\0\x18"
         "ftypmp42\0\0\0\0mp42isom"),
   VW_CONTAINER},
  {BYTES("RIFF\x20\0\0\0AVI LIST\x10\0\0\0hdrlavih\0\0\0\0"), VW_CONTAINER},
  {BYTES("\x1A\x45\xDF\xA3\x9F\x42\x86\x81\x01\x42\xF7\x81"), VW_CONTAINER},
  {BYTES("\x30\x26\xB2\x75\x8E\x66\xCF\x11\xA6\xD9\0\xAA"), VW_CONTAINER},
  {BYTES("RIFF\x04\0\0\0WAVE"), VW_DAMAGED},
  {BYTES("RIFF\x18\0\0\0WAVEfmt \x10\0\0\0\1\0\1\0"), VW_DAMAGED},
  {BYTES("fLaC\0\0\0\x22\x10\0"), VW_DAMAGED},
  {BYTES("OggS\0\2"), VW_CUT_SHORT},
};

static void
test_no_sound_file(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < sizeof(bytes_cases) / sizeof(bytes_cases[0]); ++i) {
    folder_put("bytes.wav", bytes_cases[i].bytes, bytes_cases[i].n_bytes);
    ok &= check_equal(
      status_of("bytes.wav"), bytes_cases[i].status, "bytes %zu", i);
  }
  assert_true(ok);
}

/* What is no file. */

static void
test_no_file(void** state) {
  (void)state;
  TakeFile file = take;
  file.format = formats[0].format;
  takes_put(&file);
  assert_int_equal(mkdir("folder", 0777), 0);
  assert_int_equal(mkfifo("pipe", 0666), 0);
  assert_int_equal(symlink("nowhere", "dangling"), 0);
  assert_int_equal(symlink("pipe", "to-pipe"), 0);
  assert_int_equal(symlink("take", "to-take"), 0);
  folder_put("caf\xE9.wav", "", 0);

  static const struct {
    const char* path;
    VwStatus    status;
  } cases[] = {
    {"take", VW_OK},
    {"to-take", VW_OK},
    {"none.wav", VW_MISSING},
    {"", VW_MISSING},
    {"none/take.wav", VW_MISSING},
    {"take/take.wav", VW_MISSING},
    {"dangling", VW_MISSING},
    {"folder", VW_NOT_REGULAR},
    {"pipe", VW_NOT_REGULAR},
    {"to-pipe", VW_NOT_REGULAR},
    {"/dev/zero", VW_NOT_REGULAR},
    {"/dev/null", VW_NOT_REGULAR},
    {"caf\xE9.wav", VW_NAME_NOT_UTF8},
  };
  bool ok = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    ok &= check_equal(
      status_of(cases[i].path), cases[i].status, "%s", cases[i].path);
  }
  assert_true(ok);
}

// Root may read anything: a child gives that up.
static void
test_unreadable(void** state) {
  (void)state;
  TakeFile file = take;
  file.format = formats[0].format;
  takes_put(&file);
  assert_int_equal(chmod(".", 0755), 0);
  assert_int_equal(chmod(file.path, 0), 0);
  const pid_t child = fork();
  if (child == 0) {
    if (geteuid() == 0 && (setgid(65534) || setuid(65534))) {
      _exit(255);
    }
    _exit((int)status_of(file.path));
  }
  int status = 0;
  assert_int_equal(waitpid(child, &status, 0), child);
  assert_true(WIFEXITED(status));
  assert_int_equal(WEXITSTATUS(status), VW_UNREADABLE);
}

/* Lengths. */

static VwStatus
status_within(const char* path, double seconds_max) {
  const VwReadOptions options = {seconds_max};
  VwSound             sound = {0};
  const VwStatus      st = vw_read(path, &options, &sound, NULL);
  vw_sound_clear(&sound);
  return st;
}

static void
test_time_limit(void** state) {
  (void)state;
  assert_true(vw_read_defaults().seconds_max == 600.0);
  TakeFile file = take;
  for (size_t i = 0; i < N_FORMATS; ++i) {
    file.format = formats[i].format;
    takes_put(&file);
    assert_int_equal(status_within(file.path, 1.0), VW_OK);
    assert_int_equal(status_within(file.path, 0.99), VW_TOO_LONG);
  }
  assert_int_equal(status_within(file.path, INFINITY), VW_OK);
  assert_int_equal(status_within(file.path, NAN), VW_TOO_LONG);
  assert_int_equal(status_within(file.path, -1.0), VW_TOO_LONG);
}

// The 36 bits of the length in a FLAC header (RFC 9639, section 8.2).
static void
set_flac_length(const char* path, uint64_t n_frames) {
  size_t      n_bytes = 0;
  char* const bytes = folder_get(path, &n_bytes);
  assert_non_null(bytes);
  bytes[21] = (char)((bytes[21] & 0xF0) | (char)(n_frames >> 32U & 0xFU));
  for (unsigned i = 0; i < 4; ++i) {
    bytes[22 + i] = (char)(n_frames >> (24U - 8U * i) & 0xFFU);
  }
  folder_put(path, bytes, n_bytes);
  free(bytes);
}

// 0 is a stream of unknown length. Longer than what is read at once at first.
static void
test_unknown_length(void** state) {
  (void)state;
  const size_t   n_frames = 200000;
  const TakeFile file = {
    "take", SF_FORMAT_FLAC | SF_FORMAT_PCM_16, 2, 48000, n_frames, 0.5};
  takes_put(&file);
  set_flac_length(file.path, 0);
  VwSound sound;
  assert_int_equal(read_take(file.path, &sound, NULL), VW_OK);
  assert_int_equal(sound.n_frames, n_frames);
  assert_true(error_of(&sound, &file, 0) == 0.0);
  vw_sound_clear(&sound);
  assert_int_equal(status_within(file.path, 4.0), VW_TOO_LONG);
  assert_int_equal(status_within(file.path, 4.2), VW_OK);
}

// Refused by the header alone, before there is memory for it.
static void
test_false_length(void** state) {
  (void)state;
  TakeFile file = take;
  file.format = SF_FORMAT_FLAC | SF_FORMAT_PCM_16;
  takes_put(&file);
  set_flac_length(file.path, 0xFFFFFFFFFU);
  assert_int_equal(status_of(file.path), VW_TOO_LONG);
  set_flac_length(file.path, 48001);
  assert_int_equal(status_of(file.path), VW_CUT_SHORT);
}

static void
test_one_frame(void** state) {
  (void)state;
  const TakeFile file = {
    "take", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 1, 44100, 1, 0.5};
  takes_put(&file);
  VwSound sound;
  assert_int_equal(read_take(file.path, &sound, NULL), VW_OK);
  assert_int_equal(sound.n_frames, 1);
  vw_sound_clear(&sound);
}

// Values that are no numbers come through: they are another step's matter.
static void
test_not_finite(void** state) {
  (void)state;
  const TakeFile file = {
    "take", SF_FORMAT_WAV | SF_FORMAT_FLOAT, 1, 44100, 4, 0.5};
  takes_put(&file);
  size_t      n_bytes = 0;
  char* const bytes = folder_get(file.path, &n_bytes);
  assert_non_null(bytes);
  const float values[] = {NAN, INFINITY, -INFINITY, 0.0F};
  memcpy(bytes + n_bytes - sizeof(values), values, sizeof(values));
  folder_put(file.path, bytes, n_bytes);
  free(bytes);
  VwSound sound;
  assert_int_equal(read_take(file.path, &sound, NULL), VW_OK);
  assert_memory_equal(sound.values, values, sizeof(values));
  vw_sound_clear(&sound);
}

/* Anything at all. */

// The leak checker asks this function: the general reader forgets some memory
// where the header of compressed sound is spoiled.
const char* __lsan_default_suppressions(void);

const char*
__lsan_default_suppressions(void) {
  return "leak:libvorbis\nleak:libsndfile\nleak:libopus\nleak:libmpg123\n";
}

static uint32_t
next_random(uint32_t* state) {
  // Numerical Recipes' linear congruence: good enough to choose bytes.
  *state = *state * 1664525U + 1013904223U;
  return *state >> 8U;
}

// Bytes of the head changed, and the end cut now and then.
static void
spoil(char* bytes, size_t* n_bytes, uint32_t* random) {
  const size_t head = *n_bytes < 200 ? *n_bytes : 200;
  for (uint32_t n = 1 + next_random(random) % 6; n > 0; --n) {
    static const char extremes[] = {0, 1, 0x7F, (char)0x80, (char)0xFF};
    bytes[next_random(random) % head] = extremes[next_random(random) % 5];
  }
  if (next_random(random) % 4 == 0) {
    *n_bytes = next_random(random) % *n_bytes;
  }
}

static void
test_spoiled(void** state) {
  (void)state;
  uint32_t random = 1;
  for (size_t i = 0; i < N_FORMATS; ++i) {
    TakeFile file = take;
    file.format = formats[i].format;
    file.n_frames = 3000;
    takes_put(&file);
    size_t      n_whole = 0;
    char* const whole = folder_get(file.path, &n_whole);
    char* const bytes = malloc(n_whole);
    assert_true(whole && bytes);
    for (unsigned turn = 0; turn < 150; ++turn) {
      size_t n_bytes = n_whole;
      memcpy(bytes, whole, n_whole);
      spoil(bytes, &n_bytes, &random);
      folder_put("spoiled", bytes, n_bytes);
      VwSound        sound;
      const VwStatus st = read_take("spoiled", &sound, NULL);
      assert_true(st <= VW_SAMPLE_RATE && st != VW_MISSING);
      if (!st) {
        assert_true(sound.n_frames > 0 && sound.n_channels >= 1 &&
                    sound.n_channels <= 8 && sound.rate_hz >= 4000 &&
                    sound.rate_hz <= 384000);
        vw_sound_clear(&sound);
      }
    }
    free(whole);
    free(bytes);
  }
}

#define READ_TEST(function)                                                    \
  cmocka_unit_test_setup_teardown(function, folder_enter, folder_leave)

int
main(void) {
  const struct CMUnitTest tests[] = {
    READ_TEST(test_formats),
    READ_TEST(test_over_full_scale),
    READ_TEST(test_cut_short),
    READ_TEST(test_cut_exactly),
    READ_TEST(test_headers),
    READ_TEST(test_no_sound_file),
    READ_TEST(test_no_file),
    READ_TEST(test_unreadable),
    READ_TEST(test_time_limit),
    READ_TEST(test_unknown_length),
    READ_TEST(test_false_length),
    READ_TEST(test_one_frame),
    READ_TEST(test_not_finite),
    READ_TEST(test_spoiled),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
