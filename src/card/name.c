#include "base/text.h"
#include "card/internal.h"
#include "store/store.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#define RENAME "rename it"

/// Length of a name without its ending, which starts at the last dot.
static size_t
stem_length(const char* name) {
  const char* const dot = strrchr(name, '.');
  return dot && dot > name ? (size_t)(dot - name) : strlen(name);
}

bool
vw_name_is_of_board(const char* name, const VwBoard* board) {
  return !vw_compare_without_case(name + stem_length(name),
                                  vw_container_ending(board->container));
}

/* Parts */

/// Whether a word ends the stem, and where what is before it ends.
typedef struct {
  bool   ends;
  size_t n_before;
} Ending;

static Ending
ends_in(const char* name, const VwNaming* naming, const char* word) {
  const size_t n_stem = stem_length(name);
  const size_t n_word = strlen(word);
  if (n_stem < n_word ||
      !vw_same_without_case(name + n_stem - n_word, n_word, word, n_word)) {
    return (Ending){false, 0};
  }
  const size_t n = n_stem - n_word;
  const size_t n_joiner = strnlen(naming->joiner, sizeof(naming->joiner));
  const bool   joined = n_joiner && n >= n_joiner &&
                      !memcmp(name + n - n_joiner, naming->joiner, n_joiner);
  // A joiner that the board does not allow became another character.
  const bool loose = n && !isalnum((unsigned char)name[n - 1U]);
  return (Ending){!n || joined || loose || (naming->parts && !n_joiner),
                  joined  ? n - n_joiner
                  : loose ? n - 1U
                          : n};
}

bool
vw_name_part(const char*    name,
             const VwBoard* board,
             VwPart*        part,
             size_t*        n_before) {
  const VwNaming* const naming = &board->naming;
  for (int i = VW_PART_SHOT; i < VW_PART_WHOLE; ++i) {
    const char* const word = naming->parts
                               ? vw_board_part_word(naming, (VwPart)i)
                               : vw_part_name((VwPart)i);
    const Ending      ending = ends_in(name, naming, word);
    if (ending.ends) {
      *part = (VwPart)i;
      *n_before = ending.n_before;
      return true;
    }
  }
  *n_before = stem_length(name);
  return false;
}

/* One name */

static void
check_length(const char* name, const VwNaming* naming, VwNotes* notes) {
  const size_t n = vw_utf8_count(name);
  const size_t n_stem = stem_length(name);
  if (naming->length_max && n > naming->length_max) {
    vw_notes_fault(notes,
                   RENAME,
                   "its name has %zu characters, the board takes %u",
                   n,
                   naming->length_max);
  }
  if (naming->eight_three &&
      (n_stem > VW_NAME_SHORT || strlen(name) - n_stem > VW_ENDING_SHORT ||
       memchr(name, '.', n_stem))) {
    vw_notes_fault(
      notes, RENAME, "its name is not of 8+3 characters with one dot");
  }
}

static void
check_letters(const char* name, const VwNaming* naming, VwNotes* notes) {
  bool wrong = false;
  for (; *name; ++name) {
    wrong |=
      naming->letters == VW_LETTERS_LOWER && *name >= 'A' && *name <= 'Z';
    wrong |=
      naming->letters == VW_LETTERS_UPPER && *name >= 'a' && *name <= 'z';
  }
  if (wrong) {
    vw_notes_fault(notes,
                   RENAME,
                   "its name has %s letters, the board takes %s ones",
                   naming->letters == VW_LETTERS_LOWER ? "capital" : "small",
                   naming->letters == VW_LETTERS_LOWER ? "small" : "capital");
  }
}

/// Whether names of 8+3 that others made may have a character: more than ours.
static bool
is_short_elsewhere(const VwNaming* naming, char letter) {
  static const VwNaming any = {0};
  return naming->eight_three && vw_board_takes(&any, letter) &&
         (naming->allowed[0] ? strchr(naming->allowed, letter) != NULL
                             : letter > ' ' && letter < 0x7F);
}

static void
check_characters(const char* name, const VwNaming* naming, VwNotes* notes) {
  const size_t n_stem = stem_length(name);
  for (size_t i = 0; name[i]; ++i) {
    const char letter = name[i];
    // The dots of 8+3 are counted with its letters.
    const bool dot = letter == '.' && (i == n_stem || naming->eight_three);
    if (!dot && !vw_board_takes(naming, letter) &&
        !is_short_elsewhere(naming, letter)) {
      const char shown[] = {
        (char)(letter > ' ' && letter < 0x7F ? letter : '\0'), '\0'};
      vw_notes_fault(
        notes,
        RENAME,
        "its name has a character that the board does not take%s%s",
        shown[0] ? ": " : "",
        shown);
      return;
    }
  }
}

/* Slots */

/// The slot that a name starts with; false where its digits are not those of
/// the board.
static bool
read_slot(const char* name, const VwBoard* board, unsigned* slot) {
  const unsigned n_digits = board->naming.digits;
  unsigned       number = 0;
  for (unsigned i = 0; i < n_digits; ++i) {
    if (!isdigit((unsigned char)name[i])) {
      return false;
    }
    number = 10U * number + (unsigned)(name[i] - '0');
  }
  *slot = number;
  // With nothing between, a sound's name may start with a digit.
  return !board->naming.joiner[0] || !isdigit((unsigned char)name[n_digits]);
}

static void
check_slot(const char* name, const VwBoard* board, VwNotes* notes) {
  const unsigned most = vw_board_slots(board);
  unsigned       slot = 0;
  if (!board->naming.digits) {
    return;
  }
  if (!read_slot(name, board, &slot)) {
    vw_notes_fault(notes,
                   RENAME,
                   "its name does not start with the %u digit%s of a slot",
                   board->naming.digits,
                   board->naming.digits == 1U ? "" : "s");
  } else if (!slot || slot > most) {
    vw_notes_fault(notes,
                   "give it another slot",
                   "its slot is %u, the board has 1 to %u",
                   slot,
                   most);
  }
}

void
vw_check_name(const VwBoard* board, VwNotes* notes) {
  const char* const     name = vw_path_name(notes->path);
  const VwNaming* const naming = &board->naming;
  if (!vw_utf8_is_valid(name)) {
    vw_notes_fault(notes, RENAME, "its name is not UTF-8");
    return;
  }
  check_length(name, naming, notes);
  check_letters(name, naming, notes);
  check_characters(name, naming, notes);
  if (vw_board_is_device(name)) {
    vw_notes_fault(
      notes, RENAME, "its name is kept for a device by some systems");
  }
  check_slot(name, board, notes);
}

/* Names together */

static bool
is_same_sound(const char* a, const char* b, const VwBoard* board) {
  VwPart     part = VW_PART_WHOLE;
  size_t     n_a = 0;
  size_t     n_b = 0;
  const bool family =
    vw_name_part(a, board, &part, &n_a) && vw_name_part(b, board, &part, &n_b);
  return family && vw_same_without_case(a, n_a, b, n_b);
}

/// Note two neighbours by name that are of one slot, but not of one sound.
static void
check_pair_of_slot(const VwEntry* a,
                   const VwEntry* b,
                   const VwBoard* board,
                   VwNotes*       notes) {
  const char* const left = vw_path_name(a->path);
  const char* const right = vw_path_name(b->path);
  unsigned          slot = 0;
  unsigned          other = 0;
  const bool slots = board->naming.digits && vw_tree_share_folder(a, b) &&
                     read_slot(left, board, &slot) &&
                     read_slot(right, board, &other) && slot == other;
  // Differing in case alone is noted as such.
  if (slots && vw_compare_without_case(left, right) != 0 &&
      !is_same_sound(left, right, board)) {
    vw_notes_fault_of(notes,
                      b->path,
                      "give one of them another slot",
                      "another sound lies on its slot");
  }
}

static int
compare_case(const void* a, const void* b) {
  const VwEntry* const left = *(const VwEntry* const*)a;
  const VwEntry* const right = *(const VwEntry* const*)b;
  const int            order = vw_compare_without_case(left->path, right->path);
  return order ? order : strcmp(left->path, right->path);
}

static void
check_case(const VwEntry** files, size_t n_files, VwNotes* notes) {
  qsort(files, n_files, sizeof(files[0]), compare_case);
  for (size_t i = 1; i < n_files; ++i) {
    if (!vw_compare_without_case(files[i - 1U]->path, files[i]->path)) {
      vw_notes_fault_of(notes,
                        files[i]->path,
                        "rename one of them",
                        "its name differs from another in the case of letters "
                        "alone: a card holds one of both");
    }
  }
}

void
vw_check_names_together(const VwEntry* const* files,
                        size_t                n_files,
                        const VwBoard*        board,
                        VwNotes*              notes) {
  const VwEntry** const sorted = calloc(n_files + 1U, sizeof(files[0]));
  if (!sorted) {
    notes->status = VW_NO_MEMORY;
    return;
  }
  for (size_t i = 0; i < n_files; ++i) {
    sorted[i] = files[i];
    if (i) {
      check_pair_of_slot(files[i - 1U], files[i], board, notes);
    }
  }
  check_case(sorted, n_files, notes);
  free(sorted);
}
