#include "cli/plot/scene.h"
#include "signal/signal.h"
#include "take/take.h"

#include <math.h>

// Columns of an outline: one for each pixel.
#define COLUMNS 1064U

// Frequencies: a column every fourth pixel.
#define SPECTRUM_COLUMNS 266U
#define SPECTRUM_ROWS 90U
#define LOWEST_HZ 50.0
#define HIGHEST_HZ 20000.0

// So far below the strongest, nothing is drawn: chosen here.
#define SPECTRUM_DB 70.0

// Pitches: every 10 ms, or so many.
#define PITCH_STEP_S 0.010
#define PITCHES_MOST 60U

// A further step is a jump, through which no line is drawn: chosen here.
#define PITCH_JUMP_OCTAVES 0.5

// Less of the picture's width is no line: chosen here.
#define PITCHED_LEAST 0.05

// Levels: no panel shows more or less than so much.
#define LEVEL_RANGE_MOST_DB 90.0
#define LEVEL_RANGE_LEAST_DB 30.0
#define LEVEL_BELOW_DB 6.0
#define LEVEL_ABOVE_DB 1.0
#define SILENCE_DB (-200.0)

// From here on times are told in seconds.
#define LONG_S 3.0

PlotUnit
plot_unit(double seconds) {
  return seconds < LONG_S ? (PlotUnit){1000.0, "ms"} : (PlotUnit){1.0, "s"};
}

/// Where a frame lies along x.
static double
x_of(const PlotSpan* span, const PlotUnit* unit, double frame) {
  return unit->per_s * (frame / span->sound->rate_hz - span->zero_s);
}

void
plot_axis(ScenePanel*     panel,
          const PlotSpan* span,
          const PlotUnit* unit,
          const char*     label) {
  panel->panel.x = (VwAxis){x_of(span, unit, (double)span->from_frame),
                            x_of(span, unit, (double)span->to_frame),
                            false,
                            label,
                            1.0 / unit->per_s};
  panel->panel.x_bare = !label;
}

/// Steps for so many at most, none shorter than a frame.
static VwStretch
stretch_of(const PlotSpan* span, size_t n_most) {
  const size_t n_frames = span->to_frame - span->from_frame;
  return (VwStretch){
    span->from_frame, span->to_frame, n_frames < n_most ? n_frames : n_most};
}

/* Values */

/// Fit a panel's height to the values in it, with a round number at the top.
static void
fit_wave(ScenePanel* panel, const float* low, const float* high, size_t n) {
  static const double steps[] = {1.0, 1.2, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0, 10.0};
  double              peak = panel->panel.y.to;
  for (size_t i = 0; i < n; ++i) {
    peak = fmax(peak, fmax(fabs((double)low[i]), fabs((double)high[i])));
  }
  peak = peak > 0.0 ? peak : 1.0; // silence
  const double power = pow(10.0, floor(log10(peak)));
  size_t       i = 0;
  while (steps[i] * power < peak * (1.0 - 1e-9)) {
    ++i;
  }
  const double most = steps[i] * power;
  panel->panel.y = (VwAxis){-most, most, false, NULL};
}

/// Lines at full scale, where a panel shows more.
static void
add_full_scale(Scene* scene, ScenePanel* panel) {
  const VwAxis* const x = &panel->panel.x;
  for (int i = 0; i < 2 && panel->panel.y.to > 1.0; ++i) {
    const double  value = i ? -1.0 : 1.0;
    const VwTrace style = {.name = i ? NULL : "full scale",
                           .pen = {VW_INK_GREY, VW_STROKE_DASHED, 1.0}};
    scene_line(
      scene, panel, &style, (VwPoint[2]){{x->from, value}, {x->to, value}});
  }
}

void
plot_wave(Scene*          scene,
          ScenePanel*     panel,
          const PlotSpan* span,
          const PlotUnit* unit) {
  const VwStretch stretch = stretch_of(span, COLUMNS);
  float* const    low = scene_room(scene, stretch.n_steps, sizeof(float));
  float* const    high = scene_room(scene, stretch.n_steps, sizeof(float));
  if (!low || !high) {
    return;
  }
  const double step = vw_stretch_step(&stretch);
  vw_outline_take(span->sound, &stretch, low, high);
  fit_wave(panel, low, high, stretch.n_steps);
  // Values that stand alone are joined by a line.
  const VwTrace trace = {
    .name = span->name,
    .pen = span->pen,
    .x_first = x_of(span, unit, (double)span->from_frame + (step - 1.0) / 2.0),
    .x_step = step * unit->per_s / span->sound->rate_hz,
    .high = high,
    .low = step > 1.0 || span->sound->n_channels > 1U ? low : NULL,
    .n = stretch.n_steps};
  scene_trace(scene, panel, &trace);
  add_full_scale(scene, panel);
}

/* Level */

/// Lowest and highest levels of each column.
static void
gather(const VwCourse*  course,
       const VwStretch* stretch,
       double           step_frames,
       VwTrace*         trace) {
  float* const low = (float*)(uintptr_t)trace->low;
  float* const high = (float*)(uintptr_t)trace->high;
  for (size_t i = 0; i < stretch->n_steps; ++i) {
    const double column = vw_stretch_step(stretch);
    const double from = (double)stretch->from_frame + (double)i * column;
    const size_t first = (size_t)(from / step_frames);
    const size_t last = (size_t)((from + column) / step_frames);
    low[i] = INFINITY;
    high[i] = (float)SILENCE_DB;
    for (size_t k = first; k <= last; ++k) {
      const double level = k < course->n_steps && !isnan(course->level_dbfs[k])
                             ? fmax(course->level_dbfs[k], SILENCE_DB)
                             : SILENCE_DB;
      low[i] = fminf(low[i], (float)level);
      high[i] = fmaxf(high[i], (float)level);
    }
  }
}

VwStatus
plot_level(Scene*          scene,
           ScenePanel*     panel,
           const PlotSpan* span,
           const PlotUnit* unit) {
  VwCourse       course = {0};
  const VwStatus st = vw_course_take(span->sound, &course);
  if (st) {
    return st;
  }
  const double    step_frames = course.step_s * span->sound->rate_hz;
  const size_t    n_frames = span->to_frame - span->from_frame;
  const size_t    n_steps = (size_t)((double)n_frames / step_frames) + 1U;
  const VwStretch stretch =
    stretch_of(span, n_steps < COLUMNS ? n_steps : COLUMNS);
  float* const low = scene_room(scene, stretch.n_steps, sizeof(float));
  float* const high = scene_room(scene, stretch.n_steps, sizeof(float));
  VwTrace      trace = {.name = span->name,
                        .pen = span->pen,
                        .high = high,
                        .low = low,
                        .n = stretch.n_steps};
  if (low && high) {
    const double column = vw_stretch_step(&stretch);
    gather(&course, &stretch, step_frames, &trace);
    trace.x_first = x_of(span, unit, (double)span->from_frame + column / 2.0);
    trace.x_step = column * unit->per_s / span->sound->rate_hz;
    // In shorter columns the level hardly changes: a line can be dashed.
    trace.low = column > VW_LEVEL_WINDOW_S * span->sound->rate_hz ? low : NULL;
    scene_trace(scene, panel, &trace);
  }
  vw_course_clear(&course);
  return VW_OK;
}

/// Whether a level leaves a panel at its bottom.
static bool
goes_below(const ScenePanel* panel) {
  bool below = false;
  for (size_t i = 0; i < panel->n_traces; ++i) {
    const VwTrace* const trace = &panel->traces[i];
    const float* const   lowest = trace->low ? trace->low : trace->high;
    for (size_t k = 0; k < trace->n; ++k) {
      below = below || (double)lowest[k] < panel->panel.y.from;
    }
  }
  return below;
}

void
plot_fit_level(Scene* scene, ScenePanel* panel, double least_dbfs) {
  double most = SILENCE_DB;
  double least = isnan(least_dbfs) ? 0.0 : least_dbfs - LEVEL_BELOW_DB;
  for (size_t i = 0; i < panel->n_traces; ++i) {
    const VwTrace* const trace = &panel->traces[i];
    for (size_t k = 0; k < trace->n; ++k) {
      const double level = (double)trace->high[k];
      most = fmax(most, level);
      least = level > SILENCE_DB ? fmin(least, level) : least;
    }
  }
  // Silence throughout has no level: any range will do.
  const double top =
    most > SILENCE_DB ? 10.0 * ceil((most + LEVEL_ABOVE_DB) / 10.0) : 0.0;
  const double bottom = 10.0 * floor(least / 10.0);
  panel->panel.y = (VwAxis){
    fmin(fmax(bottom, top - LEVEL_RANGE_MOST_DB), top - LEVEL_RANGE_LEAST_DB),
    top,
    false,
    NULL};
  if (goes_below(panel)) {
    panel->panel.heading =
      scene_text(scene, "%s (goes below the scale)", panel->panel.heading);
  }
}

/* Frequencies */

/// Greys from the strongest (black) down; returns what is white.
static double
shade(const float* levels, const VwStretch* stretch, unsigned char* greys) {
  const size_t n = stretch->n_steps * SPECTRUM_ROWS;
  double       most = SILENCE_DB;
  for (size_t i = 0; i < n; ++i) {
    most = fmax(most, (double)levels[i]);
  }
  for (size_t row = 0; row < SPECTRUM_ROWS; ++row) {
    for (size_t i = 0; i < stretch->n_steps; ++i) {
      // The lowest frequency is the first row there and the last one here.
      const double level =
        (double)levels[(SPECTRUM_ROWS - 1U - row) * stretch->n_steps + i];
      const double share = fmin((most - level) / SPECTRUM_DB, 1.0);
      greys[row * stretch->n_steps + i] = (unsigned char)(255.0 * share + 0.5);
    }
  }
  return most - SPECTRUM_DB;
}

static VwStatus
add_greys(Scene* scene, ScenePanel* panel, const PlotSpan* span) {
  const VwStretch stretch = stretch_of(span, SPECTRUM_COLUMNS);
  const size_t    n = stretch.n_steps * SPECTRUM_ROWS;
  const VwRows rows = {panel->panel.y.from, panel->panel.y.to, SPECTRUM_ROWS};
  float* const levels = scene_room(scene, n, sizeof(float));
  unsigned char* const greys = scene_room(scene, n, 1U);
  if (!levels || !greys) {
    return VW_NO_MEMORY;
  }
  const VwStatus st = vw_spectrogram_take(span->sound, &stretch, &rows, levels);
  if (st) {
    return st;
  }
  const double white = shade(levels, &stretch, greys);
  panel->raster = (VwRaster){panel->panel.x.from,
                             panel->panel.x.to,
                             greys,
                             (unsigned)stretch.n_steps,
                             SPECTRUM_ROWS};
  const VwBand scale = {.name = scene_text(scene,
                                           "white %.0f dBFS and less, black "
                                           "%.0f dBFS",
                                           white,
                                           white + SPECTRUM_DB),
                        .fill = VW_FILL_GREYS};
  scene_band(scene, panel, &scale);
  return VW_OK;
}

VwStatus
plot_spectrum(Scene* scene, ScenePanel* panel, const PlotSpan* span) {
  panel->panel.y = (VwAxis){
    LOWEST_HZ, fmin(HIGHEST_HZ, 0.5 * span->sound->rate_hz), true, NULL};
  return add_greys(scene, panel, span);
}

/* Pitch */

/// Break the line where a pitch jumps, as from one octave to another, and set
/// an axis to whole decades about it. Returns the steps of its longest
/// piece.
static size_t
part_pitches(float* pitch, size_t n, VwAxis* y) {
  float  before = NAN;
  size_t n_line = 0;
  size_t longest = 0;
  double least = HUGE_VAL;
  double most = 0.0;
  for (size_t i = 0; i < n; ++i) {
    const float now = pitch[i];
    if (fabs(log2((double)now / (double)before)) > PITCH_JUMP_OCTAVES) {
      pitch[i] = NAN;
    }
    before = now;
    n_line = isnan(pitch[i]) ? 0U : n_line + 1U;
    longest = n_line > longest ? n_line : longest;
    least = fmin(least, (double)pitch[i]);
    most = fmax(most, (double)pitch[i]);
  }
  *y = (VwAxis){pow(10.0, floor(log10(least))),
                pow(10.0, floor(log10(most)) + 1.0),
                true,
                NULL};
  return longest ? longest - 1U : 0U;
}

VwStatus
plot_pitch(Scene*           scene,
           const PlotSpan*  span,
           const VwStretch* pitched,
           const PlotUnit*  unit) {
  const double    rate_hz = span->sound->rate_hz;
  const size_t    n_frames = pitched->to_frame - pitched->from_frame;
  const size_t    n = (size_t)((double)n_frames / rate_hz / PITCH_STEP_S) + 1U;
  const VwStretch stretch = {pitched->from_frame,
                             pitched->to_frame,
                             n < PITCHES_MOST ? n : PITCHES_MOST};
  float* const    pitch = scene_room(scene, stretch.n_steps, sizeof(float));
  const double    step = vw_stretch_step(&stretch);
  const VwTrace   trace = {
      .pen = {VW_INK_BLUE, VW_STROKE_SOLID, 1.4},
      .x_first = x_of(span, unit, (double)pitched->from_frame + step / 2.0),
      .x_step = step * unit->per_s / rate_hz,
      .high = pitch,
      .n = stretch.n_steps};
  VwAxis         y = {0};
  const VwStatus st =
    pitch ? vw_pitch_follow(span->sound, &stretch, pitch) : VW_NO_MEMORY;
  if (st || step * (double)part_pitches(pitch, stretch.n_steps, &y) <
              PITCHED_LEAST * (double)(span->to_frame - span->from_frame)) {
    return st;
  }
  ScenePanel* const panel = scene_panel(scene, "Pitch, Hz", 60.0);
  panel->panel.y = y;
  plot_axis(panel, span, unit, NULL);
  scene_trace(scene, panel, &trace);
  return VW_OK;
}
