#include "pack/pack_takes.h"

#include "container/container.h"
#include "pack/pack.h"
#include "store/store.h"

#include <math.h>
#include <stdlib.h>

static VwStatus
find(const VwFamilyOptions* options, const VwTake* take, VwShotFacts* facts) {
  VwFindOptions finding = vw_find_defaults();
  if (options->whole) {
    *facts = vw_facts_of_whole(take);
    return VW_OK;
  }
  // A coarser board hides more of the tail; a finer one is no reason for a
  // longer.
  finding.board_noise_dbfs = fmax(
    finding.board_noise_dbfs, vw_encoding_noise_dbfs(options->format.encoding));
  return vw_find(take, &finding, facts);
}

static VwStatus
load(const VwReadOptions* reading,
     VwPackSound*         sound,
     size_t               index,
     VwPackTakes*         takes) {
  const char* const path = sound->wish->takes[index];
  VwTake* const     take = &takes->takes[index];
  VwSound           raw = {0};
  VwStatus          st = vw_is_own_output(path) ? VW_OWN_OUTPUT : VW_OK;
  st = st ? st : vw_read(path, reading, &raw, &sound->fault);
  st = st ? st : vw_take_prepare(&raw, take);
  vw_sound_clear(&raw);
  st = st ? st : find(&sound->options, take, &takes->facts[index]);
  if (st) {
    sound->subject = path;
  }
  return st;
}

VwStatus
vw_pack_takes_load(const VwReadOptions* reading,
                   VwPackSound*         sound,
                   VwPackTakes*         takes) {
  const size_t n_takes = sound->wish->n_takes;
  VwPackTakes  out = {calloc(n_takes, sizeof(VwTake)),
                      calloc(n_takes, sizeof(VwShotFacts)),
                      n_takes};
  VwStatus     st = out.takes && out.facts ? VW_OK : VW_NO_MEMORY;
  for (size_t i = 0; !st && i < n_takes; ++i) {
    st = load(reading, sound, i, &out);
  }
  if (st) {
    vw_pack_takes_clear(&out);
    return st;
  }
  *takes = out;
  return VW_OK;
}

void
vw_pack_takes_clear(VwPackTakes* takes) {
  if (takes) {
    for (size_t i = 0; takes->takes && i < takes->n_takes; ++i) {
      vw_take_clear(&takes->takes[i]);
    }
    free(takes->takes);
    free(takes->facts);
    *takes = (VwPackTakes){0};
  }
}
