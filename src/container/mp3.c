#include "container/formats.h"

#include <string.h>

// A tag of ID3v2: ten bytes, the last four its length, seven bits of each.
#define TAG_BYTES 10U

// Flags of a stated length: its frames and its bytes are given.
#define HAS_FRAMES 1U
#define HAS_BYTES 2U

// Head, longest side data, and a stated length.
#define LEAD_LEAST (4U + 32U + 16U)

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
first_frame_at(VwOpenFile* file) {
  unsigned char tag[TAG_BYTES];
  return vw_file_get(file, tag, sizeof(tag), 0) == sizeof(tag) &&
             !memcmp(tag, "ID3", 3)
           ? TAG_BYTES + number_at(tag + 6, 7)
           : 0U;
}

/// What a frame's first four bytes say (ISO/IEC 11172-3 and 13818-3).
typedef struct {
  unsigned rate_hz;
  unsigned n_frames;  ///< In our sense, of each of its own.
  size_t   n_bytes;   ///< Its length; 0: it is no frame, or of any length.
  size_t   stated_at; ///< Where a stated length would be, after its side data.
} Head;

static Head
head_of(const unsigned char* bytes) {
  static const unsigned rates_hz[] = {44100, 48000, 32000, 0};
  static const unsigned kbits[2][16] = {
    {0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160, 0},
    {0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320, 0}};

  const unsigned version = bytes[1] >> 3U & 3U; // 3, 2, 0: MPEG 1, 2, 2.5.
  const bool     mono = bytes[3] >> 6U == 3U;
  const bool     first = version == 3U;
  const unsigned slower = first ? 0U : version == 2U ? 1U : 2U;
  const size_t   side_bytes = first ? (mono ? 17U : 32U) : (mono ? 9U : 17U);
  const unsigned rate_hz = rates_hz[bytes[2] >> 2U & 3U] >> slower;
  const unsigned n_frames = first ? 1152U : 576U;
  const unsigned kbit = kbits[first][bytes[2] >> 4U];
  const bool     is_frame = bytes[0] == 0xFF && (bytes[1] & 0xE6) == 0xE2;
  return (Head){rate_hz,
                n_frames,
                is_frame && kbit && rate_hz
                  ? n_frames / 8U * 1000U * kbit / rate_hz +
                      (bytes[2] >> 1U & 1U)
                  : 0U,
                4U + side_bytes};
}

/// A file whose frames are counted.
typedef struct {
  uint64_t end;      ///< One past the last whole frame.
  uint64_t n_frames; ///< In our sense, of all that are whole.
  bool     is_cut;   ///< It ends within a frame.
} Walk;

/// Whether frames are of one stream: of the same version, layer and rate.
static bool
is_alike(const unsigned char* bytes, const unsigned char* others) {
  return bytes[0] == others[0] && !((bytes[1] ^ others[1]) & 0xFE) &&
         !((bytes[2] ^ others[2]) & 0x0C);
}

/// Count the frames from the first at `at` on. What is none, as a tag, is
/// stepped over.
static Walk
walk(VwOpenFile* file, uint64_t at, uint64_t n_bytes) {
  unsigned char first[4] = {0};
  unsigned char bytes[4] = {0};
  Walk          walk = {.end = at};
  (void)vw_file_get(file, first, sizeof(first), at);
  while (vw_file_get(file, bytes, sizeof(bytes), at) == sizeof(bytes)) {
    const Head head = is_alike(bytes, first) ? head_of(bytes) : (Head){0};
    walk.is_cut = head.n_bytes && at + head.n_bytes > n_bytes;
    at += head.n_bytes ? head.n_bytes : 1U;
    if (head.n_bytes && !walk.is_cut) {
      walk.n_frames += head.n_frames;
      walk.end = at;
    }
  }
  return walk;
}

/// The first frame, and the length that it may state.
typedef struct {
  uint64_t at;       ///< Its first byte in the file.
  uint64_t n_there;  ///< Bytes of the file from there on.
  Head     head;     ///< What it says, if it is a frame.
  uint64_t n_frames; ///< In our sense, of all; 0: it states none.
  uint64_t n_bytes;  ///< Of all, this one with them.
} First;

static First
first_of(VwOpenFile* file) {
  unsigned char  bytes[LEAD_LEAST] = {0};
  const uint64_t at = first_frame_at(file);
  First          first = {.at = at};
  if (vw_file_get(file, bytes, sizeof(bytes), at) != sizeof(bytes)) {
    return first;
  }
  first.n_there = file->n_bytes - at;
  first.head = head_of(bytes);
  const unsigned char* const stated = bytes + first.head.stated_at;
  // The letters are common practice: "Info" where all frames are of one size.
  if ((!memcmp(stated, "Xing", 4) || !memcmp(stated, "Info", 4)) &&
      !(~stated[7] & (HAS_FRAMES | HAS_BYTES))) {
    first.n_frames = number_at(stated + 8, 8) * first.head.n_frames;
    first.n_bytes = number_at(stated + 12, 8);
  }
  return first;
}

static void
put_number(unsigned char* bytes, uint64_t number) {
  for (unsigned i = 0; i < 4U; ++i) {
    bytes[i] = (unsigned char)(number >> (24U - 8U * i));
  }
}

/// A frame as the first, long enough to state a length, which it does.
static void
make_lead(VwOpenFile*  file,
          const First* first,
          const Walk*  whole,
          VwLead*      lead) {
  unsigned char* const bytes = lead->bytes;
  Head                 head = {0};
  (void)vw_file_get(file, bytes, 4, first->at);
  // The least bit rate whose frames are long enough.
  for (unsigned rate = 1; head.n_bytes < LEAD_LEAST && rate < 15U; ++rate) {
    bytes[2] = (unsigned char)((bytes[2] & 0x0CU) | rate << 4U);
    head = head_of(bytes);
  }
  bytes[1] |= 1U; // without a checksum
  memcpy(bytes + head.stated_at, "Info", 4);
  bytes[head.stated_at + 7U] = HAS_FRAMES | HAS_BYTES;
  put_number(bytes + head.stated_at + 8U, whole->n_frames / head.n_frames);
  put_number(bytes + head.stated_at + 12U,
             head.n_bytes + whole->end - first->at);
  lead->n_bytes = head.n_bytes;
  lead->from = first->at;
  lead->end = whole->end;
}

VwLead
vw_mp3_lead(VwOpenFile* file) {
  const First first = first_of(file);
  VwLead      lead = {0};
  if (!first.n_frames && first.head.n_bytes) {
    const Walk whole = walk(file, first.at, first.at + first.n_there);
    make_lead(file, &first, &whole, &lead);
  }
  return lead;
}

VwStatus
vw_mp3_check(VwOpenFile* file, VwReadFault* fault) {
  const First first = first_of(file);
  if (!first.n_frames) {
    const Walk whole = walk(file, first.at, first.at + first.n_there);
    *fault = (VwReadFault){0U, whole.n_frames, first.head.rate_hz};
    return whole.is_cut ? VW_CUT_SHORT : VW_OK;
  }
  if (first.n_bytes <= first.n_there) {
    return VW_OK;
  }
  *fault =
    (VwReadFault){first.n_frames,
                  (uint64_t)((double)first.n_frames * (double)first.n_there /
                             (double)first.n_bytes),
                  first.head.rate_hz};
  return VW_CUT_SHORT;
}
