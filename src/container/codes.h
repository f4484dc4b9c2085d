#ifndef VW_CODES_H
#define VW_CODES_H

#include "volleyweave/volleyweave.h"

/**
 * Write the codes of a sound, little end first, then silence.
 *
 * @param seed Of the dither.
 * @param room Filled wholly; vw_size_value_bytes() for each value, and as much
 * as the sound takes at least.
 */
void vw_codes_put(const VwSound*  sound,
                  const VwFormat* format,
                  uint64_t        seed,
                  const VwBytes*  room);

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

/// RMS of the noise that writing in `encoding` with dither adds, dBFS.
double vw_encoding_noise_dbfs(VwEncoding encoding);

#endif
