#include "card/check_file.h"

#include "board/board.h"
#include "card/check_format.h"
#include "card/check_header.h"
#include "card/check_name.h"
#include "card/check_sound.h"
#include "container/container.h"
#include "store/store.h"

#include <ctype.h>
#include <fcntl.h>
#include <inttypes.h>
#include <string.h>
#include <unistd.h>

// The start of a FLAC file: mark, head of the first block, and 10 bytes before
// the sample rate of 20 bits, the channels of 3 and the bits of 5 (RFC 9639).
#define FLAC_BYTES 22U
#define FLAC_BITS_AT 20U

// More than vw_ogg_block_frames() wants.
#define OGG_BYTES 64U

/// Where the sound of a file can be read, what is known of it so far.
typedef struct {
  VwFileFormat format;
  VwSoundFacts facts;
  bool         readable;
  bool         amiss; ///< A fault of its header is noted.
} Look;

/// Look at the header of a WAV file.
static void
look_at_wav(int fd, const VwBoard* board, Look* look, VwNotes* notes) {
  const VwWavHeader   header = vw_wav_header_read(fd);
  const VwLoopPoints* loop = &header.loop;
  const size_t        n_faults = notes->findings->faults.n_faults;
  look->readable = vw_check_header(&header, board, notes);
  look->amiss = notes->findings->faults.n_faults > n_faults;
  look->format = (VwFileFormat){header.rate_hz,
                                header.n_channels,
                                header.bits,
                                header.coded == VW_TAG_FLOAT};
  look->facts.exact = true;
  look->facts.has_loop = board->loop_points && loop->there && loop->whole &&
                         loop->n_loops && loop->start <= loop->last;
  look->facts.loop_start = (size_t)loop->start;
  look->facts.loop_last = (size_t)loop->last;
  if (header.has_format && header.coded != VW_TAG_PCM &&
      header.coded != VW_TAG_FLOAT) {
    vw_notes_fault(notes,
                   "write it again with `volleyweave convert`",
                   "its sound is packed (tag %" PRIu64 "), not plain",
                   header.coded);
    look->readable = false;
  } else if (header.has_format) {
    vw_check_format(&look->format, board, notes);
  }
}

static bool
starts_with(int fd, const char* mark) {
  char head[4] = {0};
  return pread(fd, head, sizeof(head), 0) == (ssize_t)sizeof(head) &&
         !memcmp(head, mark, sizeof(head));
}

static uint64_t
flac_bits(int fd) {
  unsigned char head[FLAC_BYTES] = {0};
  if (pread(fd, head, sizeof(head), 0) != (ssize_t)sizeof(head)) {
    return 0;
  }
  const unsigned two =
    (unsigned)head[FLAC_BITS_AT] << 8U | head[FLAC_BITS_AT + 1U];
  return (two >> 4U & 0x1FU) + 1U;
}

/// Frames of the longest block of an Ogg file, 0 where none is told.
static unsigned
ogg_block_frames(int fd) {
  unsigned char head[OGG_BYTES] = {0};
  const ssize_t n = pread(fd, head, sizeof(head), 0);
  const VwBytes bytes = {head, n > 0 ? (size_t)n : 0U};
  return vw_ogg_block_frames(&bytes);
}

/// Look at the start of a file in a container that libraries read.
static void
look_at_packed(int fd, const VwBoard* board, Look* look, VwNotes* notes) {
  const bool flac = board->container == VW_CONTAINER_FLAC;
  look->readable = starts_with(fd, flac ? "fLaC" : "OggS");
  look->facts.exact = flac;
  look->facts.block_frames = flac ? 0U : ogg_block_frames(fd);
  look->format.bits = flac && look->readable ? flac_bits(fd) : 0U;
  if (!look->readable) {
    vw_notes_fault(notes,
                   "write it again with `volleyweave convert` for this board",
                   "it is no %s file inside",
                   flac ? "FLAC" : "Ogg");
  }
}

static Look
look_at(const char* path, const VwBoard* board, VwNotes* notes) {
  Look       look = {0};
  const bool text = board->container == VW_CONTAINER_RAW ||
                    board->container == VW_CONTAINER_C_ARRAY;
  const int fd = text ? -1 : open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
  if (text) {
    return look; // nothing tells of its format
  }
  if (fd < 0) {
    vw_notes_fault(notes, vw_remedy(VW_UNREADABLE), "the file cannot be read");
    return look;
  }
  if (board->container == VW_CONTAINER_WAV) {
    look_at_wav(fd, board, &look, notes);
  } else {
    look_at_packed(fd, board, &look, notes);
  }
  (void)close(fd);
  return look;
}

static void
check_heard(const char*    path,
            const VwBoard* board,
            Look*          look,
            VwNotes*       notes) {
  const VwReadOptions reading = vw_read_defaults();
  VwSound             sound = {0};
  VwReadFault         fault = {0};
  const VwStatus      st = vw_read(path, &reading, &sound, &fault);
  if (st == VW_NO_MEMORY) {
    notes->status = st;
  } else if (st == VW_TOO_LONG) {
    vw_notes_warn(notes,
                  "",
                  "it is longer than %.0f s: its sound was not listened to",
                  reading.seconds_max);
  } else if (st && !look->amiss && st != VW_NAME_NOT_UTF8) {
    const char* const what = vw_strerror(st);
    vw_notes_fault(
      notes, vw_remedy(st), "%c%s", tolower((unsigned char)what[0]), what + 1);
  } else if (!st) {
    if (board->container != VW_CONTAINER_WAV) {
      look->format.rate_hz = sound.rate_hz;
      look->format.n_channels = sound.n_channels;
      vw_check_format(&look->format, board, notes);
    }
    vw_check_sound(&sound, &look->facts, board, notes);
  }
  vw_sound_clear(&sound);
}

static void
check_size(uint64_t n_bytes, const VwBoard* board, VwNotes* notes) {
  if (board->file_bytes_max && n_bytes > board->file_bytes_max) {
    vw_notes_fault(
      notes,
      "make it shorter, or with a lower sample rate, fewer bits or channels",
      "it has %" PRIu64 " bytes, the board takes %" PRIu64 " a file",
      n_bytes,
      board->file_bytes_max);
  }
}

/// A loop that a board cannot know for one.
static void
check_marked(const Look* look, const VwBoard* board, VwNotes* notes) {
  if (look->readable && board->repeat == VW_REPEAT_LOOP_POINTS &&
      look->facts.has_part && look->facts.part == VW_PART_LOOP &&
      !look->facts.has_loop) {
    vw_notes_fault(notes,
                   "make it again with `volleyweave loop --form loop-points`",
                   "it is named a loop, but has no loop points that count");
  }
}

void
vw_check_file(const char*    path,
              uint64_t       n_bytes,
              const VwBoard* board,
              VwNotes*       notes) {
  check_size(n_bytes, board, notes);
  if (!n_bytes) {
    vw_notes_fault(notes, vw_remedy(VW_EMPTY), "it is empty");
    return;
  }
  size_t n_before = 0;
  Look   look = look_at(path, board, notes);
  look.facts.has_part =
    vw_name_part(vw_path_name(path), board, &look.facts.part, &n_before);
  check_marked(&look, board, notes);
  if (look.readable) {
    check_heard(path, board, &look, notes);
  }
}
