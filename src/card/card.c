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
  free(delivery->at);
  delivery->at = path;
  return status;
}

VwStatus
vw_record_add(VwRecord* record, const char* path, uint64_t digest) {
  VwDelivered* const grown =
    realloc(record->lines, (record->n_lines + 1U) * sizeof(VwDelivered));
  if (!grown) {
    return VW_NO_MEMORY;
  }
  record->lines = grown;
  char* const copy = strdup(path);
  if (!copy) {
    return VW_NO_MEMORY;
  }
  grown[record->n_lines++] = (VwDelivered){.path = copy, .digest = digest};
  return VW_OK;
}

static VwStatus
add_line(VwRecord* record, const char* line, const char* folder) {
  uint64_t          digest = 0;
  const char* const name = vw_ledger_file(line, &digest);
  if (!strcmp(line, VW_LEDGER_UNFINISHED)) {
    record->unfinished = true;
  }
  if (!name) {
    return VW_OK;
  }
  char* const    path = vw_path_join(folder, name);
  const VwStatus st = path ? vw_record_add(record, path, digest) : VW_NO_MEMORY;
  free(path);
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
compare(const void* a, const void* b) {
  const VwDelivered* const left = a;
  const VwDelivered* const right = b;
  const int order = vw_compare_without_case(left->path, right->path);
  if (order) {
    return order;
  }
  return left->digest < right->digest ? -1 : left->digest > right->digest;
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

static int
compare_path(const void* path, const void* line) {
  return vw_compare_without_case(path, ((const VwDelivered*)line)->path);
}

static int
compare_both(const void* wanted, const void* line) {
  return compare(wanted, line);
}

bool
vw_record_names(const VwRecord* record, const char* path) {
  return record->n_lines && bsearch(path,
                                    record->lines,
                                    record->n_lines,
                                    sizeof(VwDelivered),
                                    compare_path);
}

bool
vw_record_holds(const VwRecord* record, const char* path, uint64_t digest) {
  // The path is compared, not changed; it is no const only where it is owned.
  char* const       same = strdup(path);
  const VwDelivered wanted = {.path = same, .digest = digest};
  const bool        holds = same && record->n_lines &&
                     bsearch(&wanted,
                             record->lines,
                             record->n_lines,
                             sizeof(VwDelivered),
                             compare_both);
  free(same);
  return holds;
}

VwStatus
vw_record_text(const VwRecord* record, VwBytes* text) {
  char*       out = NULL;
  size_t      n_bytes = 0;
  FILE* const to = open_memstream(&out, &n_bytes);
  for (size_t i = 0; to && i < record->n_lines; ++i) {
    const VwDelivered* const line = &record->lines[i];
    // A name of two lines cannot be listed.
    if (!strchr(line->path, '\n')) {
      fprintf(to, "%016" PRIx64 "  %s\n", line->digest, line->path);
    }
  }
  if (!to || fclose(to)) {
    free(out);
    return VW_NO_MEMORY;
  }
  *text = (VwBytes){(unsigned char*)out, n_bytes};
  return VW_OK;
}

void
vw_record_clear(VwRecord* record) {
  if (record) {
    for (size_t i = 0; i < record->n_lines; ++i) {
      free(record->lines[i].path);
    }
    free(record->lines);
    *record = (VwRecord){0};
  }
}
