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

#define HEADING_SIZE 9.0
#define HEADING_ROW 12.0
#define HEADING_GAP 14.0
#define NUMBER_SIZE 8.0
#define TICK_LENGTH 3.0
#define NUMBERS_ROW 11.0
#define LABEL_ROW 10.0
#define UNDER_HEADING 4.0
#define BRIEF_LENGTH 7.0

// Room at the left for numbers, and at the right for half of one.
#define LEFT 50.0
#define RIGHT 16.0

// The nearest that numbers come to each other.
#define NUMBERS_APART 12.0
#define NUMBERS_PER_HEIGHT (1.0 / 17.0)
#define LOG_NUMBERS_PER_HEIGHT (1.0 / 12.0)
#define X_NUMBERS_MOST 16U

#define GRID_COLOUR 0xE2E2E2U
#define GRID_WIDTH 0.5
#define AXIS_WIDTH 0.7

/* Lay out */

static bool
numbers_fit(const VwTicks* ticks, double width) {
  double end = -1e9;
  for (size_t i = 0; i < ticks->n; ++i) {
    const double half = vw_text_width(NUMBER_SIZE, ticks->ticks[i].text) / 2.0;
    const double x = ticks->ticks[i].place * width;
    if (x - half < end) {
      return false;
    }
    end = x + half + NUMBERS_APART;
  }
  return true;
}

/// As many numbers as fit along x.
static void
lay_x_numbers(const VwPanel* panel, VwPanelPlan* plan) {
  size_t n = X_NUMBERS_MOST;
  do {
    vw_ticks_take(&panel->x, n, &plan->x_ticks);
  } while (!numbers_fit(&plan->x_ticks, plan->box.width) && --n);
}

static void
lay_y_numbers(const VwPanel* panel, VwPanelPlan* plan) {
  const size_t n =
    (size_t)(panel->height * (panel->y.logarithmic ? LOG_NUMBERS_PER_HEIGHT
                                                   : NUMBERS_PER_HEIGHT));
  plan->y_ticks.n = 0;
  if (!panel->y_bare) {
    vw_ticks_take(&panel->y, n < 3U ? 3U : n, &plan->y_ticks);
  }
}

void
vw_panel_lay(const VwPanel* panel, const VwBox* strip, VwPanelPlan* plan) {
  const double heading = vw_text_width(HEADING_SIZE, panel->heading);
  plan->top = strip->y;
  plan->box =
    (VwBox){strip->x + LEFT, 0.0, strip->width - LEFT - RIGHT, panel->height};
  plan->legend = (VwLegendPlace){plan->box.x,
                                 plan->box.x + heading + HEADING_GAP,
                                 plan->box.x + plan->box.width,
                                 strip->y + HEADING_SIZE};
  vw_flags_lay(panel, &plan->box, &plan->flags);
  const unsigned n_rows = vw_legend_rows(panel, &plan->legend);
  plan->box.y = strip->y + HEADING_ROW + VW_LEGEND_ROW * (double)(n_rows - 1U) +
                VW_FLAG_LANE * plan->flags.n_lanes + UNDER_HEADING;
  lay_x_numbers(panel, plan);
  lay_y_numbers(panel, plan);
  plan->bottom = plan->box.y + plan->box.height +
                 (panel->x_bare    ? 0.0
                  : panel->x.label ? NUMBERS_ROW + LABEL_ROW
                                   : NUMBERS_ROW);
}

/* Axes */

static double
right_of(const VwBox* box) {
  return box->x + box->width;
}

static double
bottom_of(const VwBox* box) {
  return box->y + box->height;
}

static void
draw_grid(VwCanvas* canvas, const VwPanelPlan* plan) {
  const VwLine       line = {GRID_WIDTH, GRID_COLOUR, VW_STROKE_SOLID};
  const VwBox* const box = &plan->box;
  for (size_t i = 0; i < plan->x_ticks.n; ++i) {
    const double  x = box->x + plan->x_ticks.ticks[i].place * box->width;
    const VwPoint points[] = {{x, box->y}, {x, bottom_of(box)}};
    vw_canvas_line(canvas, &line, points, 2U);
  }
  for (size_t i = 0; i < plan->y_ticks.n; ++i) {
    const double y =
      bottom_of(box) - plan->y_ticks.ticks[i].place * box->height;
    const VwPoint points[] = {{box->x, y}, {right_of(box), y}};
    vw_canvas_line(canvas, &line, points, 2U);
  }
}

static void
draw_x_numbers(VwCanvas*          canvas,
               const VwPanel*     panel,
               const VwPanelPlan* plan) {
  const VwLine       line = {AXIS_WIDTH, 0U, VW_STROKE_SOLID};
  const VwLettering  lettering = {NUMBER_SIZE, VW_ALIGN_MIDDLE, 0U};
  const VwBox* const box = &plan->box;
  const double       bottom = bottom_of(box);
  for (size_t i = 0; i < plan->x_ticks.n; ++i) {
    const VwTick* const tick = &plan->x_ticks.ticks[i];
    const double        x = box->x + tick->place * box->width;
    const VwPoint       points[] = {{x, bottom}, {x, bottom + TICK_LENGTH}};
    vw_canvas_line(canvas, &line, points, 2U);
    vw_canvas_text(
      canvas, &lettering, (VwPoint){x, bottom + NUMBERS_ROW}, tick->text);
  }
  if (panel->x.label) {
    const VwPoint middle = {box->x + box->width / 2.0,
                            bottom + NUMBERS_ROW + LABEL_ROW - 1.0};
    vw_canvas_text(canvas, &lettering, middle, panel->x.label);
  }
}

static void
draw_y_numbers(VwCanvas* canvas, const VwPanelPlan* plan) {
  const VwLine       line = {AXIS_WIDTH, 0U, VW_STROKE_SOLID};
  const VwLettering  lettering = {NUMBER_SIZE, VW_ALIGN_RIGHT, 0U};
  const VwBox* const box = &plan->box;
  for (size_t i = 0; i < plan->y_ticks.n; ++i) {
    const VwTick* const tick = &plan->y_ticks.ticks[i];
    const double        y = bottom_of(box) - tick->place * box->height;
    const VwPoint       points[] = {{box->x - TICK_LENGTH, y}, {box->x, y}};
    vw_canvas_line(canvas, &line, points, 2U);
    // A number is 0.73 of its size high.
    vw_canvas_text(
      canvas,
      &lettering,
      (VwPoint){box->x - TICK_LENGTH - 2.0, y + NUMBER_SIZE * 0.36},
      tick->text);
  }
}

static void
draw_frame(VwCanvas* canvas, const VwPanelPlan* plan) {
  const VwLine       line = {AXIS_WIDTH, 0U, VW_STROKE_SOLID};
  const VwBox* const box = &plan->box;
  const VwPoint      points[] = {{box->x, box->y},
                                 {right_of(box), box->y},
                                 {right_of(box), bottom_of(box)},
                                 {box->x, bottom_of(box)},
                                 {box->x, box->y}};
  vw_canvas_line(canvas, &line, points, 5U);
}

/* What is between them */

/// The part of a box from one place on x to another.
static VwBox
part_of(const VwPanel* panel, const VwBox* box, double from, double to) {
  const double left = box->x + vw_axis_place(&panel->x, from) * box->width;
  const double right = box->x + vw_axis_place(&panel->x, to) * box->width;
  return (VwBox){left, box->y, right - left, box->height};
}

static void
draw_bands(VwCanvas* canvas, const VwPanel* panel, const VwBox* box) {
  for (size_t i = 0; i < panel->n_bands; ++i) {
    const VwBand* const band = &panel->bands[i];
    const double from = band->from > panel->x.from ? band->from : panel->x.from;
    const double to = band->to < panel->x.to ? band->to : panel->x.to;
    if (to > from) {
      const VwBox part = part_of(panel, box, from, to);
      vw_legend_fill(canvas, band, &part);
    }
  }
}

/// Draw all marks. Nothing is cleared about them, which would hide the attack.
static void
draw_marks(VwCanvas* canvas, const VwPanel* panel, const VwBox* box) {
  for (size_t i = 0; i < panel->n_marks; ++i) {
    const VwMark* const mark = &panel->marks[i];
    const double        place = vw_axis_place(&panel->x, mark->x);
    const double        x = box->x + place * box->width;
    const double  end = mark->brief ? box->y + BRIEF_LENGTH : bottom_of(box);
    const VwPoint points[] = {{x, end}, {x, box->y}};
    const VwLine  line = {
       mark->pen.width, vw_ink_colour(mark->pen.ink), mark->pen.stroke};
    if (vw_axis_has(place)) {
      vw_canvas_line(canvas, &line, points, 2U);
    }
  }
}

/// All lines first, so that every text lies on top of them.
static void
draw_flags(VwCanvas* canvas, const VwPanelPlan* plan) {
  const VwLettering lettering = {VW_FLAG_SIZE, VW_ALIGN_LEFT, 0U};
  for (size_t i = 0; i < plan->flags.n; ++i) {
    const VwFlag* const flag = &plan->flags.flags[i];
    const VwPen* const  pen = &flag->mark->pen;
    const VwLine  line = {pen->width, vw_ink_colour(pen->ink), pen->stroke};
    const double  top = plan->box.y - VW_FLAG_LANE * (flag->lane + 1U) + 1.0;
    const VwPoint points[] = {{flag->x, plan->box.y}, {flag->x, top}};
    vw_canvas_line(canvas, &line, points, 2U);
  }
  for (size_t i = 0; i < plan->flags.n; ++i) {
    const VwFlag* const flag = &plan->flags.flags[i];
    const double        y = plan->box.y - VW_FLAG_LANE * flag->lane - 3.0;
    const VwBox         box = {
              flag->left - 1.0, y - 7.0, flag->right - flag->left + 2.0, 9.0};
    vw_canvas_box(canvas, 0xFFFFFFU, &box);
    vw_canvas_text(
      canvas, &lettering, (VwPoint){flag->left, y}, flag->mark->label);
  }
}

bool
vw_panel_draw(VwCanvas* canvas, const VwPanel* panel, const VwPanelPlan* plan) {
  const VwLettering  heading = {HEADING_SIZE, VW_ALIGN_LEFT, 0U};
  const VwBox* const box = &plan->box;
  bool               good = true;
  vw_canvas_panel(canvas, &panel->x, box);
  vw_canvas_text(canvas,
                 &heading,
                 (VwPoint){box->x, plan->top + HEADING_SIZE},
                 panel->heading);
  vw_legend_draw(canvas, panel, &plan->legend);
  draw_grid(canvas, plan);
  draw_bands(canvas, panel, box);
  if (panel->raster) {
    const VwBox part =
      part_of(panel, box, panel->raster->from, panel->raster->to);
    vw_canvas_clip(canvas, box);
    vw_canvas_raster(canvas, &part, panel->raster);
    vw_canvas_close(canvas);
  }
  vw_canvas_clip(canvas, box);
  for (size_t i = 0; good && i < panel->n_traces; ++i) {
    good = vw_trace_draw(canvas, panel, &panel->traces[i], box);
  }
  vw_canvas_close(canvas);
  draw_frame(canvas, plan);
  draw_marks(canvas, panel, box);
  draw_y_numbers(canvas, plan);
  if (!panel->x_bare) {
    draw_x_numbers(canvas, panel, plan);
  }
  draw_flags(canvas, plan);
  vw_canvas_close(canvas);
  return good;
}
