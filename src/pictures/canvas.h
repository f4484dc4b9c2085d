#ifndef VW_CANVAS_H
#define VW_CANVAS_H

#include "volleyweave/pictures.h"

/// A rectangle, in points.
typedef struct {
  double x;
  double y;
  double width;
  double height;
} VwBox;

/// How a text is set.
typedef struct {
  double   size; ///< Height, points.
  VwAlign  align;
  unsigned colour;
} VwLettering;

/// How a line is drawn.
typedef struct {
  double   width;
  unsigned colour;
  VwStroke stroke;
} VwLine;

/// A page to be drawn.
typedef struct {
  double          width;
  double          height;
  VwPictureFormat format;
  const char*     title;
  const char*     description;
} VwPage;

/// What is drawn on, one page in its life; texts can be measured before.
typedef struct VwCanvas VwCanvas;

/// NULL without memory.
VwCanvas* vw_canvas_new(void);

/// Width of a text.
double vw_canvas_text_width(VwCanvas* canvas, double size, const char* text);

/// Begin a page, all white.
///
/// @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION (no size or one too large).
VwStatus vw_canvas_begin(VwCanvas* canvas, const VwPage* page);

/// A line through points.
void vw_canvas_line(VwCanvas*      canvas,
                    const VwLine*  line,
                    const VwPoint* points,
                    size_t         n);

/// What lies between points.
void vw_canvas_area(VwCanvas*      canvas,
                    unsigned       colour,
                    const VwPoint* points,
                    size_t         n);

void vw_canvas_box(VwCanvas* canvas, unsigned colour, const VwBox* box);

void vw_canvas_disc(VwCanvas* canvas,
                    unsigned  colour,
                    VwPoint   at,
                    double    radius);

void vw_canvas_text(VwCanvas*          canvas,
                    const VwLettering* lettering,
                    VwPoint            at,
                    const char*        text);

/// Greys in a box.
void vw_canvas_raster(VwCanvas*       canvas,
                      const VwBox*    box,
                      const VwRaster* raster);

/// Draw only within a box until vw_canvas_unclip().
void vw_canvas_clip(VwCanvas* canvas, const VwBox* box);

void vw_canvas_unclip(VwCanvas* canvas);

/// End the page and make its bytes.
///
/// @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION (a text that is not UTF-8).
VwStatus vw_canvas_end(VwCanvas* canvas, const VwPage* page, VwBytes* bytes);

/// Free it. NULL is accepted.
void vw_canvas_free(VwCanvas* canvas);

#endif
