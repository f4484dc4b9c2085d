#include "burst/turns.h"

#include "signal/signal.h"
#include "take/events.h"
#include "take/take.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The shots */

/// How many shots a take has; its events are shots if there are several.
static size_t
count_shots(const VwShotsOf* of) {
  return of->facts->shots_in_take > 1U ? of->events->n_events : 1U;
}

static VwStatus
make_room(size_t n, VwShots* shots) {
  *shots = (VwShots){.n = n,
                     .facts = calloc(n, sizeof(*shots->facts)),
                     .likeness = calloc(n * n, sizeof(*shots->likeness)),
                     .good = calloc(n, sizeof(*shots->good)),
                     .kept = calloc(n, sizeof(*shots->kept)),
                     .written = calloc(n, sizeof(*shots->written)),
                     .takes = calloc(n, sizeof(*shots->takes)),
                     .used = calloc(n, sizeof(*shots->used))};
  return shots->facts && shots->likeness && shots->good && shots->kept &&
             shots->written && shots->takes && shots->used
           ? VW_OK
           : VW_NO_MEMORY;
}

/// Set what is known of an only shot.
static void
take_only(const VwShotsOf* of, VwShots* shots) {
  shots->facts[0] = *of->facts;
  shots->likeness[0] = 1.0F;
}

/// Find each of several shots.
static VwStatus
take_each(const VwShotsOf* of, const VwFindOptions* options, VwShots* shots) {
  VwStatus st = vw_find_each(of->take, options, of->events, shots->facts);
  st =
    st ? st : vw_likeness_find(&of->take->sound, of->events, shots->likeness);
  for (size_t i = 0; !st && i < shots->n; ++i) {
    shots->facts[i].n_clipped_frames = of->clipped ? of->clipped[i] : 0U;
  }
  return st;
}

/// Level of a shot's crest beside the loudest of the take.
static double
level_db(const VwShotsOf* of, const VwShots* shots, size_t shot) {
  return shots->n > 1U ? of->events->events[shot].level_db : 0.0;
}

/// Find the good shots: those free of clipping, and within 6 dB of the loudest
/// of these.
static void
find_good(const VwShotsOf* of, VwShots* shots) {
  double loudest_db = -HUGE_VAL;
  for (size_t i = 0; i < shots->n; ++i) {
    shots->good[i] = !shots->facts[i].n_clipped_frames;
    loudest_db =
      shots->good[i] ? fmax(level_db(of, shots, i), loudest_db) : loudest_db;
  }
  for (size_t i = 0; i < shots->n; ++i) {
    shots->good[i] =
      shots->good[i] && level_db(of, shots, i) >= loudest_db - VW_SHOT_RANGE_DB;
    shots->n_good += shots->good[i] ? 1U : 0U;
  }
}

VwStatus
vw_shots_find(const VwShotsOf*     of,
              const VwFindOptions* options,
              VwShots*             shots) {
  const size_t n = count_shots(of);
  if (of->facts->kind == VW_KIND_SUSTAINED) {
    *shots = (VwShots){0};
    return VW_NO_SHOT;
  }
  VwStatus st = make_room(n, shots);
  if (!st && n == 1U) {
    take_only(of, shots);
  } else if (!st) {
    st = take_each(of, options, shots);
  }
  if (!st) {
    shots->takes[0] = *of->take;
    find_good(of, shots);
  }
  return st;
}

/* Which are kept */

/// Whether a shot may be kept: if none is good, any may.
static bool
may_keep(const VwShots* shots, size_t shot) {
  return shots->good[shot] || !shots->n_good;
}

/// How alike a shot is to that of those kept which it is most alike to.
static float
nearest_kept(const VwShots* shots, size_t shot) {
  float nearest = -HUGE_VALF;
  for (size_t i = 0; i < shots->n; ++i) {
    if (shots->kept[i]) {
      nearest = fmaxf(nearest, shots->likeness[shot * shots->n + i]);
    }
  }
  return nearest;
}

/// The first two to keep: those least alike. Of one to keep: the first.
static void
keep_first(VwShots* shots) {
  const size_t n = shots->n;
  size_t       one = n;
  size_t       other = n;
  for (size_t i = 0; i < n; ++i) {
    one = may_keep(shots, i) && one == n ? i : one;
    for (size_t k = 0; shots->n_wanted > 1U && may_keep(shots, i) && k < i;
         ++k) {
      const bool less = other == n || shots->likeness[i * n + k] <
                                        shots->likeness[other * n + one];
      if (may_keep(shots, k) && less) {
        one = k;
        other = i;
      }
    }
  }
  shots->kept[one] = true;
  if (other < n) {
    shots->kept[other] = true;
  }
}

/// Keep those that differ most: each time the one that is least alike to those
/// kept (T. F. Gonzalez, "Clustering to minimize the maximum intercluster
/// distance", Theoretical Computer Science 38, 1985).
static void
keep_farthest(VwShots* shots) {
  size_t n_kept = shots->n_wanted > 1U ? 2U : 1U;
  keep_first(shots);
  for (; n_kept < shots->n_wanted; ++n_kept) {
    size_t best = shots->n;
    float  least = HUGE_VALF;
    for (size_t i = 0; i < shots->n; ++i) {
      const float near = may_keep(shots, i) && !shots->kept[i]
                           ? nearest_kept(shots, i)
                           : HUGE_VALF;
      best = near < least ? i : best;
      least = fminf(near, least);
    }
    if (best == shots->n) {
      return;
    }
    shots->kept[best] = true;
  }
}

void
vw_shots_keep(VwShots* shots, size_t n_wanted) {
  shots->n_wanted = n_wanted;
  if (n_wanted) {
    keep_farthest(shots);
  }
  for (size_t i = 0; i < shots->n; ++i) {
    shots->kept[i] = shots->kept[i] || !n_wanted;
    if (shots->kept[i]) {
      shots->takes[shots->n_written] = shots->takes[0];
      shots->used[shots->n_written] = shots->facts[i];
      shots->written[shots->n_written++] = i;
    }
  }
}

void
vw_shots_clear(VwShots* shots) {
  if (shots) {
    free(shots->facts);
    free(shots->likeness);
    free(shots->good);
    free(shots->kept);
    free(shots->written);
    free(shots->takes);
    free(shots->used);
    *shots = (VwShots){0};
  }
}

/* Those that take turns */

bool
vw_turns_suit(const VwShotFacts*     facts,
              size_t                 n_takes,
              const VwFamilyOptions* options) {
  return n_takes == 1U && !options->shot_only && !options->whole &&
         facts->kind == VW_KIND_RAPID_FIRE && facts->shots_in_take > 1U &&
         options->fire_rate_per_s > 0.0 && !options->find.pick &&
         !options->find.has_start;
}

/// As many as the cycle holds, up to `n_most`; with variants as many as it
/// holds with all of these, if there are such.
static size_t
count_turns(const VwFamilyOptions* options, unsigned rate_hz, size_t n_most) {
  size_t n_held = 1;
  for (size_t n = n_most; n > 1U; --n) {
    const VwPlanWish wish = vw_wish_make(options, NULL, n, rate_hz);
    VwPlan           plan = {0};
    const bool holds = options->shots % n == 0U && !vw_plan_make(&wish, &plan);
    if (holds && !(options->variants && plan.fewer_shots)) {
      return n;
    }
    n_held = holds && n > n_held ? n : n_held;
  }
  return n_held;
}

VwStatus
vw_turns_find(const VwShotsOf*       of,
              const VwFamilyOptions* options,
              VwShots*               shots) {
  const VwFindOptions finding = vw_find_wish(options);
  const VwStatus      st = vw_shots_find(of, &finding, shots);
  if (st) {
    return st;
  }
  const size_t n_good = shots->n_good ? shots->n_good : shots->n;
  const size_t n_asked = options->shots ? options->shots : VW_TURNS_USUAL;
  vw_shots_keep(
    shots,
    count_turns(options,
                vw_alone_rate(of->take, 1U, options->format.rate_hz),
                n_good < n_asked ? n_good : n_asked));
  return VW_OK;
}

/* The single shot */

VwStatus
vw_piece_measure(const VwFamily* family, size_t piece, VwLoudness* loudness) {
  const VwSound* const sound = &family->pieces[piece].sound;
  VwSound              heard = {0};
  VwStatus st = vw_sound_heard(sound, family->lamp_track.pulses, &heard);
  st = st ? st : vw_loudness_measure(&heard, loudness);
  vw_sound_clear(&heard);
  return st;
}

VwStatus
vw_turns_single(const VwFamily* family, size_t* single) {
  double   loudest_lufs = -HUGE_VAL;
  VwStatus st = VW_OK;
  *single = 0;
  for (size_t i = 0; !st && i < family->n_takes; ++i) {
    VwLoudness loudness;
    st = vw_piece_measure(family, i, &loudness);
    if (!st && loudness.momentary_max_lufs > loudest_lufs) {
      loudest_lufs = loudness.momentary_max_lufs;
      *single = i;
    }
  }
  return st;
}

void
vw_turns_keep(const VwShots* turns,
              size_t         single,
              VwFamily*      family,
              VwShotFacts*   facts) {
  const size_t  n_clipped = facts->n_clipped_frames;
  const VwPiece piece = family->pieces[single];
  VwTakeUse     use = family->uses[single];
  *facts = turns->used[single];
  facts->n_clipped_frames = n_clipped;
  for (size_t i = 0; i < turns->n_written; ++i) {
    use.late_start_ms = fmax(use.late_start_ms, family->uses[i].late_start_ms);
    if (i != single) {
      vw_sound_clear(&family->pieces[i].sound);
    }
  }
  family->uses[0] = use;
  family->n_pieces -= turns->n_written - 1U;
  memmove(&family->pieces[1],
          &family->pieces[turns->n_written],
          (family->n_pieces - 1U) * sizeof(VwPiece));
  family->pieces[0] = piece;
  family->pieces[0].take = 0;
}
