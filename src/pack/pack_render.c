// Making the files of a pack's sounds, one by one.

#include "board/board.h"
#include "pack/pack.h"
#include "pack/pack_made.h"
#include "store/store.h"

#include <assert.h>
#include <stdlib.h>

/// Write a file where it waits for its name.
static VwStatus
stage(const VwPack* pack, const char* name, const VwBytes* bytes) {
  char* const    path = vw_pack_staged_path(pack->store, name);
  const VwStatus st = path ? vw_file_write(path, bytes) : VW_NO_MEMORY;
  free(path);
  return st;
}

/// Note what was made. What was there byte for byte stays; all else waits for
/// its name where the pack was begun.
static VwStatus
keep_files(const VwPack*     pack,
           VwPackSound*      sound,
           VwPackWork*       work,
           const VwPackMade* made) {
  VwStatus st = VW_OK;
  for (size_t i = 0; !st && i < made->n_files; ++i) {
    const VwBytes* const bytes = &made->bytes[i];
    VwPackFile* const    file = &sound->files[i];
    VwPackThere* const   there = &work->there[i];
    file->n_frames = made->files[i].n_frames;
    file->n_bytes = bytes->n_bytes;
    file->digest = vw_digest(bytes->data, bytes->n_bytes);
    if (file->fate == VW_PACK_FILE_REPLACED && there->digest == file->digest) {
      file->fate = VW_PACK_FILE_SAME;
    } else if (pack->store->lock.path) {
      st = stage(pack, file->name, bytes);
      there->staged = !st;
      sound->subject = st ? file->name : NULL;
    }
  }
  return st;
}

static VwStatus
render(const VwPack* pack, VwPackSound* sound, VwPackWork* work) {
  const double target = sound->family.level.target_lufs;
  const bool   reached = sound->family.level.reached;
  VwPackMade   made = {0};
  VwStatus     st = vw_pack_made_make(pack, sound, work, &made);
  if (!st && made.n_files != sound->n_files) {
    st = VW_WRITE_FAILED;
  }
  if (!st && sound->aimed) {
    sound->family.level.target_lufs = target;
    sound->family.level.reached = reached;
  }
  st = st ? st : keep_files(pack, sound, work, &made);
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
    work->made = !sound->status;
  }
  return sound->status;
}
