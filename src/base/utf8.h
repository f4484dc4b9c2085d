#ifndef VW_UTF8_H
#define VW_UTF8_H

#include <stdbool.h>

/// Whether a text is UTF-8 (RFC 3629): no overlong form, no surrogate, nothing
/// above U+10FFFF.
bool vw_utf8_is_valid(const char* text);

#endif
