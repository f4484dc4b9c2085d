#include "pictures/internal.h"

#include <cairo.h>
#include <librsvg/rsvg.h>
#include <png.h>
#include <zlib.h>

// The one file that includes librsvg, what that draws on, and libpng.

// A fine print still reads well with so many pixels.
#define PIXELS_PER_POINT 2.0

static cairo_surface_t*
new_surface(RsvgHandle* handle, RsvgRectangle* pixels) {
  gboolean      given = FALSE;
  RsvgRectangle page = {0.0, 0.0, 0.0, 0.0};
  rsvg_handle_get_intrinsic_dimensions(
    handle, NULL, NULL, NULL, NULL, &given, &page);
  pixels->width = page.width * PIXELS_PER_POINT;
  pixels->height = page.height * PIXELS_PER_POINT;
  return cairo_image_surface_create(CAIRO_FORMAT_RGB24,
                                    (int)(pixels->width + 0.5),
                                    (int)(pixels->height + 0.5));
}

/// Draw all of it on a new surface. NULL where that fails.
static cairo_surface_t*
draw(RsvgHandle* handle) {
  RsvgRectangle          pixels = {0.0, 0.0, 0.0, 0.0};
  cairo_surface_t* const surface = new_surface(handle, &pixels);
  cairo_t* const         to = cairo_create(surface);
  const bool             drawn =
    rsvg_handle_render_document(handle, to, &pixels, NULL) && !cairo_status(to);
  cairo_destroy(to);
  cairo_surface_flush(surface);
  if (!drawn) {
    cairo_surface_destroy(surface);
  }
  return drawn ? surface : NULL;
}

VwStatus
vw_png_draw(const VwBytes* svg, VwBytes* png) {
  VwSink            sink = {0};
  RsvgHandle* const handle =
    rsvg_handle_new_from_data(svg->data, svg->n_bytes, NULL);
  cairo_surface_t* const surface = handle ? draw(handle) : NULL;
  if (surface) {
    const VwPixels pixels = {cairo_image_surface_get_data(surface),
                             (size_t)cairo_image_surface_get_stride(surface),
                             (unsigned)cairo_image_surface_get_width(surface),
                             (unsigned)cairo_image_surface_get_height(surface)};
    sink.full = !vw_png_put(&pixels, &sink);
    cairo_surface_destroy(surface);
  }
  if (handle) {
    g_object_unref(handle);
  }
  if (!surface || sink.full) {
    vw_sink_clear(&sink);
    return VW_NO_MEMORY;
  }
  *png = sink.bytes;
  return VW_OK;
}

// Most of a chart is white or repeats the row above: differences to that row,
// in runs, pack better than the usual setting and in a fifth of the time.
#define LEVEL 3

static void
write_bytes(png_structp png, png_bytep data, png_size_t n_bytes) {
  VwSink* const sink = png_get_io_ptr(png);
  vw_sink_put(sink, data, n_bytes);
  if (sink->full) {
    png_error(png, "no memory");
  }
}

static void
flush_nothing(png_structp png) {
  (void)png;
}

static void
say_nothing(png_structp png, png_const_charp text) {
  (void)png;
  (void)text;
}

static void
give_up(png_structp png, png_const_charp text) {
  (void)text;
  png_longjmp(png, 1);
}

static void
set_up(png_structp png, png_infop info, const VwPixels* pixels) {
  static const unsigned one = 1U;
  png_set_IHDR(png,
               info,
               pixels->width,
               pixels->height,
               8,
               PNG_COLOR_TYPE_RGB,
               PNG_INTERLACE_NONE,
               PNG_COMPRESSION_TYPE_DEFAULT,
               PNG_FILTER_TYPE_DEFAULT);
  png_set_compression_level(png, LEVEL);
  png_set_compression_strategy(png, Z_RLE);
  png_set_filter(png, PNG_FILTER_TYPE_BASE, PNG_FILTER_UP);
  png_write_info(png, info);
  // The byte that is not used stands behind or before the others.
  if (*(const unsigned char*)&one) {
    png_set_bgr(png);
    png_set_filler(png, 0U, PNG_FILLER_AFTER);
  } else {
    png_set_filler(png, 0U, PNG_FILLER_BEFORE);
  }
}

bool
vw_png_put(const VwPixels* pixels, VwSink* sink) {
  png_structp png =
    png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, give_up, say_nothing);
  png_infop info = png ? png_create_info_struct(png) : NULL;
  if (!info) {
    png_destroy_write_struct(&png, NULL);
    return false;
  }
  // The library reports a failure by a jump to here.
  if (setjmp(png_jmpbuf(png))) {
    png_destroy_write_struct(&png, &info);
    return false;
  }
  png_set_write_fn(png, sink, write_bytes, flush_nothing);
  set_up(png, info, pixels);
  for (unsigned i = 0; i < pixels->height; ++i) {
    png_write_row(png, pixels->data + i * pixels->stride);
  }
  png_write_end(png, info);
  png_destroy_write_struct(&png, &info);
  return true;
}
