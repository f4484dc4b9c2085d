#include "container/container.h"
#include "container/formats.h"
#include "support/check.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

enum { N_FRAMES = 2000000 };

static float values[N_FRAMES];

static VwBytes
encode(size_t n_frames, VwDither dither, uint64_t seed) {
  const VwPiece  piece = {.sound = {values, n_frames, 1, 44100}};
  const VwFormat format = {44100, 1, VW_ENCODING_S16, dither};
  VwBytes        bytes = {NULL, 0};
  assert_int_equal(vw_encode_wav(&piece, &format, seed, &bytes), VW_OK);
  return bytes;
}

// 16-bit code at an index behind 44 bytes of header.
static int
code_at(const VwBytes* bytes, size_t index) {
  const unsigned char* const at = bytes->data + 44 + 2 * index;
  const int                  raw = at[0] + 256 * at[1];
  return raw < 32768 ? raw : raw - 65536;
}

// A constant's error has mean 0 and variance 1/4 LSB^2 whatever the constant is
// (S. P. Lipshitz, R. A. Wannamaker, J. Vanderkooy, J. Audio Eng. Soc. 40(5),
// 1992). The bounds are five standard errors: of the mean 0.5 / sqrt(n), of the
// variance at most 1 / sqrt(8 n), the error being no wilder than a normal one.
static bool
check_constant(double lsb) {
  for (size_t i = 0; i < N_FRAMES; ++i) {
    values[i] = (float)(lsb / 32768.0);
  }
  VwBytes bytes = encode(N_FRAMES, VW_DITHER_TPDF, 7);
  double  sum = 0.0;
  double  squares = 0.0;
  double  next = 0.0;
  double  before = 0.0;
  double  most = 0.0;
  for (size_t i = 0; i < N_FRAMES; ++i) {
    const double error = code_at(&bytes, i) - lsb;
    sum += error;
    squares += error * error;
    next += error * before;
    before = error;
    most = fmax(most, fabs(error));
  }
  vw_bytes_clear(&bytes);
  const double n = N_FRAMES;
  bool ok = check_at_most(fabs(sum / n), 2.5 / sqrt(n), "%g LSB: mean", lsb);
  ok &= check_at_most(fabs(squares / n - 0.25),
                      5.0 / sqrt(8.0 * n),
                      "%g LSB: variance from 0.25",
                      lsb);
  ok &= check_at_most(fabs(next / n), 1.25 / sqrt(n), "%g LSB: white", lsb);
  return ok & check_at_most(most, 1.5, "%g LSB: greatest error", lsb);
}

static void
test_constants(void** state) {
  (void)state;
  static const double constants[] = {1e-6, 0.1, 0.25, 0.5, -0.75, 100.3};

  bool ok = true;
  for (size_t i = 0; i < sizeof(constants) / sizeof(constants[0]); ++i) {
    ok &= check_constant(constants[i]);
  }
  assert_true(ok);
}

// A full-scale sine over its error: 6.02 N + 1.76 - 4.77 dB (the same source).
static double
ratio_db(VwEncoding encoding) {
  static float   sine[N_FRAMES];
  const VwFormat format = {44100, 1, encoding, VW_DITHER_TPDF};
  const VwPiece  piece = {.sound = {sine, N_FRAMES, 1, 44100}};
  const bool     coarse = encoding == VW_ENCODING_U8;
  // So that no code but the outermost is held.
  const double amplitude = coarse ? 126.0 / 128.0 : 32766.0 / 32768.0;
  for (size_t i = 0; i < N_FRAMES; ++i) {
    sine[i] = (float)(amplitude * sin(0.1234567 * (double)i));
  }
  VwBytes bytes = {NULL, 0};
  assert_int_equal(vw_encode_wav(&piece, &format, 9, &bytes), VW_OK);
  double squares = 0.0;
  for (size_t i = 0; i < N_FRAMES; ++i) {
    const double value = coarse ? (bytes.data[44 + i] - 128.0) / 128.0
                                : code_at(&bytes, i) / 32768.0;
    squares += pow(value - (double)sine[i], 2.0);
  }
  vw_bytes_clear(&bytes);
  return 10.0 * log10(0.5 / (squares / N_FRAMES));
}

static void
test_ratio(void** state) {
  (void)state;
  bool ok = check_at_most(
    fabs(ratio_db(VW_ENCODING_S16) - 93.32), 0.3, "16 bit: signal to noise");
  ok &= check_at_most(
    fabs(ratio_db(VW_ENCODING_U8) - 45.15), 0.3, "8 bit: signal to noise");
  assert_true(ok);
}

static void
test_values(void** state) {
  (void)state;
  VwRandom random = {1};
  for (int i = 0; i < 100000; ++i) {
    const double value = vw_dither_next(&random);
    assert_true(value > -1.0 && value < 1.0);
  }
}

// How many of the zeros [from, from + n) do not stay exact; the rest is half an
// LSB, which dither turns into anything.
static size_t
n_disturbed(size_t from, size_t n) {
  enum { ALL = 400 };
  for (size_t i = 0; i < ALL; ++i) {
    values[i] = i >= from && i < from + n ? 0.0F : 0.5F / 32768.0F;
  }
  VwBytes bytes = encode(ALL, VW_DITHER_TPDF, 3);
  size_t  n_not_zero = 0;
  for (size_t i = from; i < from + n; ++i) {
    n_not_zero += code_at(&bytes, i) ? 1U : 0U;
  }
  vw_bytes_clear(&bytes);
  return n_not_zero;
}

static void
test_silence(void** state) {
  (void)state;
  assert_int_equal(n_disturbed(0, 400), 0);
  assert_int_equal(n_disturbed(0, 1), 0);
  assert_int_equal(n_disturbed(0, 20), 0);
  assert_int_equal(n_disturbed(380, 20), 0);
  assert_int_equal(n_disturbed(399, 1), 0);
  assert_int_equal(n_disturbed(100, 32), 0);
  assert_int_equal(n_disturbed(100, 200), 0);
  // A quarter of rounded TPDF values are not zero: of 31, rarely none.
  assert_true(n_disturbed(100, 31) > 0);
  assert_true(n_disturbed(1, 31) > 0);
}

static void
test_none(void** state) {
  (void)state;
  for (size_t i = 0; i < 1000; ++i) {
    values[i] = (float)((double)i * 0.37 / 32768.0);
  }
  VwBytes bytes = encode(1000, VW_DITHER_NONE, 3);
  for (size_t i = 0; i < 1000; ++i) {
    assert_true(fabs(code_at(&bytes, i) - 32768.0 * (double)values[i]) <= 0.5);
  }
  vw_bytes_clear(&bytes);
}

static void
test_seed(void** state) {
  (void)state;
  for (size_t i = 0; i < 1000; ++i) {
    values[i] = (float)sin((double)i);
  }
  VwBytes one = encode(1000, VW_DITHER_TPDF, 3);
  VwBytes same = encode(1000, VW_DITHER_TPDF, 3);
  VwBytes other = encode(1000, VW_DITHER_TPDF, 4);
  assert_int_equal(one.n_bytes, same.n_bytes);
  assert_memory_equal(one.data, same.data, one.n_bytes);
  assert_memory_not_equal(one.data, other.data, one.n_bytes);
  vw_bytes_clear(&one);
  vw_bytes_clear(&same);
  vw_bytes_clear(&other);
}

// 20 lg of half an LSB: 2^-8, 2^-16, 2^-24 (closed form).
static void
test_noise_level(void** state) {
  (void)state;
  static const struct {
    VwEncoding encoding;
    double     level_dbfs;
  } cases[] = {{VW_ENCODING_U8, -48.1648},
               {VW_ENCODING_S16, -96.3296},
               {VW_ENCODING_S24, -144.4944},
               {VW_ENCODING_FLOAT, -200.0}};

  bool ok = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    const double level_dbfs = vw_encoding_noise_dbfs(cases[i].encoding);
    ok &= check_at_most(
      fabs(level_dbfs - cases[i].level_dbfs), 1e-4, "encoding %zu", i);
  }
  assert_true(ok);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_constants),
    cmocka_unit_test(test_ratio),
    cmocka_unit_test(test_values),
    cmocka_unit_test(test_silence),
    cmocka_unit_test(test_none),
    cmocka_unit_test(test_seed),
    cmocka_unit_test(test_noise_level),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
