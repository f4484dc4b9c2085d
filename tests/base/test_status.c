#include "base/status.h"
#include "support/check.h"

#include "volleyweave/volleyweave.h"

#include <ctype.h>
#include <limits.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

enum { N_STATUSES = VW_LED_CURRENT + 1 };

// One line of a terminal holds the program's name, a file's, and both texts.
static bool
check_texts(VwStatus status) {
  const char* const fault = vw_strerror(status);
  const char* const remedy = vw_remedy(status);
  bool              ok =
    check_that(fault && strlen(fault) > 3 && isupper((unsigned char)fault[0]),
               "status %d: fault starts a sentence",
               (int)status);
  ok &= check_that(
    fault[strlen(fault) - 1] != '.', "status %d: fault's full stop", status);
  ok &= check_that(!strchr(fault, '\n') && !strchr(remedy, '\n'),
                   "status %d: one line",
                   (int)status);
  if (status != VW_OK) {
    ok &= check_that(strlen(remedy) > 3 && islower((unsigned char)remedy[0]),
                     "status %d: remedy goes on",
                     (int)status);
    ok &= check_that(remedy[strlen(remedy) - 1] != '.',
                     "status %d: remedy's full stop",
                     (int)status);
  }
  return ok;
}

static void
test_texts(void** state) {
  (void)state;
  bool ok = true;
  for (int i = 0; i < N_STATUSES; ++i) {
    ok &= check_texts((VwStatus)i);
    for (int j = 0; j < i; ++j) {
      ok &= check_that(
        strcmp(vw_strerror((VwStatus)i), vw_strerror((VwStatus)j)) != 0,
        "statuses %d and %d: faults differ",
        i,
        j);
    }
  }
  assert_true(ok);
}

static void
test_no_status(void** state) {
  (void)state;
  static const int values[] = {N_STATUSES, 1000, INT_MAX, -1, INT_MIN};

  for (size_t i = 0; i < sizeof(values) / sizeof(values[0]); ++i) {
    assert_string_equal(vw_strerror((VwStatus)values[i]), "An unknown fault");
    assert_string_equal(vw_remedy((VwStatus)values[i]), "");
  }
}

// Each with what helps most.
static void
test_remedies(void** state) {
  (void)state;
  static const struct {
    VwStatus    status;
    const char* word;
  } cases[] = {
    {VW_CONTAINER, "WAV or FLAC"},
    {VW_NAME_NOT_UTF8, "rename"},
    {VW_CUT_SHORT, "again"},
    {VW_EXISTS, "--force"},
    {VW_SAME_STEM, "rename"},
    {VW_NO_FOLDER, "make it"},
    {VW_DISK_FULL, "room"},
  };

  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    assert_non_null(strstr(vw_remedy(cases[i].status), cases[i].word));
  }
}

static void
test_names(void** state) {
  (void)state;
  assert_string_equal(vw_kind_name(VW_KIND_SHOT), "shot");
  assert_string_equal(vw_kind_name(VW_KIND_SEVERAL_SHOTS), "several shots");
  assert_string_equal(vw_kind_name(VW_KIND_SUSTAINED), "sustained");
  assert_string_equal(vw_kind_name(VW_KIND_RAPID_FIRE), "rapid fire");
  assert_string_equal(vw_kind_name((VwKind)4), "");
  assert_string_equal(vw_encoding_name(VW_ENCODING_U8), "8-bit unsigned PCM");
  assert_string_equal(vw_encoding_name(VW_ENCODING_S16), "16-bit PCM");
  assert_string_equal(vw_encoding_name(VW_ENCODING_S24), "24-bit PCM");
  assert_string_equal(vw_encoding_name(VW_ENCODING_FLOAT), "32-bit float");
  assert_string_equal(vw_encoding_name((VwEncoding)-1), "");
  assert_string_equal(vw_form_name(VW_FORM_PIECES), "pieces");
  assert_string_equal(vw_form_name(VW_FORM_WHOLE_FILE), "whole-file");
  assert_string_equal(vw_form_name(VW_FORM_LOOP_POINTS), "loop-points");
  assert_string_equal(vw_form_name(VW_FORM_BURST), "burst");
  assert_string_equal(vw_part_name(VW_PART_SHOT), "shot");
  assert_string_equal(vw_part_name(VW_PART_RUN_IN), "runin");
  assert_string_equal(vw_part_name(VW_PART_LOOP), "loop");
  assert_string_equal(vw_part_name(VW_PART_RING_OUT), "ringout");
  assert_string_equal(vw_part_name(VW_PART_BURST), "burst");
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_texts),
    cmocka_unit_test(test_no_status),
    cmocka_unit_test(test_remedies),
    cmocka_unit_test(test_names),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
