/// @file
/// Checks that print what was measured, the bound, and the case.
///
/// They return whether the check held, so that a table of cases can run to its
/// end: collect the results and assert them once.
#ifndef TESTS_CHECK_H
#define TESTS_CHECK_H

#include <stdbool.h>

#define CHECK_FORMAT __attribute__((format(printf, 3, 4)))

/// True if `value <= bound`; NaN fails. Prints the named case where it fails.
CHECK_FORMAT bool check_at_most(double      value,
                                double      bound,
                                const char* name,
                                ...);

/// True if `value >= bound`; NaN fails. Prints the named case where it fails.
CHECK_FORMAT bool check_at_least(double      value,
                                 double      bound,
                                 const char* name,
                                 ...);

/// True if `value == expected`, bit for bit apart from the sign of zero.
CHECK_FORMAT bool check_equal(double      value,
                              double      expected,
                              const char* name,
                              ...);

/// True if `holds`. Prints the named case where it does not.
__attribute__((format(printf, 2, 3))) bool check_that(bool        holds,
                                                      const char* name,
                                                      ...);

#endif // TESTS_CHECK_H
