#include "base/ranges.h"
#include "base/status.h"
#include "burst/turns.h"
#include "pack/internal.h"
#include "store/store.h"
#include "take/events.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/* The takes of a sound: read, and what is found in them */

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

/// Find what a take is, or recall it if the take is still the same.
static VwStatus
find_or_recall(const VwSound*         raw,
               const VwFamilyOptions* options,
               const VwTake*          take,
               VwPackFound*           found) {
  const uint64_t digest =
    vw_digest(raw->values, raw->n_frames * raw->n_channels * sizeof(float));
  VwStatus st = VW_OK;
  if (digest != found->digest) {
    st = find(raw, options, take, &found->facts);
    found->digest = st ? 0U : digest;
  }
  return st;
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
  st =
    st ? st : find_or_recall(&raw, &sound->options, take, &takes->found[index]);
  takes->facts[index] = takes->found[index].facts;
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
vw_pack_takes_load(const VwPack* pack, size_t index, VwPackTakes* takes) {
  const VwReadOptions* const reading = &pack->options.reading;
  VwPackSound* const         sound = &pack->sounds[index];
  VwPackWork* const          work = &pack->store->works[index];
  const VwSoundWish* const   wish = sound->wish;
  work->found =
    work->found ? work->found : calloc(wish->n_takes, sizeof(VwPackFound));
  *takes = (VwPackTakes){.takes = calloc(wish->n_takes, sizeof(VwTake)),
                         .facts = calloc(wish->n_takes, sizeof(VwShotFacts)),
                         .n_takes = wish->n_takes,
                         .found = work->found};
  VwStatus st =
    takes->takes && takes->facts && takes->found ? VW_OK : VW_NO_MEMORY;
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

VwPackOptions
vw_pack_defaults(void) {
  return (VwPackOptions){.reading = vw_read_defaults(),
                         .aim = VW_PACK_LOUDEST,
                         .loudness_lufs = NAN};
}

/* Open */

/// Of what the board takes, what is asked goes before the first.
static void
keep_asked(const VwBoard* board, const VwSoundWish* wish, VwFormat* format) {
  const VwFormat* const asked = &wish->options.format;
  for (unsigned i = 0; i < board->n_sample_rates; ++i) {
    if (board->sample_rates_hz[i] == asked->rate_hz) {
      format->rate_hz = asked->rate_hz;
    }
  }
  for (unsigned i = 0; wish->own_channels && i < board->n_channels; ++i) {
    if (board->channels[i] == asked->n_channels) {
      format->n_channels = asked->n_channels;
    }
  }
  for (unsigned i = 0; wish->own_encoding && i < board->n_encodings; ++i) {
    if (board->encodings[i] == asked->encoding) {
      format->encoding = asked->encoding;
    }
  }
}

/// The options of a sound: what is made, on what board.
static VwStatus
set_options(const VwPack* pack, const VwSoundWish* wish, VwPackSound* sound) {
  const VwBoard* const board = pack->options.board;
  VwFamilyOptions      options = wish->options;
  options.whole = wish->make == VW_MAKE_WHOLE;
  options.shot_only = options.whole || wish->make == VW_MAKE_SHOT;
  options.form = wish->make == VW_MAKE_BURST ? VW_FORM_BURST : VW_FORM_PIECES;
  const VwStatus st = vw_board_apply(board, &pack->options.wish, &options);
  keep_asked(board, wish, &options.format);
  *sound = (VwPackSound){.wish = wish, .options = options, .reach_lufs = NAN};
  sound->aimed = options.level.aim == VW_AIM_LOUDEST;
  return st;
}

static void
note_take(VwPackStore* store, const char* path) {
  struct stat status;
  if (path && !stat(path, &status)) {
    store->takes[store->n_takes++] = (VwPackTake){status.st_dev, status.st_ino};
  }
}

static VwStatus
note_takes(VwPack* pack) {
  VwPackStore* const store = pack->store;
  size_t             n = 0;
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    n += pack->sounds[i].wish->n_takes + 2U;
  }
  store->takes = calloc(n + 1U, sizeof(VwPackTake));
  for (size_t i = 0; store->takes && i < pack->n_sounds; ++i) {
    const VwSoundWish* const wish = pack->sounds[i].wish;
    for (size_t k = 0; k < wish->n_takes; ++k) {
      note_take(store, wish->takes[k]);
    }
    note_take(store, wish->run_in_take);
    note_take(store, wish->ring_out_take);
  }
  return store->takes ? VW_OK : VW_NO_MEMORY;
}

static VwStatus
check_folder(const VwPackOptions* options) {
  struct stat status;
  return options->folder && *options->folder &&
             (stat(options->folder, &status) || S_ISDIR(status.st_mode))
           ? VW_OK
           : VW_NOT_A_FOLDER;
}

static bool
options_are_sound(const VwPackOptions* options) {
  const double lufs = options->loudness_lufs;
  return options->aim <= VW_PACK_LOUDNESS &&
         (isnan(lufs) ? options->aim != VW_PACK_LOUDNESS
                      : vw_is_within(lufs, (VwRange)VW_RANGE_LOUDNESS_LUFS));
}

/// Find fault with a folder that has the pack of another prop.
static VwStatus
check_prop(VwPack* pack) {
  const VwPackOptions* const options = &pack->options;
  const VwPackList* const    list = &pack->store->list;
  if (!list->prop || !options->prop || options->force ||
      !strcmp(list->prop, options->prop) || list->prop_at == options->prop_at) {
    return VW_OK;
  }
  return vw_faults_add(&pack->faults,
                       options->folder,
                       0,
                       "it holds the pack of another prop",
                       "name another folder with -o, or replace it with "
                       "--force");
}

static VwStatus
open_sounds(const VwSoundWish* wishes, size_t n_wishes, VwPack* pack) {
  VwStatus st = VW_OK;
  for (size_t i = 0; !st && i < n_wishes; ++i) {
    st = wishes[i].n_takes >= 1U && wishes[i].n_takes <= VW_PACK_TAKES_MOST
           ? set_options(pack, &wishes[i], &pack->sounds[i])
           : VW_BAD_OPTION;
    pack->sounds[i].family_of = i;
  }
  pack->n_sounds = st ? 0U : n_wishes;
  st = st ? st : vw_pack_names_make(pack);
  return st ? st : note_takes(pack);
}

VwStatus
vw_pack_open(const VwSoundWish*   wishes,
             size_t               n_wishes,
             const VwPackOptions* options,
             VwPack*              pack) {
  assert((wishes || !n_wishes) && options && options->board && pack);
  VwPack   out = {.options = *options};
  VwStatus st =
    options_are_sound(options) ? check_folder(options) : VW_BAD_OPTION;
  if (st) {
    return st;
  }
  out.store = calloc(1U, sizeof(VwPackStore));
  out.sounds = calloc(n_wishes + 1U, sizeof(VwPackSound));
  st = out.store && out.sounds ? VW_OK : VW_NO_MEMORY;
  if (!st) {
    out.store->works = calloc(n_wishes + 1U, sizeof(VwPackWork));
    st = out.store->works ? vw_pack_folders_find(options->folder, out.store)
                          : VW_NO_MEMORY;
  }
  st = st ? st : vw_pack_list_read(options->folder, &out.store->list);
  st = st ? st : check_prop(&out);
  st = st ? st : open_sounds(wishes, n_wishes, &out);
  st = st ? st : vw_pack_old_find(&out);
  if (st) {
    vw_pack_clear(&out);
    return st;
  }
  out.unfinished = out.store->list.unfinished;
  *pack = out;
  return VW_OK;
}

/* Settle */

/// Find out which sounds are to be made.
static void
settle_due(VwPack* pack) {
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    VwPackSound* const      sound = &pack->sounds[i];
    const VwPackWork* const work = &pack->store->works[i];
    for (size_t k = 0; !sound->status && k < sound->n_files; ++k) {
      sound->status = work->there[k].in_way;
      sound->subject = sound->status ? sound->files[k].name : NULL;
    }
    sound->due = !sound->status;
    pack->sums.n_due += sound->due ? 1U : 0U;
  }
}

VwStatus
vw_pack_settle(VwPack* pack) {
  assert(pack);
  pack->sums = (VwPackSums){
    .loudness_lufs = NAN, .loudest_lufs = NAN, .all_reach_lufs = NAN};
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    pack->sums.n_unmeasured += pack->sounds[i].measured ? 0U : 1U;
  }
  if (pack->sums.n_unmeasured) {
    return VW_OK;
  }
  const VwStatus st = vw_pack_loudness_settle(pack);
  if (st) {
    return st;
  }
  settle_due(pack);
  vw_pack_sums_find(pack);
  return pack->options.fit && pack->sums.n_bytes_over ? vw_pack_sums_fit(pack)
                                                      : VW_OK;
}

/* Clear */

void
vw_pack_sound_forget(VwPack* pack, size_t index) {
  VwPackSound* const sound = &pack->sounds[index];
  VwPackWork* const  work = &pack->store->works[index];
  for (size_t i = 0; i < sound->n_files; ++i) {
    free(sound->files[i].name);
  }
  free(sound->files);
  free(work->there);
  sound->files = NULL;
  sound->n_files = 0;
  sound->measured = false;
  sound->due = false;
  sound->status = VW_OK;
  sound->subject = NULL;
  sound->facts = (VwShotFacts){0};
  sound->family = (VwFamily){0};
  work->there = NULL;
  work->made = false;
  work->curve = (VwLevelCurve){0};
}

static void
clear_sound(VwPack* pack, size_t index) {
  VwPackWork* const work = &pack->store->works[index];
  vw_pack_sound_forget(pack, index);
  for (size_t k = 0; k < work->n_names; ++k) {
    free(work->names[k].name);
  }
  free(work->names);
  free(work->found);
}

static void
clear_store(VwPackStore* store) {
  vw_pack_lock_drop(store);
  vw_pack_list_clear(&store->list);
  free(store->folder);
  free(store->making);
  free(store->before);
  free(store->works);
  free(store->takes);
  free(store);
}

void
vw_pack_clear(VwPack* pack) {
  if (!pack) {
    return;
  }
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    clear_sound(pack, i);
  }
  for (size_t i = 0; i < pack->n_old; ++i) {
    free(pack->old[i].name);
  }
  if (pack->store) {
    clear_store(pack->store);
  }
  vw_faults_clear(&pack->faults);
  free(pack->sounds);
  free(pack->old);
  *pack = (VwPack){0};
}
