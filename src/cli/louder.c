#include "cli/louder.h"

#include "base/ranges.h"
#include "cli/message/message.h"
#include "signal/signal.h"

#include <math.h>

// A further step of limiting, and the most that there can be.
#define LIMITING_STEP_DB 3.0
#define LIMITING_MOST_DB 12.0

/// Make a family with other options. If that fails its loudness is NaN.
static VwFamily
try_family(VwFamilyWish wish, const VwFamilyOptions* options) {
  VwFamily family = {.level = {.shot_loudness_lufs = NAN,
                               .burst_loudness_lufs = NAN,
                               .before_lufs = NAN}};
  wish.options = options;
  if (vw_family_measure(&wish, &family, NULL) == VW_NO_MEMORY) {
    out_of_memory(); // no advice would be a wrong one
  }
  return family;
}

/// The level alone of such a family.
static VwLevel
try_level(const VwFamilyWish* wish, const VwFamilyOptions* options) {
  VwFamily      family = try_family(*wish, options);
  const VwLevel level = family.level;
  vw_family_clear(&family);
  return level;
}

/// Loudness of a sound as written, as a 40 mm speaker plays it.
static double
played_lufs(const VwSound* sound) {
  const VwTake       take = {.sound = *sound}; // a view; the family owns it
  const VwShotFacts  facts = {.end_frame = sound->n_frames};
  VwFamilyOptions    options = vw_family_defaults();
  const VwFamilyWish wish = {&take, &facts, 1U, &options};
  options.format.rate_hz = sound->rate_hz;
  options.format.n_channels = sound->n_channels;
  options.whole = true;
  options.shot_only = true;
  options.level.aim = VW_AIM_KEEP;
  options.level.speaker.corner_hz = VW_SPEAKER_USUAL_HZ;
  return try_level(&wish, &options).before_lufs;
}

/// The same of a piece of a family, whose lamp track is not played.
static double
piece_played_lufs(const VwFamily* family, const VwPiece* piece) {
  VwSound        heard = {0};
  double         lufs = NAN;
  const VwStatus st =
    vw_sound_heard(&piece->sound, family->lamp_track.pulses, &heard);
  if (st == VW_NO_MEMORY) {
    out_of_memory();
  }
  if (!st) {
    lufs = played_lufs(&heard);
  }
  vw_sound_clear(&heard);
  return lufs;
}

/// The loudest of the sounds that are no part of the burst, so played.
static double
loudest_played_lufs(const VwFamily* family) {
  double loudest = NAN;
  for (size_t i = 0; i < family->n_pieces; ++i) {
    const VwPiece* const piece = &family->pieces[i];
    if (piece->part == VW_PART_SHOT || piece->part == VW_PART_WHOLE) {
      loudest = fmax(loudest, piece_played_lufs(family, piece));
    }
  }
  return loudest;
}

static double
by_speaker(const VwFamilyWish* wish, const VwFamily* family) {
  VwFamilyOptions options = *wish->options;
  if (options.level.speaker.corner_hz > 0.0) {
    return NAN;
  }
  options.level.speaker.corner_hz = VW_SPEAKER_USUAL_HZ;
  VwFamily     spared = try_family(*wish, &options);
  const double by_db =
    loudest_played_lufs(&spared) - loudest_played_lufs(family);
  vw_family_clear(&spared);
  return by_db;
}

static void
by_limiting(const VwFamilyWish* wish, const VwFamily* family, Louder* louder) {
  VwFamilyOptions options = *wish->options;
  options.level.limiting_max_db = louder->limiting_max_db;
  const VwLevel level = try_level(wish, &options);
  louder->limiting_db =
    level.shot_loudness_lufs - family->level.shot_loudness_lufs;
  louder->burst_db =
    level.burst_loudness_lufs - family->level.burst_loudness_lufs;
}

static double
by_tightening(const VwFamilyWish* wish, const VwFamily* family) {
  VwFamilyOptions options = *wish->options;
  // A file that is faded needs tails low enough for the attack to hide it.
  if (!(family->tightening_db > 0.0) || family->form == VW_FORM_WHOLE_FILE) {
    return NAN;
  }
  options.valley_db = NAN;
  return try_level(wish, &options).burst_loudness_lufs -
         family->level.burst_loudness_lufs;
}

void
louder_find(const VwFamilyWish* wish, const VwFamily* family, Louder* louder) {
  const VwAim     aim = wish->options->level.aim;
  VwFamilyOptions options = *wish->options;
  VwFamilyWish    loudest = *wish;
  *louder = (Louder){false, NAN, NAN, NAN, NAN, NAN};
  // A join is searched for once.
  if (family->join.n_frames || aim == VW_AIM_KEEP ||
      (aim != VW_AIM_LOUDEST && family->level.reached)) {
    return;
  }
  options.level.aim = VW_AIM_LOUDEST;
  loudest.options = &options;
  louder->tried = true;
  louder->limiting_max_db =
    fmin(family->level.limiting_max_db + LIMITING_STEP_DB, LIMITING_MOST_DB);
  louder->speaker_db = by_speaker(&loudest, family);
  by_limiting(&loudest, family, louder);
  louder->tightening_db = by_tightening(&loudest, family);
}
