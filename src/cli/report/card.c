#include "cli/report/card.h"

#include "cli/boards/boards.h"
#include "cli/files/files.h"
#include "cli/message/figures.h"
#include "cli/options/options.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>

VwLoopAsked
loop_asked(const Settings* settings, const char* path) {
  const VwFindOptions* const said = &settings->family.find;
  const SoundName            name = sound_name_of(path);
  VwLoopAsked                asked = {.gap_ms = settings->family.gap_ms,
                                      .has_kind = said->has_kind,
                                      .kind = said->kind,
                                      .once = !said->has_kind && name.has_part &&
                                              name.part != VW_PART_LOOP,
                                      .part = name.part};
  if (!said->has_kind && sound_name_sounds_on(&name)) {
    asked.has_kind = true;
    asked.kind = VW_KIND_SUSTAINED;
  }
  return asked;
}

static Figures*
error_of(VwStatus status, const char* at) {
  Figures* const made = figures_of_status(status);
  if (made) {
    figures_set(made, "path", at);
  }
  return made;
}

const char*
report_size(char text[24], uint64_t n_bytes) {
  static const char* const units[] = {"bytes", "kB", "MB", "GB", "TB"};
  double                   size = (double)n_bytes;
  size_t                   i = 0;
  // What would be rounded to 1000 is one of the next unit.
  while (size >= 999.95 && i + 1U < sizeof(units) / sizeof(units[0])) {
    size /= 1000.0;
    ++i;
  }
  (void)snprintf(text, 24, i ? "%.1f %s" : "%.0f %s", size, units[i]);
  return text;
}

void
report_card_size(SizeText text,
                 uint64_t n_bytes,
                 uint64_t n_bytes_on_card,
                 uint64_t cluster_bytes) {
  const int n = snprintf(text, sizeof(SizeText), "%" PRIu64 " bytes", n_bytes);
  if (cluster_bytes > 1U && n > 0) {
    (void)snprintf(text + n,
                   sizeof(SizeText) - (size_t)n,
                   ", %" PRIu64 " on the card in clusters of %" PRIu64,
                   n_bytes_on_card,
                   cluster_bytes);
  }
}

/* Check */

/// Set a place in a file; null where a fault is of the whole.
static void
set_frame(Figures* of, const char* name, const VwFault* fault, uint64_t frame) {
  if (fault->placed) {
    figures_set(of, name, frame);
  } else {
    figures_set(of, name, (Figures*)NULL);
  }
}

static Figures*
faults_of(const VwFaults* faults) {
  Figures* const list = figures_list();
  for (size_t i = 0; faults && i < faults->n_faults; ++i) {
    const VwFault* const fault = &faults->faults[i];
    Figures* const       made = figures_new();
    figures_set(made, "path", fault->path);
    figures_set(made, "fault", fault->what);
    figures_set(made, "remedy", fault->remedy);
    set_frame(made, "from_frame", fault, fault->from_frame);
    set_frame(made, "to_frame", fault, fault->to_frame);
    figures_add(list, made);
  }
  return list;
}

/// The word for what a loop holds; NULL if nothing tells.
static const char*
kind_of(const VwLoopFacts* facts) {
  return facts->goes_on   ? vw_kind_name(VW_KIND_SUSTAINED)
         : facts->single  ? vw_kind_name(VW_KIND_SHOT)
         : facts->several ? vw_kind_name(VW_KIND_SEVERAL_SHOTS)
         : facts->shots   ? vw_kind_name(VW_KIND_RAPID_FIRE)
                          : NULL;
}

/// The figures of a loop; NULL without one.
static Figures*
loop_of(const LoopReport* loop) {
  const VwLoopFacts* const facts = loop->facts;
  if (!facts) {
    return NULL;
  }
  Figures* const made = figures_new();
  const double   ms = 1000.0 / loop->sound->rate_hz;
  figures_set(made, "from_frame", facts->start);
  figures_set(made, "frames", facts->n_frames);
  figures_set(made, "length_ms", ms * (double)facts->n_frames);
  figures_set(made, "sample_rate_hz", loop->sound->rate_hz);
  figures_set(made, "channels", loop->sound->n_channels);
  figures_set(made, "marked", facts->marked);
  figures_set(made, "part", facts->once ? vw_part_name(facts->part) : NULL);
  figures_set(made, "kind", kind_of(facts));
  figures_set(made, "single_shot", facts->single);
  figures_set_some(made, "shots", facts->shots);
  figures_set(made, "fire_rate_per_s", facts->fire_rate_per_s);
  figures_set(made, "jitter_ms", facts->jitter_ms);
  figures_set(made, "period_ms", ms * facts->cycle.period_frames);
  figures_set(made, "left_ms", ms * facts->cycle.left_frames);
  figures_set(made, "seam_times", facts->flaws[VW_FLAW_SEAM].size);
  figures_set(made, "seam_most_times", VW_SEAM_MOST);
  figures_set(made, "seam_step_times", facts->seam.step);
  figures_set(made, "seam_slope_times", facts->seam.slope);
  figures_set(made, "seam_residual_times", facts->seam.residual);
  figures_set(made, "silence_ms", facts->silence_ms);
  figures_set(made, "dc_offset", facts->offset);
  figures_set(made, "side_late_ms", facts->side_late_ms);
  figures_set(made, "loudness_lufs", facts->loudness_lufs);
  figures_set(made, "true_peak_dbtp", facts->true_peak_dbtp);
  return made;
}

static const Line loop_lines[] = {
  {NULL, "Loop {path}", "!part"},
  {NULL, "Played once, and no loop: {path}", "part"},
  {"length",
   "{length_ms}, {sample_rate_hz} Hz, {channels} channel{channels:s}"
   "{marked?, between its loop points}"},
  {"fire", "a single shot that dies away: no loop", "single_shot"},
  {"fire",
   "{shots} shots, not evenly spaced: no loop",
   "shots !single_shot !fire_rate_per_s"},
  {"fire",
   "{shots} shot{shots:s}, {fire_rate_per_s:r} per second"
   ", uneven by {jitter_ms}",
   "shots jitter_ms"},
  {"fire",
   "{shots} shot{shots:s}, {fire_rate_per_s:r} per second",
   "shots fire_rate_per_s !jitter_ms"},
  {"fire", "none: a sound that goes on", "kind !shots"},
  {"fire", "nothing that repeats evenly", "!kind"},
  {"seam",
   "{!clicks?no click}{clicks?a click} ({seam_times:.2f} of the sharpest edge; "
   "a click is heard from {seam_most_times:.1f})",
   "!part !single_shot"},
  {"silence", "{silence_ms} at the seam", "!part !single_shot"},
  {"level",
   "{loudness_lufs}, true peak {true_peak_dbtp}{!part?, as it repeats}"},
};

void
report_loop_text(const char* path, const LoopReport* loop, FILE* out) {
  Figures* const made = loop_of(loop);
  figures_set(made, "path", path);
  figures_set(made, "clicks", loop->facts->flaws[VW_FLAW_SEAM].there);
  figures_lines(made, LINES(loop_lines), out);
  figures_free(made);
}

bool
report_check_json(const CheckReport* report, FILE* out) {
  const VwFindings* const found = report->findings;
  Figures* const          all = figures_of_command("check");
  Figures* const          board = report->board ? figures_new() : NULL;
  if (board) {
    figures_set(board, "name", report->board->name);
  }
  figures_set(all, "path", report->path);
  figures_set(all, "board", board);
  if (!board) {
    figures_set(all, "loop", loop_of(&report->loop));
  }
  figures_set(all, "error", error_of(report->status, report->path));
  figures_set(all, "faults", faults_of(found ? &found->faults : NULL));
  figures_set(all, "warnings", faults_of(found ? &found->warnings : NULL));
  figures_set(all, "files_total", found ? found->n_files : 0U);
  figures_set(all, "bytes", found ? found->n_bytes : 0U);
  figures_set(all, "bytes_on_card", found ? found->n_bytes_on_card : 0U);
  figures_set(all, "cluster_bytes", found ? found->cluster_bytes : 0U);
  figures_set_some(
    all, "capacity_bytes", report->board ? report->board->capacity_bytes : 0U);
  return figures_json(all, out);
}

/* Mend */

/// The words for what was mended, with the figures of the flaw.
static const char* const mended_words[VW_N_FLAWS] = {
  [VW_FLAW_OFFSET] = "a constant of {size:.4f} of full scale taken off",
  [VW_FLAW_PADDING] = "{front_frames} frames of padding cut off its start",
  [VW_FLAW_GAP] = "{frames} frames of silence, or near it, cut off its ends",
  [VW_FLAW_CYCLE] = "{frames} frames cut off, to whole shots",
  [VW_FLAW_SEAM] = "led over within {seam_ms} of the seam",
};

static Figures*
mended_of(const MendReport* report) {
  Figures* const list = figures_list();
  for (int kind = 0; report->mending && kind < VW_N_FLAWS; ++kind) {
    const VwFlaw* const done = &report->mending->done[kind];
    if (!done->there) {
      continue;
    }
    Figures* const made = figures_new();
    figures_set(made, "size", done->size);
    figures_set(made, "front_frames", done->front);
    figures_set(made, "back_frames", done->back);
    figures_set(made, "frames", done->front + done->back);
    figures_set(made,
                "seam_ms",
                kind == VW_FLAW_SEAM
                  ? 1000.0 * (double)report->mending->seam_frames /
                      report->before.loop.sound->rate_hz
                  : (double)NAN);
    figures_set_made(made, "what", figures_words(made, mended_words[kind]));
    figures_add(list, made);
  }
  return list;
}

void
report_mend_text(const MendReport* report, FILE* out) {
  Figures* const list = mended_of(report);
  size_t         n = 0;
  for (; figures_entry(list, n); ++n) {
    line_wrap(out, "mended", figures_get(figures_entry(list, n), "what").text);
  }
  if (report->written) {
    line_print(
      out, "written", "%s, %zu bytes", report->written, report->n_bytes);
  }
  figures_free(list);
}

bool
report_mend_json(const MendReport* report, FILE* out) {
  const VwFindings* const before = report->before.findings;
  const VwFindings* const after = report->after.findings;
  Figures* const          all = figures_of_command("mend");
  Figures* const          files = figures_list();
  if (report->written) {
    Figures* const file = figures_new();
    figures_set(file, "path", report->written);
    figures_set(file, "bytes", report->n_bytes);
    figures_add(files, file);
  }
  figures_set(all, "path", report->before.path);
  figures_set(
    all, "error", error_of(report->before.status, report->before.path));
  figures_set(all, "found", faults_of(before ? &before->faults : NULL));
  figures_set(all, "mended", mended_of(report));
  figures_set(all, "loop", loop_of(&report->after.loop));
  figures_set(all, "faults", faults_of(after ? &after->faults : NULL));
  figures_set(all, "warnings", faults_of(after ? &after->warnings : NULL));
  figures_set(all, "files", files);
  return figures_json(all, out);
}

/* Delivery */

static Figures*
paths_of(const VwDelivered* files, size_t n_files) {
  Figures* const list = figures_list();
  for (size_t i = 0; i < n_files; ++i) {
    Figures* const made = figures_new();
    figures_set(made, "path", files[i].path);
    figures_set(made, "bytes", files[i].n_bytes);
    figures_add(list, made);
  }
  return list;
}

bool
report_delivery_json(const DeliveryReport* report, FILE* out) {
  const VwDelivery* const of = report->delivery;
  Figures* const          all = figures_of_command("deliver");
  figures_set(all, "from", report->from);
  figures_set(all, "to", report->to);
  figures_set(all, "error", error_of(report->status, of->at));
  figures_set(all, "dry_run", report->dry_run);
  figures_set(all, "verified", report->verified);
  figures_set(all, "ordered", of->ordered);
  figures_set(all, "mounted", of->mounted);
  figures_set(all, "files", paths_of(of->files, of->n_files));
  figures_set(all, "cleared", paths_of(of->old, of->n_old));
  figures_set(all, "litter", paths_of(of->left, of->n_left));
  figures_set(all, "warnings", faults_of(&of->apart));
  figures_set(all, "bytes", of->n_bytes);
  figures_set(all, "bytes_on_card", of->n_bytes_on_card);
  figures_set(all, "cluster_bytes", of->cluster_bytes);
  figures_set(all, "bytes_free", of->n_bytes_free);
  figures_set(all,
              "cautions",
              caution_figures(VW_CAUTION_HEARING | VW_CAUTION_LOOK_ALIKE));
  return figures_json(all, out);
}

/* Boards */

/// The values of a list: encodings by their words, all else as numbers.
static Figures*
list_of(const BoardKey* key, const VwBoard* board) {
  Figures* const        made = figures_list();
  unsigned              n = 0;
  const unsigned* const values = board_value_list(key, board, &n);
  for (unsigned i = 0; i < n; ++i) {
    if (key->words == format_encodings) {
      figures_add(made, choice_word(key->words, (int)values[i]));
    } else {
      figures_add(made, values[i]);
    }
  }
  return made;
}

/// Set a number; where there is a word for 0, that is null.
static void
set_count(Figures* all, const BoardKey* key, const VwBoard* board) {
  const uint64_t n = board_value_count(key, board);
  if (key->zero) {
    figures_set_some(all, key->json, n);
  } else {
    figures_set(all, key->json, n);
  }
}

static void
set_value(Figures* all, const BoardKey* key, const VwBoard* board) {
  const char* const place = (const char*)board + key->offset;
  switch (key->kind) {
    case BOARD_YES_NO:
      figures_set(all, key->json, *(const bool*)place);
      return;
    case BOARD_NUMBER:
    case BOARD_BYTES:
    case BOARD_FEW_BYTES:
      set_count(all, key, board);
      return;
    case BOARD_MS:
      figures_set(all, key->json, *(const double*)(const void*)place);
      return;
    case BOARD_TEXT:
      figures_set(all, key->json, key->zero && !*place ? NULL : place);
      return;
    case BOARD_LIST:
      figures_set(all, key->json, list_of(key, board));
      return;
    case BOARD_WORD:
      figures_set_made(all, key->json, board_value_print(key, board));
      return;
  }
}

bool
report_boards_json(const BoardReport* report, FILE* out) {
  Figures* const all = figures_of_command("boards");
  figures_set(all, "name", report->board->name);
  figures_set(all, "path", report->path);
  figures_set(all, "default", report->is_default);
  for (size_t i = 0; i < BOARD_KEYS; ++i) {
    set_value(all, &board_keys[i], report->board);
  }
  return figures_json(all, out);
}
