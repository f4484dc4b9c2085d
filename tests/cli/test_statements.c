// What README and man pages state of defaults, limits, files and exit statuses,
// as it stands there, and what the program does: the list is statements.txt.

#include "support/check.h"
#include "support/run.h"
#include "support/wav_files.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static char* list;
static char* root;

/* The documents, as plain text on one line */

/// Add a text; blanks in a row become one.
static void
add(char** out, const char* text, size_t n) {
  for (size_t i = 0; i < n; ++i) {
    const bool blank = isspace((unsigned char)text[i]) != 0;
    if (!blank || (*out)[-1] != ' ') {
      *(*out)++ = blank ? ' ' : text[i];
    }
  }
}

/// Add a word of a man page: no macro, no escape, no blank before a point.
static void
add_word(char** out, const char* word, bool macros) {
  static const char names[] =
    " Ar Bl Cm D1 Dl Dq Ds El Em Ev Fl Ic It Li Nm No Ns Op Pa Pf Pp Pq Ql Qq "
    "Sh Sq Ss Sx Sy Va Xr ";
  char name[8];
  (void)snprintf(name, sizeof(name), " %.4s ", word);
  if (macros && strstr(names, name)) {
    // "Ns" joins what stands beside it.
    if (!strcmp(word, "Ns") && (*out)[-1] == ' ') {
      --*out;
    } else if (!strcmp(word, "Fl")) {
      add(out, "-", 1U);
    }
    return;
  }
  if (strchr(".,;:)", *word) && !word[1] && (*out)[-1] == ' ') {
    --*out;
  }
  for (; *word; ++word) {
    if (word[0] == '\\' && strchr("-&e", word[1])) {
      ++word;
      if (*word != '-') {
        continue;
      }
    }
    if (*word != '"') {
      add(out, word, 1U);
    }
  }
  if ((*out)[-1] != '(') {
    add(out, " ", 1U);
  }
}

/// The text of a document; a macro counts as the blank that it stands for.
static char*
plain(const char* path) {
  size_t     n = 0;
  char       whole[1024];
  const bool man = strncmp(path, "man/", 4U) == 0;
  (void)snprintf(whole, sizeof(whole), "%s/%s", root, path);
  char* const text = read_file(whole, &n);
  char* const made = text ? calloc(2U * n + 2U, 1U) : NULL;
  char*       out = made ? made + 1 : NULL;
  char*       rest = NULL;
  if (!text || !made) {
    free(text);
    return made;
  }
  *made = ' ';
  for (char* line = strtok_r(text, "\n", &rest); line;
       line = strtok_r(NULL, "\n", &rest)) {
    char*      more = NULL;
    const bool macros = *line == '.';
    for (char* word = strtok_r(line + macros, " ", &more); word;
         word = strtok_r(NULL, " ", &more)) {
      if (man) {
        add_word(&out, word, macros);
      } else {
        add(&out, word, strlen(word));
        add(&out, " ", 1U);
      }
    }
  }
  free(text);
  return made;
}

/* The statements */

/// Take the next block of lines, ended by an empty one, apart: the document and
/// its statement in one line, and the lines of a shell.
static bool
take(char** at, char** document, char** statement, char** shell) {
  *at += strspn(*at, "\n");
  if (!**at) {
    return false;
  }
  char* const end = strstr(*at, "\n\n");
  char* const lines = strstr(*at, "\n$ ");
  assert_non_null(lines);
  *lines = '\0';
  *document = *at;
  *statement = strstr(*at, ": ");
  assert_non_null(*statement);
  **statement = '\0';
  *statement += 2;
  for (char* c = *statement; *c; ++c) {
    *c = *c == '\n' ? ' ' : *c;
  }
  *shell = lines + 1;
  *at = end ? end + 1 : strchr(*shell, '\0');
  if (end) {
    *end = '\0';
  }
  for (char* c = *shell; c; c = strchr(c, '\n') ? strchr(c, '\n') + 1 : NULL) {
    c[0] = c[0] == '$' ? ' ' : c[0];
  }
  return true;
}

/// Whether a document states it, and the program does it.
static bool
holds(const char* document, const char* statement, const char* shell) {
  static char line[16384];
  char* const text = plain(document);
  const bool  there = text && strstr(text, statement);
  (void)snprintf(line,
                 sizeof(line),
                 "rm -rf at; mkdir at; cd at; cp -l ../*.wav .; . "
                 "../functions; set -e\n%s",
                 shell);
  Run        made = there ? run_shell(line) : (Run){0};
  const bool good = there && made.status == 0;
  check_that(there, "%s does not state: %s", document, statement);
  check_that(good, "%s: %s: %s", document, statement, made.out);
  run_clear(&made);
  free(text);
  return good;
}

static void
test_statements(void** state) {
  (void)state;
  char*  document = NULL;
  char*  statement = NULL;
  char*  shell = NULL;
  size_t n = 0;
  bool   ok = true;
  // Its first block are functions of the shell.
  char* at = strstr(list, "\n\n");
  assert_non_null(at);
  bytes_write("functions", list, (size_t)(at - list));
  for (; take(&at, &document, &statement, &shell); ++n) {
    ok &= holds(document, statement, shell);
  }
  printf("%zu statements\n", n);
  assert_true(ok);
  assert_true(n >= 360U);
}

int
main(int argc, char** argv) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(test_statements)};
  size_t                  n = 0;
  list = argc > 2 ? read_file(argv[2], &n) : NULL;
  root = argc > 3 ? argv[3] : NULL;
  if (!list || !root) {
    return 1;
  }
  run_set_up(argc, argv);
  // What statements on the tree itself are held against.
  (void)setenv("TREE", root, 1);
  static const WavFile files[] = {
    {.path = "zap.wav", .seconds = 1.0},
    {.path = "low.wav", .seconds = 1.0, .rate_hz = 8000U},
    {.path = "stereo.wav", .seconds = 1.0, .n_channels = 2U},
    {.path = "eight.wav", .seconds = 0.5, .n_channels = 8U},
    {.path = "nine.wav", .seconds = 0.5, .n_channels = 9U},
    {.path = "4k.wav", .seconds = 1.0, .rate_hz = 4000U},
    {.path = "3999.wav", .seconds = 1.0, .rate_hz = 3999U},
    {.path = "384k.wav", .seconds = 0.5, .rate_hz = 384000U},
    {.path = "385k.wav", .seconds = 0.5, .rate_hz = 385000U},
    {.path = "twice.wav", .fill = FILL_TWICE, .seconds = 2.0},
    {.path = "rapid.wav", .fill = FILL_RAPID, .seconds = 2.0},
    {.path = "hum.wav", .fill = FILL_HUM, .seconds = 3.0},
    {.path = "opposed.wav",
     .fill = FILL_OPPOSED,
     .seconds = 1.0,
     .n_channels = 2U},
    {.path = "601.wav", .fill = FILL_HUM, .seconds = 601.0, .rate_hz = 4000U}};
  for (size_t i = 0; i < sizeof(files) / sizeof(files[0]); ++i) {
    wav_file_write(&files[i]);
  }
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  run_tear_down();
  return failed;
}
