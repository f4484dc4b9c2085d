#include "json_text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static void
fail(JsonText* to) {
  free(to->text);
  *to = (JsonText){.failed = true};
}

/// Room for so many more characters and an end.
static char*
room_for(JsonText* to, size_t n_more) {
  const size_t n_needed = to->n + n_more + 1U;
  if (to->failed) {
    return NULL;
  }
  if (n_needed > to->n_room) {
    const size_t n_room = 2U * n_needed;
    char* const  text = realloc(to->text, n_room);
    if (!text) {
      fail(to);
      return NULL;
    }
    to->text = text;
    to->n_room = n_room;
  }
  return to->text + to->n;
}

static void
append(JsonText* to, const char* text, size_t n) {
  char* const at = room_for(to, n);
  if (at) {
    memcpy(at, text, n);
    at[n] = '\0';
    to->n += n;
  }
}

void
grow_add(JsonText* to, const char* format, ...) {
  va_list arguments;
  va_start(arguments, format);
  char* const more = text_format_list(format, arguments);
  va_end(arguments);
  if (more) {
    append(to, more, strlen(more));
  } else {
    fail(to);
  }
  free(more);
}

/// Whether a character could end a page's script, or start something in it.
static bool
is_markup(char c) {
  return c == '<' || c == '>' || c == '&';
}

static void
add_escape(JsonText* to, char c) {
  grow_add(to, "\\u%04x", (unsigned)(unsigned char)c);
}

void
grow_string(JsonText* to, const char* text) {
  append(to, "\"", 1U);
  for (const char* at = text; *at;) {
    const unsigned n = text_utf8_length(at);
    if (*at == '"' || *at == '\\') {
      append(to, "\\", 1U);
      append(to, at, 1U);
    } else if ((unsigned char)*at < 0x20U || is_markup(*at)) {
      add_escape(to, *at);
    } else if (n) {
      append(to, at, n);
    } else {
      grow_add(to, "\\\\x%02X", (unsigned)(unsigned char)*at);
    }
    at += n ? n : 1U;
  }
  append(to, "\"", 1U);
}

void
grow_string_or_null(JsonText* to, const char* text) {
  if (text) {
    grow_string(to, text);
  } else {
    append(to, "null", 4U);
  }
}

void
grow_number(JsonText* to, double value) {
  if (isfinite(value)) {
    grow_add(to, "%.17g", value);
  } else {
    append(to, "null", 4U);
  }
}

void
grow_base64(JsonText* to, const unsigned char* bytes, size_t n_bytes) {
  static const char letters[] =
    "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  const size_t n = (n_bytes + 2U) / 3U * 4U;
  char*        at = room_for(to, n + 2U);
  if (!at) {
    return;
  }
  *at++ = '"';
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
  *at++ = '"';
  *at = '\0';
  to->n += n + 2U;
}

void
grow_raw(JsonText* to, const char* json) {
  for (const char* at = json; *at; ++at) {
    // Markup stands in strings alone.
    if (is_markup(*at)) {
      add_escape(to, *at);
    } else if (*at != '\n') {
      append(to, at, 1U);
    }
  }
}
