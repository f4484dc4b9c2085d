// Where a burst is cut: how much alike cycles are before they are called the
// same, and where the ring-out ends. The shots are made so that it is known
// what each cycle lacks (closed form); the bounds are those of this project.

#include "base/status.h"
#include "support/check.h"
#include "support/made.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>

#define N_OF(array) (sizeof(array) / sizeof((array)[0]))

#define PI 3.141592653589793

#define FIRE_RATE_PER_S 8.0

// What the first cycles lack of the steady one: it takes one more to be the
// same to half a bound, and one less to twice the bound.
static const double lacks[] = {4e-5, 1.5e-5, 0.7e-5, 6e-7, 3e-7, 0.0};

// A shot of a tenth of a second, in the quiet after it a constant through each
// of the next periods. It has 2 ms before its attack, and 20 ms of zeros at its
// end for the fade.
static VwTake
take_with_lacks(unsigned rate_hz) {
  const size_t period = rate_hz / (size_t)FIRE_RATE_PER_S;
  const size_t n_pre = rate_hz / 500U;
  VwTake       take = {0};
  assert_int_equal(
    vw_sound_init(&take.sound, (N_OF(lacks) + 1U) * period, 1, rate_hz), VW_OK);
  float* const values = take.sound.values;
  for (size_t i = n_pre; i < period / 2U; ++i) {
    values[i] = (float)(0.5 * sin(2.0 * PI * 500.0 * (double)i / rate_hz));
  }
  for (size_t k = 0; k + 1U < N_OF(lacks); ++k) {
    for (size_t i = period * 5U / 8U; i < period * 7U / 8U; ++i) {
      values[(k + 1U) * period + i] = (float)(lacks[k] - lacks[k + 1U]);
    }
  }
  return take;
}

static VwFamily
family_of(const VwTake* take, size_t end_frame, const VwFamilyOptions* wish) {
  const VwShotFacts facts = {.attack_frame = take->sound.rate_hz / 500U,
                             .crest_frame = take->sound.rate_hz / 100U,
                             .end_frame = end_frame};
  VwFamilyOptions   options = *wish;
  VwFamily          family = {0};
  options.format.rate_hz = take->sound.rate_hz;
  options.fire_rate_per_s = FIRE_RATE_PER_S;
  options.valley_db = NAN;
  options.level.aim = VW_AIM_KEEP;
  assert_int_equal(vw_family_make(take, &facts, 1, &options, &family), VW_OK);
  return family;
}

/* The same */

typedef struct {
  unsigned   rate_hz;
  VwEncoding encoding;
  double     same;
} SameCase;

static const SameCase same_cases[] = {
  {8000, VW_ENCODING_U8, 1e-5},
  {8000, VW_ENCODING_S24, 4e-7},
  {16000, VW_ENCODING_S16, 1e-5},
  {16000, VW_ENCODING_FLOAT, 4e-7},
  {32000, VW_ENCODING_S16, 4e-7},
};

static void
test_same(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < N_OF(same_cases); ++i) {
    const SameCase* const of = &same_cases[i];
    VwFamilyOptions       options = made_options();
    options.format.encoding = of->encoding;
    VwTake   take = take_with_lacks(of->rate_hz);
    VwFamily family = family_of(&take, take.sound.n_frames, &options);
    unsigned shots = 0;
    while (lacks[shots] > of->same) {
      ++shots;
    }
    ok &= check_equal(family.run_in_shots,
                      shots,
                      "%s at %u Hz: shots of the run-in",
                      vw_encoding_name(of->encoding),
                      of->rate_hz);
    vw_family_clear(&family);
    vw_take_clear(&take);
  }
  assert_true(ok);
}

/* The ring-out's end */

// It holds the last shot to its last frame, at least the 2 ms that stand before
// every attack, and an even number of bytes.
static void
test_ring_out(void** state) {
  (void)state;
  // Frames of a shot after the cycle that it starts.
  static const struct {
    unsigned rate_hz;
    long     cycle, after, wanted, wanted_8_bit;
  } cases[] = {
    {8000, 1000, -400, 16, 16},
    {8000, 1000, -1, 16, 16},
    {8000, 1000, 0, 16, 16},
    {8000, 1000, 15, 16, 16},
    {8000, 1000, 16, 16, 16},
    {8000, 1000, 17, 17, 18},
    {8000, 1000, 701, 701, 702},
    {8000, 1000, 702, 702, 702},
    {8250, 1031, -400, 17, 18},
  };
  bool ok = true;
  for (size_t i = 0; i < 2U * N_OF(cases); ++i) {
    const bool      eight_bit = i % 2U;
    VwFamilyOptions options = made_options();
    options.format.encoding = eight_bit ? VW_ENCODING_U8 : VW_ENCODING_S16;
    VwTake       take = take_with_lacks(cases[i / 2U].rate_hz);
    const size_t end = (size_t)(cases[i / 2U].cycle + cases[i / 2U].after);
    VwFamily     family = family_of(&take, end, &options);
    ok &= check_equal(
      (double)made_piece(&family, VW_PART_RING_OUT)->sound.n_frames,
      (double)(eight_bit ? cases[i / 2U].wanted_8_bit : cases[i / 2U].wanted),
      "case %zu, %d bit: frames of the ring-out",
      i / 2U,
      eight_bit ? 8 : 16);
    vw_family_clear(&family);
    vw_take_clear(&take);
  }
  assert_true(ok);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_same),
    cmocka_unit_test(test_ring_out),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
