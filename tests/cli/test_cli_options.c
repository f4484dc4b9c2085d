// The options: what is said of one in the wrong place, and what the manual says
// of all of them.

#include "cli/options/options.h"
#include "support/run.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char* const names[] = {"inspect",
                                    "shot",
                                    "loop",
                                    "convert",
                                    "check",
                                    "deliver",
                                    "pack",
                                    "rehearse",
                                    "tryout",
                                    "boards",
                                    "lamp"};

#define N_COMMANDS (sizeof(names) / sizeof(names[0]))

// What `help` prints of each command.
static char* helps[N_COMMANDS];

static int
read_helps(void** state) {
  (void)state;
  for (size_t i = 0; i < N_COMMANDS; ++i) {
    char line[32];
    (void)snprintf(line, sizeof(line), "help %s", names[i]);
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

int
main(int argc, char** argv) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_elsewhere),
  };
  run_set_up(argc, argv);
  const int failed = cmocka_run_group_tests(tests, read_helps, free_helps);
  run_tear_down();
  return failed;
}
