// How alike two stretches are, lag by lag: against sums of the test's own.

#include "support/check.h"
#include "support/signals.h"

#include "signal/signal.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>

enum { MOST_LAGS = 300 };

/// The correlation at one lag, summed up.
static double
summed(const VwSlide* wish, size_t lag) {
  const size_t n_channels = wish->one->n_channels;
  const float* a = wish->one->values + wish->at * n_channels;
  const float* b = wish->other->values + (wish->from + lag) * n_channels;
  double       ab = 0.0, aa = 0.0, bb = 0.0;
  for (size_t i = 0; i < wish->n * n_channels; ++i) {
    ab += (double)a[i] * (double)b[i];
    aa += (double)a[i] * (double)a[i];
    bb += (double)b[i] * (double)b[i];
  }
  return ab / sqrt(aa * bb);
}

// Whatever the transforms were used for before, every lag is within some
// millionths of its sum, and the same as with transforms of its own.
static void
test_used_again(void** state) {
  (void)state;
  static const struct {
    size_t n;
    size_t n_lags;
  } sizes[] = {{900, 41}, {900, 41}, {250, 300}, {900, 41}, {500, 1}};
  SignalRandom        random = signal_random(8);
  VwSound             sound = signal_silence(0.25, 8000);
  VwTransforms* const kept = vw_transforms_new();
  bool                ok = true;
  signal_add_noise(&sound, 0.2, &random);
  assert_non_null(kept);
  for (size_t i = 0; i < sizeof(sizes) / sizeof(sizes[0]); ++i) {
    VwSlide wish = {.one = &sound,
                    .at = 10 + 7 * i,
                    .other = &sound,
                    .from = 300 + 50 * i,
                    .n = sizes[i].n,
                    .n_lags = sizes[i].n_lags};
    double  own[MOST_LAGS];
    double  shared[MOST_LAGS];
    double  worst = 0.0;
    assert_int_equal(vw_slide_over_lag(&wish, own), VW_OK);
    wish.transforms = kept;
    assert_int_equal(vw_slide_over_lag(&wish, shared), VW_OK);
    for (size_t lag = 0; lag < wish.n_lags; ++lag) {
      worst = fmax(worst, fabs(shared[lag] - summed(&wish, lag)));
    }
    ok &= check_at_most(worst, 5e-6, "%zu: likeness, off", i);
    assert_memory_equal(shared, own, wish.n_lags * sizeof(double));
  }
  vw_transforms_free(kept);
  vw_sound_clear(&sound);
  assert_true(ok);
}

int
main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(test_used_again)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
