#include "cli/boards/boards.h"
#include "cli/message/message.h"
#include "cli/options/ini.h"
#include "cli/options/options.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

// Enumerations are set as numbers of this size.
static_assert(sizeof(VwContainer) == sizeof(unsigned), "enums are unsigned");
static_assert(sizeof(VwEncoding) == sizeof(unsigned), "enums are unsigned");

/* Read */

static void*
place_in(const BoardKey* key, VwBoard* board) {
  return (char*)board + key->offset;
}

static const void*
find_in(const BoardKey* key, const VwBoard* board) {
  return (const char*)board + key->offset;
}

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
    return say(shown, "0 is no %s: give one, or %s", key->name, key->zero);
  }
  return units_read(key->quantity, shown, value, number);
}

/// Put a number where its kind has it.
static bool
read_amount(const BoardKey* key,
            const char*     shown,
            const char*     value,
            void*           place) {
  double number = 0.0;
  if (!read_number(key, shown, value, &number)) {
    return false;
  }
  if (key->kind == BOARD_MS) {
    *(double*)place = number;
  } else if (key->kind == BOARD_BYTES) {
    *(uint64_t*)place = (uint64_t)number;
  } else {
    *(unsigned*)place = (unsigned)number;
  }
  return true;
}

static bool
read_word(const BoardKey* key,
          const char*     shown,
          const char*     value,
          void*           place) {
  int word = 0;
  if (!choose(key->words, shown, value, &word)) {
    return false;
  }
  if (key->kind == BOARD_YES_NO) {
    *(bool*)place = word != 0;
  } else {
    *(unsigned*)place = (unsigned)word;
  }
  return true;
}

/// Read few characters that stand in file names.
static bool
read_text(const BoardKey* key,
          const char*     shown,
          const char*     value,
          char*           text) {
  const bool        none = key->zero && !strcmp(value, key->zero);
  const VwNaming    any = {.allowed = ""};
  const char* const meant = none ? "" : value;
  if (key->zero && !*value) {
    return say(
      shown, "no character is named: give some, as in _-, or %s", key->zero);
  }
  for (const char* at = meant; *at; ++at) {
    if ((unsigned char)*at > '~' || !vw_board_takes(&any, *at)) {
      return say(shown,
                 "it holds what not every file system takes in a name: choose "
                 "other characters, such as _ or -");
    }
  }
  if (strlen(meant) >= key->most) {
    return say(
      shown, "%zu characters are the most: leave some out", key->most - 1U);
  }
  memset(text, 0, key->most);
  memcpy(text, meant, strlen(meant));
  return true;
}

// As many as any list may hold.
#define VALUES_MOST 8U

/// A list being read.
typedef struct {
  const BoardKey* key;
  unsigned        values[VALUES_MOST];
  unsigned        n;
} List;

static bool
read_item(const char* shown, const char* item, List* list) {
  const BoardKey* const key = list->key;
  int                   word = 0;
  unsigned              value = 0;
  if (!*item) {
    return say(shown, "a value is missing: give one, or take a comma out");
  }
  if (!(key->words ? choose(key->words, shown, item, &word)
                   : units_read_sample_rate(shown, item, &value))) {
    return false;
  }
  value = key->words ? (unsigned)word : value;
  for (unsigned i = 0; i < list->n; ++i) {
    if (list->values[i] == value) {
      return say(shown, "%s stands twice: name it once", item);
    }
  }
  if (list->n == key->most) {
    return say(shown, "%zu are the most: leave some out", key->most);
  }
  list->values[list->n++] = value;
  return true;
}

/// Read what stands between commas.
static bool
read_list(const BoardKey* key,
          const char*     shown,
          const char*     value,
          VwBoard*        board) {
  List list = {.key = key};
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
    good = read_item(shown, item, &list);
    free(item);
    at = at[n] ? at + n + 1U : NULL;
  }
  if (good) {
    memcpy(place_in(key, board), list.values, key->most * sizeof(unsigned));
    memcpy((char*)board + key->n_offset, &list.n, sizeof(list.n));
  }
  return good;
}

bool
board_value_read(const BoardKey* key,
                 const char*     shown,
                 const char*     value,
                 VwBoard*        board) {
  void* const place = place_in(key, board);
  switch (key->kind) {
    case BOARD_WORD:
    case BOARD_YES_NO:
      return read_word(key, shown, value, place);
    case BOARD_NUMBER:
    case BOARD_BYTES:
    case BOARD_FEW_BYTES:
    case BOARD_MS:
      return read_amount(key, shown, value, place);
    case BOARD_TEXT:
      return read_text(key, shown, value, place);
    case BOARD_LIST:
      break;
  }
  return read_list(key, shown, value, board);
}

/* Print */

uint64_t
board_value_count(const BoardKey* key, const VwBoard* board) {
  return key->kind == BOARD_BYTES ? *(const uint64_t*)find_in(key, board)
                                  : *(const unsigned*)find_in(key, board);
}

const unsigned*
board_value_list(const BoardKey* key, const VwBoard* board, unsigned* n) {
  memcpy(n, (const char*)board + key->n_offset, sizeof(*n));
  return find_in(key, board);
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
print_list(const BoardKey* key, const VwBoard* board) {
  unsigned              n = 0;
  const unsigned* const values = board_value_list(key, board, &n);
  char                  text[128] = "";
  for (unsigned i = 0; i < n; ++i) {
    const size_t used = strlen(text);
    char         number[16];
    (void)snprintf(number, sizeof(number), "%u", values[i]);
    (void)snprintf(text + used,
                   sizeof(text) - used,
                   "%s%s",
                   i ? ", " : "",
                   key->words ? choice_word(key->words, (int)values[i])
                              : number);
  }
  return text_format("%s", text);
}

char*
board_value_print(const BoardKey* key, const VwBoard* board) {
  const void* const place = find_in(key, board);
  switch (key->kind) {
    case BOARD_WORD:
      return text_format("%s",
                         choice_word(key->words, (int)*(const unsigned*)place));
    case BOARD_YES_NO:
      return text_format("%s", choice_word(key->words, *(const bool*)place));
    case BOARD_NUMBER:
    case BOARD_BYTES:
    case BOARD_FEW_BYTES:
      return print_count(key, board);
    case BOARD_MS:
      return print_ms(*(const double*)place);
    case BOARD_TEXT:
      return key->zero && !*(const char*)place ? text_format("%s", key->zero)
                                               : ini_quote(place);
    case BOARD_LIST:
      break;
  }
  return print_list(key, board);
}
