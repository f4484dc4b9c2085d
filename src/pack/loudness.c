#include "pack/internal.h"

#include "base/units.h"

#include <math.h>
#include <stdlib.h>

// Of the families so many may lack something where the pack is to be loudest:
// one in ten, or a single faint one would make all others faint (chosen here).
#define LACKING_ONE_IN 10U

// What a family may lack without being named: what the gain is met to (chosen
// here; a difference of 0.1 LU is not heard: common practice).
#define CLOSE_LU 0.05

// Gains are told by commands and typed: they are whole steps of this, rounded
// down so that no ceiling is passed (chosen here; far below CLOSE_LU).
#define GAIN_STEPS_PER_DB 100.0
#define STEP_SLACK 1e-6

// As far as options go.
#define GAIN_MOST_DB 60.0
#define LOUDNESS_LEAST_LUFS (-60.0)

/// Sounds of the same takes; each knows the next of them.
typedef struct {
  const VwPack* pack;
  size_t        first;
} Family;

/* A family */

static size_t
next_of(const Family* family, size_t index) {
  return family->pack->store->works[index].next;
}

static const VwLevelCurve*
curve_of(const Family* family, size_t index) {
  return &family->pack->store->works[index].curve;
}

static double
offset_of(const Family* family, size_t index) {
  return family->pack->sounds[index].wish->offset_lu;
}

/// Whether a sound's burst is what is brought to the loudness.
static bool
is_led_by_burst(const VwPackSound* sound) {
  return sound->options.level.loud_as == VW_LOUD_AS_BURST &&
         !sound->options.shot_only;
}

/// Whether a member's loudness counts: the bursts' where they are what is to be
/// loud, and all others' gain follows.
static bool
leads(const Family* family, size_t index) {
  const VwPack* const pack = family->pack;
  bool                burst = false;
  for (size_t i = family->first; i < pack->n_sounds; i = next_of(family, i)) {
    burst = burst || is_led_by_burst(&pack->sounds[i]);
  }
  return !burst || is_led_by_burst(&pack->sounds[index]);
}

/// The highest gain that all members allow, apart from their offsets.
static double
highest_gain(const Family* family) {
  const size_t n = family->pack->n_sounds;
  double       highest = HUGE_VAL;
  for (size_t i = family->first; i < n; i = next_of(family, i)) {
    const VwLevelCurve* const curve = curve_of(family, i);
    highest =
      fmin(highest, curve->gain_db[curve->n - 1U] - offset_of(family, i));
  }
  return highest;
}

/// The gain that brings a family to a loudness, apart from offsets and what it
/// can: of what its members need the least.
static double
gain_for(const Family* family, double lufs) {
  const size_t n = family->pack->n_sounds;
  double       least = HUGE_VAL;
  for (size_t i = family->first; i < n; i = next_of(family, i)) {
    const double offset = offset_of(family, i);
    if (leads(family, i)) {
      const double gain =
        vw_level_curve_gain(curve_of(family, i), lufs + offset);
      least = fmin(least, gain - offset);
    }
  }
  return least;
}

/// The highest loudness that a family reaches.
static double
reach_of(const Family* family) {
  const size_t n = family->pack->n_sounds;
  const double highest = highest_gain(family);
  double       reach = -HUGE_VAL;
  for (size_t i = family->first; i < n; i = next_of(family, i)) {
    const double offset = offset_of(family, i);
    if (leads(family, i)) {
      const double lufs =
        vw_level_curve_lufs(curve_of(family, i), highest + offset);
      reach = fmax(reach, lufs - offset);
    }
  }
  return reach;
}

/* The families of a pack */

static bool
takes_part(const VwPack* pack, size_t index) {
  const VwPackSound* const sound = &pack->sounds[index];
  return sound->aimed && sound->measured && !sound->status &&
         pack->store->works[index].curve.n;
}

/// Add a sound to the family of its takes, or to the list as the first of one.
static void
join(VwPack* pack, size_t index, Family* families, size_t* n_families) {
  VwPackWork* const works = pack->store->works;
  size_t            k = 0;
  while (k < *n_families &&
         works[families[k].first].takes != works[index].takes) {
    ++k;
  }
  works[index].next = pack->n_sounds;
  if (k == *n_families) {
    families[(*n_families)++] = (Family){pack, index};
    return;
  }
  size_t last = families[k].first;
  while (works[last].next < pack->n_sounds) {
    last = works[last].next;
  }
  works[last].next = index;
}

/* The pack */

static double
held(double lufs) {
  return fmin(fmax(lufs, LOUDNESS_LEAST_LUFS), 0.0);
}

static VwStatus
choose(const Family* families, size_t n, VwPack* pack) {
  const VwPackOptions* const options = &pack->options;
  VwPackSums* const          sums = &pack->sums;
  double* const              reaches = calloc(n + 1U, sizeof(double));
  if (!reaches) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < n; ++i) {
    reaches[i] = reach_of(&families[i]);
  }
  qsort(reaches, n, sizeof(double), vw_compare_doubles);
  sums->n_families = n;
  sums->all_reach_lufs = n ? held(reaches[0]) : NAN;
  sums->loudest_lufs = n ? held(reaches[n / LACKING_ONE_IN]) : NAN;
  sums->loudness_lufs =
    !n                                  ? NAN
    : !isnan(options->loudness_lufs)    ? options->loudness_lufs
    : options->aim == VW_PACK_ALL_REACH ? sums->all_reach_lufs
                                        : sums->loudest_lufs;
  free(reaches);
  return VW_OK;
}

/// A gain in whole steps, as far as options go.
static double
gain_to_type(double gain_db) {
  const double steps = floor(gain_db * GAIN_STEPS_PER_DB + STEP_SLACK);
  return fmin(fmax(steps / GAIN_STEPS_PER_DB, -GAIN_MOST_DB), GAIN_MOST_DB);
}

/// Give the members of a family their gain.
static void
settle(const Family* family, VwPack* pack) {
  const double asked = pack->sums.loudness_lufs;
  const double reach = reach_of(family);
  const double gain = fmin(gain_for(family, asked), highest_gain(family));
  const double lacks = asked - reach > CLOSE_LU ? asked - reach : 0.0;
  pack->sums.n_lacking += lacks > 0.0 ? 1U : 0U;
  for (size_t i = family->first; i < pack->n_sounds; i = next_of(family, i)) {
    VwPackSound* const sound = &pack->sounds[i];
    VwLevel* const     level = &sound->family.level;
    sound->family_of = family->first;
    sound->reach_lufs = reach;
    sound->lacks_lu = lacks;
    sound->options.level.aim = VW_AIM_GAIN;
    sound->options.level.gain_db = gain_to_type(gain + sound->wish->offset_lu);
    level->target_lufs = asked + sound->wish->offset_lu;
    level->reached = lacks == 0.0;
  }
}

VwStatus
vw_pack_loudness_settle(VwPack* pack) {
  Family* const families = calloc(pack->n_sounds + 1U, sizeof(Family));
  size_t        n = 0;
  for (size_t i = 0; families && i < pack->n_sounds; ++i) {
    if (takes_part(pack, i)) {
      join(pack, i, families, &n);
    }
  }
  const VwStatus st = families ? choose(families, n, pack) : VW_NO_MEMORY;
  for (size_t i = 0; !st && i < n; ++i) {
    settle(&families[i], pack);
  }
  free(families);
  return st;
}
