#include "cli/textfile/ini_value.h"

#include "base/text.h"
#include "cli/message/text.h"
#include "cli/textfile/ini_file.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

/// What stands for one byte behind a backslash.
typedef struct {
  char letter;
  char byte;
} Escape;

static const Escape escapes[] = {{'"', '"'},
                                 {'\\', '\\'},
                                 {'n', '\n'},
                                 {'t', '\t'}};

/// The letter that stands for a byte, or 0.
static char
letter_for(char byte) {
  for (size_t i = 0; i < sizeof(escapes) / sizeof(escapes[0]); ++i) {
    if (escapes[i].byte == byte) {
      return escapes[i].letter;
    }
  }
  return '\0';
}

/// Read what stands behind a backslash. Its length, or 0 where it is nothing.
static size_t
read_escape(const char* text, char* byte) {
  if (text[0] == 'x' && isxdigit((unsigned char)text[1]) &&
      isxdigit((unsigned char)text[2])) {
    const char digits[] = {text[1], text[2], '\0'};
    *byte = (char)strtoul(digits, NULL, 16);
    return *byte ? 3U : 0U;
  }
  for (size_t i = 0; i < sizeof(escapes) / sizeof(escapes[0]); ++i) {
    if (escapes[i].letter == text[0]) {
      *byte = escapes[i].byte;
      return 1U;
    }
  }
  return 0;
}

/// Whether nothing, or a comment, is left of a line.
static bool
is_over(const char* rest) {
  const size_t n = strspn(rest, " \t");
  return !rest[n] || (n && rest[n] == ';');
}

/// Copy up to the closing quote. What is behind it, or NULL and what is wrong.
static const char*
copy_quoted(const char* text, char* to, const char** wrong) {
  while (*text && *text != '"') {
    if (*text != '\\') {
      *to++ = *text++;
      continue;
    }
    const size_t n = read_escape(text + 1, to++);
    if (!n) {
      *wrong = "a backslash in quotes is followed by none of \" \\ n t xHH";
      return NULL;
    }
    text += 1U + n;
  }
  *to = '\0';
  if (!*text) {
    *wrong = "the closing quote is missing";
    return NULL;
  }
  return text + 1;
}

const char*
ini_value_read(const char* text, char** value) {
  const char* wrong = NULL;
  char* const read = malloc(strlen(text) + 1U);
  if (!read) {
    return "there is not enough memory";
  }
  const char* const rest = copy_quoted(text + 1, read, &wrong);
  if (rest && !is_over(rest)) {
    wrong = "there is text behind the closing quote";
  } else if (rest && !vw_utf8_is_valid(read)) {
    wrong = "what the quotes hold is not UTF-8";
  }
  if (wrong) {
    free(read);
    return wrong;
  }
  *value = read;
  return NULL;
}

static bool
needs_quotes(const char* value) {
  const size_t n = strlen(value);
  if (!n || value[0] == '"' || value[0] == ';' || value[0] == '#' ||
      isspace((unsigned char)value[0]) ||
      isspace((unsigned char)value[n - 1U])) {
    return true;
  }
  for (const char* at = value; *at; ++at) {
    if (text_is_control(*at) || !strncmp(at, " ;", 2)) {
      return true;
    }
  }
  return false;
}

char*
ini_quote(const char* value) {
  if (!needs_quotes(value)) {
    return text_format("%s", value);
  }
  char* const quoted = malloc(4U * strlen(value) + 3U);
  char*       to = quoted;
  if (!quoted) {
    return NULL;
  }
  *to++ = '"';
  for (const char* at = value; *at; ++at) {
    const unsigned char byte = (unsigned char)*at;
    const char          letter = letter_for(*at);
    if (letter) {
      *to++ = '\\';
      *to++ = letter;
    } else if (text_is_control(*at) || *at == ';') {
      static const char digits[] = "0123456789ABCDEF";
      *to++ = '\\';
      *to++ = 'x';
      *to++ = digits[byte >> 4U];
      *to++ = digits[byte & 0xFU];
    } else {
      *to++ = *at;
    }
  }
  *to++ = '"';
  *to = '\0';
  return quoted;
}
