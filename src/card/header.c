#include "card/internal.h"

#include <inttypes.h>

#define SAVE_AGAIN "save it again from the editor, or copy it again"

/// Sizes that the data's own header gets wrong. False where one is.
static bool
check_data(const VwWavHeader* header, VwNotes* notes) {
  if (!header->data_bytes) {
    vw_notes_fault(notes,
                   SAVE_AGAIN,
                   header->there_bytes
                     ? "its header states no sound, though %" PRIu64
                       " bytes follow"
                     : "there is no sound in it (%" PRIu64 " bytes)",
                   header->there_bytes);
    return false;
  }
  if (header->data_bytes == UINT32_MAX) {
    vw_notes_fault(
      notes, SAVE_AGAIN, "its header leaves the length of the sound open");
    return false;
  }
  if (header->data_bytes > header->there_bytes) {
    vw_notes_fault(notes,
                   SAVE_AGAIN,
                   "its header promises %" PRIu64
                   " bytes of sound, but %" PRIu64 " are there",
                   header->data_bytes,
                   header->there_bytes);
    return false;
  }
  return true;
}

/// What comes before the sound is played as noise, or not understood.
static void
check_start(const VwWavHeader* header, VwNotes* notes) {
  if (header->before.name[0]) {
    vw_notes_fault(notes,
                   vw_notes_remake(notes),
                   "a chunk `%s` of %" PRIu64
                   " bytes before the sound is played as noise",
                   header->before.name,
                   header->before.n_bytes);
  }
  if (header->tag == VW_TAG_EXTENSIBLE) {
    vw_notes_fault(notes,
                   vw_notes_remake(notes),
                   "its format has the tag 0xFFFE, which simple boards refuse");
  } else if (header->tag == VW_TAG_PCM &&
             header->format_bytes != VW_FORMAT_BYTES) {
    vw_notes_fault(notes,
                   vw_notes_remake(notes),
                   "its `fmt ` chunk has %" PRIu64
                   " bytes instead of 16: simple boards fail on it",
                   header->format_bytes);
  }
}

/// Whether what the header says of frames agrees with itself. False where the
/// sound ends amid one.
static bool
check_frames(const VwWavHeader* header, VwNotes* notes) {
  const uint64_t block = header->n_channels * header->bits / 8U;
  if (header->block_bytes != block ||
      header->second_bytes != block * header->rate_hz) {
    vw_notes_fault(notes,
                   vw_notes_remake(notes),
                   "its header contradicts itself: %" PRIu64
                   " bytes a frame, %" PRIu64 " a second",
                   header->block_bytes,
                   header->second_bytes);
  } else if (block && header->data_bytes % block) {
    vw_notes_fault(notes,
                   vw_notes_remake(notes),
                   "its sound ends amid a frame: %" PRIu64
                   " bytes are no multiple of %" PRIu64,
                   header->data_bytes,
                   block);
    return false;
  } else if (header->data_bytes % 2U) {
    vw_notes_fault(notes,
                   vw_notes_remake(notes),
                   "its sound has an odd number of bytes, %" PRIu64
                   ", which boards refuse",
                   header->data_bytes);
  }
  return true;
}

// Microsoft, "New Multimedia Data Types and Data Techniques" 3.0, 1994: the
// last frame of a loop is played.
static void
check_points(const VwWavHeader* header, VwNotes* notes) {
  const VwLoopPoints* const loop = &header->loop;
  const uint64_t            n_frames =
    header->block_bytes ? header->data_bytes / header->block_bytes : 0U;
  if (!loop->whole) {
    vw_notes_fault(notes,
                   vw_notes_remake(notes),
                   "its `smpl` chunk is too short for its loop points");
  } else if (!loop->n_loops) {
    vw_notes_fault(notes,
                   vw_notes_remake(notes),
                   "its `smpl` chunk has no loop points in it");
  } else if (loop->type) {
    vw_notes_fault(notes,
                   vw_notes_remake(notes),
                   "its loop does not run forward, as boards play it");
  } else if (loop->last >= n_frames || loop->start > loop->last) {
    vw_notes_fault(notes,
                   vw_notes_remake(notes),
                   "its loop points %" PRIu64 " to %" PRIu64
                   " lie outside its frames, 0 to %" PRIu64,
                   loop->start,
                   loop->last,
                   n_frames ? n_frames - 1U : 0U);
  }
}

static void
check_end(const VwWavHeader* header, const VwBoard* board, VwNotes* notes) {
  if (header->loop.there && board->loop_points) {
    check_points(header, notes);
  } else if (header->loop.there) {
    vw_notes_fault(notes,
                   vw_notes_remake(notes),
                   "it has loop points, which this board does not read");
  }
  if (header->behind.name[0]) {
    vw_notes_warn(notes,
                  vw_notes_remake(notes),
                  "a chunk `%s` of %" PRIu64 " bytes may be played as a click",
                  header->behind.name,
                  header->behind.n_bytes);
  }
  if (header->promised_bytes != header->file_bytes) {
    vw_notes_fault(notes,
                   vw_notes_remake(notes),
                   "its first header promises %" PRIu64
                   " bytes in all, but the file has %" PRIu64,
                   header->promised_bytes,
                   header->file_bytes);
  }
}

bool
vw_check_header(const VwWavHeader* header,
                const VwBoard*     board,
                VwNotes*           notes) {
  if (!header->is_wave || !header->has_data || !header->has_format) {
    vw_notes_fault(notes,
                   vw_notes_remake(notes),
                   !header->is_wave    ? "it is no WAV file inside"
                   : !header->has_data ? "it has a header but no sound"
                                       : "its format does not stand before "
                                         "its sound");
    return false;
  }
  check_start(header, notes);
  if (!check_data(header, notes)) {
    return false;
  }
  check_end(header, board, notes);
  return check_frames(header, notes);
}
