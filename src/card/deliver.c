#include "card/internal.h"
#include "store/store.h"

#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* Note */

/// The record of the pack's folder with what is delivered now.
static VwStatus
text_of_record(const VwDelivery* delivery, const char* path, VwBytes* text) {
  VwRecord record = {0};
  VwStatus st = vw_record_read(&record, path, "");
  for (size_t i = 0; !st && i < delivery->n_files; ++i) {
    st = vw_record_add(&record, &delivery->files[i]);
  }
  vw_record_sort(&record);
  st = st ? st : vw_record_text(&record, text);
  vw_record_clear(&record);
  return st;
}

static VwStatus
keep_record(VwDelivery* delivery) {
  VwBytes     text = {0};
  char* const path = vw_path_join(delivery->from, VW_RECORD_NAME);
  const int   lock = vw_folder_lock(delivery->from);
  VwStatus    st = path ? text_of_record(delivery, path, &text) : VW_NO_MEMORY;
  vw_folder_sweep(delivery->from);
  st = st ? st : vw_file_write(path, &text);
  vw_folder_unlock(lock);
  vw_bytes_clear(&text);
  return vw_card_at(delivery, path, st);
}

/* Clear */

/// Remove the folders above a path that became empty.
static void
remove_folders(const VwDelivery* delivery, const char* path) {
  char* const folder = strdup(path);
  char*       slash = folder ? strrchr(folder, '/') : NULL;
  bool        empty = true;
  while (slash && empty) {
    *slash = '\0';
    char* const whole = vw_path_join(delivery->to, folder);
    empty = whole && !rmdir(whole);
    free(whole);
    slash = strrchr(folder, '/');
  }
  free(folder);
}

static VwStatus
clear_old(VwDelivery* delivery) {
  for (size_t i = 0; i < delivery->n_old; ++i) {
    const char* const old = delivery->old[i].path;
    char* const       path = vw_path_join(delivery->to, old);
    VwStatus          st = path ? vw_card_check(delivery) : VW_NO_MEMORY;
    if (!st && unlink(path) && errno != ENOENT) {
      st = vw_card_status(errno);
    }
    if (vw_card_at(delivery, path, st)) {
      return st;
    }
    remove_folders(delivery, old);
  }
  const VwStatus st = vw_card_sync(delivery->to);
  return vw_card_at(delivery, strdup(delivery->to), st);
}

VwStatus
vw_delivery_make_room(VwDelivery* delivery) {
  assert(delivery && delivery->n_files);
  const VwStatus st = keep_record(delivery);
  return st ? st : clear_old(delivery);
}

/* Write */

/// Make the folders in which a file lies, and make their names sure.
static VwStatus
make_folders(const VwDelivery* delivery, char* path) {
  VwStatus st = VW_OK;
  char*    slash = path + strlen(delivery->to) + 1U;
  while (!st && (slash = strchr(slash, '/'))) {
    *slash = '\0';
    if (mkdir(path, 0777) && errno != EEXIST) {
      st = vw_card_status(errno);
    }
    *slash++ = '/';
  }
  return st;
}

/// Write a file that was not there, and sync it.
static VwStatus
write_new(const char* path, const VwBytes* bytes) {
  const int fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
  if (fd < 0) {
    return vw_card_status(errno);
  }
  const int error = vw_file_fill(fd, bytes);
  return error ? vw_card_status(error) : VW_OK;
}

/// Give a file that was written its name, which nothing may have.
static VwStatus
give_name(const VwDelivery* delivery, const char* temporary, char* path) {
  struct stat status;
  VwStatus    st = make_folders(delivery, path);
  if (!st && !lstat(path, &status)) {
    st = VW_EXISTS;
  }
  if (!st && rename(temporary, path)) {
    st = vw_card_status(errno);
  }
  if (st) {
    return st;
  }
  char* const folder = vw_path_sibling(path, ".", "");
  st = folder ? vw_card_sync(folder) : VW_NO_MEMORY;
  free(folder);
  return st;
}

/// Write bytes onto the card under their name, or leave nothing.
static VwStatus
put(const VwDelivery* delivery, char* path, const VwBytes* bytes) {
  char* const temporary = vw_path_join(delivery->to, VW_CARD_TEMPORARY);
  VwStatus    st = temporary ? vw_card_check(delivery) : VW_NO_MEMORY;
  if (!st) {
    st = write_new(temporary, bytes);
    st = st ? st : give_name(delivery, temporary, path);
    if (st && !vw_card_check(delivery)) {
      (void)unlink(temporary);
    }
  }
  free(temporary);
  return st;
}

/// Read a file of the pack as it was when it was looked at.
static VwStatus
read_source(const VwDelivery* delivery, size_t index, VwBytes* bytes) {
  const VwDelivered* const file = &delivery->files[index];
  char* const              path = vw_path_join(delivery->from, file->path);
  VwStatus                 st = path ? vw_file_read(path, bytes) : VW_NO_MEMORY;
  if (!st && vw_digest(bytes->data, bytes->n_bytes) != file->digest) {
    st = VW_NOT_SAME;
  }
  free(path);
  return st;
}

VwStatus
vw_delivery_write(VwDelivery* delivery, size_t index) {
  assert(delivery && index < delivery->n_files);
  const char* const name = delivery->files[index].path;
  VwBytes           bytes = {0};
  VwStatus          st = read_source(delivery, index, &bytes);
  if (st) {
    vw_bytes_clear(&bytes);
    return vw_card_at(delivery, vw_path_join(delivery->from, name), st);
  }
  char* const path = vw_path_join(delivery->to, name);
  st = path ? put(delivery, path, &bytes) : VW_NO_MEMORY;
  vw_bytes_clear(&bytes);
  return vw_card_at(delivery, path, st);
}

/* Verify */

/// Have the system forget what it holds of a file, so that it is read again.
static VwStatus
forget(const char* path) {
  const int fd = open(path, O_RDONLY | O_CLOEXEC);
  if (fd < 0) {
    return errno == ENOENT ? VW_NOT_SAME : vw_card_status(errno);
  }
  // What could not be written in the background is told once, here.
  const VwStatus st = fsync(fd) ? vw_card_status(errno) : VW_OK;
  (void)posix_fadvise(fd, 0, 0, POSIX_FADV_DONTNEED);
  (void)close(fd);
  return st;
}

VwStatus
vw_delivery_verify(VwDelivery* delivery, size_t index) {
  assert(delivery && index < delivery->n_files);
  const VwDelivered* const file = &delivery->files[index];
  VwBytes                  bytes = {0};
  char* const              path = vw_path_join(delivery->to, file->path);
  VwStatus                 st = path ? vw_card_check(delivery) : VW_NO_MEMORY;
  st = st ? st : forget(path);
  if (!st) {
    st = vw_file_read(path, &bytes);
    // What cannot be read back is not the same.
    const bool other =
      st == VW_MISSING || st == VW_UNREADABLE || st == VW_NOT_REGULAR;
    st = other ? VW_NOT_SAME : st;
  }
  if (!st && (bytes.n_bytes != file->n_bytes ||
              vw_digest(bytes.data, bytes.n_bytes) != file->digest)) {
    st = VW_NOT_SAME;
  }
  vw_bytes_clear(&bytes);
  return vw_card_at(delivery, path, st);
}

/* Order */

/// Whether the files of each folder are named in the order of their names.
static bool
is_ordered(const VwTree* tree) {
  const VwEntry* before = NULL;
  for (size_t i = 0; i < tree->n_entries; ++i) {
    const VwEntry* const entry = &tree->entries[i];
    if (entry->kind != VW_ENTRY_FILE) {
      continue;
    }
    if (before && vw_tree_share_folder(before, entry) &&
        entry->place < before->place) {
      return false;
    }
    before = entry;
  }
  return true;
}

VwStatus
vw_delivery_finish(VwDelivery* delivery) {
  assert(delivery);
  VwTree   tree = {0};
  VwStatus st = vw_card_check(delivery);
  st = st ? st : vw_card_sync(delivery->to);
  st = st ? st : vw_tree_read(delivery->to, &tree);
  if (st) {
    return vw_card_at(delivery, strdup(delivery->to), st);
  }
  delivery->ordered = !vw_order_is_kept(delivery->to) || is_ordered(&tree);
  vw_tree_clear(&tree);
  return VW_OK;
}
