// Pictures of takes, shots, loops and files: what is drawn where, measured in
// the SVG itself by a reader of the tests' own.

#include "support/check.h"
#include "support/recordings.h"
#include "support/reports.h"
#include "support/run.h"
#include "support/svg.h"
#include "support/wav_files.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <png.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

// From "Color Universal Design (CUD): How to make figures and presentations
// that are friendly to colorblind people" (2008).
#define VERMILION 0xD55E00U
#define GREEN 0x009E73U
#define BLUE 0x0072B2U
#define ORANGE 0xE69F00U
#define GREY 0x606060U
#define BLACK 0U

// Half of a pixel of 1200.
#define NEAR 0.25

enum { PANELS_MOST = 8 };

static const WavFile shot_file =
  {"zap.wav", FILL_SHOT, 1.2, 0, 0, 1, 0, 0, 0.0};

/// Read a picture that a line draws. Stops the test where that fails.
static Svg
draw(const char* line, const char* path) {
  Svg svg = {0};
  Run made = run(line);
  assert_true(run_check(made.status == 0, &made, line));
  assert_true(svg_read(path, &svg));
  run_clear(&made);
  return svg;
}

/* Layout */

static bool
is_on_page(const Svg* svg, const SvgBox* box) {
  return box->left >= 0.0 && box->top >= 0.0 && box->right <= svg->width &&
         box->bottom <= svg->height;
}

/// Whether no text lies on another or leaves the page.
static bool
check_texts(const Svg* svg, const char* name) {
  size_t n = 0;
  bool   ok = true;
  for (size_t i = 0; i < svg->n_items; ++i) {
    const SvgItem* const a = &svg->items[i];
    if (a->kind != SVG_TEXT || a->box.right < a->box.left) {
      continue;
    }
    ++n;
    ok &= check_that(is_on_page(svg, &a->box), "%s: text %zu", name, n);
    for (size_t k = 0; k < i; ++k) {
      const SvgItem* const b = &svg->items[k];
      ok &= check_that(b->kind != SVG_TEXT || !svg_overlap(&a->box, &b->box),
                       "%s: text %zu lies on another, at %g, %g",
                       name,
                       n,
                       a->box.left,
                       a->box.top);
    }
  }
  return ok && check_at_least((double)n, 20.0, "%s: texts", name);
}

/// Whether a line is part of a frame or of the grid behind what is drawn.
static bool
is_grid(const SvgItem* item) {
  return item->kind == SVG_LINE &&
         (item->colour == BLACK || item->colour == 0xE2E2E2U);
}

/// Whether something is drawn in every panel, over a good part of it.
static bool
check_filled(const Svg* svg, const char* name) {
  SvgBox       panels[PANELS_MOST];
  const size_t n = svg_panels(svg, panels, PANELS_MOST);
  bool         ok = check_at_least((double)n, 3.0, "%s: panels", name);
  for (size_t i = 0; i < n; ++i) {
    double left = panels[i].right;
    double right = panels[i].left;
    for (size_t k = 0; k < svg->n_items; ++k) {
      const SvgItem* const item = &svg->items[k];
      if (item->kind != SVG_TEXT && !is_grid(item) &&
          svg_overlap(&item->box, &panels[i])) {
        left = fmin(left, item->box.left);
        right = fmax(right, item->box.right);
      }
    }
    ok &= check_at_least((right - left) / (panels[i].right - panels[i].left),
                         0.05,
                         "%s: part of panel %zu",
                         name,
                         i + 1U);
  }
  return ok;
}

/// The four kinds of one recording.
static bool
check_kinds(const char* name, const VwSound* raw) {
  static const char* const kinds[] = {"inspect", "shot", "loop", "check"};
  bool                     ok = true;
  (void)raw;
  for (size_t i = 0; i < COUNT(kinds); ++i) {
    char line[512];
    char label[256];
    Svg  svg = {0};
    (void)snprintf(line,
                   sizeof(line),
                   "%s -q -f %s --plot it.svg %s/%s",
                   kinds[i],
                   i == 3U              ? "--board wav-44k-mono"
                   : i == 1U || i == 2U ? "-o sounds"
                                        : "",
                   recordings_place(),
                   name);
    (void)snprintf(label, sizeof(label), "%s of %s", kinds[i], name);
    Run made = run(line);
    ok &=
      run_check(made.status == 0 || (i == 3U && made.status == 3), &made, line);
    run_clear(&made);
    ok &= check_that(svg_read("it.svg", &svg), "%s: read", label);
    ok &= check_texts(&svg, label) && check_filled(&svg, label);
    svg_clear(&svg);
  }
  return ok;
}

static void
test_recordings(void** state) {
  (void)state;
  if (!recordings_find(NULL)) {
    skip();
  }
  assert_int_equal(recordings_each(check_kinds), RECORDINGS);
}

/* Places */

/// Whether an upright line of a colour stands in a panel at a part of its
/// width.
static bool
has_mark(const Svg* svg, const SvgBox* panel, unsigned colour, double part) {
  const double x = panel->left + part * (panel->right - panel->left);
  for (size_t i = 0; i < svg->n_items; ++i) {
    const SvgItem* const item = &svg->items[i];
    if (item->kind == SVG_LINE && item->colour == colour &&
        item->n_points == 2U && fabs(item->box.left - x) <= NEAR &&
        fabs(item->box.right - x) <= NEAR &&
        svg_overlap(
          &(SvgBox){x - 1.0, item->box.top, x + 1.0, item->box.bottom},
          panel)) {
      return true;
    }
  }
  return false;
}

static void
test_inspect(void** state) {
  (void)state;
  wav_file_write(&shot_file);
  json_t* const report = run_json("inspect --json --plot zap.svg zap.wav", 0);
  Svg           svg = {0};
  SvgBox        panels[PANELS_MOST];
  assert_true(svg_read("zap.svg", &svg));
  assert_int_equal(svg_panels(&svg, panels, PANELS_MOST), 3);
  bool ok = true;
  for (size_t i = 0; i < 3U; ++i) {
    ok &= check_that(has_mark(&svg,
                              &panels[i],
                              VERMILION,
                              number_at(report, "shot.attack_ms") / 1200.0),
                     "attack in panel %zu",
                     i + 1U);
    ok &= check_that(
      has_mark(
        &svg, &panels[i], GREEN, number_at(report, "shot.crest_ms") / 1200.0),
      "crest in panel %zu",
      i + 1U);
    ok &= check_that(
      has_mark(
        &svg, &panels[i], BLACK, number_at(report, "shot.end_ms") / 1200.0),
      "end in panel %zu",
      i + 1U);
    ok &= check_that(!has_mark(&svg, &panels[i], VERMILION, 0.5),
                     "nothing else in panel %zu",
                     i + 1U);
  }
  // Programs are told where the take of 1.2 s lies, in every panel.
  size_t n_axes = 0;
  for (const char* at = svg.text;
       (at = strstr(at, " data-from-s=\"0\" data-to-s=\"1.2\">"));
       ++at) {
    ++n_axes;
  }
  ok &= check_equal((double)n_axes, 3.0, "axes of time");
  assert_true(ok);
  svg_clear(&svg);
  json_decref(report);
}

/// Mean grey, 0 to 255, of a row of pixels between two columns.
static double
mean_grey(const unsigned char* pixels, size_t width, size_t row) {
  const size_t from = width / 4U;
  const size_t to = 3U * width / 4U;
  double       sum = 0.0;
  for (size_t x = from; x < to; ++x) {
    sum += pixels[row * width + x];
  }
  return sum / (double)(to - from);
}

// A hum of 150 Hz in the chart of frequencies, which goes from 50 to 20,000 Hz:
// black at 150, white at 5,000; above them a line for the pitch, from 100 to
// 1,000 Hz. An SVG has 1 point, a PNG 2 pixels for it.
static void
test_frequencies(void** state) {
  (void)state;
  const WavFile hum = {"hum.wav", FILL_HUM, 1.0, 0, 0, 1, 0, 0, 0.0};
  wav_file_write(&hum);
  Svg    svg = draw("inspect -q -f --plot hum.svg hum.wav", "hum.svg");
  Run    made = run("inspect -q -f --plot hum.png hum.wav");
  SvgBox panels[PANELS_MOST];
  assert_true(svg_panels(&svg, panels, PANELS_MOST) == 4U);
  const SvgItem* pitch = NULL;
  for (size_t i = 0; i < svg.n_items; ++i) {
    const SvgItem* const item = &svg.items[i];
    pitch = item->kind == SVG_LINE && item->colour == BLUE &&
                svg_overlap(&item->box, &panels[2])
              ? item
              : pitch;
  }
  const double pitch_y = panels[2].bottom - (panels[2].bottom - panels[2].top) *
                                              log10(150.0 / 100.0);
  assert_true(pitch &&
              check_at_most(fabs(pitch->box.top - pitch_y), 1.0, "pitch, off"));
  png_image image = {.version = PNG_IMAGE_VERSION};
  assert_true(png_image_begin_read_from_file(&image, "hum.png"));
  image.format = PNG_FORMAT_GRAY;
  unsigned char* const pixels = malloc(PNG_IMAGE_SIZE(image));
  assert_non_null(pixels);
  assert_true(png_image_finish_read(&image, NULL, pixels, 0, NULL));
  assert_int_equal(image.width, 1200);
  assert_int_equal(image.height, (int)(2.0 * svg.height));
  const double height = panels[3].bottom - panels[3].top;
  const double hum_y =
    panels[3].bottom - height * log(150.0 / 50.0) / log(20000.0 / 50.0);
  const double high_y =
    panels[3].bottom - height * log(5000.0 / 50.0) / log(20000.0 / 50.0);
  assert_true(check_at_most(mean_grey(pixels, 1200U, (size_t)(2.0 * hum_y)),
                            110.0,
                            "grey at 150 Hz") &&
              check_at_least(mean_grey(pixels, 1200U, (size_t)(2.0 * high_y)),
                             220.0,
                             "grey at 5,000 Hz"));
  free(pixels);
  svg_clear(&svg);
  run_clear(&made);
}

/// The filled shape with the most points that begins in a panel.
static const SvgItem*
main_shape(const Svg* svg, const SvgBox* panel) {
  const SvgItem* most = NULL;
  for (size_t i = 0; i < svg->n_items; ++i) {
    const SvgItem* const item = &svg->items[i];
    if (item->kind != SVG_TEXT && svg_overlap(&item->box, panel) &&
        (!most || item->n_points > most->n_points)) {
      most = item;
    }
  }
  return most;
}

// The take is silent for 0.1 s and its shot decays by 60 dB in 0.5 s, so that
// the outline is high where the shot is and low before and after.
static void
test_outline(void** state) {
  (void)state;
  wav_file_write(&shot_file);
  Svg    svg = draw("inspect -q -f --plot zap.svg zap.wav", "zap.svg");
  SvgBox panels[PANELS_MOST];
  assert_true(svg_panels(&svg, panels, PANELS_MOST) == 3U);
  const SvgItem* const wave = main_shape(&svg, &panels[0]);
  const double         width = panels[0].right - panels[0].left;
  const double         height = panels[0].bottom - panels[0].top;
  double               before = 0.0;
  double               shot = 0.0;
  double               after = 0.0;
  for (size_t i = 0; i < wave->n_points; ++i) {
    const double s = 1.2 * (wave->points[2U * i] - panels[0].left) / width;
    const double high =
      fabs(wave->points[2U * i + 1U] - panels[0].top - height / 2.0) / height;
    before = s < 0.095 ? fmax(before, high) : before;
    shot = s > 0.1 && s < 0.2 ? fmax(shot, high) : shot;
    after = s > 1.0 ? fmax(after, high) : after;
  }
  assert_true(check_at_most(before, 0.01, "height before the shot") &&
              check_at_least(shot, 0.2, "height of the shot") &&
              check_at_most(after, 0.01, "height after its tail"));
  svg_clear(&svg);
}

static void
test_loop(void** state) {
  (void)state;
  wav_file_write(&shot_file);
  json_t* const report =
    run_json("loop --json --fire-rate 8/s --plot zap.svg -o sounds zap.wav", 0);
  Svg    svg = {0};
  SvgBox panels[PANELS_MOST];
  assert_true(svg_read("zap.svg", &svg));
  assert_true(svg_panels(&svg, panels, PANELS_MOST) >= 3U);
  const double cycle_ms =
    number_at(report, "loop.period_ms") * number_at(report, "loop.shots");
  const double scale = (panels[1].right - panels[1].left) / (2.0 * cycle_ms);
  bool         ok =
    check_that(has_mark(&svg, &panels[0], BLACK, 0.5), "seam") &&
    check_that(has_mark(&svg, &panels[2], BLACK, 0.5), "seam, level") &&
    // 2 ms are before every attack.
    check_that(has_mark(&svg, &panels[0], VERMILION, 1.0 / cycle_ms),
               "first attack") &&
    check_that(has_mark(&svg, &panels[0], VERMILION, 0.5 + 1.0 / cycle_ms),
               "attack behind the seam");
  size_t n_flashes = 0;
  for (size_t i = 0; i < svg.n_items; ++i) {
    const SvgItem* const item = &svg.items[i];
    if (item->kind == SVG_FILL && item->colour == BLACK &&
        svg_overlap(&item->box, &panels[1])) {
      const double from_ms = 2.0 + cycle_ms * (double)n_flashes++;
      ok &=
        check_at_most(fabs(item->box.left - panels[1].left - scale * from_ms),
                      NEAR,
                      "flash %zu, start off",
                      n_flashes);
      ok &= check_at_most(fabs(item->box.right - item->box.left -
                               scale * number_at(report, "lamp.on_ms")),
                          NEAR,
                          "flash %zu, length off",
                          n_flashes);
    }
  }
  ok &= check_equal((double)n_flashes, 2.0, "flashes");
  assert_true(ok);
  svg_clear(&svg);
  json_decref(report);
}

/// Where the upright line of a colour stands in a panel, or NaN.
static double
mark_x(const Svg* svg, const SvgBox* panel, unsigned colour) {
  double x = NAN;
  for (size_t i = 0; i < svg->n_items; ++i) {
    const SvgItem* const item = &svg->items[i];
    if (item->kind == SVG_LINE && item->colour == colour &&
        item->n_points == 2U && item->box.left == item->box.right &&
        item->box.top <= panel->top + 1.0 &&
        item->box.bottom >= panel->bottom - 1.0) {
      x = item->box.left;
    }
  }
  return x;
}

/// How far from the middle of a panel its outline reaches, in halves of it.
static double
reach(const Svg* svg, const SvgBox* panel) {
  const SvgItem* const wave = main_shape(svg, panel);
  const double         half = (panel->bottom - panel->top) / 2.0;
  return fmax(panel->top + half - wave->box.top,
              wave->box.bottom - panel->top - half) /
         half;
}

/// How much of a panel is hatched, points.
static double
hatched_width(const Svg* svg, const SvgBox* panel) {
  double hatched = 0.0;
  for (size_t i = 0; i < svg->n_items; ++i) {
    const SvgItem* const item = &svg->items[i];
    // The ground under slanting lines.
    if (item->kind == SVG_FILL && item->colour == 0xF0F0F0U &&
        svg_overlap(&item->box, panel)) {
      hatched += item->box.right - item->box.left;
    }
  }
  return hatched;
}

// What was made stands below what it was made from, on the same scales, and
// peaks at -1 dBTP. Nothing is cleared about lines, or they would hide the
// attack. Behind its end nothing was cut away.
static void
test_shot(void** state) {
  (void)state;
  static const unsigned colours[] = {VERMILION, GREEN};
  wav_file_write(&shot_file);
  json_t* const report =
    run_json("shot --json --plot zap.svg -o sounds zap.wav", 0);
  Svg    svg = {0};
  SvgBox panels[PANELS_MOST];
  bool   ok = true;
  assert_true(svg_read("zap.svg", &svg));
  assert_true(svg_panels(&svg, panels, PANELS_MOST) == 3U);
  for (size_t i = 0; i < COUNT(colours); ++i) {
    ok &= check_at_most(fabs(mark_x(&svg, &panels[0], colours[i]) -
                             mark_x(&svg, &panels[1], colours[i])),
                        NEAR,
                        "line of #%06X, off",
                        colours[i]);
  }
  ok &= check_that(isnan(mark_x(&svg, &panels[0], 0xFFFFFFU)), "white lines");
  ok &= check_that(hatched_width(&svg, &panels[0]) > 0.0, "cut away before");
  ok &= check_equal(hatched_width(&svg, &panels[1]), 0.0, "cut away after");
  // Of what is louder by a gain, limiting may take away so much.
  const double gain_db = number_at(report, "level.gain_db");
  const double most = pow(10.0, gain_db / 20.0);
  const double least =
    pow(10.0, (gain_db - number_at(report, "level.limiting_db")) / 20.0);
  const double ratio = reach(&svg, &panels[1]) / reach(&svg, &panels[0]);
  ok &= check_at_least(ratio, 0.95 * least, "height after, of before");
  ok &= check_at_most(ratio, 1.05 * most, "height after, of before");
  assert_true(ok);
  svg_clear(&svg);
  json_decref(report);
}

// A tone is like itself at every lag that is drawn, not at some between turns;
// and the length taken is marked, on the line's highest.
static void
test_likeness(void** state) {
  (void)state;
  wav_file_write(
    &(WavFile){.path = "hum.wav", .fill = FILL_HUM, .seconds = 3.0});
  json_decref(
    run_json("loop --json --as sustained --plot hum.svg -o hum hum.wav", 0));
  Svg    svg = {0};
  SvgBox panels[PANELS_MOST];
  assert_true(svg_read("hum.svg", &svg));
  assert_true(svg_panels(&svg, panels, PANELS_MOST) == 5U);
  const SvgBox* const panel = &panels[2];
  const double        height = panel->bottom - panel->top;
  size_t              n_lines = 0;
  bool ok = check_that(!isnan(mark_x(&svg, panel, BLACK)), "mark");
  for (size_t i = 0; i < svg.n_items; ++i) {
    const SvgItem* const item = &svg.items[i];
    if (item->kind == SVG_LINE && item->colour == BLUE &&
        svg_overlap(&item->box, panel)) {
      ++n_lines;
      ok &= check_at_most(
        item->box.bottom - panel->top, 0.08 * height, "lowest, from the top");
    }
  }
  ok &= check_at_least((double)n_lines, 1.0, "lines");
  assert_true(ok);
  svg_clear(&svg);
}

/// Height of the picture of a take less what its warnings take, and how many
/// there are.
static double
height_without(const WavFile* file, size_t* n) {
  char line[200];
  Svg  svg = {0};
  wav_file_write(file);
  (void)snprintf(
    line, sizeof(line), "inspect --json -f --plot it.svg %s", file->path);
  json_t* const report = run_json(line, 0);
  *n = json_array_size(value_at(report, "warnings"));
  assert_true(svg_read("it.svg", &svg));
  const double height = svg.height - 11.5 * (double)*n;
  svg_clear(&svg);
  json_decref(report);
  return height;
}

// What the report warns of stands in the heading, a line each.
static void
test_warnings(void** state) {
  (void)state;
  const WavFile clipped = {
    "clipped.wav", FILL_CLIPPED, 1.2, 0, 0, 1, 0, 0, 0.0};
  size_t       n_clean = 0;
  size_t       n_clipped = 0;
  const double clean = height_without(&shot_file, &n_clean);
  const double height = height_without(&clipped, &n_clipped);
  assert_true(
    check_at_least((double)n_clipped, (double)n_clean + 1.0, "warnings"));
  // Pages are whole points high.
  assert_true(check_at_most(fabs(height - clean), 1.0, "height off"));
}

// The board's gap is hatched at the end of both repeats.
static void
test_gap(void** state) {
  (void)state;
  wav_file_write(&shot_file);
  Svg svg = draw("loop -q --fire-rate 8/s --form whole-file --gap 25ms --plot "
                 "zap.svg -o sounds zap.wav",
                 "zap.svg");
  SvgBox panels[PANELS_MOST];
  assert_true(svg_panels(&svg, panels, PANELS_MOST) >= 3U);
  const double share =
    hatched_width(&svg, &panels[0]) / (panels[0].right - panels[0].left);
  json_t* const report = run_json("loop --json -n --fire-rate 8/s --form "
                                  "whole-file --gap 25ms -o sounds zap.wav",
                                  0);
  const double  cycle_ms =
    number_at(report, "loop.period_ms") * number_at(report, "loop.shots");
  assert_true(
    check_at_most(fabs(share - 25.0 / cycle_ms), 0.002, "hatched share off"));
  json_decref(report);
  svg_clear(&svg);
}

/// Whether a picture of what is checked marks each note that has a place.
static bool
marks_notes(const char* command, const char* key, double frames) {
  Run           made = run_shell(command);
  json_t* const report = parse_line(made.out, 0);
  json_t* const notes = value_at(report, key);
  Svg           svg = {0};
  SvgBox        panels[PANELS_MOST];
  size_t        n_placed = 0;
  assert_true(svg_read("it.svg", &svg));
  bool ok = check_equal(
    (double)svg_panels(&svg, panels, PANELS_MOST), 4, "%s: panels", command);
  for (size_t i = 0; i < json_array_size(notes); ++i) {
    const double from = number_at(json_array_get(notes, i), "from_frame");
    if (isfinite(from)) {
      ++n_placed;
      ok &= check_that(has_mark(&svg, &panels[0], BLACK, from / frames),
                       "%s: note %zu at frame %g",
                       command,
                       i + 1U,
                       from);
    }
  }
  ok &= check_at_least((double)n_placed, 1.0, "%s: notes placed", command);
  svg_clear(&svg);
  json_decref(report);
  run_clear(&made);
  return ok;
}

static void
test_check(void** state) {
  (void)state;
  const WavFile cut = {"cut.wav", FILL_HUM, 1.003, 0, 0, 1, 0, 0, 0.0};
  wav_file_write(&cut);
  // 1.25 s at 44.1 kHz.
  bool ok = marks_notes("\"$VOLLEYWEAVE\" check --json -f --board wav-44k-mono "
                        "--plot it.svg \"$TAKES\"/fog-knapper.wav",
                        "warnings",
                        55125.0);
  ok &= marks_notes("\"$VOLLEYWEAVE\" check --json -f --plot it.svg cut.wav",
                    "faults",
                    44232.0);
  assert_true(ok);
}

/* One ink for one meaning */

/// Whether a panel has a shape of a colour, other than letters.
static bool
has_ink(const Svg* svg, const SvgBox* panel, unsigned colour) {
  bool has = false;
  for (size_t i = 0; i < svg->n_items; ++i) {
    const SvgItem* const item = &svg->items[i];
    has = has || (item->kind != SVG_TEXT && item->colour == colour &&
                  svg_overlap(&item->box, panel));
  }
  return has;
}

static void
test_inks(void** state) {
  (void)state;
  wav_file_write(&shot_file);
  Svg    svg = draw("loop -q -f --plot zap.svg -o sounds zap.wav", "zap.svg");
  SvgBox panels[PANELS_MOST];
  bool   ok = true;
  assert_true(svg_panels(&svg, panels, PANELS_MOST) >= 3U);
  const struct {
    const char* name;
    size_t      panel;
    unsigned    ink;
  } inks[] = {{"sound", 0, BLUE},
              {"sound", 2, BLUE},
              {"attack", 0, VERMILION},
              {"lamp", 1, ORANGE}};
  for (size_t i = 0; i < COUNT(inks); ++i) {
    ok &= check_that(has_ink(&svg, &panels[inks[i].panel], inks[i].ink),
                     "%s in the picture",
                     inks[i].name);
  }
  assert_true(ok);
  svg_clear(&svg);
}

// Where a take exceeds full scale, lines tell where that is.
static void
test_full_scale(void** state) {
  (void)state;
  char line[512];
  if (!recordings_find(NULL)) {
    skip();
  }
  wav_file_write(&shot_file);
  (void)snprintf(line,
                 sizeof(line),
                 "inspect -q -f --plot over.svg %s/laser.wav",
                 recordings_place());
  Svg    over = draw(line, "over.svg");
  Svg    under = draw("inspect -q -f --plot zap.svg zap.wav", "zap.svg");
  SvgBox panels[PANELS_MOST];
  assert_true(svg_panels(&over, panels, PANELS_MOST) >= 3U);
  assert_true(has_ink(&over, &panels[0], GREY));
  assert_true(svg_panels(&under, panels, PANELS_MOST) >= 3U);
  assert_false(has_ink(&under, &panels[0], GREY));
  svg_clear(&over);
  svg_clear(&under);
}

/* Black and white */

static double
linear(unsigned part) {
  const double v = part / 255.0;
  return v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4);
}

/// Contrast to white (W3C, Web Content Accessibility Guidelines 2.2, "relative
/// luminance" and "contrast ratio").
static double
contrast(unsigned colour) {
  const double luminance = 0.2126 * linear(colour >> 16U & 0xFFU) +
                           0.7152 * linear(colour >> 8U & 0xFFU) +
                           0.0722 * linear(colour & 0xFFU);
  return 1.05 / (luminance + 0.05);
}

// Lines that mean something stand out from white by 3 to 1 (the same,
// criterion 1.4.11); in a legend no two of them are dashed alike.
static void
test_black_and_white(void** state) {
  (void)state;
  static const char* const lines[] = {
    "inspect -q -f --plot zap.svg zap.wav",
    "shot -q -f --plot zap.svg -o sounds zap.wav",
    "loop -q -f --plot zap.svg -o sounds zap.wav",
  };
  bool ok = true;
  wav_file_write(&shot_file);
  for (size_t line = 0; line < COUNT(lines); ++line) {
    Svg svg = draw(lines[line], "zap.svg");
    for (size_t i = 0; i < svg.n_items; ++i) {
      const SvgItem* const a = &svg.items[i];
      // Grids, hatching and what is white under lines are thin or pale.
      if (a->kind == SVG_LINE && a->width > 0.6 && a->colour != 0xFFFFFFU) {
        ok &= check_at_least(
          contrast(a->colour), 3.0, "%s: #%06X", lines[line], a->colour);
      }
      for (size_t k = 0; k < i && a->kind == SVG_LINE; ++k) {
        const SvgItem* const b = &svg.items[k];
        // Strokes of a legend are 20 points long, in a row.
        const bool row = b->kind == SVG_LINE && a->n_points == 2U &&
                         b->n_points == 2U &&
                         fabs(a->box.right - a->box.left - 20.0) < 1e-6 &&
                         fabs(b->box.right - b->box.left - 20.0) < 1e-6 &&
                         a->box.top == b->box.top;
        // A band and a thin line are told apart too.
        const double ratio =
          fmax(a->width, b->width) / fmin(a->width, b->width);
        ok &= check_that(!row || strcmp(a->dash, b->dash) != 0 || ratio > 3.0,
                         "%s: two alike in the legend at %g",
                         lines[line],
                         a->box.top);
      }
    }
    svg_clear(&svg);
  }
  assert_true(ok);
}

/* Files */

static void
test_bad_lines(void** state) {
  (void)state;
  static const RunCase cases[] = {
    {"inspect --plot zap.pdf zap.wav", 2, NULL, ".svg or .png"},
    {"inspect --plot - zap.wav", 2, NULL, ".svg or .png"},
    {"inspect --plot .svg zap.wav", 2, NULL, ".svg or .png"},
    {"inspect --plot", 2, NULL, "--plot"},
    {"inspect --plot it.svg zap.wav zap.wav", 2, NULL, "one picture"},
    {"shot --plot it.svg zap.wav zap.wav", 2, NULL, "one picture"},
    {"loop --plot it.svg zap.wav zap.wav", 2, NULL, "one picture"},
    {"check --board wav-44k-mono --plot it.svg zap.wav zap.wav",
     2,
     NULL,
     "one picture"},
    {"check --board wav-44k-mono --plot it.svg folder.svg",
     2,
     NULL,
     "a picture shows one file"},
    {"inspect --plot folder.svg zap.wav", 2, NULL, "a folder"},
    {"loop --plot folder.svg zap.wav", 2, NULL, "a folder"},
    {"inspect --plot no/it.svg zap.wav", 1, NULL, "no"},
    {"loop --plot no/it.svg zap.wav", 1, NULL, "no"},
    {"inspect --plot mine.svg zap.wav", 1, NULL, "--force"},
    {"shot -o sounds --plot mine.svg zap.wav", 1, NULL, "--force"},
    {"check --board wav-44k-mono --plot mine.svg zap.wav", 1, NULL, "--force"},
    {"pack --plot it.svg folder.svg", 2, NULL, "--plot"},
  };
  bool ok = true;
  wav_file_write(&shot_file);
  bytes_write("mine.svg", "mine\n", 5);
  Run made = run_shell("mkdir folder.svg");
  run_clear(&made);
  for (size_t i = 0; i < COUNT(cases); ++i) {
    Run        one = run(cases[i].line);
    const bool good =
      one.status == cases[i].status && strstr(one.err, cases[i].err) != NULL;
    ok &= run_check(good, &one, cases[i].line);
    run_clear(&one);
  }
  ok &= check_that(access("it.svg", F_OK) != 0, "no picture");
  ok &= check_that(access("sounds", F_OK) != 0, "no folder of sounds");
  ok &= check_that(has_bytes("mine.svg", "mine\n", 5), "another's file");
  assert_true(ok);
}

// A take is never replaced, whatever it is called.
static void
test_take_stays(void** state) {
  (void)state;
  size_t  n = 0;
  WavFile file = shot_file;
  file.path = "take.svg";
  wav_file_write(&file);
  char* const before = read_file("take.svg", &n);
  Run         inspected = run("inspect -f --plot take.svg take.svg");
  Run         made = run("loop -f -o sounds --plot take.svg take.svg");
  assert_true(run_check(inspected.status == 1, &inspected, "inspect"));
  assert_true(run_check(made.status == 1, &made, "loop"));
  assert_true(has_bytes("take.svg", before, n));
  assert_int_not_equal(access("sounds", F_OK), 0);
  free(before);
  run_clear(&inspected);
  run_clear(&made);
}

static void
test_dry_run(void** state) {
  (void)state;
  wav_file_write(&shot_file);
  Run inspected = run("inspect -q -n --plot dry.svg zap.wav");
  Run made = run("loop -q -n -o sounds --plot dry.svg zap.wav");
  assert_true(run_check(inspected.status == 0, &inspected, "inspect"));
  assert_true(run_check(made.status == 0, &made, "loop"));
  assert_int_not_equal(access("dry.svg", F_OK), 0);
  run_clear(&inspected);
  run_clear(&made);
}

// Sound on standard output, its picture beside it.
static void
test_stdout(void** state) {
  (void)state;
  wav_file_write(&shot_file);
  Run made = run("shot -q -o - --plot beside.png zap.wav");
  assert_true(run_check(made.status == 0 && made.n_out > 1000U &&
                          !memcmp(made.out, "RIFF", 4U) &&
                          access("beside.png", F_OK) == 0,
                        &made,
                        "standard output"));
  run_clear(&made);
}

static void
test_same_bytes(void** state) {
  (void)state;
  static const char* const names[] = {"svg", "png"};
  wav_file_write(&shot_file);
  for (size_t i = 0; i < COUNT(names); ++i) {
    char line[300];
    (void)snprintf(line,
                   sizeof(line),
                   "for i in 1 2; do \"$VOLLEYWEAVE\" inspect -q --plot $i.%s "
                   "zap.wav; \"$VOLLEYWEAVE\" loop -q -o sounds --plot l$i.%s "
                   "zap.wav; done; cmp 1.%s 2.%s && cmp l1.%s l2.%s",
                   names[i],
                   names[i],
                   names[i],
                   names[i],
                   names[i],
                   names[i]);
    Run made = run_shell(line);
    assert_true(run_check(made.status == 0, &made, line));
    run_clear(&made);
  }
}

// Names with what turns texts around, ends lines, or means something in SVG,
// and one of 250 bytes.
static void
test_names(void** state) {
  (void)state;
  static const char* const names[] = {
    "<script>&\".wav",
    "\xE2\x80\xAEvaw.pmob.wav",
    "line\nbreak\x1B[31m.wav",
    "\xD7\xA9\xD7\x9C\xD7\x95\xD7\x9D.wav",
    "\xEF\xBF\xBE.wav",
    " two  blanks.wav",
    "a-name-that-goes-on-a-name-that-goes-on-a-name-that-goes-on-a-name-that-"
    "goes-on-a-name-that-goes-on-a-name-that-goes-on-a-name-that-goes-on-a-"
    "name-that-goes-on-a-name-that-goes-on-a-name-that-goes-on.wav",
  };
  bool ok = true;
  wav_file_write(&shot_file);
  for (size_t i = 0; i < COUNT(names); ++i) {
    Svg svg = {0};
    assert_int_equal(setenv("NAME", names[i], 1), 0);
    // What draws PNG reads an SVG first, and takes no other XML.
    Run made =
      run_shell("cp zap.wav \"$NAME\" && for i in svg png; do "
                "\"$VOLLEYWEAVE\" inspect -q -f --plot it.$i \"$NAME\" || "
                "exit; done");
    ok &= run_check(made.status == 0, &made, names[i]);
    run_clear(&made);
    ok &= check_that(svg_read("it.svg", &svg), "%s: read", names[i]);
    ok &= check_texts(&svg, names[i]);
    ok &= check_that(
      !strstr(svg.text, "<script") && !strstr(svg.text, "\xE2\x80\xAE") &&
        !strstr(svg.text, "\xEF\xBF\xBE") && !strchr(svg.text, '\x1B') &&
        !strstr(svg.text, "  ") && !strstr(svg.text, "> "),
      "%s: as it is",
      names[i]);
    svg_clear(&svg);
  }
  assert_true(ok);
}

// Takes that are hard to draw.
static void
test_odd_takes(void** state) {
  (void)state;
  static const WavFile files[] = {
    {"short.wav", FILL_HUM, 0.006, 0, 0, 1, 0, 0, 0.0},
    {"low.wav", FILL_SHOT, 1.0, 0, 4000, 1, 0, 0, 0.0},
    {"high.wav", FILL_SHOT, 0.5, 0, 384000, 1, 0, 0, 0.0},
    {"eight.wav", FILL_SHOT, 0.5, 0, 0, 8, 0, 0, 0.0},
    {"clipped.wav", FILL_CLIPPED, 1.0, 0, 0, 1, 0, 0, 0.0},
    {"twice.wav", FILL_TWICE, 2.0, 0, 0, 1, 0, 0, 0.0},
    {"noise.wav", FILL_NOISE, 1.0, 0, 0, 2, 0, 0, 0.0},
    {"long.wav", FILL_SHOT, 20.0, 0, 8000, 1, 0, 0, 0.0},
  };
  bool ok = true;
  for (size_t i = 0; i < COUNT(files); ++i) {
    char line[200];
    Svg  svg = {0};
    wav_file_write(&files[i]);
    (void)snprintf(
      line, sizeof(line), "inspect -q -f --plot it.svg %s", files[i].path);
    Run made = run(line);
    ok &= run_check(made.status == 0, &made, line);
    run_clear(&made);
    ok &= check_that(svg_read("it.svg", &svg), "%s: read", files[i].path);
    ok &= check_texts(&svg, files[i].path) && check_filled(&svg, files[i].path);
    svg_clear(&svg);
  }
  assert_true(ok);
}

/// Letters of the line below the name, blanks too.
static size_t
letters_of_title(const char* line) {
  Svg    svg = draw(line, "it.svg");
  size_t n_texts = 0;
  size_t n = 0;
  for (size_t i = 0; i < svg.n_items && n_texts < 2U; ++i) {
    if (svg.items[i].kind == SVG_TEXT) {
      n = strlen(svg.items[i].text);
      ++n_texts;
    }
  }
  svg_clear(&svg);
  return n;
}

// That a take is drawn without its offset is said where it has one.
static void
test_offset(void** state) {
  (void)state;
  static const WavFile offset = {
    "off.wav", FILL_OFFSET, 1.2, 0, 0, 1, 0, 0, 0.0};
  wav_file_write(&shot_file);
  wav_file_write(&offset);
  const size_t n_plain =
    letters_of_title("inspect -q -f --plot it.svg zap.wav");
  const size_t n = letters_of_title("inspect -q -f --plot it.svg off.wav");
  assert_int_equal(n - n_plain, strlen(" without its offset,"));
}

// The program without the library that draws PNG, as a copy of it elsewhere is:
// it says what to do, and everything else works.
static void
test_missing(void** state) {
  (void)state;
  static const char* const lines[] = {"inspect --plot it.png zap.wav",
                                      "lamp --plot it.png 9/s",
                                      "inspect -f --plot it.svg zap.wav",
                                      "lamp -f --plot it.svg 9/s"};
  bool                     ok = true;
  wav_file_write(&shot_file);
  for (size_t i = 0; i < COUNT(lines); ++i) {
    const bool drawn = i > 1U;
    char       line[400];
    (void)snprintf(line,
                   sizeof(line),
                   "mkdir -p a/b/c; cp \"$VOLLEYWEAVE\" a/b/c; "
                   "cp \"${VOLLEYWEAVE%%/*/*}\"/libvolleyweave.so.0 .; "
                   "LD_LIBRARY_PATH=. a/b/c/volleyweave %s",
                   lines[i]);
    Run made = run_shell(line);
    ok &= run_check(made.status == !drawn &&
                      (drawn || is_one_line_with(made.err, "ninja -C build")) &&
                      access("it.svg", F_OK) == (drawn ? 0 : -1) &&
                      access("it.png", F_OK) != 0,
                    &made,
                    line);
    run_clear(&made);
  }
  assert_true(ok);
}

/* Golden pictures */

// Points, for what the system's mathematics may round otherwise.
#define ALIKE 0.1

static bool
is_alike(const SvgItem* a, const SvgItem* b) {
  bool same = a->kind == b->kind && a->colour == b->colour &&
              a->n_points == b->n_points && !strcmp(a->dash, b->dash) &&
              fabs(a->width - b->width) < 0.01 &&
              (a->kind != SVG_TEXT || !strcmp(a->text, b->text));
  for (size_t i = 0; same && i < 2U * a->n_points; ++i) {
    same = fabs(a->points[i] - b->points[i]) < ALIKE;
  }
  return same;
}

/// Whether a picture looks as it has to.
static bool
check_golden(const char* name, const char* line) {
  char path[512];
  Svg  wanted = {0};
  Svg  drawn = {0};
  Run  made = run_shell(line);
  (void)snprintf(
    path, sizeof(path), "%s/pictures/%s.svg", getenv("TAKES"), name);
  bool ok = run_check(made.status == 0 || made.status == 3, &made, line);
  ok = check_that(svg_read(path, &wanted), "%s: there", path) && ok;
  ok = check_that(svg_read("it.svg", &drawn), "%s: drawn", name) && ok;
  ok &= check_equal(
    (double)drawn.n_items, (double)wanted.n_items, "%s: items", name);
  ok &= check_at_most(
    fabs(drawn.height - wanted.height), ALIKE, "%s: height off", name);
  for (size_t i = 0; ok && i < wanted.n_items; ++i) {
    const SvgItem* const item = &wanted.items[i];
    ok = check_that(is_alike(&drawn.items[i], item),
                    "%s: item %zu at %g, %g",
                    name,
                    i,
                    item->box.left,
                    item->box.top);
  }
  svg_clear(&wanted);
  svg_clear(&drawn);
  run_clear(&made);
  return ok;
}

// As tools/draw-pictures draws them.
static void
test_golden(void** state) {
  (void)state;
  bool ok = check_golden("inspect",
                         "\"$VOLLEYWEAVE\" inspect -q --plot it.svg "
                         "\"$TAKES\"/fog-knapper.wav");
  ok &= check_golden("shot",
                     "\"$VOLLEYWEAVE\" shot -q -f --plot it.svg -o sounds "
                     "\"$TAKES\"/fog-knapper.wav");
  ok &=
    check_golden("loop",
                 "\"$VOLLEYWEAVE\" loop -q -f --fire-rate 9/s --plot it.svg "
                 "-o sounds \"$TAKES\"/fog-knapper.wav");
  ok &= check_golden("check",
                     "\"$VOLLEYWEAVE\" check -q -f --board wav-44k-mono --plot "
                     "it.svg \"$TAKES\"/fog-knapper.wav");
  ok &= check_golden("lamp", "\"$VOLLEYWEAVE\" lamp -q -f --plot it.svg 9/s");
  ok &=
    check_golden("track",
                 "\"$VOLLEYWEAVE\" loop -q -f --fire-rate 9/s --channels 2 "
                 "--lamp-track --part loop -o track.wav "
                 "\"$TAKES\"/fog-knapper.wav && \"$VOLLEYWEAVE\" lamp -q -f "
                 "--plot it.svg track.wav");
  assert_true(ok);
}

int
main(int argc, char** argv) {
  if (argc < 3 || setenv("TAKES", argv[2], 1)) {
    (void)fprintf(stderr, "give the program's path and the takes' folder\n");
    return 1;
  }
  run_set_up(argc, argv);
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown(
      test_inspect, run_enter_folder, run_leave_folder),
    cmocka_unit_test_setup_teardown(
      test_outline, run_enter_folder, run_leave_folder),
    cmocka_unit_test_setup_teardown(
      test_frequencies, run_enter_folder, run_leave_folder),
    cmocka_unit_test_setup_teardown(
      test_loop, run_enter_folder, run_leave_folder),
    cmocka_unit_test_setup_teardown(
      test_likeness, run_enter_folder, run_leave_folder),
    cmocka_unit_test_setup_teardown(
      test_shot, run_enter_folder, run_leave_folder),
    cmocka_unit_test_setup_teardown(
      test_warnings, run_enter_folder, run_leave_folder),
    cmocka_unit_test_setup_teardown(
      test_gap, run_enter_folder, run_leave_folder),
    cmocka_unit_test_setup_teardown(
      test_check, run_enter_folder, run_leave_folder),
    cmocka_unit_test_setup_teardown(
      test_inks, run_enter_folder, run_leave_folder),
    cmocka_unit_test_setup_teardown(
      test_full_scale, run_enter_folder, run_leave_folder),
    cmocka_unit_test_setup_teardown(
      test_black_and_white, run_enter_folder, run_leave_folder),
    cmocka_unit_test_setup_teardown(
      test_bad_lines, run_enter_folder, run_leave_folder),
    cmocka_unit_test_setup_teardown(
      test_take_stays, run_enter_folder, run_leave_folder),
    cmocka_unit_test_setup_teardown(
      test_dry_run, run_enter_folder, run_leave_folder),
    cmocka_unit_test_setup_teardown(
      test_offset, run_enter_folder, run_leave_folder),
    cmocka_unit_test_setup_teardown(
      test_missing, run_enter_folder, run_leave_folder),
    cmocka_unit_test_setup_teardown(
      test_stdout, run_enter_folder, run_leave_folder),
    cmocka_unit_test_setup_teardown(
      test_same_bytes, run_enter_folder, run_leave_folder),
    cmocka_unit_test_setup_teardown(
      test_names, run_enter_folder, run_leave_folder),
    cmocka_unit_test_setup_teardown(
      test_odd_takes, run_enter_folder, run_leave_folder),
    cmocka_unit_test_setup_teardown(
      test_golden, run_enter_folder, run_leave_folder),
    cmocka_unit_test_setup_teardown(
      test_recordings, run_enter_folder, run_leave_folder),
  };
  const int n_failed = cmocka_run_group_tests(tests, NULL, NULL);
  run_tear_down();
  return n_failed;
}
