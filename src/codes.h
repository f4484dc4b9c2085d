#ifndef VW_CODES_H
#define VW_CODES_H

#include "volleyweave/volleyweave.h"

/**
 * Write the codes of a sound, little end first.
 *
 * @param n_frames Frames to write: those of the sound, then silence.
 * @param seed Of the dither.
 * @param data Room for `n_frames` times the channels times
 * vw_room_value_bytes().
 */
void vw_codes_put(const VwSound*  sound,
                  const VwFormat* format,
                  size_t          n_frames,
                  uint64_t        seed,
                  unsigned char*  data);

/**
 * The codes of a sound alone.
 *
 * @param bytes Filled in on success; free it with vw_bytes_clear().
 * @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION (more than 4 GiB).
 */
VwStatus vw_codes_make(const VwSound*  sound,
                       const VwFormat* format,
                       uint64_t        seed,
                       VwBytes*        bytes);

/// The code at an index of the values: unsigned for 8 bits, else signed. Not
/// for float.
int32_t vw_codes_at(const VwBytes* codes, VwEncoding encoding, size_t index);

#endif
