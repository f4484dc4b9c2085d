#include "cli/options/options.h"

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
   "shots in the loop, where they are counted wrong"},
  {"speaker",
   COMMAND_REHEARSE,
   "that of --through-speaker: 40mm (default), 350Hz"},
  {"board",
   COMMAND_CHECK | COMMAND_PACK | COMMAND_REHEARSE,
   "what is to play: wav-22k-mono, say"},
  {"output", COMMAND_PACK, "folder of the packs (default volleyweave-out)"},
  {"output", COMMAND_REHEARSE, "a file, or -"},
  {"output", COMMAND_TRYOUT, "a file, or a folder (default tryout.html)"},
  {"force", COMMAND_DELIVER, "clear strange files of the same names as well"},
  {"force", COMMAND_LAMP, "replace files not made here"},
  {"dry-run", COMMAND_DELIVER, "list what would be cleared and written"},
  {"seconds-max",
   COMMAND_REHEARSE | COMMAND_LAMP,
   "longest file that is read (default 600 s)"},
};

static const char*
meaning_of(const Option* option, const CommandName* command) {
  for (size_t i = 0; i < sizeof(meanings) / sizeof(meanings[0]); ++i) {
    if (!strcmp(meanings[i].name, option->name) &&
        (meanings[i].commands & command->bit)) {
      return meanings[i].help;
    }
  }
  return option->help;
}

static void
print_options(const CommandName* command, FILE* out) {
  for (size_t i = 0; i < n_options; ++i) {
    const Option* const option = &option_table[i];
    const char          letter[] = {'-', option->letter, ',', ' ', '\0'};
    char                name[32];
    if (!(option->commands & command->bit)) {
      continue;
    }
    (void)snprintf(name,
                   sizeof(name),
                   "--%s%s%s",
                   option->name,
                   option->argument ? " " : "",
                   option->argument ? option->argument : "");
    fprintf(out,
            "  %4s%-22s %s\n",
            option->letter ? letter : "",
            name,
            meaning_of(option, command));
  }
}

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
    fprintf(out, "  volleyweave %s\n", command_names[i].example);
  }
  fprintf(
    out,
    "\nvolleyweave --version prints the version. Everything else: man "
    "volleyweave,\nor man man/volleyweave.1 where it is not installed. Loud "
    "sound, flashing lamps,\nbatteries and props that look like weapons can do "
    "harm: see CAUTIONS there.\n");
}

void
help_print(const CommandName* command, FILE* out) {
  if (!command) {
    print_commands(out);
    return;
  }
  fprintf(out,
          "Usage: volleyweave %s %s\n\n%s: %s\n\n",
          command->name,
          command->usage,
          command->name,
          command->summary);
  print_options(command, out);
  fprintf(out, "\nExample:\n  volleyweave %s\n", command->example);
}
