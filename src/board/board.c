#include "board/board.h"

#include "volleyweave/volleyweave.h"

// What all boards share unless their file says otherwise.
#define USUAL                                                                  \
  .n_encodings = 1U, .cluster_bytes = 1U,                                      \
  .naming = {.sound = true, .parts = true, .joiner = "."}, .buffer_frames = 1U

// One sample rate and one number of channels.
#define ONLY(rate_hz, n)                                                       \
  .sample_rates_hz = {rate_hz}, .n_sample_rates = 1U, .channels = {n},         \
  .n_channels = 1U

VwBoard
vw_board_defaults(void) {
  return (VwBoard){.encodings = {VW_ENCODING_S16}, ONLY(44100U, 1U), USUAL};
}

const VwBoard*
vw_board_built_in(size_t index) {
  // Classes of boards (common practice), each named by what it accepts: format
  // facts alone, since no two boards of a class behave alike.
  static const VwBoard boards[] = {
    {.name = "wav-44k-mono",
     .encodings = {VW_ENCODING_S16},
     ONLY(44100U, 1U),
     USUAL},
    {.name = "wav-44k-stereo",
     .encodings = {VW_ENCODING_S16},
     ONLY(44100U, 2U),
     USUAL},
    {.name = "wav-22k-mono",
     .encodings = {VW_ENCODING_S16},
     ONLY(22050U, 1U),
     USUAL},
    // Takes the sample rate and the channels from the header.
    {.name = "wav-to-44k",
     .encodings = {VW_ENCODING_S16},
     USUAL,
     .sample_rates_hz = {44100U, 32000U, 22050U, 16000U, 11025U, 8000U},
     .n_sample_rates = 6U,
     .channels = {1U, 2U},
     .n_channels = 2U},
    {.name = "ogg-44k-mono",
     .container = VW_CONTAINER_OGG,
     .encodings = {VW_ENCODING_S16},
     ONLY(44100U, 1U),
     USUAL},
    {.name = "raw-8k-u8",
     .container = VW_CONTAINER_RAW,
     .encodings = {VW_ENCODING_U8},
     ONLY(8000U, 1U),
     USUAL},
    {.name = "array-8k-u8",
     .container = VW_CONTAINER_C_ARRAY,
     .encodings = {VW_ENCODING_U8},
     ONLY(8000U, 1U),
     USUAL},
  };
  return index < sizeof(boards) / sizeof(boards[0]) ? &boards[index] : NULL;
}
