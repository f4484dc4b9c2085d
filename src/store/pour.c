// A file too large to be held, written as it is made.

#include "store/digest.h"
#include "store/file.h"
#include "store/ledger.h"
#include "store/path.h"
#include "store/stage.h"
#include "store/store.h"

#include <assert.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>

// So much is collected before the system is asked to write.
#define PORTION_BYTES 65536U

struct VwPour {
  char*          path;     ///< Owned.
  VwStage        file;     ///< On its way.
  int            fd;       ///< Of it, or -1.
  VwDigester*    digester; ///< Of all that was added. Owned.
  unsigned char* portion;  ///< What waits. Owned.
  size_t         n_portion;
  VwStatus       status; ///< The first failure: nothing more is written.
};

/// Look whether the file may be written at all.
static VwStatus
check(const char* path, const VwWriteOptions* options) {
  const VwOutput output = {.path = path};
  VwWriteOptions dry = *options;
  size_t         at = 0;
  dry.dry_run = true;
  return vw_write(&output, 1U, &dry, &at);
}

static VwStatus
begin(VwPour* pour, const char* path) {
  pour->path = strdup(path);
  pour->digester = vw_digester_new();
  pour->portion = malloc(PORTION_BYTES);
  if (!pour->path || !pour->digester || !pour->portion) {
    return VW_NO_MEMORY;
  }
  pour->fd = vw_stage_open(&pour->file, pour->path);
  return pour->fd < 0 ? vw_file_status(errno) : VW_OK;
}

VwStatus
vw_pour_begin(const char* path, const VwWriteOptions* options, VwPour** pour) {
  assert(path && options && pour);
  const VwStatus checked = check(path, options);
  VwPour* const  out = checked ? NULL : calloc(1U, sizeof(VwPour));
  if (!out) {
    return checked ? checked : VW_NO_MEMORY;
  }
  out->fd = -1;
  const VwStatus st = begin(out, path);
  if (st) {
    vw_pour_drop(out);
    return st;
  }
  *pour = out;
  return VW_OK;
}

static void
flush(VwPour* pour) {
  const int error = vw_file_add(pour->fd, pour->portion, pour->n_portion);
  vw_digester_add(pour->digester, pour->portion, pour->n_portion);
  pour->n_portion = 0;
  pour->status = error ? vw_file_status(error) : VW_OK;
}

VwStatus
vw_pour_add(VwPour* pour, const void* data, size_t n_bytes) {
  assert(pour && (data || !n_bytes));
  const unsigned char* at = data;
  size_t               n_left = n_bytes;
  while (!pour->status && n_left) {
    const size_t n_room = PORTION_BYTES - pour->n_portion;
    const size_t n = n_left < n_room ? n_left : n_room;
    memcpy(pour->portion + pour->n_portion, at, n);
    pour->n_portion += n;
    at += n;
    n_left -= n;
    if (pour->n_portion == PORTION_BYTES) {
      flush(pour);
    }
  }
  return pour->status;
}

/// Give the file its name: its folder's list first, so that it is known.
static VwStatus
place(VwPour* pour) {
  const VwLedgerEntry entry = {.path = pour->path,
                               .digest = vw_digester_value(pour->digester)};
  char* const list_path = vw_path_sibling(pour->path, "", VW_LEDGER_NAME, "");
  VwBytes     list = {0};
  VwStage     stage = {0};
  VwStatus    st = list_path ? vw_ledger_with(&entry, 1U, &list) : VW_NO_MEMORY;
  st = st ? st : vw_stage_write(&stage, list_path, &list);
  st = st ? st : vw_stage_rename(&stage);
  st = st ? st : vw_stage_rename(&pour->file);
  vw_stage_finish(&pour->file, !st);
  vw_stage_finish(&stage, !st);
  vw_bytes_clear(&list);
  free(list_path);
  return st;
}

VwStatus
vw_pour_end(VwPour* pour) {
  assert(pour);
  if (!pour->status) {
    flush(pour);
  }
  const int error = vw_file_finish(pour->fd, 0);
  pour->fd = -1;
  VwStatus st = pour->status;
  st = st || !error ? st : vw_file_status(error);
  st = st ? st : place(pour);
  vw_pour_drop(pour);
  return st;
}

void
vw_pour_drop(VwPour* pour) {
  if (pour) {
    if (pour->fd >= 0) {
      (void)vw_file_finish(pour->fd, EIO); // it goes: nothing is synced
    }
    vw_stage_finish(&pour->file, false);
    vw_digester_free(pour->digester);
    free(pour->portion);
    free(pour->path);
    free(pour);
  }
}
