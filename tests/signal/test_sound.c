#include "signal/signal.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

static void
test_zeros(void** state) {
  (void)state;
  VwSound sound;
  assert_int_equal(vw_sound_init(&sound, 5, 3, 8000), VW_OK);
  assert_int_equal(sound.n_frames, 5);
  assert_int_equal(sound.n_channels, 3);
  assert_int_equal(sound.rate_hz, 8000);
  for (size_t i = 0; i < 15; ++i) {
    assert_true(sound.values[i] == 0.0F);
  }
  vw_sound_clear(&sound);
  assert_null(sound.values);
  assert_int_equal(sound.n_frames, 0);
  vw_sound_clear(&sound);
  vw_sound_clear(NULL);
}

static void
test_empty(void** state) {
  (void)state;
  VwSound sound;
  assert_int_equal(vw_sound_init(&sound, 0, 2, 8000), VW_OK);
  assert_int_equal(sound.n_frames, 0);
  vw_sound_clear(&sound);
}

// Sizes whose product wraps round, to a small one in the first case.
static void
test_too_large(void** state) {
  (void)state;
  static const size_t sizes[] = {SIZE_MAX / 4 + 2, SIZE_MAX, SIZE_MAX / 8};

  for (size_t i = 0; i < sizeof(sizes) / sizeof(sizes[0]); ++i) {
    VwSound sound = {NULL, 7, 7, 7};
    assert_int_equal(vw_sound_init(&sound, sizes[i], 8, 8000), VW_NO_MEMORY);
    assert_int_equal(sound.n_frames, 7);
  }
}

static void
test_part(void** state) {
  (void)state;
  float         values[] = {1.0F, 2.0F, 3.0F, 4.0F, 5.0F, 6.0F};
  const VwSound sound = {values, 3, 2, 8000};
  VwSound       part;
  assert_int_equal(vw_sound_part(&sound, 1, 4, &part), VW_OK);
  assert_int_equal(part.n_frames, 4);
  static const float expected[] = {
    3.0F, 4.0F, 5.0F, 6.0F, 0.0F, 0.0F, 0.0F, 0.0F};
  assert_memory_equal(part.values, expected, sizeof(expected));
  vw_sound_clear(&part);
  assert_int_equal(vw_sound_part(&sound, 9, 1, &part), VW_OK);
  assert_true(part.values[0] == 0.0F && part.values[1] == 0.0F);
  vw_sound_clear(&part);
}

static void
test_measures(void** state) {
  (void)state;
  float   values[] = {1.0F, -2.0F, 0.5F, 0.0F};
  VwSound sound = {values, 2, 2, 8000};
  assert_true(vw_sound_peak(&sound) == 2.0);
  assert_true(vw_sound_power_at(&sound, 0) == 2.5);
  vw_sound_scale(&sound, -0.5);
  assert_true(values[0] == -0.5F && values[1] == 1.0F && values[2] == -0.25F);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_zeros),
    cmocka_unit_test(test_empty),
    cmocka_unit_test(test_too_large),
    cmocka_unit_test(test_part),
    cmocka_unit_test(test_measures),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
