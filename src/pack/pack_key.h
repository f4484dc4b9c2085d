#ifndef VW_PACK_KEY_H
#define VW_PACK_KEY_H

#include "pack/pack.h"

#include "volleyweave/volleyweave.h"

/**
 * The digest of the bytes of some files, in their order.
 *
 * @param at Set to the index of the file that cannot be read, where one cannot.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_MISSING, #VW_UNREADABLE.
 */
VwStatus vw_pack_key_of_takes(const char* const* takes,
                              size_t             n_takes,
                              uint64_t*          key,
                              size_t*            at);

/// What a sound is made from.
typedef struct {
  uint64_t             takes; ///< What vw_pack_key_of_takes() says.
  size_t               n_takes;
  const VwPackOptions* pack;
  const VwPackSound*   sound; ///< Its wish and options count.
  const char*          name;  ///< Of its first file.
} VwPackOrigin;

/// The digest of all that a sound's figures depend on, the library's version
/// among it; of the level only what is asked, not the gain that was settled.
uint64_t vw_pack_key_of_sound(const VwPackOrigin* origin);

/// The digest of all that its files depend on.
uint64_t vw_pack_key_of_files(uint64_t sound, const VwLevelOptions* level);

#endif
