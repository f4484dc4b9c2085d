#include "container/formats.h"

#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

// A tag of ID3v2: ten bytes, the last four its length, seven bits of each.
#define TAG_BYTES 10U

// Flags of a stated length: its frames and its bytes are given.
#define HAS_FRAMES 1U
#define HAS_BYTES 2U

static uint64_t
number_at(const unsigned char* bytes, unsigned bits) {
  uint64_t number = 0;
  for (unsigned i = 0; i < 4U; ++i) {
    number = number << bits | bytes[i];
  }
  return number;
}

/// Where the first frame starts.
static uint64_t
first_frame_at(int fd) {
  unsigned char tag[TAG_BYTES];
  return pread(fd, tag, sizeof(tag), 0) == (ssize_t)sizeof(tag) &&
             !memcmp(tag, "ID3", 3)
           ? TAG_BYTES + number_at(tag + 6, 7)
           : 0U;
}

/// What a frame's first four bytes say (ISO/IEC 11172-3 and 13818-3).
typedef struct {
  unsigned rate_hz;
  unsigned n_frames;  ///< In our sense, of each of its own.
  size_t   stated_at; ///< Where a stated length would be, after its side data.
} Head;

static Head
head_of(const unsigned char* bytes) {
  static const unsigned rates_hz[] = {44100, 48000, 32000, 0};

  const unsigned version = bytes[1] >> 3U & 3U; // 3, 2, 0: MPEG 1, 2, 2.5.
  const bool     mono = bytes[3] >> 6U == 3U;
  const bool     first = version == 3U;
  const unsigned slower = first ? 0U : version == 2U ? 1U : 2U;
  const size_t   side_bytes = first ? (mono ? 17U : 32U) : (mono ? 9U : 17U);
  return (Head){rates_hz[bytes[2] >> 2U & 3U] >> slower,
                first ? 1152U : 576U,
                4U + side_bytes};
}

VwStatus
vw_mp3_check(int fd, VwReadFault* fault) {
  unsigned char  frame[4 + 32 + 16] = {0};
  const uint64_t at = first_frame_at(fd);
  struct stat    status;
  if (fstat(fd, &status)) {
    return VW_UNREADABLE;
  }
  if (pread(fd, frame, sizeof(frame), (off_t)at) != (ssize_t)sizeof(frame) ||
      frame[0] != 0xFF || (frame[1] & 0xE0) != 0xE0) {
    return VW_OK;
  }
  const Head                 head = head_of(frame);
  const unsigned char* const stated = frame + head.stated_at;
  // The letters are common practice: "Info" where all frames are of one size.
  if ((memcmp(stated, "Xing", 4) && memcmp(stated, "Info", 4)) ||
      (~stated[7] & (HAS_FRAMES | HAS_BYTES))) {
    return VW_OK;
  }
  const uint64_t n_frames = number_at(stated + 8, 8) * head.n_frames;
  const uint64_t promised = number_at(stated + 12, 8);
  const uint64_t there = (uint64_t)status.st_size - at;
  if (promised <= there) {
    return VW_OK;
  }
  *fault = (VwReadFault){
    n_frames,
    (uint64_t)((double)n_frames * (double)there / (double)promised),
    head.rate_hz};
  return VW_CUT_SHORT;
}
