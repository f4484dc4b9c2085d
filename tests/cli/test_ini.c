// Texts of sections and keys: what is read of them, with which line, and what
// is said of a bad one.

#include "cli/options/ini.h"
#include "support/folder.h"
#include "support/run.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

#define TEST(function)                                                         \
  cmocka_unit_test_setup_teardown(function, folder_enter, folder_leave)

/// What was read, and what was said of it.
typedef struct {
  IniFile file;
  Faults  faults;
  bool    good;
  char*   said; ///< Owned.
} Got;

static Got
read_named(const char* path) {
  Got       got = {.faults = {.path = path}};
  const int before = run_catch();
  got.good = ini_read("take", &got.faults, &got.file);
  got.said = run_caught(before);
  return got;
}

static Got
read_bytes(const void* bytes, size_t n_bytes) {
  // A new file each time: some file systems write one out to the disk that is
  // cut short and filled again, which takes twenty times as long as all else
  // here.
  (void)remove("a.ini");
  folder_put("a.ini", bytes, n_bytes);
  Got got = read_named("a.ini");
  assert_true(got.good);
  return got;
}

static Got
read_text(const char* text) {
  return read_bytes(text, strlen(text));
}

static void
got_clear(Got* got) {
  ini_clear(&got->file);
  free(got->said);
}

static unsigned
count_lines(const char* bytes, size_t n_bytes) {
  unsigned n = 1;
  for (size_t i = 0; i < n_bytes; ++i) {
    n += bytes[i] == '\n';
  }
  return n;
}

/* What is read */

/// A text with one key "k" in one section "s", its value and its line.
typedef struct {
  const char* text;
  const char* value;
  unsigned    line;
} Good;

static bool
check_good(const Good* good) {
  Got                     got = read_text(good->text);
  const IniSection* const section =
    got.file.n_sections == 1U ? got.file.sections : NULL;
  const IniEntry* const entry =
    section && section->n_entries == 1U ? section->entries : NULL;
  const bool same = !got.faults.n && entry && !strcmp(section->name, "s") &&
                    !strcmp(entry->key, "k") &&
                    !strcmp(entry->value, good->value) &&
                    entry->line == good->line;
  if (!same) {
    fprintf(stderr,
            "%s\n  got %s, line %u, %zu faults\n",
            good->text,
            entry ? entry->value : "no one key",
            entry ? entry->line : 0U,
            got.faults.n);
  }
  got_clear(&got);
  return same;
}

static void
test_good(void** state) {
  (void)state;
  static const Good goods[] = {
    {"[s]\nk = v\n", "v", 2},
    {"[s]\nk=v", "v", 2},
    {"[s]\r\nk = v\r\n", "v", 2},
    {"\xEF\xBB\xBF[s]\nk = v\n", "v", 2},
    {"\xEF\xBB\xBF\r\n\r\n[s]\r\nk\t=\tv\r\n", "v", 4},
    {"# a\n; b\n\n[s]\n# c\nk = v\n; d = e\n", "v", 6},
    {"  [s]\n\tk = v\n", "v", 2},
    {"[s] ; a\nk = v ; a\n", "v", 2},
    {"[s]\nk = v;w\n", "v;w", 2},
    {"[s]\nk = v #w\n", "v #w", 2},
    {"[s]\nk = a b  \n", "a b", 2},
    {"[s]\nk =\n", "", 2},
    {"[s]\nk = a = b\n", "a = b", 2},
    {"[s]\nk = a:b\n", "a:b", 2},
    {"[s]\nk = [t]\n", "[t]", 2},
    {"[s]\nk = \xC3\xA4\n", "\xC3\xA4", 2},
    // Quotes.
    {"[s]\nk = \"\"\n", "", 2},
    {"[s]\nk = \" v \"\n", " v ", 2},
    {"[s]\nk = \" ;#v\" ; a\n", " ;#v", 2},
    {"[s]\nk=\"a\\\"b\\\\c\\nd\\te\\x41\"\r\n", "a\"b\\c\nd\teA", 2},
    {"[s]\nk = \"\\xC3\\xA4\"\n", "\xC3\xA4", 2},
    {"[s]\nk = v\"w\"\n", "v\"w\"", 2},
    // A lone CR ends no line, inside it is a control character.
    {"[s]\nk = v\n\r\n", "v", 2},
  };
  bool ok = true;
  for (size_t i = 0; i < COUNT(goods); ++i) {
    ok &= check_good(&goods[i]);
  }
  assert_true(ok);
}

// Indented, a key is not more of the value above; names are as long as they
// are.
static void
test_lines(void** state) {
  (void)state;
  Got got = read_text("[empty]\n\n"
                      "[a section of more than fifty letters, which is many]\n"
                      "take = a\n"
                      "    take = b\n"
                      "\n"
                      "\ta-key-of-more-than-fifty-letters-which-is-many-for-it"
                      " = c\n");
  assert_int_equal(got.faults.n, 0);
  assert_int_equal(got.file.n_sections, 2);
  assert_string_equal(got.file.sections[0].name, "empty");
  assert_int_equal(got.file.sections[0].line, 1);
  assert_int_equal(got.file.sections[0].n_entries, 0);
  const IniSection* const section = &got.file.sections[1];
  assert_string_equal(section->name,
                      "a section of more than fifty letters, which is many");
  assert_int_equal(section->line, 3);
  assert_int_equal(section->n_entries, 3);
  assert_string_equal(section->entries[0].value, "a");
  assert_string_equal(section->entries[1].value, "b");
  assert_int_equal(section->entries[1].line, 5);
  assert_string_equal(section->entries[2].key,
                      "a-key-of-more-than-fifty-letters-which-is-many-for-it");
  assert_int_equal(section->entries[2].line, 7);
  got_clear(&got);
}

// A line is read whole, however long it is and whatever ends it.
static void
test_long_lines(void** state) {
  (void)state;
  static const char* const ends[] = {"\n", "\r\n", ""};
  for (size_t n = 190; n < 300; ++n) {
    for (size_t i = 0; i < COUNT(ends); ++i) {
      char text[400] = "[s]\nk = ";
      memset(text + 8, 'v', n - 4U);
      strcpy(text + 4U + n, ends[i]);
      Got got = read_text(text);
      assert_int_equal(got.faults.n, 0);
      assert_int_equal(strlen(got.file.sections[0].entries[0].value), n - 4U);
      got_clear(&got);
    }
  }
}

// Comments may be as long as they like.
static void
test_long_comment(void** state) {
  (void)state;
  char text[1024] = "#";
  memset(text + 1, 'x', 900);
  strcpy(text + 901, "\n[s]\nk = v\n");
  assert_true(check_good(&(Good){text, "v", 3}));
}

/* Faults */

/// A text, and the first that is said of it.
typedef struct {
  const char* text;
  unsigned    line;
  const char* what;
  size_t      n_faults;
} Bad;

/// The line that the first fault is said of, what it is, and the remedy, each
/// behind the other.
static const char*
first_fault(const Got* got, unsigned* line) {
  static const char start[] = "volleyweave: a.ini:";
  char*             end = NULL;
  if (strncmp(got->said, start, strlen(start)) != 0) {
    return NULL;
  }
  *line = (unsigned)strtoul(got->said + strlen(start), &end, 10);
  return end;
}

static bool
check_bad(const Bad* bad) {
  Got               got = read_text(bad->text);
  unsigned          line = 0;
  const char* const first = first_fault(&got, &line);
  const char* const what = first ? strstr(first, bad->what) : NULL;
  const bool        same = got.faults.n == bad->n_faults && what &&
                    line == bad->line && strstr(what, ": ") &&
                    strstr(what, ": ") < strchr(what, '\n');
  if (!same) {
    fprintf(
      stderr, "%s\n  %s\n  %zu faults\n", bad->text, got.said, got.faults.n);
  }
  got_clear(&got);
  return same;
}

static void
test_bad(void** state) {
  (void)state;
  static const Bad bads[] = {
    {"k = v\n[s]\n", 1, "above the first section", 1},
    {"[s]\nv\n", 2, "neither", 1},
    {"[s]\n= v\n", 2, "neither", 1},
    {"[s]\nk: v\n", 2, "neither", 1},
    {"[s]\nk: v = w\n", 2, "neither", 1},
    {"[s]\nk ;v = w\n", 2, "neither", 1},
    {"[s\nk = v\n", 1, "without its ]", 2},
    {"[]\n", 1, "without a name", 1},
    {"[s] t\n", 1, "without its ]", 1},
    {"[s]\n\n[t]\n[s]\n", 4, "stands twice", 1},
    {"[s]\nk = v\nk = w\n", 3, "given twice", 1},
    {"[s]\nk = v\n\x01\n", 3, "control character", 1},
    {"[s]\nk = a\rb\n", 2, "control character", 1},
    {"[s]\nk = \x7F\n", 2, "control character", 1},
    {"[s]\nk = \xFF\n", 2, "not UTF-8", 1},
    {"[s]\nk = \xC3\n", 2, "not UTF-8", 1},
    {"[s]\nk = \xED\xA0\x80\n", 2, "not UTF-8", 1},
    {"[s]\nk = \"v\n", 2, "closing quote", 1},
    {"[s]\nk = \"v\"w\n", 2, "behind the closing quote", 1},
    {"[s]\nk = \"\\q\"\n", 2, "backslash", 1},
    {"[s]\nk = \"\\x0\"\n", 2, "backslash", 1},
    {"[s]\nk = \"\\x00\"\n", 2, "backslash", 1},
    {"[s]\nk = \"\\xFF\"\n", 2, "not UTF-8", 1},
    // All faults are told, each with its line.
    {"a\n[s]\nb\nk = v\nk = v\n", 1, "neither", 3},
  };
  bool ok = true;
  for (size_t i = 0; i < COUNT(bads); ++i) {
    ok &= check_bad(&bads[i]);
  }
  assert_true(ok);
}

static void
test_many_faults(void** state) {
  (void)state;
  char text[400] = "";
  for (int i = 0; i < 100; ++i) {
    strcat(text, "x\n");
  }
  Got got = read_text(text);
  assert_int_equal(got.faults.n, 100);
  assert_int_equal(count_lines(got.said, strlen(got.said)), 20U + 1U);
  assert_non_null(strstr(got.said, "volleyweave: a.ini:20: "));
  got_clear(&got);
}

static void
test_size(void** state) {
  (void)state;
  const size_t most = 1000000;
  char* const  bytes = malloc(most + 1U);
  assert_non_null(bytes);
  memset(bytes, '\n', most + 1U);
  memcpy(bytes + most - 9U, "[s]\nk = v", 9);
  Got got = read_bytes(bytes, most);
  assert_int_equal(got.faults.n, 0);
  assert_int_equal(got.file.n_sections, 1);
  got_clear(&got);
  got = read_bytes(bytes, most + 1U);
  assert_int_equal(got.faults.n, 1);
  assert_non_null(strstr(got.said, "a.ini: it is longer than 1 MB: "));
  assert_int_equal(got.file.n_sections, 0);
  got_clear(&got);
  got = read_bytes("[s]\nk = \0v\n", 11);
  assert_int_equal(got.faults.n, 1);
  assert_int_equal(got.file.n_sections, 0);
  got_clear(&got);
  free(bytes);
}

static void
test_no_file(void** state) {
  (void)state;
  static const char* const bad[][2] = {{"gone", "gone: "}, {".", ".: "}};
  for (size_t i = 0; i < COUNT(bad); ++i) {
    Got got = read_named(bad[i][0]);
    assert_false(got.good);
    assert_non_null(strstr(got.said, bad[i][1]));
    assert_int_equal(got.faults.n, 0);
    assert_null(got.file.sections);
    got_clear(&got);
  }
  ini_clear(NULL);
}

/* Whatever comes */

/// Numbers from a seed (G. Marsaglia, "Xorshift RNGs", J. Stat. Softw. 8(14),
/// 2003).
static uint32_t
next_number(uint32_t* state, uint32_t below) {
  *state ^= *state << 13U;
  *state ^= *state >> 17U;
  *state ^= *state << 5U;
  return *state % below;
}

/// A text of a few characters, awkward ones among them.
static void
put_value(uint32_t* state, char* to) {
  static const char* const pieces[] = {"a",
                                       "Z",
                                       "9",
                                       " ",
                                       ";",
                                       "#",
                                       "\"",
                                       "\\",
                                       "\n",
                                       "\t",
                                       "=",
                                       ":",
                                       "[",
                                       "]",
                                       "x41",
                                       "\x01",
                                       "\x7F",
                                       "\xC3\xA4",
                                       "\xE2\x82\xAC",
                                       "\r"};
  *to = '\0';
  for (uint32_t n = next_number(state, 12); n; --n) {
    strcat(to, pieces[next_number(state, COUNT(pieces))]);
  }
}

// What is quoted and written, in whatever layout, is read the same.
static void
test_quoted(void** state) {
  (void)state;
  static const char* const indents[] = {"", "  ", "\t"};
  static const char* const equals[] = {"=", " = ", "\t= "};
  static const char* const ends[] = {"\n", "\r\n", " ; c\n", "\n\n# c\n"};
  uint32_t                 random = 1;
  for (int i = 0; i < 3000; ++i) {
    char value[64];
    char text[400];
    put_value(&random, value);
    char* const quoted = ini_quote(value);
    assert_non_null(quoted);
    (void)snprintf(text,
                   sizeof(text),
                   "[s]\n%sk%s%s%s",
                   indents[next_number(&random, 3)],
                   equals[next_number(&random, 3)],
                   quoted,
                   ends[next_number(&random, 4)]);
    assert_true(check_good(&(Good){text, value, 2}));
    free(quoted);
  }
}

/// Whether what was read of anything makes sense.
static void
check_sense(const Got* got, unsigned n_lines) {
  unsigned line = 0;
  assert_true((got->faults.n == 0) == !*got->said);
  assert_true(!*got->said || (first_fault(got, &line) && line <= n_lines));
  line = 0;
  for (size_t i = 0; i < got->file.n_sections; ++i) {
    const IniSection* const section = &got->file.sections[i];
    assert_true(*section->name && section->line > line);
    line = section->line;
    for (size_t k = 0; k < section->n_entries; ++k) {
      assert_true(*section->entries[k].key && section->entries[k].line > line);
      line = section->entries[k].line;
    }
  }
  assert_true(line <= n_lines);
}

// Rubbish is refused or read, and never more than it holds.
static void
test_rubbish(void** state) {
  (void)state;
  static const char likely[] = "[]=;#\"\\\n\r \tabx0\xC3\xA4:";
  uint32_t          random = 7;
  for (int i = 0; i < 3000; ++i) {
    char         bytes[600];
    const size_t n_bytes = next_number(&random, sizeof(bytes));
    const bool   wild = i % 4 == 0;
    for (size_t k = 0; k < n_bytes; ++k) {
      bytes[k] = wild ? (char)next_number(&random, 256)
                      : likely[next_number(&random, sizeof(likely) - 1U)];
    }
    Got got = read_bytes(bytes, n_bytes);
    check_sense(&got, count_lines(bytes, n_bytes));
    got_clear(&got);
  }
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    TEST(test_good),
    TEST(test_lines),
    TEST(test_long_lines),
    TEST(test_long_comment),
    TEST(test_bad),
    TEST(test_many_faults),
    TEST(test_size),
    TEST(test_no_file),
    TEST(test_quoted),
    TEST(test_rubbish),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
