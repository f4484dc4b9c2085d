#include "board/board.h"
#include "cli/boards/boards.h"
#include "cli/message/message.h"
#include "cli/prop/prop.h"
#include "pack/pack.h"

#include <math.h>
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

/// The slot of a sound on a board, 0 without one. `board` may be NULL.
static unsigned
slot_of(const Prop* prop, const PropSound* sound, const char* board) {
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

void
prop_lamp(const Prop* prop, Settings* settings) {
  for (size_t i = 0; i < prop->lamp.n_options; ++i) {
    const PropOption* const given = &prop->lamp.options[i];
    const char* const       name = given->option->name;
    // A colour on the command line is another LED.
    if (!settings_is_given(settings, name) &&
        !(!strcmp(name, "led-forward") && settings_is_given(settings, "led"))) {
      options_store(settings, given->option, name, given->value);
    }
  }
}

VwPowerWish
prop_power(const Prop* prop) {
  Settings of = {.power = vw_power_unknown()};
  apply(&prop->power, &of);
  for (size_t i = 0; i < prop->lamp.n_options; ++i) {
    const PropOption* const given = &prop->lamp.options[i];
    const char* const       name = given->option->name;
    if (!strcmp(name, "led-current") || !strcmp(name, "supply")) {
      options_store(&of, given->option, name, given->value);
    }
  }
  // A lamp with another supply takes nothing from this one.
  const double lamp_v = of.lamp.supply_v;
  if (isnan(of.power.lamp_a) && of.lamp.led_current_a > 0.0 &&
      (!(lamp_v > 0.0) || lamp_v == of.power.supply_v)) {
    of.power.lamp_a = of.lamp.led_current_a;
  }
  return of.power;
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
    family->burst_of_shots = true;
    settings->has_burst = true;
  }
  if (keys->make == VW_MAKE_SHOT || keys->make == VW_MAKE_WHOLE) {
    // Asked of another board's loop.
    settings->loop.run_in_take = NULL;
    settings->loop.ring_out_take = NULL;
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
      .slot = slot_of(prop, sound, board),
      .make = on && on->keys.make_line ? on->keys.make : keys->make,
      .takes = (const char* const*)sound->takes,
      .n_takes = sound->n_takes,
      .run_in_take = settings.loop.run_in_take,
      .ring_out_take = settings.loop.ring_out_take,
      .options = settings.family,
      .own_channels = settings.has_channels,
      .own_encoding = settings.has_bits,
      .offset_lu =
        on && on->keys.level_line ? on->keys.level_lu : keys->level_lu,
    };
  }
  return wishes;
}

/* Slots */

#define SLOTS_MOST 99999U

/// The line that gives a sound its slot.
static unsigned
line_of(const Prop* prop, const PropSound* sound, const char* board) {
  const PropOn* const on = prop_on(prop, sound, board);
  const unsigned      own = sound->keys.slot_line;
  return on && on->keys.slot_line ? on->keys.slot_line
         : own                    ? own
                                  : sound->line;
}

void
prop_slots_check(const Prop* prop,
                 const char* board,
                 unsigned    most,
                 Faults*     faults) {
  // By slot: one more than the index of the sound that has it.
  size_t* const owners = calloc(SLOTS_MOST + 1U, sizeof(size_t));
  if (!owners) {
    fault_say(faults, 0, NO_MEMORY);
    return;
  }
  for (size_t i = 0; i < prop->n_sounds; ++i) {
    const PropSound* const sound = &prop->sounds[i];
    const unsigned         slot = slot_of(prop, sound, board);
    if (most && slot > most) {
      fault_say(faults,
                line_of(prop, sound, board),
                "slot %u: %s has slots 1 to %u: give one of them",
                slot,
                board,
                most);
    }
    if (slot && owners[slot]) {
      const PropSound* const other = &prop->sounds[owners[slot] - 1U];
      fault_say(faults,
                line_of(prop, sound, board),
                "slot %u%s%s: [sound %s] has it (line %u): give another",
                slot,
                board ? " on " : "",
                board ? board : "",
                other->name,
                line_of(prop, other, board));
    } else if (slot) {
      owners[slot] = i + 1U;
    }
  }
  free(owners);
}

/// Whether a sound lacks a slot on one of the boards that play by slots.
static bool
lacks_slot(const Prop*           prop,
           const PropSound*      sound,
           const VwBoard* const* boards,
           size_t                n_boards) {
  for (size_t i = 0; i < n_boards; ++i) {
    if (board_slots_most(boards[i]) && !slot_of(prop, sound, boards[i]->name)) {
      return true;
    }
  }
  return false;
}

static void
mark_used(const Prop* prop, bool* used) {
  for (size_t i = 0; i < prop->n_sounds; ++i) {
    used[prop->sounds[i].keys.slot] = true;
  }
  for (size_t i = 0; i < prop->n_ons; ++i) {
    used[prop->ons[i].keys.slot] = true;
  }
}

/// The highest slot that all boards have which play by slots, or 0.
static unsigned
find_most(const VwBoard* const* boards, size_t n_boards) {
  unsigned least = 0;
  for (size_t i = 0; i < n_boards; ++i) {
    const unsigned most = board_slots_most(boards[i]);
    least = most && (!least || most < least) ? most : least;
  }
  return least < SLOTS_MOST ? least : SLOTS_MOST;
}

bool
prop_slots_give(Prop* prop, const VwBoard* const* boards, size_t n_boards) {
  const unsigned most = find_most(boards, n_boards);
  bool* const    used = calloc(SLOTS_MOST + 2U, sizeof(bool));
  bool           good = used != NULL;
  unsigned       next = 1U; // no lower one is free
  if (good) {
    mark_used(prop, used);
  } else {
    say(prop->path ? prop->path : "slots", NO_MEMORY);
  }
  for (size_t i = 0; good && most && i < prop->n_sounds; ++i) {
    PropSound* const sound = &prop->sounds[i];
    if (lacks_slot(prop, sound, boards, n_boards)) {
      while (used[next]) {
        ++next; // the last one is free
      }
      good = next <= most;
      sound->keys.slot = good ? next++ : 0U;
      sound->keys.slot_line = sound->line;
    }
    if (!good) {
      say(sound->name,
          "no slot is left for it, there are %u: leave sounds out, or take a "
          "board that has more",
          most);
    }
  }
  free(used);
  return good;
}

bool
prop_slots_are_given(const Prop* prop) {
  for (size_t i = 0; i < prop->n_sounds; ++i) {
    const PropSound* const sound = &prop->sounds[i];
    // A key stands below the line of its section.
    if (sound->keys.slot && sound->keys.slot_line == sound->line) {
      return true;
    }
  }
  return false;
}
