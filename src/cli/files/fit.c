#include "cli/files/files.h"

#include "base/size.h"
#include "board/board.h"
#include "cli/boards/boards.h"
#include "cli/message/message.h"
#include "cli/options/options.h"
#include "container/container.h"

#include <inttypes.h>
#include <stdlib.h>

/// Bytes of the sound itself.
static uint64_t
data_bytes(const MadeFile* file, VwEncoding encoding) {
  return (uint64_t)file->n_frames * file->n_channels *
         vw_size_value_bytes(encoding);
}

/// A file, and ways out where it is too big.
typedef struct {
  const Settings* settings;
  VwEncoding      encoding;
  const MadeFile* file;
  char*           list; ///< NULL while there is none. Owned.
} Ways;

/// What a file takes up on the board: source text, what becomes of it.
static uint64_t
bytes_taken(const Ways* ways) {
  return ways->settings->board.container == VW_CONTAINER_C_ARRAY
           ? data_bytes(ways->file, ways->encoding)
           : ways->file->bytes.n_bytes;
}

/// What it would take with its data so many times as large.
static uint64_t
bytes_scaled(const Ways* ways, double by) {
  const bool packed = vw_container_is_packed(ways->settings->board.container);
  const uint64_t taken = bytes_taken(ways);
  const uint64_t data = packed ? taken : data_bytes(ways->file, ways->encoding);
  return taken - data + (uint64_t)((double)data * by + 0.5);
}

/// Append one way out, where it leads out, and free the option.
static void
add(Ways* ways, double by, char* option) {
  const uint64_t n_bytes = bytes_scaled(ways, by);
  const uint64_t most = board_bytes_max(ways->settings);
  if (option && by < 1.0 && n_bytes <= most) {
    ways->list =
      text_more(ways->list, ", ", "%s (%" PRIu64 " bytes)", option, n_bytes);
  }
  free(option);
}

/// The options that would make it fit, with what it would then take.
static void
add_single(Ways* ways) {
  const VwBoard* const  board = &ways->settings->board;
  const MadeFile* const file = ways->file;
  const VwEncoding      now = ways->encoding;
  for (unsigned i = 0; i < board->n_sample_rates; ++i) {
    const unsigned rate_hz = board->sample_rates_hz[i];
    add(ways,
        (double)rate_hz / file->rate_hz,
        text_format("--sample-rate %u", rate_hz));
  }
  for (unsigned i = 0; i < board->n_encodings; ++i) {
    const VwEncoding encoding = board->encodings[i];
    add(ways,
        (double)vw_size_value_bytes(encoding) / vw_size_value_bytes(now),
        text_format("--bits %s", choice_word(format_encodings, (int)encoding)));
  }
  for (unsigned i = 0; i < board->n_channels; ++i) {
    add(ways,
        (double)board->channels[i] / file->n_channels,
        text_format("--channels %u", board->channels[i]));
  }
}

/// All of them together.
static void
add_all(Ways* ways) {
  const VwBoard* const board = &ways->settings->board;
  VwEncoding           encoding = ways->encoding;
  unsigned             rate_hz = ways->file->rate_hz;
  unsigned             n_channels = ways->file->n_channels;
  const double         now =
    (double)rate_hz * n_channels * vw_size_value_bytes(encoding);
  for (unsigned i = 0; i < board->n_sample_rates; ++i) {
    const unsigned other = board->sample_rates_hz[i];
    rate_hz = other < rate_hz ? other : rate_hz;
  }
  for (unsigned i = 0; i < board->n_encodings; ++i) {
    const VwEncoding other = board->encodings[i];
    encoding = vw_size_value_bytes(other) < vw_size_value_bytes(encoding)
                 ? other
                 : encoding;
  }
  for (unsigned i = 0; i < board->n_channels; ++i) {
    n_channels = board->channels[i] < n_channels ? 1U : n_channels;
  }
  add(ways,
      (double)rate_hz * n_channels * vw_size_value_bytes(encoding) / now,
      text_format("--sample-rate %u --bits %s --channels %u",
                  rate_hz,
                  choice_word(format_encodings, (int)encoding),
                  n_channels));
}

/// What makes a part shorter.
static const char*
shorten(VwPart part) {
  static const char* const how[] = {
    [VW_PART_SHOT] = "a shorter take",
    [VW_PART_RUN_IN] = "a shorter --run-in-max",
    [VW_PART_LOOP] = "a shorter --cycle-max or --run-in-max",
    [VW_PART_RING_OUT] = "--tail choke, or a shorter take",
    [VW_PART_BURST] = "fewer shots in --burst, or a shorter take",
    [VW_PART_WHOLE] = "a shorter take",
  };
  return how[part];
}

char*
fit_fault(const Settings* settings, VwEncoding encoding, const MadeFile* file) {
  Ways           ways = {settings, encoding, file, NULL};
  const uint64_t most = board_bytes_max(settings);
  const uint64_t taken = bytes_taken(&ways);
  if (!most || taken <= most) {
    return NULL;
  }
  add_single(&ways);
  if (!ways.list) {
    add_all(&ways);
  }
  char* const fault =
    text_format("%" PRIu64 " bytes, %" PRIu64 " more than the board %s takes: "
                "%s%s%s%s",
                taken,
                taken - most,
                settings->board.name,
                ways.list ? "it fits with " : "give ",
                ways.list ? ways.list : "",
                ways.list ? "; or give " : "",
                shorten(file->part));
  free(ways.list);
  return fault;
}
