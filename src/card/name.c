#include "base/text.h"
#include "card/internal.h"
#include "store/store.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#define RENAME "rename it"

// What a name of 8+3 has (Microsoft, "FAT: General Overview of On-Disk Format";
// from memory).
#define STEM_MOST 8U
#define ENDING_MOST 4U // with its dot

// Most digits of a slot.
#define DIGITS_MOST 5U

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

/// The words of parts that names tell, as vw_board_file_name() has them.
static const char*
part_word(const VwNaming* naming, VwPart part) {
  static const char* const shorts[] = {"s", "i", "l", "o", "b"};
  const bool               brief =
    naming->parts &&
    (naming->eight_three || (naming->length_max && naming->length_max < 16U));
  return brief ? shorts[part] : vw_part_name(part);
}

bool
vw_name_part(const char*    name,
             const VwBoard* board,
             VwPart*        part,
             size_t*        n_before) {
  for (int i = VW_PART_SHOT; i < VW_PART_WHOLE; ++i) {
    const char* const word = part_word(&board->naming, (VwPart)i);
    const Ending      ending = ends_in(name, &board->naming, word);
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

static size_t
count_characters(const char* name) {
  size_t n = 0;
  for (; *name; ++name) {
    // All but the bytes that continue a character (RFC 3629).
    n += ((unsigned char)*name & 0xC0U) != 0x80U;
  }
  return n;
}

static void
check_length(const char* name, const VwNaming* naming, VwNotes* notes) {
  const size_t n = count_characters(name);
  const size_t n_stem = stem_length(name);
  if (naming->length_max && n > naming->length_max) {
    vw_notes_fault(notes,
                   RENAME,
                   "its name has %zu characters, the board takes %u",
                   n,
                   naming->length_max);
  }
  if (naming->eight_three &&
      (n_stem > STEM_MOST || strlen(name) - n_stem > ENDING_MOST ||
       memchr(name, '.', n_stem))) {
    vw_notes_fault(notes,
                   RENAME,
                   "its name is no name of 8+3: eight characters, one dot, an "
                   "ending of three");
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

/// Whether file systems of cards take a character (Microsoft, "Naming Files,
/// Paths, and Namespaces").
static bool
is_taken_by_cards(unsigned char letter) {
  return letter >= ' ' && letter != 0x7F && !strchr("\"*/:<>?\\|", letter);
}

static bool
is_allowed(unsigned char letter, const VwNaming* naming) {
  const bool plain = !naming->eight_three || (letter > ' ' && letter < 0x7F);
  return isalnum(letter) ||
         (naming->allowed[0] ? strchr(naming->allowed, letter) != NULL : plain);
}

static void
check_characters(const char* name, const VwNaming* naming, VwNotes* notes) {
  const size_t n_stem = stem_length(name);
  for (size_t i = 0; name[i]; ++i) {
    const unsigned char letter = (unsigned char)name[i];
    if (!is_taken_by_cards(letter) ||
        (i != n_stem && !is_allowed(letter, naming))) {
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

/// Names that some systems keep for devices, whatever their ending (Microsoft,
/// "Naming Files, Paths, and Namespaces").
static void
check_reserved(const char* name, VwNotes* notes) {
  static const char* const devices[] = {"CON", "PRN", "AUX", "NUL"};
  const size_t             n = strcspn(name, ".");
  bool reserved = n == 4U && name[3] >= '1' && name[3] <= '9' &&
                  (vw_same_without_case(name, 3U, "COM", 3U) ||
                   vw_same_without_case(name, 3U, "LPT", 3U));
  for (size_t i = 0; i < sizeof(devices) / sizeof(devices[0]); ++i) {
    reserved |= vw_same_without_case(name, n, devices[i], 3U);
  }
  if (reserved) {
    vw_notes_fault(
      notes, RENAME, "its name is kept for a device by some systems");
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

static unsigned
highest_slot(const VwBoard* board) {
  unsigned most = 1;
  for (unsigned i = 0; i < board->naming.digits && i < DIGITS_MOST; ++i) {
    most *= 10U;
  }
  return board->slots_max && board->slots_max < most ? board->slots_max
                                                     : most - 1U;
}

static void
check_slot(const char* name, const VwBoard* board, VwNotes* notes) {
  unsigned slot = 0;
  if (!board->naming.digits) {
    return;
  }
  if (!read_slot(name, board, &slot)) {
    vw_notes_fault(notes,
                   RENAME,
                   "its name does not start with the %u digit%s of a slot",
                   board->naming.digits,
                   board->naming.digits == 1U ? "" : "s");
  } else if (!slot || slot > highest_slot(board)) {
    vw_notes_fault(notes,
                   "give it another slot",
                   "its slot is %u, the board has 1 to %u",
                   slot,
                   highest_slot(board));
  }
}

void
vw_check_name(const char* name, const VwBoard* board, VwNotes* notes) {
  const VwNaming* const naming = &board->naming;
  if (!vw_utf8_is_valid(name)) {
    vw_notes_fault(notes, RENAME, "its name is not UTF-8");
    return;
  }
  check_length(name, naming, notes);
  check_letters(name, naming, notes);
  check_characters(name, naming, notes);
  check_reserved(name, notes);
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

static void
note_pair(const VwEntry* file,
          const char*    remedy,
          const char*    what,
          VwNotes*       together) {
  char* const path = vw_path_join(together->path, file->path);
  VwNotes     notes = {
        .findings = together->findings, .path = path, .status = together->status};
  if (!path) {
    together->status = VW_NO_MEMORY;
    return;
  }
  vw_notes_fault(&notes, remedy, "%s", what);
  together->status = notes.status;
  free(path);
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
    note_pair(b,
              "give one of them another slot",
              "another sound lies on its slot",
              notes);
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
      note_pair(files[i],
                "rename one of them",
                "its name differs from another in the case of letters alone: "
                "a card holds one of both",
                notes);
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
