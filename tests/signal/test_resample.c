// Conversion to the board's rate, beside libsamplerate's best converter. The
// tones are those of that library's own tests (its "multi channel" and "SNR"
// tests, version 0.2.2); the bounds are the figures of this project.

#include "support/check.h"
#include "support/made.h"
#include "support/measure.h"
#include "support/signals.h"
#include "support/tones.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>
#include <samplerate.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
  unsigned take_hz;
  unsigned board_hz;
  double   tones[2]; // Relative to the take's rate; 0: none.
} ToneCase;

static const ToneCase cases[] = {
  // One tone at the ratios 3, 0.6, 0.3, 1, 1.001.
  {40000, 120000, {0.01111111111, 0.0}},
  {40000, 24000, {0.01111111111, 0.0}},
  {40000, 12000, {0.01111111111, 0.0}},
  {40000, 40000, {0.01111111111, 0.0}},
  {40000, 40040, {0.01111111111, 0.0}},
  // Two tones at 1.9999, one near the edge at 1.33.
  {40000, 79996, {0.011111, 0.324}},
  {40000, 53200, {0.011111, 0.43111111111}},
  // Two tones between the rates that boards have.
  {48000, 44100, {0.011111, 0.324}},
  {44100, 22050, {0.011111, 0.2}},
  {44100, 48000, {0.011111, 0.324}},
  {48000, 22050, {0.011111, 0.19}},
  {44100, 8000, {0.011111, 0.07}},
};

enum { N_CASES = sizeof(cases) / sizeof(cases[0]) };

// A take as if it had been prepared and its shot found: all of it.
static bool
convert(const VwSound* raw, unsigned board_hz, VwFamily* family) {
  const VwTake      take = {.sound = *raw};
  const VwShotFacts facts = {.kind = VW_KIND_SHOT,
                             .crest_frame = raw->n_frames / 20,
                             .end_frame = raw->n_frames,
                             .shots_in_take = 1};
  VwFamilyOptions   options = made_options();
  options.shot_only = true;
  options.format.rate_hz = board_hz;
  return !vw_family_make(&take, &facts, 1, &options, family);
}

// The middle half, far from both ends.
static Stretch
middle(const VwSound* sound) {
  return (Stretch){sound, sound->n_frames / 4, sound->n_frames / 2, 0};
}

static double
tones_rms(const Tones* tones) {
  double sum = 0.0;
  for (size_t i = 0; i < tones->n_tones; ++i) {
    sum += 0.5 * tones->level[i] * tones->level[i];
  }
  return sqrt(sum);
}

static double
tones_snr_db(const Tones* tones) {
  return 20.0 * log10(tones_rms(tones) / tones->rest_rms);
}

static VwSound
two_tones(const ToneCase* wanted, double level) {
  VwSound sound = signal_silence(1.0, wanted->take_hz);
  for (size_t i = 0; i < 2; ++i) {
    if (wanted->tones[i] > 0.0) {
      signal_add_tone(
        &sound, wanted->tones[i] * wanted->take_hz, level, 0.13 * (double)i);
    }
  }
  return sound;
}

static Tones
tones_of(const ToneCase* wanted, size_t n_tones) {
  Tones tones = {.n_tones = n_tones};
  for (size_t i = 0; i < n_tones; ++i) {
    tones.hz[i] = wanted->tones[i] * wanted->take_hz;
  }
  return tones;
}

static VwSound
reference(const VwSound* raw, unsigned board_hz) {
  VwSound      sound = {NULL, 0, 0, 0};
  const double ratio = (double)board_hz / raw->rate_hz;
  if (vw_sound_init(
        &sound, (size_t)(ratio * (double)raw->n_frames), 1, board_hz)) {
    abort();
  }
  SRC_DATA data = {.data_in = raw->values,
                   .data_out = sound.values,
                   .input_frames = (long)raw->n_frames,
                   .output_frames = (long)sound.n_frames,
                   .src_ratio = ratio};
  assert_int_equal(src_simple(&data, SRC_SINC_BEST_QUALITY, 1), 0);
  return sound;
}

static bool
check_tones(size_t index) {
  const ToneCase* const wanted = &cases[index];
  const size_t          n_tones = wanted->tones[1] > 0.0 ? 2 : 1;
  VwSound               raw = two_tones(wanted, 0.4);
  VwFamily              family;
  if (!convert(&raw, wanted->board_hz, &family)) {
    return check_that(false, "case %zu: cannot be converted", index);
  }
  VwSound       best = reference(&raw, wanted->board_hz);
  const Stretch ours = middle(&made_piece(&family, VW_PART_SHOT)->sound);
  const Stretch theirs = middle(&best);
  Tones         tones = tones_of(wanted, n_tones);
  Tones         best_tones = tones;
  tones_fit(&ours, &tones);
  tones_fit(&theirs, &best_tones);
  bool ok = check_at_least(
    tones_snr_db(&tones), 110.0, "case %zu: signal to noise, dB", index);
  ok &= check_at_least(tones_snr_db(&best_tones),
                       110.0,
                       "case %zu: the best converter's, dB",
                       index);
  if (n_tones == 2) {
    const double ratio = tones.level[1] / tones.level[0];
    const double best_ratio = best_tones.level[1] / best_tones.level[0];
    ok &= check_at_most(fabs(20.0 * log10(ratio / best_ratio)),
                        0.1,
                        "case %zu: levels against the best converter's, dB",
                        index);
  }
  vw_sound_clear(&best);
  vw_family_clear(&family);
  vw_sound_clear(&raw);
  return ok;
}

static void
test_tones(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < N_CASES; ++i) {
    ok &= check_tones(i);
  }
  assert_true(ok);
}

// A tone above the lower half-rate is gone, and has left nothing.
static void
test_folding(void** state) {
  (void)state;
  static const ToneCase folded[] = {
    {96000, 43852, {0.012345, 0.457}}, // Ratio 0.456792.
    {48000, 22050, {0.011111, 0.235}}, // 2 % over.
    {48000, 22050, {0.011111, 0.26}},
    {48000, 22050, {0.011111, 0.4}},
    {44100, 22050, {0.011111, 0.27}},
    {44100, 8000, {0.011111, 0.1}},
    {44100, 8000, {0.011111, 0.3}},
    {48000, 44100, {0.011111, 0.475}},
    {96000, 44100, {0.011111, 0.3}},
  };

  bool ok = true;
  for (size_t i = 0; i < sizeof(folded) / sizeof(folded[0]); ++i) {
    VwSound  raw = two_tones(&folded[i], 0.4);
    VwFamily family;
    assert_true(convert(&raw, folded[i].board_hz, &family));
    const Stretch stretch = middle(&made_piece(&family, VW_PART_SHOT)->sound);
    Tones         tones = tones_of(&folded[i], 1);
    tones_fit(&stretch, &tones);
    ok &= check_at_most(
      -tones_snr_db(&tones), -100.0, "case %zu: folded back, dB", i);
    vw_family_clear(&family);
    vw_sound_clear(&raw);
  }
  assert_true(ok);
}

// Level of ten tones up to 90 % of the lower half-rate.
static void
test_band(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < N_CASES; ++i) {
    const unsigned take_hz = cases[i].take_hz;
    const unsigned board_hz = cases[i].board_hz;
    const double   half_hz = 0.5 * fmin(take_hz, board_hz);
    VwSound        raw = signal_silence(1.0, take_hz);
    Tones          tones = {.n_tones = 10};
    for (size_t j = 0; j < 10; ++j) {
      tones.hz[j] = half_hz * (0.06 + 0.84 * (double)j / 9.0);
      signal_add_tone(&raw, tones.hz[j], 0.05, 0.37 * (double)(j * j));
    }
    VwFamily family;
    assert_true(convert(&raw, board_hz, &family));
    const Stretch stretch = middle(&made_piece(&family, VW_PART_SHOT)->sound);
    tones_fit(&stretch, &tones);
    for (size_t j = 1; j < 10; ++j) {
      ok &= check_at_most(fabs(20.0 * log10(tones.level[j] / tones.level[0])),
                          0.1,
                          "%u to %u Hz: level at %.3f of the band, dB off",
                          take_hz,
                          board_hz,
                          tones.hz[j] / half_hz);
    }
    vw_family_clear(&family);
    vw_sound_clear(&raw);
  }
  assert_true(ok);
}

// A take that begins at full swing: from 2 ms on it is the tone it was.
static void
test_edges(void** state) {
  (void)state;
  static const double pitches_hz[] = {100.0, 440.0, 1000.0, 2700.0};

  bool ok = true;
  for (size_t i = 0; i < 4 * N_CASES; ++i) {
    const ToneCase* const wanted = &cases[i / 4];
    const double          pitch_hz = pitches_hz[i % 4];
    // Near the edge of the band the ringing of any filter as steep as the
    // other tests want lasts longer.
    if (pitch_hz > 0.25 * fmin(wanted->take_hz, wanted->board_hz)) {
      continue;
    }
    VwSound raw = signal_silence(0.5, wanted->take_hz);
    signal_add_tone(&raw, pitch_hz, 0.8, 0.25);
    VwFamily family;
    assert_true(convert(&raw, wanted->board_hz, &family));
    const VwSound* const shot = &made_piece(&family, VW_PART_SHOT)->sound;
    const Stretch        stretch = middle(shot);
    Tones                tones = {.hz = {pitch_hz}, .n_tones = 1};
    tones_fit(&stretch, &tones);
    const size_t lead = (size_t)lround(0.002 * wanted->board_hz);
    double       most = 0.0;
    for (size_t at = 2 * lead + 1; at < shot->n_frames / 2; ++at) {
      const double turns =
        tones.phase[0] +
        pitch_hz * ((double)at - (double)stretch.first) / shot->rate_hz;
      const double tone =
        tones.level[0] * sin(6.283185307179586 * fmod(turns, 1.0));
      most = fmax(most, fabs((double)shot->values[at] - tone));
    }
    ok &= check_at_most(most / tones.level[0],
                        0.001,
                        "%u to %u Hz, %g Hz: error after 2 ms",
                        wanted->take_hz,
                        wanted->board_hz,
                        pitch_hz);
    vw_family_clear(&family);
    vw_sound_clear(&raw);
  }
  assert_true(ok);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_tones),
    cmocka_unit_test(test_folding),
    cmocka_unit_test(test_band),
    cmocka_unit_test(test_edges),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
