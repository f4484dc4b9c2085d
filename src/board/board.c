#include "board/board.h"

#include "base/ranges.h"
#include "container/container.h"

#include "volleyweave/volleyweave.h"

#include <assert.h>
#include <math.h>

// What all boards share unless their file says otherwise.
#define USUAL                                                                  \
  .n_encodings = 1U, .cluster_bytes = 1U,                                      \
  .naming = {.sound = true, .parts = true, .joiner = "."}, .buffer_frames = 1U

// One sample rate and one number of channels.
#define ONLY(rate_hz, n)                                                       \
  .sample_rates_hz = {rate_hz}, .n_sample_rates = 1U, .channels = {n},         \
  .n_channels = 1U

// On a board with little room the run-in ends here at the latest: a tail that
// decays by 60 dB in 1.5 s is then 20 dB down (closed form).
#define RUN_IN_S 0.5

// With less room than this in all every half second counts: it is 12 s of
// 16 bits at 44.1 kHz, mono (closed form; the bound is chosen here).
#define SMALL_BYTES (UINT64_C(1) << 20U)

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
    {.name = "raw-8k-8bit",
     .container = VW_CONTAINER_RAW,
     .encodings = {VW_ENCODING_U8},
     ONLY(8000U, 1U),
     USUAL},
    {.name = "array-8k-8bit",
     .container = VW_CONTAINER_C_ARRAY,
     .encodings = {VW_ENCODING_U8},
     ONLY(8000U, 1U),
     USUAL},
  };
  return index < sizeof(boards) / sizeof(boards[0]) ? &boards[index] : NULL;
}

bool
vw_board_playing_is_sound(const VwBoard* board) {
  return vw_is_within(board->gap_ms, (VwRange)VW_RANGE_GAP_MS) &&
         vw_is_within(board->delay_ms, (VwRange)VW_RANGE_WAIT_MS) &&
         vw_is_within(board->press_min_ms, (VwRange)VW_RANGE_WAIT_MS) &&
         vw_is_zero_or_within(board->buffer_frames,
                              (VwRange)VW_RANGE_BUFFER_FRAMES) &&
         board->repeat <= VW_REPEAT_NOTHING &&
         board->release <= VW_RELEASE_FINISHES;
}

static bool
format_is_sound(const VwBoard* board) {
  return board->n_encodings && board->n_sample_rates && board->n_channels &&
         vw_container_carries(board->container, board->encodings[0]) &&
         vw_is_within(board->sample_rates_hz[0],
                      (VwRange)VW_RANGE_SAMPLE_RATE_HZ) &&
         vw_is_within(board->channels[0], (VwRange)VW_RANGE_CHANNELS);
}

static bool
wish_is_sound(const VwBoardWish* wish) {
  return vw_is_zero_or_within(wish->overrun_max_s,
                              (VwRange)VW_RANGE_OVERRUN_S) &&
         vw_is_zero_or_within(wish->run_in_max_s, (VwRange)VW_RANGE_RUN_IN_S);
}

static VwForm
form_for(VwRepeat repeat) {
  switch (repeat) {
    case VW_REPEAT_LOOP_POINTS:
      return VW_FORM_LOOP_POINTS;
    case VW_REPEAT_THREE_FILES:
      return VW_FORM_PIECES;
    case VW_REPEAT_NOTHING:
      return VW_FORM_BURST;
    case VW_REPEAT_WHOLE_FILE:
      break;
  }
  return VW_FORM_WHOLE_FILE;
}

/// Whether so many bytes, 0: without a limit, are few.
static bool
is_small(uint64_t n_bytes) {
  return n_bytes && n_bytes <= SMALL_BYTES;
}

static double
run_in_max_s(const VwBoard* board, const VwBoardWish* wish) {
  const bool small =
    is_small(board->file_bytes_max) || is_small(board->capacity_bytes);
  return wish->run_in_max_s > 0.0 ? wish->run_in_max_s : small ? RUN_IN_S : 0.0;
}

/// The longest cycle in a file: after a release no more is heard than that.
static double
cycle_max_s(const VwBoard*         board,
            const VwBoardWish*     wish,
            const VwFamilyOptions* options) {
  if (board->release != VW_RELEASE_FINISHES) {
    return options->cycle_max_s;
  }
  const double overrun =
    wish->overrun_max_s > 0.0 ? wish->overrun_max_s : VW_OVERRUN_USUAL_S;
  return fmin(options->cycle_max_s, overrun);
}

VwStatus
vw_board_apply(const VwBoard*     board,
               const VwBoardWish* wish,
               VwFamilyOptions*   options) {
  assert(board && wish && options);
  if (!format_is_sound(board) || !vw_board_playing_is_sound(board) ||
      !wish_is_sound(wish)) {
    return VW_BAD_OPTION;
  }
  options->format.rate_hz = board->sample_rates_hz[0];
  options->format.n_channels = board->channels[0];
  options->format.encoding = board->encodings[0];
  if (options->form != VW_FORM_BURST) {
    options->form = form_for(board->repeat);
  }
  const bool repeats = board->repeat != VW_REPEAT_NOTHING;
  options->gap_ms = repeats ? board->gap_ms : 0.0;
  options->buffer_frames = board->buffer_frames ? board->buffer_frames : 1U;
  options->block_frames =
    board->container == VW_CONTAINER_OGG ? VW_OGG_UNIT_FRAMES : 1U;
  options->file_bytes_max = board->file_bytes_max;
  options->run_in_max_s = run_in_max_s(board, wish);
  options->cycle_max_s = cycle_max_s(board, wish, options);
  return VW_OK;
}
