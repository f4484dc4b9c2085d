#include "wish.h"

#include "cut.h"
#include "fastest.h"
#include "units.h"

#include <math.h>
#include <stdint.h>

// Slower than this a trigger held does not feel like rapid fire.
#define CHOSEN_LEAST_PER_S 8.0

// With variation as many shots as this are worth telling apart (6 to 8:
// common practice).
#define VARIED_SHOTS 6U

// A decay that a gap cuts off is hardly told from the others where it is one of
// so many; more only make the file longer.
#define GAP_SHOTS_LEAST 4U
#define GAP_SHOTS_MOST 8U

// Before the frames of a WAV file (Microsoft and IBM, "Multimedia Programming
// Interface and Data Specifications" 1.0, 1991).
#define HEADER_BYTES 44U

bool
vw_wish_is_varied(const VwFamilyOptions* options, size_t n_takes) {
  return n_takes > 1U || options->detune_cents > 0.0 ||
         options->level_spread_db > 0.0;
}

/// The fastest rate that every take stands, but a rapid one.
static double
choose_fire_rate(const VwShotFacts* facts, size_t n_takes) {
  double slowest = VW_FASTEST_MOST_PER_S;
  for (size_t i = 0; i < n_takes; ++i) {
    const double fastest = facts[i].fastest_fire_rate_per_s;
    slowest = fmin(slowest, isnan(fastest) ? 0.0 : fastest);
  }
  return fmax(slowest, CHOSEN_LEAST_PER_S);
}

static size_t
bytes_per_value(VwEncoding encoding) {
  switch (encoding) {
    case VW_ENCODING_U8:
      return 1U;
    case VW_ENCODING_S24:
      return 3U;
    case VW_ENCODING_FLOAT:
      return 4U;
    case VW_ENCODING_S16:
      break;
  }
  return 2U;
}

/// The most frames of a loop that a file of the board holds.
static size_t
frames_most(const VwFamilyOptions* options) {
  const uint64_t bytes = options->file_bytes_max;
  const size_t   n_block =
    bytes_per_value(options->format.encoding) * options->format.n_channels;
  if (!bytes || options->form == VW_FORM_BURST) {
    return SIZE_MAX;
  }
  return bytes > HEADER_BYTES ? (size_t)((bytes - HEADER_BYTES) / n_block) : 0U;
}

VwPlanWish
vw_wish_make(const VwFamilyOptions* options,
             const VwShotFacts*     facts,
             size_t                 n_takes,
             unsigned               rate_hz) {
  const bool   repeats = options->form == VW_FORM_WHOLE_FILE;
  const double gap_s = repeats ? options->gap_ms / 1000.0 : 0.0;
  VwPlanWish   wish = {.fire_rate_per_s = options->fire_rate_per_s,
                       .rate_hz = rate_hz,
                       .cycle_max_s = options->cycle_max_s,
                       .frames_most = frames_most(options),
                       .gap_frames = vw_frames_of_s(gap_s, rate_hz),
                       .frames_unit = vw_cut_loop_unit(options),
                       .shots = options->shots,
                       .shots_least = 1U,
                       .shots_most = UINT32_MAX,
                       .shots_unit = (unsigned)n_takes};
  if (wish.fire_rate_per_s == 0.0) {
    wish.fire_rate_per_s = choose_fire_rate(facts, n_takes);
  }
  if (wish.gap_frames) {
    wish.shots_least = GAP_SHOTS_LEAST;
    wish.shots_most = GAP_SHOTS_MOST;
  }
  if (vw_wish_is_varied(options, n_takes)) {
    wish.shots_least = VARIED_SHOTS;
  }
  return wish;
}
