// For realpath().
#define _XOPEN_SOURCE 700

#include "base/size.h"
#include "base/text.h"
#include "card/internal.h"
#include "pack/internal.h"
#include "store/store.h"

#include <assert.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/// A delivery being planned.
typedef struct {
  VwDelivery* delivery;
  bool        force;
  VwTree      pack;
  VwTree      card;
  VwRecord    ours;   ///< What may be cleared.
  VwPackList  packed; ///< What is of the pack; no files, if it is none.
} Plan;

static VwStatus
fail(Plan* plan, const char* root, const char* path, VwStatus status) {
  return vw_card_at(plan->delivery, vw_path_join(root, path), status);
}

/* The two folders */

/// Find a folder by its real name.
static VwStatus
find_folder(const char* path, char** real, struct stat* status) {
  char* const found = realpath(path, NULL);
  if (!found) {
    return errno == ENOENT    ? VW_NO_FOLDER
           : errno == ENOTDIR ? VW_NOT_A_FOLDER
           : errno == ENOMEM  ? VW_NO_MEMORY
                              : vw_card_status(errno);
  }
  if (stat(found, status) || !S_ISDIR(status->st_mode)) {
    free(found);
    return VW_NOT_A_FOLDER;
  }
  *real = found;
  return VW_OK;
}

/// Whether a folder is the top of a file system.
static bool
is_top(const char* path, const struct stat* status) {
  struct stat above;
  char* const parent = vw_path_join(path, "..");
  const bool  top =
    parent && !stat(parent, &above) &&
    (above.st_dev != status->st_dev || above.st_ino == status->st_ino);
  free(parent);
  return top;
}

static VwStatus
find_both(Plan* plan, const char* from, const char* to) {
  VwDelivery* const delivery = plan->delivery;
  struct stat       pack;
  struct stat       card;
  VwStatus          st = find_folder(from, &delivery->from, &pack);
  if (st) {
    return fail(plan, from, "", st == VW_NO_FOLDER ? VW_MISSING : st);
  }
  st = find_folder(to, &delivery->to, &card);
  if (!st && (vw_path_lies_in(delivery->from, delivery->to) ||
              vw_path_lies_in(delivery->to, delivery->from) ||
              (pack.st_dev == card.st_dev && pack.st_ino == card.st_ino))) {
    st = VW_NESTED;
  }
  if (!st && access(delivery->to, W_OK | X_OK)) {
    st = vw_card_status(errno);
  }
  if (st) {
    return fail(plan, to, "", st);
  }
  delivery->device = (uint64_t)card.st_dev;
  delivery->folder = (uint64_t)card.st_ino;
  delivery->mounted = is_top(delivery->to, &card);
  return VW_OK;
}

/* The pack */

/// Whether a path, or a folder on the way, is hidden.
static bool
is_hidden(const char* path) {
  return path[0] == '.' || strstr(path, "/.");
}

static VwStatus
add(VwDelivered** files, size_t* n_files, const VwEntry* entry) {
  const VwDelivered file = {.path = entry->path, .n_bytes = entry->n_bytes};
  return vw_delivered_add(files, n_files, &file);
}

static VwStatus
digest_of(const char* root, VwDelivered* file) {
  VwBytes     bytes = {0};
  char* const path = vw_path_join(root, file->path);
  VwStatus    st = path ? vw_file_read(path, &bytes) : VW_NO_MEMORY;
  free(path);
  if (!st) {
    file->n_bytes = bytes.n_bytes;
    file->digest = vw_digest(bytes.data, bytes.n_bytes);
  }
  vw_bytes_clear(&bytes);
  return st;
}

/// Take in a file of the pack.
static VwStatus
add_file(Plan* plan, const VwEntry* entry) {
  VwDelivery* const delivery = plan->delivery;
  VwStatus          st = add(&delivery->files, &delivery->n_files, entry);
  if (st) {
    return st;
  }
  VwDelivered* const file = &delivery->files[delivery->n_files - 1U];
  st = digest_of(delivery->from, file);
  st = st ? st : vw_record_add(&plan->ours, file);
  delivery->n_bytes += file->n_bytes;
  if (!st && vw_pack_list_names(&plan->packed, entry->path) &&
      !vw_pack_list_holds(&plan->packed, entry->path, file->digest)) {
    st = vw_faults_add(&delivery->apart,
                       entry->path,
                       0,
                       "it was changed since it was packed, and is delivered "
                       "as it is",
                       "pack again with --force to have it as made");
  }
  return st;
}

/// Take in a list that lies in the pack.
static VwStatus
add_list(Plan* plan, const VwEntry* entry) {
  const char* const name = vw_path_name(entry->path);
  char* const       list = vw_path_join(plan->delivery->from, entry->path);
  char* const       folder = strdup(entry->path);
  VwStatus          st = list && folder ? VW_OK : VW_NO_MEMORY;
  if (!st) {
    const size_t n = (size_t)(name - entry->path);
    folder[n ? n - 1U : 0U] = '\0';
    st = vw_record_read(&plan->ours, list, folder);
  }
  free(folder);
  free(list);
  return st;
}

static VwStatus
add_entry(Plan* plan, const VwEntry* entry) {
  const char* const name = vw_path_name(entry->path);
  if (entry->kind == VW_ENTRY_FILE &&
      (!strcmp(name, VW_LEDGER_NAME) || !strcmp(entry->path, VW_RECORD_NAME))) {
    return add_list(plan, entry);
  }
  if (is_hidden(entry->path) || entry->kind == VW_ENTRY_FOLDER) {
    return VW_OK;
  }
  if (plan->packed.files && !vw_pack_list_names(&plan->packed, entry->path)) {
    return vw_faults_add(&plan->delivery->apart,
                         entry->path,
                         0,
                         "none of the pack, and not delivered",
                         "delete it, or pack its sound too");
  }
  return entry->kind == VW_ENTRY_FILE     ? add_file(plan, entry)
         : entry->kind == VW_ENTRY_CLOSED ? VW_UNREADABLE
                                          : VW_NOT_REGULAR;
}

/// Find a file that the list of a pack names and that is not there.
static VwStatus
check_whole(Plan* plan) {
  const VwDelivery* const delivery = plan->delivery;
  for (size_t i = 0; i < plan->packed.n_files; ++i) {
    const VwPackListed* const file = &plan->packed.files[i];
    size_t                    k = 0;
    while (k < delivery->n_files &&
           strcmp(delivery->files[k].path, file->name)) {
      ++k;
    }
    if (k == delivery->n_files && !file->left) {
      return fail(plan, delivery->from, file->name, VW_UNFINISHED);
    }
  }
  return VW_OK;
}

static VwStatus
read_pack(Plan* plan) {
  VwDelivery* const delivery = plan->delivery;
  VwStatus          st = vw_tree_read(delivery->from, &plan->pack);
  st = st ? st : vw_pack_list_read(delivery->from, &plan->packed);
  for (size_t i = 0; !st && i < plan->pack.n_entries; ++i) {
    const VwEntry* const entry = &plan->pack.entries[i];
    st = add_entry(plan, entry);
    if (st) {
      return fail(plan, delivery->from, entry->path, st);
    }
  }
  if (!st && plan->ours.unfinished) {
    st = VW_UNFINISHED;
  } else if (!st && !delivery->n_files) {
    st = VW_NO_FILES;
  }
  vw_record_sort(&plan->ours);
  if (!st && plan->packed.board) {
    delivery->board = strdup(plan->packed.board);
    st = delivery->board ? VW_OK : VW_NO_MEMORY;
  }
  return st ? fail(plan, delivery->from, "", st) : check_whole(plan);
}

/* The card */

/// Whether a path, or one of the folders on its way, has a name but for case.
static bool
leads_to(const char* path, const char* name, bool folders) {
  const size_t n = strlen(name);
  const char*  slash = folders ? strchr(path, '/') : NULL;
  for (; slash; slash = strchr(slash + 1, '/')) {
    if (vw_same_without_case(path, (size_t)(slash - path), name, n)) {
      return true;
    }
  }
  return !vw_compare_without_case(path, name);
}

/// Whether an entry of the card stands where a file is to go.
static bool
is_in_the_way(const Plan* plan, const VwEntry* entry) {
  const VwDelivery* const delivery = plan->delivery;
  const bool              folder = entry->kind == VW_ENTRY_FOLDER;
  for (size_t i = 0; i < delivery->n_files; ++i) {
    if (leads_to(delivery->files[i].path, entry->path, !folder)) {
      return true;
    }
  }
  return false;
}

static bool
is_ours(const Plan* plan, const VwEntry* entry) {
  if (!strcmp(entry->path, VW_CARD_TEMPORARY)) {
    return true; // left behind by an interruption
  }
  VwDelivered file = {.path = entry->path};
  // Most files of other people are in no list; those are not read.
  return vw_record_names(&plan->ours, &file) &&
         !digest_of(plan->delivery->to, &file) &&
         vw_record_holds(&plan->ours, &file);
}

/// Decide what happens to a name on the card.
static VwStatus
judge(Plan* plan, const VwEntry* entry) {
  VwDelivery* const delivery = plan->delivery;
  const bool        file = entry->kind == VW_ENTRY_FILE;
  if (file && is_ours(plan, entry)) {
    return add(&delivery->old, &delivery->n_old, entry);
  }
  if (is_in_the_way(plan, entry)) {
    return !file         ? VW_NOT_REGULAR
           : plan->force ? add(&delivery->old, &delivery->n_old, entry)
                         : VW_EXISTS;
  }
  return entry->kind == VW_ENTRY_FOLDER
           ? VW_OK
           : add(&delivery->left, &delivery->n_left, entry);
}

static VwStatus
read_card(Plan* plan) {
  const char* const to = plan->delivery->to;
  const VwStatus    st = vw_tree_read(to, &plan->card);
  if (st) {
    return fail(plan, to, "", st);
  }
  for (size_t i = 0; i < plan->card.n_entries; ++i) {
    const VwEntry* const entry = &plan->card.entries[i];
    const VwStatus       judged = judge(plan, entry);
    if (judged) {
      return fail(plan, to, entry->path, judged);
    }
  }
  return VW_OK;
}

/* Room */

/// Folders that are needed for the files, those that hold folders alone as
/// well. The files of a folder stand together: they come as vw_tree_read() has
/// them.
static size_t
count_folders(const VwDelivery* delivery) {
  size_t n = 0;
  for (size_t i = 0; i < delivery->n_files; ++i) {
    const char* const path = delivery->files[i].path;
    const char* const before = i ? delivery->files[i - 1U].path : "";
    const char*       slash = strchr(path, '/');
    for (; slash; slash = strchr(slash + 1, '/')) {
      n += strncmp(path, before, (size_t)(slash - path) + 1U) != 0;
    }
  }
  return n;
}

static VwStatus
check_room(Plan* plan) {
  VwDelivery* const delivery = plan->delivery;
  VwCardRoom        room = {0};
  VwStatus          st = vw_card_room(delivery->to, &room);
  for (size_t i = 0; !st && i < delivery->n_files; ++i) {
    delivery->n_bytes_on_card +=
      vw_size_on_card(delivery->files[i].n_bytes, room.cluster_bytes);
  }
  delivery->n_bytes_on_card += count_folders(delivery) * room.cluster_bytes;
  delivery->cluster_bytes = room.cluster_bytes;
  delivery->n_bytes_free = room.n_bytes_free;
  for (size_t i = 0; i < delivery->n_old; ++i) {
    delivery->n_bytes_free +=
      vw_size_on_card(delivery->old[i].n_bytes, room.cluster_bytes);
  }
  if (!st && delivery->n_bytes_on_card > room.n_bytes) {
    st = VW_CARD_TOO_SMALL;
  } else if (!st && delivery->n_bytes_on_card > delivery->n_bytes_free) {
    st = VW_DISK_FULL;
  }
  return st ? fail(plan, delivery->to, "", st) : VW_OK;
}

/* All */

void
vw_delivery_clear(VwDelivery* delivery) {
  if (delivery) {
    vw_delivered_clear(delivery->files, delivery->n_files);
    vw_delivered_clear(delivery->old, delivery->n_old);
    vw_delivered_clear(delivery->left, delivery->n_left);
    free(delivery->from);
    free(delivery->to);
    vw_faults_clear(&delivery->apart);
    free(delivery->board);
    free(delivery->at);
    *delivery = (VwDelivery){0};
  }
}

VwStatus
vw_delivery_plan(const char* from,
                 const char* to,
                 bool        force,
                 VwDelivery* delivery) {
  assert(from && to && delivery);
  VwDelivery made = {.ordered = true};
  Plan       plan = {.delivery = &made, .force = force};
  VwStatus   st = find_both(&plan, from, to);
  st = st ? st : read_pack(&plan);
  st = st ? st : read_card(&plan);
  st = st ? st : check_room(&plan);
  vw_tree_clear(&plan.pack);
  vw_tree_clear(&plan.card);
  vw_record_clear(&plan.ours);
  vw_pack_list_clear(&plan.packed);
  if (st) {
    char* const at = made.at;
    made.at = NULL;
    vw_delivery_clear(&made);
    made = (VwDelivery){.at = at};
  }
  *delivery = made;
  return st;
}
