#ifndef VW_LETTER_CASE_H
#define VW_LETTER_CASE_H

/// Compare two names in UTF-8 as most cards do: case makes no difference, in
/// the scripts that have it. Bytes that are not UTF-8 count as they are.
///
/// @return As strcmp().
int vw_compare_without_case(const char* a, const char* b);

#endif
