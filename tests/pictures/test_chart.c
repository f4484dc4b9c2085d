// Charts laid out by themselves: crowds of labels, texts of any length, and
// what is refused.

#include "pictures/internal.h"
#include "support/check.h"
#include "support/folder.h"
#include "support/signals.h"
#include "support/svg.h"

#include <volleyweave/pictures.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <png.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

static const float line_values[] = {-1.0F, 0.5F, NAN, 0.0F, 1.0F};

static const VwTrace line = {"a line",
                             {VW_INK_BLUE, VW_STROKE_SOLID, 1.0},
                             0.0,
                             25.0,
                             line_values,
                             NULL,
                             5U};

/// A panel of a plain line.
static VwPanel
panel_plain(void) {
  return (VwPanel){.heading = "Heading",
                   .height = 100.0,
                   .x = {0.0, 100.0, false, "time, s"},
                   .y = {-1.0, 1.0, false, NULL},
                   .traces = &line,
                   .n_traces = 1U};
}

static VwChart
chart_of(const VwPanel* panel) {
  return (VwChart){.width = 600.0,
                   .name = "name",
                   .headline = "headline",
                   .panels = panel,
                   .n_panels = 1U};
}

/// Draw and read back. Stops the test where that fails.
static Svg
draw(const VwChart* chart) {
  VwBytes bytes = {0};
  Svg     svg = {0};
  assert_int_equal(vw_chart_draw(chart, VW_PICTURE_SVG, &bytes), VW_OK);
  folder_put("chart.svg", bytes.data, bytes.n_bytes);
  assert_true(svg_read("chart.svg", &svg));
  free(bytes.data);
  return svg;
}

static bool
check_apart(const Svg* svg, const char* name) {
  bool ok = true;
  for (size_t i = 0; i < svg->n_items; ++i) {
    const SvgItem* const a = &svg->items[i];
    for (size_t k = 0; k < i && a->kind == SVG_TEXT; ++k) {
      const SvgItem* const b = &svg->items[k];
      ok &= check_that(b->kind != SVG_TEXT || !svg_overlap(&a->box, &b->box),
                       "%s: texts %zu and %zu",
                       name,
                       k,
                       i);
    }
    ok &=
      check_that(a->kind != SVG_TEXT || a->box.right < a->box.left ||
                   (a->box.left >= 0.0 && a->box.top >= 0.0 &&
                    a->box.right <= svg->width && a->box.bottom <= svg->height),
                 "%s: text %zu off the page",
                 name,
                 i);
  }
  return ok;
}

// Labels anywhere, many at one place, none on another.
static void
test_crowds(void** state) {
  (void)state;
  SignalRandom random = signal_random(11);
  bool         ok = true;
  for (size_t round = 0; round < 40U; ++round) {
    VwMark       marks[24];
    const size_t n = 1U + round % COUNT(marks);
    for (size_t i = 0; i < n; ++i) {
      static const char* const labels[] = {
        "a", "attack at 12.3 ms", "the end of the tail at 1.234 s"};
      const double x = 100.0 * signal_uniform(&random);
      marks[i] = (VwMark){round % 3U ? fabs(x) : 99.0 + x / 100.0,
                          labels[(i + round) % 3U],
                          {VW_INK_BLACK, VW_STROKE_DASHED, 1.0},
                          false};
    }
    VwPanel panel = panel_plain();
    panel.marks = marks;
    panel.n_marks = n;
    const VwChart chart = chart_of(&panel);
    Svg           svg = draw(&chart);
    char          name[40];
    (void)snprintf(name, sizeof(name), "round %zu", round);
    ok &= check_apart(&svg, name);
    svg_clear(&svg);
  }
  assert_true(ok);
}

// A page grows with what stands on it, and nothing is cut off.
static void
test_long_texts(void** state) {
  (void)state;
  char long_word[900];
  char words[900];
  memset(long_word, 'w', sizeof(long_word) - 1U);
  long_word[sizeof(long_word) - 1U] = '\0';
  for (size_t i = 0; i + 1U < sizeof(words); ++i) {
    words[i] = i % 7U == 6U ? ' ' : 'm';
  }
  words[sizeof(words) - 1U] = '\0';
  const char* const   texts[] = {words, long_word, "", "short"};
  static const double widths[] = {150.0, 300.0, 600.0, 1900.0};
  bool                ok = true;
  for (size_t i = 0; i < COUNT(widths); ++i) {
    VwPanel panel = panel_plain();
    VwChart chart = chart_of(&panel);
    chart.width = widths[i];
    chart.name = long_word;
    chart.headline = words;
    chart.facts = texts;
    chart.n_facts = COUNT(texts);
    chart.notes = texts;
    chart.n_notes = COUNT(texts);
    Svg  svg = draw(&chart);
    char name[40];
    (void)snprintf(name, sizeof(name), "width %g", widths[i]);
    ok &= check_apart(&svg, name);
    svg_clear(&svg);
  }
  assert_true(ok);
}

// Numbers along an axis, whatever it spans: some, and none on another.
static void
test_axes(void** state) {
  (void)state;
  static const VwAxis axes[] = {
    {0.0, 1.0, false, NULL},
    {0.0, 1e-9, false, NULL},
    {-1e9, 1e9, false, NULL},
    {1234567.0, 1234568.0, false, NULL},
    {-0.07, 0.013, false, NULL},
    {50.0, 20000.0, true, NULL},
    {1.0, 1.5, true, NULL},
    {1e-3, 1e6, true, NULL},
  };
  bool ok = true;
  for (size_t i = 0; i < COUNT(axes); ++i) {
    VwPanel panel = panel_plain();
    panel.x = axes[i];
    panel.y = axes[i];
    panel.n_traces = 0;
    const VwChart chart = chart_of(&panel);
    Svg           svg = draw(&chart);
    char          name[40];
    size_t        n = 0;
    (void)snprintf(name, sizeof(name), "axis %zu", i);
    ok &= check_apart(&svg, name);
    for (size_t k = 0; k < svg.n_items; ++k) {
      n += svg.items[k].kind == SVG_TEXT;
    }
    // Beside name, headline and heading.
    ok &= check_at_least((double)n, 3.0 + 2.0, "%s: numbers", name);
    svg_clear(&svg);
  }
  assert_true(ok);
}

/// Texts that stand left of a panel and beside it: the numbers of its axis.
static size_t
count_numbers(const Svg* svg) {
  SvgBox panel = {0};
  size_t n = 0;
  assert_int_equal(svg_panels(svg, &panel, 1U), 1U);
  for (size_t i = 0; i < svg->n_items; ++i) {
    const SvgBox* const box = &svg->items[i].box;
    n += svg->items[i].kind == SVG_TEXT && box->left <= box->right &&
         box->right < panel.left && box->bottom > panel.top - 5.0;
  }
  return n;
}

// One number alone would tell no scale, however low the panel.
static void
test_two_numbers(void** state) {
  (void)state;
  bool ok = true;
  for (double most = 0.05; most < 20.0; most *= 1.07) {
    for (int low = 0; low < 2; ++low) {
      VwPanel panel = panel_plain();
      panel.height = 38.0;
      panel.y = (VwAxis){low ? -0.3 * most : -most, most, false, NULL};
      const VwChart chart = chart_of(&panel);
      Svg           svg = draw(&chart);
      ok &= check_at_least(
        (double)count_numbers(&svg), 2.0, "%g, %d: numbers", most, low);
      ok &= check_apart(&svg, "two numbers");
      svg_clear(&svg);
    }
  }
  assert_true(ok);
}

// A small chart without a title, to stand among others.
static void
test_small(void** state) {
  (void)state;
  VwPanel panel = panel_plain();
  panel.height = 30.0;
  VwChart chart = chart_of(&panel);
  chart.width = 200.0;
  chart.name = NULL;
  chart.headline = NULL;
  Svg svg = draw(&chart);
  assert_true(check_apart(&svg, "small") &&
              check_at_most(svg.height, 80.0, "height"));
  svg_clear(&svg);
}

// Widths that were written down are those of the font.
static void
test_letters(void** state) {
  (void)state;
  bool ok = true;
  for (unsigned code = 0x20U; code <= 0x2026U; ++code) {
    char letter[4] = {(char)code};
    if (code > 0x7EU && code < 0x100U) {
      code = code < 0xA0U ? 0xA0U : code;
      letter[0] = (char)(0xC0U | code >> 6U);
      letter[1] = (char)(0x80U | (code & 0x3FU));
    } else if (code > 0x7EU) {
      code = 0x2026U;
      memcpy(letter, "\xE2\x80\xA6", 4U);
    }
    ok &= check_equal(vw_text_width(2048.0, letter),
                      svg_text_width(2048.0, letter),
                      "U+%04X",
                      code);
  }
  // Of other letters the width is estimated.
  const char* const others = "\xD0\x9F\xD1\x80\xD0\xB8\xD0\xB2\xD1\x82";
  ok &= check_equal(vw_text_width(2048.0, others), 5.0 * 1409.0, "Cyrillic");
  ok &= check_equal(vw_text_width(9.0, "\xE7\xA7\x81"), 9.0, "Han");
  ok &= check_equal(vw_text_width(9.0, ""), 0.0, "nothing");
  assert_true(ok);
}

/// Resolve base64 up to a quotation mark. Returns the bytes.
static size_t
resolve_base64(const char* text, unsigned char* bytes) {
  static const char letters[] =
    "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  unsigned bits = 0;
  unsigned n_bits = 0;
  size_t   n = 0;
  for (; *text != '"' && *text != '='; ++text) {
    bits = bits << 6U | (unsigned)(strchr(letters, *text) - letters);
    n_bits += 6U;
    if (n_bits >= 8U) {
      n_bits -= 8U;
      bytes[n++] = (unsigned char)(bits >> n_bits);
    }
  }
  return n;
}

// A raster stands in the picture to the last grey, in the place it is given.
static void
test_raster(void** state) {
  (void)state;
  static const unsigned sizes[][2] = {{1, 1}, {1, 2}, {2, 3}, {266, 90}};
  static const char     start[] = "xlink:href=\"data:image/png;base64,";
  unsigned char         greys[24000];
  unsigned char         bytes[30000];
  unsigned char         read[24000];
  SignalRandom          random = signal_random(3);
  bool                  ok = true;
  for (size_t i = 0; i < sizeof(greys); ++i) {
    greys[i] = (unsigned char)(255.0 * fabs(signal_uniform(&random)));
  }
  for (size_t i = 0; i < COUNT(sizes); ++i) {
    const VwRaster raster = {25.0, 75.0, greys, sizes[i][0], sizes[i][1]};
    VwPanel        panel = panel_plain();
    panel.raster = &raster;
    const VwChart     chart = chart_of(&panel);
    Svg               svg = draw(&chart);
    const char* const at = strstr(svg.text, start);
    png_image         image = {.version = PNG_IMAGE_VERSION};
    SvgBox            box = {0};
    assert_non_null(at);
    const size_t n = resolve_base64(at + strlen(start), bytes);
    // It ends as every PNG does (ISO/IEC 15948, 11.2.5): no byte is lost.
    ok &=
      check_that(!memcmp(bytes + n - 8U, "IEND\xAE\x42\x60\x82", 8U), "end");
    assert_true(png_image_begin_read_from_memory(&image, bytes, n));
    ok &= check_equal(image.format, PNG_FORMAT_GRAY, "format");
    ok &= check_equal(image.width, sizes[i][0], "columns");
    ok &= check_equal(image.height, sizes[i][1], "rows");
    assert_true(png_image_finish_read(&image, NULL, read, 0, NULL));
    ok &= check_that(
      !memcmp(read, greys, sizes[i][0] * sizes[i][1]), "greys %zu", i);
    assert_int_equal(svg_panels(&svg, &box, 1U), 1U);
    for (size_t k = 0; k < svg.n_items; ++k) {
      const SvgBox* const it = &svg.items[k].box;
      const double        width = box.right - box.left;
      ok &= check_that(svg.items[k].kind != SVG_IMAGE ||
                         (fabs(it->left - box.left - 0.25 * width) < 0.02 &&
                          fabs(it->right - box.right + 0.25 * width) < 0.02 &&
                          fabs(it->top - box.top) < 0.02 &&
                          fabs(it->bottom - box.bottom) < 0.02),
                       "place of image %zu",
                       i);
    }
    svg_clear(&svg);
  }
  assert_true(ok);
}

/// How often a text stands in another.
static size_t
count(const char* text, const char* what) {
  size_t n = 0;
  while ((text = strstr(text, what))) {
    text += strlen(what);
    ++n;
  }
  return n;
}

// Where time runs along x, a panel tells programs so; parts are named from 1 on
// in each picture, and each name once.
static void
test_programs(void** state) {
  (void)state;
  VwPanel panels[] = {panel_plain(), panel_plain(), panel_plain()};
  SvgBox  boxes[COUNT(panels)];
  panels[0].x = (VwAxis){-250.0, 1000.0, false, "time, ms", 0.001};
  panels[1].x = (VwAxis){1.5, 600.123456, false, "time, s", 1.0};
  VwChart chart = chart_of(panels);
  chart.n_panels = COUNT(panels);
  Svg         svg = draw(&chart);
  const char* at = svg.text;
  bool        ok = true;
  assert_int_equal(svg_panels(&svg, boxes, COUNT(panels)), COUNT(panels));
  for (size_t i = 0; i < 2U; ++i) {
    double read[4] = {0.0};
    at = strstr(at, "<g data-x");
    assert_true(at && sscanf(at++,
                             "<g data-x=\"%lf\" data-width=\"%lf\" "
                             "data-from-s=\"%lf\" data-to-s=\"%lf\">",
                             &read[0],
                             &read[1],
                             &read[2],
                             &read[3]) == 4);
    const VwAxis* const x = &panels[i].x;
    ok &= check_equal(read[0], boxes[i].left, "left %zu", i);
    ok &= check_equal(read[1], boxes[i].right - boxes[i].left, "width %zu", i);
    ok &= check_at_most(fabs(read[2] - x->from * x->unit_s), 1e-9, "from");
    ok &= check_at_most(fabs(read[3] - x->to * x->unit_s), 1e-9, "to");
  }
  ok &= check_equal((double)count(svg.text, "data-"), 8.0, "attributes");
  ok &= check_equal((double)count(svg.text, " id=\""), 3.0, "names");
  for (unsigned i = 1; i <= 3U; ++i) {
    char name[40];
    char use[40];
    (void)snprintf(name, sizeof(name), "<clipPath id=\"clip-%u\">", i);
    (void)snprintf(use, sizeof(use), "<g clip-path=\"url(#clip-%u)\">", i);
    ok &= check_equal((double)count(svg.text, name), 1.0, "%s", name);
    ok &= check_equal((double)count(svg.text, use), 1.0, "%s", use);
  }
  ok &= check_equal((double)count(svg.text, "<g"),
                    (double)count(svg.text, "</g>"),
                    "groups begun and ended");
  ok &= check_that(strstr(svg.text, " role=\"img\"") != NULL, "role");
  assert_true(ok);
  svg_clear(&svg);
}

// Drawn twice in one process, a chart is the same.
static void
test_again(void** state) {
  (void)state;
  static const unsigned char greys[] = {0, 128, 255, 64};
  const VwRaster             raster = {0.0, 100.0, greys, 2U, 2U};
  VwPanel                    panel = panel_plain();
  panel.raster = &raster;
  const VwChart chart = chart_of(&panel);
  for (int format = VW_PICTURE_SVG; format <= VW_PICTURE_PNG; ++format) {
    VwBytes one = {0};
    VwBytes two = {0};
    assert_int_equal(vw_chart_draw(&chart, (VwPictureFormat)format, &one),
                     VW_OK);
    assert_int_equal(vw_chart_draw(&chart, (VwPictureFormat)format, &two),
                     VW_OK);
    assert_int_equal(one.n_bytes, two.n_bytes);
    assert_memory_equal(one.data, two.data, one.n_bytes);
    free(one.data);
    free(two.data);
  }
}

static void
test_refused(void** state) {
  (void)state;
  static const VwRaster empty = {0.0, 1.0, (const unsigned char*)"", 0U, 1U};
  static const VwRaster wide = {0.0, 1.0, NULL, 65535U, 1U};
  VwPanel               panels[12];
  VwBytes               bytes = {(unsigned char*)&bytes, 7U};
  for (size_t i = 0; i < COUNT(panels); ++i) {
    panels[i] = panel_plain();
  }
  panels[0].x.to = 0.0;
  panels[1].y.from = NAN;
  panels[2].x = (VwAxis){0.0, 1.0, true, NULL};
  panels[3].height = 0.0;
  panels[4].height = 30000.0;
  panels[5].heading = "\xFF";
  panels[7].raster = &empty;
  panels[8].raster = &wide;
  for (size_t i = 0; i < COUNT(panels); ++i) {
    VwChart chart = chart_of(&panels[i]);
    chart.width = i == 6U ? 100.0 : 600.0; // too narrow
    chart.name = i == 9U ? "one \xC3" : "name";
    chart.description = i == 10U ? "\xED\xA0\x80" : NULL; // a surrogate
    chart.headline = i == 11U ? "\xC0\xAF" : NULL;        // overlong
    for (int format = VW_PICTURE_SVG; format <= VW_PICTURE_PNG; ++format) {
      assert_int_equal(vw_chart_draw(&chart, (VwPictureFormat)format, &bytes),
                       VW_BAD_OPTION);
      assert_true(bytes.n_bytes == 7U);
    }
  }
}

#define IN_FOLDER(test)                                                        \
  cmocka_unit_test_setup_teardown(test, folder_enter, folder_leave)

int
main(void) {
  const struct CMUnitTest tests[] = {
    IN_FOLDER(test_crowds),
    IN_FOLDER(test_long_texts),
    IN_FOLDER(test_axes),
    IN_FOLDER(test_two_numbers),
    IN_FOLDER(test_small),
    IN_FOLDER(test_letters),
    IN_FOLDER(test_raster),
    IN_FOLDER(test_programs),
    IN_FOLDER(test_again),
    IN_FOLDER(test_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
