// The same input, options and seed give the same bytes: a figure of this
// project.

#include "container/container.h"
#include "support/check.h"
#include "support/made.h"
#include "support/signals.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <stdlib.h>
#include <string.h>

enum { N_TAKES = 2 };

// The files of a family one after the other.
static VwBytes
bytes_of(const VwFamilyOptions* options) {
  const VwFindOptions find = vw_find_defaults();
  VwTake              takes[N_TAKES];
  VwShotFacts         facts[N_TAKES];
  VwFamily            family;
  for (size_t i = 0; i < N_TAKES; ++i) {
    const SignalBurst burst = {.start_s = 0.1,
                               .decay_s = 0.6,
                               .level = 0.4,
                               .pitch_hz = i ? 900.0 : 0.0};
    VwSound           raw = signal_take(0.6, 44100, &burst, i);
    assert_int_equal(vw_take_prepare(&raw, &takes[i]), VW_OK);
    assert_int_equal(vw_find(&takes[i], &find, &facts[i]), VW_OK);
    vw_sound_clear(&raw);
  }
  assert_int_equal(vw_family_make(takes, facts, N_TAKES, options, &family),
                   VW_OK);
  VwBytes all = {NULL, 0};
  for (size_t i = 0; i < family.n_pieces; ++i) {
    VwBytes one = {NULL, 0};
    assert_int_equal(
      vw_encode_wav(&family.pieces[i], &family.format, options->seed, &one),
      VW_OK);
    all.data = realloc(all.data, all.n_bytes + one.n_bytes);
    assert_non_null(all.data);
    memcpy(all.data + all.n_bytes, one.data, one.n_bytes);
    all.n_bytes += one.n_bytes;
    vw_bytes_clear(&one);
  }
  vw_family_clear(&family);
  for (size_t i = 0; i < N_TAKES; ++i) {
    vw_take_clear(&takes[i]);
  }
  return all;
}

static bool
are_same(const VwFamilyOptions* one, const VwFamilyOptions* other) {
  VwBytes    a = bytes_of(one);
  VwBytes    b = bytes_of(other);
  const bool same =
    a.n_bytes == b.n_bytes && !memcmp(a.data, b.data, a.n_bytes);
  free(a.data);
  free(b.data);
  return same;
}

static void
test_same(void** state) {
  (void)state;
  static const VwEncoding encodings[] = {
    VW_ENCODING_U8, VW_ENCODING_S16, VW_ENCODING_S24, VW_ENCODING_FLOAT};
  static const VwForm forms[] = {
    VW_FORM_PIECES, VW_FORM_WHOLE_FILE, VW_FORM_LOOP_POINTS, VW_FORM_BURST};

  bool ok = true;
  for (size_t i = 0; i < 16; ++i) {
    VwFamilyOptions options = vw_family_defaults();
    options.format.encoding = encodings[i % 4];
    options.format.rate_hz = i % 3 ? 22050 : 44100;
    options.form = forms[i / 4];
    options.fire_rate_per_s = 7.77;
    options.tail = i % 2 ? VW_TAIL_CHOKE : VW_TAIL_OVERLAP;
    options.detune_cents = 20.0;
    options.level_spread_db = 1.0;
    options.seed = 5 + i;
    ok &= check_that(are_same(&options, &options), "case %zu differs", i);
  }
  assert_true(ok);
}

// Another seed makes other dither and another variation.
static void
test_seed(void** state) {
  (void)state;
  VwFamilyOptions one = vw_family_defaults();
  one.fire_rate_per_s = 9.0;
  VwFamilyOptions other = one;
  other.seed = 2;
  assert_false(are_same(&one, &other));

  one.format.encoding = other.format.encoding = VW_ENCODING_FLOAT;
  one.level_spread_db = other.level_spread_db = 1.0;
  assert_false(are_same(&one, &other));
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_same),
    cmocka_unit_test(test_seed),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
