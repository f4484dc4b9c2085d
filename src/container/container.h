#ifndef VW_CONTAINER_H
#define VW_CONTAINER_H

#include "volleyweave/volleyweave.h"

/**
 * Where the loop lies that a WAV file marks in its `smpl` chunk.
 *
 * @param end Set to one past the loop's last frame.
 * @return False where the file marks none.
 */
bool vw_read_loop_points(const char* path, size_t* start, size_t* end);

/**
 * Make the bytes of a WAV file.
 *
 * The plainest file: format tag 1, 44 bytes before the frames, nothing between;
 * an even number of data bytes; loop points in a `smpl` chunk after the data
 * (Microsoft, "New Multimedia Data Types and Data Techniques" 3.0, 1994: the
 * end counts itself). Float has format tag 3 and the `fact` chunk that goes
 * with it. PCM is rounded to the nearest code and held at the outermost ones.
 * TPDF dither after Lipshitz, Wannamaker and Vanderkooy, J. Audio Eng. Soc.
 * 40(5), 1992; frames of exact zeros at either end and runs of 32 or more such
 * frames stay exact.
 *
 * @param piece The sound and its loop points.
 * @param format Encoding and dither; rate and channels are those of the sound.
 * @param seed Of the dither: same sound, same seed, same bytes.
 * @param bytes Filled in on success; free it with vw_bytes_clear().
 * @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION (more than 4 GiB).
 */
VwStatus vw_encode_wav(const VwPiece*  piece,
                       const VwFormat* format,
                       uint64_t        seed,
                       VwBytes*        bytes);

/**
 * Whether a container can carry an encoding: FLAC 16 and 24 bits, a C array
 * whole numbers, the others all. In Ogg the encoding does not matter.
 */
bool vw_container_carries(VwContainer container, VwEncoding encoding);

/**
 * Read back raw codes or a C array.
 *
 * @param wrapping What they were made with; `format` tells all, the sample rate
 * and the channels too.
 * @param sound Filled in on success; free it with vw_sound_clear().
 * @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION (another container),
 * #VW_DAMAGED (no array of such codes), #VW_NO_FRAMES.
 */
VwStatus vw_decode(const VwBytes*    bytes,
                   const VwWrapping* wrapping,
                   VwSound*          sound);

/**
 * Read a file that was made with a wrapping, in whichever container.
 *
 * @param sound Filled in on success; free it with vw_sound_clear().
 * @return As vw_read() and vw_decode().
 */
VwStatus vw_read_made(const char*       path,
                      const VwWrapping* wrapping,
                      VwSound*          sound);

/**
 * The longest block of an Ogg file with Vorbis, frames: up to so many a player
 * may add to its end. 0 where the bytes are none, or its first 57 are missing.
 */
unsigned vw_ogg_block_frames(const VwBytes* bytes);

#endif
