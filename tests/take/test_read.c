// Reading whole files of every format, of any length, and spoiled ones.

#include "support/check.h"
#include "support/folder.h"
#include "support/takes.h"

#include "volleyweave/volleyweave.h"

#include <sndfile.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* Formats. */

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
check_format(const TakeFormat* format) {
  TakeFile file = takes_second;
  file.format = format->format;
  takes_put(&file);
  VwSound  sound;
  VwStatus st = takes_read(file.path, &sound, NULL);
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
  for (size_t i = 0; i < TAKES_N_FORMATS; ++i) {
    ok &= check_format(&takes_formats[i]);
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
    TakeFile file = takes_second;
    file.format = over[i];
    file.level = 1.9953;
    takes_put(&file);
    VwSound sound;
    assert_int_equal(takes_read(file.path, &sound, NULL), VW_OK);
    ok &= check_at_least(peak_of(&sound), 1.9, "format %zu: peak", i);
    ok &= check_at_most(error_of(&sound, &file, 480), 0.1, "format %zu", i);
    vw_sound_clear(&sound);
  }
  assert_true(ok);
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
  TakeFile file = takes_second;
  for (size_t i = 0; i < TAKES_N_FORMATS; ++i) {
    file.format = takes_formats[i].format;
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
  assert_int_equal(takes_read(file.path, &sound, NULL), VW_OK);
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
  TakeFile file = takes_second;
  file.format = SF_FORMAT_FLAC | SF_FORMAT_PCM_16;
  takes_put(&file);
  set_flac_length(file.path, 0xFFFFFFFFFU);
  assert_int_equal(takes_status(file.path), VW_TOO_LONG);
  set_flac_length(file.path, 48001);
  assert_int_equal(takes_status(file.path), VW_CUT_SHORT);
}

static void
test_one_frame(void** state) {
  (void)state;
  const TakeFile file = {
    "take", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 1, 44100, 1, 0.5};
  takes_put(&file);
  VwSound sound;
  assert_int_equal(takes_read(file.path, &sound, NULL), VW_OK);
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
  assert_int_equal(takes_read(file.path, &sound, NULL), VW_OK);
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
  for (size_t i = 0; i < TAKES_N_FORMATS; ++i) {
    TakeFile file = takes_second;
    file.format = takes_formats[i].format;
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
      const VwStatus st = takes_read("spoiled", &sound, NULL);
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
    READ_TEST(test_time_limit),
    READ_TEST(test_unknown_length),
    READ_TEST(test_false_length),
    READ_TEST(test_one_frame),
    READ_TEST(test_not_finite),
    READ_TEST(test_spoiled),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
