#include "pictures/legend.h"

#include "pictures/inks.h"

#define SIZE 8.0
#define KEY 20.0
#define GAP 4.0
#define APART 12.0

// Slanting lines of a hatched stretch.
#define HATCH_STEP 5.0
#define HATCH_WIDTH 0.5
#define HATCH_GROUND 0xF0F0F0U
#define HATCH_LINE 0x909090U

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
    vw_canvas_box(canvas, vw_ink_colour(band->ink), box);
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
  vw_canvas_unclip(canvas);
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

/// Go through the entries; draw them where `draws`. Returns the rows.
static unsigned
walk(VwCanvas*            canvas,
     const VwPanel*       panel,
     const VwLegendPlace* place,
     bool                 draws) {
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
    const double width = KEY + GAP + vw_canvas_text_width(canvas, SIZE, name);
    if (x + width > place->right && x > place->left) {
      ++n_rows;
      x = place->left;
    }
    const VwPoint at = {x, place->y + VW_LEGEND_ROW * (double)(n_rows - 1U)};
    if (draws) {
      draw_key(canvas, &entry, at);
      vw_canvas_text(canvas, &lettering, (VwPoint){x + KEY + GAP, at.y}, name);
    }
    x += width + APART;
  }
  return n_rows;
}

unsigned
vw_legend_rows(VwCanvas*            canvas,
               const VwPanel*       panel,
               const VwLegendPlace* place) {
  return walk(canvas, panel, place, false);
}

void
vw_legend_draw(VwCanvas*            canvas,
               const VwPanel*       panel,
               const VwLegendPlace* place) {
  (void)walk(canvas, panel, place, true);
}
