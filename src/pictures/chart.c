#include "pictures/internal.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MARGIN 14.0
#define NAME_SIZE 13.0
#define NAME_ROW 17.0
#define HEADLINE_SIZE 9.5
#define HEADLINE_ROW 13.0
#define TEXT_SIZE 8.5
#define TEXT_ROW 11.5
#define BETWEEN 9.0

// A page without a title, as in a list, needs less about it.
#define MARGIN_BARE 4.0

#define WIDTH_LEAST 120.0
#define WIDTH_MOST 2000.0

/// A page being laid out, or drawn.
typedef struct {
  const VwChart* chart;
  VwCanvas*      canvas; ///< NULL: it is only measured.
  VwPanelPlan*   plans;
  double         margin;
  double         y;    ///< Down to here.
  bool           full; ///< Memory ran out.
} Sheet;

static double
room_of(const Sheet* sheet) {
  return sheet->chart->width - 2.0 * sheet->margin;
}

/* Texts */

static void
put_line(const Sheet* sheet, double size, double y, const char* text) {
  const VwLettering lettering = {size, VW_ALIGN_LEFT, 0U};
  if (sheet->canvas) {
    vw_canvas_text(
      sheet->canvas, &lettering, (VwPoint){sheet->margin, y}, text);
  }
}

static void
put_name(Sheet* sheet) {
  if (!sheet->chart->name) {
    return;
  }
  char* const name =
    vw_text_shorten(NAME_SIZE, room_of(sheet), sheet->chart->name);
  if (name) {
    put_line(sheet, NAME_SIZE, sheet->y + NAME_SIZE, name);
  }
  sheet->full = sheet->full || !name;
  sheet->y += NAME_ROW;
  free(name);
}

/// Put a text in as many lines as it takes.
static void
put_wrapped(Sheet* sheet, double size, double row, const char* text) {
  while (*text && !sheet->full) {
    const size_t n = vw_text_in_line(size, room_of(sheet), text);
    char* const  line = strndup(text, n);
    if (line) {
      put_line(sheet, size, sheet->y + size, line);
    }
    sheet->full = !line;
    free(line);
    sheet->y += row;
    text += n;
    text += strspn(text, " ");
  }
}

static void
put_all(Sheet* sheet, const char* const* texts, size_t n) {
  for (size_t i = 0; i < n; ++i) {
    put_wrapped(sheet, TEXT_SIZE, TEXT_ROW, texts[i]);
  }
}

/* Page */

static void
put_panels(Sheet* sheet) {
  const VwChart* const chart = sheet->chart;
  for (size_t i = 0; i < chart->n_panels; ++i) {
    VwPanelPlan* const plan = &sheet->plans[i];
    if (sheet->canvas) {
      sheet->full =
        !vw_panel_draw(sheet->canvas, &chart->panels[i], plan) || sheet->full;
    } else {
      const VwBox strip = {sheet->margin, sheet->y, room_of(sheet), 0.0};
      vw_panel_lay(&chart->panels[i], &strip, plan);
    }
    sheet->y = plan->bottom + (i + 1U < chart->n_panels ? BETWEEN : 0.0);
  }
}

static void
put_page(Sheet* sheet) {
  const VwChart* const chart = sheet->chart;
  sheet->y = sheet->margin;
  put_name(sheet);
  if (chart->headline) {
    put_wrapped(sheet, HEADLINE_SIZE, HEADLINE_ROW, chart->headline);
  }
  put_all(sheet, chart->facts, chart->n_facts);
  sheet->y += chart->name ? BETWEEN : 0.0;
  put_panels(sheet);
  sheet->y += chart->n_notes ? BETWEEN : 0.0;
  put_all(sheet, chart->notes, chart->n_notes);
  sheet->y += sheet->margin;
}

/// End a page, as SVG or as what is drawn from it.
static VwStatus
end(VwCanvas* canvas, VwPictureFormat format, VwBytes* bytes) {
  VwBytes svg = {0};
  if (format == VW_PICTURE_SVG) {
    return vw_canvas_end(canvas, bytes);
  }
  VwStatus st = vw_canvas_end(canvas, &svg);
  if (!st) {
    st = vw_png_load(&svg, bytes);
    free(svg.data);
  }
  return st;
}

static VwStatus
draw(Sheet* sheet, VwPictureFormat format, VwBytes* bytes) {
  const VwChart* const chart = sheet->chart;
  VwCanvas             canvas;
  put_page(sheet);
  // Whole pixels, so that nothing is cut off.
  const VwPage page = {
    chart->width, ceil(sheet->y), chart->name, chart->description};
  VwStatus st = sheet->full ? VW_NO_MEMORY : vw_canvas_begin(&canvas, &page);
  if (!st) {
    sheet->canvas = &canvas;
    put_page(sheet);
    canvas.sink.full = canvas.sink.full || sheet->full;
    st = end(&canvas, format, bytes);
  }
  return st;
}

static bool
is_sound(const VwChart* chart) {
  bool sound = chart->width >= WIDTH_LEAST && chart->width <= WIDTH_MOST;
  for (size_t i = 0; i < chart->n_panels; ++i) {
    sound = sound && vw_axis_is_sound(&chart->panels[i].x) &&
            vw_axis_is_sound(&chart->panels[i].y) &&
            chart->panels[i].height > 0.0;
  }
  return sound;
}

VwStatus
vw_chart_draw(const VwChart* chart, VwPictureFormat format, VwBytes* bytes) {
  assert(chart && bytes);
  if (!is_sound(chart)) {
    return VW_BAD_OPTION;
  }
  Sheet          sheet = {.chart = chart,
                          .plans = calloc(chart->n_panels + 1U, sizeof(VwPanelPlan)),
                          .margin = chart->name ? MARGIN : MARGIN_BARE};
  const VwStatus st = sheet.plans ? draw(&sheet, format, bytes) : VW_NO_MEMORY;
  free(sheet.plans);
  return st;
}

static void
draw_shape(VwCanvas* canvas, const VwShape* shape) {
  const VwLettering lettering = {shape->size, shape->align, shape->colour};
  const VwLine      line = {shape->size, shape->colour, VW_STROKE_SOLID};
  if (!shape->n_points) {
    return;
  }
  switch (shape->kind) {
    case VW_SHAPE_TEXT:
      vw_canvas_text(canvas, &lettering, shape->points[0], shape->text);
      break;
    case VW_SHAPE_DISC:
      vw_canvas_disc(canvas, shape->colour, shape->points[0], shape->size);
      break;
    case VW_SHAPE_AREA:
      vw_canvas_area(canvas, shape->colour, shape->points, shape->n_points);
      break;
    case VW_SHAPE_LINE:
      vw_canvas_line(canvas, &line, shape->points, shape->n_points);
      break;
  }
}

VwStatus
vw_picture_draw(const VwPicture* picture,
                VwPictureFormat  format,
                VwBytes*         bytes) {
  assert(picture && bytes);
  const VwPage page = {
    picture->width, picture->height, picture->title, picture->description};
  VwCanvas       canvas;
  const VwStatus st = vw_canvas_begin(&canvas, &page);
  for (size_t i = 0; !st && i < picture->n_shapes; ++i) {
    draw_shape(&canvas, &picture->shapes[i]);
  }
  return st ? st : end(&canvas, format, bytes);
}
