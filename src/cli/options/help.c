#include "cli/options/options.h"
#include "cli/options/types.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// What an option means to some commands alone.
typedef struct {
  const char* name;
  unsigned    commands;
  const char* help;
} Meaning;

static const Meaning meanings[] = {
  {"shots",
   COMMAND_REHEARSE | COMMAND_LAMP,
   "shots in the loop, if they are counted wrong"},
  {"speaker",
   COMMAND_REHEARSE,
   "that of --through-speaker: 40mm (default), 350Hz"},
  {"speaker", COMMAND_GAUGE, "transducer: it shakes the body of the prop"},
  {"board",
   COMMAND_CHECK | COMMAND_PACK | COMMAND_REHEARSE | COMMAND_GAUGE,
   "the board that plays it, for example wav-22k-mono"},
  {"bits", COMMAND_MEND, "8, 16, 24 or float (default the file's own)"},
  {"dither", COMMAND_MEND, "tpdf (default with --bits) or none"},
  {"output", COMMAND_PACK, "folder of the packs (default volleyweave-out)"},
  {"output", COMMAND_REHEARSE, "a file, or -"},
  {"output", COMMAND_TRYOUT, "a file, or a folder (default tryout.html)"},
  {"force", COMMAND_DELIVER, "also replace files that were not written here"},
  {"force", COMMAND_LAMP, "replace files not made here"},
  {"dry-run", COMMAND_DELIVER, "list what would be removed and written"},
  {"seconds-max",
   COMMAND_REHEARSE | COMMAND_LAMP | COMMAND_GAUGE,
   "longest file that is read (default {default} s)"},
};

static const char*
meaning_of(const Option* option, const CommandName* command) {
  for (size_t i = 0; i < sizeof(meanings) / sizeof(meanings[0]); ++i) {
    if (!strcmp(meanings[i].name, option->name) &&
        (meanings[i].commands & command->bit)) {
      return meanings[i].help;
    }
  }
  return option->meaning;
}

/// Whether a word is another one without its hyphens, or the same.
static bool
is_spelling_of(const char* word, const char* other) {
  for (; *other && (*word == *other || *other == '-'); ++other) {
    word += *word == *other;
  }
  return !*word && !*other;
}

/// How many words an option has; a second spelling of one is not told.
static size_t
count_words(const Option* option) {
  size_t n = 0;
  while (option->words && option->words[n].word) {
    const char* const word = option->words[n].word;
    const char* const first =
      choice_word(option->words, option->words[n].value);
    if (first != word && is_spelling_of(word, first)) {
      break;
    }
    ++n;
  }
  return n;
}

/// The words of an option: "a, b (default) or c". To be freed.
static char*
words_text(const Option* option, const char* usual) {
  const size_t n = count_words(option);
  char*        text = NULL;
  for (size_t i = 0; i < n; ++i) {
    const char* const word = option->words[i].word;
    text = text_more(text,
                     i + 1U < n ? ", " : " or ",
                     "%s%s",
                     word,
                     strcmp(word, usual) ? "" : " (default)");
  }
  return text;
}

/// A meaning with what its marks stand for. To be freed.
static char*
meaning_text(const Option* option, const CommandName* command) {
  char           range[OPTION_TEXT];
  char           usual[OPTION_TEXT];
  Figures* const of = figures_new();
  option_range(option, range);
  option_default(option, usual);
  figures_set(of, "range", (const char*)range);
  figures_set(of, "default", (const char*)usual);
  figures_set_made(of, "words", words_text(option, ""));
  figures_set_made(of, "choices", words_text(option, usual));
  char* const text = figures_words(of, meaning_of(option, command));
  figures_free(of);
  return text;
}

static void
print_option(const Option* option, const CommandName* command, FILE* out) {
  const char letter[] = {'-', option->letter, ',', ' ', '\0'};
  char       name[32];
  (void)snprintf(name,
                 sizeof(name),
                 "--%s%s%s",
                 option->name,
                 option->argument ? " " : "",
                 option->argument ? option->argument : "");
  char* const meaning = meaning_text(option, command);
  fprintf(out, "  %4s%-22s %s\n", option->letter ? letter : "", name, meaning);
  free(meaning);
}

/// Print a line of the program, as it was called.
static void
put_command(const char* words,
            const char* before,
            const char* behind,
            FILE*       out) {
  char* const called = program_called();
  fprintf(out, "%s %s%s%s\n", called, before, words, behind);
  free(called);
}

/// Print the options that are used most, in the order of that list.
static void
print_common(const CommandName* command, FILE* out) {
  for (const char* at = command->common; *at; at += strspn(at, " ")) {
    char         name[32];
    const size_t n = strcspn(at, " ");
    (void)snprintf(name, sizeof(name), "%.*s", (int)n, at);
    print_option(options_find(name), command, out);
    at += n;
  }
  fprintf(out, "\nAll its options: ");
  put_command(command->name, "help ", " --verbose", out);
}

static void
print_options(const CommandName* command, FILE* out) {
  bool has_units = false;
  for (size_t i = 0; i < n_options; ++i) {
    const Option* const option = &option_table[i];
    if (option->commands & command->bit) {
      has_units |= option->type->quantity.n_units > 1U;
      print_option(option, command, out);
    }
  }
  if (has_units) {
    fputs("\nA number without a unit has the one named here: 25 is 25 ms for "
          "MS. The sizes\nof a speaker and of a capacitor need theirs.\n",
          out);
  }
}

/* For programs */

/// Whether a default is one: a number within the range, and not the first of
/// words that are told without one, each of which is something said.
static bool
is_usual(const Option* option, const char* usual) {
  char*        end = NULL;
  const double number = strtod(usual, &end);
  const bool   ranged = option->range.least < option->range.most;
  const bool   within =
    number >= option->range.least && number <= option->range.most;
  return *usual && !isnan(number) && !strstr(option->meaning, "{words}") &&
         (*end || !ranged || within);
}

static Figures*
figures_of_option(const Option* option, const CommandName* command) {
  const char     letter[] = {option->letter, '\0'};
  const Quantity quantity = option->type->quantity;
  const bool     has_range = option->range.least < option->range.most;
  Figures* const of = figures_new();
  Figures* const words = figures_list();
  char           usual[OPTION_TEXT];
  option_default(option, usual);
  for (size_t i = 0; i < count_words(option); ++i) {
    figures_add(words, option->words[i].word);
  }
  figures_set(of, "name", option->name);
  figures_set(of, "letter", option->letter ? letter : NULL);
  figures_set(of, "value", option->argument);
  figures_set_made(of, "meaning", meaning_text(option, command));
  figures_set(of, "example", option->example);
  figures_set(of, "default", is_usual(option, usual) ? usual : NULL);
  figures_set(of, "least", has_range ? option->range.least : (double)NAN);
  figures_set(of, "most", has_range ? option->range.most : (double)NAN);
  figures_set(of, "unit", quantity.unit_name);
  figures_set(of, "whole", quantity.whole);
  figures_set(of, "none", option->none);
  figures_set(of, "words", words);
  return of;
}

static Figures*
figures_of_help(const CommandName* command) {
  Figures* const of = figures_new();
  Figures* const options = figures_list();
  for (size_t i = 0; i < n_options; ++i) {
    if (option_table[i].commands & command->bit) {
      figures_add(options, figures_of_option(&option_table[i], command));
    }
  }
  figures_set(of, "name", command->name);
  figures_set(of, "arguments", command->usage);
  figures_set(of, "summary", command->summary);
  figures_set(of, "example", command->example);
  figures_set(of, "options", options);
  return of;
}

bool
help_json(FILE* out) {
  Figures* const of = figures_of_command("help");
  Figures* const commands = figures_list();
  for (size_t i = 0; i < n_commands; ++i) {
    figures_add(commands, figures_of_help(&command_names[i]));
  }
  figures_set(of, "commands", commands);
  figures_set(
    of, "cautions", caution_figures(VW_CAUTION_FLASH | VW_CAUTION_HEARING));
  return figures_json(of, out);
}

/* For people */

static void
print_commands(FILE* out) {
  fprintf(out,
          "Turn one recording of one shot into a clean shot and a seamless "
          "rapid-fire loop.\n\n"
          "Usage: volleyweave COMMAND [OPTIONS] TAKE...\n\n");
  for (size_t i = 0; i < n_commands; ++i) {
    fprintf(
      out, "  %-9s %s\n", command_names[i].name, command_names[i].summary);
  }
  fprintf(out, "  %-9s options of a command\n\nExamples:\n", "help");
  for (size_t i = 0; i < n_commands; ++i) {
    fprintf(out, "  ");
    put_command(command_names[i].example, "", "", out);
  }
  fprintf(out,
          "\nvolleyweave --version prints the version. Everything "
          "else: man volleyweave,\nor man man/volleyweave.1 if it is "
          "not installed. Loud sound, flashing lamps,\nbatteries and "
          "props that look like weapons can do harm: see CAUTIONS "
          "there.\n");
}

void
help_print(const CommandName* command, bool whole, FILE* out) {
  if (!command) {
    print_commands(out);
    return;
  }
  fprintf(out,
          "Usage: volleyweave %s %s\n%s: %s\n\n",
          command->name,
          command->usage,
          command->name,
          command->summary);
  if (whole || !command->common) {
    print_options(command, out);
  } else {
    print_common(command, out);
  }
  fprintf(out, "Example: ");
  put_command(command->example, "", "", out);
}
