#include "card/internal.h"
#include "store/store.h"

#include <ctype.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#define REMEDY "write it again with `volleyweave convert` for this board"

// Lists of a board in words: eight sample rates at most.
#define LIST_BYTES 128

// The start of a FLAC file: mark, head of the first block, and 10 bytes before
// the sample rate of 20 bits, the channels of 3 and the bits of 5 (RFC 9639).
#define FLAC_BYTES 22U
#define FLAC_BITS_AT 20U

// More than vw_ogg_block_frames() wants.
#define OGG_BYTES 64U

/// Add a text to a list, with "or" between.
static void
add(char list[LIST_BYTES], int* n, const char* text) {
  if (*n >= 0 && *n < LIST_BYTES) {
    *n += snprintf(
      list + *n, (size_t)(LIST_BYTES - *n), "%s%s", *n ? " or " : "", text);
  }
}

static void
list_numbers(char            list[LIST_BYTES],
             const unsigned* numbers,
             unsigned        n_numbers) {
  int n = 0;
  list[0] = '\0';
  for (unsigned i = 0; i < n_numbers; ++i) {
    char text[16];
    (void)snprintf(text, sizeof(text), "%u", numbers[i]);
    add(list, &n, text);
  }
}

static bool
has_number(const unsigned* numbers, unsigned n_numbers, uint64_t number) {
  for (unsigned i = 0; i < n_numbers; ++i) {
    if (numbers[i] == number) {
      return true;
    }
  }
  return false;
}

/// What a file says of its frames; what it does not say is 0.
typedef struct {
  uint64_t rate_hz;
  uint64_t n_channels;
  uint64_t bits;
  bool     is_float;
} FileFormat;

static bool
is_encoded(const FileFormat* format, VwEncoding encoding) {
  static const struct {
    unsigned bits;
    bool     is_float;
  } codings[] = {[VW_ENCODING_U8] = {8, false},
                 [VW_ENCODING_S16] = {16, false},
                 [VW_ENCODING_S24] = {24, false},
                 [VW_ENCODING_FLOAT] = {32, true}};
  return codings[encoding].bits == format->bits &&
         codings[encoding].is_float == format->is_float;
}

static void
check_encoding(const FileFormat* format, const VwBoard* board, VwNotes* notes) {
  char list[LIST_BYTES] = "";
  int  n = 0;
  for (unsigned i = 0; i < board->n_encodings; ++i) {
    if (is_encoded(format, board->encodings[i])) {
      return;
    }
    add(list, &n, vw_encoding_name(board->encodings[i]));
  }
  vw_notes_fault(notes,
                 REMEDY,
                 "it has %" PRIu64 "-bit %s, the board takes %s",
                 format->bits,
                 format->is_float ? "floating point" : "PCM",
                 list);
}

/// Note what the board does not accept in a format.
static void
check_format(const FileFormat* format, const VwBoard* board, VwNotes* notes) {
  char list[LIST_BYTES];
  if (format->bits) {
    check_encoding(format, board, notes);
  }
  if (!has_number(
        board->sample_rates_hz, board->n_sample_rates, format->rate_hz)) {
    list_numbers(list, board->sample_rates_hz, board->n_sample_rates);
    vw_notes_fault(notes,
                   REMEDY,
                   "its sample rate is %" PRIu64 " Hz, the board takes %s",
                   format->rate_hz,
                   list);
  }
  if (!has_number(board->channels, board->n_channels, format->n_channels)) {
    list_numbers(list, board->channels, board->n_channels);
    vw_notes_fault(notes,
                   REMEDY,
                   "it has %" PRIu64 " channel%s, the board takes %s",
                   format->n_channels,
                   format->n_channels == 1U ? "" : "s",
                   list);
  }
}

/// Where the sound of a file can be read, what is known of it so far.
typedef struct {
  FileFormat   format;
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
  look->format = (FileFormat){header.rate_hz,
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
    check_format(&look->format, board, notes);
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
      check_format(&look->format, board, notes);
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
