#include "commands.h"
#include "options.h"

static void
print_options(const Command* command, FILE* out) {
  for (size_t i = 0; i < n_options; ++i) {
    const Option* const option = &option_table[i];
    const char          letter[] = {'-', option->letter, ',', ' ', '\0'};
    char                name[32];
    if (!(option->commands & command->name.bit)) {
      continue;
    }
    (void)snprintf(name,
                   sizeof(name),
                   "--%s%s%s",
                   option->name,
                   option->argument ? " " : "",
                   option->argument ? option->argument : "");
    fprintf(
      out, "  %4s%-22s %s\n", option->letter ? letter : "", name, option->help);
  }
}

static void
print_commands(FILE* out) {
  fprintf(out,
          "Turn one recording of one shot into a clean shot and a seamless "
          "rapid-fire loop.\n\n"
          "Usage: volleyweave COMMAND [OPTIONS] TAKE...\n\n");
  for (const Command* command = command_table; command->name.name; ++command) {
    fprintf(out, "  %-9s %s\n", command->name.name, command->summary);
  }
  fprintf(out, "  %-9s options of a command\n\nExamples:\n", "help");
  for (const Command* command = command_table; command->name.name; ++command) {
    fprintf(out, "  volleyweave %s\n", command->example);
  }
  fprintf(
    out,
    "\nvolleyweave --version prints the version. Everything else: man "
    "volleyweave,\nor man man/volleyweave.1 where it is not installed. Loud "
    "sound, flashing lamps,\nbatteries and props that look like weapons can do "
    "harm: see CAUTIONS there.\n");
}

void
help_print(const Command* command, FILE* out) {
  if (!command) {
    print_commands(out);
    return;
  }
  fprintf(out,
          "Usage: volleyweave %s %s\n\n%s: %s\n\n",
          command->name.name,
          command->usage,
          command->name.name,
          command->summary);
  print_options(command, out);
  fprintf(out, "\nExample:\n  volleyweave %s\n", command->example);
}
