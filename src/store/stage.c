#include "store/stage.h"

#include "store/store.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

// How names of files on their way start, and end those of what they replace.
#define ON_ITS_WAY ".volleyweave-"
#define REPLACED "~"

// Names tried, should others be taken by what an earlier crash left behind.
#define ATTEMPTS 100U

/* One run at a time */

// Nobody else is at work in a page, where the system knows of no others.
#ifdef __EMSCRIPTEN__

int
vw_folder_lock(const char* folder) {
  (void)folder;
  return -1;
}

static bool
is_gone(long process) {
  return process != 0;
}

#else

int
vw_folder_lock(const char* folder) {
  const int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  while (fd >= 0 && flock(fd, LOCK_EX) && errno == EINTR) {
  }
  return fd;
}

static bool
is_gone(long process) {
  // A number may come again: what bears our own was not written by this run.
  return process == (long)getpid() ||
         (process && kill((pid_t)process, 0) && errno == ESRCH);
}

#endif

void
vw_folder_unlock(int lock) {
  if (lock >= 0) {
    close(lock);
  }
}

/* What was left */

/// The process that gave a file its name on its way; 0: it is no such name.
static long
process_of(const char* name) {
  const size_t n = strlen(ON_ITS_WAY);
  char*        rest = NULL;
  const long   process =
    strncmp(name, ON_ITS_WAY, n) ? 0L : strtol(name + n, &rest, 10);
  return process > 0L && *rest == '-' ? process : 0L;
}

void
vw_folder_sweep(const char* path) {
  DIR* const folder = opendir(path);
  if (!folder) {
    return;
  }
  for (const struct dirent* entry = readdir(folder); entry;
       entry = readdir(folder)) {
    if (is_gone(process_of(entry->d_name))) {
      unlinkat(dirfd(folder), entry->d_name, 0);
    }
  }
  closedir(folder);
}

/* Signals */

void
vw_signals_hold(VwSignals* signals) {
  static const int asks[] = {SIGINT, SIGTERM, SIGHUP};

  sigset_t before;
  sigemptyset(&signals->held);
  sigprocmask(SIG_BLOCK, NULL, &before);
  for (size_t i = 0; i < sizeof(asks) / sizeof(asks[0]); ++i) {
    struct sigaction action;
    const bool       ignored =
      sigaction(asks[i], NULL, &action) || action.sa_handler == SIG_IGN;
    if (!ignored && !sigismember(&before, asks[i])) {
      sigaddset(&signals->held, asks[i]);
    }
  }
  sigprocmask(SIG_BLOCK, &signals->held, NULL);
}

bool
vw_signals_wait(const VwSignals* signals) {
  sigset_t pending;
  sigemptyset(&pending);
  sigpending(&pending);
  for (int i = 1; i < SIGRTMIN; ++i) {
    if (sigismember(&pending, i) == 1 && sigismember(&signals->held, i) == 1) {
      return true;
    }
  }
  return false;
}

void
vw_signals_pass(void) {
  sigset_t none;
  sigset_t before;
  sigemptyset(&none);
  sigprocmask(SIG_SETMASK, &none, &before);
  sigprocmask(SIG_SETMASK, &before, NULL);
}

void
vw_signals_release(const VwSignals* signals) {
  sigprocmask(SIG_UNBLOCK, &signals->held, NULL);
}

/* Write */

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
             ON_ITS_WAY "%ld-%016" PRIx64 "-%u",
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

/// Copy a file to a name that nothing has.
static VwStatus
copy(const char* from, const char* to) {
  VwBytes   bytes = {0};
  VwStatus  st = vw_file_read(from, &bytes);
  const int fd =
    st ? -1 : open(to, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
  if (!st) {
    st = vw_file_status(fd < 0 ? errno : vw_file_fill(fd, &bytes));
  }
  if (st && fd >= 0) {
    unlink(to);
  }
  vw_bytes_clear(&bytes);
  return st;
}

/// Give what stands under the name a second one, or copy it to that: whenever
/// the process ends, the name is that of a whole file.
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
    vw_path_sibling(stage->staged, vw_path_name(stage->staged), REPLACED);
  if (!backup) {
    return VW_NO_MEMORY;
  }
  // File systems of cards know no second names.
  const VwStatus st =
    link(stage->path, backup) ? copy(stage->path, backup) : VW_OK;
  if (st) {
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
  // What was not replaced has its name still. Two names of one file are left as
  // they are by renaming one to the other.
  if (stage->backup && (!stage->done || !rename(stage->backup, stage->path))) {
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
