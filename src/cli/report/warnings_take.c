// What is not as good as it could be in a take.

#include "cli/message/text.h"
#include "cli/report/warnings.h"

#include <math.h>

// An offset above this costs a fortieth of the room for the sound.
#define BIG_OFFSET 0.025

static char*
warn_no_shot(const Facts* of) {
  return of->report->command->bit == COMMAND_INSPECT && !of->input->has_shot
           ? text_format("no shot was found, nothing in it rises out of the "
                         "noise: for a shot, %s",
                         vw_remedy(VW_NO_SHOT))
           : NULL;
}

static char*
warn_sustained(const Facts* of) {
  return of->facts->kind == VW_KIND_SUSTAINED
           ? text_format(
               "a sustained sound (a drone or a steady tone), not a shot: "
               "shots made from it run together")
           : NULL;
}

static char*
warn_several(const Facts* of) {
  return of->facts->shots_in_take > 1U
           ? text_format("%u shots in the take: the one at %.0f ms is used; "
                         "to use another, save it as a file of its own",
                         of->facts->shots_in_take,
                         of->facts->attack_ms)
           : NULL;
}

static char*
warn_slow(const Facts* of) {
  return of->facts->slow
           ? text_format("a slow attack, %.0f ms until it is loud: its start "
                         "is less certain, and it comes late after the trigger",
                         of->facts->rise_ms)
           : NULL;
}

static char*
warn_earlier(const Facts* of) {
  return isnan(of->facts->earlier_sound_db)
           ? NULL
           : text_format("an earlier sound was left out: it ended %.0f ms "
                         "before the attack, %.0f dB below the crest",
                         of->facts->earlier_sound_ms,
                         -of->facts->earlier_sound_db);
}

static char*
warn_cut_off(const Facts* of) {
  return isnan(of->facts->cut_off_db)
           ? NULL
           : text_format("the take ends while it still sounds, %.0f dB below "
                         "the crest: it is faded out; record longer for the "
                         "whole tail",
                         fmax(-of->facts->cut_off_db, 0.0));
}

static char*
warn_clipped(const Facts* of) {
  return of->facts->n_clipped_frames
           ? text_format("%zu clipped frames: record at a lower level",
                         of->facts->n_clipped_frames)
           : NULL;
}

static char*
warn_offset(const Facts* of) {
  return fabs(of->facts->dc_offset) >= BIG_OFFSET
           ? text_format("an offset (DC) of %+.3f of full scale was removed: "
                         "check the recorder",
                         of->facts->dc_offset)
           : NULL;
}

// Of what was made from it.

static char*
warn_downmix(const Facts* of) {
  return of->use && of->use->downmix == VW_DOWNMIX_STRONGER
           ? text_format("its channels cancel each other: the stronger one "
                         "alone was kept; try --channels 2")
           : NULL;
}

static char*
warn_late(const Facts* of) {
  return of->use && of->use->late_start_ms > 0.0
           ? text_format("its crest comes late: the burst leaves out its "
                         "first %.0f ms, attack and all; --valley none or a "
                         "lower fire rate keeps them",
                         of->use->late_start_ms)
           : NULL;
}

static const WarningKind kinds_of_take[] = {
  {warn_no_shot, "no shot"},
  {warn_sustained, "a sustained sound, taken for a shot"},
  {warn_several, "several shots in the take, of which one is used"},
  {warn_slow, "a slow attack, which comes late after the trigger"},
  {warn_earlier, "an earlier sound, which was left out"},
  {warn_cut_off, "a take that ends while it still sounds"},
  {warn_clipped, "clipped frames, from too high a recording level"},
  {warn_offset, "an offset (DC), which was removed"},
  {warn_downmix, "channels that cancel each other, of which one was kept"},
  {warn_late, "a late crest, before which the burst leaves sound out"},
};

const WarningKind*
warnings_of_take(size_t* n) {
  *n = sizeof(kinds_of_take) / sizeof(kinds_of_take[0]);
  return kinds_of_take;
}
