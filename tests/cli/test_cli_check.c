// check, as a person runs it.

#include "support/check.h"
#include "support/plain_wav.h"
#include "support/run.h"
#include "support/terminals.h"
#include "support/wav_files.h"

#include <jansson.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include <cmocka.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

static bool
check_case(const RunCase* wanted) {
  return run_gave(run(wanted->line), wanted);
}

static void
test_lines(void** state) {
  (void)state;
  static const RunCase cases[] = {
    {"check --board wav-44k-mono good",
     0,
     "good: good for wav-44k-mono: 2 "
     "files, 17728 bytes, 17728 on the "
     "card\n",
     NULL},
    {"check -q --board wav-44k-mono good", 0, NULL, NULL},
    {"check --board wav-44k-mono bad/a.wav",
     3,
     "bad/a.wav: a chunk `LIST` of 18 bytes comes before the sound: it is "
     "played as noise, or the file refused: write it again with "
     "`volleyweave convert`\n",
     NULL},
    {"check -q --board wav-44k-mono bad", 3, "bad/a.wav: ", NULL},
    {"check --board wav-44k-mono good bad", 3, "good: good for", NULL},
    {"check --board wav-22k-mono good", 3, "takes 22050", NULL},
    {"check --board wav-44k-mono poor.wav",
     0,
     "good for",
     "poor.wav: warning: it starts with 10 ms of silence"},
    {"check -q --board wav-44k-mono poor.wav", 0, NULL, NULL},
    {"check --board wav-44k-mono gone", 1, NULL, "gone: no file"},
    {"check --board wav-44k-mono gone bad good", 1, "bad/a.wav", "1 of 3"},
    {"check --board none-such good", 2, NULL, "none-such: no such board"},
    {"check --board wav-44k-mono", 2, NULL, "no file is given"},
    {"check good", 2, NULL, "--board: no board is given"},
    {"check --bits 8 good", 2, NULL, "no such option"},
    {"loop --to card poor.wav", 2, NULL, "use `volleyweave deliver`"},
    {"verify good", 2, NULL, "did you mean `volleyweave check"},
    {"copy good", 2, NULL, "did you mean `volleyweave deliver"},
    {"check --help", 0, "--board BOARD", NULL},
  };
  bool ok = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    ok &= check_case(&cases[i]);
  }
  assert_true(ok);
}

static void
test_json(void** state) {
  (void)state;
  Run         made = run("check --json --board wav-44k-mono bad");
  json_t*     object = json_loads(made.out, 0, NULL);
  const char* path = NULL;
  const char* what = NULL;
  const char* remedy = NULL;
  json_int_t  schema = 0;
  json_int_t  n_files = 0;
  json_int_t  n_bytes = 0;
  assert_int_equal(made.status, 3);
  assert_string_equal(made.err, "");
  assert_int_equal(json_unpack(object,
                               "{s:I, s:n, s:n, s:I, s:I, s:[{s:s, s:s, s:s}]}",
                               "schema",
                               &schema,
                               "error",
                               "capacity_bytes",
                               "files_total",
                               &n_files,
                               "bytes_on_card",
                               &n_bytes,
                               "faults",
                               "path",
                               &path,
                               "fault",
                               &what,
                               "remedy",
                               &remedy),
                   0);
  assert_int_equal(schema, 1);
  assert_int_equal(n_files, 1);
  assert_int_equal(n_bytes, 8882);
  assert_string_equal(path, "bad/a.wav");
  assert_non_null(strstr(what, "`LIST`"));
  assert_true(remedy[0] != '\0');
  json_decref(object);
  run_clear(&made);
}

// What the program makes is what it finds good.
static void
test_own_files(void** state) {
  (void)state;
  static const RunCase cases[] = {
    {"loop -q --form whole-file --sample-rate 22050 -o own poor.wav",
     0,
     NULL,
     NULL},
    {"check --board wav-22k-mono own",
     0,
     "own: good for wav-22k-mono: 2 files",
     NULL},
    {"check --board wav-22k-mono own",
     0,
     "lists, .volleyweave.*, are not for the card",
     NULL},
    {"loop -q --form pieces -o own3 poor.wav", 0, NULL, NULL},
    {"check -q --board wav-44k-mono own3/poor.shot.wav", 0, NULL, NULL},
    {"check --board wav-44k-mono own3/poor.loop.wav",
     3,
     "pieces, use `volleyweave loop --board` with this board",
     NULL},
    {"loop -q -f --board wav-44k-mono -o own3 poor.wav", 0, NULL, NULL},
    {"check --board wav-44k-mono own3/poor.loop.wav",
     0,
     "own3/poor.loop.wav: good for wav-44k-mono: 1 file",
     NULL},
    {"loop -q --board ogg-44k-mono -o own4 poor.wav", 0, NULL, NULL},
    {"check --board ogg-44k-mono own4/poor.loop.ogg",
     0,
     "good for ogg-44k-mono but for 1 warning: 1 file",
     "own4/poor.loop.ogg: warning: a loop in Ogg: the format pads its last "
     "block, up to 2048 frames (46 ms)"},
    {"check --board ogg-44k-mono own4/poor.shot.ogg", 0, "good for", NULL},
  };
  bool ok = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    ok &= check_case(&cases[i]);
  }
  assert_true(ok);
}

// What may be padded stands in the file: by the sample rate it is another. The
// byte is the 57th, its upper half the exponent (Vorbis I specification, 4.2.2,
// behind one page header of RFC 3533 with one length).
static bool
check_padding(const char* rate, unsigned n_wanted) {
  char   text[96];
  char   line[160];
  size_t n_bytes = 0;
  (void)snprintf(
    text, sizeof(text), "[format]\ncontainer = ogg\nsample-rate = %s\n", rate);
  bytes_write("packed.board.ini", text, strlen(text));
  Run made = run("loop --force --fire-rate 9 --board ./packed.board.ini -o "
                 "packed poor.wav");
  char* const    bytes = read_file("packed/poor.loop.ogg", &n_bytes);
  const unsigned n_frames =
    bytes && n_bytes > 57U ? 1U << ((unsigned char)bytes[56] >> 4U) : 0U;
  (void)snprintf(line,
                 sizeof(line),
                 "up to %u frames (%.0f ms)",
                 n_frames,
                 1000.0 * n_frames / atof(rate));
  bool good = run_check(!made.status && strstr(made.err, line), &made, line);
  // As libvorbis 1.3 has it, read from its files.
  good &= check_equal(n_frames, n_wanted, "block at %s Hz", rate);
  Run checked = run("check --board ./packed.board.ini packed/poor.loop.ogg");
  good &= run_check(strstr(checked.err, line), &checked, line);
  run_clear(&made);
  run_clear(&checked);
  free(bytes);
  return good;
}

static void
test_padding(void** state) {
  (void)state;
  bool good = check_padding("8000", 512U);
  good &= check_padding("22050", 1024U);
  good &= check_padding("44100", 2048U);
  assert_true(good);
}

/// Whether no line of a text is wider than a terminal, more than one is there,
/// and without the ends of lines it reads as when it goes to a file.
static bool
flows(const char* shown, const char* whole, size_t width) {
  size_t n_lines = 0;
  bool   good = true;
  for (const char* line = shown; *line; ++n_lines) {
    good &= terminal_columns(line) < width;
    line += strcspn(line, "\n");
    line += *line ? 1U : 0U;
  }
  while (good && *shown) {
    const bool blank = strchr(" \r\n", *shown) != NULL;
    shown += strspn(shown, " \r\n");
    good = blank == (strchr(" \n", *whole) != NULL);
    whole += strspn(whole, " \n");
    good = good && *shown == *whole;
    shown += *shown ? 1U : 0U;
    whole += *whole ? 1U : 0U;
  }
  return good && !*whole && n_lines > 1U;
}

// Before a terminal what is said breaks between words; in a file it is one line
// for each fault.
static void
test_terminal(void** state) {
  (void)state;
  static const struct {
    const char* line;
    bool        errors;
  } cases[] = {
    {"check --board wav-44k-mono bad", false},
    {"check --board ogg-44k-mono own4/poor.loop.ogg", true},
    {"deliver bad --to bad", true},
    {"rehearse --hold 1s --board wav-44k-mono -o it.wav", true},
  };
  // What COLUMNS asks for counts where it is less.
  static const struct {
    unsigned short terminal;
    const char*    wanted;
    unsigned short width;
  } widths[] = {{80U, "", 80U}, {60U, "", 60U}, {80U, "50", 50U}};
  bool ok = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    for (size_t k = 0; k < COUNT(widths); ++k) {
      const TestTerminal terminal = {widths[k].terminal, cases[i].errors};
      setenv("COLUMNS", widths[k].wanted, 1);
      Run whole = run(cases[i].line);
      Run shown = terminal_run(&terminal, cases[i].line);
      ok &= run_check(cases[i].errors
                        ? flows(shown.err, whole.err, widths[k].width)
                        : flows(shown.out, whole.out, widths[k].width),
                      &shown,
                      cases[i].line);
      run_clear(&whole);
      run_clear(&shown);
      unsetenv("COLUMNS");
    }
  }
  assert_true(ok);
}

int
main(int argc, char** argv) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_lines),
    cmocka_unit_test(test_json),
    cmocka_unit_test(test_own_files),
    cmocka_unit_test(test_padding),
    cmocka_unit_test(test_terminal),
  };
  run_set_up(argc, argv);
  (void)mkdir("good", 0777);
  (void)mkdir("bad", 0777);
  plain_wav_put("good/a.wav", &(PlainWav){0});
  plain_wav_put("good/b.wav", &(PlainWav){0});
  plain_wav_put("bad/a.wav", &(PlainWav){.before = "LIST"});
  plain_wav_put("poor.wav", &(PlainWav){.lead = 441, .n_frames = 8820});
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  run_tear_down();
  return failed;
}
