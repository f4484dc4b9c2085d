#include "base/text.h"
#include "card/internal.h"
#include "store/store.h"

#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/statvfs.h>
#include <unistd.h>

VwStatus
vw_card_status(int error) {
  switch (error) {
    case EIO:
    case ENODEV:
    case ENXIO:
    case ENOTCONN:
    case ESTALE:
      return VW_CARD_GONE;
    default:
      return vw_file_status(error);
  }
}

VwStatus
vw_card_check(const VwDelivery* delivery) {
  struct stat status;
  // Where a card was mounted is an empty folder after it.
  return !stat(delivery->to, &status) &&
             (uint64_t)status.st_dev == delivery->device &&
             (uint64_t)status.st_ino == delivery->folder
           ? VW_OK
           : VW_CARD_GONE;
}

VwStatus
vw_card_room(const char* path, VwCardRoom* room) {
  struct statvfs system;
  if (statvfs(path, &system)) {
    return vw_card_status(errno);
  }
  const uint64_t cluster = system.f_frsize ? system.f_frsize : 1U;
  *room =
    (VwCardRoom){cluster, system.f_blocks * cluster, system.f_bavail * cluster};
  return VW_OK;
}

VwStatus
vw_card_sync(const char* folder) {
  const int fd = open(folder, O_RDONLY | O_CLOEXEC);
  if (fd < 0) {
    return vw_card_status(errno);
  }
  // Some file systems sync no folders, and say so.
  const bool failed = fsync(fd) && errno != EINVAL;
  const int  error = errno;
  (void)close(fd);
  return failed ? vw_card_status(error) : VW_OK;
}

VwStatus
vw_card_at(VwDelivery* delivery, char* path, VwStatus status) {
  free(status ? delivery->at : path);
  delivery->at = status ? path : delivery->at;
  return status;
}

VwStatus
vw_delivered_add(VwDelivered**      files,
                 size_t*            n_files,
                 const VwDelivered* file) {
  const size_t       n_bytes = (*n_files + 1U) * sizeof(VwDelivered);
  VwDelivered* const grown = realloc(*files, n_bytes);
  if (!grown) {
    return VW_NO_MEMORY;
  }
  *files = grown;
  char* const path = strdup(file->path);
  if (!path) {
    return VW_NO_MEMORY;
  }
  grown[*n_files] = *file;
  grown[(*n_files)++].path = path;
  return VW_OK;
}

void
vw_delivered_clear(VwDelivered* files, size_t n_files) {
  for (size_t i = 0; i < n_files; ++i) {
    free(files[i].path);
  }
  free(files);
}

VwStatus
vw_record_add(VwRecord* record, const VwDelivered* file) {
  return vw_delivered_add(&record->lines, &record->n_lines, file);
}

static VwStatus
add_line(VwRecord* record, const char* line, const char* folder) {
  VwDelivered       file = {0};
  const char* const name = vw_ledger_file(line, &file.digest);
  if (!strcmp(line, VW_LEDGER_UNFINISHED)) {
    record->unfinished = true;
  }
  if (!name) {
    return VW_OK;
  }
  file.path = vw_path_join(folder, name);
  const VwStatus st = file.path ? vw_record_add(record, &file) : VW_NO_MEMORY;
  free(file.path);
  return st;
}

VwStatus
vw_record_read(VwRecord* record, const char* list, const char* folder) {
  VwBytes  bytes = {0};
  VwStatus st = vw_file_read(list, &bytes);
  if (st) {
    return st == VW_NO_MEMORY ? st : VW_OK;
  }
  char* rest = (char*)bytes.data;
  for (char* line = NULL; !st && (line = vw_ledger_next(&rest));) {
    st = add_line(record, line, folder);
  }
  vw_bytes_clear(&bytes);
  return st;
}

static int
compare_path(const void* a, const void* b) {
  const VwDelivered* const left = a;
  const VwDelivered* const right = b;
  return vw_compare_without_case(left->path, right->path);
}

static int
compare(const void* a, const void* b) {
  const VwDelivered* const left = a;
  const VwDelivered* const right = b;
  const int                order = compare_path(a, b);
  return order                          ? order
         : left->digest < right->digest ? -1
                                        : left->digest > right->digest;
}

void
vw_record_sort(VwRecord* record) {
  size_t n = 0;
  if (record->n_lines) {
    qsort(record->lines, record->n_lines, sizeof(VwDelivered), compare);
  }
  for (size_t i = 0; i < record->n_lines; ++i) {
    if (n && !compare(&record->lines[n - 1U], &record->lines[i])) {
      free(record->lines[i].path);
    } else {
      record->lines[n++] = record->lines[i];
    }
  }
  record->n_lines = n;
}

bool
vw_record_names(const VwRecord* record, const VwDelivered* file) {
  const size_t size = sizeof(VwDelivered);
  return record->n_lines &&
         bsearch(file, record->lines, record->n_lines, size, compare_path);
}

bool
vw_record_holds(const VwRecord* record, const VwDelivered* file) {
  const size_t size = sizeof(VwDelivered);
  return record->n_lines &&
         bsearch(file, record->lines, record->n_lines, size, compare);
}

VwStatus
vw_record_text(const VwRecord* record, VwBytes* text) {
  char*       out = NULL;
  size_t      n = 0;
  FILE* const stream = open_memstream(&out, &n);
  for (size_t i = 0; stream && i < record->n_lines; ++i) {
    const VwDelivered* const line = &record->lines[i];
    // A name of two lines cannot be listed.
    if (!strchr(line->path, '\n')) {
      fprintf(stream, "%016" PRIx64 "  %s\n", line->digest, line->path);
    }
  }
  if (!stream || fclose(stream)) {
    free(out);
    return VW_NO_MEMORY;
  }
  *text = (VwBytes){(unsigned char*)out, n};
  return VW_OK;
}

void
vw_record_clear(VwRecord* record) {
  if (record) {
    vw_delivered_clear(record->lines, record->n_lines);
    *record = (VwRecord){0};
  }
}
