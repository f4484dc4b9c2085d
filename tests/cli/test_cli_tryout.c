// The page for a browser: which blocks are written into it, and how a plain one
// plays what was made; when it is written, and when it is left alone.

#include "support/check.h"
#include "support/reports.h"
#include "support/run.h"
#include "support/wav_files.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

#define B "--board wav-22k-mono "
#define PAGE "out/tryout.html"
#define BLOCK "<script type=\"application/json\" class=\"written\">"
#define BEFORE "<!DOCTYPE html>\n<p>before</p>\n"
#define AFTER "<script id=\"stream\">after</script>\n"

#define TEST(function)                                                         \
  cmocka_unit_test_setup_teardown(function, enter_folder, run_leave_folder)

#define ZAPS                                                                   \
  "[sound zap]\ntake = zap.wav\nmake = shot\nslot = 7\n"                       \
  "[sound zaps]\ntake = zap.wav\nmake = loop\nfire-rate = 9/s\nslot = 8\n"     \
  "[sound both]\ntake = zap.wav\ntake = more/zap.wav\nmake = loop\nslot = 9\n" \
  "[sound hum]\ntake = hum.wav\nmake = whole\nlevel = -6\nslot = 10\n"

/* The program as it is installed, beside a page as it would be built */

static char built[4096 + 60]; ///< The page.

static void
put(const char* path, const char* text) {
  bytes_write(path, text, strlen(text));
}

static void
shell(const char* line) {
  Run done = run_shell(line);
  assert_true(run_check(!done.status, &done, line));
  run_clear(&done);
}

/// Install a copy of the program in the folder that is entered, and use that.
static int
install(void** state) {
  char here[4096] = "";
  char program[sizeof(here) + 20];
  (void)state;
  shell(
    "mkdir -p bin share/volleyweave && cp \"$VOLLEYWEAVE\" bin/volleyweave");
  assert_non_null(getcwd(here, sizeof(here)));
  (void)snprintf(program, sizeof(program), "%s/bin/volleyweave", here);
  (void)snprintf(
    built, sizeof(built), "%s/share/volleyweave/volleyweave.html", here);
  return setenv("VOLLEYWEAVE", program, 1);
}

static int
enter_folder(void** state) {
  const int failed = run_enter_folder(state);
  put(built, BEFORE "<!-- written -->\n" AFTER);
  assert_int_equal(mkdir("more", 0777), 0);
  wav_file_write(&(WavFile){.path = "zap.wav", .seconds = 0.8});
  wav_file_write(&(WavFile){.path = "more/zap.wav", .seconds = 0.7});
  wav_file_write(
    &(WavFile){.path = "hum.wav", .fill = FILL_HUM, .seconds = 1.0});
  wav_file_write(
    &(WavFile){.path = "still.wav", .fill = FILL_SILENCE, .seconds = 1.0});
  put("sounds.ini", "[prop]\nname = Fog knapper\n" ZAPS);
  shell("\"$VOLLEYWEAVE\" boards wav-22k-mono | sed 's/^gap.*/gap = 20/; "
        "s/^parts.*/parts = no/; s/^digits.*/digits = 2/' >own.board.ini");
  return failed;
}

static void
expect(const char* line, int status, const char* out, const char* err) {
  const RunCase wanted = {line, status, out, err};
  assert_true(run_gave(run(line), &wanted));
}

/* Its blocks */

#define BLOCKS_MOST 20U

/// What is written into a page.
typedef struct {
  json_t* blocks[BLOCKS_MOST]; ///< What comes first, then the files.
  size_t  n;
} Written;

/// Read a page of which nothing but the blocks is written; stops the test if
/// there is more.
static Written
read_blocks(const char* path) {
  Written     written = {.n = 0};
  size_t      n = 0;
  char* const page = read_file(path, &n);
  assert_true(page && !strncmp(page, BEFORE, strlen(BEFORE)));
  char* at = page + strlen(BEFORE);
  while (!strncmp(at, BLOCK, strlen(BLOCK)) && written.n < BLOCKS_MOST) {
    at += strlen(BLOCK);
    char* const end = strstr(at, "</script>\n");
    assert_non_null(end);
    // No markup stands in it, which could end it.
    assert_true(strcspn(at, "<>&") == (size_t)(end - at));
    json_t* const block = json_loadb(at, (size_t)(end - at), 0, NULL);
    assert_non_null(block);
    written.blocks[written.n++] = block;
    at = end + strlen("</script>\n");
  }
  assert_string_equal(at, AFTER);
  free(page);
  return written;
}

static void
clear(Written* written) {
  for (size_t i = 0; i < written->n; ++i) {
    json_decref(written->blocks[i]);
  }
}

static const char*
string_at(const json_t* object, const char* key) {
  const char* const text = json_string_value(json_object_get(object, key));
  return text ? text : "";
}

/// Read base64 (RFC 4648) up to a letter that is none, in place. Returns how
/// many bytes it is.
static size_t
decode(const char* text, unsigned char* bytes) {
  static const char letters[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
                                "abcdefghijklmnopqrstuvwxyz0123456789+/";
  unsigned long     bits = 0;
  size_t            n = 0;
  unsigned          n_bits = 0;
  for (const char* at; *text && (at = strchr(letters, *text)); ++text) {
    bits = (bits << 6U | (unsigned long)(at - letters)) & 0xFFFFFFUL;
    n_bits += 6U;
    if (n_bits >= 8U) {
      n_bits -= 8U;
      bytes[n++] = (unsigned char)(bits >> n_bits);
    }
  }
  return n;
}

/// Whether base64 is the bytes of a file.
static bool
is_file(const char* text, const char* path) {
  unsigned char* const bytes = malloc(strlen(text) + 1U);
  const size_t         n = decode(text, bytes);
  const bool           is =
    check_that(has_bytes(path, (const char*)bytes, n), "%s", path);
  free(bytes);
  return is;
}

/// Whether the `index`th file has a name, and the bytes of a file.
static bool
holds(const Written* written,
      size_t         index,
      const char*    name,
      const char*    path) {
  const json_t* const block =
    index + 1U < written->n ? written->blocks[index + 1U] : NULL;
  return check_that(!strcmp(string_at(block, "name"), name),
                    "%s, not %s",
                    name,
                    string_at(block, "name")) &&
         is_file(string_at(block, "bytes"), path);
}

/// Whether what comes first is this, as JSON.
static bool
begins(const Written* written, const char* json) {
  json_t* const wanted = json_loads(json, 0, NULL);
  char* const   is = json_dumps(written->blocks[0], 0);
  assert_non_null(wanted);
  const bool good =
    check_that(json_equal(wanted, written->blocks[0]), "%s, not %s", json, is);
  free(is);
  json_decref(wanted);
  return good;
}

/* Takes */

/// A line, and what it writes into the page.
typedef struct {
  const char* line;
  int         status;
  const char* first;
  const char* files[3][2]; ///< Name and path of each.
} TakesCase;

static const TakesCase takes_cases[] = {
  {"zap.wav",
   0,
   "{\"title\": \"\", \"board\": \"\", \"settings\": {}, \"left_out\": []}",
   {{"zap.wav", "zap.wav"}}},
  // Two of one name; what was given, as it was given, but for where it goes.
  {"--board own.board.ini --fire-rate 540/min --slot 3 -f --name Fog "
   "--valley 12 zap.wav more/zap.wav",
   0,
   "{\"title\": \"Fog\", \"board\": \"own.board.ini\", \"settings\": "
   "{\"fire-rate\": \"540/min\", \"valley\": \"12\", \"name\": \"Fog\"}, "
   "\"left_out\": []}",
   {{"own.board.ini", "own.board.ini"},
    {"zap.wav", "zap.wav"},
    {"2-zap.wav", "more/zap.wav"}}},
  {"--board wav-44k-mono --take-as-is hum.wav", 2, NULL, {{NULL, NULL}}},
  // One that cannot be used is left out.
  {B "still.wav hum.wav gone.wav",
   1,
   "{\"title\": \"\", \"board\": \"wav-22k-mono\", \"settings\": {}, "
   "\"left_out\": []}",
   {{"hum.wav", "hum.wav"}}},
  {"still.wav", 1, NULL, {{NULL, NULL}}},
  {"-n zap.wav", 0, NULL, {{NULL, NULL}}},
  // Markup stays text.
  {"--name <script><b>& -- </script>&.wav",
   0,
   "{\"title\": \"<script><b>&\", \"board\": \"\", \"settings\": {\"name\": "
   "\"<script><b>&\"}, \"left_out\": []}",
   {{"script>&.wav", "</script>&.wav"}}},
  // Names that are none elsewhere.
  {"one\\two\x01.wav",
   0,
   "{\"title\": \"\", \"board\": \"\", \"settings\": {}, \"left_out\": []}",
   {{"one_two_x01.wav", "one\\two\x01.wav"}}},
};

static void
test_takes(void** state) {
  (void)state;
  bool ok = true;
  assert_int_equal(mkdir("<", 0777), 0);
  wav_file_write(&(WavFile){.path = "</script>&.wav", .seconds = 0.7});
  wav_file_write(&(WavFile){.path = "one\\two\x01.wav", .seconds = 0.7});
  for (size_t i = 0; i < COUNT(takes_cases); ++i) {
    const TakesCase* const wanted = &takes_cases[i];
    char                   line[300];
    (void)remove("page.html");
    (void)snprintf(
      line, sizeof(line), "tryout -q -o page.html %s", wanted->line);
    Run done = run(line);
    ok &= run_check(done.status == wanted->status, &done, line);
    run_clear(&done);
    if (!wanted->first) {
      ok &= check_that(access("page.html", F_OK) != 0, "a page: %s", line);
      continue;
    }
    Written written = read_blocks("page.html");
    size_t  n = 0;
    ok &= begins(&written, wanted->first);
    for (; n < 3U && wanted->files[n][0]; ++n) {
      ok &= holds(&written, n, wanted->files[n][0], wanted->files[n][1]);
    }
    ok &= check_equal((double)written.n, (double)n + 1.0, "blocks: %s", line);
    clear(&written);
  }
  assert_true(ok);
}

/// A take that cannot be used is said in the words that `loop` has for it.
static void
test_said(void** state) {
  (void)state;
  static const char* const takes[] = {"still.wav", "gone.wav", "sounds.ini"};
  for (size_t i = 0; i < COUNT(takes); ++i) {
    char line[80];
    (void)snprintf(line, sizeof(line), "loop -n %s", takes[i]);
    Run loop = run(line);
    (void)snprintf(line, sizeof(line), "tryout -o page.html %s", takes[i]);
    Run page = run(line);
    assert_true(run_check(page.status == 1, &page, line));
    assert_string_equal(page.err, loop.err);
    run_clear(&loop);
    run_clear(&page);
  }
}

/// The default board, by its file.
static void
test_usual_board(void** state) {
  (void)state;
  shell("mkdir -p config/volleyweave/boards && "
        "cp own.board.ini config/volleyweave/boards && "
        "XDG_CONFIG_HOME=$PWD/config VOLLEYWEAVE_BOARD=own \"$VOLLEYWEAVE\" "
        "tryout -q -o page.html zap.wav");
  Written written = read_blocks("page.html");
  assert_string_equal(string_at(written.blocks[0], "board"), "own.board.ini");
  assert_true(holds(&written, 0, "own.board.ini", "own.board.ini"));
  clear(&written);
}

/// Write a take, and behind its sound a chunk of zeros.
static void
write_large(const char* path, size_t n_bytes) {
  char          line[300];
  const double  junk = (double)n_bytes - 44.0 - 2.0 * 30000.0 - 8.0;
  const size_t  n = (size_t)junk;
  unsigned char size[4];
  for (unsigned i = 0; i < 4U; ++i) {
    size[i] = (unsigned char)(n >> (8U * i) & 0xFFU);
  }
  wav_file_write(&(WavFile){.path = path, .n_frames = 30000U});
  bytes_write("size", size, sizeof(size));
  (void)snprintf(line,
                 sizeof(line),
                 "(printf junk; cat size) >>%s && truncate -s %zu %s",
                 path,
                 n_bytes,
                 path);
  shell(line);
}

/// What finds no room is named, and said; what comes after it may find some.
static void
test_left_out(void** state) {
  (void)state;
  // So many characters a browser opens in some seconds (measured here).
  write_large("huge.wav", 64000000U / 4U * 3U + 2U);
  write_large("large.wav", 64000000U / 8U * 3U + 300002U);
  Run done = run("tryout -q -o page.html huge.wav large.wav zap.wav");
  assert_true(run_check(
    !done.status && is_one_line_with(done.err, "huge.wav"), &done, "no room"));
  run_clear(&done);
  Written written = read_blocks("page.html");
  assert_true(begins(&written,
                     "{\"title\": \"\", \"board\": \"\", \"settings\": {}, "
                     "\"left_out\": [\"huge.wav\"]}"));
  assert_int_equal(written.n, 3);
  assert_true(holds(&written, 0, "large.wav", "large.wav"));
  clear(&written);
}

/// A page of takes says in JSON what is in it: a line for each take, one for
/// all.
static void
test_json(void** state) {
  (void)state;
  static const char line[] =
    "tryout --json --fire-rate 9 -o page.html " B "zap.wav still.wav";
  Run           done = run(line);
  json_t* const made = parse_line(done.out, 0);
  json_t* const failed = parse_line(done.out, 1U);
  json_t* const page = parse_line(done.out, 2U);
  assert_true(
    run_check(done.status == 1 && made && failed && page, &done, line));
  assert_string_equal(string_at(made, "command"), "tryout");
  assert_true(number_at(made, "loop.fire_rate_per_s") > 8.99);
  assert_true(number_at(made, "loop.fire_rate_per_s") < 9.01);
  assert_true(json_is_object(json_object_get(failed, "error")));
  assert_string_equal(string_at(page, "page"), "page.html");
  assert_true(number_at(page, "sounds_total") == 2.0);
  assert_true(number_at(page, "sounds_failed") == 1.0);
  json_decref(made);
  json_decref(failed);
  json_decref(page);
  run_clear(&done);
}

/* Props */

/// What a page holds makes the same pack: for the boards and with the options
/// of the command line, of takes of one name from two folders.
static void
test_same_pack(void** state) {
  (void)state;
  static const char name[] = "again/sounds.ini";
  put("sounds.ini",
      "[prop]\nname = \"Fog; <b>\"\nloudness = -20\nvalley = 6\n"
      "boards = raw-8k-8bit, own.board.ini\n[lamp]\nsupply = 9V\n" ZAPS
      "[sound both on own]\nlevel = -3\nslot = 11\nmake = burst 3\n"
      "[sound zap on raw-8k-8bit]\nlevel = -6\n");
  expect("pack -q -o out --fire-rate 8 --valley 10 --board own.board.ini " B
         "sounds.ini",
         0,
         "",
         "");
  Written written = read_blocks(PAGE);
  bool    ok = begins(&written,
                   "{\"title\": \"Fog; <b>\", \"board\": \"own.board.ini\", "
                      "\"settings\": {}, \"left_out\": []}");
  assert_int_equal(mkdir("again", 0777), 0);
  assert_int_equal(written.n, 6);
  for (size_t i = 1; i < written.n; ++i) {
    char                 path[80];
    const char* const    text = string_at(written.blocks[i], "bytes");
    unsigned char* const bytes = malloc(strlen(text) + 1U);
    (void)snprintf(
      path, sizeof(path), "again/%s", string_at(written.blocks[i], "name"));
    bytes_write(path, bytes, decode(text, bytes));
    free(bytes);
  }
  ok &= holds(&written, 0, "own.board.ini", "own.board.ini") &&
        holds(&written, 2, "2-zap.wav", "more/zap.wav");
  size_t      n = 0;
  char* const text = read_file(name, &n);
  ok &= check_that(
    text && strstr(text, "boards = own.board.ini, wav-22k-mono\n"), "boards");
  ok &= check_that(text && strstr(text, "[lamp]\nsupply = 9V\n"), "lamp");
  free(text);
  clear(&written);
  expect("pack -q -o same again/sounds.ini", 0, "", "");
  shell("diff -r -x '.*' out/own same/own && "
        "diff -r -x '.*' out/wav-22k-mono same/wav-22k-mono");
  assert_true(ok);
}

/// The takes of a folder, and what was guessed of them.
static void
test_folder(void** state) {
  (void)state;
  expect("pack -q -o out " B "more", 0, "", "");
  Written written = read_blocks(PAGE);
  assert_int_equal(written.n, 3);
  assert_string_equal(string_at(written.blocks[0], "title"), "more");
  assert_string_equal(string_at(written.blocks[0], "board"), "wav-22k-mono");
  assert_true(holds(&written, 0, "zap.wav", "more/zap.wav"));
  clear(&written);
}

/// A take that is missing has a name in the text all the same, which no other
/// file has.
static void
test_missing(void** state) {
  (void)state;
  assert_int_equal(remove("more/zap.wav"), 0);
  Run made = run("pack -q -o out " B "sounds.ini");
  assert_int_equal(made.status, 1);
  run_clear(&made);
  Written written = read_blocks(PAGE);
  assert_int_equal(written.n, 4);
  unsigned char     bytes[4096] = "";
  const char* const text = string_at(written.blocks[3], "bytes");
  assert_true(strlen(text) < sizeof(bytes) && decode(text, bytes) > 0U);
  assert_non_null(
    strstr((const char*)bytes, "take = zap.wav\ntake = 2-zap.wav"));
  clear(&written);
}

/* The plain page */

/// How often a text is in a page.
static size_t
count_in(const char* page, const char* text) {
  size_t n = 0;
  for (const char* at = page; (at = strstr(at, text)); at += strlen(text)) {
    ++n;
  }
  return n;
}

/// Read a plain page, and prove that nothing in it acts by itself.
static char*
read_plain(const char* path) {
  size_t      n = 0;
  char* const page = read_file(path, &n);
  assert_non_null(page);
  assert_non_null(strstr(page, "default-src 'none'; media-src"));
  assert_non_null(strstr(page, "tools/build-page"));
  assert_non_null(strstr(page, "with the volume down"));
  assert_null(strstr(page, "<script"));
  return page;
}

#define PLAIN "in a browser\n  it plays what was made; tools/build-page puts "

/// Without the page that is built, or where it lacks the place for sounds, a
/// plain one plays the files that `loop` writes, and that is said.
static void
test_plain_takes(void** state) {
  (void)state;
  static const char* const parts[] = {"shot", "runin", "loop", "ringout"};
  static const char* const pages[] = {NULL, "no place"};
  expect("loop -q -o made zap.wav", 0, "", "");
  for (size_t i = 0; i < COUNT(pages); ++i) {
    (void)remove(built);
    if (pages[i]) {
      put(built, pages[i]);
    }
    Run done = run("tryout -f -o page.html --name <b>\"& zap.wav");
    assert_true(run_check(
      !done.status && !done.n_err && strstr(done.out, PLAIN), &done, "plain"));
    run_clear(&done);
    char* const page = read_plain("page.html");
    const char* at = page;
    for (size_t k = 0; k < COUNT(parts); ++k) {
      char path[40];
      (void)snprintf(path, sizeof(path), "made/zap.%s.wav", parts[k]);
      at = strstr(at, ";base64,");
      assert_non_null(at);
      at += strlen(";base64,");
      assert_true(is_file(at, path));
    }
    assert_int_equal(count_in(page, "<audio "), 4);
    assert_int_equal(count_in(page, " loop "), 1);
    assert_int_equal(count_in(page, "<b>"), 0);
    assert_non_null(strstr(page, "<h1>&#60;b&#62;&#34;&#38;</h1>"));
    free(page);
  }
}

/// That of packs has the files beside it, if browsers play them.
static void
test_plain_packs(void** state) {
  (void)state;
  (void)remove(built);
  put("sounds.ini",
      ZAPS "[sound &#]\ntake = zap.wav\nmake = shot\nslot = 2\n"
           "[sound still]\ntake = still.wav\nmake = shot\n");
  Run made = run("pack -q -o out " B "--board raw-8k-8bit sounds.ini");
  assert_int_equal(made.status, 1);
  run_clear(&made);
  char* const page = read_plain(PAGE);
  size_t      n = 0;
  for (const char* at = page; (at = strstr(at, " src=\"")); ++n) {
    char path[200] = "out/";
    at += strlen(" src=\"");
    for (size_t k = strlen(path); *at != '"'; at += *at == '%' ? 3 : 1) {
      assert_null(strchr("&#?", *at));
      const char digits[] = {at[1], at[2], '\0'};
      path[k++] = *at == '%' ? (char)strtol(digits, NULL, 16) : *at;
    }
    assert_true(check_that(!access(path, F_OK), "%s", path));
  }
  assert_int_equal(n, 5);
  assert_int_equal(count_in(page, " loop "), 2);
  assert_int_equal(count_in(page, "no browser plays it"), 5);
  assert_int_equal(count_in(page, "could not be made: "), 2);
  free(page);
}

/* When it is written */

static bool
is_page_there(void) {
  return !access(PAGE, F_OK);
}

static void
test_not_written(void** state) {
  (void)state;
  static const char* const lines[] = {
    "pack -n -o out " B "sounds.ini",
    "pack -q -o out --board small.board.ini sounds.ini",
  };
  shell("\"$VOLLEYWEAVE\" boards wav-22k-mono | sed "
        "'s/^capacity.*/capacity = 1000/' >small.board.ini");
  for (size_t i = 0; i < COUNT(lines); ++i) {
    Run done = run(lines[i]);
    assert_true(run_check(!is_page_there(), &done, lines[i]));
    run_clear(&done);
  }
}

static ino_t
page_inode(void) {
  struct stat status;
  assert_int_equal(stat(PAGE, &status), 0);
  return status.st_ino;
}

/// Where nothing changed it is left alone; it is written where anything did.
static void
test_unchanged(void** state) {
  (void)state;
  static const char* const changes[] = {
    "sed -i 's/9.s/8\\/s/' sounds.ini",
    "sed -i 's/Fog knapper/Reed knapper/' sounds.ini",
    "sed -i 's/slot = 10/slot = 20/' sounds.ini",
    "cp more/zap.wav zap.wav",
    "printf x >>out/tryout.html; rm out/tryout.html",
  };
  expect("pack -q -o out " B "sounds.ini", 0, "", "");
  for (size_t i = 0; i < COUNT(changes); ++i) {
    const ino_t before = page_inode();
    expect("pack -o out " B "sounds.ini", 0, PAGE ": as it was", "");
    assert_true(page_inode() == before);
    shell(changes[i]);
    const bool  gone = !is_page_there();
    size_t      n = 0;
    char* const old = gone ? NULL : read_file(PAGE, &n);
    expect("pack -q -o out " B "sounds.ini", 0, "", "");
    assert_true(check_that(gone || !has_bytes(PAGE, old, n), "%s", changes[i]));
    free(old);
  }
}

/// A stranger's file is not replaced unasked; the packs are made all the same.
static void
test_stranger(void** state) {
  (void)state;
  assert_int_equal(mkdir("out", 0777), 0);
  put(PAGE, "mine");
  Run refused = run("pack -q -o out " B "sounds.ini");
  assert_true(run_check(refused.status == 1 &&
                          is_one_line_with(refused.err, "tryout.html"),
                        &refused,
                        "a stranger's page"));
  run_clear(&refused);
  refused = run("tryout -q -o " PAGE " zap.wav");
  assert_int_equal(refused.status, 1);
  run_clear(&refused);
  assert_true(has_bytes(PAGE, "mine", 4U));
  assert_int_equal(access("out/wav-22k-mono/zap.shot.wav", F_OK), 0);
  expect("pack -q --force -o out " B "sounds.ini", 0, "", "");
  assert_false(has_bytes(PAGE, "mine", 4U));
  // Our own is.
  expect("tryout -q -o out zap.wav", 0, "", "");
}

/// However many threads there are, and whatever was there before.
static void
test_same_bytes(void** state) {
  (void)state;
  size_t n = 0;
  expect("pack -q -j 1 -o out " B "sounds.ini", 0, "", "");
  char* const first = read_file(PAGE, &n);
  shell("rm -r out; \"$VOLLEYWEAVE\" pack -q -j 8 -o out " B "sounds.ini");
  assert_true(has_bytes(PAGE, first, n));
  free(first);
}

/// What interrupts the program leaves the page of before, and nothing beside.
static void
test_interrupted(void** state) {
  (void)state;
  size_t n = 0;
  expect("pack -q -o out " B "sounds.ini", 0, "", "");
  char* const before = read_file(PAGE, &n);
  // The disk is full: a page is larger than the files, which are made already.
  Run full =
    run_shell("sed -i 's/Fog/Reed/' sounds.ini; (ulimit -f 200; trap '' "
              "XFSZ; exec \"$VOLLEYWEAVE\" pack -q -o out " B "sounds.ini)");
  assert_true(run_check(full.status == 1, &full, "a page too large"));
  run_clear(&full);
  assert_true(has_bytes(PAGE, before, n));
  // The pack, the page, and the list of what is written beside the packs.
  assert_int_equal(count_files("out"), 3);
  free(before);
}

/// Neither is the page in the way of what is done with the pack.
static void
test_check_and_deliver(void** state) {
  (void)state;
  assert_int_equal(mkdir("card", 0777), 0);
  expect("pack -q -o out " B "sounds.ini", 0, "", "");
  Run checked = run("check " B "out/wav-22k-mono");
  assert_non_null(strstr(checked.out, "good for wav-22k-mono"));
  assert_null(strstr(checked.out, "tryout"));
  run_clear(&checked);
  Run done = run("deliver -q out/wav-22k-mono --to card");
  assert_true(run_check(done.status == 0, &done, "deliver"));
  assert_int_equal(access("card/zap.shot.wav", F_OK), 0);
  assert_int_equal(access("card/tryout.html", F_OK), -1);
  run_clear(&done);
}

int
main(int argc, char** argv) {
  const struct CMUnitTest tests[] = {
    TEST(test_takes),
    TEST(test_said),
    TEST(test_usual_board),
    TEST(test_left_out),
    TEST(test_json),
    TEST(test_same_pack),
    TEST(test_folder),
    TEST(test_missing),
    TEST(test_plain_takes),
    TEST(test_plain_packs),
    TEST(test_not_written),
    TEST(test_unchanged),
    TEST(test_stranger),
    TEST(test_same_bytes),
    TEST(test_interrupted),
    TEST(test_check_and_deliver),
  };
  run_set_up(argc, argv);
  const int n_failed = cmocka_run_group_tests(tests, install, NULL);
  run_tear_down();
  return n_failed;
}
