#ifndef VW_LETTER_CASE_H
#define VW_LETTER_CASE_H

#include <stdbool.h>
#include <stddef.h>

/// Compare two names in UTF-8 as most cards do: case makes no difference, in
/// the scripts that have it. Bytes that are not UTF-8 count as they are.
///
/// @return As strcmp().
int vw_compare_without_case(const char* a, const char* b);

/// Whether the first `n_a` bytes of one name and the first `n_b` of another are
/// the same in that sense.
bool vw_same_without_case(const char* a, size_t n_a, const char* b, size_t n_b);

#endif
