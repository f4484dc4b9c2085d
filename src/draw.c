// Pictures, by cairo. A library of its own: nothing else loads cairo.

#include "volleyweave/pictures.h"

#include <cairo-svg.h>
#include <cairo.h>
#include <stdlib.h>
#include <string.h>

#define SIZE_MOST 20000.0

// A fine print still reads well with so many pixels.
#define PIXELS_PER_POINT 2.0

#define FONT "DejaVu Sans"

/* Bytes */

/// What is written so far.
typedef struct {
  VwBytes bytes;
  bool    full; ///< Memory ran out.
} Sink;

static bool
put(Sink* sink, const void* data, size_t n_bytes) {
  unsigned char* const grown =
    sink->full ? NULL
               : realloc(sink->bytes.data, sink->bytes.n_bytes + n_bytes + 1U);
  if (!grown) {
    sink->full = true;
    return false;
  }
  memcpy(grown + sink->bytes.n_bytes, data, n_bytes);
  sink->bytes.data = grown;
  sink->bytes.n_bytes += n_bytes;
  grown[sink->bytes.n_bytes] = '\0';
  return true;
}

static cairo_status_t
take_bytes(void* closure, const unsigned char* data, unsigned n_bytes) {
  return put(closure, data, n_bytes) ? CAIRO_STATUS_SUCCESS
                                     : CAIRO_STATUS_NO_MEMORY;
}

/* Title */

/// Put a text as XML wants it.
static void
put_escaped(Sink* sink, const char* text) {
  for (; *text; ++text) {
    switch (*text) {
      case '&':
        (void)put(sink, "&amp;", 5U);
        break;
      case '<':
        (void)put(sink, "&lt;", 4U);
        break;
      case '>':
        (void)put(sink, "&gt;", 4U);
        break;
      default:
        (void)put(sink, text, 1U);
    }
  }
}

static void
put_element(Sink* sink, const char* name, const char* text) {
  if (text && *text) {
    (void)put(sink, "<", 1U);
    (void)put(sink, name, strlen(name));
    (void)put(sink, ">", 1U);
    put_escaped(sink, text);
    (void)put(sink, "</", 2U);
    (void)put(sink, name, strlen(name));
    (void)put(sink, ">\n", 2U);
  }
}

/// Put title and description behind the outermost element's start: letters are
/// drawn as outlines, which no program reads.
static VwStatus
add_title(const VwPicture* picture, Sink* drawn, VwBytes* bytes) {
  const char* const text = (const char*)drawn->bytes.data;
  const char* const root = drawn->full || !text ? NULL : strstr(text, "<svg");
  const char* const end = root ? strchr(root, '>') : NULL;
  if (!end) {
    return VW_NO_MEMORY;
  }
  const size_t n_before = (size_t)(end + 1 - text);
  Sink         out = {0};
  (void)put(&out, text, n_before);
  (void)put(&out, "\n", 1U);
  put_element(&out, "title", picture->title);
  put_element(&out, "desc", picture->description);
  (void)put(&out, end + 1, drawn->bytes.n_bytes - n_before);
  if (out.full) {
    free(out.bytes.data);
    return VW_NO_MEMORY;
  }
  *bytes = out.bytes;
  return VW_OK;
}

/* Shapes */

static void
draw_text(cairo_t* to, const VwShape* shape) {
  cairo_text_extents_t extents;
  cairo_set_font_size(to, shape->size);
  cairo_text_extents(to, shape->text, &extents);
  const double shift = shape->align == VW_ALIGN_LEFT     ? 0.0
                       : shape->align == VW_ALIGN_MIDDLE ? extents.x_advance / 2
                                                         : extents.x_advance;
  cairo_move_to(to, shape->points[0].x - shift, shape->points[0].y);
  cairo_show_text(to, shape->text);
}

static void
draw_shape(cairo_t* to, const VwShape* shape) {
  cairo_set_source_rgb(to,
                       (double)(shape->colour >> 16U & 0xFFU) / 255.0,
                       (double)(shape->colour >> 8U & 0xFFU) / 255.0,
                       (double)(shape->colour & 0xFFU) / 255.0);
  cairo_new_path(to);
  if (!shape->n_points) {
    return;
  }
  if (shape->kind == VW_SHAPE_TEXT) {
    draw_text(to, shape);
    return;
  }
  if (shape->kind == VW_SHAPE_DISC) {
    cairo_arc(
      to, shape->points[0].x, shape->points[0].y, shape->size, 0.0, 6.2831853);
    cairo_fill(to);
    return;
  }
  for (size_t i = 0; i < shape->n_points; ++i) {
    cairo_line_to(to, shape->points[i].x, shape->points[i].y);
  }
  if (shape->kind == VW_SHAPE_AREA) {
    cairo_close_path(to);
    cairo_fill(to);
  } else {
    cairo_set_line_width(to, shape->size);
    cairo_stroke(to);
  }
}

static void
draw_all(cairo_t* to, const VwPicture* picture) {
  cairo_set_source_rgb(to, 1.0, 1.0, 1.0);
  cairo_paint(to);
  cairo_set_line_cap(to, CAIRO_LINE_CAP_ROUND);
  cairo_set_line_join(to, CAIRO_LINE_JOIN_ROUND);
  cairo_select_font_face(
    to, FONT, CAIRO_FONT_SLANT_NORMAL, CAIRO_FONT_WEIGHT_NORMAL);
  for (size_t i = 0; i < picture->n_shapes; ++i) {
    draw_shape(to, &picture->shapes[i]);
  }
}

/* Picture */

static cairo_surface_t*
new_surface(const VwPicture* picture, VwPictureFormat format, Sink* sink) {
  return format == VW_PICTURE_SVG
           ? cairo_svg_surface_create_for_stream(
               take_bytes, sink, picture->width, picture->height)
           : cairo_image_surface_create(
               CAIRO_FORMAT_RGB24,
               (int)(picture->width * PIXELS_PER_POINT + 0.5),
               (int)(picture->height * PIXELS_PER_POINT + 0.5));
}

/// Draw, and say whether all of it went well.
static bool
draw(const VwPicture* picture, VwPictureFormat format, Sink* sink) {
  cairo_surface_t* const surface = new_surface(picture, format, sink);
  cairo_t* const         to = cairo_create(surface);
  if (format == VW_PICTURE_PNG) {
    cairo_scale(to, PIXELS_PER_POINT, PIXELS_PER_POINT);
  }
  draw_all(to, picture);
  bool good = cairo_status(to) == CAIRO_STATUS_SUCCESS;
  cairo_destroy(to);
  if (good && format == VW_PICTURE_PNG) {
    good = cairo_surface_write_to_png_stream(surface, take_bytes, sink) ==
           CAIRO_STATUS_SUCCESS;
  }
  cairo_surface_finish(surface);
  good = good && cairo_surface_status(surface) == CAIRO_STATUS_SUCCESS;
  cairo_surface_destroy(surface);
  return good && !sink->full;
}

VwStatus
vw_picture_draw(const VwPicture* picture,
                VwPictureFormat  format,
                VwBytes*         bytes) {
  Sink sink = {0};
  if (!(picture->width > 0.0) || !(picture->height > 0.0) ||
      picture->width > SIZE_MOST || picture->height > SIZE_MOST) {
    return VW_BAD_OPTION;
  }
  if (!draw(picture, format, &sink)) {
    free(sink.bytes.data);
    return VW_NO_MEMORY;
  }
  if (format == VW_PICTURE_PNG) {
    *bytes = sink.bytes;
    return VW_OK;
  }
  const VwStatus st = add_title(picture, &sink, bytes);
  free(sink.bytes.data);
  return st;
}
