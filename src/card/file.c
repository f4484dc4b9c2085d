#include "card/internal.h"
#include "store/store.h"

#include <ctype.h>
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

// Lists of a board in words: eight sample rates at most.
#define LIST_BYTES 128

/// What a board takes, in words.
typedef struct {
  char   text[LIST_BYTES];
  size_t n;
} List;

/// Add a text to a list, with "or" between.
static void
add(List* list, const char* text) {
  const size_t room = sizeof(list->text) - list->n;
  const int    n =
    snprintf(list->text + list->n, room, "%s%s", list->n ? " or " : "", text);
  list->n += (size_t)n < room ? (size_t)n : room - 1U;
}

/// Whether a number is one of those that a board takes; these are listed.
static bool
is_taken(uint64_t number, const unsigned* taken, unsigned n_taken, List* list) {
  bool is = false;
  *list = (List){.n = 0};
  for (unsigned i = 0; i < n_taken; ++i) {
    char text[16];
    (void)snprintf(text, sizeof(text), "%u", taken[i]);
    add(list, text);
    is |= taken[i] == number;
  }
  return is;
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
  List list = {.n = 0};
  for (unsigned i = 0; i < board->n_encodings; ++i) {
    if (is_encoded(format, board->encodings[i])) {
      return;
    }
    add(&list, vw_encoding_name(board->encodings[i]));
  }
  vw_notes_fault(notes,
                 vw_notes_remake(notes),
                 "it has %" PRIu64 "-bit %s, the board takes %s",
                 format->bits,
                 format->is_float ? "floating point" : "PCM",
                 list.text);
}

/// Note what the board does not accept in a format.
static void
check_format(const FileFormat* format, const VwBoard* board, VwNotes* notes) {
  List list;
  if (format->bits) {
    check_encoding(format, board, notes);
  }
  if (!is_taken(format->rate_hz,
                board->sample_rates_hz,
                board->n_sample_rates,
                &list)) {
    vw_notes_fault(notes,
                   vw_notes_remake(notes),
                   "its sample rate is %" PRIu64 " Hz, the board takes %s",
                   format->rate_hz,
                   list.text);
  }
  if (!is_taken(
        format->n_channels, board->channels, board->n_channels, &list)) {
    vw_notes_fault(notes,
                   vw_notes_remake(notes),
                   "it has %" PRIu64 " channel%s, the board takes %s",
                   format->n_channels,
                   format->n_channels == 1U ? "" : "s",
                   list.text);
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
look_at_wav(VwOpenFile*    file,
            const VwBoard* board,
            Look*          look,
            VwNotes*       notes) {
  const VwWavHeader   header = vw_wav_header_read(file);
  const VwLoopPoints* loop = &header.loop;
  const size_t        n_faults = notes->findings->faults.n_faults;
  if (file->failed) {
    return;
  }
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
                   "its sound is compressed (tag %" PRIu64 "), not plain",
                   header.coded);
    look->readable = false;
  } else if (header.has_format) {
    check_format(&look->format, board, notes);
  }
}

/// The longest block that may be padded in a file: 0 of whole blocks.
static unsigned
padded_frames(const VwPackedHead* told, const char* path) {
  VwBytes bytes = {0};
  if (!told->block_frames || vw_file_read(path, &bytes)) {
    return told->block_frames;
  }
  const bool whole = vw_ogg_is_whole(&bytes);
  vw_bytes_clear(&bytes);
  return whole ? 0U : told->block_frames;
}

/// Look at the start of a file in a container that libraries read.
static void
look_at_packed(VwOpenFile*    file,
               const VwBoard* board,
               Look*          look,
               VwNotes*       notes) {
  unsigned char data[VW_PACKED_HEAD_BYTES];
  VwPackedHead  told;
  const VwBytes head = {data, vw_file_get(file, data, sizeof(data), 0)};
  if (file->failed) {
    return;
  }
  look->readable = vw_container_look(board->container, &head, &told);
  look->format.bits = told.bits;
  look->facts.exact = told.exact;
  look->facts.block_frames = padded_frames(&told, notes->path);
  if (!look->readable) {
    vw_notes_fault(notes,
                   vw_notes_remake(notes),
                   "it is no %s file inside",
                   vw_container_name(board->container));
  }
}

static Look
look_at(const VwBoard* board, VwNotes* notes) {
  Look look = {0};
  if (vw_container_is_bare(board->container)) {
    return look; // nothing tells of its format
  }
  VwOpenFile file = {0};
  const bool opened = !vw_file_open(notes->path, &file);
  if (opened && board->container == VW_CONTAINER_WAV) {
    look_at_wav(&file, board, &look, notes);
  } else if (opened) {
    look_at_packed(&file, board, &look, notes);
  }
  if (!opened || file.failed) {
    vw_notes_fault(notes, vw_remedy(VW_UNREADABLE), "the file cannot be read");
  }
  if (opened) {
    vw_file_close(&file);
  }
  return look;
}

static void
check_heard(const VwBoard* board, Look* look, VwNotes* notes) {
  const VwReadOptions reading = vw_read_defaults();
  VwSound             sound = {0};
  VwReadFault         fault = {0};
  const VwStatus      st = vw_read(notes->path, &reading, &sound, &fault);
  if (st == VW_NO_MEMORY) {
    notes->status = st;
  } else if (st == VW_TOO_LONG) {
    vw_notes_warn(notes,
                  "cut it shorter to have it checked",
                  "it is longer than %.0f s: its sound was not checked",
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
    vw_notes_fault(
      notes,
      "make it again with --form loop-points",
      "its name says that it is a loop, but it has no loop points");
  }
}

void
vw_check_file(uint64_t n_bytes, const VwBoard* board, VwNotes* notes) {
  check_size(n_bytes, board, notes);
  if (!n_bytes) {
    vw_notes_fault(notes, vw_remedy(VW_EMPTY), "it is empty");
    return;
  }
  size_t n_before = 0;
  Look   look = look_at(board, notes);
  look.facts.has_part =
    vw_name_part(vw_path_name(notes->path), board, &look.facts.part, &n_before);
  check_marked(&look, board, notes);
  if (look.readable) {
    check_heard(board, &look, notes);
  }
}
