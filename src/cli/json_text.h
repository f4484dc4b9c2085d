/// @file
/// JSON as a text that grows, safe inside a page: no <, > or & in it.
#ifndef VW_CLI_JSON_TEXT_H
#define VW_CLI_JSON_TEXT_H

#include "text.h"

#include <stdbool.h>
#include <stddef.h>

/// Text that grows. Starts all zero; `text` is to be freed, and is NULL once
/// memory failed.
typedef struct {
  char*  text;
  size_t n;
  size_t n_room;
  bool   failed; ///< Memory failed: nothing more is added.
} JsonText;

/// Add text as `printf` would print it.
void grow_add(JsonText* to, const char* format, ...) TEXT_FORMAT(2, 3);

/// Add a string in quotation marks. Bytes that are no UTF-8 become safe.
void grow_string(JsonText* to, const char* text);

/// Add a string, or null where there is none.
void grow_string_or_null(JsonText* to, const char* text);

/// Add a number, or null where it is not finite.
void grow_number(JsonText* to, double value);

/// Add bytes as a string in base64 (RFC 4648).
void grow_base64(JsonText* to, const unsigned char* bytes, size_t n_bytes);

/// Add JSON made elsewhere.
void grow_raw(JsonText* to, const char* json);

#endif
