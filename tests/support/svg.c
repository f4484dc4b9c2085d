#include "support/svg.h"

#include "support/folder.h"

#include <cairo.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// A file being read.
typedef struct {
  Svg*     svg;
  bool     in_clip;
  cairo_t* letters; ///< What tells how large they are.
} Reader;

static const SvgBox no_box = {HUGE_VAL, HUGE_VAL, -HUGE_VAL, -HUGE_VAL};

static void
widen(SvgBox* box, double x, double y) {
  box->left = fmin(box->left, x);
  box->right = fmax(box->right, x);
  box->top = fmin(box->top, y);
  box->bottom = fmax(box->bottom, y);
}

/* Elements */

/// Behind `name="` in an element, or NULL.
static const char*
attribute(const char* element, const char* name) {
  const size_t      n = strlen(name);
  const char* const end = strchr(element, '>');
  const char*       at = element;
  while (at && (at = strstr(at, name)) && at < end) {
    if (at[n] == '=' && at[n + 1U] == '"' && at[-1] == ' ') {
      return at + n + 2U;
    }
    at += n;
  }
  return NULL;
}

static double
number(const char* element, const char* name) {
  const char* const text = attribute(element, name);
  return text ? strtod(text, NULL) : 0.0;
}

/// Copy an attribute. False where there is none.
static bool
copy(const char* element, const char* name, char* value, size_t n_bytes) {
  const char* const from = attribute(element, name);
  if (from) {
    (void)snprintf(value, n_bytes, "%.*s", (int)strcspn(from, "\""), from);
  }
  return from != NULL;
}

static bool
colour_of(const char* element, const char* name, unsigned* colour) {
  const char* const text = attribute(element, name);
  return text && sscanf(text, "#%6x\"", colour) == 1;
}

static SvgItem*
add_item(Reader* reader, SvgKind kind) {
  Svg* const     svg = reader->svg;
  SvgItem* const grown =
    realloc(svg->items, (svg->n_items + 1U) * sizeof(SvgItem));
  if (!grown) {
    abort();
  }
  svg->items = grown;
  grown[svg->n_items] = (SvgItem){.kind = kind, .box = no_box};
  return &grown[svg->n_items++];
}

static void
add_point(SvgItem* item, double x, double y) {
  // Room for powers of two.
  if (!(item->n_points & (item->n_points - 1U))) {
    const size_t  room = item->n_points ? 2U * item->n_points : 1U;
    double* const grown = realloc(item->points, 2U * room * sizeof(double));
    if (!grown) {
      abort();
    }
    item->points = grown;
  }
  item->points[2U * item->n_points] = x;
  item->points[2U * item->n_points++ + 1U] = y;
}

/// The points of a path's data, those by which curves are told included.
static void
read_points(const char* data, SvgItem* item) {
  while (*data && *data != '"') {
    char*        end = NULL;
    const double x = strtod(data, &end);
    if (end == data) {
      ++data;
      continue;
    }
    const double y = strtod(end, &end);
    add_point(item, x, y);
    widen(&item->box, x, y);
    data = end;
  }
}

static void
read_path(Reader* reader, const char* element) {
  unsigned          colour = 0;
  const char* const data = attribute(element, "d");
  if (data && colour_of(element, "stroke", &colour)) {
    SvgItem* const item = add_item(reader, SVG_LINE);
    item->colour = colour;
    item->width = number(element, "stroke-width");
    (void)copy(element, "stroke-dasharray", item->dash, sizeof(item->dash));
    read_points(data, item);
  } else if (data && colour_of(element, "fill", &colour)) {
    SvgItem* const item = add_item(reader, SVG_FILL);
    item->colour = colour;
    read_points(data, item);
  }
}

/// Add what has two corners, but for those of the page.
static void
add_box(Reader* reader, SvgKind kind, const char* element, const SvgBox* box) {
  const Svg* const svg = reader->svg;
  if (reader->in_clip ||
      (box->left <= 0.0 && box->top <= 0.0 && box->right >= svg->width &&
       box->bottom >= svg->height)) {
    return;
  }
  SvgItem* const item = add_item(reader, kind);
  (void)colour_of(element, "fill", &item->colour);
  add_point(item, box->left, box->top);
  add_point(item, box->right, box->bottom);
  item->box = *box;
}

static void
read_box(Reader* reader, SvgKind kind, const char* element) {
  const double x = number(element, "x");
  const double y = number(element, "y");
  const SvgBox box = {
    x, y, x + number(element, "width"), y + number(element, "height")};
  add_box(reader, kind, element, &box);
}

static void
read_circle(Reader* reader, const char* element) {
  const double x = number(element, "cx");
  const double y = number(element, "cy");
  const double r = number(element, "r");
  const SvgBox box = {x - r, y - r, x + r, y + r};
  add_box(reader, SVG_FILL, element, &box);
}

/// The text of an element, its escapes resolved.
static char*
text_of(const char* element) {
  static const struct {
    const char* name;
    char        letter;
  } escapes[] = {{"&amp;", '&'}, {"&lt;", '<'}, {"&gt;", '>'}};
  const char* from = strchr(element, '>') + 1;
  char* const text = calloc(strcspn(from, "<") + 1U, 1U);
  for (char* to = text; text && *from && *from != '<'; ++to, ++from) {
    *to = *from;
    for (size_t i = 0; i < 3U; ++i) {
      const size_t n = strlen(escapes[i].name);
      if (!strncmp(from, escapes[i].name, n)) {
        *to = escapes[i].letter;
        from += n - 1U;
        break;
      }
    }
  }
  return text;
}

/// Letters as the font has them, wherever the library expects their ends.
static void
read_text(Reader* reader, const char* element) {
  char                 anchor[16] = "";
  const double         x = number(element, "x");
  const double         y = number(element, "y");
  SvgItem* const       item = add_item(reader, SVG_TEXT);
  cairo_text_extents_t of;
  item->text = text_of(element);
  (void)colour_of(element, "fill", &item->colour);
  (void)copy(element, "text-anchor", anchor, sizeof(anchor));
  cairo_set_font_size(reader->letters, number(element, "font-size"));
  cairo_text_extents(reader->letters, item->text, &of);
  const double share = *anchor == 'm' ? 0.5 : *anchor == 'e' ? 1.0 : 0.0;
  const double left = x - share * of.x_advance + of.x_bearing;
  add_point(item, x, y);
  if (of.width > 0.0) {
    widen(&item->box, left, y + of.y_bearing);
    widen(&item->box, left + of.width, y + of.y_bearing + of.height);
  }
}

static bool
is_element(const char* at, const char* name) {
  const size_t n = strlen(name);
  return !strncmp(at, name, n) && strchr(" />\n", at[n]);
}

static void
read_element(Reader* reader, const char* at) {
  if (is_element(at, "svg")) {
    reader->svg->width = number(at, "width");
    reader->svg->height = number(at, "height");
  } else if (is_element(at, "clipPath") || is_element(at, "/clipPath")) {
    reader->in_clip = *at != '/';
  } else if (is_element(at, "path")) {
    read_path(reader, at);
  } else if (is_element(at, "rect")) {
    read_box(reader, SVG_FILL, at);
  } else if (is_element(at, "image")) {
    read_box(reader, SVG_IMAGE, at);
  } else if (is_element(at, "circle")) {
    read_circle(reader, at);
  } else if (is_element(at, "text")) {
    read_text(reader, at);
  }
}

/// Letters of the font that pictures ask for, not rounded to pixels.
static cairo_t*
new_letters(void) {
  cairo_surface_t* const surface =
    cairo_image_surface_create(CAIRO_FORMAT_A8, 1, 1);
  cairo_t* const              letters = cairo_create(surface);
  cairo_font_options_t* const options = cairo_font_options_create();
  cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
  cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
  cairo_set_font_options(letters, options);
  cairo_select_font_face(
    letters, "DejaVu Sans", CAIRO_FONT_SLANT_NORMAL, CAIRO_FONT_WEIGHT_NORMAL);
  cairo_font_options_destroy(options);
  cairo_surface_destroy(surface);
  return letters;
}

double
svg_text_width(double size, const char* text) {
  cairo_text_extents_t of;
  cairo_t* const       letters = new_letters();
  cairo_set_font_size(letters, size);
  cairo_text_extents(letters, text, &of);
  cairo_destroy(letters);
  return of.x_advance;
}

bool
svg_read(const char* path, Svg* svg) {
  size_t n = 0;
  *svg = (Svg){.text = folder_get(path, &n)};
  Reader      reader = {.svg = svg, .letters = new_letters()};
  const char* at = svg->text ? strchr(svg->text, '<') : NULL;
  for (; at; at = strchr(at, '<')) {
    read_element(&reader, ++at);
  }
  cairo_destroy(reader.letters);
  return svg->text && strstr(svg->text, "</svg>") && svg->width > 0.0;
}

void
svg_clear(Svg* svg) {
  for (size_t i = 0; i < svg->n_items; ++i) {
    free(svg->items[i].points);
    free(svg->items[i].text);
  }
  free(svg->items);
  free(svg->text);
  *svg = (Svg){0};
}

bool
svg_overlap(const SvgBox* a, const SvgBox* b) {
  return a->left < b->right && b->left < a->right && a->top < b->bottom &&
         b->top < a->bottom;
}

size_t
svg_panels(const Svg* svg, SvgBox* panels, size_t n_most) {
  size_t n = 0;
  for (size_t i = 0; i < svg->n_items && n < n_most; ++i) {
    const SvgItem* const item = &svg->items[i];
    if (item->kind == SVG_LINE && item->colour == 0U && item->n_points == 5U &&
        !*item->dash) {
      panels[n++] = item->box;
    }
  }
  return n;
}

double
svg_number(const char* path, const char* words) {
  Svg    svg = {0};
  double number = NAN;
  if (!svg_read(path, &svg)) {
    return NAN;
  }
  for (size_t i = 0; i < svg.n_items; ++i) {
    const char* const text = svg.items[i].text;
    const size_t      n = strlen(words);
    if (text && !strncmp(text, words, n)) {
      number = strtod(text + n, NULL);
    }
  }
  svg_clear(&svg);
  return number;
}
