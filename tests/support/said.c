#include "support/said.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define PROGRAM "volleyweave: "

// Of a terminal of 80 columns the last stays free.
#define COLUMNS 79U
#define INDENT 2U
#define LINES_MOST 2U

// Of a file's usual name.
#define NAME_COLUMNS 24U

#define TEXTS_MOST 4096U

static struct {
  char*  tried[TEXTS_MOST];
  size_t n;
  size_t n_failed;
} texts;

/// Columns of a word; one with a slash or a dot in it may be a longer path.
static size_t
word_columns(const char* word, size_t n) {
  const bool path = memchr(word, '/', n) || memchr(word, '.', n);
  size_t     columns = 0;
  for (size_t i = 0; i < n; ++i) {
    columns += ((unsigned char)word[i] & 0xC0U) != 0x80U ? 1U : 0U;
  }
  return path && columns > NAME_COLUMNS ? NAME_COLUMNS : columns;
}

size_t
said_lines(const char* text) {
  size_t n_lines = 1;
  size_t column = 0;
  while (*text) {
    const size_t n = strcspn(text, " ");
    const size_t columns = word_columns(text, n);
    if (column && column + 1U + columns > COLUMNS) {
      ++n_lines;
      column = INDENT + columns;
    } else {
      column += columns + (column ? 1U : 0U);
    }
    text += n + strspn(text + n, " ");
  }
  return n_lines;
}

/// Whether a word of doing starts here.
static bool
is_remedy(const char* clause) {
  static const char* const starts[] = {
    "add ",           "allow ",  "ask ",     "begin ",     "build ",
    "change ",        "check ",  "choose ",  "clear ",     "close ",
    "convert ",       "copy ",   "correct ", "cut ",       "delete ",
    "deliver ",       "did ",    "gauge ",   "give ",      "hold ",
    "keep ",          "leave ",  "let ",     "listen ",    "lower ",
    "make ",          "mend ",   "mount ",   "move ",      "name ",
    "open ",          "pack ",   "pick ",    "play ",      "put ",
    "raise ",         "record ", "remove ",  "rename ",    "run ",
    "repeat ",        "save ",   "send ",    "set ",       "shorten ",
    "split ",         "swap ",   "take ",    "try ",       "turn ",
    "use ",           "wait ",   "write ",   "there are ", "`volleyweave ",
    "man volleyweave"};

  for (size_t i = 0; i < sizeof(starts) / sizeof(starts[0]); ++i) {
    if (!strncasecmp(clause, starts[i], strlen(starts[i]))) {
      return true;
    }
  }
  return false;
}

bool
said_remedy(const char* text) {
  static const char* const breaks[] = {": ", "; ", ". ", "? ", ", "};
  for (size_t i = 0; i < sizeof(breaks) / sizeof(breaks[0]); ++i) {
    const char* at = text;
    while ((at = strstr(at, breaks[i]))) {
      at += strlen(breaks[i]);
      if (is_remedy(at)) {
        return true;
      }
    }
  }
  return false;
}

/* Each message once */

static bool
was_tried(const char* text) {
  for (size_t i = 0; i < texts.n; ++i) {
    if (!strcmp(texts.tried[i], text)) {
      return true;
    }
  }
  return false;
}

/// What only counts needs no remedy: what failed, or sounds of one warning.
static bool
is_summary(const char* text) {
  return strstr(text, " failed") || strstr(text, " sounds: ");
}

static void
try_one(const char* line, const char* text) {
  if (was_tried(text) || texts.n == TEXTS_MOST) {
    return;
  }
  texts.tried[texts.n++] = strdup(text);
  const size_t n_lines = said_lines(text);
  const bool   remedy = is_summary(text) || said_remedy(text);
  if (n_lines > LINES_MOST || !remedy) {
    printf("  %zu lines%s: %s\n    said by: %s\n",
           n_lines,
           remedy ? "" : ", without a remedy",
           text,
           line);
    ++texts.n_failed;
  }
}

/// Whether a line is one on a fault: "subject: fault: remedy".
static bool
is_fault(const char* line) {
  const char* const at = *line == ' ' ? NULL : strstr(line, ": ");
  return at && strstr(at + 1, ": ") && !strstr(line, ": good for ");
}

void
said_try(const char* line, const char* text, bool faults) {
  char* const copy = strdup(text);
  char*       rest = NULL;
  for (char* at = strtok_r(copy, "\n", &rest); at;
       at = strtok_r(NULL, "\n", &rest)) {
    if (faults ? is_fault(at) : !strncmp(at, PROGRAM, sizeof(PROGRAM) - 1U)) {
      try_one(line, at);
    }
  }
  free(copy);
}

size_t
said_count(void) {
  return texts.n;
}

size_t
said_failed(void) {
  return texts.n_failed;
}
