#include "cli/report/report_next.h"

#include "cli/message/text.h"
#include "cli/options/options.h"
#include "store/store.h"

#include <stdlib.h>
#include <string.h>

/// Options that a next command does not repeat: those that it has a place of
/// its own for, and those that make no difference to what is heard.
static bool
is_left_out(const char* name) {
  static const char* const names[] = {"fire-rate",
                                      "board",
                                      "slot",
                                      "part",
                                      "output",
                                      "plot",
                                      "force",
                                      "dry-run",
                                      "json",
                                      "quiet"};
  for (size_t i = 0; i < sizeof(names) / sizeof(names[0]); ++i) {
    if (!strcmp(name, names[i])) {
      return true;
    }
  }
  return false;
}

/// Print those of the options given that another command has too.
static void
print_given(const Report* report, unsigned command, FILE* out) {
  for (size_t i = 0; i < report->settings->n_given; ++i) {
    const Given* const  given = &report->settings->given[i];
    const Option* const option = options_find(given->name);
    if (!option || !(option->commands & command) || is_left_out(given->name)) {
      continue;
    }
    char* const value = given->value ? text_quoted(given->value) : NULL;
    fprintf(out,
            " --%s%s%s",
            given->name,
            !value                   ? ""
            : given->value[0] == '-' ? "="
                                     : " ",
            value ? value : "");
    free(value);
  }
}

/// Whether a next command would have to leave out what this one was told: what
/// comes after a loop is another form of it.
static bool
is_settled(const Report* report) {
  const Settings* const settings = report->settings;
  return report->command->bit == COMMAND_LOOP &&
         (settings->has_form || settings->has_burst || settings->has_part ||
          settings->slot || settings->print_section ||
          settings->loop.burst_seconds > 0.0);
}

/// What is worth trying after a command.
static const char*
next_options(const Report* report) {
  if (report->command->bit != COMMAND_LOOP) {
    return "";
  }
  // A board has the form that it has.
  return !report->settings->has_board            ? " --form whole-file"
         : report->family->form == VW_FORM_BURST ? ""
                                                 : " --burst 3";
}

/// The fire rate to go on with: as asked, as chosen, or one to begin with.
static char*
next_rate(const Report* report) {
  const char* const asked = report->settings->loop.fire_rate_text;
  const bool        chosen = report->family && report->family->plan.chosen;
  if (asked) {
    return text_quoted(asked);
  }
  return chosen
           ? text_format("%.6g/s", report->family->plan.fire_rate_asked_per_s)
           : text_format("9/s");
}

/// The part to go on with, where names on the board do not tell parts.
static const char*
next_part(const Report* report) {
  return report->settings->board.naming.parts ? "" : " --part loop";
}

/// The board to go on with, and its slot, each with a blank in front; or NULL.
static char*
next_board(const Report* report) {
  const Settings* const settings = report->settings;
  char                  slot[32] = "";
  if (!settings->has_board) {
    return NULL;
  }
  if (settings->slot) {
    // The one just made keeps its own.
    (void)snprintf(slot,
                   sizeof(slot),
                   " --slot %zu%s",
                   settings->slot + report->first_take + 1U,
                   next_part(report));
  }
  if (!settings->board_asked) {
    return text_format("%s", slot); // the default board
  }
  char* const quoted = text_quoted(settings->board_asked);
  char* const board =
    quoted ? text_format(" --board %s%s", quoted, slot) : NULL;
  free(quoted);
  return board;
}

static void
next_loop(const Report* report, FILE* out) {
  const Settings* const settings = report->settings;
  char* const           rate = next_rate(report);
  const bool            in_folder =
    settings->output && vw_path_is_folder(settings->output);
  char* const output = in_folder ? text_quoted(settings->output) : NULL;
  char* const board = next_board(report);
  fprintf(out, "Next: volleyweave loop --fire-rate %s", rate ? rate : "9/s");
  print_given(report, COMMAND_LOOP, out);
  fprintf(out,
          "%s%s%s%s%s",
          board ? board : "",
          next_options(report),
          output ? " -o " : "",
          output ? output : "",
          report->inputs[0].path[0] == '-' ? " --" : "");
  for (size_t i = 0; i < report->n_inputs; ++i) {
    char* const take = text_quoted(report->inputs[i].path);
    fprintf(out, " %s", take ? take : "TAKE");
    free(take);
  }
  fputc('\n', out);
  free(rate);
  free(output);
  free(board);
}

/// What to do after a sound that is no shot.
static void
next_whole(const Report* report, FILE* out) {
  const bool made = report->n_files && !report->settings->dry_run &&
                    strcmp(report->files[0].path, "-") != 0;
  const char* const path =
    made ? report->files[0].path : report->inputs[0].path;
  char* const file = text_quoted(path);
  char* const board = made ? NULL : next_board(report);
  fprintf(out, "Next: volleyweave %s", made ? "inspect" : "convert");
  print_given(report, made ? COMMAND_INSPECT : COMMAND_CONVERT, out);
  fprintf(out,
          "%s%s %s\n",
          board ? board : "",
          path[0] == '-' ? " --" : "",
          file ? file : "FILE");
  free(board);
  free(file);
}

void
report_next(const Report* report, FILE* out) {
  const Input* const input = &report->inputs[0];
  // Whoever cuts a shot out of a hum, or fires it, means to.
  const bool hum = report->command->bit == COMMAND_INSPECT &&
                   input->facts.kind == VW_KIND_SUSTAINED;
  if (input->has_shot && !hum) {
    if (!is_settled(report)) {
      next_loop(report, out);
    }
  } else {
    next_whole(report, out);
  }
}
