#include "card/internal.h"
#include "store/store.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

// File names are the longest things told of; a system's are 255 bytes.
#define TEXT_BYTES 1024

const char*
vw_notes_remake(const VwNotes* notes) {
  return vw_is_own_output(notes->path)
           ? "make it again for this board: `volleyweave pack`, `loop` or "
             "`shot` with --board"
           : "write it again with `volleyweave convert` for this board";
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
