#include "cli/report/report_boards.h"

#include "board/board.h"
#include "cli/boards/board_keys.h"
#include "cli/message/json_values.h"
#include "cli/options/format_options.h"

#include <stdlib.h>
#include <string.h>

static json_t*
list(const unsigned* values, unsigned n) {
  json_t* const made = json_array();
  for (unsigned i = 0; i < n; ++i) {
    json_array_append_new(made, json_integer((json_int_t)values[i]));
  }
  return made;
}

static json_t*
encodings(const VwBoard* board) {
  json_t* const made = json_array();
  for (unsigned i = 0; i < board->n_encodings; ++i) {
    json_array_append_new(
      made,
      json_string(choice_word(format_encodings, (int)board->encodings[i])));
  }
  return made;
}

/// A number; where there is a word for 0, that is null.
static json_t*
count(const BoardKey* key, const VwBoard* board) {
  const uint64_t n = board_value_count(key, board);
  return !n && key->zero ? json_null() : json_integer((json_int_t)n);
}

static json_t*
word(const BoardKey* key, const VwBoard* board) {
  char* const   text = board_value_print(key, board);
  json_t* const made = text ? json_string(text) : NULL;
  free(text);
  return made;
}

static json_t*
value(const BoardKey* key, const VwBoard* board) {
  const char* const place = (const char*)board + key->offset;
  switch (key->kind) {
    case BOARD_YES_NO:
      return json_boolean(*(const bool*)place);
    case BOARD_NUMBER:
    case BOARD_BYTES:
    case BOARD_FEW_BYTES:
      return count(key, board);
    case BOARD_MS:
      return json_real(*(const double*)(const void*)place);
    case BOARD_JOINER:
      return json_string(board->naming.joiner);
    case BOARD_ALLOWED:
      return *board->naming.allowed ? json_string(board->naming.allowed)
                                    : json_null();
    case BOARD_ENCODINGS:
      return encodings(board);
    case BOARD_SAMPLE_RATES:
      return list(board->sample_rates_hz, board->n_sample_rates);
    case BOARD_CHANNELS:
      return list(board->channels, board->n_channels);
    case BOARD_WORD:
      break;
  }
  return word(key, board);
}

bool
report_boards_json(const BoardReport* report, FILE* out) {
  json_t* const object = json_object();
  bool          good = object != NULL;
  json_object_set_new(object, "schema", json_integer(1));
  json_object_set_new(object, "command", json_string("boards"));
  json_object_set_new(object, "name", json_string(report->board->name));
  json_set_text(object, "path", report->path);
  json_object_set_new(object, "default", json_boolean(report->is_default));
  for (size_t i = 0; good && i < BOARD_KEYS; ++i) {
    const BoardKey* const key = &board_keys[i];
    good = !json_object_set_new(object, key->json, value(key, report->board));
  }
  if (!good) {
    json_decref(object);
    return false;
  }
  return json_print(object, out);
}
