#include "volleyweave/volleyweave.h"

// What all boards share unless their file says otherwise.
#define USUAL                                                                  \
  .encodings = {VW_ENCODING_S16}, .n_encodings = 1U,                           \
  .sample_rates_hz = {44100U}, .n_sample_rates = 1U, .channels = {1U},         \
  .n_channels = 1U, .cluster_bytes = 1U,                                       \
  .naming = {.sound = true, .parts = true, .joiner = "."}, .buffer_frames = 1U

VwBoard
vw_board_defaults(void) {
  return (VwBoard){USUAL};
}

const VwBoard*
vw_board_built_in(size_t index) {
  static const VwBoard usual = {.name = "wav-44k-mono", USUAL};
  static const VwBoard boards[] = {
    {.name = "wav-44k-stereo",
     .encodings = {VW_ENCODING_S16},
     .n_encodings = 1U,
     .sample_rates_hz = {44100U},
     .n_sample_rates = 1U,
     .channels = {2U},
     .n_channels = 1U,
     .cluster_bytes = 1U,
     .naming = {.sound = true, .parts = true, .joiner = "."},
     .buffer_frames = 1U},
    {.name = "wav-22k-mono",
     .encodings = {VW_ENCODING_S16},
     .n_encodings = 1U,
     .sample_rates_hz = {22050U},
     .n_sample_rates = 1U,
     .channels = {1U},
     .n_channels = 1U,
     .cluster_bytes = 1U,
     .naming = {.sound = true, .parts = true, .joiner = "."},
     .buffer_frames = 1U},
    {.name = "array-8k-u8",
     .container = VW_CONTAINER_C_ARRAY,
     .encodings = {VW_ENCODING_U8},
     .n_encodings = 1U,
     .sample_rates_hz = {8000U},
     .n_sample_rates = 1U,
     .channels = {1U},
     .n_channels = 1U,
     .cluster_bytes = 1U,
     .naming = {.sound = true, .parts = true, .joiner = "."},
     .buffer_frames = 1U},
  };
  const size_t n_boards = sizeof(boards) / sizeof(boards[0]);
  return !index ? &usual : index <= n_boards ? &boards[index - 1U] : NULL;
}
