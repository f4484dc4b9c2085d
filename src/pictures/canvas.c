#include "pictures/internal.h"

#include "base/text.h"

#include <stdio.h>

#define SIZE_MOST 20000.0

// 0.01 point is a fiftieth of a pixel.
#define DECIMALS 2U

// As SVG's viewers look for it; the two that follow are about as wide.
#define FONT "DejaVu Sans, Verdana, sans-serif"

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
