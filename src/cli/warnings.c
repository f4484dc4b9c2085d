// The one table of what is said wherever a result is not as good as it could
// be.

#include "report.h"

#include "flash.h"
#include "text.h"

#include <math.h>
#include <stdlib.h>

// An offset above this costs a fortieth of the room for the sound.
#define BIG_OFFSET 0.025

// What the fire rate may be off without a word, see the man page.
#define ERROR_MOST_PPM 1000.0

// The slowest fire rate that can be asked for.
#define FIRE_RATE_LEAST_PER_S 0.5

// What it may be off without a word where a buffer decides.
#define GIVING_MOST_PPM 5000.0

// Noise so far below a sound, K-weighted 3 dB nearer, adds 0.2 LU to it (closed
// form).
#define NOISE_NEAR_DB 16.0

// What the report would round away.
#define DB_SHOWN 0.05

/// What a warning looks at: one take and the family made from it.
typedef struct {
  const Report*      report;
  const Input*       input; ///< NULL where it is about all takes.
  const VwShotFacts* facts;
  const VwTakeUse*   use;    ///< NULL where no family was made.
  const VwFamily*    family; ///< NULL, or one without a loop, for a shot.
} Facts;

/// The warning's text where there is one, or NULL; to be freed.
typedef char* (*Warner)(const Facts* of);

/* Of the take */

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

/* Of what was made from it */

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

/* Of the level */

/// How loud is what was to have the loudness aimed at.
static double
loudness_left(const Facts* of) {
  const VwLevel* const level = &of->family->level;
  return of->report->settings->family.level.loud_as == VW_LOUD_AS_BURST
           ? level->burst_loudness_lufs
           : level->shot_loudness_lufs;
}

static char*
warn_noise(const Facts* of) {
  const VwFamily* const family = of->family;
  const double noise_dbfs = vw_encoding_noise_dbfs(family->format.encoding);
  const double above_db = family->level.shot_loudness_lufs - noise_dbfs;
  return above_db < NOISE_NEAR_DB && family->format.dither == VW_DITHER_TPDF
           ? text_format(
               "it is only %.0f dB above the noise of %s, which makes "
               "it louder than reported: give a louder --loudness, "
               "or more --bits",
               fmax(above_db, 0.0),
               vw_encoding_name(family->format.encoding))
           : NULL;
}

static char*
warn_level(const Facts* of) {
  const VwLevelOptions* const wish = &of->report->settings->family.level;
  const VwLevel* const        level = &of->family->level;
  if (level->reached) {
    return NULL;
  }
  switch (wish->aim) {
    case VW_AIM_LOUDNESS:
      return text_format("%.4g LUFS needs %.1f dB of limiting, %.4g allowed: "
                         "left at %.1f",
                         wish->loudness_lufs,
                         level->limiting_needed_db,
                         wish->limiting_max_db,
                         loudness_left(of));
    case VW_AIM_GAIN:
      return text_format("a gain of %+.4g dB needs %.1f dB of limiting, %.4g "
                         "allowed: left at %+.1f dB",
                         wish->gain_db,
                         level->limiting_needed_db,
                         wish->limiting_max_db,
                         level->gain_db);
    case VW_AIM_KEEP:
      return text_format("its peak lies above the ceiling: the level is kept "
                         "but for a gain of %.1f dB",
                         level->gain_db);
    case VW_AIM_LOUDEST:
      break;
  }
  return NULL;
}

/* Of the loop */

static char*
warn_chosen(const Facts* of) {
  const VwPlan* const plan = &of->family->plan;
  return plan->chosen ? text_format("no fire rate was given: %.6g shots per "
                                    "second were chosen; --fire-rate sets it",
                                    plan->fire_rate_asked_per_s)
                      : NULL;
}

/// Where a buffer or a board's bytes decide, more is forgiven.
static bool
is_bound(const Report* report) {
  const VwFamilyOptions* const wish = &report->settings->family;
  return wish->buffer_frames > 1U || wish->file_bytes_max;
}

static char*
warn_rate_missed(const Facts* of) {
  const VwPlan* const plan = &of->family->plan;
  const double most = is_bound(of->report) ? GIVING_MOST_PPM : ERROR_MOST_PPM;
  return fabs(plan->error_ppm) > most && !plan->uneven
           ? text_format("%.6g shots per second cannot be met within %g %%, "
                         "the nearest is %.6g: try a longer --cycle-max or a "
                         "higher --sample-rate",
                         plan->fire_rate_asked_per_s,
                         most / 1e4,
                         plan->fire_rate_per_s)
           : NULL;
}

/// A fire rate as it can be asked for, rounded towards the slower one; the
/// tolerance is that of the product.
static double
rounded_down(double fire_rate_per_s) {
  return floor(fire_rate_per_s * 1e3 + 1e-6) / 1e3;
}

char*
report_gap_warning(const VwPlan* plan) {
  const double gap_ms = 1000.0 * (double)plan->gap_frames / plan->rate_hz;
  const double even = rounded_down(plan->even_fire_rate_per_s);
  if (!plan->uneven) {
    return NULL;
  }
  return even >= FIRE_RATE_LEAST_PER_S
           ? text_format("the gap of %.4g ms is too long to hide, so it is "
                         "heard after every %u shot%s: at %.5g per second "
                         "they would be even",
                         gap_ms,
                         plan->shots,
                         plan->shots == 1U ? "" : "s",
                         even)
           : text_format("the gap of %.4g ms is too long to hide at any fire "
                         "rate, so it is heard after every %u shot%s",
                         gap_ms,
                         plan->shots,
                         plan->shots == 1U ? "" : "s");
}

static char*
warn_gap(const Facts* of) {
  return report_gap_warning(&of->family->plan);
}

static char*
warn_run_in(const Facts* of) {
  const double left_db = of->family->run_in_left_db;
  return isfinite(left_db) && of->family->form != VW_FORM_WHOLE_FILE &&
             of->family->form != VW_FORM_BURST
           ? text_format("the run-in is cut short: what it lacks is %.1f dB "
                         "below the loop; a longer --run-in-max leaves less",
                         left_db)
           : NULL;
}

static char*
warn_compressed(const Facts* of) {
  const Settings* const settings = of->report->settings;
  return settings->has_board && settings->board.container == VW_CONTAINER_OGG &&
             of->family->form != VW_FORM_BURST
           ? text_format("a loop in Ogg: the format packs sound in blocks and "
                         "pads the last one, up to 2048 frames (%.0f ms), so a "
                         "board may leave a gap: use WAV where it takes it",
                         1000.0 * 2048.0 / of->family->plan.rate_hz)
           : NULL;
}

static char*
warn_fewer(const Facts* of) {
  return of->family->plan.fewer_shots
           ? text_format("the cycle holds only %u shots, so the variation "
                         "repeats soon: try a longer --cycle-max",
                         of->family->plan.shots)
           : NULL;
}

static char*
warn_valley(const Facts* of) {
  const VwFamily* const family = of->family;
  if (isnan(family->valley_asked_db) ||
      family->valley_db >= family->valley_asked_db - DB_SHOWN) {
    return NULL;
  }
  return text_format("the valley is %.1f dB, not the %.1f dB asked: try a "
                     "lower fire rate or --tail choke",
                     isnan(family->valley_db) ? 0.0 : family->valley_db,
                     family->valley_asked_db);
}

/* All */

static const Warner of_take[] = {warn_no_shot,
                                 warn_sustained,
                                 warn_several,
                                 warn_slow,
                                 warn_earlier,
                                 warn_cut_off,
                                 warn_clipped,
                                 warn_offset,
                                 warn_downmix,
                                 warn_late};

static const Warner of_family[] = {warn_level, warn_noise};

static const Warner of_loop[] = {warn_chosen,
                                 warn_rate_missed,
                                 warn_fewer,
                                 warn_valley,
                                 warn_gap,
                                 warn_run_in,
                                 warn_compressed};

enum {
  N_OF_TAKE = sizeof(of_take) / sizeof(of_take[0]),
  N_OF_FAMILY = sizeof(of_family) / sizeof(of_family[0]),
  N_OF_LOOP = sizeof(of_loop) / sizeof(of_loop[0]),
};

static void
keep(Report* report, const char* take, char* text) {
  if (text) {
    report->warnings[report->n_warnings++] = (Warning){take, text};
  }
}

bool
report_warn(Report* report) {
  const VwFamily* const family = report->family;
  const size_t most = report->n_inputs * N_OF_TAKE + N_OF_FAMILY + N_OF_LOOP;
  report->warnings = calloc(most, sizeof(Warning));
  if (!report->warnings) {
    return false;
  }
  for (size_t i = 0; i < report->n_inputs; ++i) {
    const Input* const input = &report->inputs[i];
    const Facts        of = {
             report, input, &input->facts, family ? &family->uses[i] : NULL, family};
    for (size_t j = 0; j < N_OF_TAKE; ++j) {
      keep(report, report->inputs[i].path, of_take[j](&of));
    }
  }
  const Facts of = {report, NULL, NULL, NULL, family};
  for (size_t j = 0; family && j < N_OF_FAMILY; ++j) {
    keep(report, NULL, of_family[j](&of));
  }
  for (size_t j = 0; family && family->plan.shots && j < N_OF_LOOP; ++j) {
    keep(report, NULL, of_loop[j](&of));
  }
  return true;
}

const char*
report_caution(const VwFamily* family) {
  return flash_is_fast(family->lamp.pulse_hz)
           ? "lamps flashing this fast can trigger seizures in people with "
             "photosensitive epilepsy: warn people, follow local rules"
           : NULL;
}

const char*
report_loud_caution(void) {
  return "a small speaker near an ear is far louder than at arm's length: try "
         "it with the volume down, away from heads";
}

void
report_clear(Report* report) {
  for (size_t i = 0; i < report->n_warnings; ++i) {
    free(report->warnings[i].text);
  }
  free(report->warnings);
  free(report->message);
  *report = (Report){0};
}
