// Charts laid out by the pictures' library itself: crowds of labels, texts of
// any length, and what is refused.

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
  VwPanel panels[7];
  VwBytes bytes = {(unsigned char*)&bytes, 7U};
  for (size_t i = 0; i < COUNT(panels); ++i) {
    panels[i] = panel_plain();
  }
  panels[0].x.to = 0.0;
  panels[1].y.from = NAN;
  panels[2].x = (VwAxis){0.0, 1.0, true, NULL};
  panels[3].height = 0.0;
  panels[4].height = 30000.0;
  panels[5].heading = "\xFF";
  for (size_t i = 0; i < COUNT(panels); ++i) {
    VwChart chart = chart_of(&panels[i]);
    // The last one is too narrow.
    chart.width = i == 6U ? 100.0 : 600.0;
    assert_int_equal(vw_chart_draw(&chart, VW_PICTURE_SVG, &bytes),
                     VW_BAD_OPTION);
    assert_true(bytes.n_bytes == 7U);
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
    IN_FOLDER(test_again),
    IN_FOLDER(test_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
