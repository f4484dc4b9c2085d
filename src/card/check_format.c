#include "card/check_format.h"

#include "board/board.h"

#include <inttypes.h>
#include <stdio.h>

#define REMEDY "write it again with `volleyweave convert` for this board"

// Lists of a board in words: eight sample rates at most.
#define LIST_BYTES 128

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

static bool
is_encoded(const VwFileFormat* format, VwEncoding encoding) {
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
check_encoding(const VwFileFormat* format,
               const VwBoard*      board,
               VwNotes*            notes) {
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

void
vw_check_format(const VwFileFormat* format,
                const VwBoard*      board,
                VwNotes*            notes) {
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
