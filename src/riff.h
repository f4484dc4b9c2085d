#ifndef VW_RIFF_H
#define VW_RIFF_H

#include <stdbool.h>
#include <stdint.h>

/// What the header of a WAV file promises.
typedef struct {
  uint64_t n_bytes_promised; ///< Size of the data that the header states.
  uint64_t n_bytes_there;    ///< Bytes behind the data's header.
  uint32_t n_channels;       ///< As stated, whatever it is.
  uint32_t rate_hz;          ///< As stated, whatever it is.
  uint32_t n_block;          ///< Bytes of a frame, as stated.
  bool     has_data;         ///< There is a `data` chunk.
} VwRiff;

/**
 * Read what a WAV file promises: a reader that takes what is there would not
 * tell.
 *
 * @param fd An open file; its position is not used and not moved.
 * @return Whether it is a RIFF WAVE file with a `fmt ` chunk.
 */
bool vw_riff_read(int fd, VwRiff* riff);

#endif
