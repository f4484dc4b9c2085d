// For program_invocation_name and vasprintf().
#define _GNU_SOURCE

#include "cli/message/message.h"

#include "base/text.h"

#include <errno.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Memory */

void
out_of_memory(void) {
  (void)fputs("volleyweave: " NO_MEMORY "\n", stderr);
  exit(EXIT_FILE);
}

void*
sure(void* made) {
  if (!made) {
    out_of_memory();
  }
  return made;
}

void*
sure_bytes(size_t n_bytes) {
  return sure(malloc(n_bytes));
}

/* Texts */

char*
text_format_list(const char* format, va_list arguments) {
  char* text = NULL;
  return sure(vasprintf(&text, format, arguments) < 0 ? NULL : text);
}

char*
text_format(const char* format, ...) {
  va_list arguments;
  va_start(arguments, format);
  char* const text = text_format_list(format, arguments);
  va_end(arguments);
  return text;
}

char*
text_more(char* list, const char* joint, const char* format, ...) {
  va_list arguments;
  va_start(arguments, format);
  char* const one = text_format_list(format, arguments);
  va_end(arguments);
  if (!list) {
    return one;
  }
  char* const all = text_format("%s%s%s", list, joint, one);
  free(one);
  free(list);
  return all;
}

bool
text_lists(const char* list, const char* word) {
  const size_t n = strlen(word);
  for (const char* at = list; n && *at; ++at) {
    if (*at == ' ' && !strncmp(at + 1, word, n) && at[n + 1U] == ' ') {
      return true;
    }
  }
  return false;
}

bool
text_is_control(char byte) {
  return (unsigned char)byte < 0x20U || byte == 0x7F;
}

bool
text_has_controls(const char* text) {
  while (*text && !text_is_control(*text)) {
    ++text;
  }
  return *text != '\0';
}

/// Characters that move a terminal's cursor or turn what is shown around:
/// control codes, line separators, direction marks; and codes that no character
/// has (Unicode 15.0, 23.7), which cannot be drawn.
static bool
is_unsafe(uint32_t code) {
  static const uint32_t ranges[][2] = {{0x00U, 0x1FU},
                                       {0x7FU, 0x9FU},
                                       {0x61CU, 0x61CU},
                                       {0x200EU, 0x200FU},
                                       {0x2028U, 0x202EU},
                                       {0x2066U, 0x2069U},
                                       {0xFDD0U, 0xFDEFU}};
  for (size_t i = 0; i < sizeof(ranges) / sizeof(ranges[0]); ++i) {
    if (code >= ranges[i][0] && code <= ranges[i][1]) {
      return true;
    }
  }
  return (code & 0xFFFEU) == 0xFFFEU;
}

char*
text_safe(const char* text) {
  static const char digits[] = "0123456789ABCDEF";

  char* const safe = sure_bytes(4U * strlen(text) + 1U);
  char*       out = safe;
  while (*text) {
    uint32_t       code = 0;
    const unsigned n = vw_utf8_read(text, &code);
    const bool     show = n && !is_unsafe(code);
    for (unsigned i = 0; i < (n ? n : 1U); ++i, ++text) {
      if (show) {
        *out++ = *text;
      } else {
        const unsigned char byte = (unsigned char)*text;
        *out++ = '\\';
        *out++ = 'x';
        *out++ = digits[byte >> 4];
        *out++ = digits[byte & 15];
      }
    }
  }
  *out = '\0';
  return safe;
}

/// Put single quotes round a text; one inside ends them, stands escaped and
/// opens them again.
static char*
quote(const char* text) {
  char* const quoted = sure_bytes(4U * strlen(text) + 3U);
  char*       out = quoted;
  *out++ = '\'';
  for (; *text; ++text) {
    if (*text == '\'') {
      memcpy(out, "'\\'", 3U);
      out += 3;
    }
    *out++ = *text;
  }
  *out++ = '\'';
  *out = '\0';
  return quoted;
}

char*
text_quoted(const char* name) {
  static const char plain[] = "abcdefghijklmnopqrstuvwxyz"
                              "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-+=./,:@%";
  char* const       safe = text_safe(name);
  if (*safe && strspn(safe, plain) == strlen(safe)) {
    return safe;
  }
  char* const quoted = quote(safe);
  free(safe);
  return quoted;
}

/* The program in commands that are printed */

#define PROGRAM "volleyweave"

char*
program_called(void) {
  const char* const name = program_invocation_name;
  const char* const path = name ? name : PROGRAM;
  const char* const slash = strrchr(path, '/');
  // In the page it has no name of ours.
  return text_quoted(strcmp(slash ? slash + 1 : path, PROGRAM) ? PROGRAM
                                                               : path);
}

/// Whether a command starts at `at`, in words that begin at `from`.
static bool
is_command(const char* from, const char* at) {
  const char* const behind = at + strlen(PROGRAM);
  return !strncmp(at, PROGRAM " ", sizeof(PROGRAM)) &&
         (at == from || at[-1] == '`' ||
          (at - from > 1 && at[-1] == ' ' && at[-2] == ':')) &&
         (behind[1] == '{' || (behind[1] >= 'a' && behind[1] <= 'z'));
}

void
program_put(const char* words, size_t n_bytes, FILE* out) {
  const char* const end = words + n_bytes;
  char* const       called = program_called();
  for (const char* at = words; at < end; ++at) {
    if (is_command(words, at)) {
      fputs(called, out);
      at += strlen(PROGRAM) - 1U;
    } else {
      fputc(*at, out);
    }
  }
  free(called);
}
