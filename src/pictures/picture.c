#include "pictures/canvas.h"

#include <assert.h>

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
  const VwPage    page = {picture->width,
                          picture->height,
                          format,
                          picture->title,
                          picture->description};
  VwCanvas* const canvas = vw_canvas_new();
  VwStatus        st = canvas ? vw_canvas_begin(canvas, &page) : VW_NO_MEMORY;
  for (size_t i = 0; !st && i < picture->n_shapes; ++i) {
    draw_shape(canvas, &picture->shapes[i]);
  }
  st = st ? st : vw_canvas_end(canvas, &page, bytes);
  vw_canvas_free(canvas);
  return st;
}
