#include "container/container.h"
#include "container/formats.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

// A page (RFC 3533, section 6): 27 bytes, up to 255 lengths, what they add to.
#define PAGE_BYTES 27U
#define FLAGS_AT 5U
#define FLAG_LAST 4U
#define POSITION_AT 6U
#define NUMBER_AT 14U
#define SUM_AT 22U
#define N_LENGTHS_AT 26U
#define N_LENGTHS_MOST 255U
#define ORDER_AT 18U

// A page ends behind the packet with which it holds so many bytes, which is
// usual (common practice).
#define PAGE_FULL_BYTES 4096U

// Where the first page of a Vorbis stream states the sample rate: behind one
// length, seven bytes of name, four of version and one of channels (Vorbis I
// specification, section 4.2.2).
#define RATE_AT (PAGE_BYTES + 1U + 7U + 4U + 1U)

// Behind it and three bit rates stand both sizes of blocks, as exponents of two
// (the same section), the longer one in the upper half of the byte. Three heads
// come before the blocks of sound.
#define BLOCKS_AT (RATE_AT + 4U + 12U)
#define BLOCK_LEAST 6U
#define BLOCK_MOST 13U
#define N_HEADS 3U

// The generator of the pages' sums (RFC 3533, section 6, "CRC_checksum").
#define GENERATOR 0x04C11DB7U

/// Bytes of a page of whose start so many are at hand, 0 where it is none.
static uint64_t
page_bytes(const unsigned char* page, size_t n_there) {
  if (n_there < PAGE_BYTES || memcmp(page, "OggS", 4) ||
      n_there < PAGE_BYTES + page[N_LENGTHS_AT]) {
    return 0;
  }
  uint64_t n_bytes = PAGE_BYTES + page[N_LENGTHS_AT];
  for (unsigned i = 0; i < page[N_LENGTHS_AT]; ++i) {
    n_bytes += page[PAGE_BYTES + i];
  }
  return n_bytes;
}

/* Is it whole? */

/// Read the start of the page at a place in the file; its bytes, or 0.
static uint64_t
read_page(VwOpenFile* file, uint64_t at, unsigned char* page) {
  return page_bytes(page, vw_file_get(file, page, PAGE_BYTES + 255U, at));
}

static unsigned
vorbis_rate_hz(VwOpenFile* file) {
  unsigned char head[RATE_AT + 4U] = {0};
  const bool    is_vorbis =
    vw_file_get(file, head, sizeof(head), 0) == sizeof(head) &&
    !memcmp(head + PAGE_BYTES + 1U, "\1vorbis", 7);
  return is_vorbis ? (unsigned)vw_number_at(head + RATE_AT, 4U, false) : 0U;
}

/// Frames of the longer blocks, or of the shorter ones; 0 if they are not
/// stated.
static unsigned
block_frames(const VwBytes* bytes, bool longer) {
  if (bytes->n_bytes <= BLOCKS_AT || memcmp(bytes->data, "OggS", 4) != 0 ||
      memcmp(bytes->data + PAGE_BYTES + 1U, "\1vorbis", 7) != 0) {
    return 0;
  }
  const unsigned both = bytes->data[BLOCKS_AT];
  const unsigned exponent = longer ? both >> 4U : both & 15U;
  return exponent >= BLOCK_LEAST && exponent <= BLOCK_MOST ? 1U << exponent
                                                           : 0U;
}

unsigned
vw_ogg_block_frames(const VwBytes* bytes) {
  assert(bytes);
  return block_frames(bytes, true);
}

bool
vw_ogg_look(const VwBytes* head, VwPackedHead* told) {
  told->block_frames = vw_ogg_block_frames(head);
  return head->n_bytes >= 4U && !memcmp(head->data, "OggS", 4);
}

VwStatus
vw_ogg_check(VwOpenFile* file, VwReadFault* fault) {
  unsigned char page[PAGE_BYTES + 255U];
  uint64_t      n_frames = 0;
  bool          ended = false;
  uint64_t      n_bytes = read_page(file, 0, page);
  for (uint64_t at = 0; n_bytes && at + n_bytes <= file->n_bytes;) {
    const uint64_t position = vw_number_at(page + POSITION_AT, 8U, false);
    // All ones: no packet ends on the page.
    n_frames = position == UINT64_MAX ? n_frames : position;
    ended = page[FLAGS_AT] & FLAG_LAST;
    at += n_bytes;
    n_bytes = read_page(file, at, page);
  }
  if (ended) {
    return VW_OK;
  }
  *fault = (VwReadFault){0, n_frames, vorbis_rate_hz(file)};
  return VW_CUT_SHORT;
}

/* Its number */

static uint32_t
sum_of(const unsigned char* bytes, size_t n_bytes) {
  uint32_t sum = 0;
  for (size_t i = 0; i < n_bytes; ++i) {
    sum ^= (uint32_t)bytes[i] << 24U;
    for (unsigned bit = 0; bit < 8U; ++bit) {
      sum = sum << 1U ^ (sum >> 31U ? GENERATOR : 0U);
    }
  }
  return sum;
}

void
vw_ogg_number(VwBytes* bytes, uint32_t number) {
  size_t at = 0;
  size_t n = (size_t)page_bytes(bytes->data, bytes->n_bytes);
  while (n && n <= bytes->n_bytes - at) {
    unsigned char* const page = bytes->data + at;
    (void)vw_number_put(page + NUMBER_AT, number, 4U);
    (void)vw_number_put(page + SUM_AT, 0U, 4U);
    (void)vw_number_put(page + SUM_AT, sum_of(page, n), 4U);
    at += n;
    n = (size_t)page_bytes(page + n, bytes->n_bytes - at);
  }
}

/* One cycle of a loop */

/// A packet: a block of sound, or a head.
typedef struct {
  size_t from;
  size_t n_bytes;
  size_t middle; ///< Of a block, frames from the first one's.
} Packet;

/// All packets of a stream.
typedef struct {
  unsigned char* bytes;   ///< Those of all pages together. Owned.
  unsigned char* lengths; ///< The same of their lengths. Owned.
  Packet*        packets; ///< Owned.
  size_t         n_bytes;
  size_t         n_lengths;
  size_t         n_packets;
  size_t         n_head_bytes; ///< Of the pages that hold the heads.
  size_t         n_head_pages;
  uint64_t       position; ///< Of the last page.
} Packets;

static void
packets_clear(Packets* all) {
  free(all->bytes);
  free(all->lengths);
  free(all->packets);
}

/// Count the packets that end on a page.
static size_t
ended_on(const unsigned char* page) {
  size_t n = 0;
  for (unsigned i = 0; i < page[N_LENGTHS_AT]; ++i) {
    n += page[PAGE_BYTES + i] < N_LENGTHS_MOST;
  }
  return n;
}

/// Take a page's lengths and bytes.
static void
take_page(const unsigned char* page, size_t n, Packets* all) {
  const size_t n_lengths = page[N_LENGTHS_AT];
  const size_t n_body = n - PAGE_BYTES - n_lengths;
  memcpy(all->lengths + all->n_lengths, page + PAGE_BYTES, n_lengths);
  memcpy(all->bytes + all->n_bytes, page + PAGE_BYTES + n_lengths, n_body);
  all->n_lengths += n_lengths;
  all->n_bytes += n_body;
}

/// Tell the packets apart. A block overlaps half of each of its neighbours
/// (Vorbis I specification, section 4.3.8); the second bit of its first byte
/// says of which length it is, if there are two (section 4.3.1; the encoder
/// writes no more).
static void
part_packets(const VwBytes* stream, Packets* all) {
  const size_t both[] = {block_frames(stream, false),
                         block_frames(stream, true)};
  size_t       before = 0;
  Packet       packet = {0};
  for (size_t i = 0; i < all->n_lengths; ++i) {
    packet.n_bytes += all->lengths[i];
    if (all->lengths[i] == N_LENGTHS_MOST) {
      continue;
    }
    if (all->n_packets >= N_HEADS && packet.n_bytes) {
      const bool longer = all->bytes[packet.from] & 2U || both[0] == both[1];
      packet.middle += before ? (before + both[longer]) / 4U : 0U;
      before = both[longer];
    }
    all->packets[all->n_packets++] = packet;
    packet.from += packet.n_bytes;
    packet.n_bytes = 0;
  }
}

static bool
take_packets(const VwBytes* stream, Packets* all) {
  const size_t room = stream->n_bytes;
  size_t       n_ended = 0;
  size_t       n = (size_t)page_bytes(stream->data, room);
  *all = (Packets){.bytes = malloc(room),
                   .lengths = malloc(room),
                   .packets = malloc(room * sizeof(Packet))};
  if (!all->bytes || !all->lengths || !all->packets) {
    return false;
  }
  for (size_t at = 0; n && n <= room - at;) {
    const unsigned char* const page = stream->data + at;
    take_page(page, n, all);
    all->position = vw_number_at(page + POSITION_AT, 8U, false);
    at += n;
    if (n_ended < N_HEADS) {
      all->n_head_bytes = at;
      ++all->n_head_pages;
    }
    n_ended += ended_on(page);
    n = (size_t)page_bytes(stream->data + at, room - at);
  }
  part_packets(stream, all);
  return true;
}

/// The first block whose middle is at a frame or behind it; 0: none's is.
static size_t
block_from(const Packets* all, size_t frame) {
  for (size_t i = N_HEADS; i < all->n_packets; ++i) {
    if (all->packets[i].middle >= frame) {
      return i;
    }
  }
  return 0;
}

/// Put packets [from, to) on a page, as many as it holds. Returns the first
/// that it does not.
static size_t
put_page(const Packets* all, size_t from, size_t to, VwBytes* made) {
  unsigned char* const page = made->data + made->n_bytes;
  unsigned             n_lengths = 0;
  size_t               n_body = 0;
  size_t               i = from;
  memset(page, 0, PAGE_BYTES);
  memcpy(page, "OggS", 4);
  for (; i < to && n_body < PAGE_FULL_BYTES; ++i) {
    size_t left = all->packets[i].n_bytes;
    if (n_lengths + left / N_LENGTHS_MOST + 1U > N_LENGTHS_MOST) {
      break;
    }
    n_body += left;
    for (; left >= N_LENGTHS_MOST; left -= N_LENGTHS_MOST) {
      page[PAGE_BYTES + n_lengths++] = N_LENGTHS_MOST;
    }
    page[PAGE_BYTES + n_lengths++] = (unsigned char)left;
  }
  page[FLAGS_AT] = i == to ? FLAG_LAST : 0U;
  page[N_LENGTHS_AT] = (unsigned char)n_lengths;
  memcpy(page + PAGE_BYTES + n_lengths,
         all->bytes + all->packets[from].from,
         n_body);
  made->n_bytes += PAGE_BYTES + n_lengths + n_body;
  return i;
}

/// Write the heads' pages, then blocks [first, last].
static void
put_stream(const VwBytes* stream,
           const Packets* all,
           size_t         first,
           size_t         last,
           VwBytes*       made) {
  uint32_t order = (uint32_t)all->n_head_pages;
  memcpy(made->data, stream->data, all->n_head_bytes);
  made->n_bytes = all->n_head_bytes;
  for (size_t i = first; i <= last;) {
    unsigned char* const page = made->data + made->n_bytes;
    const size_t         next = put_page(all, i, last + 1U, made);
    const size_t         position =
      all->packets[next - 1U].middle - all->packets[first].middle;
    (void)vw_number_put(page + POSITION_AT, (uint32_t)position, 4U);
    (void)vw_number_put(page + ORDER_AT, order++, 4U);
    if (next == i) {
      break;
    }
    i = next;
  }
}

bool
vw_ogg_cut(const VwBytes* stream, size_t* from, size_t n, VwBytes* cut) {
  Packets all = {0};
  VwBytes made = {0};
  bool    good = take_packets(stream, &all);
  if (good) {
    const size_t asked = *from;
    const size_t first = block_from(&all, asked);
    const size_t last = block_from(&all, asked + n);
    *from = first ? all.packets[first].middle : asked;
    // No page has less than a packet.
    made.data =
      malloc(stream->n_bytes + all.n_packets * (PAGE_BYTES + N_LENGTHS_MOST));
    good = first && last && *from == asked &&
           all.packets[last].middle == asked + n && made.data;
    if (good) {
      put_stream(stream, &all, first, last, &made);
    }
  }
  packets_clear(&all);
  if (good) {
    *cut = made;
  } else {
    free(made.data);
  }
  return good;
}

bool
vw_ogg_is_whole(const VwBytes* stream) {
  Packets    all = {0};
  const bool whole = vw_ogg_block_frames(stream) &&
                     take_packets(stream, &all) && all.n_packets > N_HEADS &&
                     all.packets[all.n_packets - 1U].middle == all.position;
  packets_clear(&all);
  return whole;
}
