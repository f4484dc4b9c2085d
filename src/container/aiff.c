#include "base/ranges.h"
#include "container/formats.h"

// Offset and block size, which stand before the frames in their chunk.
#define BEFORE_FRAMES 8U

// The sample rate is a floating-point number of 80 bits: sign and exponent in
// 16, then 64 with the leading one (IEEE 754 extended precision). Whole Hz.
static uint64_t
read_rate(const VwChunk* common) {
  const uint64_t exponent = vw_chunk_number(common, 8, 2);
  const uint64_t mantissa = vw_chunk_number(common, 10, 8);
  const uint64_t one = 16383U;
  return exponent < one || exponent > one + 31U
           ? 0U
           : mantissa >> (63U - (exponent - one));
}

VwStatus
vw_aiff_check(int fd, VwReadFault* fault) {
  uint64_t n_frames = 0;
  uint64_t rate_hz = 0;
  uint64_t promised = 0;
  uint64_t there = 0;
  VwChunk  chunk = vw_chunk_start(fd, true);
  while (vw_chunk_next(&chunk)) {
    if (vw_chunk_is(&chunk, "COMM")) {
      const uint64_t n_channels = vw_chunk_number(&chunk, 0, 2);
      if (!vw_is_within((double)n_channels, (VwRange)VW_RANGE_TAKE_CHANNELS)) {
        return VW_CHANNELS;
      }
      n_frames = vw_chunk_number(&chunk, 2, 4);
      rate_hz = read_rate(&chunk);
    } else if (vw_chunk_is(&chunk, "SSND")) {
      promised = chunk.n_bytes;
      there = vw_chunk_bytes_there(&chunk);
    }
  }
  if (promised <= there) {
    return VW_OK;
  }
  if (there <= BEFORE_FRAMES) {
    return VW_NO_FRAMES;
  }
  *fault = (VwReadFault){
    n_frames,
    (uint64_t)((double)n_frames * (double)(there - BEFORE_FRAMES) /
               (double)(promised - BEFORE_FRAMES)),
    (unsigned)rate_hz};
  return VW_CUT_SHORT;
}
