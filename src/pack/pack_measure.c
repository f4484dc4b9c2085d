// Measuring the sounds of a pack, one by one.

#include "pack/pack.h"
#include "pack/pack_figures.h"
#include "pack/pack_key.h"
#include "pack/pack_made.h"
#include "pack/pack_old.h"
#include "store/path.h"
#include "store/store.h"

#include <assert.h>
#include <errno.h>
#include <stdlib.h>

/// Set the keys of a sound.
static VwStatus
find_key(const VwPack* pack, VwPackSound* sound, VwPackWork* work) {
  const VwSoundWish* const wish = sound->wish;
  size_t                   at = 0;
  const VwStatus           st =
    vw_pack_key_of_takes(wish->takes, wish->n_takes, &work->takes, &at);
  if (st) {
    sound->subject = wish->takes[at];
    return st;
  }
  const VwPackOrigin origin = {
    work->takes, wish->n_takes, &pack->options, sound, work->names[0].name};
  work->key = vw_pack_key_of_sound(&origin);
  return VW_OK;
}

static VwStatus
measure_anew(const VwPack* pack, VwPackSound* sound, VwPackWork* work) {
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

/// Why what stands under a name may not be replaced.
static VwStatus
in_way(const VwPack* pack,
       const char*   path,
       const char*   name,
       VwPackThere*  there) {
  struct stat status;
  if (lstat(path, &status)) {
    return VW_OK;
  }
  there->is = true;
  struct stat led;
  if (!stat(path, &led) && vw_pack_is_take(pack->store, &led)) {
    return VW_IS_TAKE;
  }
  const VwStatus st = vw_pack_digest_file(path, &there->digest);
  if (S_ISDIR(status.st_mode)) {
    return VW_NOT_REGULAR;
  }
  // Of a link nothing has been read: it is not ours.
  const bool own =
    !st && (vw_pack_list_holds(&pack->store->list, name, there->digest) ||
            vw_is_own_output(path));
  return own || pack->options.force ? VW_OK : VW_EXISTS;
}

static VwStatus
look_there(const VwPack* pack, VwPackSound* sound, VwPackWork* work) {
  VwStatus st = VW_OK;
  work->there = calloc(sound->n_files + 1U, sizeof(VwPackThere));
  work->digests = calloc(sound->n_files + 1U, sizeof(uint64_t));
  if (!work->there || !work->digests) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; !st && i < sound->n_files; ++i) {
    VwPackThere* const there = &work->there[i];
    const char* const  name = sound->files[i].name;
    char* const        path = vw_path_join(pack->store->folders.pack, name);
    st = path ? VW_OK : VW_NO_MEMORY;
    if (path) {
      there->in_way = in_way(pack, path, name, there);
    }
    free(path);
  }
  return st;
}

static VwStatus
measure(const VwPack* pack, VwPackSound* sound, VwPackWork* work) {
  VwStatus st = find_key(pack, sound, work);
  if (st) {
    return st;
  }
  const char* const line =
    pack->options.remake ? NULL
                         : vw_pack_list_figures(&pack->store->list, work->key);
  if (!line || !vw_pack_figures_read(line, sound, work)) {
    st = measure_anew(pack, sound, work);
  }
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
