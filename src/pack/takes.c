// The takes of a sound: read, and what is found in them.

#include "burst/turns.h"
#include "pack/internal.h"
#include "store/store.h"
#include "take/events.h"

#include <stdlib.h>

static VwStatus
find(const VwSound*         raw,
     const VwFamilyOptions* options,
     const VwTake*          take,
     VwShotFacts*           facts) {
  const VwFindOptions finding = vw_find_wish(options);
  if (options->whole) {
    *facts = vw_facts_of_whole(take);
    return VW_OK;
  }
  const VwStatus st = vw_find(take, &finding, facts);
  return st ? st : vw_torn_find(raw, take, &finding, facts);
}

/// Find the own shots of a sound's only take, where these take turns.
static VwStatus
find_turns(const VwSound* raw, const VwPackSound* sound, VwPackTakes* takes) {
  const VwTake* const      take = &takes->takes[0];
  const VwShotFacts* const facts = &takes->facts[0];
  VwEvents                 events = {0};
  size_t*                  clipped = NULL;
  if (!vw_turns_suit(facts, takes->n_takes, &sound->options)) {
    return VW_OK;
  }
  VwStatus st = vw_events_find(&take->sound, &events);
  if (!st) {
    vw_events_overrule(&sound->options.find, &events);
    clipped = calloc(events.n_events, sizeof(*clipped));
    st = clipped ? VW_OK : VW_NO_MEMORY;
  }
  if (!st) {
    const VwShotsOf of = {take, &events, facts, clipped};
    vw_clipped_of_events(raw, &events, clipped);
    st = vw_turns_find(&of, &sound->options, &takes->turns);
  }
  free(clipped);
  vw_events_clear(&events);
  return st;
}

/// Read a file of takes; none of ours is one.
static VwStatus
read_take(const VwReadOptions* reading,
          VwPackSound*         sound,
          const char*          path,
          VwSound*             raw) {
  return vw_is_own_output(path) ? VW_OWN_OUTPUT
                                : vw_read(path, reading, raw, &sound->fault);
}

static VwStatus
load(const VwReadOptions* reading,
     VwPackSound*         sound,
     size_t               index,
     VwPackTakes*         takes) {
  const char* const path = sound->wish->takes[index];
  VwTake* const     take = &takes->takes[index];
  VwSound           raw = {0};
  VwStatus          st = read_take(reading, sound, path, &raw);
  st = st ? st
          : vw_take_prepare_stretch(
              &raw, &sound->options.find, sound->options.whole, take);
  st = st ? st : find(&raw, &sound->options, take, &takes->facts[index]);
  st = st ? st : find_turns(&raw, sound, takes);
  if (!st && !index) {
    sound->stretch_db = vw_stretch_level_db(&raw, &sound->options.find);
  }
  vw_sound_clear(&raw);
  if (st) {
    sound->subject = path;
  }
  return st;
}

/// Read the take of a run-in or a ring-out, whole, if there is one.
static VwStatus
load_end(const VwReadOptions* reading,
         VwPackSound*         sound,
         const char*          path,
         VwTake*              take) {
  const VwFindOptions all = vw_find_defaults();
  VwSound             raw = {0};
  if (!path) {
    return VW_OK;
  }
  VwStatus st = read_take(reading, sound, path, &raw);
  st = st ? st : vw_take_prepare_stretch(&raw, &all, true, take);
  vw_sound_clear(&raw);
  if (st) {
    sound->subject = path;
  }
  return st;
}

VwStatus
vw_pack_takes_load(const VwReadOptions* reading,
                   VwPackSound*         sound,
                   VwPackTakes*         takes) {
  const VwSoundWish* const wish = sound->wish;
  *takes = (VwPackTakes){.takes = calloc(wish->n_takes, sizeof(VwTake)),
                         .facts = calloc(wish->n_takes, sizeof(VwShotFacts)),
                         .n_takes = wish->n_takes};
  VwStatus st = takes->takes && takes->facts ? VW_OK : VW_NO_MEMORY;
  for (size_t i = 0; !st && i < wish->n_takes; ++i) {
    st = load(reading, sound, i, takes);
  }
  st = st ? st : load_end(reading, sound, wish->run_in_take, &takes->run_in);
  return st ? st
            : load_end(reading, sound, wish->ring_out_take, &takes->ring_out);
}

void
vw_pack_takes_clear(VwPackTakes* takes) {
  for (size_t i = 0; takes->takes && i < takes->n_takes; ++i) {
    vw_take_clear(&takes->takes[i]);
  }
  free(takes->takes);
  free(takes->facts);
  vw_take_clear(&takes->run_in);
  vw_take_clear(&takes->ring_out);
  vw_shots_clear(&takes->turns);
}
