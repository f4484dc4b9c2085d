// Run-in, k loops and ring-out together are the burst of as many shots, laid
// down here from the shots that the family hands out (closed form).

#include "burst/burst.h"
#include "container/container.h"
#include "support/check.h"
#include "support/made.h"
#include "support/measure.h"
#include "support/riff.h"
#include "support/signals.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdlib.h>

typedef struct {
  const char* name;
  unsigned    rate_hz;
  double      fire_rate_per_s;
  double      decay_s;
  VwTail      tail;
  double      valley_db;
  double      detune_cents;
  double      level_spread_db;
  size_t      n_takes;
  unsigned    n_channels;
  double      rise_s;
} IdentityCase;

static const IdentityCase cases[] = {
  {"plain", 44100, 9.0, 0.3, VW_TAIL_OVERLAP, 9.0, 0, 0, 1, 1, 0.0},
  {"long tail", 44100, 12.0, 1.5, VW_TAIL_OVERLAP, NAN, 0, 0, 1, 1, 0.0},
  {"choked", 44100, 9.0, 0.8, VW_TAIL_CHOKE, NAN, 0, 0, 1, 1, 0.0},
  {"choked and tightened", 48000, 12, 1, VW_TAIL_CHOKE, 9, 0, 0, 1, 1, 0.0},
  {"tightened", 22050, 12.0, 1.2, VW_TAIL_OVERLAP, 12.0, 0, 0, 1, 1, 0.0},
  {"coarse", 11025, 10.93, 0.57, VW_TAIL_OVERLAP, 12.0, 0, 0, 1, 1, 0.0},
  {"8 kHz", 8000, 7.77, 1.0, VW_TAIL_OVERLAP, NAN, 0, 0, 1, 1, 0.0},
  {"11.025 kHz choked", 11025, 13, 1.0, VW_TAIL_CHOKE, NAN, 0, 0, 1, 1, 0.0},
  {"varied", 44100, 9.0, 0.6, VW_TAIL_OVERLAP, 9.0, 25.0, 1.0, 1, 1, 0.0},
  {"varied, choked", 44100, 9.0, 0.6, VW_TAIL_CHOKE, 9, 25, 1.0, 1, 1, 0.0},
  {"turns", 44100, 9.0, 0.6, VW_TAIL_OVERLAP, 9.0, 0, 0, 3, 1, 0.0},
  {"turns, choked", 44100, 11.3, 0.9, VW_TAIL_CHOKE, 9.0, 0, 0, 3, 1, 0.0},
  {"turns, varied", 22050, 6.3, 0.9, VW_TAIL_OVERLAP, NAN, 30, 1.5, 2, 1, 0.0},
  {"stereo", 44100, 9.0, 0.6, VW_TAIL_OVERLAP, 9.0, 0, 0, 1, 2, 0.0},
  {"late start", 44100, 9.0, 0.6, VW_TAIL_OVERLAP, 9.0, 0, 0, 1, 1, 0.2},
};

enum { N_CASES = sizeof(cases) / sizeof(cases[0]), TAKES_MAX = 3 };

// The takes of a case and the family made from them.
typedef struct {
  VwTake      takes[TAKES_MAX];
  VwShotFacts facts[TAKES_MAX];
  size_t      n_takes;
  VwFamily    family;
} Turns;

static bool
turns_new(const IdentityCase* wanted, VwEncoding encoding, Turns* turns) {
  const VwFindOptions find = vw_find_defaults();
  bool                ok = true;
  turns->n_takes = wanted->n_takes;
  for (size_t i = 0; i < wanted->n_takes; ++i) {
    const SignalBurst burst = {.start_s = 0.1,
                               .rise_s = wanted->rise_s,
                               .decay_s =
                                 wanted->decay_s * (1.0 + 0.2 * (double)i),
                               .level = 0.4 + 0.1 * (double)i,
                               .pitch_hz = i == 1 ? 600.0 : 0.0};
    VwSound raw = signal_take(0.2 + wanted->decay_s, 44100, &burst, 70 + i);
    ok = ok && !vw_take_prepare(&raw, &turns->takes[i]) &&
         !vw_find(&turns->takes[i], &find, &turns->facts[i]);
    vw_sound_clear(&raw);
  }
  VwFamilyOptions options = made_options();
  options.format.rate_hz = wanted->rate_hz;
  options.format.n_channels = wanted->n_channels;
  options.format.encoding = encoding;
  options.format.dither = VW_DITHER_NONE;
  options.fire_rate_per_s = wanted->fire_rate_per_s;
  options.tail = wanted->tail;
  options.valley_db = wanted->valley_db;
  options.detune_cents = wanted->detune_cents;
  options.level_spread_db = wanted->level_spread_db;
  return ok && !vw_family_make(turns->takes,
                               turns->facts,
                               wanted->n_takes,
                               &options,
                               &turns->family);
}

static void
turns_clear(Turns* turns) {
  for (size_t i = 0; i < turns->n_takes; ++i) {
    vw_take_clear(&turns->takes[i]);
  }
  vw_family_clear(&turns->family);
}

static void
test_float(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < N_CASES; ++i) {
    Turns turns;
    assert_true(turns_new(&cases[i], VW_ENCODING_FLOAT, &turns));
    const VwPlan* const plan = &turns.family.plan;
    for (size_t k = 0; k <= 5; ++k) {
      VwSound joined = made_joined(&turns.family, k);
      VwSound laid = made_laid_down(
        &turns.family, turns.family.run_in_shots + k * plan->shots);
      ok &= check_at_most(measure_difference(&joined, &laid),
                          1e-6,
                          "%s, k = %zu: difference",
                          cases[i].name,
                          k);
      vw_sound_clear(&laid);
      vw_sound_clear(&joined);
    }
    ok &= check_equal(
      (double)made_piece(&turns.family, VW_PART_RUN_IN)->sound.n_frames,
      (double)vw_plan_start(plan, turns.family.run_in_shots),
      "%s: length of the run-in",
      cases[i].name);
    turns_clear(&turns);
  }
  assert_true(ok);
}

// The codes of a written part.
static int32_t*
codes_of(const VwFamily* family, VwPart part, size_t* n_codes) {
  VwBytes bytes = {NULL, 0};
  Riff    riff;
  if (vw_encode_wav(made_piece(family, part), &family->format, 1, &bytes) ||
      !riff_parse(&bytes, &riff)) {
    abort();
  }
  *n_codes = riff.data_bytes / (riff.bits / 8);
  int32_t* const codes = calloc(*n_codes, sizeof(int32_t));
  if (!codes) {
    abort();
  }
  for (size_t i = 0; i < *n_codes; ++i) {
    codes[i] = riff_code(&riff, &bytes, i);
  }
  vw_bytes_clear(&bytes);
  return codes;
}

// Largest distance of a part's codes from the burst in units of 16 bits.
static double
codes_difference(const VwFamily* family,
                 VwPart          part,
                 const VwSound*  burst,
                 size_t*         at) {
  size_t         n_codes = 0;
  int32_t* const codes = codes_of(family, part, &n_codes);
  const size_t   n_burst = burst->n_frames * burst->n_channels;
  double         max = 0.0;
  for (size_t i = 0; i < n_codes; ++i) {
    const double there =
      *at + i < n_burst ? (double)burst->values[*at + i] : 0.0;
    max = fmax(max, fabs(codes[i] - 32768.0 * there));
  }
  *at += n_codes;
  free(codes);
  return max;
}

static void
test_16_bit(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < N_CASES; ++i) {
    Turns turns;
    assert_true(turns_new(&cases[i], VW_ENCODING_S16, &turns));
    const VwFamily* const family = &turns.family;
    for (size_t k = 0; k <= 5; ++k) {
      VwSound laid =
        made_laid_down(family, family->run_in_shots + k * family->plan.shots);
      size_t at = 0;
      double max = codes_difference(family, VW_PART_RUN_IN, &laid, &at);
      for (size_t loop = 0; loop < k; ++loop) {
        max = fmax(max, codes_difference(family, VW_PART_LOOP, &laid, &at));
      }
      max = fmax(max, codes_difference(family, VW_PART_RING_OUT, &laid, &at));
      ok &=
        check_at_most(max, 1.0, "%s, k = %zu, 16 bit: LSB", cases[i].name, k);
      ok &= check_at_least((double)at,
                           (double)(laid.n_frames * laid.n_channels) - 1.0,
                           "%s, k = %zu: values written",
                           cases[i].name,
                           k);
      vw_sound_clear(&laid);
    }
    turns_clear(&turns);
  }
  assert_true(ok);
}

// All three in one file, the loop marked in it.
static void
test_loop_points(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < N_CASES; i += 4) {
    Turns turns;
    assert_true(turns_new(&cases[i], VW_ENCODING_FLOAT, &turns));
    VwFamily        whole;
    VwFamilyOptions options = made_options();
    options.format = turns.family.format;
    options.form = VW_FORM_LOOP_POINTS;
    options.fire_rate_per_s = cases[i].fire_rate_per_s;
    options.tail = cases[i].tail;
    options.valley_db = cases[i].valley_db;
    options.detune_cents = cases[i].detune_cents;
    options.level_spread_db = cases[i].level_spread_db;
    assert_int_equal(
      vw_family_make(turns.takes, turns.facts, turns.n_takes, &options, &whole),
      VW_OK);
    VwSound        joined = made_joined(&turns.family, 1);
    const VwPiece* piece = NULL;
    for (size_t j = 0; j < whole.n_pieces; ++j) {
      piece = whole.pieces[j].has_loop ? &whole.pieces[j] : piece;
    }
    assert_non_null(piece);
    ok &= check_at_most(measure_difference(&piece->sound, &joined),
                        1e-7,
                        "%s: one file against three",
                        cases[i].name);
    const size_t start = vw_plan_start(&whole.plan, turns.family.run_in_shots);
    ok &= check_equal(
      (double)piece->loop_start, (double)start, "%s: start", cases[i].name);
    ok &= check_equal((double)(piece->loop_end - piece->loop_start),
                      (double)whole.plan.n_frames,
                      "%s: length of the loop marked",
                      cases[i].name);
    vw_sound_clear(&joined);
    vw_family_clear(&whole);
    turns_clear(&turns);
  }
  assert_true(ok);
}

// The late start of the slow case is there and said.
static void
test_late(void** state) {
  (void)state;
  Turns turns;
  assert_true(turns_new(&cases[N_CASES - 1], VW_ENCODING_FLOAT, &turns));
  assert_true(turns.family.uses[0].late_start_ms > 0.0);
  turns_clear(&turns);
}

// Several takes: never the same twice in a row, round the seam too.
static void
test_turns(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < N_CASES; ++i) {
    if (cases[i].n_takes < 2) {
      continue;
    }
    Turns turns;
    assert_true(turns_new(&cases[i], VW_ENCODING_FLOAT, &turns));
    const size_t n = turns.family.plan.shots;
    for (size_t j = 0; j < n; ++j) {
      ok &= check_that(turns.family.turns[j] != turns.family.turns[(j + 1) % n],
                       "%s: shot %zu of %zu is followed by its like",
                       cases[i].name,
                       j,
                       n);
    }
    turns_clear(&turns);
  }
  assert_true(ok);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_float),
    cmocka_unit_test(test_16_bit),
    cmocka_unit_test(test_loop_points),
    cmocka_unit_test(test_late),
    cmocka_unit_test(test_turns),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
