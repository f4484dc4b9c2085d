#include "pack/pack_loudness.h"

#include "pack/pack.h"

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

/// Sounds of the same takes.
typedef struct {
  const VwPack* pack;
  const size_t* members; ///< Indices of its sounds, ascending.
  size_t        n_members;
} Family;

static const VwPackSound*
sound_of(const Family* family, size_t member) {
  return &family->pack->sounds[family->members[member]];
}

static const VwLevelCurve*
curve_of(const Family* family, size_t member) {
  return &family->pack->store->works[family->members[member]].curve;
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
leads(const Family* family, size_t member) {
  bool burst = false;
  for (size_t i = 0; i < family->n_members; ++i) {
    burst = burst || is_led_by_burst(sound_of(family, i));
  }
  return !burst || is_led_by_burst(sound_of(family, member));
}

/// The highest gain that all members allow, apart from their offsets.
static double
highest_gain(const Family* family) {
  double highest = HUGE_VAL;
  for (size_t i = 0; i < family->n_members; ++i) {
    const VwLevelCurve* const curve = curve_of(family, i);
    highest = fmin(highest,
                   curve->gain_db[curve->n - 1U] -
                     sound_of(family, i)->wish->offset_lu);
  }
  return highest;
}

/// The gain that brings a family to a loudness, apart from offsets and what it
/// can: of what its members need the least.
static double
gain_for(const Family* family, double lufs) {
  double least = HUGE_VAL;
  for (size_t i = 0; i < family->n_members; ++i) {
    const double offset = sound_of(family, i)->wish->offset_lu;
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
  const double highest = highest_gain(family);
  double       reach = -HUGE_VAL;
  for (size_t i = 0; i < family->n_members; ++i) {
    const double offset = sound_of(family, i)->wish->offset_lu;
    if (leads(family, i)) {
      const double lufs =
        vw_level_curve_lufs(curve_of(family, i), highest + offset);
      reach = fmax(reach, lufs - offset);
    }
  }
  return reach;
}

/* The families of a pack */

/// A sound with what tells its family.
typedef struct {
  uint64_t takes;
  size_t   index;
} Relative;

/// All families of a pack.
typedef struct {
  size_t* members;  ///< Indices of sounds, family by family. Owned.
  Family* families; ///< Owned.
  size_t  n_families;
} Families;

static int
compare_relatives(const void* a, const void* b) {
  const Relative* const x = a;
  const Relative* const y = b;
  if (x->takes != y->takes) {
    return x->takes < y->takes ? -1 : 1;
  }
  return x->index < y->index ? -1 : x->index > y->index;
}

static bool
takes_part(const VwPackSound* sound, const VwPackWork* work) {
  return sound->aimed && sound->measured && !sound->status && work->curve.n;
}

static size_t
list_relatives(const VwPack* pack, Relative* relatives) {
  size_t n = 0;
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    const VwPackWork* const work = &pack->store->works[i];
    if (takes_part(&pack->sounds[i], work)) {
      relatives[n++] = (Relative){work->takes, i};
    }
  }
  qsort(relatives, n, sizeof(Relative), compare_relatives);
  return n;
}

static void
join(const VwPack* pack, const Relative* relatives, size_t n, Families* out) {
  for (size_t i = 0; i < n; ++i) {
    out->members[i] = relatives[i].index;
    if (!i || relatives[i].takes != relatives[i - 1U].takes) {
      out->families[out->n_families++] = (Family){pack, out->members + i, 0U};
    }
    ++out->families[out->n_families - 1U].n_members;
  }
}

static void
families_clear(Families* families) {
  free(families->members);
  free(families->families);
}

static VwStatus
find_families(const VwPack* pack, Families* families) {
  Relative* const relatives = calloc(pack->n_sounds + 1U, sizeof(Relative));
  Families        out = {calloc(pack->n_sounds + 1U, sizeof(size_t)),
                         calloc(pack->n_sounds + 1U, sizeof(Family)),
                         0U};
  if (!relatives || !out.members || !out.families) {
    free(relatives);
    families_clear(&out);
    return VW_NO_MEMORY;
  }
  const size_t n = list_relatives(pack, relatives);
  join(pack, relatives, n, &out);
  free(relatives);
  *families = out;
  return VW_OK;
}

/* The pack */

static int
compare_reals(const void* a, const void* b) {
  const double x = *(const double*)a;
  const double y = *(const double*)b;
  return x < y ? -1 : x > y;
}

static double
held(double lufs) {
  return fmin(fmax(lufs, LOUDNESS_LEAST_LUFS), 0.0);
}

static VwStatus
choose(const Families* families, VwPack* pack) {
  const VwPackOptions* const options = &pack->options;
  VwPackSums* const          sums = &pack->sums;
  const size_t               n = families->n_families;
  double* const              reaches = calloc(n + 1U, sizeof(double));
  if (!reaches) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < n; ++i) {
    reaches[i] = reach_of(&families->families[i]);
  }
  qsort(reaches, n, sizeof(double), compare_reals);
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
  for (size_t i = 0; i < family->n_members; ++i) {
    VwPackSound* const sound = &pack->sounds[family->members[i]];
    VwLevel* const     level = &sound->family.level;
    sound->family_of = family->members[0];
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
  Families families = {NULL, NULL, 0U};
  VwStatus st = find_families(pack, &families);
  st = st ? st : choose(&families, pack);
  for (size_t i = 0; !st && i < families.n_families; ++i) {
    settle(&families.families[i], pack);
  }
  families_clear(&families);
  return st;
}
