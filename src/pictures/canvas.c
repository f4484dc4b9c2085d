#include "base/text.h"
#include "pictures/internal.h"

#include <stdio.h>
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

#define SIZE_MOST 20000.0

// 0.01 point is a fiftieth of a pixel.
#define DECIMALS 2U

// As SVG's viewers look for it; the two that follow are about as wide.
#define FONT "DejaVu Sans, sans-serif"

static void
put(VwCanvas* canvas, const char* text) {
  vw_sink_put_text(&canvas->sink, text);
}

static void
put_number(VwCanvas* canvas, double value) {
  vw_sink_put_number(&canvas->sink, value, DECIMALS);
}

static void
put_attribute(VwCanvas* canvas, const char* name, double value) {
  put(canvas, " ");
  put(canvas, name);
  put(canvas, "=\"");
  put_number(canvas, value);
  put(canvas, "\"");
}

static void
put_colour(VwCanvas* canvas, const char* name, unsigned colour) {
  char text[40];
  (void)snprintf(text, sizeof(text), " %s=\"#%06X\"", name, colour & 0xFFFFFFU);
  put(canvas, text);
}

static void
put_place(VwCanvas* canvas, const VwBox* box) {
  put_attribute(canvas, "x", box->x);
  put_attribute(canvas, "y", box->y);
  put_attribute(canvas, "width", box->width);
  put_attribute(canvas, "height", box->height);
}

/* Texts */

// What XML 1.0 (fifth edition, 2.2) has no place for: most control characters,
// and U+FFFE and U+FFFF.
static bool
is_no_xml(uint32_t code) {
  return (code < 0x20U && code != '\t' && code != '\n' && code != '\r') ||
         code == 0xFFFEU || code == 0xFFFFU;
}

/// Put a text as XML wants it. Of blanks in a row, as names of files have them,
/// only the first may give way; before a text stands none.
static void
put_escaped(VwCanvas* canvas, const char* text) {
  uint32_t code = 0;
  bool     blank = true;
  for (unsigned n = 0; (n = vw_utf8_read(text, &code)); text += n) {
    const char* const name = code == '&'            ? "&amp;"
                             : code == '<'          ? "&lt;"
                             : code == '>'          ? "&gt;"
                             : is_no_xml(code)      ? "?"
                             : blank && code == ' ' ? "\xC2\xA0"
                                                    : NULL;
    if (name) {
      put(canvas, name);
    } else {
      vw_sink_put(&canvas->sink, text, n);
    }
    blank = code == ' ';
  }
  canvas->refused = canvas->refused || *text;
}

static void
put_element(VwCanvas* canvas, const char* name, const char* text) {
  if (text && *text) {
    put(canvas, "<");
    put(canvas, name);
    put(canvas, ">");
    put_escaped(canvas, text);
    put(canvas, "</");
    put(canvas, name);
    put(canvas, ">\n");
  }
}

void
vw_canvas_text(VwCanvas*          canvas,
               const VwLettering* lettering,
               VwPoint            at,
               const char*        text) {
  static const char* const anchors[] = {
    [VW_ALIGN_LEFT] = "",
    [VW_ALIGN_MIDDLE] = " text-anchor=\"middle\"",
    [VW_ALIGN_RIGHT] = " text-anchor=\"end\""};
  put(canvas, "<text");
  put_attribute(canvas, "x", at.x);
  put_attribute(canvas, "y", at.y);
  put_attribute(canvas, "font-size", lettering->size);
  put_colour(canvas, "fill", lettering->colour);
  put(canvas, anchors[lettering->align]);
  put(canvas, ">");
  put_escaped(canvas, text);
  put(canvas, "</text>\n");
}

/* Begin and end */

VwStatus
vw_canvas_begin(VwCanvas* canvas, const VwPage* page) {
  const VwBox box = {0.0, 0.0, page->width, page->height};
  *canvas = (VwCanvas){.n_clips = 0};
  if (!(page->width > 0.0) || !(page->height > 0.0) ||
      page->width > SIZE_MOST || page->height > SIZE_MOST) {
    return VW_BAD_OPTION;
  }
  put(canvas,
      "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
      "<svg xmlns=\"http://www.w3.org/2000/svg\""
      " xmlns:xlink=\"http://www.w3.org/1999/xlink\" width=\"");
  put_number(canvas, page->width);
  put(canvas, "pt\" height=\"");
  put_number(canvas, page->height);
  put(canvas, "pt\" viewBox=\"0 0 ");
  put_number(canvas, page->width);
  put(canvas, " ");
  put_number(canvas, page->height);
  put(canvas,
      "\" role=\"img\" font-family=\"" FONT "\" stroke-linejoin=\"round\">\n");
  put_element(canvas, "title", page->title);
  put_element(canvas, "desc", page->description);
  vw_canvas_box(canvas, 0xFFFFFFU, &box);
  return VW_OK;
}

VwStatus
vw_canvas_end(VwCanvas* canvas, VwBytes* bytes) {
  put(canvas, "</svg>\n");
  if (canvas->sink.full || canvas->refused) {
    vw_sink_clear(&canvas->sink);
    return canvas->refused ? VW_BAD_OPTION : VW_NO_MEMORY;
  }
  *bytes = canvas->sink.bytes;
  return VW_OK;
}

/* Shapes */

static void
put_path(VwCanvas* canvas, const VwPoint* points, size_t n) {
  put(canvas, "<path d=\"M");
  for (size_t i = 0; i < n; ++i) {
    put_number(canvas, points[i].x);
    put(canvas, " ");
    put_number(canvas, points[i].y);
    put(canvas, i + 1U < n ? " " : "");
  }
}

void
vw_canvas_line(VwCanvas*      canvas,
               const VwLine*  line,
               const VwPoint* points,
               size_t         n) {
  static const char* const strokes[] = {
    [VW_STROKE_SOLID] = " stroke-linecap=\"round\"",
    [VW_STROKE_DASHED] = " stroke-dasharray=\"5 2.5\"",
    [VW_STROKE_DOTTED] = " stroke-dasharray=\"1.2 1.8\"",
    [VW_STROKE_DASH_DOT] = " stroke-dasharray=\"6 2 1.2 2\""};
  put_path(canvas, points, n);
  put(canvas, "\" fill=\"none\"");
  put_colour(canvas, "stroke", line->colour);
  put_attribute(canvas, "stroke-width", line->width);
  put(canvas, strokes[line->stroke]);
  put(canvas, "/>\n");
}

void
vw_canvas_area(VwCanvas*      canvas,
               unsigned       colour,
               const VwPoint* points,
               size_t         n) {
  put_path(canvas, points, n);
  put(canvas, "Z\"");
  put_colour(canvas, "fill", colour);
  put(canvas, "/>\n");
}

void
vw_canvas_box(VwCanvas* canvas, unsigned colour, const VwBox* box) {
  put(canvas, "<rect");
  put_place(canvas, box);
  put_colour(canvas, "fill", colour);
  put(canvas, "/>\n");
}

void
vw_canvas_disc(VwCanvas* canvas, unsigned colour, VwPoint at, double radius) {
  put(canvas, "<circle");
  put_attribute(canvas, "cx", at.x);
  put_attribute(canvas, "cy", at.y);
  put_attribute(canvas, "r", radius);
  put_colour(canvas, "fill", colour);
  put(canvas, "/>\n");
}

void
vw_canvas_raster(VwCanvas* canvas, const VwBox* box, const VwRaster* raster) {
  put(canvas, "<image");
  put_place(canvas, box);
  put(canvas, " preserveAspectRatio=\"none\" xlink:href=\"");
  canvas->refused = !vw_raster_put(raster, &canvas->sink) || canvas->refused;
  put(canvas, "\"/>\n");
}

/* Groups */

void
vw_canvas_clip(VwCanvas* canvas, const VwBox* box) {
  char group[80];
  char clip[40];
  ++canvas->n_clips;
  (void)snprintf(
    clip, sizeof(clip), "<clipPath id=\"clip-%u\"><rect", canvas->n_clips);
  (void)snprintf(group,
                 sizeof(group),
                 "/></clipPath>\n<g clip-path=\"url(#clip-%u)\">\n",
                 canvas->n_clips);
  put(canvas, clip);
  put_place(canvas, box);
  put(canvas, group);
}

void
vw_canvas_panel(VwCanvas* canvas, const VwAxis* x, const VwBox* box) {
  // A millionth of a second is less than a frame.
  const double ends_s[] = {x->from * x->unit_s, x->to * x->unit_s};
  put(canvas, "<g");
  if (x->unit_s > 0.0) {
    put_attribute(canvas, "data-x", box->x);
    put_attribute(canvas, "data-width", box->width);
    put(canvas, " data-from-s=\"");
    vw_sink_put_number(&canvas->sink, ends_s[0], 6U);
    put(canvas, "\" data-to-s=\"");
    vw_sink_put_number(&canvas->sink, ends_s[1], 6U);
    put(canvas, "\"");
  }
  put(canvas, ">\n");
}

void
vw_canvas_close(VwCanvas* canvas) {
  put(canvas, "</g>\n");
}
