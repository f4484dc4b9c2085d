#include "pictures/words.h"

#include <stdlib.h>
#include <string.h>

#define ELLIPSIS "\xE2\x80\xA6"

/// Whether a character of UTF-8 begins here, or the text ends.
static bool
is_start(char byte) {
  return ((unsigned char)byte & 0xC0U) != 0x80U;
}

/// Where the character begins that byte `at` is part of.
static size_t
start_of(const char* text, size_t at) {
  while (at && !is_start(text[at])) {
    --at;
  }
  return at;
}

/// The text without bytes [from, to), a mark in their place.
static void
leave_out(const char* text, size_t from, size_t to, char* out) {
  memcpy(out, text, from);
  strcpy(out + from, ELLIPSIS);
  strcat(out, text + to);
}

char*
vw_words_shorten(VwCanvas*   canvas,
                 double      size,
                 double      width,
                 const char* text) {
  const size_t n = strlen(text);
  char* const  out = malloc(n + sizeof(ELLIPSIS));
  if (!out) {
    return NULL;
  }
  strcpy(out, text);
  // A name that is far too long is cut roughly first: measuring takes time.
  for (size_t n_left = n < 400U ? n : 400U;
       n_left && vw_canvas_text_width(canvas, size, out) > width;
       --n_left) {
    const size_t from = start_of(text, n_left / 2U);
    const size_t to = start_of(text, n - (n_left - n_left / 2U) + 1U);
    leave_out(text, from, to > from ? to : from, out);
  }
  return out;
}

/// A line to be filled.
typedef struct {
  VwCanvas* canvas;
  double    size;
  double    width;
} Line;

/// Whether the first `n` bytes of a text fit.
static bool
fits(const Line* line, const char* text, size_t n) {
  char start[512];
  if (n >= sizeof(start)) {
    return false;
  }
  memcpy(start, text, n);
  start[n] = '\0';
  return vw_canvas_text_width(line->canvas, line->size, start) <= line->width;
}

size_t
vw_words_in_line(VwCanvas*   canvas,
                 double      size,
                 double      width,
                 const char* text) {
  const Line   line = {canvas, size, width};
  const size_t n = strlen(text);
  size_t       n_whole = 0; // up to a space
  size_t       n_fits = 0;
  for (size_t i = 1; i <= n; ++i) {
    if (!is_start(text[i])) {
      continue;
    }
    if (!fits(&line, text, i)) {
      return n_whole ? n_whole : n_fits ? n_fits : i;
    }
    n_fits = i;
    n_whole = text[i] == ' ' || !text[i] ? i : n_whole;
  }
  return n_fits;
}
