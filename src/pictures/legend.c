#include "pictures/internal.h"

#define SIZE 8.0
#define KEY 20.0
#define GAP 4.0
#define APART 12.0

// Slanting lines of a hatched stretch.
#define HATCH_STEP 5.0
#define HATCH_WIDTH 0.5
#define HATCH_GROUND 0xF0F0F0U
#define HATCH_LINE 0x909090U

// Black about what is filled, so that a pale ink stands out from the page.
#define FRAME_WIDTH 0.7

// Steps of a scale of greys.
#define GREYS 18U

/// Greys from white to black in a frame.
static void
fill_greys(VwCanvas* canvas, const VwBox* box) {
  const double right = box->x + box->width;
  const VwBox  frame = {
     box->x - 0.5, box->y - 0.5, box->width + 1.0, box->height + 1.0};
  vw_canvas_box(canvas, 0U, &frame);
  // Each lies on what is right of the one before: no gaps between them.
  for (unsigned i = 0; i < GREYS; ++i) {
    const double   x = box->x + box->width * i / GREYS;
    const unsigned grey = 0xFFU - 0xFFU * i / (GREYS - 1U);
    const VwBox    part = {x, box->y, right - x, box->height};
    vw_canvas_box(canvas, grey << 16U | grey << 8U | grey, &part);
  }
}

void
vw_legend_fill(VwCanvas* canvas, const VwBand* band, const VwBox* box) {
  const VwLine line = {HATCH_WIDTH, HATCH_LINE, VW_STROKE_SOLID};
  if (band->fill == VW_FILL_PLAIN) {
    const VwBox inside = {box->x + FRAME_WIDTH,
                          box->y + FRAME_WIDTH,
                          box->width - 2.0 * FRAME_WIDTH,
                          box->height - 2.0 * FRAME_WIDTH};
    vw_canvas_box(canvas, 0U, box);
    if (inside.width > 0.0) {
      vw_canvas_box(canvas, vw_ink_colour(band->ink), &inside);
    }
    return;
  }
  if (band->fill == VW_FILL_GREYS) {
    fill_greys(canvas, box);
    return;
  }
  vw_canvas_clip(canvas, box);
  vw_canvas_box(canvas, HATCH_GROUND, box);
  // Lines go through the same points wherever a stretch begins.
  const double bottom = box->y + box->height;
  const double end = box->x + box->width + box->height;
  double       x = HATCH_STEP * (double)(long)(box->x / HATCH_STEP);
  for (; x < end; x += HATCH_STEP) {
    const VwPoint points[] = {{x - box->height, bottom}, {x, box->y}};
    vw_canvas_line(canvas, &line, points, 2U);
  }
  vw_canvas_close(canvas);
}

/// An entry of a legend: a band or a trace.
typedef struct {
  const VwBand*  band;
  const VwTrace* trace;
} Entry;

static const char*
name_of(const Entry* entry) {
  return entry->band ? entry->band->name : entry->trace->name;
}

static void
draw_key(VwCanvas* canvas, const Entry* entry, VwPoint at) {
  const VwBox   box = {at.x, at.y - 6.5, KEY, 7.0};
  const VwPoint points[] = {{at.x, at.y - 3.0}, {at.x + KEY, at.y - 3.0}};
  if (entry->band) {
    vw_legend_fill(canvas, entry->band, &box);
    return;
  }
  const VwPen* const pen = &entry->trace->pen;
  const VwLine line = {entry->trace->low && pen->width < 2.5 ? 2.5 : pen->width,
                       vw_ink_colour(pen->ink),
                       pen->stroke};
  vw_canvas_line(canvas, &line, points, 2U);
}

/// Go through the entries; draw them where there is a canvas. Returns the rows.
static unsigned
walk(VwCanvas* canvas, const VwPanel* panel, const VwLegendPlace* place) {
  const VwLettering lettering = {SIZE, VW_ALIGN_LEFT, 0U};
  unsigned          n_rows = 1;
  double            x = place->first;
  for (size_t i = 0; i < panel->n_bands + panel->n_traces; ++i) {
    const Entry entry = {
      i < panel->n_bands ? &panel->bands[i] : NULL,
      i < panel->n_bands ? NULL : &panel->traces[i - panel->n_bands]};
    const char* const name = name_of(&entry);
    if (!name) {
      continue;
    }
    const double width = KEY + GAP + vw_text_width(SIZE, name);
    if (x + width > place->right && x > place->left) {
      ++n_rows;
      x = place->left;
    }
    const VwPoint at = {x, place->y + VW_LEGEND_ROW * (double)(n_rows - 1U)};
    if (canvas) {
      draw_key(canvas, &entry, at);
      vw_canvas_text(canvas, &lettering, (VwPoint){x + KEY + GAP, at.y}, name);
    }
    x += width + APART;
  }
  return n_rows;
}

unsigned
vw_legend_rows(const VwPanel* panel, const VwLegendPlace* place) {
  return walk(NULL, panel, place);
}

void
vw_legend_draw(VwCanvas*            canvas,
               const VwPanel*       panel,
               const VwLegendPlace* place) {
  (void)walk(canvas, panel, place);
}

unsigned
vw_ink_colour(VwInk ink) {
  // The set of eight of "Color Universal Design (CUD): How to make figures and
  // presentations that are friendly to colorblind people" (2008).
  static const unsigned colours[] = {
    [VW_INK_BLACK] = 0x000000U,
    [VW_INK_ORANGE] = 0xE69F00U,
    [VW_INK_SKY_BLUE] = 0x56B4E9U,
    [VW_INK_GREEN] = 0x009E73U,
    [VW_INK_YELLOW] = 0xF0E442U,
    [VW_INK_BLUE] = 0x0072B2U,
    [VW_INK_VERMILION] = 0xD55E00U,
    [VW_INK_PURPLE] = 0xCC79A7U,
    [VW_INK_GREY] = 0x606060U,
    [VW_INK_PALE] = 0xD0D0D0U,
    // 3.2 to 1 to white, and 6.5 to 1 to black.
    [VW_INK_SILVER] = 0x909090U,
  };
  return colours[ink];
}
