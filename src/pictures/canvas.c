#include "pictures/internal.h"

#include <cairo-svg.h>
#include <cairo.h>
#include <stdlib.h>

// The one file that includes cairo.

#define SIZE_MOST 20000.0

// A fine print still reads well with so many pixels.
#define PIXELS_PER_POINT 2.0

#define FONT "DejaVu Sans"

struct VwCanvas {
  cairo_surface_t* surface; ///< While a page is drawn, that; else a small one
                            ///< on which texts are measured.
  cairo_t* to;
  VwSink   sink; ///< Of an SVG.
};

static cairo_status_t
take_bytes(void* closure, const unsigned char* data, unsigned n_bytes) {
  return vw_sink_put(closure, data, n_bytes) ? CAIRO_STATUS_SUCCESS
                                             : CAIRO_STATUS_NO_MEMORY;
}

/* Begin and end */

/// Draw on a surface from now on.
static void
use_surface(VwCanvas* canvas, cairo_surface_t* surface) {
  // Widths that are not rounded to pixels are the same in every format.
  cairo_font_options_t* const options = cairo_font_options_create();
  cairo_destroy(canvas->to);
  cairo_surface_destroy(canvas->surface);
  canvas->surface = surface;
  canvas->to = cairo_create(surface);
  cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
  cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
  cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
  cairo_set_font_options(canvas->to, options);
  cairo_select_font_face(
    canvas->to, FONT, CAIRO_FONT_SLANT_NORMAL, CAIRO_FONT_WEIGHT_NORMAL);
  cairo_font_options_destroy(options);
}

VwCanvas*
vw_canvas_new(void) {
  VwCanvas* const canvas = calloc(1U, sizeof(VwCanvas));
  if (canvas) {
    use_surface(canvas, cairo_image_surface_create(CAIRO_FORMAT_A8, 1, 1));
  }
  return canvas;
}

void
vw_canvas_free(VwCanvas* canvas) {
  if (canvas) {
    cairo_destroy(canvas->to);
    cairo_surface_destroy(canvas->surface);
    vw_sink_clear(&canvas->sink);
    free(canvas);
  }
}

static cairo_surface_t*
new_surface(VwCanvas* canvas, const VwPage* page) {
  return page->format == VW_PICTURE_SVG
           ? cairo_svg_surface_create_for_stream(
               take_bytes, &canvas->sink, page->width, page->height)
           : cairo_image_surface_create(
               CAIRO_FORMAT_RGB24,
               (int)(page->width * PIXELS_PER_POINT + 0.5),
               (int)(page->height * PIXELS_PER_POINT + 0.5));
}

VwStatus
vw_canvas_begin(VwCanvas* canvas, const VwPage* page) {
  if (!(page->width > 0.0) || !(page->height > 0.0) ||
      page->width > SIZE_MOST || page->height > SIZE_MOST) {
    return VW_BAD_OPTION;
  }
  // A text that was measured and is none has left its fault here.
  if (cairo_status(canvas->to) == CAIRO_STATUS_INVALID_STRING) {
    return VW_BAD_OPTION;
  }
  use_surface(canvas, new_surface(canvas, page));
  if (page->format == VW_PICTURE_PNG) {
    cairo_scale(canvas->to, PIXELS_PER_POINT, PIXELS_PER_POINT);
  }
  cairo_set_source_rgb(canvas->to, 1.0, 1.0, 1.0);
  cairo_paint(canvas->to);
  cairo_set_line_join(canvas->to, CAIRO_LINE_JOIN_ROUND);
  return cairo_status(canvas->to) ? VW_NO_MEMORY : VW_OK;
}

static VwStatus
end_png(VwCanvas* canvas, VwBytes* bytes) {
  cairo_surface_t* const surface = canvas->surface;
  VwSink                 sink = {0};
  cairo_surface_flush(surface);
  const VwPixels pixels = {cairo_image_surface_get_data(surface),
                           (size_t)cairo_image_surface_get_stride(surface),
                           (unsigned)cairo_image_surface_get_width(surface),
                           (unsigned)cairo_image_surface_get_height(surface)};
  if (!pixels.data || !vw_png_put(&pixels, &sink) || sink.full) {
    vw_sink_clear(&sink);
    return VW_NO_MEMORY;
  }
  *bytes = sink.bytes;
  return VW_OK;
}

VwStatus
vw_canvas_end(VwCanvas* canvas, const VwPage* page, VwBytes* bytes) {
  const cairo_status_t drawn = cairo_status(canvas->to);
  if (drawn) {
    return drawn == CAIRO_STATUS_INVALID_STRING ? VW_BAD_OPTION : VW_NO_MEMORY;
  }
  if (page->format == VW_PICTURE_PNG) {
    return end_png(canvas, bytes);
  }
  cairo_surface_finish(canvas->surface);
  return cairo_surface_status(canvas->surface)
           ? VW_NO_MEMORY
           : vw_svg_describe(
               &canvas->sink, page->title, page->description, bytes);
}

/* Texts */

double
vw_canvas_text_width(VwCanvas* canvas, double size, const char* text) {
  cairo_text_extents_t extents;
  cairo_set_font_size(canvas->to, size);
  cairo_text_extents(canvas->to, text, &extents);
  return extents.x_advance;
}

static void
set_colour(cairo_t* to, unsigned colour) {
  cairo_set_source_rgb(to,
                       (double)(colour >> 16U & 0xFFU) / 255.0,
                       (double)(colour >> 8U & 0xFFU) / 255.0,
                       (double)(colour & 0xFFU) / 255.0);
}

void
vw_canvas_text(VwCanvas*          canvas,
               const VwLettering* lettering,
               VwPoint            at,
               const char*        text) {
  const double width = vw_canvas_text_width(canvas, lettering->size, text);
  const double shift = lettering->align == VW_ALIGN_LEFT     ? 0.0
                       : lettering->align == VW_ALIGN_MIDDLE ? width / 2.0
                                                             : width;
  set_colour(canvas->to, lettering->colour);
  cairo_move_to(canvas->to, at.x - shift, at.y);
  cairo_show_text(canvas->to, text);
}

/* Shapes */

static void
set_path(cairo_t* to, const VwPoint* points, size_t n) {
  cairo_new_path(to);
  for (size_t i = 0; i < n; ++i) {
    cairo_line_to(to, points[i].x, points[i].y);
  }
}

void
vw_canvas_line(VwCanvas*      canvas,
               const VwLine*  line,
               const VwPoint* points,
               size_t         n) {
  static const double dashes[][4] = {
    [VW_STROKE_SOLID] = {0.0},
    [VW_STROKE_DASHED] = {5.0, 2.5},
    [VW_STROKE_DOTTED] = {1.2, 1.8},
    [VW_STROKE_DASH_DOT] = {6.0, 2.0, 1.2, 2.0}};
  static const int n_dashes[] = {0, 2, 2, 4};
  cairo_t* const   to = canvas->to;
  set_path(to, points, n);
  set_colour(to, line->colour);
  cairo_set_line_width(to, line->width);
  cairo_set_line_cap(to,
                     line->stroke ? CAIRO_LINE_CAP_BUTT : CAIRO_LINE_CAP_ROUND);
  cairo_set_dash(to, dashes[line->stroke], n_dashes[line->stroke], 0.0);
  cairo_stroke(to);
}

void
vw_canvas_area(VwCanvas*      canvas,
               unsigned       colour,
               const VwPoint* points,
               size_t         n) {
  set_path(canvas->to, points, n);
  cairo_close_path(canvas->to);
  set_colour(canvas->to, colour);
  cairo_fill(canvas->to);
}

void
vw_canvas_box(VwCanvas* canvas, unsigned colour, const VwBox* box) {
  set_colour(canvas->to, colour);
  cairo_rectangle(canvas->to, box->x, box->y, box->width, box->height);
  cairo_fill(canvas->to);
}

void
vw_canvas_disc(VwCanvas* canvas, unsigned colour, VwPoint at, double radius) {
  set_colour(canvas->to, colour);
  cairo_new_path(canvas->to);
  cairo_arc(canvas->to, at.x, at.y, radius, 0.0, 6.2831853);
  cairo_fill(canvas->to);
}

/* Raster */

static cairo_surface_t*
surface_of(const VwRaster* raster) {
  const int              n_columns = (int)raster->n_columns;
  const int              n_rows = (int)raster->n_rows;
  cairo_surface_t* const surface =
    cairo_image_surface_create(CAIRO_FORMAT_RGB24, n_columns, n_rows);
  unsigned char* const data = cairo_image_surface_get_data(surface);
  const int            stride = cairo_image_surface_get_stride(surface);
  for (int row = 0; data && row < n_rows; ++row) {
    uint32_t* const pixels = (uint32_t*)(void*)(data + row * stride);
    for (int i = 0; i < n_columns; ++i) {
      pixels[i] = raster->greys[row * n_columns + i] * 0x010101U;
    }
  }
  cairo_surface_mark_dirty(surface);
  return surface;
}

void
vw_canvas_raster(VwCanvas* canvas, const VwBox* box, const VwRaster* raster) {
  cairo_surface_t* const surface = surface_of(raster);
  cairo_t* const         to = canvas->to;
  cairo_save(to);
  cairo_translate(to, box->x, box->y);
  cairo_scale(to, box->width / raster->n_columns, box->height / raster->n_rows);
  cairo_set_source_surface(to, surface, 0.0, 0.0);
  // The outermost pixels are not to fade into what is beyond them.
  cairo_pattern_set_extend(cairo_get_source(to), CAIRO_EXTEND_PAD);
  cairo_pattern_set_filter(cairo_get_source(to), CAIRO_FILTER_BILINEAR);
  cairo_rectangle(to, 0.0, 0.0, raster->n_columns, raster->n_rows);
  cairo_fill(to);
  cairo_restore(to);
  cairo_surface_destroy(surface);
}

/* Clip */

void
vw_canvas_clip(VwCanvas* canvas, const VwBox* box) {
  cairo_save(canvas->to);
  cairo_rectangle(canvas->to, box->x, box->y, box->width, box->height);
  cairo_clip(canvas->to);
}

void
vw_canvas_unclip(VwCanvas* canvas) {
  cairo_restore(canvas->to);
}
