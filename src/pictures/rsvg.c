#include "pictures/internal.h"

#include <cairo.h>
#include <librsvg/rsvg.h>

// The one file that includes librsvg and what that draws on.

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
