#include "cli/boards/board_value.h"

#include "board/board.h"
#include "cli/message/say.h"
#include "cli/options/format_options.h"
#include "cli/textfile/textfile.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// What no file system, or not every one, takes in a name.
#define NOWHERE "/\\:*?\"<>|"

// Enumerations are set as numbers of this size.
static_assert(sizeof(VwContainer) == sizeof(unsigned), "enums are unsigned");

static const Choice yes_no[] = {{"yes", 1}, {"no", 0}, {NULL, 0}};

static void*
place_in(const BoardKey* key, VwBoard* board) {
  return (char*)board + key->offset;
}

static const void*
find_in(const BoardKey* key, const VwBoard* board) {
  return (const char*)board + key->offset;
}

/* Read */

/// Read a number; the word for 0 counts too.
static bool
read_number(const BoardKey* key,
            const char*     shown,
            const char*     value,
            double*         number) {
  if (key->zero && !strcmp(value, key->zero)) {
    *number = 0.0;
    return true;
  }
  if (key->zero && !strcmp(value, "0")) {
    say(shown, "0 is no %s: give one, or %s", key->name, key->zero);
    return false;
  }
  return units_read(key->quantity, shown, value, number);
}

/// Read names of few characters that stand in file names.
static bool
read_characters(const char* shown, const char* value, size_t room, char* text) {
  for (const char* at = value; *at; ++at) {
    if (*at < ' ' || *at > '~' || strchr(NOWHERE, *at)) {
      say(shown,
          "it holds what not every file system takes in a name: choose "
          "other characters, such as _ or -");
      return false;
    }
  }
  if (strlen(value) >= room) {
    say(shown, "%zu characters are the most: leave some out", room - 1U);
    return false;
  }
  memset(text, 0, room);
  memcpy(text, value, strlen(value));
  return true;
}

static bool
read_allowed(const char* shown, const char* value, VwNaming* naming) {
  if (!strcmp(value, "any")) {
    naming->allowed[0] = '\0';
    return true;
  }
  if (!*value) {
    say(shown, "no character is named: give some, as in _-, or any");
    return false;
  }
  return read_characters(
    shown, value, sizeof(naming->allowed), naming->allowed);
}

/* Lists */

/// A list being read: what it may hold, and what it holds.
typedef struct {
  const Choice* words; ///< NULL: sample rates.
  unsigned      most;
  unsigned      values[8];
  unsigned      n;
} List;

static bool
read_item(const char* shown, const char* item, List* list) {
  int      word = 0;
  unsigned value = 0;
  if (!*item) {
    say(shown, "nothing where a value is meant: give one, or take a comma out");
    return false;
  }
  if (!(list->words ? choose(list->words, shown, item, &word)
                    : units_read_sample_rate(shown, item, &value))) {
    return false;
  }
  value = list->words ? (unsigned)word : value;
  for (unsigned i = 0; i < list->n; ++i) {
    if (list->values[i] == value) {
      say(shown, "%s stands twice: name it once", item);
      return false;
    }
  }
  if (list->n == list->most) {
    say(shown, "%u are the most: leave some out", list->most);
    return false;
  }
  list->values[list->n++] = value;
  return true;
}

/// Read what stands between commas.
static bool
read_list(const char* shown, const char* value, List* list) {
  bool good = true;
  for (const char* at = value; good && at;) {
    const size_t n = strcspn(at, ",");
    const size_t before = strspn(at, " \t");
    size_t       end = n;
    while (end > before && (at[end - 1U] == ' ' || at[end - 1U] == '\t')) {
      --end;
    }
    const int   length = end > before ? (int)(end - before) : 0;
    char* const item = text_format("%.*s", length, at + before);
    good = item && read_item(shown, item, list);
    free(item);
    at = at[n] ? at + n + 1U : NULL;
  }
  return good;
}

static bool
read_encodings(const char* shown, const char* value, VwBoard* board) {
  List list = {.words = format_encodings, .most = 4};
  if (!read_list(shown, value, &list)) {
    return false;
  }
  memset(board->encodings, 0, sizeof(board->encodings));
  for (unsigned i = 0; i < list.n; ++i) {
    board->encodings[i] = (VwEncoding)list.values[i];
  }
  board->n_encodings = list.n;
  return true;
}

static bool
read_sample_rates(const char* shown, const char* value, VwBoard* board) {
  List list = {.most = 8};
  if (!read_list(shown, value, &list)) {
    return false;
  }
  memcpy(board->sample_rates_hz, list.values, sizeof(board->sample_rates_hz));
  board->n_sample_rates = list.n;
  return true;
}

static bool
read_channels(const char* shown, const char* value, VwBoard* board) {
  List list = {.words = format_channels, .most = 2};
  if (!read_list(shown, value, &list)) {
    return false;
  }
  memcpy(board->channels, list.values, sizeof(board->channels));
  board->n_channels = list.n;
  return true;
}

static bool
read_word(const BoardKey* key,
          const char*     shown,
          const char*     value,
          VwBoard*        board) {
  const bool flag = key->kind == BOARD_YES_NO;
  int        word = 0;
  if (!choose(flag ? yes_no : key->words, shown, value, &word)) {
    return false;
  }
  if (flag) {
    *(bool*)place_in(key, board) = word != 0;
  } else {
    *(unsigned*)place_in(key, board) = (unsigned)word;
  }
  return true;
}

static bool
read_amount(const BoardKey* key,
            const char*     shown,
            const char*     value,
            VwBoard*        board) {
  double number = 0.0;
  if (!read_number(key, shown, value, &number)) {
    return false;
  }
  if (key->kind == BOARD_MS) {
    *(double*)place_in(key, board) = number;
  } else if (key->kind == BOARD_BYTES) {
    *(uint64_t*)place_in(key, board) = (uint64_t)number;
  } else {
    *(unsigned*)place_in(key, board) = (unsigned)number;
  }
  return true;
}

bool
board_value_read(const BoardKey* key,
                 const char*     shown,
                 const char*     value,
                 VwBoard*        board) {
  switch (key->kind) {
    case BOARD_WORD:
    case BOARD_YES_NO:
      return read_word(key, shown, value, board);
    case BOARD_NUMBER:
    case BOARD_BYTES:
    case BOARD_FEW_BYTES:
    case BOARD_MS:
      return read_amount(key, shown, value, board);
    case BOARD_JOINER:
      return read_characters(
        shown, value, sizeof(board->naming.joiner), board->naming.joiner);
    case BOARD_ALLOWED:
      return read_allowed(shown, value, &board->naming);
    case BOARD_ENCODINGS:
      return read_encodings(shown, value, board);
    case BOARD_SAMPLE_RATES:
      return read_sample_rates(shown, value, board);
    case BOARD_CHANNELS:
      break;
  }
  return read_channels(shown, value, board);
}

/* Print */

uint64_t
board_value_count(const BoardKey* key, const VwBoard* board) {
  return key->kind == BOARD_BYTES ? *(const uint64_t*)find_in(key, board)
                                  : *(const unsigned*)find_in(key, board);
}

/// Bytes in the largest unit that divides them.
static char*
print_bytes(unsigned long long n) {
  static const struct {
    unsigned long long n;
    const char*        unit;
  } units[] = {{1024ULL * 1024ULL * 1024ULL, "GiB"},
               {1000000000ULL, "GB"},
               {1024ULL * 1024ULL, "MiB"},
               {1000000ULL, "MB"},
               {1024ULL, "KiB"},
               {1000ULL, "KB"}};
  for (size_t i = 0; i < sizeof(units) / sizeof(units[0]); ++i) {
    if (n >= units[i].n && n % units[i].n == 0) {
      return text_format("%llu%s", n / units[i].n, units[i].unit);
    }
  }
  return text_format("%llu", n);
}

static char*
print_count(const BoardKey* key, const VwBoard* board) {
  const uint64_t n = board_value_count(key, board);
  if (!n && key->zero) {
    return text_format("%s", key->zero);
  }
  return key->kind == BOARD_NUMBER ? text_format("%u", (unsigned)n)
                                   : print_bytes(n);
}

/// The shortest number that is read back the same.
static char*
print_ms(double ms) {
  char text[40];
  for (int digits = 6; digits <= 17; ++digits) {
    (void)snprintf(text, sizeof(text), "%.*g", digits, ms);
    if (strtod(text, NULL) == ms) {
      break;
    }
  }
  return text_format("%sms", text);
}

static char*
print_list(const unsigned* values, unsigned n, const Choice* words) {
  char   text[128] = "";
  size_t at = 0;
  for (unsigned i = 0; i < n; ++i) {
    const char* const between = i ? ", " : "";
    const int         more =
      words
                ? snprintf(text + at,
                   sizeof(text) - at,
                   "%s%s",
                   between,
                   choice_word(words, (int)values[i]))
                : snprintf(text + at, sizeof(text) - at, "%s%u", between, values[i]);
    at += more > 0 ? (size_t)more : 0U;
  }
  return text_format("%s", text);
}

static char*
print_encodings(const VwBoard* board) {
  unsigned values[4] = {0};
  for (unsigned i = 0; i < board->n_encodings; ++i) {
    values[i] = (unsigned)board->encodings[i];
  }
  return print_list(values, board->n_encodings, format_encodings);
}

char*
board_value_print(const BoardKey* key, const VwBoard* board) {
  switch (key->kind) {
    case BOARD_WORD:
      return text_format(
        "%s",
        choice_word(key->words, (int)*(const unsigned*)find_in(key, board)));
    case BOARD_YES_NO:
      return text_format("%s",
                         *(const bool*)find_in(key, board) ? "yes" : "no");
    case BOARD_NUMBER:
    case BOARD_BYTES:
    case BOARD_FEW_BYTES:
      return print_count(key, board);
    case BOARD_MS:
      return print_ms(*(const double*)find_in(key, board));
    case BOARD_JOINER:
      return ini_quote(board->naming.joiner);
    case BOARD_ALLOWED:
      return *board->naming.allowed ? ini_quote(board->naming.allowed)
                                    : text_format("any");
    case BOARD_ENCODINGS:
      return print_encodings(board);
    case BOARD_SAMPLE_RATES:
      return print_list(board->sample_rates_hz, board->n_sample_rates, NULL);
    case BOARD_CHANNELS:
      break;
  }
  return print_list(board->channels, board->n_channels, format_channels);
}
