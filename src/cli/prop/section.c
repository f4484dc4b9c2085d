// For realpath().
#define _XOPEN_SOURCE 700

#include "cli/files/files.h"
#include "cli/message/figures.h"
#include "cli/options/ini.h"
#include "cli/options/speaker.h"
#include "cli/options/types.h"
#include "cli/prop/prop.h"
#include "store/store.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Takes */

/// The folder that a file lies in, without links, ended by a slash. To be
/// freed.
static char*
real_folder(const char* path) {
  char* const folder =
    text_format("%.*s.", (int)(vw_path_name(path) - path), path);
  char* const real = folder ? realpath(folder, NULL) : NULL;
  char* const slashed =
    real ? text_format("%s%s", real, real[1] ? "/" : "") : NULL;
  free(folder);
  free(real);
  return slashed;
}

/// How far two folders go together, ended by a slash.
static size_t
shared_length(const char* a, const char* b) {
  size_t shared = 0;
  for (size_t i = 0; a[i] && a[i] == b[i]; ++i) {
    shared = a[i] == '/' ? i + 1U : shared;
  }
  return shared;
}

/// The way from one folder to a file in another.
static char*
relative(const char* from, const char* to, const char* name) {
  const size_t shared = shared_length(from, to);
  char*        way = NULL;
  size_t       n = 0;
  FILE* const  out = open_memstream(&way, &n);
  for (const char* at = from + shared; out && (at = strchr(at, '/')); ++at) {
    fputs("../", out);
  }
  const bool written = out && fprintf(out, "%s%s", to + shared, name) >= 0;
  if ((out && fclose(out)) || !written) {
    free(way);
    return NULL;
  }
  return way;
}

/// How a sound list writes a take that is seen so from here. To be freed; NULL
/// without memory, or where either folder is missing.
static char*
take_in(const void* prop_path, const char* take) {
  char* const from = real_folder(prop_path);
  char* const to = real_folder(take);
  char* const way = from && to ? relative(from, to, vw_path_name(take)) : NULL;
  free(from);
  free(to);
  return way;
}

/* One section */

/// Print a key with its value, in quotes where that needs them. False without
/// memory.
static bool
print_text(const char* key, const char* value, FILE* out) {
  char* const quoted = value ? ini_quote(value) : NULL;
  if (quoted) {
    fprintf(out, "%s = %s\n", key, quoted);
  }
  free(quoted);
  return quoted != NULL;
}

/// Print a key with a take.
static bool
print_take(const char*      key,
           const char*      take,
           const PropTakes* takes,
           FILE*            out) {
  char* const named = takes->name(takes->of, take);
  const bool  good = print_text(key, named, out);
  free(named);
  return good;
}

static bool
print_options(const PropKeys* keys, const PropTakes* takes, FILE* out) {
  bool good = true;
  for (size_t i = 0; good && i < keys->n_options; ++i) {
    const PropOption* const given = &keys->options[i];
    const Option* const     option = given->option;
    char* const             file =
      option->type == &type_speaker ? speaker_file(given->value) : NULL;
    good = option->type == &type_take || file
             ? print_take(option->name, file ? file : given->value, takes, out)
             : print_text(option->name, given->value, out);
    free(file);
  }
  return good;
}

/// Print what may stand in the section of a sound, but for its takes.
static bool
print_keys(const PropKeys* keys, const PropTakes* takes, FILE* out) {
  bool good = true;
  if (keys->level_lu != 0.0 || keys->level_line) {
    fprintf(out, "level = %g\n", keys->level_lu);
  }
  if (keys->group) {
    good = print_text("group", keys->group, out);
  }
  good = print_options(keys, takes, out) && good;
  if (keys->slot) {
    fprintf(out, "slot = %u\n", keys->slot);
  }
  return good;
}

static void
print_make(const PropKeys* keys, FILE* out) {
  fprintf(out, "make = %s", choice_word(words_make, (int)keys->make));
  if (keys->make == VW_MAKE_BURST) {
    fprintf(out, " %u", keys->burst_shots);
  }
  fputc('\n', out);
}

static bool
print_sound(const PropSound* sound, const PropTakes* takes, FILE* out) {
  fprintf(out, "[sound %s]\n", sound->name);
  bool good = true;
  for (size_t i = 0; good && i < sound->n_takes; ++i) {
    good = print_take("take", sound->takes[i], takes, out);
  }
  print_make(&sound->keys, out);
  return print_keys(&sound->keys, takes, out) && good;
}

/* A sound just made */

static VwMake
make_of(const CommandName* command, const Settings* settings) {
  return command->bit == COMMAND_SHOT      ? VW_MAKE_SHOT
         : command->bit == COMMAND_CONVERT ? VW_MAKE_WHOLE
         : settings->has_burst             ? VW_MAKE_BURST
                                           : VW_MAKE_LOOP;
}

/// What a sound is called: as its files are.
static char*
name_of(const PropMade* made, size_t take, VwMake make) {
  static const char* const suffixes[] = {[VW_MAKE_SHOT] = "",
                                         [VW_MAKE_LOOP] = "-rapid",
                                         [VW_MAKE_BURST] = "-burst",
                                         [VW_MAKE_WHOLE] = ""};
  const bool               plain = made->settings->sound_name || !made->fires;
  char* const              sound = path_sound(made->settings, take);
  char* const stem = sound ? prop_guess_name(sound, strlen(sound)) : NULL;
  // Whoever gives a name means that one.
  char* const name =
    stem ? text_format("%s%s", stem, plain ? "" : suffixes[make]) : NULL;
  free(sound);
  free(stem);
  return name;
}

/// Take over the options given; those that hold for all sounds are printed as
/// remarks. False without memory.
static bool
take_options(const Settings* settings, PropKeys* keys) {
  bool good = true;
  for (size_t i = 0; good && i < settings->n_given; ++i) {
    const Given* const  given = &settings->given[i];
    const Option* const option = options_find(given->name);
    const char* const   value = given->value ? given->value : "yes";
    if (!strcmp(given->name, "board") && settings->has_board) {
      printf("# Under [prop]: boards = %s\n", value);
    } else if (option->commands & PROP_ALL) {
      printf("# Under [prop]: %s = %s\n", given->name, value);
    } else if (option->commands & PROP_POWER) {
      printf("# Under [power]: %s = %s\n", given->name, value);
    } else if (option->commands & (PROP_KEY | PROP_SOUND)) {
      good = prop_keys_add(keys, option, value, 0U);
    }
  }
  return good;
}

/// A take as it is seen from here.
static char*
take_here(const void* of, const char* take) {
  (void)of;
  return text_format("%s", take);
}

bool
prop_print_section(const PropMade* made) {
  const PropTakes       here = {take_here, NULL};
  const Settings* const settings = made->settings;
  const size_t          first = (size_t)(made->takes - settings->takes);
  const VwMake          make = make_of(made->command, settings);
  char* const           name = name_of(made, first, make);
  const unsigned        slot = settings->slot;
  PropSound             sound = {
                .name = name,
                .keys = {.make = make,
                         .burst_shots = settings->family.burst_shots,
                         .slot = slot ? slot + (unsigned)first : 0U},
  };
  if (first) {
    putchar('\n');
  }
  bool good = name && take_options(settings, &sound.keys);
  for (size_t i = 0; good && i < made->n_takes; ++i) {
    good = prop_add_take(&sound, text_format("%s", made->takes[i]), 0U);
  }
  good = good && print_sound(&sound, &here, stdout);
  fflush(stdout);
  prop_sound_clear(&sound);
  free(name);
  return good;
}

/* A whole file */

/// What tells one set of sounds, by their names, from another; never 0.
static uint32_t
mark_of_sounds(const Prop* prop) {
  uint32_t mark = 0;
  // A sum, in which the order does not count.
  for (size_t i = 0; i < prop->n_sounds; ++i) {
    const char* const name = prop->sounds[i].name;
    mark += (uint32_t)vw_digest(name, strlen(name));
  }
  return mark ? mark : 1U;
}

double
prop_loudness_found(const Prop* prop) {
  return !prop->loudness_found_of ||
             prop->loudness_found_of == mark_of_sounds(prop)
           ? prop->loudness_found_lufs
           : (double)NAN;
}

void
prop_loudness_print(const Prop* prop, double lufs, FILE* out) {
  fprintf(
    out, "loudness-found = %.2f of %08" PRIx32, lufs, mark_of_sounds(prop));
}

/// Print a section of options alone, if it has any.
static bool
print_part(const char*      name,
           const PropKeys*  keys,
           const PropTakes* takes,
           FILE*            out) {
  if (!keys->n_options) {
    return true;
  }
  fprintf(out, "[%s]\n", name);
  const bool good = print_options(keys, takes, out);
  fputc('\n', out);
  return good;
}

// Columns of a line, and what stands in front of a remark that goes on.
#define REMARK_COLUMNS 79U
#define REMARK "# "

/// Print a remark, "# " and a line of words, in lines of so many columns.
static void
print_remark(const char* remark, FILE* out) {
  size_t most = REMARK_COLUMNS;
  while (strlen(remark) > most + 1U) {
    size_t n = most;
    while (n > sizeof(REMARK) && remark[n] != ' ') {
      --n;
    }
    fprintf(out, "%.*s\n" REMARK, (int)n, remark);
    remark += n + (remark[n] == ' ' ? 1U : 0U);
    most = REMARK_COLUMNS - strlen(REMARK);
  }
  fputs(remark, out);
}

static bool
print_top(const Prop* prop, const PropTakes* takes, FILE* out) {
  fputs("# The sounds of a prop. `volleyweave pack FILE`, with the "
        "name of this\n# file, makes them for its boards. A line "
        "with # in front is a remark.\n#\n# Each sound has a "
        "section: its take (a file, seen from this one), what to\n# "
        "make of it (shot, loop, burst 3 or whole), and whatever "
        "option is to\n# differ from the others: fire-rate = 9/s, "
        "valley = 12, level = -3.\n# [sound NAME on BOARD] has what "
        "differs on one board.\n# All keys: man volleyweave-sounds, or "
        "man man/volleyweave-sounds.5 in the\n# program's own "
        "folder.\n\n[prop]\n",
        out);
  bool good = print_text("name", prop->name, out);
  for (size_t i = 0; i < prop->n_boards; ++i) {
    fprintf(out, "%s%s", i ? ", " : "boards = ", prop->boards[i]);
  }
  fputs(prop->n_boards ? "\n" : "# boards = wav-22k-mono\n", out);
  if (isfinite(prop->loudness_found_lufs)) {
    prop_loudness_print(prop, prop->loudness_found_lufs, out);
    fputs("\n", out);
  }
  good = print_options(&prop->keys, takes, out) && good;
  fputs("# loudness = -16\n# speaker = 40mm\n\n", out);
  good = print_part("lamp", &prop->lamp, takes, out) && good;
  return print_part("power", &prop->power, takes, out) && good;
}

static bool
print_on(const PropOn* on, const PropTakes* takes, FILE* out) {
  fprintf(out, "[sound %s on %s]\n", on->sound, on->board);
  if (on->keys.make_line) {
    print_make(&on->keys, out);
  }
  const bool good = print_keys(&on->keys, takes, out);
  fputc('\n', out);
  return good;
}

static bool
print_prop(const Prop* prop, const PropTakes* takes, FILE* out) {
  bool good = print_top(prop, takes, out);
  for (size_t i = 0; good && i < prop->n_sounds; ++i) {
    const PropSound* const sound = &prop->sounds[i];
    print_remark(sound->remark ? sound->remark : "", out);
    good = print_sound(sound, takes, out);
    fputc('\n', out);
  }
  for (size_t i = 0; good && i < prop->n_ons; ++i) {
    good = !prop_is_for(prop, prop->ons[i].board) ||
           print_on(&prop->ons[i], takes, out);
  }
  return good;
}

char*
prop_text(const Prop* prop, const PropTakes* takes) {
  char*       text = NULL;
  size_t      n = 0;
  FILE* const out = open_memstream(&text, &n);
  const bool  good = out && print_prop(prop, takes, out);
  if (!out || fclose(out) || !good) {
    free(text);
    return NULL;
  }
  return text;
}

bool
prop_write(const Prop* prop, const char* path) {
  const PropTakes seen = {take_in, path};
  char* const     text = prop_text(prop, &seen);
  const VwBytes   bytes = {(unsigned char*)text, text ? strlen(text) : 0U};
  VwStatus        st = !text                ? VW_NO_MEMORY
                       : access(path, F_OK) ? vw_file_write(path, &bytes)
                                            : VW_EXISTS;
  free(text);
  return !st || say_status(path, st);
}
