#include "cli/page/json_text.h"

#include "base/text.h"
#include "store/store.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// So much waits until it goes on.
#define PORTION_BYTES 65536U

static void
fail(JsonText* text, VwStatus status) {
  free(text->text);
  *text = (JsonText){.to = text->to, .status = status};
}

VwStatus
json_text_flush(JsonText* text) {
  if (!text->status && text->to && text->n) {
    const VwStatus st = vw_pour_add(text->to, text->text, text->n);
    text->n = 0;
    if (st) {
      fail(text, st);
    }
  }
  return text->status;
}

/// Room for so many more characters and an end.
static char*
room_for(JsonText* text, size_t n_more) {
  if (text->n >= PORTION_BYTES) {
    (void)json_text_flush(text);
  }
  const size_t n_needed = text->n + n_more + 1U;
  if (text->status) {
    return NULL;
  }
  if (n_needed > text->n_room) {
    const size_t n_room = 2U * n_needed;
    char* const  longer = realloc(text->text, n_room);
    if (!longer) {
      fail(text, VW_NO_MEMORY);
      return NULL;
    }
    text->text = longer;
    text->n_room = n_room;
  }
  return text->text + text->n;
}

void
json_text_bytes(JsonText* text, const char* bytes, size_t n) {
  char* const at = room_for(text, n);
  if (at) {
    memcpy(at, bytes, n);
    at[n] = '\0';
    text->n += n;
  }
}

void
json_text_add(JsonText* text, const char* format, ...) {
  va_list arguments;
  va_start(arguments, format);
  char* const more = text_format_list(format, arguments);
  va_end(arguments);
  if (more) {
    json_text_bytes(text, more, strlen(more));
  } else {
    fail(text, VW_NO_MEMORY);
  }
  free(more);
}

/// Whether a character could end a page's script, or start something in it.
static bool
is_markup(char c) {
  return c == '<' || c == '>' || c == '&';
}

static void
add_escape(JsonText* text, char c) {
  json_text_add(text, "\\u%04x", (unsigned)(unsigned char)c);
}

static void
add_character(JsonText* text, const char* at, unsigned n_bytes) {
  if (*at == '"' || *at == '\\') {
    json_text_bytes(text, "\\", 1U);
    json_text_bytes(text, at, 1U);
  } else if (text_is_control(*at) || is_markup(*at)) {
    add_escape(text, *at);
  } else if (n_bytes) {
    json_text_bytes(text, at, n_bytes);
  } else {
    json_text_add(text, "\\\\x%02X", (unsigned)(unsigned char)*at);
  }
}

void
json_text_string(JsonText* text, const char* string) {
  if (!string) {
    json_text_bytes(text, "null", 4U);
    return;
  }
  json_text_bytes(text, "\"", 1U);
  for (const char* at = string; *at;) {
    const unsigned n_bytes = vw_utf8_read(at, NULL);
    add_character(text, at, n_bytes);
    at += n_bytes ? n_bytes : 1U;
  }
  json_text_bytes(text, "\"", 1U);
}

void
json_text_number(JsonText* text, double value) {
  if (isfinite(value)) {
    json_text_add(text, "%.17g", value);
  } else {
    json_text_bytes(text, "null", 4U);
  }
}

void
json_text_raw(JsonText* text, const char* json) {
  for (const char* at = json; *at;) {
    // Markup stands in strings alone.
    const size_t n_plain = strcspn(at, "<>&\n");
    json_text_bytes(text, at, n_plain);
    at += n_plain;
    if (is_markup(*at)) {
      add_escape(text, *at);
    }
    at += *at ? 1 : 0;
  }
}

void
json_text_base64(JsonText* text, const unsigned char* bytes, size_t n_bytes) {
  static const char letters[] =
    "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  const size_t n = (n_bytes + 2U) / 3U * 4U;
  char*        at = room_for(text, n);
  if (!at) {
    return;
  }
  for (size_t i = 0; i < n_bytes; i += 3U) {
    const size_t   left = n_bytes - i;
    const unsigned second = left > 1U ? bytes[i + 1U] : 0U;
    const unsigned third = left > 2U ? bytes[i + 2U] : 0U;
    const unsigned bits = (unsigned)bytes[i] << 16U | second << 8U | third;
    *at++ = letters[bits >> 18U];
    *at++ = letters[bits >> 12U & 63U];
    *at++ = left > 1U ? letters[bits >> 6U & 63U] : '=';
    *at++ = left > 2U ? letters[bits & 63U] : '=';
  }
  *at = '\0';
  text->n += n;
}

void
json_text_clear(JsonText* text) {
  free(text->text);
  *text = (JsonText){0};
}
