// The shots in a file that was made here.

#include "base/units.h"
#include "board/board.h"
#include "burst/burst.h"
#include "lamp/lamp.h"
#include "signal/signal.h"
#include "take/take.h"

#include "volleyweave/volleyweave.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

// A crest stands so far above the quiet before it: half of what each shot is
// heard on its own with (chosen here).
#define RISE_DB (VW_VALLEY_APART_DB / 2.0)

// A crest so far below the loudest is the end of a tail, no shot.
#define RANGE_DB 12.0

/// The level about every frame of a sound.
typedef struct {
  double* power; ///< Owned.
  VwHann  hann;  ///< Owned.
  size_t  n;     ///< Values of `power`.
} Level;

static void
add_channel(const VwSound* sound, unsigned channel, Level* level) {
  VwBiquad sections[VW_HIGH_PASS_SECTIONS];
  vw_high_pass_4th(sections, VW_LEVEL_CORNER_HZ, sound->rate_hz);
  for (size_t i = 0; i < level->n; ++i) {
    const double x = (double)sound->values[i * sound->n_channels + channel];
    const double y = vw_high_pass_step(sections, x);
    level->power[i] += y * y;
  }
}

static VwStatus
level_init(const VwSound* sound, Level* level) {
  level->n = sound->n_frames;
  level->power = calloc(level->n, sizeof(double));
  if (!level->power) {
    return VW_NO_MEMORY;
  }
  for (unsigned c = 0; c < sound->n_channels; ++c) {
    add_channel(sound, c, level);
  }
  return vw_hann_init(&level->hann,
                      level->power,
                      level->n,
                      vw_frames_of_s(VW_LEVEL_WINDOW_S, sound->rate_hz));
}

static void
level_clear(Level* level) {
  vw_hann_clear(&level->hann);
  free(level->power);
}

/// The crests found so far.
typedef struct {
  size_t* frames; ///< Owned.
  size_t  n;
  double  crest;  ///< Level of the one at hand.
  double  quiet;  ///< Lowest level since it.
  double  least;  ///< A crest is no lower.
  bool    rising; ///< The one at hand may yet rise.
} Crests;

static void
follow(Crests* crests, double level, size_t frame) {
  if (crests->rising && level > crests->crest) {
    crests->crest = level;
    crests->frames[crests->n - 1U] = frame;
  } else if (level < crests->quiet) {
    crests->quiet = level;
  }
  if (crests->rising && level < crests->crest * vw_power_of_db(-RISE_DB)) {
    crests->rising = false;
    crests->quiet = level;
  }
  if (!crests->rising && level >= crests->least &&
      level > crests->quiet * vw_power_of_db(RISE_DB)) {
    crests->frames[crests->n++] = frame;
    crests->crest = level;
    crests->rising = true;
  }
}

static double
loudest(const Level* level) {
  double most = 0.0;
  for (size_t i = 0; i < level->n; ++i) {
    const double here = vw_hann_mean(&level->hann, i);
    most = here > most ? here : most;
  }
  return most;
}

/// Find the crests of the level; no more than one in ten frames can be there.
static VwStatus
crests_find(const Level* level, Crests* crests) {
  crests->frames = calloc(level->n + 1U, sizeof(size_t));
  if (!crests->frames) {
    return VW_NO_MEMORY;
  }
  crests->least = loudest(level) * vw_power_of_db(-RANGE_DB);
  for (size_t i = 0; i < level->n; ++i) {
    follow(crests, vw_hann_mean(&level->hann, i), i);
  }
  return VW_OK;
}

/// From the first attack each lies as far as its crest does.
static void
follow_crests(const VwSound* sound, const Crests* crests, size_t* n_shots) {
  const size_t first = crests->n ? crests->frames[0] : 0U;
  *n_shots = crests->n ? crests->n : 1U;
  for (size_t i = 0; i < *n_shots; ++i) {
    crests->frames[i] = vw_shot_pre_roll(sound->rate_hz) +
                        (crests->n ? crests->frames[i] : 0U) - first;
  }
}

static VwStatus
find_in_file(const VwSound* sound, size_t** shots, size_t* n_shots) {
  Level    level = {0};
  Crests   crests = {0};
  VwStatus st = level_init(sound, &level);
  st = st ? st : crests_find(&level, &crests);
  level_clear(&level);
  if (st) {
    free(crests.frames);
    return st;
  }
  follow_crests(sound, &crests, n_shots);
  *shots = crests.frames;
  return VW_OK;
}

/// Spread the shots of a loop over the file, or over file and gap.
static VwStatus
find_in_loop(const VwSound*     loop,
             const VwLoopKnown* known,
             size_t**           shots,
             size_t*            n_shots) {
  VwRateFound    found = {.shots = known->shots ? known->shots : 1U};
  const VwStatus st = vw_rate_of_loop(loop, known, &found);
  if (st && st != VW_NO_STEADY_RATE) {
    return st;
  }
  const size_t gap =
    found.uneven ? 0U : vw_frames_of_s(found.gap_ms / 1000.0, loop->rate_hz);
  const size_t  n = found.shots;
  size_t* const spread = calloc(n, sizeof(size_t));
  if (!spread) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < n; ++i) {
    spread[i] = vw_shot_pre_roll(loop->rate_hz) +
                (2U * i * (loop->n_frames + gap) + n) / (2U * n);
  }
  *shots = spread;
  *n_shots = n;
  return VW_OK;
}

VwStatus
vw_rehearse_find_shots(const VwSound*     sound,
                       const VwLoopKnown* loop,
                       size_t**           shots,
                       size_t*            n_shots) {
  assert(sound && sound->n_frames && shots && n_shots);
  return loop ? find_in_loop(sound, loop, shots, n_shots)
              : find_in_file(sound, shots, n_shots);
}
