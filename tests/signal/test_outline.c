// What is drawn of a sound: its outline, its frequencies, its pitch. Signals of
// known figures (closed form), and measures of the tests' own.

#include "signal/signal.h"
#include "support/check.h"
#include "support/signals.h"
#include "take/take.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdlib.h>

enum { RATE_HZ = 44100, STEPS_MOST = 3000 };

/* Outline */

/// The lowest and highest value of frames [from, to), silence beyond the end.
static void
find_range(const VwSound* sound, size_t from, size_t to, float range[2]) {
  range[0] = HUGE_VALF;
  range[1] = -HUGE_VALF;
  for (size_t i = from; i < to; ++i) {
    for (unsigned c = 0; c < sound->n_channels; ++c) {
      const float value =
        i < sound->n_frames ? sound->values[i * sound->n_channels + c] : 0.0F;
      range[0] = fminf(range[0], value);
      range[1] = fmaxf(range[1], value);
    }
  }
}

static bool
check_outline(const VwSound* sound, const VwStretch* stretch) {
  static float low[STEPS_MOST];
  static float high[STEPS_MOST];
  const double step = (double)(stretch->to_frame - stretch->from_frame) /
                      (double)stretch->n_steps;
  bool ok =
    check_at_most(fabs(vw_stretch_step(stretch) - step), 1e-9, "step, frames");
  vw_outline_take(sound, stretch, low, high);
  for (size_t i = 0; i < stretch->n_steps; ++i) {
    const size_t from = stretch->from_frame + (size_t)((double)i * step);
    const size_t to =
      stretch->from_frame + (size_t)ceil((double)(i + 1U) * step - 1e-9);
    float range[2];
    float wide[2];
    find_range(
      sound, from, to > from ? to - (to > from + 1U) : from + 1U, range);
    find_range(sound, from ? from - 1U : 0U, to, wide);
    // All of the step is in it, and nothing from beyond the frame before.
    ok &= check_that(low[i] <= range[0] && high[i] >= range[1] &&
                       low[i] >= wide[0] && high[i] <= wide[1],
                     "step %zu of %zu",
                     i,
                     stretch->n_steps);
  }
  return ok;
}

static void
test_outline(void** state) {
  (void)state;
  SignalRandom random = signal_random(3);
  VwSound      sound = {0};
  assert_int_equal(vw_sound_init(&sound, 3000U, 2U, RATE_HZ), VW_OK);
  for (size_t i = 0; i < 6000U; ++i) {
    sound.values[i] = (float)signal_normal(&random);
  }
  static const VwStretch stretches[] = {
    {0U, 3000U, 1U},
    {0U, 3000U, 7U},
    {0U, 3000U, 1064U},
    {0U, 3000U, 3000U},
    {17U, 2113U, 100U},
    {1U, 2U, 1U},
    // Beyond the end is silence.
    {2900U, 3300U, 50U},
    {4000U, 4100U, 10U},
  };
  bool ok = true;
  for (size_t i = 0; i < sizeof(stretches) / sizeof(stretches[0]); ++i) {
    ok &= check_outline(&sound, &stretches[i]);
  }
  assert_true(ok);
  vw_sound_clear(&sound);
}

// A step of one frame is that frame, or a line through it would be a band.
static void
test_single_frames(void** state) {
  (void)state;
  VwSound sound = signal_silence(0.01, RATE_HZ);
  float   low[441];
  float   high[441];
  for (size_t i = 0; i < 441U; ++i) {
    sound.values[i] = (float)sin((double)i);
  }
  vw_outline_take(&sound, &(VwStretch){0U, 441U, 441U}, low, high);
  for (size_t i = 0; i < 441U; ++i) {
    assert_true(low[i] == sound.values[i] && high[i] == sound.values[i]);
  }
  vw_sound_clear(&sound);
}

/* Frequencies */

enum { ROWS = 60, COLUMNS = 50 };

/// Level of a frequency's row in the middle column, and the highest of all rows
/// an octave away or more.
static void
find_levels(const VwSound* sound, double hz, double levels[2]) {
  static float    dbfs[ROWS * COLUMNS];
  const VwStretch stretch = {0U, sound->n_frames, COLUMNS};
  const VwRows    rows = {50.0, 20000.0, ROWS};
  assert_int_equal(vw_spectrogram_take(sound, &stretch, &rows, dbfs), VW_OK);
  levels[0] = -HUGE_VAL;
  levels[1] = -HUGE_VAL;
  for (size_t row = 0; row < ROWS; ++row) {
    const double low = 50.0 * pow(400.0, (double)row / ROWS);
    const double high = 50.0 * pow(400.0, (double)(row + 1U) / ROWS);
    const double level = (double)dbfs[row * COLUMNS + COLUMNS / 2U];
    if (low <= hz && hz < high) {
      levels[0] = level;
    } else if (high < hz / 2.0 || low > hz * 2.0) {
      levels[1] = fmax(levels[1], level);
    }
  }
}

// A sine of amplitude a has 20 log10(a) dBFS; a Hann window reads it up to
// 1.42 dB too low between two of its frequencies (F. J. Harris, "On the use of
// windows for harmonic analysis", Proc. IEEE 66, 1978), and is 31 dB down in
// its first side lobe, more beyond.
static void
test_sines(void** state) {
  (void)state;
  static const double frequencies_hz[] = {440.0, 1000.0, 3333.0, 12000.0};
  bool                ok = true;
  for (size_t i = 0; i < 4U; ++i) {
    VwSound sound = signal_silence(0.5, RATE_HZ);
    double  levels[2];
    for (size_t k = 0; k < sound.n_frames; ++k) {
      sound.values[k] =
        (float)(0.25 * sin(6.283185307179586 * frequencies_hz[i] * (double)k /
                           RATE_HZ));
    }
    find_levels(&sound, frequencies_hz[i], levels);
    ok &= check_at_most(fabs(levels[0] + 12.04 + 0.71),
                        0.73,
                        "level of %g Hz, dB off",
                        frequencies_hz[i]);
    ok &= check_at_most(
      levels[1], -12.04 - 50.0, "elsewhere, %g Hz", frequencies_hz[i]);
    vw_sound_clear(&sound);
  }
  assert_true(ok);
}

// A tone in the first half alone is seen there alone.
static void
test_times(void** state) {
  (void)state;
  static float    dbfs[ROWS * COLUMNS];
  VwSound         sound = signal_silence(1.0, RATE_HZ);
  const VwStretch stretch = {0U, sound.n_frames, COLUMNS};
  const VwRows    rows = {900.0, 1100.0, 1U};
  for (size_t i = 0; i < sound.n_frames / 2U; ++i) {
    sound.values[i] =
      (float)sin(6.283185307179586 * 1000.0 * (double)i / RATE_HZ);
  }
  assert_int_equal(vw_spectrogram_take(&sound, &stretch, &rows, dbfs), VW_OK);
  assert_true(check_at_least((double)dbfs[COLUMNS / 2U - 2U], -1.5, "before") &&
              check_at_most((double)dbfs[COLUMNS / 2U + 2U], -100.0, "after"));
  vw_sound_clear(&sound);
}

// The highest level of a column at 1 kHz.
static double
column_dbfs(const VwSound* sound, size_t from_frame, size_t n_frames) {
  const VwStretch stretch = {from_frame, from_frame + n_frames, 1U};
  float           dbfs = 0.0F;
  assert_int_equal(
    vw_spectrogram_take(sound, &stretch, &(VwRows){900.0, 1100.0, 1U}, &dbfs),
    VW_OK);
  return (double)dbfs;
}

// Windows of 23 ms, their middles evenly spread over a column, 16 at most
// (figures of this project): a tone of 40 ms is seen from 31.5 ms off its
// middle, and tones only between the 16 are not.
static void
test_windows(void** state) {
  (void)state;
  VwSound      sound = signal_silence(2.0, RATE_HZ);
  const size_t ms = RATE_HZ / 1000U;
  for (size_t i = RATE_HZ - 20U * ms; i < RATE_HZ + 20U * ms; ++i) {
    sound.values[i] =
      (float)sin(6.283185307179586 * 1000.0 * (double)i / RATE_HZ);
  }
  bool ok = check_at_least(
    column_dbfs(&sound, RATE_HZ - 30U * ms, 2U), -100.0, "30 ms");
  ok &= check_equal(
    column_dbfs(&sound, RATE_HZ - 33U * ms, 2U), -200.0, "33 ms before");
  ok &= check_equal(
    column_dbfs(&sound, RATE_HZ + 33U * ms, 2U), -200.0, "33 ms after");
  // In the middle of a column of 1.6 s none of 16 looks; of 8 or 32 neither.
  const size_t from = RATE_HZ - 800U * ms;
  ok &= check_equal(
    column_dbfs(&sound, from, 1600U * ms), -200.0, "between the windows");
  ok &= check_at_least(column_dbfs(&sound, from - 50U * ms, 1600U * ms),
                       -16.0,
                       "in one of sixteen");
  ok &= check_at_most(column_dbfs(&sound, from - 50U * ms, 1600U * ms),
                      -10.0,
                      "in one of sixteen");
  vw_sound_clear(&sound);
  assert_true(ok);
}

static void
test_bad_rows(void** state) {
  (void)state;
  VwSound             sound = signal_silence(0.1, RATE_HZ);
  const VwStretch     stretch = {0U, sound.n_frames, 1U};
  float               dbfs[2] = {7.0F, 7.0F};
  static const VwRows bad[] = {{0.0, 100.0, 1U},
                               {-1.0, 100.0, 1U},
                               {100.0, 100.0, 1U},
                               {100.0, 22051.0, 1U},
                               {100.0, 1000.0, 0U},
                               {100.0, 1000.0, 1001U},
                               {NAN, 1000.0, 1U}};
  for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); ++i) {
    assert_int_equal(vw_spectrogram_take(&sound, &stretch, &bad[i], dbfs),
                     VW_BAD_OPTION);
    assert_true(dbfs[0] == 7.0F);
  }
  // Digital silence.
  assert_int_equal(
    vw_spectrogram_take(&sound, &stretch, &(VwRows){100.0, 200.0, 1U}, dbfs),
    VW_OK);
  assert_true(dbfs[0] == -200.0F);
  vw_sound_clear(&sound);
}

/* Pitch */

// An exponential glide by an octave in a second: at the middle of each step the
// pitch is that of the glide there.
static void
test_glide(void** state) {
  (void)state;
  enum { N = 20 };
  VwSound sound = signal_silence(1.0, RATE_HZ);
  float   pitch[N];
  bool    ok = true;
  double  turn = 0.0;
  for (size_t i = 0; i < sound.n_frames; ++i) {
    sound.values[i] = (float)(0.5 * sin(turn));
    turn += 6.283185307179586 * 300.0 *
            pow(2.0, ((double)i + 0.5) / (double)sound.n_frames) / RATE_HZ;
  }
  const VwStretch stretch = {0U, sound.n_frames, N};
  assert_int_equal(vw_pitch_follow(&sound, &stretch, pitch), VW_OK);
  for (size_t i = 0; i < N; ++i) {
    const double wanted = 300.0 * pow(2.0, ((double)i + 0.5) / N);
    ok &= check_at_most(1200.0 * fabs(log2((double)pitch[i] / wanted)),
                        10.0,
                        "pitch of step %zu, cents off",
                        i);
  }
  assert_true(ok);
  vw_sound_clear(&sound);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_outline),
    cmocka_unit_test(test_single_frames),
    cmocka_unit_test(test_sines),
    cmocka_unit_test(test_times),
    cmocka_unit_test(test_windows),
    cmocka_unit_test(test_bad_rows),
    cmocka_unit_test(test_glide),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
