#ifndef VW_TEXT_H
#define VW_TEXT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/// A word, and what it stands for.
typedef struct {
  const char* word;
  int         value;
  const char* told; ///< What a person is told behind it; NULL: nothing.
} VwWord;

/**
 * Read one character of UTF-8 (RFC 3629: no overlong form, no surrogate,
 * nothing above U+10FFFF).
 *
 * @param code Set to what it is; may be NULL.
 * @return Its bytes; 0 at the end and where none is.
 */
unsigned vw_utf8_read(const char* text, uint32_t* code);

/// Whether a text is UTF-8 throughout.
bool vw_utf8_is_valid(const char* text);

/// Characters in a text, each of one byte or several.
size_t vw_utf8_count(const char* text);

/// Compare two names in UTF-8 as most cards do: case makes no difference, in
/// the scripts that have it. Bytes that are not UTF-8 count as they are.
///
/// @return As strcmp().
int vw_compare_without_case(const char* a, const char* b);

/// The same, however an accent is coded: within its letter or behind it. Some
/// systems take such names for one.
int vw_compare_however_coded(const char* a, const char* b);

/// Whether the first `n_a` bytes of one name and the first `n_b` of another are
/// the same in that sense.
bool vw_same_without_case(const char* a, size_t n_a, const char* b, size_t n_b);

#endif
