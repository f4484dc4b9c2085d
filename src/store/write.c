#include "store/stage.h"
#include "store/store.h"

#include <assert.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/// An output on its way.
typedef struct {
  const VwOutput* output;
  dev_t           folder_device; ///< Which folder it is, however it is spelled.
  ino_t           folder_inode;
  VwStage         file;
  VwStage         list;   ///< Of its folder, if it is the first in it.
  bool            locked; ///< So is its folder, if it is the first in it,
  int             lock;   ///< by this.
} Job;

/* Check */

static bool
is_take(const struct stat* status, const VwWriteOptions* options) {
  for (size_t i = 0; i < options->n_takes; ++i) {
    struct stat take;
    if (!stat(options->takes[i], &take) && take.st_dev == status->st_dev &&
        take.st_ino == status->st_ino) {
      return true;
    }
  }
  return false;
}

/// Whether what stands under an output's name may be replaced.
static VwStatus
check_file(const char* path, const VwWriteOptions* options) {
  struct stat link;
  if (lstat(path, &link)) {
    // The folder's fault is found by looking at the folder.
    return errno == ENOENT || errno == ENOTDIR || errno == EACCES
             ? VW_OK
             : vw_file_status(errno);
  }
  // Of a link that leads nowhere only the link itself is there.
  struct stat status;
  const bool  leads = !stat(path, &status);
  if (leads && is_take(&status, options)) {
    return VW_IS_TAKE;
  }
  if (leads && !S_ISREG(status.st_mode)) {
    return VW_NOT_REGULAR;
  }
  const bool own = S_ISREG(link.st_mode) && vw_ledger_owns(path);
  return own || options->force ? VW_OK : VW_EXISTS;
}

/// Whether the folder is there and may be written to.
static VwStatus
check_folder(Job* job) {
  char* const folder = vw_path_sibling(job->output->path, ".", "");
  if (!folder) {
    return VW_NO_MEMORY;
  }
  struct stat status;
  VwStatus    st = VW_OK;
  if (stat(folder, &status) || access(folder, W_OK | X_OK)) {
    st = vw_file_status(errno);
  } else {
    job->folder_device = status.st_dev;
    job->folder_inode = status.st_ino;
  }
  free(folder);
  return st;
}

static bool
share_folder(const Job* a, const Job* b) {
  return a->folder_device == b->folder_device &&
         a->folder_inode == b->folder_inode;
}

static bool
is_repeated(const Job* jobs, size_t index) {
  const char* const name = vw_path_name(jobs[index].output->path);
  for (size_t i = 0; i < index; ++i) {
    if (share_folder(&jobs[i], &jobs[index]) &&
        !strcmp(vw_path_name(jobs[i].output->path), name)) {
      return true;
    }
  }
  return false;
}

static VwStatus
check_job(Job* jobs, size_t index, const VwWriteOptions* options) {
  Job* const        job = &jobs[index];
  const char* const path = job->output->path;
  VwStatus          st = check_file(path, options);
  st = st ? st : check_folder(job);
  if (st) {
    return st;
  }
  const char* const name = vw_path_name(path);
  if (!*name) {
    return VW_NOT_REGULAR;
  }
  if (!strcmp(name, VW_LEDGER_NAME)) {
    return VW_EXISTS;
  }
  return is_repeated(jobs, index) ? VW_SAME_STEM : VW_OK;
}

static VwStatus
check_all(Job* jobs, size_t n_jobs, const VwWriteOptions* options, size_t* at) {
  VwStatus st = VW_OK;
  for (size_t i = 0; !st && i < n_jobs; ++i) {
    *at = i;
    st = check_job(jobs, i, options);
  }
  return st;
}

/* Write */

static bool
is_first_of_folder(const Job* jobs, size_t index) {
  for (size_t i = 0; i < index; ++i) {
    if (share_folder(&jobs[i], &jobs[index])) {
      return false;
    }
  }
  return true;
}

/// Of folders that are not locked yet the one that is to be next: all runs lock
/// them in one order, or two could wait for each other. NULL: all are.
static Job*
next_to_lock(Job* jobs, size_t n_jobs) {
  Job* next = NULL;
  for (size_t i = 0; i < n_jobs; ++i) {
    Job* const job = &jobs[i];
    const bool before = !next || job->folder_device < next->folder_device ||
                        (job->folder_device == next->folder_device &&
                         job->folder_inode < next->folder_inode);
    if (before && !job->locked && is_first_of_folder(jobs, i)) {
      next = job;
    }
  }
  return next;
}

/// Keep others from all folders, and clear what runs that are gone left there.
static VwStatus
lock_all(Job* jobs, size_t n_jobs) {
  for (Job* job = NULL; (job = next_to_lock(jobs, n_jobs));) {
    char* const folder = vw_path_sibling(job->output->path, ".", "");
    if (!folder) {
      return VW_NO_MEMORY;
    }
    job->lock = vw_folder_lock(folder);
    job->locked = true;
    vw_folder_sweep(folder);
    free(folder);
  }
  return VW_OK;
}

static void
unlock_all(const Job* jobs, size_t n_jobs) {
  for (size_t i = 0; i < n_jobs; ++i) {
    if (jobs[i].locked) {
      vw_folder_unlock(jobs[i].lock);
    }
  }
}

/// Stage the list of the folder in which the entries lie.
static VwStatus
stage_list(const VwLedgerEntry* entries, size_t n_entries, VwStage* stage) {
  VwBytes     list = {0};
  char* const path = vw_path_sibling(entries->path, VW_LEDGER_NAME, "");
  VwStatus st = path ? vw_ledger_with(entries, n_entries, &list) : VW_NO_MEMORY;
  st = st ? st : vw_stage_write(stage, path, &list);
  vw_bytes_clear(&list);
  free(path);
  return st;
}

/// Stage the list of the folder that a job is the first of.
static VwStatus
stage_list_of(Job* jobs, size_t n_jobs, size_t index, VwLedgerEntry* entries) {
  size_t n = 0;
  for (size_t i = index; i < n_jobs; ++i) {
    const VwBytes* const bytes = &jobs[i].output->bytes;
    if (share_folder(&jobs[index], &jobs[i])) {
      entries[n++] = (VwLedgerEntry){jobs[i].output->path,
                                     vw_digest(bytes->data, bytes->n_bytes),
                                     jobs[i].output->made,
                                     jobs[i].output->is_take};
    }
  }
  return stage_list(entries, n, &jobs[index].list);
}

static VwStatus
stage_all(Job* jobs, size_t n_jobs, VwLedgerEntry* same_folder, size_t* at) {
  VwStatus st = VW_OK;
  for (size_t i = 0; !st && i < n_jobs; ++i) {
    const VwOutput* const output = jobs[i].output;
    *at = i;
    st = vw_stage_write(&jobs[i].file, output->path, &output->bytes);
    if (!st && is_first_of_folder(jobs, i)) {
      st = stage_list_of(jobs, n_jobs, i, same_folder);
    }
  }
  return st;
}

/// The lists first: a file that is there is then on its list.
static VwStatus
rename_all(Job* jobs, size_t n_jobs, size_t* at) {
  VwStatus st = VW_OK;
  for (size_t i = 0; !st && i < n_jobs; ++i) {
    *at = i;
    st = jobs[i].list.path ? vw_stage_rename(&jobs[i].list) : VW_OK;
  }
  for (size_t i = 0; !st && i < n_jobs; ++i) {
    *at = i;
    st = vw_stage_rename(&jobs[i].file);
  }
  return st;
}

static VwStatus
write_locked(Job* jobs, size_t n_jobs, size_t* at) {
  VwLedgerEntry* const same_folder = calloc(n_jobs, sizeof(VwLedgerEntry));
  VwStatus             st = same_folder ? VW_OK : VW_NO_MEMORY;
  st = st ? st : stage_all(jobs, n_jobs, same_folder, at);
  st = st ? st : rename_all(jobs, n_jobs, at);
  // Backwards, so that the lists are right for as long as the files are there.
  for (size_t i = n_jobs; i-- > 0;) {
    vw_stage_finish(&jobs[i].file, !st);
  }
  for (size_t i = 0; i < n_jobs; ++i) {
    vw_stage_finish(&jobs[i].list, !st);
  }
  free(same_folder);
  return st;
}

static VwStatus
write_all(Job* jobs, size_t n_jobs, size_t* at) {
  VwSignals signals;
  VwStatus  st = lock_all(jobs, n_jobs);
  vw_signals_hold(&signals);
  st = st ? st : write_locked(jobs, n_jobs, at);
  vw_signals_release(&signals);
  unlock_all(jobs, n_jobs);
  return st;
}

VwStatus
vw_write(const VwOutput*       outputs,
         size_t                n_outputs,
         const VwWriteOptions* options,
         size_t*               at) {
  assert((outputs || !n_outputs) && options && at);
  Job* const jobs = calloc(n_outputs + 1U, sizeof(Job));
  if (!jobs) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < n_outputs; ++i) {
    jobs[i].output = &outputs[i];
  }
  size_t   index = 0;
  VwStatus st = check_all(jobs, n_outputs, options, &index);
  if (!st && n_outputs && !options->dry_run) {
    st = write_all(jobs, n_outputs, &index);
  }
  free(jobs);
  if (st) {
    *at = index;
  }
  return st;
}
