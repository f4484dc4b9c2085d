#include "base/faults.h"

#include "volleyweave/volleyweave.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

/// A copy of a text, or NULL for NULL. False without memory.
static bool
copy(const char* text, char** copied) {
  *copied = text ? strdup(text) : NULL;
  return !text || *copied;
}

static void
clear(VwFault* fault) {
  free(fault->path);
  free(fault->what);
  free(fault->remedy);
}

VwStatus
vw_faults_add(VwFaults*   faults,
              const char* path,
              unsigned    line,
              const char* what,
              const char* remedy) {
  assert(faults && what && remedy);
  VwFault* const grown =
    realloc(faults->faults, (faults->n_faults + 1U) * sizeof(VwFault));
  if (!grown) {
    return VW_NO_MEMORY;
  }
  faults->faults = grown;
  VwFault    fault = {.line = line};
  const bool copied = copy(path, &fault.path) && copy(what, &fault.what) &&
                      copy(remedy, &fault.remedy);
  if (!copied) {
    clear(&fault);
    return VW_NO_MEMORY;
  }
  grown[faults->n_faults++] = fault;
  return VW_OK;
}

void
vw_faults_clear(VwFaults* faults) {
  if (faults) {
    for (size_t i = 0; i < faults->n_faults; ++i) {
      clear(&faults->faults[i]);
    }
    free(faults->faults);
    *faults = (VwFaults){0};
  }
}
