#include "digest.h"
#include "file.h"
#include "ledger.h"
#include "path.h"

#include "volleyweave/volleyweave.h"

#include <assert.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

bool
vw_is_own_output(const char* path) {
  VwBytes bytes = {0};
  assert(path);
  if (vw_file_read(path, &bytes)) {
    return false;
  }
  const bool own = vw_ledger_holds(path, vw_digest(bytes.data, bytes.n_bytes));
  vw_bytes_clear(&bytes);
  return own;
}

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

/// Whether the folder is there and may be written to.
static VwStatus
check_folder(const char* path) {
  char* const folder = vw_path_sibling(path, "", ".", "");
  VwStatus    st = VW_NO_MEMORY;
  if (folder) {
    st = access(folder, W_OK | X_OK) ? vw_file_status(errno) : VW_OK;
  }
  free(folder);
  return st;
}

static VwStatus
check_output(const char* path, const VwWriteOptions* options) {
  struct stat status;
  if (stat(path, &status) && lstat(path, &status)) {
    return check_folder(path);
  }
  if (is_take(&status, options)) {
    return VW_IS_TAKE;
  }
  if (!S_ISREG(status.st_mode) && !S_ISLNK(status.st_mode)) {
    return VW_NOT_REGULAR;
  }
  if (!options->force && !vw_is_own_output(path)) {
    return VW_EXISTS;
  }
  return check_folder(path);
}

static bool
is_repeated(const VwOutput* outputs, size_t index) {
  for (size_t i = 0; i < index; ++i) {
    if (!strcmp(outputs[i].path, outputs[index].path)) {
      return true;
    }
  }
  return false;
}

/* Write */

/// An output on its way.
typedef struct {
  const VwOutput* output;
  char*           staged; ///< Its temporary name while it has one. Owned.
  char*           backup; ///< A second name of the file it replaces. Owned.
  bool            done;   ///< It has its own name.
  bool            listed; ///< First of its folder: `list` is what the list was.
  VwBytes         list;
} Job;

static VwStatus
stage_all(Job* jobs, size_t n_jobs, size_t* at) {
  VwStatus st = VW_OK;
  for (*at = 0; *at < n_jobs; ++*at) {
    Job* const job = &jobs[*at];
    st = vw_file_stage(job->output->path, &job->output->bytes, &job->staged);
    if (st) {
      break;
    }
  }
  return st;
}

/// Remember all outputs in the lists of their folders, folder by folder.
static VwStatus
list_all(Job* jobs, size_t n_jobs, VwOutput* same_folder, size_t* at) {
  VwStatus st = VW_OK;
  for (*at = 0; !st && *at < n_jobs;) {
    const char* const path = jobs[*at].output->path;
    bool              first = true;
    size_t            n = 0;
    for (size_t i = 0; i < n_jobs; ++i) {
      if (vw_path_same_folder(path, jobs[i].output->path)) {
        first = first && i >= *at;
        same_folder[n++] = *jobs[i].output;
      }
    }
    if (first) {
      st = vw_ledger_remember(same_folder, n, &jobs[*at].list);
      jobs[*at].listed = !st;
    }
    *at += st ? 0U : 1U;
  }
  return st;
}

/// Give a staged file its name, keeping what it replaces under another.
static VwStatus
name_job(Job* job) {
  const char* const path = job->output->path;
  job->backup =
    vw_path_sibling(job->staged, "", vw_path_name(job->staged), "~");
  if (!job->backup) {
    return VW_NO_MEMORY;
  }
  if (link(path, job->backup)) {
    // Nothing there, or a file system without second names: no way back then.
    free(job->backup);
    job->backup = NULL;
  }
  if (rename(job->staged, path)) {
    return vw_file_status(errno);
  }
  job->done = true;
  return VW_OK;
}

static VwStatus
name_all(Job* jobs, size_t n_jobs, size_t* at) {
  VwStatus st = VW_OK;
  for (*at = 0; *at < n_jobs; ++*at) {
    st = name_job(&jobs[*at]);
    if (st) {
      break;
    }
  }
  return st;
}

/// Undo a job, or, where all went well, drop what it replaced.
static void
finish_job(Job* job, VwStatus st) {
  if (st && job->done) {
    const char* const path = job->output->path;
    if (!job->backup || rename(job->backup, path)) {
      unlink(path);
    }
  } else if (job->backup) {
    unlink(job->backup);
  }
  if (!job->done && job->staged) {
    unlink(job->staged);
  }
  if (st && job->listed) {
    vw_ledger_restore(job->output->path, &job->list);
  }
  vw_bytes_clear(&job->list);
  free(job->staged);
  free(job->backup);
}

static VwStatus
write_all(const VwOutput* outputs, size_t n_outputs, size_t* at) {
  Job* const      jobs = calloc(n_outputs, sizeof(Job));
  VwOutput* const room = calloc(n_outputs, sizeof(VwOutput));
  VwStatus        st = jobs && room ? VW_OK : VW_NO_MEMORY;
  for (size_t i = 0; !st && i < n_outputs; ++i) {
    jobs[i].output = &outputs[i];
  }
  st = st ? st : stage_all(jobs, n_outputs, at);
  st = st ? st : list_all(jobs, n_outputs, room, at);
  st = st ? st : name_all(jobs, n_outputs, at);
  for (size_t i = 0; jobs && i < n_outputs; ++i) {
    finish_job(&jobs[i], st);
  }
  free(jobs);
  free(room);
  return st;
}

VwStatus
vw_write(const VwOutput*       outputs,
         size_t                n_outputs,
         const VwWriteOptions* options,
         size_t*               at) {
  assert(outputs && options && at);
  size_t   index = 0;
  VwStatus st = VW_OK;
  for (; index < n_outputs; ++index) {
    st = is_repeated(outputs, index)
           ? VW_SAME_STEM
           : check_output(outputs[index].path, options);
    if (st) {
      break;
    }
  }
  if (!st && n_outputs && !options->dry_run) {
    st = write_all(outputs, n_outputs, &index);
  }
  if (st) {
    *at = index;
  }
  return st;
}
