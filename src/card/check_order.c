#include "card/check_order.h"

#include "store/store.h"

#include <stdlib.h>

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

static void
note_order(const VwEntry* before, const VwEntry* after, VwNotes* together) {
  char* const path = vw_path_join(together->path, after->path);
  VwNotes     notes = {
        .findings = together->findings, .path = path, .status = together->status};
  if (!path) {
    together->status = VW_NO_MEMORY;
    return;
  }
  vw_notes_fault(&notes,
                 "put them on the card with `volleyweave deliver`",
                 "it was written before %s, and this board plays in the order "
                 "written",
                 vw_path_name(before->path));
  together->status = notes.status;
  free(path);
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
      note_order(before, after, notes);
      noted = true;
    }
  }
}
