#include "cli/report/sections.h"

#include "base/ranges.h"
#include "burst/burst.h"
#include "cli/message/figures.h"
#include "store/store.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// As wide as the names of files are shown.
#define NAME_COLUMNS_MOST 60U

static bool
is_burst(const Report* report) {
  return report->family && report->family->plan.shots;
}

/// A loop or burst, of shots or of a sound that sounds on.
static bool
is_loop(const Report* report) {
  return is_burst(report) || (report->family && report->family->join.n_frames);
}

/* After the release */

static size_t
larger(size_t a, size_t b) {
  return a > b ? a : b;
}

void
overrun_add(Overrun* overrun, VwPart part, size_t n_frames) {
  overrun->n_frames[part] = larger(overrun->n_frames[part], n_frames);
}

bool
overrun_is_any(const VwBoard* board) {
  // Of three files the last is what is heard after the release.
  return board->release == VW_RELEASE_FINISHES ||
         board->repeat == VW_REPEAT_THREE_FILES;
}

size_t
overrun_frames(const Overrun* overrun) {
  const size_t* const n = overrun->n_frames;
  const size_t        main = larger(n[VW_PART_LOOP], n[VW_PART_BURST]);
  return larger(main, n[VW_PART_RUN_IN]) + n[VW_PART_RING_OUT];
}

/* Loop */

/// How long a loop or burst may go on after the release, to the end of what the
/// board plays; NaN where it stops, or where nothing is known of it.
static double
overrun_ms(const Report* report) {
  const VwFamily* const family = report->family;
  const Settings* const settings = report->settings;
  Overrun               overrun = {0};
  const bool            finishes = settings->has_board
                                     ? overrun_is_any(&settings->board)
                                     : settings->board_wish.overrun_max_s > 0.0;
  for (size_t i = 0; i < family->n_pieces; ++i) {
    const VwPiece* const piece = &family->pieces[i];
    overrun_add(&overrun, piece->part, piece->sound.n_frames);
  }
  return finishes
           ? 1000.0 * (double)overrun_frames(&overrun) / family->plan.rate_hz
           : (double)NAN;
}

Figures*
made_loop(const Report* report) {
  const VwFamily* const family = report->family;
  if (!is_loop(report)) {
    return NULL;
  }
  const VwPlan* const plan = &family->plan;
  Figures* const      loop = figures_new();
  figures_set(loop, "fire_rate_asked_per_s", plan->fire_rate_asked_per_s);
  figures_set(loop, "fire_rate_chosen", plan->chosen);
  figures_set(loop, "fire_rate_per_s", plan->fire_rate_per_s);
  figures_set(loop, "fire_rate_error_ppm", plan->error_ppm);
  figures_set(loop, "shots", plan->shots);
  figures_set(loop, "frames", plan->n_frames - plan->gap_frames);
  figures_set(loop, "period_ms", 1000.0 / plan->fire_rate_per_s);
  figures_set(
    loop, "gap_ms", 1000.0 * (double)plan->gap_frames / plan->rate_hz);
  figures_set(loop, "gap_heard", plan->uneven);
  figures_set(loop, "plain_fire_rate_per_s", plan->plain_fire_rate_per_s);
  figures_set(loop, "even_fire_rate_per_s", plan->even_fire_rate_per_s);
  figures_set(loop, "run_in_shots", family->run_in_shots);
  figures_set(loop, "variants", family->variants);
  figures_set(loop, "likeness_waveform", family->likeness.waveform);
  figures_set(loop, "likeness_envelope", family->likeness.envelope);
  figures_set(loop, "body_spread_db", family->likeness.body_db);
  figures_set(loop, "loudness_spread_lu", family->likeness.loudness_lu);
  figures_set(loop, "valley_db", family->valley_db);
  figures_set(loop, "tightening_db", family->tightening_db);
  figures_set(
    loop, "tightening", choice_word(words_tightening, (int)family->tightening));
  figures_set(loop, "join_residual_db", family->join_residual_db);
  figures_set(loop, "tail", choice_word(words_tail, (int)family->tail));
  figures_set(loop, "form", vw_form_name(family->form));
  figures_set(loop, "fade_cover_db", family->fade_cover_db);
  figures_set(loop, "gap_depth_db", family->gap_depth_db);
  figures_set(loop, "run_in_left_db", family->run_in_left_db);
  figures_set(loop, "buffer_frames", report->settings->family.buffer_frames);
  figures_set(loop, "overrun_ms", overrun_ms(report));
  figures_set(loop, "join", made_join(report));
  split_set_turns(loop, report);
  return loop;
}

/// What suits a board of another sort than a form's.
static const char*
suits_other(VwForm form) {
  static const char* const suits[] = {
    [VW_FORM_PIECES] =
      "if your board repeats ONE file while held: add --form whole-file",
    [VW_FORM_WHOLE_FILE] =
      "if your board plays a start, a middle and an end: --form pieces",
    [VW_FORM_LOOP_POINTS] =
      "if your board reads no loop points: --form whole-file instead",
    [VW_FORM_BURST] =
      "if your board repeats a file while held: --form whole-file",
  };
  return suits[form];
}

/// How much of their shots the takes leave out at most, ms; NaN: nothing.
static double
late_of(const Report* report) {
  double late_ms = 0.0;
  for (size_t i = 0; i < report->n_inputs; ++i) {
    late_ms = fmax(late_ms, report->family->uses[i].late_start_ms);
  }
  return late_ms > 0.0 ? late_ms : (double)NAN;
}

/// What words on a loop need beside.
static void
add_loop_words(Figures* loop, const Report* report) {
  const VwFamily* const family = report->family;
  const VwPlan* const   plan = &family->plan;
  const Settings* const settings = report->settings;
  const bool            repeats = family->form != VW_FORM_BURST;
  const double gap_ms = 1000.0 * (double)plan->gap_frames / plan->rate_hz;
  // Within the file the shots lie evenly; the gap then comes on top.
  const double even_ms = 1000.0 * (double)(plan->n_frames - plan->gap_frames) /
                         fmax(plan->shots, 1.0) / plan->rate_hz;
  figures_set(loop, "verbose", settings->verbose);
  figures_set(loop, "laid", !family->join.n_frames);
  if (family->join.n_frames) {
    figures_set_made(
      loop,
      "own_rate",
      found_rate(&report->inputs[0].facts, plan->fire_rate_per_s));
  }
  figures_set_made(loop, "turns", split_turns_words(report));
  add_join_words(loop, &family->join);
  figures_set(loop, "fires", plan->shots);
  figures_set(loop, "asked", settings->loop.fire_rate_text);
  figures_set(loop, "repeats", repeats);
  figures_set(loop, "sample_rate_hz", plan->rate_hz);
  figures_set(loop, "valley_asked_db", family->valley_asked_db);
  figures_set(loop, "varied", family->variants > 1U);
  figures_set(loop, "timing_ms", VW_VARIANT_TIMING_MS);
  figures_set(loop, "natural", family->tightening == VW_BEND_NATURAL);
  figures_set(loop, "tightened", family->tightening_db > 0.0);
  figures_set(loop, "late_ms", late_of(report));
  figures_set(loop, "exact", family->join_residual_db <= EXACT_DB);
  figures_set(loop,
              "faded",
              family->form == VW_FORM_WHOLE_FILE &&
                (!family->join.n_frames || settings->family.gap_ms > 0.0));
  figures_set(loop, "fade_ms", 1000.0 * VW_CYCLE_FADE_S);
  figures_set(loop, "suits", suits_other(family->form));
  figures_set(loop, "gap", plan->gap_frames && repeats);
  figures_set(loop, "even_ms", even_ms);
  figures_set(loop, "over_gap_ms", even_ms + gap_ms);
  figures_set(loop, "buffered", settings->family.buffer_frames > 1U);
  figures_set(
    loop, "board", settings->has_board ? report_board(&settings->board) : NULL);
}

static const Line loop_lines[] = {
  {NULL, "Made", "verbose"},
  {"made",
   "{own_rate?{own_rate}}{!own_rate?{fire_rate_per_s:r}} shots/s"
   "{!laid?, its own}{gap_heard?, slowed by the gap}"
   "{laid?, {tightened?tail {tightening_db:.1f} dB lower}"
   "{!tightened?tail untouched}}: {valley_db?{valley_db} of}{!valley_db?no} "
   "valley between shots",
   "!verbose fires",
   true},
  {"fire rate",
   "{fire_rate_asked_per_s} shots per second "
   "{fire_rate_chosen?chosen}{!fire_rate_chosen?asked ({asked})}, "
   "{fire_rate_per_s} made{gap_heard?, slowed by the gap}",
   "verbose laid"},
  {"fire rate",
   "{own_rate?{own_rate}}{!own_rate?{fire_rate_per_s}} shots per second, its "
   "own{gap_heard?, slowed by the gap}",
   "verbose fires !laid"},
  {"period",
   "{period_ms:.4f} ms from shot to shot{gap_heard? on average}",
   "verbose fires"},
  {"cycle",
   "{shots} shot{shots:s}, {frames} frames at {sample_rate_hz} Hz, after a "
   "run-in of {run_in_shots} shot{run_in_shots:s}",
   "verbose repeats laid",
   true},
  {"turns", "{turns}", "turns", true},
  {"variants",
   "{variants} of each {turns?shot}{!turns?take}, up to {timing_ms:.6g} ms "
   "early or late; the lamp is steady",
   "varied"},
  {"neighbours",
   "alike by {likeness_waveform:.2f} in waveform, {likeness_envelope:.2f} in "
   "envelope at most (1: the same)",
   "verbose likeness_waveform"},
  {"",
   "within {body_spread_db:.1f} dB in their first 50 ms, "
   "{loudness_spread_lu:.1f} LU over their periods",
   "verbose likeness_waveform"},
  {"cycle",
   "{fires?{shots} shot{shots:s}, }{join.length_ms}, {frames} frames at "
   "{sample_rate_hz} Hz{join.run_in_ms?, after a run-in of {join.run_in_ms}}",
   "join",
   true},
  {"join",
   "{alike?it repeats: a likeness of {join.likeness:.4f}}"
   "{noise?noise-like: a likeness of {join.likeness:.2f}, yet of one level and "
   "spectrum ({join.spectra_apart_db:.1f} dB apart), as noise is, whose join "
   "is not heard}"
   "{!alike !noise?nothing repeats: a likeness of {join.likeness:.2f}, spectra "
   "{join.spectra_apart_db:.1f} dB apart}",
   "join !fires",
   true},
  {"join",
   "in the quiet before a shot, crossfaded over {join.blend_ms}; a "
   "{join_alike?good}{!join_alike?poor} likeness of {join.likeness:.2f}",
   "verbose join fires",
   true},
  {"",
   "crossfaded over {join.blend_ms}, the level about it "
   "{join.level_db:+.1f} dB to the loop's",
   "verbose join !fires"},
  {"run-in",
   "leads over at {join.run_in_take.at_ms} of its take, a "
   "{run_in_alike?good}{!run_in_alike?poor} likeness of "
   "{join.run_in_take.likeness:.2f}, its level matched by "
   "{join.run_in_take.matched_db:+.1f} dB",
   "join.run_in_take",
   true},
  {"ring-out",
   "joins in at {join.ring_out_take.at_ms} of its take, a "
   "{ring_out_alike?good}{!ring_out_alike?poor} likeness of "
   "{join.ring_out_take.likeness:.2f}, its level matched by "
   "{join.ring_out_take.matched_db:+.1f} dB",
   "join.ring_out_take",
   true},
  {"evened",
   "a level that changes by {join.evened_db:.1f} dB over the loop",
   "join.evened_db"},
  {"valley",
   "{valley_asked_db:.6g} dB asked, {valley_db} reached",
   "verbose laid valley_asked_db"},
  {"valley",
   "none asked, {valley_db} as it is",
   "verbose laid !valley_asked_db"},
  {"tightening",
   "tails {tightening_db:.1f} dB lower by the next shot{natural? below 1 kHz, "
   "up to 2.6 times that above 4 kHz}",
   "verbose tightened"},
  {"tightening", "none, tails are as recorded", "verbose laid !tightened"},
  {"late start", "{late_ms:.1f} ms into the shot", "verbose late_ms"},
  {"late start", "none, shots start at their attack", "verbose laid !late_ms"},
  {"seam",
   "{exact?exact}{!exact?{join_residual_db} relative to the loop}"
   "{faded?, but for {fade_ms:.6g} ms of fade at each end}",
   "verbose repeats"},
  {"",
   "the attack {fade_cover_db:+.1f} dB to the tails faded",
   "verbose fade_cover_db"},
  {"form", "{suits}", "!board"},
  {"board", "{board.name}, repeats: {board.repeat}", "board"},
  {"gap",
   "{gap_ms} of silence after each repeat, "
   "{gap_heard?heard}{!gap_heard?hidden in the last tail}",
   "gap",
   true},
  {"", "{gap_depth_db} below the crest", "verbose gap gap_depth_db !gap_heard"},
  {"heard",
   "{even_ms:.4g} ms from shot to shot, {over_gap_ms:.4g} ms over the gap",
   "gap gap_heard"},
  {"heard",
   "{fire_rate_per_s} shots per second; {plain_fire_rate_per_s}, had the gap "
   "not been allowed for",
   "verbose gap !gap_heard"},
  {"buffer",
   "{buffer_frames} frames, the cycle is a multiple of it",
   "verbose repeats buffered"},
  {"run-in",
   "cut short; what it lacks is {run_in_left_db:.1f} dB below the loop",
   "repeats run_in_left_db"},
  {"on release",
   "it plays on to the end, for {overrun_ms} at most",
   "verbose overrun_ms"},
  {"on release",
   "it stops at once: such a step is the board's own",
   "verbose board !overrun_ms"},
};

/* Lamp */

Figures*
made_lamp(const Report* report) {
  const VwFamily* const family = report->family;
  if (!is_burst(report)) {
    return NULL;
  }
  Figures* const lamp = figures_new();
  figures_set(lamp, "pulse_hz", family->lamp.pulse_hz);
  figures_set(lamp, "period_ms", family->lamp.period_ms);
  figures_set(lamp, "on_ms", family->lamp.on_ms);
  figures_set(lamp, "duty", family->lamp.duty);
  figures_set(lamp,
              "on_reason",
              choice_word(words_on_reason, (int)family->on_time.reason));
  figures_set(lamp, "shot_near_ms", family->on_time.near_ms);
  figures_set(lamp, "track", figures_of_track(&family->lamp_track));
  figures_set(
    lamp, "caution", caution_text(caution_of_flashes(family->lamp.pulse_hz)));
  return lamp;
}

static const Line lamp_lines[] = {
  {NULL, "Lamp", "verbose"},
  {"lamp",
   "{pulse_hz:r} flashes/s, {on_ms:.1f} ms each{cut?, half the period}; "
   "circuit: give `lamp` the "
   "{repeats?loop}{!repeats?fire rate}",
   "!verbose",
   true},
  {"flashes",
   "{pulse_hz:.6g} per second, one every {period_ms:.2f} ms",
   "verbose"},
  {"on-time", "{on_ms:.1f} ms, a duty cycle of {duty:%}", "verbose"},
  {"because", "{reason}", "verbose", true},
  {"lamp track",
   "channel 2, a tone of {track.tone_hz:.2f} Hz at {track.level_dbfs}",
   "track"},
  {"",
   "{track.pulses} pulse{track.pulses:s} of {track.on_ms:.1f} ms in the "
   "{repeats?loop}{!repeats?burst}",
   "track"},
  {"", "`volleyweave lamp` on the loop names what to wire", "track repeats"},
};

/* Files */

Figures*
made_files(const Report* report) {
  Figures* const files = figures_list();
  for (size_t i = 0; !report->status && i < report->n_files; ++i) {
    const MadeFile* const file = &report->files[i];
    Figures* const        made = figures_new();
    figures_set(made, "part", vw_part_name(file->part));
    figures_set(made, "path", file->path);
    figures_set(made, "frames", file->n_frames);
    figures_set(made,
                "loop_start_frame",
                file->loop_end ? (double)file->loop_start : (double)NAN);
    figures_set_some(made, "loop_end_frame", file->loop_end);
    figures_set(made, "bytes", file->bytes.n_bytes);
    figures_set(made, "sample_rate_hz", file->rate_hz);
    figures_set(made, "channels", file->n_channels);
    figures_set(
      made, "encoding", vw_encoding_name(report->family->format.encoding));
    figures_add(files, made);
  }
  return files;
}

/// A name that is safe to show. To be freed.
static char*
shown(const MadeFile* file) {
  return text_safe(strcmp(file->path, "-") ? file->path : "standard output");
}

static int
longest_name(const Report* report) {
  size_t longest = 0;
  for (size_t i = 0; i < report->n_files; ++i) {
    char* const  name = text_safe(report->files[i].path);
    const size_t n = strlen(name);
    longest = n > longest ? n : longest;
    free(name);
  }
  return (int)(longest > NAME_COLUMNS_MOST ? NAME_COLUMNS_MOST : longest);
}

static const Line few_files[] = {
  {"{dry_run?not written}{!dry_run?files}",
   "in {folder}: {names}; {sample_rate_hz} Hz, {channels} {encoding}",
   NULL,
   true}};

/// When a board that holds all of these files plays one; "" if there is no
/// choice.
static const char*
when_played(const Report* report, VwPart part) {
  const bool pieces = report->family->form == VW_FORM_PIECES;
  switch (part) {
    case VW_PART_SHOT:
      return report->family->plan.shots ? " (single)" : "";
    case VW_PART_RUN_IN:
      return " (start)";
    case VW_PART_RING_OUT:
      return " (end)";
    case VW_PART_LOOP:
      return pieces ? " (middle)" : " (while held)";
    case VW_PART_WHOLE:
    case VW_PART_BURST:
      break;
  }
  return "";
}

/// The names of the files, and when each is played. To be freed.
static char*
names_of(const Report* report) {
  const char* const name = vw_path_name(report->files[0].path);
  const size_t      n_stem = strcspn(name, ".");
  char*             names = NULL;
  for (size_t i = 0; i < report->n_files; ++i) {
    const MadeFile* const file = &report->files[i];
    // Of names that begin alike only the first is whole.
    const char* const whole = vw_path_name(file->path);
    const bool        alike =
      i && !strncmp(whole, name, n_stem) && whole[n_stem] == '.';
    names = text_more(names,
                      ", ",
                      "%s%s",
                      whole + (alike ? n_stem : 0U),
                      when_played(report, file->part));
  }
  return names;
}

/// Print the names of the files, and what all have in common.
static void
files_names(const Report* report, FILE* out) {
  const VwFormat* const format = &report->family->format;
  const char* const     first = report->n_files ? report->files[0].path : "";
  const char* const     name = vw_path_name(first);
  Figures* const        of = figures_new();
  figures_set_made(of,
                   "folder",
                   name == first
                     ? text_format("this folder")
                     : text_format("%.*s", (int)(name - first), first));
  figures_set(of, "channels", format->n_channels == 1U ? "mono" : "stereo");
  figures_set(of, "sample_rate_hz", format->rate_hz);
  figures_set(of, "encoding", vw_encoding_name(format->encoding));
  figures_set(of, "dry_run", report->settings->dry_run);
  figures_set_made(of, "names", report->n_files ? names_of(report) : NULL);
  figures_lines(of, LINES(few_files), out);
  figures_free(of);
}

/// Print each file with its length and its size.
static void
files_text(const Report* report, FILE* out) {
  const VwFormat* const format = &report->family->format;
  const int             width = longest_name(report);
  size_t                n_bytes = 0;
  fprintf(out,
          "Files (%s, %u Hz, %s)%s\n",
          format->n_channels == 1U ? "mono" : "stereo",
          format->rate_hz,
          vw_encoding_name(format->encoding),
          report->settings->dry_run ? ", not written: a dry run" : "");
  for (size_t i = 0; i < report->n_files; ++i) {
    const MadeFile* const file = &report->files[i];
    char* const           name = shown(file);
    fprintf(out,
            "  %-*s %8zu frames %9zu bytes\n",
            width,
            name,
            file->n_frames,
            file->bytes.n_bytes);
    n_bytes += file->bytes.n_bytes;
    free(name);
  }
  if (report->n_files > 1U) {
    fprintf(out, "  %-*s %25zu bytes\n", width, "together", n_bytes);
  }
}

/* All */

void
made_text(const Report* report, FILE* out) {
  Figures* const loop = made_loop(report);
  Figures* const lamp = made_lamp(report);
  if (loop) {
    add_loop_words(loop, report);
  }
  if (lamp) {
    figures_set(
      lamp,
      "reason",
      choice_word(words_on_because, (int)report->family->on_time.reason));
    figures_set(lamp, "verbose", report->settings->verbose);
    figures_set(lamp,
                "cut",
                report->family->on_time.reason == VW_ON_HALF &&
                  report->settings->family.lamp_on_ms > 0.0);
    figures_set(lamp, "repeats", report->family->form != VW_FORM_BURST);
  }
  figures_lines(loop, LINES(loop_lines), out);
  level_text(report, out);
  figures_lines(lamp, LINES(lamp_lines), out);
  if (lamp) {
    caution_lines(caution_of_flashes(report->family->lamp.pulse_hz),
                  report->cautioned,
                  out);
  }
  power_text(report, out);
  if (report->settings->verbose) {
    files_text(report, out);
  } else {
    files_names(report, out);
  }
  figures_free(loop);
  figures_free(lamp);
}
