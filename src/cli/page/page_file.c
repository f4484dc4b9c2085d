#include "cli/page/page_file.h"

#include "store/store.h"

static const int interrupting[] = {SIGINT, SIGTERM, SIGHUP};

#define N_INTERRUPTING (sizeof(interrupting) / sizeof(interrupting[0]))

VwStatus
page_file_begin(const char* path, const Settings* settings, PageFile* file) {
  const VwWriteOptions options = {.force = settings->force,
                                  .takes = settings->takes,
                                  .n_takes = settings->n_takes};
  sigset_t             waiting;
  sigemptyset(&waiting);
  for (size_t i = 0; i < N_INTERRUPTING; ++i) {
    sigaddset(&waiting, interrupting[i]);
  }
  *file = (PageFile){.pour = NULL};
  sigprocmask(SIG_BLOCK, &waiting, &file->waited);
  const VwStatus st = vw_pour_begin(path, &options, &file->pour);
  if (st) {
    sigprocmask(SIG_SETMASK, &file->waited, NULL);
  }
  return st;
}

bool
page_file_is_interrupted(void) {
  sigset_t pending;
  if (sigpending(&pending)) {
    return false;
  }
  for (size_t i = 0; i < N_INTERRUPTING; ++i) {
    if (sigismember(&pending, interrupting[i]) == 1) {
      return true;
    }
  }
  return false;
}

VwStatus
page_file_end(PageFile* file, bool keep) {
  VwStatus st = VW_OK;
  if (keep) {
    st = vw_pour_end(file->pour);
  } else {
    vw_pour_drop(file->pour);
  }
  file->pour = NULL;
  sigprocmask(SIG_SETMASK, &file->waited, NULL);
  return st;
}
