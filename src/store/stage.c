#include "store/stage.h"

#include "store/store.h"

#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

// Names tried, should others be taken by what an earlier crash left behind.
#define ATTEMPTS 100U

/// Make a file under a name of its own in the folder of `path`. Returns its
/// descriptor, or -1 and `errno`.
static int
open_staged(VwStage* stage, const char* path) {
  *stage = (VwStage){.path = strdup(path)};
  // Short whatever the name, which may be as long as a name can be.
  char           name[64];
  const uint64_t digest = vw_digest(path, strlen(path));
  errno = stage->path ? EEXIST : ENOMEM;
  for (unsigned i = 0; i < ATTEMPTS && errno == EEXIST; ++i) {
    snprintf(name,
             sizeof(name),
             ".volleyweave-%ld-%016" PRIx64 "-%u",
             (long)getpid(),
             digest,
             i);
    char* const staged = vw_path_sibling(path, name, "");
    if (!staged) {
      errno = ENOMEM;
      return -1;
    }
    const int fd = open(staged, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (fd >= 0) {
      stage->staged = staged;
      return fd;
    }
    free(staged);
  }
  return -1;
}

VwStatus
vw_stage_write(VwStage* stage, const char* path, const VwBytes* bytes) {
  const int fd = open_staged(stage, path);
  if (fd < 0) {
    return vw_file_status(errno);
  }
  return vw_file_status(vw_file_fill(fd, bytes));
}

/// Give what stands under the name a second one, or move it to that.
static VwStatus
keep_old(VwStage* stage) {
  struct stat status;
  if (lstat(stage->path, &status)) {
    return errno == ENOENT ? VW_OK : vw_file_status(errno);
  }
  if (S_ISDIR(status.st_mode)) {
    return VW_WRITE_FAILED;
  }
  char* const backup =
    vw_path_sibling(stage->staged, vw_path_name(stage->staged), "~");
  if (!backup) {
    return VW_NO_MEMORY;
  }
  // File systems of cards know no second names.
  if (link(stage->path, backup) && rename(stage->path, backup)) {
    const VwStatus st = vw_file_status(errno);
    free(backup);
    return st;
  }
  stage->backup = backup;
  return VW_OK;
}

VwStatus
vw_stage_rename(VwStage* stage) {
  const VwStatus st = keep_old(stage);
  if (st) {
    return st;
  }
  if (rename(stage->staged, stage->path)) {
    return vw_file_status(errno);
  }
  stage->done = true;
  return VW_OK;
}

static void
put_back(VwStage* stage) {
  if (stage->done && !stage->backup) {
    unlink(stage->path);
  }
  // Two names of one file are left as they are by renaming one to the other.
  if (stage->backup && !rename(stage->backup, stage->path)) {
    unlink(stage->backup);
  }
}

void
vw_stage_finish(VwStage* stage, bool keep) {
  if (!keep) {
    put_back(stage);
  } else if (stage->backup) {
    unlink(stage->backup);
  }
  if (stage->staged && !stage->done) {
    unlink(stage->staged);
  }
  free(stage->path);
  free(stage->staged);
  free(stage->backup);
  *stage = (VwStage){0};
}

VwStatus
vw_file_write(const char* path, const VwBytes* bytes) {
  VwStage  stage = {0};
  VwStatus st = vw_stage_write(&stage, path, bytes);
  st = st ? st : vw_stage_rename(&stage);
  vw_stage_finish(&stage, !st);
  return st;
}

VwStatus
vw_file_copy(const char* from, const char* to) {
  VwBytes  bytes = {0};
  VwStatus st = vw_file_read(from, &bytes);
  st = st ? st : vw_file_write(to, &bytes);
  vw_bytes_clear(&bytes);
  return st;
}
