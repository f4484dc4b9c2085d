#include "base/text.h"
#include "support/check.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

typedef struct {
  const char* text;
  bool        valid;
} Case;

// First and last of each length, and what RFC 3629, sections 3 and 4, excludes.
static const Case cases[] = {
  {"", true},
  {"zap.wav", true},
  {"\x01\x7F", true},
  {"\xC2\x80 \xDF\xBF", true},
  {"\xE0\xA0\x80 \xED\x9F\xBF \xEE\x80\x80 \xEF\xBF\xBF", true},
  {"\xF0\x90\x80\x80 \xF4\x8F\xBF\xBF", true},
  {"\x80", false},
  {"a\xBF", false},
  {"caf\xE9.wav", false},
  {"\xC0\x80", false},
  {"\xC1\xBF", false},
  {"\xE0\x9F\xBF", false},
  {"\xED\xA0\x80", false},
  {"\xED\xBF\xBF", false},
  {"\xF0\x8F\xBF\xBF", false},
  {"\xF4\x90\x80\x80", false},
  {"\xF5\x80\x80\x80", false},
  {"\xFE", false},
  {"\xFF", false},
  {"\xC2", false},
  {"\xE1\x80", false},
  {"\xF1\x80\x80", false},
  {"\xE1\x80z", false},
  {"\xC2\xC2\x80", false},
};

static void
test_cases(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    ok &= check_equal(
      vw_utf8_is_valid(cases[i].text), cases[i].valid, "case %zu", i);
  }
  assert_true(ok);
}

typedef struct {
  const char* one;
  const char* other;
  bool        same; ///< However coded; but for case never.
} Coded;

// Within the letter and behind it (Unicode Standard Annex 15, its figures and
// from memory).
static const Coded codings[] = {
  {"caf\u00E9", "cafe\u0301", true},
  {"CAF\u00C9", "cafe\u0301", true},
  {"\u00C5ngstr\u00F6m", "a\u030Angstro\u0308m", true},
  {"\u1E69", "s\u0323\u0307", true},
  {"\u1EBF", "\u00EA\u0301", true},
  {"\u0439", "\u0438\u0306", true},
  {"\u304C", "\u304B\u3099", true},
  {"caf\u00E9", "cafe", false},
  {"caf\u00E9", "cafe\u0300", false},
  {"cafe\u0301", "cafe", false},
  {"\u00F8", "o\u0338", false},
};

static void
test_codings(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < sizeof(codings) / sizeof(codings[0]); ++i) {
    const Coded* const names = &codings[i];
    ok &= check_equal(!vw_compare_however_coded(names->one, names->other),
                      names->same,
                      "case %zu",
                      i);
    ok &= check_equal(!vw_compare_however_coded(names->other, names->one),
                      names->same,
                      "case %zu, turned",
                      i);
    ok &= check_that(vw_compare_without_case(names->one, names->other),
                     "case %zu, as cards do",
                     i);
  }
  assert_true(ok);
}

int
main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(test_cases),
                                     cmocka_unit_test(test_codings)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
