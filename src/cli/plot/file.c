#include "base/status.h"
#include "card/card.h"
#include "cli/files/files.h"
#include "cli/message/figures.h"
#include "cli/message/message.h"
#include "cli/plot/plot.h"
#include "cli/plot/scene.h"
#include "store/store.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

int
plot_check(const Settings* settings) {
  if (!settings->plot) {
    return EXIT_DONE;
  }
  if (vw_path_is_folder(settings->plot)) {
    return say_usage(settings->plot,
                     "a folder: name a file for the picture in it");
  }
  return path_check_parent(settings->plot);
}

char*
plot_message(VwStatus status) {
  return status == VW_MISSING
           ? text_format(
               "the library that draws PNG is missing: build it with `ninja "
               "-C build`, or name an .svg")
           : status_message(status);
}

void
plot_say(const char* path, VwStatus status) {
  char* const message = plot_message(status);
  say(path, "%s", message);
  free(message);
}

VwPictureFormat
plot_format(const char* path) {
  return vw_path_ends_in(path, ".png") ? VW_PICTURE_PNG : VW_PICTURE_SVG;
}

// So much of each end is shown closely.
#define END_S 0.005

// What is lower than this hardly clicks, and need not fill a panel.
#define END_HEIGHT_LEAST 0.01

// More faults have no place on a picture; the report has all of them.
#define NOTES_MOST 12U

/// A file on its way onto a page.
typedef struct {
  Scene              scene;
  const CheckReport* report;
  VwSound            sound;
  PlotUnit           unit; ///< Of the whole.
} Work;

/* Faults */

/// A fault or a warning, counted from 1 over both.
typedef struct {
  const VwFault* fault;
  const char*    kind;
  size_t         number;
} Note;

static size_t
n_notes(const Work* work) {
  const VwFindings* const found = work->report->findings;
  return found->faults.n_faults + found->warnings.n_faults;
}

static Note
note_at(const Work* work, size_t i) {
  const VwFindings* const found = work->report->findings;
  const size_t            n_faults = found->faults.n_faults;
  return i < n_faults
           ? (Note){&found->faults.faults[i], "fault", i + 1U}
           : (Note){&found->warnings.faults[i - n_faults], "warning", i + 1U};
}

/// Mark where a fault lies: its number, and a stretch that is long.
static void
mark_note(Work*           work,
          ScenePanel*     panel,
          const PlotUnit* unit,
          const Note*     note) {
  const double per_frame = 1000.0 / work->sound.rate_hz;
  const double ends[2] = {per_frame * (double)note->fault->from_frame,
                          per_frame * (double)note->fault->to_frame};
  const bool   fault = !strcmp(note->kind, "fault");
  const VwMark mark = {
    .x = ends[0] * unit->per_s / 1000.0,
    .label = scene_text(&work->scene, "%s %zu", note->kind, note->number),
    .pen = {VW_INK_BLACK, fault ? VW_STROKE_SOLID : VW_STROKE_DASHED, 1.6}};
  if (note->fault->to_frame - note->fault->from_frame > 1U) {
    (void)plot_hatch(
      &(PlotMarking){&work->scene, panel, *unit, false}, ends, NULL);
  }
  scene_mark(&work->scene, panel, &mark);
}

static void
mark_notes(Work* work, ScenePanel* panel, const PlotUnit* unit) {
  for (size_t i = 0; i < n_notes(work) && i < NOTES_MOST; ++i) {
    const Note note = note_at(work, i);
    if (note.fault->placed) {
      mark_note(work, panel, unit, &note);
    }
  }
}

static void
add_notes(Work* work) {
  for (size_t i = 0; i < n_notes(work) && i < NOTES_MOST; ++i) {
    const Note  note = note_at(work, i);
    char* const safe = text_safe(note.fault->what);
    scene_note(&work->scene,
               scene_text(&work->scene,
                          "%s %zu: %s%s%s",
                          note.kind,
                          note.number,
                          safe,
                          *note.fault->remedy ? ": " : "",
                          note.fault->remedy));
    free(safe);
  }
  if (n_notes(work) > NOTES_MOST) {
    scene_note(&work->scene,
               scene_text(&work->scene,
                          "and %zu more, which `volleyweave check` lists",
                          n_notes(work) - NOTES_MOST));
  }
}

/* Panels */

static PlotSpan
span_of(const Work* work, size_t from, size_t to) {
  return (PlotSpan){.sound = &work->sound,
                    .from_frame = from,
                    .to_frame = to,
                    .pen = {VW_INK_BLUE, VW_STROKE_SOLID, 0.8}};
}

static void
add_wave(Work* work) {
  ScenePanel* const panel =
    scene_panel(&work->scene, "Waveform, full scale is 1", 120.0);
  const PlotSpan span = span_of(work, 0U, work->sound.n_frames);
  plot_axis(panel, &span, &work->unit, NULL);
  plot_wave(&work->scene, panel, &span, &work->unit);
  mark_notes(work, panel, &work->unit);
}

static VwStatus
add_level(Work* work) {
  ScenePanel* const panel =
    scene_panel(&work->scene, "Level over 10 ms above 100 Hz, dBFS", 100.0);
  PlotSpan span = span_of(work, 0U, work->sound.n_frames);
  span.pen.width = 1.4;
  plot_axis(panel,
            &span,
            &work->unit,
            scene_text(&work->scene, "time, %s", work->unit.word));
  const VwStatus st = plot_level(&work->scene, panel, &span, &work->unit);
  plot_fit_level(&work->scene, panel, NAN);
  return st;
}

/// An end of the file closely, with the silence beyond it.
static void
add_end(Work* work, bool last) {
  const PlotUnit unit = {1000.0, "ms"};
  const size_t   n_wanted = (size_t)(END_S * work->sound.rate_hz) + 1U;
  const size_t   n = work->sound.n_frames;
  const size_t   shown = n_wanted < n ? n_wanted : n;
  const PlotSpan span = span_of(work, last ? n - shown : 0U, last ? n : shown);
  ScenePanel* const panel =
    scene_panel(&work->scene, last ? "Its last 5 ms" : "Its first 5 ms", 55.0);
  plot_axis(panel, &span, &unit, "time, ms");
  panel->panel.y.to = END_HEIGHT_LEAST;
  plot_wave(&work->scene, panel, &span, &unit);
  mark_notes(work, panel, &unit);
}

/* All */

static void
add_facts(Work* work) {
  const VwFindings* const found = work->report->findings;
  const size_t            n_faults = found->faults.n_faults;
  const size_t            n_warnings = found->warnings.n_faults;
  const VwBoard* const    board = work->report->board;
  char                    text[40];
  scene_fact(&work->scene,
             scene_text(&work->scene,
                        "%s, %u Hz, %u channel%s; %s%s: %zu fault%s, %zu "
                        "warning%s",
                        line_duration(text,
                                      1000.0 * (double)work->sound.n_frames /
                                        work->sound.rate_hz),
                        work->sound.rate_hz,
                        work->sound.n_channels,
                        work->sound.n_channels == 1U ? "" : "s",
                        board ? "for the board " : "as a loop",
                        board ? board->name : "",
                        n_faults,
                        n_faults == 1U ? "" : "s",
                        n_warnings,
                        n_warnings == 1U ? "" : "s"));
}

static VwStatus
draw(Work* work, const char* path, VwBytes* bytes) {
  const SceneTitle title = {work->report->path,
                            "The file as it stands, and what is amiss with it",
                            "A file: its waveform, its ends and its level."};
  work->unit = plot_unit((double)work->sound.n_frames / work->sound.rate_hz);
  add_facts(work);
  add_wave(work);
  const VwStatus st = add_level(work);
  add_end(work, false);
  add_end(work, true);
  add_notes(work);
  return st ? st : scene_draw(&work->scene, &title, path, bytes);
}

VwStatus
plot_file(const CheckReport* report,
          const VwSound*     sound,
          const char*        path,
          VwBytes*           bytes) {
  Work           work = {.report = report, .sound = *sound};
  const VwStatus st = draw(&work, path, bytes);
  scene_clear(&work.scene);
  return st;
}
