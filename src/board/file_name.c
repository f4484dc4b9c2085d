#include "base/text.h"
#include "board/board.h"

#include "volleyweave/volleyweave.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

// Bytes of a name on the file systems in use.
#define BYTES_MOST 255U

// Where names are shorter than this the parts' words would leave next to
// nothing of the sound's.
#define SHORT_BELOW 16U

// What no file system, or not every one, takes in a name (Microsoft, "Naming
// Files, Paths, and Namespaces").
#define NOWHERE "/\\:*?\"<>|"

// What 8+3 takes beside letters and digits; a few more are seldom seen.
#define IN_SHORT "_-"

/// A text with its length and bounds.
typedef struct {
  char   text[BYTES_MOST + 1U];
  size_t n; ///< Bytes.
} Word;

/// What a name is made of, in this order.
typedef struct {
  Word slot, sound, part, joiner;
} Words;

/* Characters */

static bool
is_letter_or_digit(char c) {
  return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') ||
         (c >= 'A' && c <= 'Z');
}

bool
vw_board_takes(const VwNaming* naming, char c) {
  const unsigned char byte = (unsigned char)c;
  if (is_letter_or_digit(c)) {
    return true;
  }
  if (byte < 0x20U || byte == 0x7FU || strchr(NOWHERE, c)) {
    return false;
  }
  if (naming->eight_three && (byte >= 0x80U || c == '.' || c == ' ')) {
    return false;
  }
  if (*naming->allowed) {
    return byte < 0x80U && strchr(naming->allowed, c);
  }
  return !naming->eight_three || strchr(IN_SHORT, c);
}

/// What stands for a character that is not allowed; 0: nothing.
static char
stand_in(const VwNaming* naming) {
  return vw_board_takes(naming, '_') ? '_' : '\0';
}

static char
in_letters(const VwNaming* naming, char c) {
  if (naming->letters == VW_LETTERS_LOWER && c >= 'A' && c <= 'Z') {
    return (char)(c - 'A' + 'a');
  }
  if (naming->letters == VW_LETTERS_UPPER && c >= 'a' && c <= 'z') {
    return (char)(c - 'a' + 'A');
  }
  return c;
}

/// Whether a byte goes on with a character of several.
static bool
goes_on(char c) {
  return ((unsigned char)c & 0xC0U) == 0x80U;
}

/// Cut at most so many characters, and bytes, out of a text.
static void
cut(Word* word, size_t n_characters, size_t n_bytes) {
  size_t end = 0;
  size_t n = 0;
  for (size_t at = 0; at < word->n && n < n_characters; ++n) {
    do {
      ++at;
    } while (goes_on(word->text[at]));
    end = at <= n_bytes ? at : end;
  }
  while (end && strchr(". ", word->text[end - 1U])) {
    --end;
  }
  word->text[end] = '\0';
  word->n = end;
}

static void
put(Word* word, char c) {
  if (c && word->n < BYTES_MOST) {
    word->text[word->n++] = c;
    word->text[word->n] = '\0';
  }
}

/// A text in the board's characters.
static void
spell(const VwNaming* naming, const char* text, Word* word) {
  const bool whole = vw_utf8_is_valid(text);
  *word = (Word){.n = 0};
  for (; *text; ++text) {
    const bool foreign = (unsigned char)*text >= 0x80U;
    if (vw_board_takes(naming, *text) && (whole || !foreign)) {
      put(word, in_letters(naming, *text));
    } else if (!whole || !goes_on(*text)) {
      // One stands for all bytes of a character.
      put(word, stand_in(naming));
    }
  }
}

/// A text as a name, or the beginning of one.
static void
spell_name(const VwNaming* naming, const char* text, Word* word) {
  // In front, a dot hides a file, a dash makes it an option, and a blank is
  // overlooked.
  spell(naming, text + strspn(text, ".- "), word);
  // More than fits was left out, at worst within a character.
  cut(word, BYTES_MOST, BYTES_MOST - (word->n == BYTES_MOST ? 3U : 0U));
}

/* Names that are no file's */

bool
vw_board_is_device(const char* name) {
  static const char* const devices[] = {
    "con", "prn", "aux", "nul", "conin$", "conout$", "clock$"};
  static const char* const numbered[] = {"com", "lpt"};

  size_t n = strcspn(name, ".");
  while (n && name[n - 1U] == ' ') {
    --n;
  }
  for (size_t i = 0; i < sizeof(devices) / sizeof(devices[0]); ++i) {
    if (n == strlen(devices[i]) && !strncasecmp(name, devices[i], n)) {
      return true;
    }
  }
  for (size_t i = 0; i < sizeof(numbered) / sizeof(numbered[0]); ++i) {
    const char* const rest = name + 3;
    if (n > 3U && !strncasecmp(name, numbered[i], 3U)) {
      // Superscript one, two and three count too.
      return (n == 4U && *rest >= '0' && *rest <= '9') ||
             (n == 5U &&
              (!strncmp(rest, "\u00B9", 2) || !strncmp(rest, "\u00B2", 2) ||
               !strncmp(rest, "\u00B3", 2)));
    }
  }
  return false;
}

/// Make a device's name another one of at most so many characters.
static void
disguise(const VwNaming* naming, Word* word, size_t n_most) {
  const char   stand = stand_in(naming);
  const char   mark = in_letters(naming, stand ? stand : 'x');
  const size_t n_base = strcspn(word->text, ".");
  Word         out = {.n = 0};
  if (vw_utf8_count(word->text) >= n_most) {
    word->text[0] = mark;
    return;
  }
  for (size_t i = 0; i < n_base; ++i) {
    put(&out, word->text[i]);
  }
  put(&out, mark);
  for (size_t i = n_base; i < word->n; ++i) {
    put(&out, word->text[i]);
  }
  *word = out;
}

/* Words */

const char*
vw_board_part_word(const VwNaming* naming, VwPart part) {
  // Shot; in, loop, out; burst.
  static const char* const shorts[] = {"s", "i", "l", "o", "b", ""};

  const bool brief = naming->eight_three ||
                     (naming->length_max && naming->length_max < SHORT_BELOW);
  return part == VW_PART_WHOLE || !naming->parts ? ""
         : brief                                 ? shorts[part]
                                                 : vw_part_name(part);
}

unsigned
vw_board_slots(const VwBoard* board) {
  static const unsigned beyond[] = {0U, 10U, 100U, 1000U, 10000U, 100000U};

  const unsigned digits = board->naming.digits;
  // Without digits there is no limit: one below 0.
  const unsigned most =
    digits >= sizeof(beyond) / sizeof(beyond[0]) ? 0U : beyond[digits] - 1U;
  return board->slots_max && board->slots_max < most ? board->slots_max : most;
}

static bool
slot_fits(const VwBoard* board, unsigned slot) {
  return slot <= vw_board_slots(board) && (slot || !board->naming.digits);
}

static void
spell_words(const VwBoard* board, const VwFileLabel* label, Words* words) {
  const VwNaming* const naming = &board->naming;
  char                  joiner[sizeof(naming->joiner) + 1U] = "";
  char                  digits[16] = "";
  memcpy(joiner, naming->joiner, sizeof(naming->joiner));
  if (naming->digits) {
    snprintf(digits, sizeof(digits), "%0*u", (int)naming->digits, label->slot);
  }
  spell(naming, joiner, &words->joiner);
  spell(naming, digits, &words->slot);
  spell(naming, vw_board_part_word(naming, label->part), &words->part);
  spell_name(naming, naming->sound ? label->sound : "", &words->sound);
}

/// Append a word with the joiner before it where something stands there.
static void
join(Word* stem, const Words* words, const Word* word) {
  for (size_t i = 0; stem->n && word->n && i < words->joiner.n; ++i) {
    put(stem, words->joiner.text[i]);
  }
  for (size_t i = 0; i < word->n; ++i) {
    put(stem, word->text[i]);
  }
}

static Word
stem_of(const Words* words) {
  Word stem = {.n = 0};
  join(&stem, words, &words->slot);
  join(&stem, words, &words->sound);
  join(&stem, words, &words->part);
  return stem;
}

/// Bytes of the name without the sound's, with the joiners it would have.
static size_t
n_others(const Words* words) {
  const size_t n_joiners =
    (words->slot.n ? 1U : 0U) + (words->part.n ? 1U : 0U);
  return words->slot.n + words->part.n + n_joiners * words->joiner.n;
}

/* Name */

/// Most characters before the ending.
static size_t
stem_most(const VwNaming* naming, size_t n_ending) {
  size_t most = naming->length_max && naming->length_max < BYTES_MOST
                  ? naming->length_max
                  : BYTES_MOST;
  most = most > n_ending ? most - n_ending : 0U;
  if (naming->eight_three) {
    most = n_ending > VW_ENDING_SHORT ? 0U
           : most > VW_NAME_SHORT     ? VW_NAME_SHORT
                                      : most;
  }
  return most;
}

/// Make the sound's name as short as it has to be, and the whole no device's.
static void
fit(const VwNaming* naming, Words* words, size_t n_most, size_t n_ending) {
  const size_t others = n_others(words);
  const size_t room = n_most > others ? n_most - others : 0U;
  const size_t bytes = BYTES_MOST - n_ending - others;
  cut(&words->sound, room, bytes);
  if (vw_board_is_device(stem_of(words).text)) {
    disguise(naming, &words->sound, room);
  }
}

static VwStatus
print_name(const VwNaming* naming,
           const Word*     group,
           const Word*     stem,
           const char*     ending,
           char**          name) {
  const size_t n = group->n + 1U + stem->n + strlen(ending) + 1U;
  char* const  out = malloc(n);
  if (!out) {
    return VW_NO_MEMORY;
  }
  Word spelled = {.n = 0};
  for (; *ending; ++ending) {
    put(&spelled, in_letters(naming, *ending));
  }
  snprintf(out,
           n,
           "%s%s%s%s",
           group->text,
           group->n ? "/" : "",
           stem->text,
           spelled.text);
  *name = out;
  return VW_OK;
}

static Word
folder_of(const VwNaming* naming, const char* group) {
  const size_t most = naming->eight_three ? VW_NAME_SHORT : BYTES_MOST;
  Word         folder = {.n = 0};
  if (naming->group_folders && group) {
    spell_name(naming, group, &folder);
    cut(&folder, most, BYTES_MOST);
    if (vw_board_is_device(folder.text)) {
      disguise(naming, &folder, most);
    }
  }
  return folder;
}

VwStatus
vw_board_file_name(const VwBoard*     board,
                   const VwFileLabel* label,
                   char**             name) {
  assert(board && label && name && label->sound &&
         label->part <= VW_PART_WHOLE);
  const VwNaming* const naming = &board->naming;
  const char* const     ending = vw_container_ending(board->container);
  const size_t          n_most = stem_most(naming, strlen(ending));
  Words                 words;
  if (!slot_fits(board, label->slot)) {
    return VW_NO_NAME;
  }
  spell_words(board, label, &words);
  fit(naming, &words, n_most, strlen(ending));
  const Word stem = stem_of(&words);
  const Word folder = folder_of(naming, label->group);
  // A part's word alone would be that of every sound.
  const bool told = words.slot.n || words.sound.n || !naming->sound;
  return told && stem.n && vw_utf8_count(stem.text) <= n_most
           ? print_name(naming, &folder, &stem, ending, name)
           : VW_NO_NAME;
}
