// Making the files of a pack's sounds, one by one.

#include "board/board.h"
#include "pack/pack.h"
#include "pack/pack_key.h"
#include "pack/pack_made.h"
#include "store/digest.h"
#include "store/stage.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

/// Write a file where it waits for its name.
static VwStatus
stage(const VwPack*     pack,
      const VwPackWork* work,
      const char*       name,
      const VwBytes*    bytes) {
  VwStage     out = {0};
  char* const path = vw_pack_staged_path(pack->store, work, name);
  VwStatus    st = path ? vw_stage_write(&out, path, bytes) : VW_NO_MEMORY;
  st = st ? st : vw_stage_rename(&out);
  vw_stage_finish(&out, !st);
  free(path);
  return st;
}

/// What was made again, byte for byte, is what was there, unless all is written
/// again for its order.
static void
note_fate(const VwPack* pack, const VwPackThere* there, VwPackFile* file) {
  if (there->is && there->digest == file->digest &&
      pack->options.board->order != VW_ORDER_WRITTEN) {
    file->fate = VW_PACK_FILE_SAME;
  }
}

static VwStatus
stage_all(const VwPack*     pack,
          VwPackSound*      sound,
          VwPackWork*       work,
          const VwPackMade* made) {
  VwStatus st = VW_OK;
  for (size_t i = 0; !st && i < made->n_files; ++i) {
    const VwBytes* const bytes = &made->bytes[i];
    sound->files[i].n_frames = made->files[i].n_frames;
    sound->files[i].n_bytes = bytes->n_bytes;
    work->digests[i] = vw_digest(bytes->data, bytes->n_bytes);
    sound->files[i].digest = work->digests[i];
    note_fate(pack, &work->there[i], &sound->files[i]);
    st = stage(pack, work, sound->files[i].name, bytes);
    if (st) {
      sound->subject = sound->files[i].name;
    }
  }
  return st;
}

/// Whether the takes are still what was measured: else what is made would be
/// listed under what they were.
static VwStatus
check_takes(VwPackSound* sound, const VwPackWork* work) {
  const VwSoundWish* const wish = sound->wish;
  uint64_t                 takes = 0;
  size_t                   at = 0;
  const VwStatus           st =
    vw_pack_key_of_takes(wish->takes, wish->n_takes, &takes, &at);
  if (st || takes != work->takes) {
    sound->subject = wish->takes[at];
    return st ? st : VW_UNREADABLE;
  }
  return VW_OK;
}

static VwStatus
render(const VwPack* pack, VwPackSound* sound, VwPackWork* work) {
  const double target = sound->family.level.target_lufs;
  const bool   reached = sound->family.level.reached;
  VwPackMade   made = {0};
  VwStatus     st = check_takes(sound, work);
  if (st) {
    return st;
  }
  st = vw_pack_made_make(pack, sound, work, &made);
  if (!st && made.n_files != sound->n_files) {
    st = VW_WRITE_FAILED;
  }
  if (!st && sound->aimed) {
    sound->family.level.target_lufs = target;
    sound->family.level.reached = reached;
  }
  st = st ? st : stage_all(pack, sound, work, &made);
  vw_pack_made_clear(&made);
  return st;
}

VwStatus
vw_pack_render(VwPack* pack, size_t index) {
  assert(pack && index < pack->n_sounds);
  VwPackSound* const sound = &pack->sounds[index];
  VwPackWork* const  work = &pack->store->works[index];
  if (sound->due && !sound->status) {
    sound->status = render(pack, sound, work);
    work->staged = !sound->status;
  }
  return sound->status;
}
