#include "base/size.h"
#include "card/internal.h"
#include "store/store.h"

#include <assert.h>
#include <errno.h>
#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

// File names are the longest things told of; a system's are 255 bytes.
#define TEXT_BYTES 1024

const char*
vw_notes_remake(const VwNotes* notes) {
  return vw_is_own_output(notes->path)
           ? "make it again for this board with --board"
           : "write it again with `volleyweave convert`";
}

void
vw_notes_place(VwNotes* notes, size_t from, size_t to) {
  notes->placed = true;
  notes->from_frame = from;
  notes->to_frame = to;
}

static void
note(VwNotes* notes, VwFaults* list, const char* remedy, const char* what) {
  if (!notes->status) {
    notes->status = vw_faults_add(list, notes->path, 0, what, remedy);
  }
  if (!notes->status && notes->placed) {
    VwFault* const fault = &list->faults[list->n_faults - 1U];
    fault->placed = true;
    fault->from_frame = notes->from_frame;
    fault->to_frame = notes->to_frame;
  }
  notes->placed = false;
}

void
vw_notes_fault(VwNotes* notes, const char* remedy, const char* format, ...) {
  char    what[TEXT_BYTES];
  va_list arguments;
  va_start(arguments, format);
  (void)vsnprintf(what, sizeof(what), format, arguments);
  va_end(arguments);
  note(notes, &notes->findings->faults, remedy, what);
}

void
vw_notes_warn(VwNotes* notes, const char* remedy, const char* format, ...) {
  char    what[TEXT_BYTES];
  va_list arguments;
  va_start(arguments, format);
  (void)vsnprintf(what, sizeof(what), format, arguments);
  va_end(arguments);
  note(notes, &notes->findings->warnings, remedy, what);
}

void
vw_notes_fault_of(VwNotes*    folder,
                  const char* name,
                  const char* remedy,
                  const char* format,
                  ...) {
  char        what[TEXT_BYTES];
  char* const path = vw_path_join(folder->path, name);
  VwNotes     notes = *folder;
  va_list     arguments;
  va_start(arguments, format);
  (void)vsnprintf(what, sizeof(what), format, arguments);
  va_end(arguments);
  notes.path = path;
  notes.status = path ? notes.status : VW_NO_MEMORY;
  note(&notes, &notes.findings->faults, remedy, what);
  folder->status = notes.status;
  free(path);
}

// Names that this program gives files of its own in folders of outputs.
#define OWN_START ".volleyweave"

// By these other systems keep what they know of a file beside it.
#define SHADOW_START "._"

#define DELETE "delete it, or move it away"

#ifdef __linux__
#  include <sys/vfs.h>
#endif

bool
vw_order_is_kept(const char* root) {
#ifdef __linux__
  // From linux/magic.h: FAT and exFAT.
  static const unsigned long kinds[] = {0x4D44UL, 0x2011BAB0UL};
  struct statfs              system;
  if (!statfs(root, &system)) {
    for (size_t i = 0; i < sizeof(kinds) / sizeof(kinds[0]); ++i) {
      if ((unsigned long)system.f_type == kinds[i]) {
        return true;
      }
    }
  }
#else
  (void)root;
#endif
  return false;
}

void
vw_check_order(const VwEntry* const* files,
               size_t                n_files,
               bool                  kept,
               VwNotes*              notes) {
  bool noted = false;
  for (size_t i = 1; i < n_files; ++i) {
    const VwEntry* const before = files[i - 1U];
    const VwEntry* const after = files[i];
    const bool           same = vw_tree_share_folder(before, after);
    const bool           wrong =
      kept ? after->place < before->place : after->written < before->written;
    noted = noted && same;
    if (same && wrong && !noted) {
      vw_notes_fault_of(notes,
                        after->path,
                        "write them with `volleyweave deliver`",
                        "it was written before %s, the order in which this "
                        "board plays",
                        vw_path_name(before->path));
      noted = true;
    }
  }
}

/// A file or a folder being checked.
typedef struct {
  const VwBoard*  board;
  VwNotes         notes; ///< On the whole of it; their path is where it is.
  const VwEntry** files; ///< The board's, by name. Owned.
  size_t          n_files;
} Check;

void
vw_findings_clear(VwFindings* findings) {
  if (findings) {
    vw_faults_clear(&findings->faults);
    vw_faults_clear(&findings->warnings);
    *findings = (VwFindings){0};
  }
}

static void
count_bytes(Check* check, uint64_t n_bytes) {
  VwFindings* const findings = check->notes.findings;
  findings->n_bytes += n_bytes;
  findings->n_bytes_on_card +=
    vw_size_on_card(n_bytes, findings->cluster_bytes);
}

/// How large the clusters are that the files take, or will take.
static uint64_t
find_cluster(const Check* check) {
  const VwBoard* const board = check->board;
  VwCardRoom           room = {.cluster_bytes = 1U};
  if (board->cluster_bytes > 1U || board->capacity_bytes ||
      vw_card_room(check->notes.path, &room)) {
    return board->cluster_bytes;
  }
  return room.cluster_bytes;
}

/* What does not belong there */

/// Note a file that is none of the board's.
static void
note_litter(const char* name, const VwBoard* board, VwNotes* notes) {
  const bool counts = board->order == VW_ORDER_WRITTEN;
  if (!strncmp(name, SHADOW_START, strlen(SHADOW_START))) {
    vw_notes_fault(
      notes,
      DELETE,
      "a hidden file of another system, which simple boards play or "
      "count");
  } else if (vw_name_promises(name) >= VW_PROMISE_CODES) {
    vw_notes_fault(notes,
                   DELETE,
                   "a sound that is no %s file: simple boards play or count it",
                   vw_container_ending(board->container));
  } else if (counts) {
    vw_notes_fault(notes, DELETE, "no sound, but this board counts all files");
  } else {
    vw_notes_warn(notes, DELETE, "no sound of the board: it takes up room");
  }
}

/// Whether a file is one of the board's; what is not is noted.
static bool
is_of_board(const VwEntry* entry, Check* check, VwNotes* notes) {
  const char* const name = vw_path_name(entry->path);
  if (!strncmp(name, OWN_START, strlen(OWN_START))) {
    return false; // a list of ours, which no delivery takes along
  }
  if (entry->kind == VW_ENTRY_CLOSED) {
    vw_notes_warn(notes,
                  "change its permissions, or delete it",
                  "a folder that cannot be looked into");
    return false;
  }
  if (entry->kind != VW_ENTRY_FILE) {
    vw_notes_fault(notes,
                   "put a file in its place",
                   "a symbolic link, a pipe or a device, which no card holds");
    return false;
  }
  count_bytes(check, entry->n_bytes);
  if (name[0] == '.' || !vw_name_is_of_board(name, check->board)) {
    note_litter(name, check->board, notes);
    return false;
  }
  return true;
}

/// Note a file that lies where the board does not look.
static void
check_place(const VwEntry* entry, const VwBoard* board, VwNotes* notes) {
  const char* const slash = strchr(entry->path, '/');
  if (slash && !board->naming.group_folders) {
    vw_notes_fault(notes,
                   "move it out of its folder",
                   "it lies in a folder, where this board does not look");
  } else if (slash && strchr(slash + 1, '/')) {
    vw_notes_fault(notes,
                   "move it up",
                   "it lies deeper than in one folder, where boards do not "
                   "look");
  }
}

static void
check_entry(const VwEntry* entry, Check* check) {
  char* const path = vw_path_join(check->notes.path, entry->path);
  VwNotes     notes = check->notes;
  notes.path = path;
  notes.status = path ? notes.status : VW_NO_MEMORY;
  if (entry->kind == VW_ENTRY_FOLDER) {
    count_bytes(check, check->notes.findings->cluster_bytes);
  } else if (path && is_of_board(entry, check, &notes)) {
    check->files[check->n_files++] = entry;
    check_place(entry, check->board, &notes);
    vw_check_name(check->board, &notes);
    vw_check_file(entry->n_bytes, check->board, &notes);
  }
  check->notes.status = notes.status;
  free(path);
}

/* All together */

static void
check_amounts(Check* check) {
  const VwBoard* const    board = check->board;
  const VwFindings* const found = check->notes.findings;
  if (board->files_max && check->n_files > board->files_max) {
    vw_notes_fault(&check->notes,
                   "leave some out",
                   "it has %zu files, the board takes %u",
                   check->n_files,
                   board->files_max);
  }
  if (board->capacity_bytes && found->n_bytes_on_card > board->capacity_bytes) {
    vw_notes_fault(&check->notes,
                   "leave some out, or give a lower --sample-rate",
                   "it takes %" PRIu64 " bytes on the card, %" PRIu64
                   " more than it holds",
                   found->n_bytes_on_card,
                   found->n_bytes_on_card - board->capacity_bytes);
  }
  if (!check->n_files) {
    vw_notes_fault(&check->notes,
                   "name another folder, or make its files first",
                   "there is no %s file that this board would play",
                   vw_container_ending(board->container));
  }
}

/// Check all names of a folder.
static void
check_folder(const VwTree* tree, Check* check) {
  VwNotes* const notes = &check->notes;
  for (size_t i = 0; !notes->status && i < tree->n_entries; ++i) {
    check_entry(&tree->entries[i], check);
  }
  if (notes->status) {
    return;
  }
  vw_check_names_together(check->files, check->n_files, check->board, notes);
  if (check->board->order == VW_ORDER_WRITTEN) {
    const bool kept = vw_order_is_kept(notes->path);
    vw_check_order(check->files, check->n_files, kept, notes);
  }
  notes->findings->n_files = check->n_files;
  check_amounts(check);
}

static void
read_folder(Check* check) {
  VwTree tree = {0};
  check->notes.status = vw_tree_read(check->notes.path, &tree);
  if (!check->notes.status) {
    check->files = calloc(tree.n_entries + 1U, sizeof(check->files[0]));
    check->notes.status = check->files ? VW_OK : VW_NO_MEMORY;
    check_folder(&tree, check);
  }
  free(check->files);
  vw_tree_clear(&tree);
}

/// Check one file alone.
static void
check_alone(Check* check, uint64_t n_bytes) {
  VwNotes* const notes = &check->notes;
  count_bytes(check, n_bytes);
  if (vw_name_is_of_board(vw_path_name(notes->path), check->board)) {
    vw_check_name(check->board, notes);
    vw_check_file(n_bytes, check->board, notes);
    check->n_files = 1U;
    notes->findings->n_files = 1U;
    check_amounts(check);
  } else {
    vw_notes_fault(notes,
                   vw_notes_remake(notes),
                   "it is no %s file, which is what the board plays",
                   vw_container_ending(check->board->container));
  }
}

VwStatus
vw_check(const char* path, const VwBoard* board, VwFindings* findings) {
  assert(path && board && findings);
  struct stat     status;
  VwFindings      made = {0};
  Check           check = {.board = board, .notes = {&made, .path = path}};
  VwStatus* const st = &check.notes.status;
  made.cluster_bytes = find_cluster(&check);
  if (stat(path, &status)) {
    *st = errno == ENOENT || errno == ENOTDIR ? VW_MISSING : VW_UNREADABLE;
  } else if (S_ISDIR(status.st_mode)) {
    read_folder(&check);
  } else if (S_ISREG(status.st_mode)) {
    check_alone(&check, (uint64_t)status.st_size);
  } else {
    *st = VW_NOT_REGULAR;
  }
  if (*st) {
    vw_findings_clear(&made);
    return *st;
  }
  *findings = made;
  return VW_OK;
}
