// Files that tell nothing of their format, read back: the values are those of
// the codes.

#include "container/container.h"
#include "support/check.h"
#include "support/folder.h"
#include "support/signals.h"

#include "volleyweave/volleyweave.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

// Even, so that a WAV file holds no frame more.
#define N_FRAMES 1000U

/// A container, what it carries, and its widest rounding, half of a code's
/// width (closed form); at the outermost codes a whole one.
typedef struct {
  VwContainer container;
  VwEncoding  encoding;
  double      half_width;
} Case;

static const Case cases[] = {
  {VW_CONTAINER_RAW, VW_ENCODING_U8, 1.0 / 256.0},
  {VW_CONTAINER_RAW, VW_ENCODING_S16, 1.0 / 65536.0},
  {VW_CONTAINER_RAW, VW_ENCODING_S24, 1.0 / 16777216.0},
  {VW_CONTAINER_RAW, VW_ENCODING_FLOAT, 0.0},
  {VW_CONTAINER_C_ARRAY, VW_ENCODING_U8, 1.0 / 256.0},
  {VW_CONTAINER_C_ARRAY, VW_ENCODING_S16, 1.0 / 65536.0},
  {VW_CONTAINER_C_ARRAY, VW_ENCODING_S24, 1.0 / 16777216.0},
  {VW_CONTAINER_WAV, VW_ENCODING_S24, 1.0 / 16777216.0},
  {VW_CONTAINER_FLAC, VW_ENCODING_S16, 1.0 / 65536.0},
};

static VwSound
noise(unsigned n_channels) {
  VwSound      sound = {NULL, 0, 0, 0};
  SignalRandom random = signal_random(n_channels);
  assert_int_equal(vw_sound_init(&sound, N_FRAMES, n_channels, 8000U), VW_OK);
  for (size_t i = 0; i < N_FRAMES * n_channels; ++i) {
    sound.values[i] = (float)(0.95 * signal_uniform(&random));
  }
  return sound;
}

static bool
comes_back(const Case* wanted, unsigned n_channels) {
  VwSound          sound = noise(n_channels);
  VwSound          back = {NULL, 0, 0, 0};
  VwBytes          bytes = {NULL, 0};
  const VwPiece    piece = {.sound = sound};
  const VwWrapping wrapping = {.container = wanted->container,
                               .format = {.encoding = wanted->encoding,
                                          .n_channels = n_channels,
                                          .rate_hz = 8000U,
                                          .dither = VW_DITHER_NONE},
                               .name = "some"};
  double           most = 0.0;
  assert_int_equal(vw_encode(&piece, &wrapping, &bytes), VW_OK);
  folder_put("made", bytes.data, bytes.n_bytes);
  bool ok =
    check_equal(vw_read_made("made", &wrapping, &back), VW_OK, "status");
  ok = ok && check_that(back.n_frames == N_FRAMES && back.rate_hz == 8000U &&
                          back.n_channels == n_channels,
                        "form");
  for (size_t i = 0; ok && i < N_FRAMES * n_channels; ++i) {
    most = fmax(most, fabs((double)back.values[i] - (double)sound.values[i]));
  }
  // Floats hold values near 1 to 6e-8 (closed form).
  ok &= check_that(most <= wanted->half_width + 6e-8, "off by %g", most);
  vw_bytes_clear(&bytes);
  vw_sound_clear(&back);
  vw_sound_clear(&sound);
  return ok;
}

static void
test_all(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    for (unsigned n = 1; n <= 2U; ++n) {
      ok &= check_that(comes_back(&cases[i], n), "case %zu, %u", i, n);
    }
  }
  assert_true(ok);
}

static void
test_refused(void** state) {
  (void)state;
  static const struct {
    const char* text;
    VwContainer container;
    VwStatus    status;
  } bad[] = {
    {"", VW_CONTAINER_C_ARRAY, VW_DAMAGED},
    {"no array", VW_CONTAINER_C_ARRAY, VW_DAMAGED},
    {"x = {\n};", VW_CONTAINER_C_ARRAY, VW_DAMAGED},
    {"x = {1, 2, x};", VW_CONTAINER_C_ARRAY, VW_DAMAGED},
    {"x = {1, 2, 3};", VW_CONTAINER_C_ARRAY, VW_DAMAGED}, // two channels
    {"", VW_CONTAINER_RAW, VW_NO_FRAMES},
    {"a", VW_CONTAINER_WAV, VW_BAD_OPTION},
  };
  for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); ++i) {
    VwSound          sound = {NULL, 7U, 0, 0};
    const VwWrapping wrapping = {.container = bad[i].container,
                                 .format = {.encoding = VW_ENCODING_S16,
                                            .n_channels = 2U,
                                            .rate_hz = 8000U}};
    char             text[32];
    strcpy(text, bad[i].text);
    const VwBytes bytes = {(unsigned char*)text, strlen(text)};
    assert_int_equal(vw_decode(&bytes, &wrapping, &sound), bad[i].status);
    assert_int_equal(sound.n_frames, 7U);
  }
}

static void
test_missing(void** state) {
  (void)state;
  VwSound    sound = {NULL, 0, 0, 0};
  VwWrapping wrapping = {
    .container = VW_CONTAINER_RAW,
    .format = {.encoding = VW_ENCODING_U8, .n_channels = 1U, .rate_hz = 8000U}};
  assert_int_equal(vw_read_made("none", &wrapping, &sound), VW_MISSING);
  wrapping.container = VW_CONTAINER_WAV;
  assert_int_equal(vw_read_made("none", &wrapping, &sound), VW_MISSING);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown(test_all, folder_enter, folder_leave),
    cmocka_unit_test(test_refused),
    cmocka_unit_test_setup_teardown(test_missing, folder_enter, folder_leave),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
