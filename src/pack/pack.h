#ifndef VW_PACK_H
#define VW_PACK_H

#include "burst/level.h"
#include "pack/pack_folders.h"
#include "pack/pack_list.h"
#include "pack/pack_lock.h"

#include <sys/stat.h>

/// A file that a sound may make.
typedef struct {
  VwPart part;
  size_t take;
  char*  name; ///< In the pack's folder, with its group's. Owned.
} VwPackName;

/// What stands under a file's name before anything is written.
typedef struct {
  bool     is;     ///< Something does.
  VwStatus in_way; ///< Why it may not be replaced.
  uint64_t digest; ///< Of its bytes, where it is a file.
} VwPackThere;

/// What is kept of a sound beside what is shown.
typedef struct {
  VwPackName*  names; ///< All that it may make. Owned.
  size_t       n_names;
  uint64_t     takes; ///< Digest of its takes alone.
  uint64_t     key;   ///< Digest of all that its figures depend on.
  uint64_t     made;  ///< Of all that its files depend on: its gain as well.
  VwLevelCurve curve;
  VwPackThere* there;   ///< One per file. Owned.
  uint64_t*    digests; ///< One per file, as made. Owned.
  bool         staged;  ///< Its files wait for their names.
} VwPackWork;

/// Which file a take is, however it is spelled.
typedef struct {
  dev_t device;
  ino_t inode;
} VwPackTake;

struct VwPackStore {
  VwPackFolders folders;
  VwPackList    list;  ///< What the last run left.
  VwPackLock    lock;  ///< From beginning to end.
  VwPackWork*   works; ///< One per sound. Owned.
  size_t        n_works;
  size_t        n_folders; ///< Of groups, in the pack's folder.
  VwPackTake*   takes;     ///< All takes, sorted. Owned.
  size_t        n_takes;
  char*         spare; ///< Lines on sounds as they were before `fit`. Owned.
};

/// Put a sound's figures and files back to what they are before measuring.
void vw_pack_sound_forget(VwPackSound* sound, VwPackWork* work);

/// A copy of the name of a file that a sound makes, or NULL.
char* vw_pack_name_of(const VwPackWork* work, VwPart part, size_t take);

/// Whether a file is one of the takes.
bool vw_pack_is_take(const VwPackStore* store, const struct stat* status);

/// Where a file waits until it gets its name. To be freed with free(), or NULL
/// without memory.
char* vw_pack_staged_path(const VwPackStore* store,
                          const VwPackWork*  work,
                          const char*        name);

#endif
