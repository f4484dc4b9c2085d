// What becomes of a pack once its sounds have been measured.

#include "board/board.h"
#include "pack/pack.h"
#include "pack/pack_key.h"
#include "pack/pack_loudness.h"
#include "pack/pack_sums.h"

#include <assert.h>
#include <math.h>

/// Whether a file is what it would be made again.
static bool
is_same(const VwPack*     pack,
        const VwPackWork* work,
        size_t            index,
        const char*       name) {
  const VwPackThere* const  there = &work->there[index];
  size_t                    n = 0;
  const VwPackListed* const files =
    vw_pack_list_find(&pack->store->list, name, &n);
  for (size_t i = 0; there->is && i < n; ++i) {
    if (files[i].made == work->made && files[i].digest == there->digest) {
      return true;
    }
  }
  return false;
}

/// Find out what becomes of a sound's files.
static void
settle_files(const VwPack* pack, VwPackSound* sound, VwPackWork* work) {
  work->made = vw_pack_key_of_files(work->key, &sound->options.level);
  sound->due = false;
  for (size_t i = 0; i < sound->n_files; ++i) {
    VwPackFile* const        file = &sound->files[i];
    const VwPackThere* const there = &work->there[i];
    const bool               same = is_same(pack, work, i, file->name);
    file->fate = same        ? VW_PACK_FILE_SAME
                 : there->is ? VW_PACK_FILE_REPLACED
                             : VW_PACK_FILE_NEW;
    work->digests[i] = there->digest;
    file->digest = same ? there->digest : 0U;
    sound->due = sound->due || !same || pack->options.remake;
    if (there->in_way && !same) {
      sound->status = there->in_way;
      sound->subject = file->name;
    }
  }
  sound->due = sound->due && !sound->status;
}

/// On a board that plays in written order all is written again where one is.
static void
settle_order(VwPack* pack) {
  if (!pack->changes || pack->options.board->order != VW_ORDER_WRITTEN) {
    return;
  }
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    VwPackSound* const sound = &pack->sounds[i];
    for (size_t k = 0; !sound->status && k < sound->n_files; ++k) {
      VwPackFile* const file = &sound->files[k];
      file->fate =
        file->fate == VW_PACK_FILE_SAME ? VW_PACK_FILE_REPLACED : file->fate;
    }
  }
}

static bool
has_to_prune(const VwPack* pack) {
  for (size_t i = 0; pack->options.prune && i < pack->n_old; ++i) {
    if (!pack->old[i].changed) {
      return true;
    }
  }
  return false;
}

static void
settle_changes(VwPack* pack) {
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    if (!pack->sounds[i].status) {
      settle_files(pack, &pack->sounds[i], &pack->store->works[i]);
    }
    pack->sums.n_due += pack->sounds[i].due ? 1U : 0U;
  }
  pack->changes =
    pack->sums.n_due || pack->store->list.unfinished || has_to_prune(pack);
  settle_order(pack);
}

VwStatus
vw_pack_settle(VwPack* pack) {
  assert(pack);
  pack->sums = (VwPackSums){
    .loudness_lufs = NAN, .loudest_lufs = NAN, .all_reach_lufs = NAN};
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    pack->sums.n_unmeasured += pack->sounds[i].measured ? 0U : 1U;
  }
  if (pack->sums.n_unmeasured) {
    return VW_OK;
  }
  const VwStatus st = vw_pack_loudness_settle(pack);
  if (st) {
    return st;
  }
  settle_changes(pack);
  vw_pack_sums_find(pack);
  return pack->options.fit && pack->sums.n_bytes_over ? vw_pack_sums_fit(pack)
                                                      : VW_OK;
}
