// For tsearch().
#define _XOPEN_SOURCE 700

#include "base/ranges.h"
#include "base/text.h"
#include "cli/boards/boards.h"
#include "cli/files/files.h"
#include "cli/message/message.h"
#include "cli/prop/prop.h"
#include "join/join.h"
#include "store/store.h"
#include "take/events.h"

#include <math.h>
#include <search.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

// So that the name of a file holds it, its part and its ending.
#define NAME_BYTES_MOST 120U

// The fastest that a loop takes; what is found may be a little faster.
#define FIRE_RATE_MOST_PER_S (((VwRange)VW_RANGE_FIRE_RATE_PER_S).most)

// What is no shot, below the shots.
#define SOFTER_LU (-6.0)

// A shorter loop of noise is heard as one that repeats: as a whoosh at 1 to 4
// times a second, as a motor above (N. Guttman and B. Julesz, "Lower limits of
// auditory periodicity analysis", JASA 35, 1963; from memory).
#define NOISE_LEAST_S 1.0

// What is said of what is not fired for being in doubt.
#define IN_DOUBT                                                               \
  "; in doubt nothing is fired: `make = loop` with `as = shot` fires it"

// What sounds on to the file's end was cut from something longer, and is to go
// on; a horn or a word that has fallen so far there has ended (chosen here).
#define ENDED_DB (-15.0)

/// What a take is.
typedef struct {
  VwStatus    status;
  char*       message; ///< Why it cannot be used. Owned.
  bool        has_shot;
  VwShotFacts facts;
  const char* not_looped; ///< Why what sounds on is not; NULL: it is.
} Finding;

/// A guess on its way.
typedef struct {
  Prop*  prop;
  void*  names;  ///< Those given so far, as a tree. They are the sections'.
  bool   failed; ///< No memory was left.
  size_t n_failed;
} Guesser;

/* Names */

static int
compare_names(const void* a, const void* b) {
  return strcasecmp(a, b);
}

/// Length of a text of so many bytes, cut short between two characters.
static size_t
shortened(const char* text, size_t n_text) {
  size_t n = 0;
  while (n < n_text && vw_utf8_read(text + n, NULL) &&
         n + vw_utf8_read(text + n, NULL) <= NAME_BYTES_MOST) {
    n += vw_utf8_read(text + n, NULL);
  }
  return n < n_text ? n : n_text;
}

char*
prop_guess_name(const char* stem, size_t n_stem) {
  char* const name = text_format("%.*s", (int)shortened(stem, n_stem), stem);
  for (char* at = name; at && *at; ++at) {
    if (text_is_control(*at) || strchr("[]#;\"=", *at)) {
      *at = '_';
    }
    if (!strncmp(at, " on ", 4)) {
      *at = '-'; // else a board's name would follow
      at[3] = '-';
    }
  }
  const size_t blanks = name ? strspn(name, " ") : 0U;
  size_t       n = name ? strlen(name) : 0U;
  if (name) {
    memmove(name, name + blanks, n - blanks + 1U);
    n -= blanks;
  }
  while (n && name[n - 1U] == ' ') {
    name[--n] = '\0';
  }
  if (!n) {
    free(name);
    return text_format("sound");
  }
  return name;
}

static char*
base_of(const FolderTake* take) {
  const char* const name = vw_path_name(take->path);
  return prop_guess_name(name, (size_t)(vw_path_ending(name) - name));
}

/* Sounds */

/// Add a sound of a name that no other has, whatever its capital letters; NULL
/// without memory.
static PropSound*
add_named(Guesser* guesser, const char* base, const char* suffix) {
  for (unsigned i = 1;; ++i) {
    char* const  section = i == 1U
                             ? text_format("sound %s%s", base, suffix)
                             : text_format("sound %s%s-%u", base, suffix, i);
    const size_t at_name = strlen("sound ");
    if (!section) {
      return NULL;
    }
    const bool known =
      tfind(section + at_name, &guesser->names, compare_names) != NULL;
    PropSound* const sound =
      known ? NULL : prop_add(guesser->prop, section, at_name, 0U);
    free(section);
    if (!known) {
      return sound && tsearch(sound->name, &guesser->names, compare_names)
               ? sound
               : NULL;
    }
  }
}

/// Add a sound to be made of a take; NULL without memory.
static PropSound*
add_sound(Guesser* guesser, const FolderTake* take, const char* suffix) {
  char* const      base = base_of(take);
  PropSound* const sound = base ? add_named(guesser, base, suffix) : NULL;
  free(base);
  if (!sound || !prop_add_take(sound, text_format("%s", take->path), 0U)) {
    return NULL;
  }
  if (take->n_group) {
    sound->keys.group =
      prop_guess_name(take->path + take->at_name, take->n_group);
  }
  return sound->keys.group || !take->n_group ? sound : NULL;
}

/// Which of its shots are taken of a take that has several; empty of any other.
/// To be freed.
static char*
taken_of(const VwShotFacts* facts) {
  if (facts->kind == VW_KIND_RAPID_FIRE) {
    return text_format(" of %u shots: the first loud one alone, and its shots "
                       "in turn at the rate found",
                       facts->shots_in_take);
  }
  return facts->shots_in_take < 2U
           ? text_format("%s", "")
           : text_format(", %u of them: the first loud one is taken, `split` "
                         "makes takes of all",
                         facts->shots_in_take);
}

/// Whether its other kind is nearly as likely.
static bool
is_unsure(const Finding* found) {
  return found->has_shot && found->facts.sure < VW_SURE_LEAST &&
         found->facts.other_kind != found->facts.kind;
}

/// Whether it is in doubt between a shot and what sounds on.
static bool
may_sound_on(const Finding* found) {
  const VwKind kind = found->facts.kind;
  const VwKind other = found->facts.other_kind;
  return is_unsure(found) &&
         ((kind == VW_KIND_SHOT && other == VW_KIND_SUSTAINED) ||
          (kind == VW_KIND_SUSTAINED && other == VW_KIND_SHOT));
}

/// Whether it is fired. In doubt it is not: a hum fired rapidly is a worse
/// mistake than a shot that is not.
static bool
is_fired(const Finding* found) {
  return found->has_shot && found->facts.kind != VW_KIND_SUSTAINED &&
         !may_sound_on(found);
}

/// What the take is, as a remark.
static char*
remark_of(const Finding* found) {
  const VwShotFacts* const facts = &found->facts;
  const double             fastest = facts->fastest_fire_rate_per_s;
  const bool               rapid = facts->kind == VW_KIND_RAPID_FIRE;
  const bool               unsure = is_unsure(found);
  const bool               fires = is_fired(found);
  char* const              taken = taken_of(facts);
  char                     rate[64] = "";
  if (fires && !rapid && isfinite(fastest)) {
    (void)snprintf(
      rate, sizeof(rate), "; as it is, it can fire up to %.3g/s", fastest);
  }
  char* const remark =
    taken ? text_format("# %s%s%s%s%s%s%s%s%s\n",
                        found->has_shot ? vw_kind_name(facts->kind)
                                        : "no shot in it",
                        unsure ? " or " : "",
                        unsure ? vw_kind_name(facts->other_kind) : "",
                        fires ? taken : "",
                        rate,
                        fires               ? ""
                        : found->not_looped ? ": played as it is, since "
                                            : ": looped",
                        fires || !found->not_looped ? "" : found->not_looped,
                        may_sound_on(found) ? IN_DOUBT : "",
                        !fires ? "; softer than the shots"
                        : rapid || isfinite(fastest)
                          ? ""
                          : "; it has to be tightened to fire fast")
          : NULL;
  free(taken);
  return remark;
}

/// Add an option to a sound. Takes `value` over; false without memory.
static bool
add_option(PropSound* sound, const char* name, char* value) {
  const bool good =
    value && prop_keys_add(&sound->keys, options_find(name), value, 0U);
  free(value);
  return good;
}

/// Add the shot of a take, and its rapid fire: at the take's own rate where it
/// has one. False without memory.
static bool
take_over_shots(Guesser*          guesser,
                const FolderTake* take,
                const Finding*    found) {
  const VwShotFacts* const facts = &found->facts;
  PropSound*               sound = add_sound(guesser, take, "");
  if (!sound) {
    return false;
  }
  sound->remark = remark_of(found);
  sound->keys.make = VW_MAKE_SHOT;
  const bool good = sound->remark != NULL;
  sound = good ? add_sound(guesser, take, "-rapid") : NULL;
  if (!sound) {
    return false;
  }
  sound->keys.make = VW_MAKE_LOOP;
  return facts->kind != VW_KIND_RAPID_FIRE ||
         add_option(
           sound,
           "fire-rate",
           text_format("%.4g/s",
                       fmin(facts->rapid_per_s, FIRE_RATE_MOST_PER_S)));
}

/// Add what sounds on, looped if it can be. False without memory.
static bool
take_over_hum(Guesser* guesser, const FolderTake* take, const Finding* found) {
  PropSound* const sound = add_sound(guesser, take, "");
  if (!sound) {
    return false;
  }
  const bool told = !found->not_looped && found->has_shot &&
                    found->facts.kind != VW_KIND_SUSTAINED;
  sound->remark = remark_of(found);
  sound->keys.make = found->not_looped ? VW_MAKE_WHOLE : VW_MAKE_LOOP;
  sound->keys.level_lu = SOFTER_LU;
  return sound->remark &&
         (!told ||
          add_option(
            sound,
            "as",
            text_format("%s", choice_word(words_kind, VW_KIND_SUSTAINED))));
}

static void
take_over(Guesser* guesser, const FolderTake* take, const Finding* found) {
  const bool good = is_fired(found) ? take_over_shots(guesser, take, found)
                                    : take_over_hum(guesser, take, found);
  guesser->failed = guesser->failed || !good;
}

/* The prop */

bool
prop_name_after(const char* path, Prop* prop) {
  char* const       real = realpath(path, NULL);
  const char* const whole = real ? real : path;
  const char*       name = vw_path_name(whole);
  size_t            n = strlen(name);
  if (!vw_path_is_folder(whole)) {
    n = (size_t)(vw_path_ending(whole) - name);
  }
  // Every folder has its own sounds.ini.
  if (n == 6U && !strncmp(name, "sounds", n) && name > whole + 1) {
    const char* const end = name - 1;
    for (name = end; name > whole && name[-1] != '/'; --name) {
    }
    n = (size_t)(end - name);
  }
  prop->name = prop_guess_name(name, n);
  free(real);
  return prop->name != NULL;
}

/// Note the boards asked for by name; a file may lie elsewhere seen from the
/// prop's.
static bool
name_boards(const Settings* settings, Prop* prop) {
  bool good = true;
  for (size_t i = 0; good && i < settings->n_given; ++i) {
    const Given* const given = &settings->given[i];
    if (!strcmp(given->name, "board") && strcmp(given->value, "none") != 0 &&
        !board_file_is_path(given->value)) {
      good = prop_add_board(prop, given->value, strlen(given->value));
    }
  }
  return good;
}

/* Takes */

/// Find why what sounds on makes no good loop, if it does not.
static VwStatus
find_not_looped(const VwSound*         sound,
                const VwFamilyOptions* options,
                const char**           reason) {
  const VwJoinWish wish = {0.0, options->cycle_max_s, SIZE_MAX, 1U};
  const double     rate_hz = (double)sound->rate_hz;
  VwJoin           join = {0};
  const VwStatus   st = vw_join_find(sound, &wish, &join);
  const double     loop_s = (double)join.n_frames / rate_hz;
  const bool       is_short = st == VW_CYCLE_TOO_LONG ||
                        (join.kind == VW_JOIN_NOISE && loop_s < NOISE_LEAST_S);
  *reason = is_short                          ? "it is too short for a loop"
            : !isnan(join.glide_cents_per_s)  ? "its pitch glides"
            : join.kind == VW_JOIN_NOTHING    ? "nothing repeats in it"
            : vw_join_changes(&join, rate_hz) ? "its level changes"
                                              : NULL;
  return is_short ? VW_OK : st;
}

static void
examine(const FolderTake* take, const Settings* settings, Finding* found) {
  // Neither a command that cuts nor one that needs no shot.
  static const CommandName any = {.name = "pack", .bit = 0};
  Input                    input = {0};
  input_load(take->path, &any, settings, &input);
  *found = (Finding){.status = input.status,
                     .message = input.message,
                     .has_shot = input.has_shot,
                     .facts = input.facts};
  if (!input.status && !is_fired(found)) {
    found->status =
      find_not_looped(&input.take.sound, &settings->family, &found->not_looped);
    if (!found->not_looped && input.has_shot &&
        input.facts.end_db <= ENDED_DB) {
      found->not_looped = "it ends by itself";
    }
  }
  input.message = NULL;
  input_clear(&input);
}

/// Whether a file is no sound, and its name promises none.
static bool
is_other(const FolderTake* take, const Finding* found) {
  return !take->promised &&
         (found->status == VW_NOT_AUDIO || found->status == VW_EMPTY);
}

static void
take_over_all(Guesser*          guesser,
              const TakeFolder* takes,
              const Finding*    findings) {
  for (size_t i = 0; i < takes->n_takes && !guesser->failed; ++i) {
    const FolderTake* const take = &takes->takes[i];
    const Finding* const    found = &findings[i];
    if (!found->status) {
      take_over(guesser, take, found);
    } else if (!is_other(take, found)) {
      say(take->path, "%s", found->message ? found->message : "failed");
      ++guesser->n_failed;
    }
  }
  while (guesser->names) {
    tdelete(*(char**)guesser->names, &guesser->names, compare_names);
  }
}

static void
guess_all(const TakeFolder* takes, const Settings* settings, Guesser* guesser) {
  Finding* const findings = calloc(takes->n_takes + 1U, sizeof(Finding));
  if (!findings) {
    guesser->failed = true;
    return;
  }
#pragma omp parallel for schedule(dynamic)                                     \
  num_threads(threads_count(settings->jobs))
  for (size_t i = 0; i < takes->n_takes; ++i) {
    vw_signals_pass(); // nothing is written yet
    examine(&takes->takes[i], settings, &findings[i]);
  }
  take_over_all(guesser, takes, findings);
  for (size_t i = 0; i < takes->n_takes; ++i) {
    free(findings[i].message);
  }
  free(findings);
}

/// Whether a folder holds files that this program made, as a pack does.
static bool
holds_ours(const char* folder) {
  TakeFolder all = {.with_ours = true};
  bool       ours = false;
  if (take_folder_list(folder, &all)) {
    for (size_t i = 0; !ours && i < all.n_takes; ++i) {
      ours = vw_is_own_output(all.takes[i].path);
    }
    take_folder_clear(&all);
  }
  return ours;
}

bool
prop_guess(const char*     folder,
           const Settings* settings,
           Prop*           prop,
           size_t*         n_failed) {
  TakeFolder takes = {0};
  Prop       guessed = {.loudness_found_lufs = (double)NAN};
  Guesser    guesser = {.prop = &guessed};
  bool       good = take_folder_list(folder, &takes);
  if (good) {
    guess_all(&takes, settings, &guesser);
    if (guesser.failed || !prop_name_after(folder, &guessed) ||
        !name_boards(settings, &guessed)) {
      good = say_status(folder, VW_NO_MEMORY);
    }
  }
  if (good && !guessed.n_sounds) {
    good =
      say(folder,
          !guesser.n_failed && holds_ours(folder)
            ? "only what was made here lies in it: give the sound list, or the "
              "folder of the takes"
            : "no take in it that can be used: put sound files there, or name "
              "another folder");
  }
  take_folder_clear(&takes);
  if (!good) {
    prop_clear(&guessed);
    return false;
  }
  *prop = guessed;
  *n_failed = guesser.n_failed;
  return true;
}
