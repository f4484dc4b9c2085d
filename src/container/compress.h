#ifndef VW_COMPRESS_H
#define VW_COMPRESS_H

#include "volleyweave/volleyweave.h"

/**
 * Make the bytes of a FLAC file with these codes.
 *
 * @param codes Of 16 or 24 bits; see vw_codes_make().
 * @param bytes Filled in on success; free it with vw_bytes_clear().
 * @return #VW_OK, #VW_NO_MEMORY, #VW_NOT_CARRIED (also a sample rate that the
 * container does not know).
 */
VwStatus vw_compress_flac(const VwSound* sound,
                          VwEncoding     encoding,
                          const VwBytes* codes,
                          VwBytes*       bytes);

/**
 * Make the bytes of an Ogg file with Vorbis in it.
 *
 * The same sound makes the same bytes.
 *
 * @param bytes Filled in on success; free it with vw_bytes_clear().
 * @return #VW_OK, #VW_NO_MEMORY, #VW_NOT_CARRIED.
 */
VwStatus vw_compress_ogg(const VwSound* sound, VwBytes* bytes);

#endif
