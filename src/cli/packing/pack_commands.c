#include "cli/packing/pack_commands.h"

#include "cli/message/text.h"
#include "cli/prop/prop.h"
#include "pack/pack.h"

#include <float.h>
#include <stdlib.h>
#include <string.h>

// As many as the table of options has, and more.
#define OPTIONS_MOST 128U

/// What is asked of one sound, each option once.
typedef struct {
  Given  given[OPTIONS_MOST];
  size_t n;
} Asked;

/* Options */

/// Ask for an option; what was asked of it before is forgotten.
static void
ask(Asked* asked, const char* name, const char* value) {
  for (size_t i = 0; i < asked->n; ++i) {
    if (!strcmp(asked->given[i].name, name)) {
      asked->given[i].value = value;
      return;
    }
  }
  if (asked->n < OPTIONS_MOST) {
    asked->given[asked->n++] = (Given){name, value};
  }
}

static void
ask_keys(Asked* asked, const PropKeys* keys) {
  for (size_t i = 0; i < keys->n_options; ++i) {
    ask(asked, keys->options[i].option->name, keys->options[i].value);
  }
}

/// Everything asked of a sound, in the order in which it counts.
static void
ask_all(const PackReport* report, size_t index, Asked* asked) {
  const Prop* const      prop = report->prop;
  const PropSound* const sound = &prop->sounds[index];
  const PropOn* const    on =
    prop_on(prop, sound, report->pack->options.board->name);
  ask_keys(asked, &prop->keys);
  for (size_t i = 0; i < report->settings->n_given; ++i) {
    const Given* const given = &report->settings->given[i];
    if (options_find(given->name)->commands & PROP_KEY) {
      ask(asked, given->name, given->value);
    }
  }
  ask_keys(asked, &sound->keys);
  if (on) {
    ask_keys(asked, &on->keys);
  }
}

/// Whether an option is settled by the pack and not as it was asked.
static bool
is_settled(const char* name) {
  static const char* const settled[] = {
    "loudness", "gain", "loud-as", "sample-rate"};
  for (size_t i = 0; i < sizeof(settled) / sizeof(settled[0]); ++i) {
    if (!strcmp(settled[i], name)) {
      return true;
    }
  }
  return false;
}

/* Print */

/// A word that a shell reads as it is, in one line whatever it holds. To be
/// freed; NULL without memory.
static char*
shell_word(const char* word) {
  static const char before[] = "\"$(printf '";
  static const char after[] = "')\"";
  if (!text_has_controls(word)) {
    return text_quoted(word);
  }
  // Each byte as \ooo.
  const size_t n = sizeof(before) + 4U * strlen(word) + sizeof(after);
  char* const  quoted = malloc(n);
  char*        at = quoted;
  if (!quoted) {
    return NULL;
  }
  at += sprintf(at, "%s", before);
  for (; *word; ++word) {
    at += sprintf(at, "\\%03o", (unsigned)(unsigned char)*word);
  }
  (void)sprintf(at, "%s", after);
  return quoted;
}

/// Print a word, quoted where a shell wants it. False without memory.
static bool
print_word(const char* before, const char* word, FILE* out) {
  char* const quoted = shell_word(word);
  if (quoted) {
    fprintf(out, "%s%s", before, quoted);
  }
  free(quoted);
  return quoted != NULL;
}

static bool
print_options(const Asked* asked, unsigned command, FILE* out) {
  bool good = true;
  for (size_t i = 0; good && i < asked->n; ++i) {
    const Given* const  given = &asked->given[i];
    const Option* const option = options_find(given->name);
    if (!(option->commands & command) || is_settled(given->name)) {
      continue;
    }
    if (option->argument) {
      fprintf(out, " --%s", given->name);
      good = print_word("=", given->value, out);
    } else if (!given->value || !strcmp(given->value, "yes")) {
      fprintf(out, " --%s", given->name);
    }
  }
  return good;
}

/// The command that makes what is wanted, and its bit.
static CommandName
command_for(VwMake make) {
  static const CommandName names[] = {
    [VW_MAKE_SHOT] = {"shot", COMMAND_SHOT},
    [VW_MAKE_LOOP] = {"loop", COMMAND_LOOP},
    [VW_MAKE_BURST] = {"loop", COMMAND_LOOP},
    [VW_MAKE_WHOLE] = {"convert", COMMAND_CONVERT}};
  return names[make];
}

/// The option's word for a part.
static const char*
part_word(VwPart part) {
  return part == VW_PART_RUN_IN     ? "run-in"
         : part == VW_PART_RING_OUT ? "ring-out"
                                    : vw_part_name(part);
}

static bool
print_takes(const VwSoundWish* wish, FILE* out) {
  bool good = true;
  fputs(" --", out);
  for (size_t i = 0; good && i < wish->n_takes; ++i) {
    good = print_word(" ", wish->takes[i], out);
  }
  return good;
}

/// Print a number with as many digits as it takes to read the same again.
static void
print_exactly(const char* before, double number, FILE* out) {
  char text[40] = "";
  for (int digits = 1; digits <= DBL_DECIMAL_DIG; ++digits) {
    (void)snprintf(text, sizeof(text), "%.*g", digits, number);
    const double again = strtod(text, NULL);
    if (!(again < number) && !(again > number)) {
      break;
    }
  }
  fprintf(out, "%s%s", before, text);
}

/// Print what the pack settled: sample rate and gain.
static void
print_level(const VwFamilyOptions* options, FILE* out) {
  fprintf(out, " --sample-rate %u", options->format.rate_hz);
  switch (options->level.aim) {
    case VW_AIM_GAIN:
      print_exactly(" --gain=", options->level.gain_db, out);
      break;
    case VW_AIM_LOUDNESS:
      print_exactly(" --loudness=", options->level.loudness_lufs, out);
      break;
    case VW_AIM_KEEP:
      fputs(" --loudness keep", out);
      break;
    case VW_AIM_LOUDEST:
      break;
  }
}

/// Print the command that makes a sound, but for files and takes.
static bool
print_making(const PackReport* report, const VwPackSound* sound, FILE* out) {
  const VwSoundWish* const wish = sound->wish;
  const CommandName        command = command_for(wish->make);
  Asked                    asked = {.n = 0};
  ask_all(report, (size_t)(sound - report->pack->sounds), &asked);
  fprintf(out, "volleyweave %s", command.name);
  bool good = print_word(" --board ", report->board_asked, out);
  if (wish->slot) {
    fprintf(out, " --slot %u", wish->slot);
  }
  good = good && print_word(" --name=", wish->name, out) &&
         print_options(&asked, command.bit, out);
  print_level(&sound->options, out);
  if (wish->make == VW_MAKE_BURST) {
    fprintf(out, " --burst %u", wish->options.burst_shots);
  }
  if (wish->n_takes > 1U) {
    fputs(" --take-turns", out);
  }
  return good;
}

/// Where commands go, and where the files that they make.
typedef struct {
  const PackReport* report;
  const char*       folder; ///< NULL where none is named.
  FILE*             out;
} List;

/// Print the command for one file.
static bool
print_command(const List*        list,
              const VwPackSound* sound,
              const VwPackFile*  file) {
  FILE* const out = list->out;
  bool        good = print_making(list->report, sound, out);
  if (command_for(sound->wish->make).bit != COMMAND_CONVERT) {
    fprintf(out, " --part %s", part_word(file->part));
  }
  if (list->folder) {
    fputs(" -q", out);
    good = good && print_word(" --output=", list->folder, out);
  }
  return good && print_takes(sound->wish, out);
}

static bool
print_all(const List* list, const VwPackSound* sound) {
  bool good = true;
  for (size_t i = 0; good && i < sound->n_files; ++i) {
    fputs(i ? " && " : "", list->out);
    good = print_command(list, sound, &sound->files[i]);
  }
  return good;
}

bool
pack_commands_one(const PackReport*  report,
                  const VwPackSound* sound,
                  FILE*              out) {
  return print_all(&(List){report, NULL, out}, sound);
}

/// Print what makes a sound: its folder, then a command for each file.
static bool
print_sound(const PackReport* report, const VwPackSound* sound) {
  const char* const name = sound->files[0].name;
  const char* const slash = strrchr(name, '/');
  char* const       folder = text_format("%s%s%.*s",
                                   report->pack->options.folder,
                                   slash ? "/" : "",
                                   (int)(slash ? slash - name : 0),
                                   name);
  bool              good = folder && print_word("mkdir -p -- ", folder, stdout);
  fputs(" && ", stdout);
  good = good && print_all(&(List){report, folder, stdout}, sound);
  fputs("\n", stdout);
  free(folder);
  return good;
}

bool
pack_commands_print(const PackReport* report) {
  bool good = true;
  for (size_t i = 0; good && i < report->pack->n_sounds; ++i) {
    const VwPackSound* const sound = &report->pack->sounds[i];
    if (!sound->status && sound->n_files) {
      good = print_sound(report, sound);
    }
  }
  return good;
}
