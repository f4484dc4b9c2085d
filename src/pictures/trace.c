#include "pictures/internal.h"

#include <math.h>
#include <stdlib.h>

// Steps that are seen one by one, points.
#define FAR 1.0

// A trace that is wider than another by this lies about it like a band.
#define WIDE 2.0

/// A trace on its way onto the page.
typedef struct {
  const VwPanel* panel;
  const VwTrace* trace;
  const VwBox*   box;
  VwPoint*       points;
} Work;

static double
x_at(const Work* work, size_t i) {
  const double x = work->trace->x_first + (double)i * work->trace->x_step;
  return work->box->x + vw_axis_place(&work->panel->x, x) * work->box->width;
}

static double
y_of(const Work* work, float value) {
  const double place = vw_axis_place(&work->panel->y, (double)value);
  // Far outside, a drawing library may lose count.
  return work->box->y +
         work->box->height * (1.0 - fmin(fmax(place, -1.0), 2.0));
}

/// Whether something lies under a trace in which it would be lost.
static bool
is_over(const Work* work) {
  bool over = work->panel->raster != NULL;
  for (const VwTrace* it = work->panel->traces; it < work->trace; ++it) {
    over = over || it->pen.width >= WIDE * work->trace->pen.width;
  }
  return over;
}

static void
draw_line(VwCanvas* canvas, const Work* work) {
  const VwPen* const pen = &work->trace->pen;
  const VwLine       line = {pen->width, vw_ink_colour(pen->ink), pen->stroke};
  const VwLine halo = {pen->width + VW_HALO, VW_HALO_COLOUR, VW_STROKE_SOLID};
  const bool   over = is_over(work);
  size_t       n = 0;
  for (size_t i = 0; i <= work->trace->n; ++i) {
    const bool there = i < work->trace->n && isfinite(work->trace->high[i]);
    if (there) {
      work->points[n++] =
        (VwPoint){x_at(work, i), y_of(work, work->trace->high[i])};
    } else if (n) {
      // A line needs two points, also where it is but a dot.
      work->points[n] = work->points[n - 1U];
      n += n == 1U;
      if (over) {
        vw_canvas_line(canvas, &halo, work->points, n);
      }
      vw_canvas_line(canvas, &line, work->points, n);
      n = 0;
    }
  }
}

/// Along the upper line and back along the lower.
static void
draw_between(VwCanvas* canvas, const Work* work, const VwLine* line) {
  const size_t n = work->trace->n;
  const double beyond = line->width - work->trace->pen.width;
  for (size_t i = 0; i < n; ++i) {
    const double x = x_at(work, i);
    const double high = y_of(work, work->trace->high[i]);
    const double low = y_of(work, work->trace->low[i]);
    const double more = fmax(line->width - (low - high), beyond) / 2.0;
    work->points[i] = (VwPoint){x, high - more};
    work->points[2U * n - 1U - i] = (VwPoint){x, low + more};
  }
  vw_canvas_area(canvas, line->colour, work->points, 2U * n);
  // Where it is steep between far steps, it would be thin for all its height.
  if (n > 1U && work->points[1].x - work->points[0].x > FAR) {
    vw_canvas_line(canvas, line, work->points, n);
    vw_canvas_line(canvas, line, work->points + n, n);
  }
}

static void
draw_area(VwCanvas* canvas, const Work* work) {
  const VwPen* const pen = &work->trace->pen;
  const VwLine       line = {pen->width, vw_ink_colour(pen->ink), pen->stroke};
  const VwLine halo = {pen->width + VW_HALO, VW_HALO_COLOUR, VW_STROKE_SOLID};
  if (is_over(work)) {
    draw_between(canvas, work, &halo);
  }
  draw_between(canvas, work, &line);
}

bool
vw_trace_draw(VwCanvas*      canvas,
              const VwPanel* panel,
              const VwTrace* trace,
              const VwBox*   box) {
  VwPoint* const points = calloc(2U * trace->n + 1U, sizeof(VwPoint));
  const Work     work = {panel, trace, box, points};
  if (!points) {
    return false;
  }
  if (trace->low && trace->n) {
    draw_area(canvas, &work);
  } else {
    draw_line(canvas, &work);
  }
  free(points);
  return true;
}
