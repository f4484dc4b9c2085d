// For vasprintf().
#define _GNU_SOURCE

#include "base/status.h"
#include "base/text.h"
#include "pack/internal.h"
#include "store/store.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Faults */

__attribute__((format(printf, 3, 4))) static VwStatus
add_fault(VwPack* pack, const char* remedy, const char* format, ...) {
  va_list arguments;
  va_start(arguments, format);
  char*     what = NULL;
  const int n = vasprintf(&what, format, arguments);
  va_end(arguments);
  if (n < 0) {
    return VW_NO_MEMORY;
  }
  const VwStatus st = vw_faults_add(&pack->faults, NULL, 0U, what, remedy);
  free(what);
  return st;
}

/* Names */

/// The parts that a sound is made of.
static size_t
parts_of(const VwPackSound* sound, VwPart parts[3]) {
  static const VwPart pieces[] = {
    VW_PART_RUN_IN, VW_PART_LOOP, VW_PART_RING_OUT};

  switch (sound->wish->make) {
    case VW_MAKE_SHOT:
      parts[0] = VW_PART_SHOT;
      return 1U;
    case VW_MAKE_WHOLE:
      parts[0] = VW_PART_WHOLE;
      return 1U;
    case VW_MAKE_LOOP:
    case VW_MAKE_BURST:
      break;
  }
  if (sound->options.form == VW_FORM_PIECES) {
    memcpy(parts, pieces, sizeof(pieces));
    return 3U;
  }
  parts[0] =
    sound->options.form == VW_FORM_BURST ? VW_PART_BURST : VW_PART_LOOP;
  return 1U;
}

/// The name of a file; of several alike, one a take, with a number.
static VwStatus
name_file(const VwPack*      pack,
          const VwSoundWish* wish,
          bool               numbered,
          VwPackName*        file) {
  const VwBoard* const board = pack->options.board;
  const size_t         n = strlen(wish->name) + 24U;
  char* const          sound = malloc(n);
  if (!sound) {
    return VW_NO_MEMORY;
  }
  snprintf(sound, n, numbered ? "%s-%zu" : "%s", wish->name, file->take + 1U);
  const VwFileLabel label = {wish->slot, wish->group, sound, file->part};
  const VwStatus    st = vw_board_file_name(board, &label, &file->name);
  free(sound);
  return st;
}

static VwStatus
name_sound(VwPack* pack, size_t index) {
  VwPackWork* const        work = &pack->store->works[index];
  const VwPackSound* const sound = &pack->sounds[index];
  const VwSoundWish* const wish = sound->wish;
  const bool               by_take =
    wish->make == VW_MAKE_SHOT || wish->make == VW_MAKE_WHOLE;
  const size_t n_takes = by_take ? wish->n_takes : 1U;
  VwPart       parts[3];
  const size_t n_parts = parts_of(sound, parts);
  VwStatus     st = VW_OK;
  if (wish->slot > vw_board_slots(pack->options.board)) {
    return VW_OK; // said already
  }
  work->names = calloc(n_parts * n_takes, sizeof(VwPackName));
  if (!work->names) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; !st && i < n_parts * n_takes; ++i) {
    VwPackName* const file = &work->names[i];
    file->part = parts[i % n_parts];
    file->take = i / n_parts;
    st = name_file(pack, wish, n_takes > 1U, file);
    work->n_names += st ? 0U : 1U;
  }
  return st != VW_NO_NAME
           ? st
           : add_fault(pack,
                       wish->slot ? "give it another name or slot"
                                  : "give it a slot, or another name",
                       "the board allows no file name for \"%s\"",
                       wish->name);
}

/* Collisions */

/// The name of a file or of a group's folder, with the sound it belongs to.
typedef struct {
  char*  name; ///< Owned.
  size_t sound;
  bool   is_folder;
} Owned;

static int
compare_owned(const void* a, const void* b) {
  const Owned* const x = a;
  const Owned* const y = b;
  const int          letters = vw_compare_however_coded(x->name, y->name);
  // Folders of one spelling in a row: each pair is told once.
  const int order = letters                        ? letters
                    : x->is_folder != y->is_folder ? (x->is_folder ? -1 : 1)
                    : x->is_folder                 ? strcmp(x->name, y->name)
                                                   : 0;
  return order ? order : x->sound < y->sound ? -1 : x->sound > y->sound;
}

static VwStatus
report_collision(VwPack* pack, const Owned* a, const Owned* b) {
  const char* const first = pack->sounds[a->sound].wish->name;
  const char* const second = pack->sounds[b->sound].wish->name;
  if (a->is_folder) {
    return add_fault(
      pack,
      "give one of the groups another name",
      b->is_folder ? "the groups of \"%s\" and \"%s\" are folders whose names "
                     "differ in case or coding alone, %s and %s"
                   : "the group of \"%s\" is a folder of the name of a file "
                     "of \"%s\", %s and %s",
      first,
      second,
      a->name,
      b->name);
  }
  if (a->sound == b->sound) {
    return add_fault(pack,
                     "make a sound of each of them",
                     "the takes of \"%s\" would all make the file %s",
                     first,
                     a->name);
  }
  return add_fault(pack,
                   "give one of them another name or slot",
                   strcmp(a->name, b->name)
                     ? "\"%s\" and \"%s\" make files whose names differ in "
                       "case or coding alone, %s and %s"
                     : "\"%s\" and \"%s\" would both make the file %s",
                   first,
                   second,
                   a->name,
                   b->name);
}

/// List a file, and the folder that it lies in where it does in one.
static VwStatus
list_name(const char* name, size_t sound, Owned* names, size_t* n_names) {
  const size_t n_group = (size_t)(vw_path_name(name) - name);
  names[*n_names] = (Owned){strdup(name), sound, false};
  if (!names[(*n_names)++].name || !n_group) {
    return names[*n_names - 1U].name ? VW_OK : VW_NO_MEMORY;
  }
  names[*n_names] = (Owned){strndup(name, n_group - 1U), sound, true};
  return names[(*n_names)++].name ? VW_OK : VW_NO_MEMORY;
}

/// All names of files and folders, sorted.
static VwStatus
list_names(const VwPack* pack, Owned* names, size_t* n_names) {
  VwStatus st = VW_OK;
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    const VwPackWork* const work = &pack->store->works[i];
    for (size_t k = 0; !st && k < work->n_names; ++k) {
      st = list_name(work->names[k].name, i, names, n_names);
    }
  }
  if (!st) {
    qsort(names, *n_names, sizeof(Owned), compare_owned);
  }
  return st;
}

static bool
collide(const Owned* a, const Owned* b) {
  const bool one_folder =
    a->is_folder && b->is_folder && !strcmp(a->name, b->name);
  return !one_folder && !vw_compare_however_coded(a->name, b->name);
}

static VwStatus
find_collisions(VwPack* pack) {
  size_t n_most = 0;
  size_t n = 0;
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    n_most += 2U * pack->store->works[i].n_names;
  }
  Owned* const names = calloc(n_most + 1U, sizeof(Owned));
  VwStatus     st = names ? list_names(pack, names, &n) : VW_NO_MEMORY;
  for (size_t i = 0; !st && i < n; ++i) {
    const bool known = i && names[i - 1U].is_folder &&
                       !strcmp(names[i - 1U].name, names[i].name);
    pack->store->n_folders += names[i].is_folder && !known ? 1U : 0U;
  }
  for (size_t i = 1; !st && i < n; ++i) {
    if (collide(&names[i - 1U], &names[i])) {
      st = report_collision(pack, &names[i - 1U], &names[i]);
    }
  }
  for (size_t i = 0; i < n; ++i) {
    free(names[i].name);
  }
  free(names);
  return st;
}

/* Slots */

/// A sound with what it is sorted by.
typedef struct {
  unsigned slot;
  size_t   index;
} Slot;

static int
compare_slots(const void* a, const void* b) {
  const Slot* const x = a;
  const Slot* const y = b;
  // No slot is the last: it wraps round.
  if (x->slot != y->slot) {
    return x->slot - 1U < y->slot - 1U ? -1 : 1;
  }
  return x->index < y->index ? -1 : x->index > y->index;
}

size_t*
vw_pack_by_slot(const VwPack* pack) {
  Slot* const   slots = calloc(pack->n_sounds + 1U, sizeof(Slot));
  size_t* const indices = calloc(pack->n_sounds + 1U, sizeof(size_t));
  if (!slots || !indices) {
    free(slots);
    free(indices);
    return NULL;
  }
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    slots[i] = (Slot){pack->sounds[i].wish->slot, i};
  }
  qsort(slots, pack->n_sounds, sizeof(Slot), compare_slots);
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    indices[i] = slots[i].index;
  }
  free(slots);
  return indices;
}

/// Find fault with slots that the board has not, or that two sounds have.
static VwStatus
check_slots(VwPack* pack) {
  const unsigned     highest = vw_board_slots(pack->options.board);
  size_t* const      sorted = vw_pack_by_slot(pack);
  const VwSoundWish* last = NULL;
  VwStatus           st = sorted ? VW_OK : VW_NO_MEMORY;
  for (size_t i = 0; !st && i < pack->n_sounds; ++i) {
    const VwSoundWish* const wish = pack->sounds[sorted[i]].wish;
    if (wish->slot > highest) {
      st = add_fault(
        pack,
        "give it a lower one",
        "slot %u of \"%s\" is out of range: the board's highest is %u",
        wish->slot,
        wish->name,
        highest);
    }
    if (!st && last && wish->slot && wish->slot == last->slot) {
      st = add_fault(pack,
                     "give one of them another slot",
                     "\"%s\" and \"%s\" are both on slot %u",
                     last->name,
                     wish->name,
                     wish->slot);
    }
    last = wish;
  }
  free(sorted);
  return st;
}

VwStatus
vw_pack_names_make(VwPack* pack) {
  VwStatus st = check_slots(pack);
  for (size_t i = 0; !st && i < pack->n_sounds; ++i) {
    st = name_sound(pack, i);
  }
  return st ? st : find_collisions(pack);
}
