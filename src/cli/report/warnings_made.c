// What is not as good as it could be in what was made.

#include "cli/message/text.h"
#include "cli/report/warnings.h"
#include "container/container.h"

#include <math.h>

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
  const PackedSound* const    packed = of->report->packed;
  // What a sound of a pack lacks of the pack's loudness is told of the pack.
  if (level->reached || (packed && packed->sound->aimed)) {
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
  // Of a pack it is told how many.
  return plan->chosen && !of->report->packed
           ? text_format("no fire rate was given: %.6g shots per "
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

/// The file that is repeated, or NULL.
static const MadeFile*
loop_file(const Report* report) {
  for (size_t i = 0; i < report->n_files; ++i) {
    if (report->files[i].part == VW_PART_LOOP) {
      return &report->files[i];
    }
  }
  return NULL;
}

static char*
warn_compressed(const Facts* of) {
  const MadeFile* const file = loop_file(of->report);
  const Settings* const settings = of->report->settings;
  if (!file || !settings->has_board ||
      settings->board.container != VW_CONTAINER_OGG) {
    return NULL;
  }
  return file->block_frames
           ? text_format("a loop in Ogg: the format packs sound in blocks and "
                         "pads the last one, up to %u frames (%.0f ms), so a "
                         "board may leave a gap: use WAV where it takes it",
                         file->block_frames,
                         1000.0 * file->block_frames / file->rate_hz)
           : text_format("a loop in Ogg: the format pads its last block, so a "
                         "board may leave a gap: use WAV where it takes it");
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

static const WarningKind kinds_of_family[] = {
  {warn_level, "a level other than asked"},
  {warn_noise, "a level near the noise of the encoding"},
};

static const WarningKind kinds_of_loop[] = {
  {warn_chosen, "no fire rate, so that one was chosen"},
  {warn_rate_missed, "a fire rate that is not quite met"},
  {warn_fewer, "variation that repeats soon"},
  {warn_valley, "a valley less deep than asked"},
  {warn_gap, "a gap too long to hide, which is heard"},
  {warn_run_in, "a run-in that is cut short"},
  {warn_compressed, "a loop in Ogg, which may leave a gap"},
};

const WarningKind*
warnings_of_family(size_t* n) {
  *n = sizeof(kinds_of_family) / sizeof(kinds_of_family[0]);
  return kinds_of_family;
}

const WarningKind*
warnings_of_loop(size_t* n) {
  *n = sizeof(kinds_of_loop) / sizeof(kinds_of_loop[0]);
  return kinds_of_loop;
}
