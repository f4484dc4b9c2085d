#include "cli/report/overrun.h"

#include "board/board.h"

static size_t
larger(size_t a, size_t b) {
  return a > b ? a : b;
}

void
overrun_add(Overrun* overrun, VwPart part, size_t n_frames) {
  switch (part) {
    case VW_PART_LOOP:
    case VW_PART_BURST:
      overrun->n_main = larger(overrun->n_main, n_frames);
      break;
    case VW_PART_RUN_IN:
      overrun->n_run_in = larger(overrun->n_run_in, n_frames);
      break;
    case VW_PART_RING_OUT:
      overrun->n_ring_out = larger(overrun->n_ring_out, n_frames);
      break;
    case VW_PART_SHOT:
    case VW_PART_WHOLE:
      break;
  }
}

bool
overrun_is_any(const VwBoard* board) {
  // Of three files the last is what is heard after the release.
  return board->release == VW_RELEASE_FINISHES ||
         board->repeat == VW_REPEAT_THREE_FILES;
}

size_t
overrun_frames(const Overrun* overrun) {
  return larger(overrun->n_main, overrun->n_run_in) + overrun->n_ring_out;
}
