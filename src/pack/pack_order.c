#include "pack/pack_order.h"

#include "pack/pack.h"
#include "pack/pack_old.h"
#include "store/store.h"

#include <stdlib.h>
#include <string.h>

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

static Slot*
sort_sounds(const VwPack* pack, size_t* n_files) {
  Slot* const slots = calloc(pack->n_sounds + 1U, sizeof(Slot));
  *n_files = 0;
  for (size_t i = 0; slots && i < pack->n_sounds; ++i) {
    slots[i] = (Slot){pack->sounds[i].wish->slot, i};
    *n_files += pack->sounds[i].n_files;
  }
  if (slots) {
    qsort(slots, pack->n_sounds, sizeof(Slot), compare_slots);
  }
  return slots;
}

VwPackPlace*
vw_pack_order_find(const VwPack* pack, size_t* n_places) {
  size_t             n_files = 0;
  Slot* const        slots = sort_sounds(pack, &n_files);
  VwPackPlace* const places = calloc(n_files + 1U, sizeof(VwPackPlace));
  size_t             n = 0;
  for (size_t i = 0; slots && places && i < pack->n_sounds; ++i) {
    const VwPackSound* const sound = &pack->sounds[slots[i].index];
    const bool               made = pack->store->works[slots[i].index].made;
    for (size_t k = 0; made && k < sound->n_files; ++k) {
      places[n++] = (VwPackPlace){slots[i].index, k};
    }
  }
  if (!slots) {
    free(places);
    return NULL;
  }
  free(slots);
  *n_places = n;
  return places;
}

/* The list */

/// What goes on the list.
typedef struct {
  const VwPack* pack;
  VwPackListed* files; ///< Owned, but for their names.
  size_t        n_files;
} Listing;

static int
compare_files(const void* a, const void* b) {
  return strcmp(((const VwPackListed*)a)->name, ((const VwPackListed*)b)->name);
}

/// What is known of the loop in a file.
static VwLoopKnown
loop_in(const VwPackSound* sound, size_t file) {
  const VwPlan* const plan = &sound->family.plan;
  if (sound->files[file].part != VW_PART_LOOP || !plan->shots) {
    return (VwLoopKnown){0};
  }
  return vw_loop_of_plan(plan);
}

static void
add_made(Listing* listing, const VwPackPlace* places, size_t n_places) {
  for (size_t i = 0; i < n_places; ++i) {
    const VwPackSound* const sound = &listing->pack->sounds[places[i].sound];
    listing->files[listing->n_files++] =
      (VwPackListed){sound->files[places[i].file].name,
                     sound->files[places[i].file].digest,
                     loop_in(sound, places[i].file),
                     sound->wish->name};
  }
}

/// Add what was there: all of it, or what has not been made anew and still is.
static VwStatus
add_before(Listing* listing, bool all) {
  const VwPackStore* const store = listing->pack->store;
  const size_t             n_made = listing->n_files;
  VwPackListed* const      made = calloc(n_made + 1U, sizeof(VwPackListed));
  if (!made) {
    return VW_NO_MEMORY;
  }
  if (n_made) {
    memcpy(made, listing->files, n_made * sizeof(VwPackListed));
  }
  qsort(made, n_made, sizeof(VwPackListed), compare_files);
  for (size_t i = 0; i < store->list.n_files; ++i) {
    const VwPackListed* const file = &store->list.files[i];
    const bool                replaced =
      bsearch(file, made, n_made, sizeof(VwPackListed), compare_files);
    char* const path = vw_path_join(store->folders.pack, file->name);
    struct stat status;
    const bool  there = path && !lstat(path, &status);
    if (there && (all || !replaced)) {
      listing->files[listing->n_files++] = *file;
    }
    free(path);
  }
  free(made);
  return VW_OK;
}

VwStatus
vw_pack_order_list(const VwPack* pack, bool unfinished) {
  const VwPackStore* const store = pack->store;
  size_t                   n_places = 0;
  VwPackPlace* const       places = vw_pack_order_find(pack, &n_places);
  Listing                  listing = {
                     pack,
                     calloc(n_places + store->list.n_files + 1U, sizeof(VwPackListed)),
                     0U};
  VwStatus st = places && listing.files ? VW_OK : VW_NO_MEMORY;
  if (!st) {
    add_made(&listing, places, n_places);
    st = add_before(&listing, unfinished);
  }
  if (!st) {
    const VwPackListWish wish = {
      store->folders.pack, unfinished, listing.files, listing.n_files};
    st = vw_pack_list_write(&wish);
  }
  free(listing.files);
  free(places);
  return st;
}
