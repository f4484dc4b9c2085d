/// @file
/// JSON as a text that grows, safe inside a page: no <, > or & in its strings.
#ifndef VW_CLI_JSON_TEXT_H
#define VW_CLI_JSON_TEXT_H

#include "cli/message/text.h"
#include "store/store.h"

#include <volleyweave/volleyweave.h>

#include <stdbool.h>
#include <stddef.h>

/// Text that grows. Starts all zero but for `to`.
typedef struct {
  VwPour*  to;   ///< Where it goes, portion by portion; NULL: it is kept.
  char*    text; ///< What has not gone there yet. Owned.
  size_t   n;
  size_t   n_room;
  VwStatus status; ///< The first failure: nothing more is added.
} JsonText;

/// Add text as `printf` would print it.
void json_text_add(JsonText* text, const char* format, ...) TEXT_FORMAT(2, 3);

/// Add text of so many bytes.
void json_text_bytes(JsonText* text, const char* bytes, size_t n);

/// Add a string in quotation marks, or null where there is none. Bytes that are
/// no UTF-8 become safe.
void json_text_string(JsonText* text, const char* string);

/// Add a number, or null where it is not finite.
void json_text_number(JsonText* text, double value);

/// Add JSON made elsewhere.
void json_text_raw(JsonText* text, const char* json);

/// Add bytes in base64 (RFC 4648), without quotation marks; of several portions
/// all but the last must be whole threes.
void json_text_base64(JsonText*            text,
                      const unsigned char* bytes,
                      size_t               n_bytes);

/// Send on what is left. Returns the first failure.
VwStatus json_text_flush(JsonText* text);

/// Free what it owns.
void json_text_clear(JsonText* text);

#endif
