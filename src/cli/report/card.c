#include "cli/report/card.h"

#include "cli/boards/boards.h"
#include "cli/message/figures.h"
#include "cli/options/options.h"

static Figures*
error_of(VwStatus status, const char* at) {
  Figures* const made = figures_of_status(status);
  if (made) {
    figures_set(made, "path", at);
  }
  return made;
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

bool
report_check_json(const CheckReport* report, FILE* out) {
  const VwFindings* const found = report->findings;
  Figures* const          all = figures_of_command("check");
  Figures* const          board = figures_new();
  figures_set(board, "name", report->board->name);
  figures_set(all, "path", report->path);
  figures_set(all, "board", board);
  figures_set(all, "error", error_of(report->status, report->path));
  figures_set(all, "faults", faults_of(found ? &found->faults : NULL));
  figures_set(all, "warnings", faults_of(found ? &found->warnings : NULL));
  figures_set(all, "files_total", found ? found->n_files : 0U);
  figures_set(all, "bytes", found ? found->n_bytes : 0U);
  figures_set(all, "bytes_on_card", found ? found->n_bytes_on_card : 0U);
  figures_set_some(all, "capacity_bytes", report->board->capacity_bytes);
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
