// The options: what is said of one in the wrong place, and what the manual says
// of all of them.

#include "base/caution.h"
#include "cli/options/options.h"
#include "cli/options/settings.h"
#include "cli/options/types.h"
#include "support/check.h"
#include "support/reports.h"
#include "support/run.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char* const names[] = {"inspect",
                                    "shot",
                                    "loop",
                                    "convert",
                                    "split",
                                    "check",
                                    "deliver",
                                    "pack",
                                    "rehearse",
                                    "tryout",
                                    "boards",
                                    "lamp",
                                    "gauge"};

#define N_COMMANDS (sizeof(names) / sizeof(names[0]))

// What `help` prints of each command.
static char* helps[N_COMMANDS];

static int
read_helps(void** state) {
  (void)state;
  for (size_t i = 0; i < N_COMMANDS; ++i) {
    char line[32];
    (void)snprintf(line, sizeof(line), "help %s --verbose", names[i]);
    Run asked = run(line);
    helps[i] = strdup(asked.out);
    run_clear(&asked);
  }
  return 0;
}

static int
free_helps(void** state) {
  (void)state;
  for (size_t i = 0; i < N_COMMANDS; ++i) {
    free(helps[i]);
  }
  return 0;
}

/// Whether a command's help lists an option.
static bool
takes(size_t command, const char* option) {
  char shown[40];
  (void)snprintf(shown, sizeof(shown), " --%s ", option);
  return strstr(helps[command], shown) != NULL;
}

/* For programs */

/// Whether an option is told to programs as its row has it.
static bool
is_row(const json_t* told, const Option* option, size_t command) {
  const double least = number_at(told, "least");
  const double most = number_at(told, "most");
  const char*  name = json_string_value(value_at(told, "name"));
  const char*  meaning = json_string_value(value_at(told, "meaning"));
  const bool   ranged = option->range.least < option->range.most;
  return name && meaning && !strcmp(name, option->name) &&
         strstr(helps[command], meaning) && takes(command, name) &&
         (ranged ? !(fabs(least - option->range.least) > 1e-9) &&
                     !(fabs(most - option->range.most) > 1e-9)
                 : isnan(least) && isnan(most)) &&
         (json_array_size(value_at(told, "words")) > 0U) ==
           (option->words != NULL);
}

// How many words are told of some options, each spelled once, and the default.
static const struct {
  const char* option;
  size_t      n_words;
  const char* usual;
} told_words[] = {{"led", 7U, "red"},
                  {"as", 4U, NULL},
                  {"part", 5U, NULL},
                  {"loudness", 2U, "loudest"},
                  {"limiting-max", 0U, "3"}};

/// Whether an option's words and default are told as above, if they are there.
static bool
has_told_words(const json_t* option) {
  const char* const name = json_string_value(value_at(option, "name"));
  const char* const usual = json_string_value(value_at(option, "default"));
  bool              ok = true;
  for (size_t i = 0; i < sizeof(told_words) / sizeof(*told_words); ++i) {
    if (!strcmp(name, told_words[i].option)) {
      const char* const wanted = told_words[i].usual;
      const size_t      n = json_array_size(value_at(option, "words"));
      ok &= check_that(n == told_words[i].n_words, "--%s: %zu words", name, n);
      ok &=
        check_that(usual && wanted ? !strcmp(usual, wanted) : usual == wanted,
                   "--%s: default %s",
                   name,
                   usual ? usual : "none");
    }
  }
  return ok;
}

/// Whether a command tells programs its options, all of them.
static bool
is_told(const json_t* told, size_t command) {
  const unsigned      bit = command_find(names[command])->bit;
  const json_t* const options = value_at(told, "options");
  size_t              n = 0;
  bool                ok = true;
  for (size_t i = 0; i < n_options; ++i) {
    const Option* const option = &option_table[i];
    if (option->commands & bit) {
      const json_t* const told_as = json_array_get(options, n++);
      ok &=
        check_that(is_row(told_as, option, command) && has_told_words(told_as),
                   "%s --%s",
                   names[command],
                   option->name);
    }
  }
  return ok && n == json_array_size(options);
}

/// Whether a caution is there for the page to show.
static bool
shows_caution(const json_t* help, unsigned which) {
  const VwCaution* const caution = vw_caution(which, 0);
  const char* const      text = json_string_value(
    json_object_get(json_object_get(help, "cautions"), caution->key));
  return check_that(text && !strcmp(text, caution->text),
                    "%s: %s",
                    caution->key,
                    text ? text : "not there");
}

static void
test_json(void** state) {
  (void)state;
  json_t* const       help = run_json("help --json", 0);
  const json_t* const commands = value_at(help, "commands");
  bool                ok = true;
  for (size_t i = 0; i < N_COMMANDS; ++i) {
    const size_t at = (size_t)(command_find(names[i]) - command_names);
    ok &= is_told(json_array_get(commands, at), i);
  }
  ok &= shows_caution(help, VW_CAUTION_FLASH);
  ok &= shows_caution(help, VW_CAUTION_HEARING);
  json_decref(help);
  assert_true(ok);
}

/* In the wrong place */

/// Whether all commands that a refusal names, one at least, take the option.
static bool
names_takers(const char* said, const char* option) {
  static const char mark[] = "`volleyweave ";
  const char*       at = strstr(said, "or use `");
  bool              good = at != NULL;
  for (; at && (at = strstr(at, mark)); ++at) {
    const char* const name = at + strlen(mark);
    size_t            i = 0;
    while (i < N_COMMANDS && (strncmp(name, names[i], strlen(names[i])) != 0 ||
                              name[strlen(names[i])] != '`')) {
      ++i;
    }
    good = good && i < N_COMMANDS && takes(i, option);
  }
  return good;
}

static bool
check_elsewhere(size_t command, const Option* option) {
  char line[80];
  (void)snprintf(line, sizeof(line), "%s --%s", names[command], option->name);
  Run        made = run(line);
  const bool good =
    run_check(made.status == 2 && is_one_line_with(made.err, option->name) &&
                names_takers(made.err, option->name),
              &made,
              line);
  run_clear(&made);
  return good;
}

// An option that a command has not is refused with one that has it.
static void
test_elsewhere(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < n_options; ++i) {
    for (size_t command = 0; command < N_COMMANDS; ++command) {
      ok &= takes(command, option_table[i].name) ||
            check_elsewhere(command, &option_table[i]);
    }
  }
  assert_true(ok);
}

/* Without a unit */

/// What an option makes of a text; NaN where it refuses it.
static double
value_of(const Option* option, const char* text) {
  Settings    settings = settings_defaults();
  const Value value = {option, option->name, text, &settings};
  const void* field = (const char*)&settings + option->offset;
  if (!option->type->read(&value)) {
    return NAN;
  }
  return option->type == &type_loudness ? settings.family.level.loudness_lufs
         : option->type == &type_frames ? *(const unsigned*)field
                                        : *(const double*)field;
}

// A number without a unit has that which the help names: the option's own. Of a
// speaker the unit tells a diameter from a corner.
static void
test_numbers_without_units(void** state) {
  (void)state;
  static const char told_so[] = "A number without a unit has the one named";
  size_t            n = 0;
  bool              ok = true;
  for (size_t i = 0; i < n_options; ++i) {
    const Option* const   option = &option_table[i];
    const Quantity* const quantity = &option->type->quantity;
    if (quantity->n_units < 2U || option->type == &type_speaker) {
      continue;
    }
    // A share of 1 is not in the range of a percentage's option.
    const double times = quantity->units[1].divisor;
    char         bare[40];
    char         whole[64];
    (void)snprintf(
      bare, sizeof(bare), "%.0f", ceil(option->range.most * times / 2.0));
    (void)snprintf(
      whole, sizeof(whole), "%s%s", bare, quantity->units[1].suffix);
    if (option->type != &type_share) {
      ok &= check_equal(
        value_of(option, bare), value_of(option, whole), "--%s", option->name);
      ++n;
    }
  }
  for (size_t i = 0; i < N_COMMANDS; ++i) {
    ok &=
      check_that((strstr(helps[i], told_so) != NULL) == takes(i, "seconds-max"),
                 "%s: told in the help",
                 names[i]);
  }
  assert_true(ok);
  assert_in_range(n, 20, 60);
}

/* In the manual */

// What the manual says of each option, its lines joined without their macros;
// NULL: nothing.
static char* told[128];

/// Add a line of the manual to what is said of an option.
static void
tell(size_t option, const char* line) {
  const char* const start = told[option] ? told[option] : "";
  const size_t      n = strlen(start) + strlen(line) + 2U;
  char* const       longer = calloc(n, 1U);
  (void)snprintf(longer, n, "%s %s", start, line);
  free(told[option]);
  told[option] = longer;
}

/// Whether what the head of an entry says of an option, up to the next comma,
/// is so in the table.
static bool
check_head(const Option* option, const char* head, const char* name) {
  const char  letter[] = {'F', 'l', ' ', option->letter, ' ', '\0'};
  const char* comma = strstr(name, " ,");
  const char* argument = strstr(name, " Ar ");
  const bool  has = argument && (!comma || argument < comma);
  const bool  good = has == (option->argument != NULL) &&
                    (!option->letter || strstr(head, letter));
  if (!good) {
    fprintf(stderr, "the manual's head of --%s: %s\n", option->name, head);
  }
  return good;
}

/// Take the names in the head of an entry. False where one is no option.
static bool
take_head(const char* head, bool chosen[]) {
  bool good = true;
  memset(chosen, 0, sizeof(told) / sizeof(told[0]));
  for (const char* at = head; (at = strstr(at, "Fl -")); ++at) {
    char                name[32] = "";
    const Option* const option =
      sscanf(at + 4, "%31[a-z-]", name) == 1 ? options_find(name) : NULL;
    // Two commands may have options of one name.
    for (size_t i = 0; option && i < n_options; ++i) {
      if (!strcmp(option_table[i].name, name)) {
        chosen[i] = true;
        tell(i, "");
        good &= check_head(&option_table[i], head, at);
      }
    }
    if (!option && strcmp(name, "version") != 0) {
      fprintf(stderr, "the manual's --%s is no option\n", name);
      good = false;
    }
  }
  return good;
}

/// Read the manual. False where a head is wrong.
static bool
read_manual(const char* manual) {
  bool  chosen[sizeof(told) / sizeof(told[0])] = {false};
  bool  good = n_options <= sizeof(told) / sizeof(told[0]);
  char* copy = strdup(manual);
  for (char* line = strtok(copy, "\n"); good && line;
       line = strtok(NULL, "\n")) {
    if (!strncmp(line, ".It Fl ", 7)) {
      good = take_head(line, chosen);
    } else if (!strncmp(line, ".S", 2)) {
      memset(chosen, 0, sizeof(chosen));
    }
    for (char* minus; (minus = strstr(line, "\\-"));) {
      memmove(minus, minus + 1, strlen(minus));
    }
    for (size_t i = 0; i < n_options; ++i) {
      if (chosen[i] && strncmp(line, ".It Fl ", 7) != 0) {
        tell(i, *line == '.' ? line + strcspn(line, " ") : line);
      }
    }
  }
  free(copy);
  return good;
}

/// Whether a text has a range of numbers in it.
static bool
has_range(const char* text) {
  for (const char* at = text; (at = strstr(at, " to ")); ++at) {
    const char before = at == text ? ' ' : at[-1];
    if ((before == '%' || (before >= '0' && before <= '9')) &&
        strcspn(at + 4, "-0123456789") == 0) {
      return true;
    }
  }
  return false;
}

/// Whether a word stands near the word "default", or what it is without.
static bool
is_told_as_default(const char* text, const char* word) {
  static const char* const marks[] = {"default", "Without it"};
  const size_t             n = strlen(word);
  for (const char* at = text; (at = strstr(at, word)); ++at) {
    const bool whole =
      (at == text || strchr(" (", at[-1])) && strchr(" ,.;:)\n", at[n]) != NULL;
    for (size_t i = 0; whole && i < 2U; ++i) {
      const char* mark = text;
      while ((mark = strstr(mark, marks[i])) && labs(mark - at) > 100) {
        ++mark;
      }
      if (mark) {
        return true;
      }
    }
  }
  return false;
}

static bool
check_told(const Option* option, const char* text) {
  char range[OPTION_TEXT];
  char usual[OPTION_TEXT];
  option_range(option, range);
  option_default(option, usual);
  const bool ranged = option->range.least < option->range.most &&
                      (strstr(option->meaning, "{range}") || has_range(text));
  const bool told_usual = strstr(option->meaning, "{default}") ||
                          strstr(option->meaning, "{choices}");
  const bool good = (!ranged || strstr(text, range)) &&
                    (!told_usual || is_told_as_default(text, usual));
  if (!good) {
    fprintf(stderr,
            "--%s is %s, by default %s; in the manual:%s\n",
            option->name,
            range,
            usual,
            text);
  }
  return good;
}

static char* manual;

// The manual has the options of the table, with their ranges and defaults.
static void
test_manual(void** state) {
  (void)state;
  bool ok = read_manual(manual);
  for (size_t i = 0; ok && i < n_options; ++i) {
    if (!told[i]) {
      fprintf(stderr, "--%s is not in the manual\n", option_table[i].name);
    }
    ok = told[i] && ok;
  }
  for (size_t i = 0; i < n_options; ++i) {
    ok &= !told[i] || check_told(&option_table[i], told[i]);
    free(told[i]);
  }
  assert_true(ok);
}

int
main(int argc, char** argv) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_json),
    cmocka_unit_test(test_elsewhere),
    cmocka_unit_test(test_manual),
    cmocka_unit_test(test_numbers_without_units),
  };
  size_t n = 0;
  manual = argc > 2 ? read_file(argv[2], &n) : NULL;
  run_set_up(argc, argv);
  const int failed = cmocka_run_group_tests(tests, read_helps, free_helps);
  run_tear_down();
  free(manual);
  return failed;
}
