#include "pictures/internal.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>

#define ELLIPSIS "\xE2\x80\xA6"

// Units of an em in the table below.
#define EM 2048.0

// Advance widths of DejaVu Sans, version 2.37, from its tables "hmtx" and
// "cmap": U+0020 to U+007E, U+00A0 to U+00FF, and U+2026.
static const unsigned short widths[] = {
  651,  821,  942,  1716, 1303, 1946, 1597, 563,  799,  799,  1024, 1716, 651,
  739,  651,  690,  1303, 1303, 1303, 1303, 1303, 1303, 1303, 1303, 1303, 1303,
  690,  690,  1716, 1716, 1716, 1087, 2048, 1401, 1405, 1430, 1577, 1294, 1178,
  1587, 1540, 604,  604,  1343, 1141, 1767, 1532, 1612, 1235, 1612, 1423, 1300,
  1251, 1499, 1401, 2025, 1403, 1251, 1403, 799,  690,  799,  1716, 1024, 1024,
  1255, 1300, 1126, 1300, 1260, 721,  1300, 1298, 569,  569,  1186, 569,  1995,
  1298, 1253, 1300, 1300, 842,  1067, 803,  1298, 1212, 1675, 1212, 1212, 1075,
  1303, 690,  1303, 1716, 651,  821,  1303, 1303, 1303, 1303, 690,  1024, 1024,
  2048, 965,  1253, 1716, 739,  2048, 1024, 1024, 1716, 821,  821,  1024, 1303,
  1303, 651,  1024, 821,  965,  1253, 1985, 1985, 1985, 1087, 1401, 1401, 1401,
  1401, 1401, 1401, 1995, 1430, 1294, 1294, 1294, 1294, 604,  604,  604,  604,
  1587, 1532, 1612, 1612, 1612, 1612, 1612, 1716, 1612, 1499, 1499, 1499, 1499,
  1251, 1239, 1290, 1255, 1255, 1255, 1255, 1255, 1255, 2011, 1126, 1260, 1260,
  1260, 1260, 569,  569,  569,  569,  1253, 1298, 1253, 1253, 1253, 1253, 1253,
  1716, 1253, 1298, 1298, 1298, 1298, 1212, 1300, 1212, 2048,
};

enum { ASCII = 0x7F - 0x20, LATIN_1 = ASCII + 0x100 - 0xA0 };

// The mean of all characters of that font, and the em that the wide ones of
// East Asia take, from the first letters of Hangul on.
#define OTHER 1409U
#define WIDE 2048U
#define FIRST_WIDE 0x1100U

static unsigned
width_of(uint32_t code) {
  if (code >= 0x20U && code < 0x7FU) {
    return widths[code - 0x20U];
  }
  if (code >= 0xA0U && code <= 0xFFU) {
    return widths[ASCII + code - 0xA0U];
  }
  return code == 0x2026U ? widths[LATIN_1] : code < FIRST_WIDE ? OTHER : WIDE;
}

/// Width of the character that begins a text, in ems; its bytes go into
/// `n_bytes`. A byte that is no UTF-8 is refused when it is drawn.
static double
first_width(const char* text, size_t* n_bytes) {
  uint32_t       code = 0;
  const unsigned n = vw_utf8_read(text, &code);
  *n_bytes = n ? n : 1U;
  return width_of(code) / EM;
}

double
vw_text_width(double size, const char* text) {
  double width = 0.0;
  for (size_t n = 0; *text; text += n) {
    width += size * first_width(text, &n);
  }
  return width;
}

/* Lines */

/// Where the character begins that byte `at` is part of.
static size_t
start_of(const char* text, size_t at) {
  while (at && ((unsigned char)text[at] & 0xC0U) == 0x80U) {
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
vw_text_shorten(double size, double width, const char* text) {
  const size_t n = strlen(text);
  char* const  out = malloc(n + sizeof(ELLIPSIS));
  if (!out) {
    return NULL;
  }
  strcpy(out, text);
  // A name that is far too long is cut roughly first: measuring takes time.
  for (size_t n_left = n < 400U ? n : 400U;
       n_left && vw_text_width(size, out) > width;
       --n_left) {
    const size_t from = start_of(text, n_left / 2U);
    const size_t to = start_of(text, n - (n_left - n_left / 2U) + 1U);
    leave_out(text, from, to > from ? to : from, out);
  }
  return out;
}

size_t
vw_text_in_line(double size, double width, const char* text) {
  size_t n = 0;
  size_t n_whole = 0; // up to a space
  for (size_t n_more = 0; text[n]; n += n_more) {
    width -= size * first_width(text + n, &n_more);
    if (width < 0.0) {
      return n_whole ? n_whole : n ? n : n_more;
    }
    const char next = text[n + n_more];
    n_whole = next == ' ' || !next ? n + n_more : n_whole;
  }
  return n;
}
