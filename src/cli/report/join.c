#include "cli/message/figures.h"
#include "cli/report/sections.h"

#include <math.h>

/// How long the run-in is; NaN of a file without one.
static double
run_in_ms(const VwFamily* family) {
  const double frame_ms = 1000.0 / family->format.rate_hz;
  for (size_t i = 0; i < family->n_pieces; ++i) {
    const VwPiece* const piece = &family->pieces[i];
    if (piece->part == VW_PART_RUN_IN) {
      return frame_ms * (double)piece->sound.n_frames;
    }
    if (piece->has_loop) {
      return frame_ms * (double)piece->loop_start;
    }
  }
  return NAN;
}

/// How another take leads over; NULL if none does.
static Figures*
lead_of(const VwJoinLead* lead, double frame_ms) {
  if (!lead->blend_frames) {
    return NULL;
  }
  Figures* const of = figures_new();
  figures_set(of, "at_ms", frame_ms * (double)lead->at_frame);
  figures_set(of, "blend_ms", frame_ms * (double)lead->blend_frames);
  figures_set(of, "likeness", lead->likeness);
  figures_set(of, "matched_db", lead->gain_db);
  return of;
}

Figures*
made_join(const Report* report) {
  const VwJoin* const join = &report->family->join;
  const double        frame_ms = 1000.0 / report->family->format.rate_hz;
  if (!join->n_frames) {
    return NULL;
  }
  Figures* const of = figures_new();
  figures_set(of, "kind", vw_join_kind_name(join->kind));
  figures_set(of, "likeness", join->likeness);
  figures_set(of, "blend_ms", frame_ms * (double)join->blend_frames);
  figures_set(of, "start_ms", frame_ms * (double)join->start_frame);
  figures_set(of, "run_in_ms", run_in_ms(report->family));
  figures_set(
    of, "length_ms", frame_ms * (double)(join->n_frames - join->gap_frames));
  figures_set(of, "spectra_apart_db", join->apart_db);
  figures_set(of, "level_db", join->level_db);
  figures_set(
    of, "evened_db", join->trend_db != 0.0 ? -join->trend_db : (double)NAN);
  figures_set(of, "falls_db_per_s", join->falls_db_per_s);
  figures_set(of, "glide_cents_per_s", join->glide_cents_per_s);
  figures_set(of, "run_in_take", lead_of(&join->run_in, frame_ms));
  figures_set(of, "ring_out_take", lead_of(&join->ring_out, frame_ms));
  return of;
}
