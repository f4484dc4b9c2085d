// Measuring the sounds of a pack, one by one.

#include "pack/pack.h"
#include "pack/pack_made.h"
#include "pack/pack_old.h"
#include "store/store.h"

#include <assert.h>
#include <errno.h>
#include <stdlib.h>

/// Find what tells the sounds of the same takes.
static VwStatus
digest_takes(VwPackSound* sound, VwPackWork* work) {
  const VwSoundWish* const wish = sound->wish;
  uint64_t                 digests[VW_PACK_TAKES_MOST];
  for (size_t i = 0; i < wish->n_takes; ++i) {
    const VwStatus st = vw_file_digest(wish->takes[i], &digests[i]);
    if (st) {
      sound->subject = wish->takes[i];
      return st;
    }
  }
  work->takes = vw_digest(digests, wish->n_takes * sizeof(digests[0]));
  return VW_OK;
}

static VwStatus
measure_files(const VwPack* pack, VwPackSound* sound, VwPackWork* work) {
  VwPackMade     made = {0};
  const VwStatus st = vw_pack_made_make(pack, sound, work, &made);
  if (!st) {
    sound->files = made.files;
    sound->n_files = made.n_files;
    made.files = NULL; // the sound's now
    for (size_t i = 0; i < made.n_files; ++i) {
      vw_bytes_clear(&made.bytes[i]);
    }
    made.n_files = 0;
  }
  vw_pack_made_clear(&made);
  return st;
}

/// Look at what stands under a file's name. Returns why it may not be replaced.
static VwStatus
in_way(const VwPack* pack,
       const char*   path,
       VwPackFile*   file,
       VwPackThere*  there) {
  struct stat status;
  struct stat led;
  if (lstat(path, &status)) {
    return VW_OK;
  }
  file->fate = VW_PACK_FILE_REPLACED;
  if (!stat(path, &led) && vw_pack_is_take(pack->store, &led)) {
    return VW_IS_TAKE;
  }
  const VwStatus st = vw_pack_digest_file(path, &there->digest);
  if (S_ISDIR(status.st_mode)) {
    return VW_NOT_REGULAR;
  }
  // Of a link nothing has been read: it is not ours.
  const bool own =
    !st && (vw_pack_list_holds(&pack->store->list, file->name, there->digest) ||
            vw_is_own_output(path));
  return own || pack->options.force ? VW_OK : VW_EXISTS;
}

static VwStatus
look_there(const VwPack* pack, VwPackSound* sound, VwPackWork* work) {
  VwStatus st = VW_OK;
  work->there = calloc(sound->n_files + 1U, sizeof(VwPackThere));
  if (!work->there) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; !st && i < sound->n_files; ++i) {
    VwPackThere* const there = &work->there[i];
    VwPackFile* const  file = &sound->files[i];
    char* const path = vw_path_join(pack->store->folders.pack, file->name);
    st = path ? VW_OK : VW_NO_MEMORY;
    if (path) {
      there->in_way = in_way(pack, path, file, there);
    }
    free(path);
  }
  return st;
}

static VwStatus
measure(const VwPack* pack, VwPackSound* sound, VwPackWork* work) {
  VwStatus st = digest_takes(sound, work);
  st = st ? st : measure_files(pack, sound, work);
  return st ? st : look_there(pack, sound, work);
}

VwStatus
vw_pack_measure(VwPack* pack, size_t index) {
  assert(pack && index < pack->n_sounds);
  VwPackSound* const sound = &pack->sounds[index];
  VwPackWork* const  work = &pack->store->works[index];
  vw_pack_sound_forget(sound, work);
  sound->options.level = sound->wish->options.level;
  if (!work->n_names) {
    sound->status = VW_NO_NAME;
  } else {
    sound->status = measure(pack, sound, work);
  }
  sound->measured = true;
  return sound->status;
}
