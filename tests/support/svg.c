#include "support/svg.h"

#include "support/folder.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { GLYPHS_MOST = 400, ID_BYTES = 24 };

/// The outline of a letter, about its place on the line.
typedef struct {
  char   id[ID_BYTES];
  SvgBox box;
} Glyph;

/// A file being read.
typedef struct {
  Svg*   svg;
  Glyph  glyphs[GLYPHS_MOST];
  size_t n_glyphs;
  bool   in_glyph; ///< Its path comes next.
  bool   in_clip;
  bool   in_text; ///< The last item is a text that goes on.
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

/// A property, in a style or as an attribute: copied up to its end.
static bool
property(const char* element, const char* name, char* value, size_t n_bytes) {
  const char* const end = strchr(element, '>');
  const size_t      n = strlen(name);
  for (const char* at = strstr(element, name); at && at < end;
       at = strstr(at + n, name)) {
    const bool styled = at[n] == ':' && strchr("\"; ", at[-1]);
    const bool plain = at[n] == '=' && at[-1] == ' ';
    if (styled || plain) {
      const char* const from = at + n + (plain ? 2U : 1U);
      const size_t      length = strcspn(from, plain ? "\"" : ";\"");
      (void)snprintf(value, n_bytes, "%.*s", (int)length, from);
      return true;
    }
  }
  return false;
}

static bool
colour_of(const char* element, const char* name, unsigned* colour) {
  char   value[80];
  double part[3];
  if (!property(element, name, value, sizeof(value)) ||
      sscanf(value, "rgb(%lf%%,%lf%%,%lf%%", &part[0], &part[1], &part[2]) !=
        3) {
    return false;
  }
  *colour = 0;
  for (int i = 0; i < 3; ++i) {
    *colour = *colour << 8U | (unsigned)(part[i] * 2.55 + 0.5);
  }
  return true;
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
read_glyph(Reader* reader, const char* element) {
  SvgItem           outline = {.box = no_box};
  const char* const data = attribute(element, "d");
  if (data) {
    read_points(data, &outline);
  }
  reader->glyphs[reader->n_glyphs - 1U].box = outline.box;
  reader->in_glyph = false;
  free(outline.points);
}

static void
begin_glyph(Reader* reader, const char* id) {
  if (reader->n_glyphs < GLYPHS_MOST) {
    Glyph* const glyph = &reader->glyphs[reader->n_glyphs++];
    (void)snprintf(
      glyph->id, sizeof(glyph->id), "%.*s", (int)strcspn(id, "\""), id);
    reader->in_glyph = true;
  }
}

static void
read_path(Reader* reader, const char* element) {
  char        value[80];
  unsigned    colour = 0;
  const char* data = attribute(element, "d");
  if (reader->in_glyph) {
    read_glyph(reader, element);
    return;
  }
  if (reader->in_clip || !data) {
    return;
  }
  if (colour_of(element, "stroke", &colour)) {
    SvgItem* const item = add_item(reader, SVG_LINE);
    item->colour = colour;
    if (property(element, "stroke-width", value, sizeof(value))) {
      item->width = strtod(value, NULL);
    }
    (void)property(element, "stroke-dasharray", item->dash, sizeof(item->dash));
    read_points(data, item);
  } else if (colour_of(element, "fill", &colour)) {
    SvgItem* const item = add_item(reader, SVG_FILL);
    item->colour = colour;
    read_points(data, item);
  } else if (property(element, "fill", value, sizeof(value)) &&
             !strncmp(value, "url", 3U)) {
    read_points(data, add_item(reader, SVG_IMAGE));
  }
}

static void
read_use(Reader* reader, const char* element) {
  const char* const id = attribute(element, "xlink:href");
  const double      x = number(element, "x");
  const double      y = number(element, "y");
  if (!id || strncmp(id, "#glyph", 6U) != 0) {
    return;
  }
  SvgItem* const text = reader->in_text
                          ? &reader->svg->items[reader->svg->n_items - 1U]
                          : add_item(reader, SVG_TEXT);
  reader->in_text = true;
  add_point(text, x, y);
  for (size_t i = 0; i < reader->n_glyphs; ++i) {
    const Glyph* const glyph = &reader->glyphs[i];
    const size_t       n = strlen(glyph->id);
    if (!strncmp(id + 1, glyph->id, n) && id[n + 1U] == '"' &&
        glyph->box.right > glyph->box.left) {
      widen(&text->box, x + glyph->box.left, y + glyph->box.top);
      widen(&text->box, x + glyph->box.right, y + glyph->box.bottom);
    }
  }
}

static bool
is_element(const char* at, const char* name) {
  const size_t n = strlen(name);
  return !strncmp(at, name, n) && strchr(" />\n", at[n]);
}

static void
read_element(Reader* reader, const char* at) {
  const char* const id = attribute(at, "id");
  if (is_element(at, "svg")) {
    reader->svg->width = number(at, "width");
    reader->svg->height = number(at, "height");
  } else if ((is_element(at, "symbol") || is_element(at, "g")) && id &&
             !strncmp(id, "glyph", 5U)) {
    begin_glyph(reader, id);
  } else if (is_element(at, "g") || is_element(at, "/g")) {
    reader->in_text = false;
  } else if (is_element(at, "clipPath") || is_element(at, "/clipPath")) {
    reader->in_clip = *at != '/';
  } else if (is_element(at, "path")) {
    read_path(reader, at);
  } else if (is_element(at, "use")) {
    read_use(reader, at);
  }
}

bool
svg_read(const char* path, Svg* svg) {
  size_t        n = 0;
  Reader* const reader = calloc(1U, sizeof(Reader));
  *svg = (Svg){.text = folder_get(path, &n)};
  if (svg->text && reader) {
    reader->svg = svg;
    for (const char* at = strchr(svg->text, '<'); at; at = strchr(at, '<')) {
      read_element(reader, ++at);
    }
  }
  free(reader);
  return svg->text && strstr(svg->text, "</svg>") && svg->width > 0.0;
}

void
svg_clear(Svg* svg) {
  for (size_t i = 0; i < svg->n_items; ++i) {
    free(svg->items[i].points);
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
