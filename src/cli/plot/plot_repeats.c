#include "cli/plot/plot_repeats.h"

#include "burst/valley.h"
#include "cli/plot/plot_family.h"

#include <string.h>

// So much of the loop is played before and after what is shown, for its level
// to be that of a loop without end.
#define LEAD_S 0.1

const VwPiece*
plot_piece(const VwFamily* family, VwPart part) {
  for (size_t i = 0; i < family->n_pieces; ++i) {
    if (family->pieces[i].part == part) {
      return &family->pieces[i];
    }
  }
  return NULL;
}

/// A view of the frames that make one cycle.
static VwSound
cycle_of(const VwPiece* piece, const VwSound* heard) {
  VwSound cycle = *heard;
  if (piece->has_loop) {
    cycle.values += piece->loop_start * cycle.n_channels;
    cycle.n_frames = piece->loop_end - piece->loop_start;
  }
  return cycle;
}

/// Repeat a cycle for as long as is shown and measured.
static VwStatus
repeat(const VwSound* cycle, const VwPlan* plan, PlotRepeats* repeats) {
  const size_t n = plan->n_frames;
  const size_t n_lead = (size_t)(LEAD_S * cycle->rate_hz) / n + 1U;
  const size_t n_times = n_lead + 2U + n_lead;
  VwStatus     st = vw_sound_init(
    &repeats->sound, n_times * n, cycle->n_channels, cycle->rate_hz);
  for (size_t i = 0; !st && i < n_times; ++i) {
    memcpy(repeats->sound.values + i * n * cycle->n_channels,
           cycle->values,
           cycle->n_frames * cycle->n_channels * sizeof(float));
  }
  repeats->span = (PlotSpan){.sound = &repeats->sound,
                             .from_frame = n_lead * n,
                             .to_frame = (n_lead + 2U) * n,
                             .zero_s = (double)(n_lead * n) / cycle->rate_hz};
  return st ? st : vw_valley_of_loop(cycle, plan, &repeats->valley);
}

VwStatus
plot_repeats_take(const VwFamily* family, PlotRepeats* repeats) {
  const bool           burst = family->form == VW_FORM_BURST;
  const VwPiece* const piece =
    plot_piece(family, burst ? VW_PART_BURST : VW_PART_LOOP);
  VwSound  heard = {0};
  VwStatus st = plot_family_heard(family, &piece->sound, &heard);
  *repeats = (PlotRepeats){.burst = burst};
  if (!st && burst) {
    repeats->sound = heard;
    repeats->span =
      (PlotSpan){.sound = &repeats->sound, .to_frame = heard.n_frames};
  } else if (!st) {
    const VwSound cycle = cycle_of(piece, &heard);
    st = repeat(&cycle, &family->plan, repeats);
    vw_sound_clear(&heard);
  }
  return st;
}

void
plot_repeats_clear(PlotRepeats* repeats) {
  if (repeats) {
    vw_sound_clear(&repeats->sound);
    *repeats = (PlotRepeats){0};
  }
}
