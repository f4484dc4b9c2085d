// What becomes of a pack once its sounds have been measured.

#include "board/board.h"
#include "pack/pack.h"
#include "pack/pack_loudness.h"
#include "pack/pack_sums.h"

#include <assert.h>
#include <math.h>

/// Find out which sounds are to be made.
static void
settle_due(VwPack* pack) {
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    VwPackSound* const      sound = &pack->sounds[i];
    const VwPackWork* const work = &pack->store->works[i];
    for (size_t k = 0; !sound->status && k < sound->n_files; ++k) {
      sound->status = work->there[k].in_way;
      sound->subject = sound->status ? sound->files[k].name : NULL;
    }
    sound->due = !sound->status;
    pack->sums.n_due += sound->due ? 1U : 0U;
  }
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
  settle_due(pack);
  vw_pack_sums_find(pack);
  return pack->options.fit && pack->sums.n_bytes_over ? vw_pack_sums_fit(pack)
                                                      : VW_OK;
}
