#include "board/board.h"
#include "cli/boards/boards.h"
#include "cli/message/message.h"
#include "cli/options/types.h"
#include "cli/prop/prop.h"
#include "pack/pack.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

/// A sound in the order of names.
typedef struct {
  const char* name;
  size_t      index;
} Entry;

/* Names */

static int
compare_entries(const void* a, const void* b) {
  const Entry* const one = a;
  const Entry* const two = b;
  const int          order = strcasecmp(one->name, two->name);
  return order ? order : (one->index > two->index) - (one->index < two->index);
}

static void
check_name(const PropSound* sound, Faults* faults) {
  if (text_has_controls(sound->name)) {
    fault_say(faults,
              sound->line,
              "a control character in the sound's name: write another");
  }
}

static void
check_names(const Prop* prop, const Entry* entries, Faults* faults) {
  for (size_t i = 1; i < prop->n_sounds; ++i) {
    const PropSound* const one = &prop->sounds[entries[i - 1U].index];
    const PropSound* const two = &prop->sounds[entries[i].index];
    // What stands twice to the letter was said when it was read.
    if (!strcasecmp(one->name, two->name) &&
        strcmp(one->section, two->section) != 0) {
      const bool same = !strcmp(one->name, two->name);
      fault_say(faults,
                two->line,
                "[sound %s]: %s in line %u: give it another name",
                two->name,
                same ? "the same name stands"
                     : "a name that differs only in capital letters stands",
                one->line);
    }
  }
}

/* Boards */

static size_t
find_sound(const Prop* prop, const Entry* entries, const char* name) {
  size_t low = 0;
  size_t high = prop->n_sounds;
  while (low < high) {
    const size_t middle = low + (high - low) / 2U;
    if (strcasecmp(entries[middle].name, name) < 0) {
      low = middle + 1U;
    } else {
      high = middle;
    }
  }
  return low < prop->n_sounds && !strcmp(entries[low].name, name)
           ? entries[low].index
           : prop->n_sounds;
}

static int
compare_ons(const void* a, const void* b) {
  const PropOn* const one = a;
  const PropOn* const two = b;
  if (one->index != two->index) {
    return one->index < two->index ? -1 : 1;
  }
  const int order = strcmp(one->board, two->board);
  return order ? order : (one->line > two->line) - (one->line < two->line);
}

bool
prop_is_for(const Prop* prop, const char* board) {
  bool is = !prop->n_boards;
  for (size_t i = 0; !is && i < prop->n_boards; ++i) {
    is = board_file_is_of(prop->boards[i], board);
  }
  return is;
}

static void
check_on(const Prop* prop, const PropOn* on, Faults* faults) {
  if (on->index == prop->n_sounds) {
    fault_say(faults,
              on->line,
              "[sound %s on %s]: there is no [sound %s]: write that one first",
              on->sound,
              on->board,
              on->sound);
  }
  if (!prop_is_for(prop, on->board)) {
    fault_say(faults,
              on->line,
              "[sound %s on %s]: no board of this prop: name it in line %u, "
              "or correct it here",
              on->sound,
              on->board,
              prop->boards_line);
  }
}

/// Sort the differences by sound, and give each sound its own.
static void
join_ons(Prop* prop, const Entry* entries, Faults* faults) {
  for (size_t i = 0; i < prop->n_ons; ++i) {
    PropOn* const on = &prop->ons[i];
    on->index = find_sound(prop, entries, on->sound);
    check_on(prop, on, faults);
  }
  if (prop->n_ons) {
    qsort(prop->ons, prop->n_ons, sizeof(PropOn), compare_ons);
  }
  for (size_t i = 0; i < prop->n_ons; ++i) {
    const PropOn* const on = &prop->ons[i];
    if (on->index < prop->n_sounds) {
      PropSound* const sound = &prop->sounds[on->index];
      sound->first_on = sound->n_ons ? sound->first_on : i;
      ++sound->n_ons;
    }
  }
}

/* Sounds */

static const PropOption*
find_option(const PropKeys* keys, const char* name) {
  for (size_t i = 0; i < keys->n_options; ++i) {
    if (!strcmp(keys->options[i].option->name, name)) {
      return &keys->options[i];
    }
  }
  return NULL;
}

static void
check_keys(const PropKeys* keys, Faults* faults) {
  const PropOption* const gain = find_option(keys, "gain");
  if (gain && find_option(keys, "loudness")) {
    fault_say(
      faults, gain->line, "gain: loudness sets the gain too: give one of them");
  }
}

/// Say of a take that it is missing. The other sounds can be made without it;
/// so it is no fault.
static void
check_there(PropSound*    sound,
            const char*   take,
            unsigned      line,
            const Faults* faults) {
  if (access(take, F_OK)) {
    Faults aside = {.path = faults->path};
    sound->missing = true;
    fault_say(&aside,
              line,
              "%s: no such take: correct the name, or copy it there",
              take);
  }
}

static void
check_takes(PropSound* sound, Faults* faults) {
  if (!sound->n_takes) {
    fault_say(faults,
              sound->line,
              "[sound %s]: no take: write take = FILE",
              sound->name);
  }
  for (size_t i = 0; i < sound->n_takes; ++i) {
    check_there(sound, sound->takes[i], sound->lines[i], faults);
  }
}

/// Check the takes of run-in and ring-out, which lead over to the loop of one
/// take.
static void
check_ends(PropSound*      sound,
           const PropKeys* keys,
           VwMake          make,
           Faults*         faults) {
  const bool loops = make == VW_MAKE_LOOP || make == VW_MAKE_BURST;
  for (size_t i = 0; i < keys->n_options; ++i) {
    const PropOption* const end = &keys->options[i];
    if (end->option->type == &type_take) {
      check_there(sound, end->value, end->line, faults);
      if (!loops || sound->n_takes > 1U) {
        fault_say(faults,
                  end->line,
                  "%s: it leads over to the loop of one take: %s",
                  end->option->name,
                  loops ? "give one take, or leave it out"
                        : "write make = loop, or leave it out");
      }
    }
  }
}

static bool
makes_one_of_one(VwMake make) {
  return make == VW_MAKE_SHOT || make == VW_MAKE_WHOLE;
}

/// Check what a sound makes on one board, or on any.
static void
check_make(const Prop*      prop,
           const PropSound* sound,
           const char*      board,
           Faults*          faults) {
  const PropOn* const   on = prop_on(prop, sound, board);
  const bool            own = on && on->keys.make_line;
  const PropKeys* const keys = own ? &on->keys : &sound->keys;
  const unsigned        line = on ? on->line : sound->line;
  if (!keys->make_line) {
    fault_say(faults,
              line,
              "[sound %s]: it does not say what to make: write make = shot, "
              "loop, burst 3 or whole",
              sound->name);
    return;
  }
  if (makes_one_of_one(keys->make) && sound->n_takes > 1U) {
    fault_say(faults,
              sound->lines[1],
              "[sound %s]: %s is made of one take: write a sound for each, or "
              "make = loop",
              sound->name,
              keys->make == VW_MAKE_SHOT ? "a shot" : "a whole file");
    return;
  }
  if (keys->make == VW_MAKE_LOOP && !fault_is_enough(faults)) {
    char* const    subject = fault_subject(faults, line);
    const Settings settings = prop_settings(prop, sound, board, NULL);
    faults->n += settings_check_loop(&settings, subject) ? 0U : 1U;
    free(subject);
  }
}

static void
check_sound(const Prop* prop, PropSound* sound, Faults* faults) {
  check_name(sound, faults);
  check_takes(sound, faults);
  check_keys(&sound->keys, faults);
  check_ends(sound, &sound->keys, sound->keys.make, faults);
  check_make(prop, sound, NULL, faults);
  for (size_t i = 0; i < sound->n_ons; ++i) {
    const PropOn* const on = &prop->ons[sound->first_on + i];
    check_keys(&on->keys, faults);
    check_ends(sound,
               &on->keys,
               on->keys.make_line ? on->keys.make : sound->keys.make,
               faults);
    check_make(prop, sound, on->board, faults);
  }
}

static void
check_power(const Prop* prop, Faults* faults) {
  const VwPowerWish power = prop_power(prop);
  if (prop->power.n_options &&
      (isnan(power.supply_v) || isnan(power.impedance_ohm))) {
    fault_say(faults,
              prop->power.options[0].line,
              "[power]: no power is known without its voltage and the speaker: "
              "give power-supply and impedance");
  } else if (power.supply_min_v > power.supply_v) {
    fault_say(faults,
              prop->power.options[0].line,
              "[power]: supply-min is more than the supply gives: give at most "
              "the %g V of power-supply",
              power.supply_v);
  }
}

void
prop_check(Prop* prop, Faults* faults) {
  Entry* const entries = calloc(prop->n_sounds + 1U, sizeof(Entry));
  if (!entries) {
    fault_say(faults, 0, NO_MEMORY);
    return;
  }
  for (size_t i = 0; i < prop->n_sounds; ++i) {
    entries[i] = (Entry){prop->sounds[i].name, i};
  }
  qsort(entries, prop->n_sounds, sizeof(Entry), compare_entries);
  check_names(prop, entries, faults);
  join_ons(prop, entries, faults);
  free(entries);
  check_keys(&prop->keys, faults);
  check_power(prop, faults);
  prop_slots_check(prop, NULL, 0, faults);
  for (size_t i = 0; i < prop->n_sounds; ++i) {
    check_sound(prop, &prop->sounds[i], faults);
  }
}

/* Boards */

// Room for what a board plays, in words.
#define TOLD_SIZE 128U

/// A sound that is to be played by a board.
typedef struct {
  const Prop*      prop;
  const PropSound* sound;
  const VwBoard*   board;
  const Settings*  line;
  Settings         settings; ///< What is asked of it.
  Faults*          faults;
} Case;

/// The form in which a board plays a loop.
static VwForm
form_on(const VwBoard* board) {
  const VwBoardWish wish = {0};
  VwFamilyOptions   options = vw_family_defaults();
  (void)vw_board_apply(board, &wish, &options); // else the default, pieces
  return options.form;
}

/// Whether an option asks for pieces before or after the loop.
static bool
is_end(const char* option) {
  return options_find(option)->type == &type_take;
}

static bool
plays_end(const Case* of) {
  return of->settings.family.form == VW_FORM_BURST ||
         of->settings.family.shot_only || of->settings.family.whole ||
         form_on(of->board) != VW_FORM_WHOLE_FILE;
}

static bool
plays_form(const Case* of) {
  return of->settings.family.form == VW_FORM_BURST ||
         of->settings.family.shot_only || of->settings.family.whole ||
         of->settings.family.form == form_on(of->board);
}

/// Whether a board plays what an option asks.
static bool
plays(const Case* of, const char* option) {
  return is_end(option) ? plays_end(of)
         : strcmp(option, "form")
           ? board_plays(of->board, &of->settings.family.format, option)
           : plays_form(of);
}

/// What a board plays of what an option asks, for a message: "22050 Hz".
static void
tell(const VwBoard* board, const char* option, char text[TOLD_SIZE]) {
  const bool     rates = !strcmp(option, "sample-rate");
  const unsigned n = rates ? board->n_sample_rates : board->n_encodings;
  size_t         used = 0;
  if (!strcmp(option, "form") || is_end(option)) {
    (void)snprintf(text, TOLD_SIZE, "%s", vw_form_name(form_on(board)));
    return;
  }
  if (!strcmp(option, "channels")) {
    const bool one = board->channels[0] == 1U;
    (void)snprintf(text, TOLD_SIZE, one ? "one channel" : "two channels");
    return;
  }
  for (unsigned i = 0; i < n && used < TOLD_SIZE; ++i) {
    const char* const join = !i ? "" : i + 1U < n ? ", " : " or ";
    char              rate[16];
    (void)snprintf(rate, sizeof(rate), "%u", board->sample_rates_hz[i]);
    used +=
      (size_t)snprintf(text + used,
                       TOLD_SIZE - used,
                       "%s%s%s",
                       join,
                       rates ? rate : vw_encoding_name(board->encodings[i]),
                       rates && i + 1U == n ? " Hz" : "");
  }
}

/* Who asked */

/// Say that a board does not play what is asked, on the command line where
/// `asked` is NULL.
static void
refuse(const Case* of, const char* option, const PropOption* asked) {
  char text[TOLD_SIZE];
  tell(of->board, option, text);
  if (asked) {
    fault_say(of->faults,
              asked->line,
              "%s: %s plays %s: leave it out, or take another board",
              option,
              of->board->name,
              text);
    return;
  }
  char* const shown = text_format("--%s", option);
  say(shown,
      "%s plays %s: leave it out, or take another board",
      of->board->name,
      text);
  free(shown);
  ++of->faults->n;
}

/// Look who asked for what a board decides, the strongest voice first. False
/// where it was asked, and refused, for all sounds.
static bool
check(const Case* of, const char* name) {
  const PropOn* const on = prop_on(of->prop, of->sound, of->board->name);
  const PropOption*   asked = on ? find_option(&on->keys, name) : NULL;
  asked = asked ? asked : find_option(&of->sound->keys, name);
  const bool own = asked != NULL;
  const bool given = !own && of->line && settings_is_given(of->line, name);
  asked = own || given ? asked : find_option(&of->prop->keys, name);
  if ((!asked && !given) || plays(of, name)) {
    return true;
  }
  refuse(of, name, asked);
  return own;
}

void
prop_board_check(const Prop*     prop,
                 const VwBoard*  board,
                 const Settings* line,
                 Faults*         faults) {
  static const char* const decided[] = {
    "sample-rate", "channels", "bits", "form", "run-in-take", "ring-out-take"};
  for (size_t i = 0; i < sizeof(decided) / sizeof(decided[0]); ++i) {
    bool more = true;
    for (size_t j = 0; more && j < prop->n_sounds; ++j) {
      Case of = {.prop = prop,
                 .sound = &prop->sounds[j],
                 .board = board,
                 .line = line,
                 .faults = faults};
      of.settings = prop_settings(prop, of.sound, board->name, line);
      more = check(&of, decided[i]);
    }
  }
}
