#include "cli/split.h"

#include "cli/message/message.h"
#include "store/store.h"
#include "take/events.h"
#include "take/take.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The shots */

/// How many shots an input has; its events are shots if there are several.
static size_t
count_shots(const Input* input) {
  return input->facts.shots_in_take > 1U ? input->events.n_events : 1U;
}

/// Set what is known of an only shot.
static void
take_only(const Input* input, Split* split) {
  split->facts[0] = input->facts;
  split->likeness[0] = 1.0F;
}

/// Find each of several shots.
static VwStatus
take_each(const Input* input, const Settings* settings, Split* split) {
  const VwFindOptions finding = input_find_options(settings);
  VwStatus            st =
    vw_find_each(&input->take, &finding, &input->events, split->facts);
  st =
    st ? st
       : vw_likeness_find(&input->take.sound, &input->events, split->likeness);
  for (size_t i = 0; !st && i < split->n; ++i) {
    split->facts[i].n_clipped_frames = input->clipped[i];
  }
  return st;
}

/* Which are kept */

/// Find the good shots: those within 6 dB of the loudest that are free of
/// clipping.
static void
find_good(const Input* input, Split* split) {
  for (size_t i = 0; i < split->n; ++i) {
    const double level_db =
      split->n > 1U ? input->events.events[i].level_db : 0.0;
    split->good[i] =
      level_db >= -VW_SHOT_RANGE_DB && !split->facts[i].n_clipped_frames;
    split->n_good += split->good[i] ? 1U : 0U;
  }
}

/// Whether a shot may be kept: if none is good, any may.
static bool
may_keep(const Split* split, size_t shot) {
  return split->good[shot] || !split->n_good;
}

/// How alike a shot is to that of those kept which it is most alike to.
static float
nearest_kept(const Split* split, size_t shot) {
  float nearest = -HUGE_VALF;
  for (size_t i = 0; i < split->n; ++i) {
    if (split->kept[i]) {
      nearest = fmaxf(nearest, split->likeness[shot * split->n + i]);
    }
  }
  return nearest;
}

/// The first two to keep: those least alike. Of one to keep: the first.
static void
keep_first(Split* split) {
  const size_t n = split->n;
  size_t       one = n;
  size_t       other = n;
  for (size_t i = 0; i < n; ++i) {
    one = may_keep(split, i) && one == n ? i : one;
    for (size_t k = 0; split->n_wanted > 1U && may_keep(split, i) && k < i;
         ++k) {
      const bool less = other == n || split->likeness[i * n + k] <
                                        split->likeness[other * n + one];
      if (may_keep(split, k) && less) {
        one = k;
        other = i;
      }
    }
  }
  split->kept[one] = true;
  if (other < n) {
    split->kept[other] = true;
  }
}

/// Keep those that differ most: each time the one that is least alike to those
/// kept (T. F. Gonzalez, "Clustering to minimize the maximum intercluster
/// distance", Theoretical Computer Science 38, 1985).
static void
keep_farthest(Split* split) {
  size_t n_kept = split->n_wanted > 1U ? 2U : 1U;
  keep_first(split);
  for (; n_kept < split->n_wanted; ++n_kept) {
    size_t best = split->n;
    float  least = HUGE_VALF;
    for (size_t i = 0; i < split->n; ++i) {
      const float near = may_keep(split, i) && !split->kept[i]
                           ? nearest_kept(split, i)
                           : HUGE_VALF;
      best = near < least ? i : best;
      least = fminf(near, least);
    }
    if (best == split->n) {
      return;
    }
    split->kept[best] = true;
  }
}

static void
keep(const Input* input, Split* split) {
  find_good(input, split);
  if (split->n_wanted) {
    keep_farthest(split);
  }
  for (size_t i = 0; i < split->n; ++i) {
    split->kept[i] = split->kept[i] || !split->n_wanted;
    if (split->kept[i]) {
      split->written[split->n_written++] = i;
    }
  }
}

VwStatus
split_find(const Input* input, const Settings* settings, Split* split) {
  const size_t n = count_shots(input);
  *split = (Split){.n = n, .n_wanted = settings->keep};
  if (input->facts.kind == VW_KIND_SUSTAINED) {
    return VW_NO_SHOT;
  }
  split->facts = calloc(n, sizeof(*split->facts));
  split->likeness = calloc(n * n, sizeof(*split->likeness));
  split->good = calloc(n, sizeof(*split->good));
  split->kept = calloc(n, sizeof(*split->kept));
  split->written = calloc(n, sizeof(*split->written));
  VwStatus st = split->facts && split->likeness && split->good && split->kept &&
                    split->written
                  ? VW_OK
                  : VW_NO_MEMORY;
  if (!st && n == 1U) {
    take_only(input, split);
  } else if (!st) {
    st = take_each(input, settings, split);
  }
  if (!st) {
    keep(input, split);
  }
  return st;
}

void
split_clear(Split* split) {
  if (split) {
    free(split->facts);
    free(split->likeness);
    free(split->good);
    free(split->kept);
    free(split->written);
    *split = (Split){0};
  }
}

/* Their names */

/// Digits of the greatest number of a shot: names then lie in order.
static int
digits_of(size_t n) {
  int digits = 1;
  for (; n >= 10U; n /= 10U) {
    ++digits;
  }
  return digits;
}

bool
split_names_make(const Settings* settings,
                 size_t          take,
                 const Split*    split,
                 Settings*       names) {
  char* const sound = path_sound(settings, take);
  *names = *settings;
  names->sound_name = NULL;
  names->n_takes = split->n_written;
  names->takes = calloc(split->n_written + 1U, sizeof(char*));
  bool good = sound && names->takes;
  for (size_t i = 0; good && i < split->n_written; ++i) {
    // The ending is left out of a name, as that of a take is.
    char* const name = text_format(
      "%s-%0*zu.wav", sound, digits_of(split->n), split->written[i] + 1U);
    names->takes[i] = name;
    good = name != NULL;
  }
  free(sound);
  return good;
}

void
split_names_clear(Settings* names) {
  for (size_t i = 0; names->takes && i < names->n_takes; ++i) {
    free((void*)names->takes[i]);
  }
  free(names->takes);
  names->takes = NULL;
}
