#include "cli/prop/prop_wish.h"

#include "pack/pack.h"

#include <stdlib.h>
#include <string.h>

const PropOn*
prop_on(const Prop* prop, const PropSound* sound, const char* board) {
  for (size_t i = 0; board && i < sound->n_ons; ++i) {
    const PropOn* const on = &prop->ons[sound->first_on + i];
    if (!strcmp(on->board, board)) {
      return on;
    }
  }
  return NULL;
}

unsigned
prop_slot(const Prop* prop, const PropSound* sound, const char* board) {
  const PropOn* const on = prop_on(prop, sound, board);
  return on && on->keys.slot_line ? on->keys.slot : sound->keys.slot;
}

/* Settings */

/// Apply options that were proven before.
static void
apply(const PropKeys* keys, Settings* settings) {
  for (size_t i = 0; i < keys->n_options; ++i) {
    const PropOption* const given = &keys->options[i];
    options_store(settings, given->option, given->option->name, given->value);
  }
}

static void
apply_line(const Settings* line, Settings* settings) {
  for (size_t i = 0; line && i < line->n_given; ++i) {
    const Given* const  given = &line->given[i];
    const Option* const option = options_find(given->name);
    if (option->commands & PROP_KEY) {
      options_store(settings, option, given->name, given->value);
    }
  }
}

static void
apply_make(const PropKeys* keys, size_t n_takes, Settings* settings) {
  VwFamilyOptions* const family = &settings->family;
  family->shot_only = keys->make == VW_MAKE_SHOT;
  family->whole = keys->make == VW_MAKE_WHOLE;
  settings->loop.take_turns = n_takes > 1U;
  settings->n_takes = n_takes;
  if (keys->make == VW_MAKE_BURST) {
    family->form = VW_FORM_BURST;
    family->burst_shots = keys->burst_shots;
    settings->has_burst = true;
  }
  if (keys->make != VW_MAKE_LOOP) {
    // Asked for all sounds, of which only loops have a steady burst.
    family->level.loud_as = VW_LOUD_AS_SHOT;
  }
}

Settings
prop_settings(const Prop*      prop,
              const PropSound* sound,
              const char*      board,
              const Settings*  line) {
  Settings settings = {.family = vw_family_defaults(),
                       .reading = line ? line->reading : vw_read_defaults()};
  apply(&prop->keys, &settings);
  apply_line(line, &settings);
  if (!sound) {
    return settings;
  }
  if (settings.family.level.aim == VW_AIM_LOUDNESS) {
    // Asked for all sounds, it is the pack's loudness.
    settings.family.level.aim = VW_AIM_LOUDEST;
  }
  const PropOn* const on = prop_on(prop, sound, board);
  apply(&sound->keys, &settings);
  if (on) {
    apply(&on->keys, &settings);
  }
  apply_make(on && on->keys.make_line ? &on->keys : &sound->keys,
             sound->n_takes,
             &settings);
  return settings;
}

/* Wishes */

VwSoundWish*
prop_wishes(const Prop* prop, const char* board, const Settings* line) {
  VwSoundWish* const wishes = calloc(prop->n_sounds + 1U, sizeof(VwSoundWish));
  for (size_t i = 0; wishes && i < prop->n_sounds; ++i) {
    const PropSound* const sound = &prop->sounds[i];
    const PropOn* const    on = prop_on(prop, sound, board);
    const PropKeys* const  keys = &sound->keys;
    const Settings         settings = prop_settings(prop, sound, board, line);
    wishes[i] = (VwSoundWish){
      .name = sound->name,
      .group = on && on->keys.group ? on->keys.group : keys->group,
      .slot = prop_slot(prop, sound, board),
      .make = on && on->keys.make_line ? on->keys.make : keys->make,
      .takes = (const char* const*)sound->takes,
      .n_takes = sound->n_takes,
      .options = settings.family,
      .own_channels = settings.has_channels,
      .own_encoding = settings.has_bits,
      .offset_lu =
        on && on->keys.level_line ? on->keys.level_lu : keys->level_lu,
    };
  }
  return wishes;
}
