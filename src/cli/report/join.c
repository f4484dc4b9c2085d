#include "join/join.h"
#include "cli/message/figures.h"
#include "cli/report/sections.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

// Another take's level is changed by so much without a word (chosen here).
#define MATCH_USUAL_DB 12.0

// A length asked is met to this part, see the man page.
#define CYCLE_NEAR 0.0505

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

/* What is wrong with it */

// Of a loop of a sound that sounds on.
const WarningKind kinds_of_join[KINDS_OF_JOIN] = {
  {"far",
   "another take far from the loop's level",
   "levels matched to the loop:{run_in_db? run-in {run_in_db:+.1f} "
   "dB}{run_in_db ring_out_db?,}{ring_out_db? ring-out {ring_out_db:+.1f} "
   "dB}{left_db?, {left_db:.1f} dB left}: give takes recorded alike"},
  {"useless",
   "options without effect on a joined loop",
   "no effect on a joined loop: {useless}: leave them out"},
  {"nothing",
   "a loop of a sound in which nothing repeats",
   "nothing repeats in it (likeness {likeness:.2f}, spectra {apart_db:.1f} "
   "dB apart): {better_s?try --cycle {better_s:.4g}s}{!better_s?record it "
   "longer, or use `convert`}"},
  {"glides",
   "a pitch that glides, so that the join is heard",
   "its pitch glides by {cents_per_s:+.0f} cents a second, so the join is "
   "heard: give a steadier --from and --to"},
  {"falls",
   "a level that changes, so that the join is heard",
   "its level {rises?rises}{!rises?falls} by {change_db_per_s:.1f} dB a "
   "second, so the join is heard: give a steadier --from and --to"},
  {"cycle_missed",
   "a loop that is not as long as asked",
   "a loop of {length_ms}, not {asked_ms}, since {longest_ms} of the take "
   "are even: give a longer take"},
  {"gap_in_hum",
   "a gap that is heard in a sustained sound",
   "the gap of {gap_ms} is heard after every repeat: give a longer "
   "--cycle-max, or a board with loop points"},
};

/// The options given that a join leaves nothing to do; NULL: none. To be freed.
static char*
list_useless(const Report* report) {
  // Rapid fire is as long as its whole periods.
  const bool        shots = report->family->join.kind == VW_JOIN_SHOTS;
  const char* const names = " detune fire-rate level-spread pick shots tail "
                            "take-turns tightening valley variants ";
  const Settings* const settings = report->settings;
  char*                 list = NULL;
  for (size_t i = 0; i < settings->n_given; ++i) {
    const char* const name = settings->given[i].name;
    if (text_lists(names, name) || (shots && !strcmp(name, "cycle"))) {
      list = text_more(list, ", ", "--%s", name);
    }
  }
  return list;
}

/// Set what there is to tell of the levels of other takes.
static void
set_leads(Figures* of, const VwJoin* join) {
  const double run_in_db = join->run_in.gain_db;
  const double ring_out_db = join->ring_out.gain_db;
  const double left_db =
    fmax(fabs(join->run_in.left_db), fabs(join->ring_out.left_db));
  const bool far[] = {fabs(run_in_db) > MATCH_USUAL_DB,
                      fabs(ring_out_db) > MATCH_USUAL_DB};
  figures_set(of, "far", far[0] || far[1]);
  figures_set(of, "run_in_db", far[0] ? run_in_db : (double)NAN);
  figures_set(of, "ring_out_db", far[1] ? ring_out_db : (double)NAN);
  figures_set(of, "left_db", left_db >= DB_SHOWN ? left_db : (double)NAN);
}

Figures*
join_of(const Report* report) {
  const VwFamily* const        family = report->family;
  const VwJoin* const          join = &family->join;
  const VwFamilyOptions* const wish = &report->settings->family;
  const double loop_s = (double)join->n_frames / (double)family->format.rate_hz;
  const double even_s = (double)(join->steady_to - join->steady_from) /
                        (double)family->format.rate_hz;
  Figures* const of = figures_new();
  figures_set_made(of, "useless", list_useless(report));
  const bool glides = !isnan(join->glide_cents_per_s);
  const bool better = join->better_s > 0.0;
  figures_set(
    of, "nothing", join->kind == VW_JOIN_NOTHING && (better || !glides));
  figures_set(of, "likeness", join->likeness);
  figures_set(of, "apart_db", join->apart_db);
  figures_set(of, "better_s", better ? join->better_s : (double)NAN);
  figures_set(of, "glides", glides);
  figures_set(of, "cents_per_s", join->glide_cents_per_s);
  figures_set(
    of, "falls", vw_join_changes(join, (double)family->format.rate_hz));
  figures_set(of, "rises", join->falls_db_per_s < 0.0);
  figures_set(of, "change_db_per_s", fabs(join->falls_db_per_s));
  figures_set(of,
              "cycle_missed",
              join->kind != VW_JOIN_SHOTS && wish->cycle_s > 0.0 &&
                fabs(loop_s / wish->cycle_s - 1.0) > CYCLE_NEAR);
  figures_set(of, "length_ms", 1000.0 * loop_s);
  figures_set(of, "asked_ms", 1000.0 * wish->cycle_s);
  figures_set(of, "longest_ms", 1000.0 * even_s);
  figures_set(of, "gap_in_hum", wish->gap_ms > 0.0 && !join->gap_frames);
  figures_set(of, "gap_ms", wish->gap_ms);
  set_leads(of, join);
  return of;
}

/// Whether a likeness is a good one.
static bool
is_alike(const Figures* loop, const char* name) {
  return figures_get(loop, name).number >= VW_JOIN_ALIKE;
}

void
add_join_words(Figures* loop, const VwJoin* join) {
  figures_set(
    loop, "run_in_alike", is_alike(loop, "join.run_in_take.likeness"));
  figures_set(
    loop, "ring_out_alike", is_alike(loop, "join.ring_out_take.likeness"));
  figures_set(loop, "join_alike", is_alike(loop, "join.likeness"));
  figures_set(loop, "alike", join->kind == VW_JOIN_REPEATS);
  figures_set(loop, "noise", join->kind == VW_JOIN_NOISE);
}
