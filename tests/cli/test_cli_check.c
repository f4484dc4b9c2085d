// check, as a person runs it.

#include "support/check.h"
#include "support/plain_wav.h"
#include "support/recordings.h"
#include "support/reports.h"
#include "support/riff.h"
#include "support/run.h"
#include "support/terminals.h"
#include "support/wav_files.h"

#include <jansson.h>
#include <math.h>
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
     // As much on the card as its file system has clusters for.
     "good: good for wav-44k-mono: 2 files, 17728 bytes, ",
     NULL},
    {"check -q --board wav-44k-mono good", 0, NULL, NULL},
    {"check --board wav-44k-mono bad/a.wav",
     3,
     "bad/a.wav: a chunk `LIST` of 18 bytes before the sound is played as "
     "noise: write it again with `volleyweave convert`\n",
     NULL},
    {"check -q --board wav-44k-mono bad", 3, "bad/a.wav: ", NULL},
    {"check --board wav-44k-mono good bad", 3, "good: good for", NULL},
    {"check --board wav-22k-mono good", 3, "takes 22050", NULL},
    {"check --board wav-44k-mono poor.wav",
     0,
     "no fault, but mind the 1 warning for wav-44k-mono",
     "poor.wav: warning: it starts with 10 ms of silence"},
    {"check -q --board wav-44k-mono poor.wav", 0, NULL, NULL},
    {"check --board wav-44k-mono gone", 1, NULL, "gone: no file"},
    {"check --board wav-44k-mono gone bad good", 1, "bad/a.wav", "1 of 3"},
    {"check --board none-such good", 2, NULL, "none-such: no such board"},
    {"check --board wav-44k-mono", 2, NULL, "no file is given"},
    {"check good", 2, NULL, "--board: a folder needs a board"},
    {"check --bits 8 good", 2, NULL, "no such option"},
    {"check --to card poor.wav", 2, NULL, "use `volleyweave shot`"},
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

// Without a board a file is a loop; its mended copy takes nothing's place.
static void
test_loops(void** state) {
  (void)state;
  static const RunCase cases[] = {
    {"check -q click.wav", 3, "click.wav: its seam clicks: ", NULL},
    {"check --board none -q click.wav", 3, "`volleyweave mend`", NULL},
    {"check --json click.wav", 3, "\"board\": null, \"loop\": {", NULL},
    {"check --json click.wav", 3, "\"from_frame\": 4409", NULL},
    {"check few.wav", 1, NULL, "few.wav: it is shorter than 5 ms"},
    {"check zap.runin.wav click.wav zap.shot.wav",
     3,
     "Played once, and no loop: zap.shot.wav",
     "a run-in is played once"},
    {"check few.wav zap.shot.wav", 1, "zap.shot.wav", "1 of 2 failed"},
    {"check --json zap.shot.wav", 0, "\"part\": \"shot\"", ""},
    {"mend", 2, NULL, "mend: no file is given: name a loop, as in"},
    {"check good", 2, NULL, "--board: a folder needs a board"},
    {"mend --dry-run click.wav", 0, "check finds nothing more", NULL},
    {"mend click.wav", 0, "written      volleyweave-out/click.loop.wav", NULL},
    {"mend --json click.wav", 0, "\"faults\": []", NULL},
    {"check volleyweave-out/click.loop.wav",
     0,
     "if it stutters, make it with the board's --gap\n",
     NULL},
    {"mend volleyweave-out/click.loop.wav", 0, NULL, "nothing is written"},
    {"mend -f -o click.wav click.wav", 1, NULL, "click.wav: "},
    {"mend click.wav click.wav", 2, NULL, "click.wav: two takes"},
    {"mend few.wav", 1, NULL, "few.wav: it is shorter than 5 ms"},
    {"mend --board wav-44k-mono click.wav", 2, NULL, "--board"},
  };
  plain_wav_put("click.wav", &(PlainWav){.last = 0.4});
  plain_wav_put("few.wav", &(PlainWav){.n_frames = 3U});
  plain_wav_put("zap.shot.wav", &(PlainWav){0});
  plain_wav_put("zap.runin.wav", &(PlainWav){.last = 0.4});
  bool ok = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    ok &= check_case(&cases[i]);
  }
  assert_true(ok);
}

// One side that is late is told of a take and of a loop, and one side alone is
// kept of it.
static void
test_late_side(void** state) {
  (void)state;
  static const RunCase cases[] = {
    {"inspect late.wav",
     0,
     "kind",
     "late.wav: warning: its right side is 8.0 ms late, and the sum of both"},
    {"inspect --json late.wav", 0, "\"side_late_ms\": 7.98", ""},
    {"loop -q --shots 4 -o ours/ late.wav", 0, NULL, NULL},
    {"loop -n late.wav", 0, "mono", "combs: the stronger alone was kept"},
    {"loop -n --channels 2 late.wav", 0, "stereo", "with --channels 1 first"},
    {"check --json late.wav", 0, "\"side_late_ms\": 7.98", ""},
    {"check late.wav",
     0,
     "2 channels",
     "its right side is 8.0 ms late, and the sum of both combs: convert"},
    {"convert -q --channels 1 -o one late.wav", 0, NULL, NULL},
    {"check --json one/late.wav", 0, "\"side_late_ms\": 0,", ""},
  };
  bool ok = true;
  wav_file_write(&(WavFile){
    .path = "late.wav", .fill = FILL_LATE, .seconds = 0.8, .n_channels = 2U});
  for (size_t i = 0; i < COUNT(cases); ++i) {
    ok &= check_case(&cases[i]);
  }
  assert_true(ok);
}

// What is said of a loop overrules what is heard.
static void
test_as(void** state) {
  (void)state;
  static const RunCase cases[] = {
    {"loop -q --fire-rate 8/s --shots 4 -o ours/ z.wav", 0, NULL, NULL},
    {"check ours/z.loop.wav", 0, "4 shots, 8 per second", NULL},
    {"check --as rapid-fire ours/z.loop.wav", 0, "4 shots, 8 per ", NULL},
    {"check --as sustained ours/z.loop.wav", 0, "sound that goes on", NULL},
    {"check --as shot ours/z.loop.wav", 0, "no loop", "a single shot, not"},
    {"check uneven.wav",
     0,
     "3 shots, not evenly spaced",
     "`volleyweave split`"},
    {"check --json uneven.wav", 0, "\"kind\": \"several shots\"", ""},
    {"loop -qf --gap 90ms --fire-rate 16 --shots 2 -o gap/ z.wav", 0, "", NULL},
    {"check --gap 90ms gap/z.loop.wav", 0, "2 shots, 9.3 per", "after every 2"},
    {"check ours/z.loop.wav", 0, "if it stutters, make it with", NULL},
    {"check --gap 90ms gap/z.loop.wav",
     0,
     "the board's gap is not the",
     "after every 2"},
    {"mend -n --as sustained ours/z.loop.wav", 0, NULL, "nothing is written"},
    {"check --as shot --board wav-44k-mono ours/z.loop.wav",
     2,
     NULL,
     "it is for a loop without a board"},
  };
  bool ok = true;
  wav_file_write(&(WavFile){.path = "z.wav", .seconds = 0.8});
  wav_file_write(
    &(WavFile){.path = "uneven.wav", .fill = FILL_UNEVEN, .seconds = 2.5});
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
                               "bytes",
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
     "records, .volleyweave.*, are not for the card\n"
     "Next: volleyweave deliver own --to CARD\n",
     NULL},
    {"loop -q --form pieces -o own3 poor.wav", 0, NULL, NULL},
    {"check -q --board wav-44k-mono own3/poor.shot.wav", 0, NULL, NULL},
    {"check --board wav-44k-mono own3/poor.loop.wav",
     3,
     "this --board, or --form whole-file",
     NULL},
    {"loop -q -f --board wav-44k-mono -o own3 poor.wav", 0, NULL, NULL},
    {"check --board wav-44k-mono own3/poor.loop.wav",
     0,
     "own3/poor.loop.wav: good for wav-44k-mono: 1 file",
     NULL},
    {"loop -q --board ogg-44k-mono -o own4 poor.wav", 0, NULL, NULL},
    {"check --board ogg-44k-mono own4/poor.loop.ogg",
     0,
     "no fault, but mind the 1 warning for ogg-44k-mono: 1 file",
     "own4/poor.loop.ogg: warning: Ogg pads its last block, by up to 2048 "
     "frames (46 ms)"},
    {"check --board ogg-44k-mono own4/poor.shot.ogg", 0, "good for", NULL},
    {"check --board wav-44k-mono own",
     3,
     "make it again for this board with --board",
     NULL},
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

/* What this program writes */

/// A board of the test's own: a built-in one with keys changed.
typedef struct {
  const char* name;
  const char* of;
  const char* keys; ///< For sed.
  const char* also; ///< What its commands need, or nothing.
  bool        all;  ///< All recordings are made for it.
} OwnBoard;

static const OwnBoard own_boards[] = {
  {"wav-44k-mono", NULL, NULL, "", true},
  {"wav-44k-stereo", NULL, NULL, ""},
  {"wav-22k-mono", NULL, NULL, "", true},
  {"wav-to-44k", NULL, NULL, ""},
  {"ogg-44k-mono", NULL, NULL, ""},
  {"raw-8k-8bit", NULL, NULL, "", true},
  {"array-8k-8bit", NULL, NULL, ""},
  {"coarse",
   "wav-22k-mono",
   "s/^sample-rate =.*/sample-rate = 11025/;"
   "s/^encoding =.*/encoding = 8/",
   ""},
  {"fine", "wav-44k-stereo", "s/^encoding =.*/encoding = 24/", ""},
  {"three",
   "wav-44k-mono",
   "s/^repeat =.*/repeat = three-files/;"
   "s/^buffer =.*/buffer = 512/",
   ""},
  {"points",
   "wav-44k-mono",
   "s/^repeat =.*/repeat = loop-points/;"
   "s/^loop-points =.*/loop-points = yes/",
   ""},
  {"finish",
   "wav-22k-mono",
   "s/^on-release =.*/on-release = finishes/;"
   "s/^gap =.*/gap = 60ms/",
   ""},
  {"once", "wav-44k-mono", "s/^repeat =.*/repeat = nothing/", ""},
  {"numbers",
   "wav-22k-mono",
   "s/^digits =.*/digits = 2/;s/^sound =.*/sound = "
   "no/;s/^parts =.*/parts = no/",
   "--slot 1 --part loop"},
  {"short",
   "wav-22k-mono",
   "s/^digits =.*/digits = 2/;s/^eight-three =.*/"
   "eight-three = yes/;s/^letters =.*/letters = upper/",
   "--slot 1"},
};

// Takes of different lengths, of which two start in the middle of a wave.
#define SOME "$R/fire.wav $R/laser.wav $R/jump.wav $R/flag_grab.wav"

/// What is asked, of all recordings or of some: "%s" is what a board needs.
static const struct {
  const char* line;
  bool        all;   ///< Of all recordings.
  bool        parts; ///< It may be asked for one.
} commands[] = {
  {"convert %s $R/*.wav", true, false},
  {"shot %s $R/*.wav", true, false},
  {"convert %s " SOME, false, false},
  {"shot %s " SOME, false, false},
  {"loop %s " SOME, false, true},
  {"loop %s $R/*.wav", true, true},
  {"convert --loudness keep %s " SOME, false, false},
  {"convert --gain -40 --fade 20ms %s " SOME, false, false},
  {"convert --bits 8 %s " SOME, false, false},
  {"convert --bits 24 %s " SOME, false, false},
  {"loop --form pieces %s " SOME, false, true},
  {"loop --form whole-file %s " SOME, false, true},
  {"loop --form loop-points %s " SOME, false, true},
  {"loop --burst 3 %s " SOME, false, false},
  {"loop --tail choke --fire-rate 12/s --valley none %s " SOME, false, true},
  {"loop --take-turns --detune 20 --level-spread 1 %s " SOME, false, false},
  {"loop --gap 50ms --speaker 40mm %s " SOME, false, true},
  {"loop --lamp-track --channels 2 %s " SOME, false, true},
  {"loop --bits 8 --gain -30 %s " SOME, false, true},
  {"loop --bits 24 --dither none %s " SOME, false, true},
  {"pack %s $R", true, false},
  {"pack %s takes", false, false},
};

/// Run one command for one board, and check what it wrote. What the board does
/// not play is refused as wrong usage. Sets `n` to whether anything was made.
static bool
passes_check(const OwnBoard* board, size_t command, size_t* n) {
  char              line[1024];
  char              asked[256];
  const char* const also =
    commands[command].parts || !strstr(board->also, "--part") ? board->also
                                                              : "--slot 1";
  const bool pack = !strncmp(commands[command].line, "pack", 4U);
  // A format string of the table above.
  char* const at = strstr(commands[command].line, "%s");
  (void)snprintf(asked,
                 sizeof(asked),
                 "%.*s%s%s",
                 (int)(at - commands[command].line),
                 commands[command].line,
                 pack ? "" : also,
                 at + 2);
  (void)snprintf(line,
                 sizeof(line),
                 "B=%s%s%s; rm -rf own; \"$VOLLEYWEAVE\" %s -q -o own "
                 "--board $B 2>said; s=$?; test $s = 2 && exit 9; test $s = 0 "
                 "|| exit $s; for i in own/*.loop.wav; do test -f $i && "
                 "\"$VOLLEYWEAVE\" rehearse -q --hold 730ms --board $B -o "
                 "${i%%.loop.wav}.held.wav $i && break; done; "
                 "\"$VOLLEYWEAVE\" check -q --board $B own%s%s",
                 board->of ? "./" : "",
                 board->name,
                 board->of ? ".board.ini" : "",
                 asked,
                 pack ? "/" : "",
                 pack ? board->name : "");
  Run        got = run_shell(line);
  const bool good = got.status == 0 || got.status == 9;
  *n += got.status == 0;
  char what[320];
  (void)snprintf(what, sizeof(what), "%s on %s", asked, board->name);
  (void)run_check(good, &got, what);
  run_clear(&got);
  return good;
}

/// Whatever a command writes for a board is good for that board.
static void
test_own_outputs(void** state) {
  (void)state;
  bool   ok = true;
  size_t n = 0;
  if (!recordings_find(NULL)) {
    skip();
  }
  setenv("R", recordings_place(), 1);
  Run copied = run_shell("mkdir takes; cp \"$R\"/f*.wav takes");
  run_clear(&copied);
  for (size_t i = 0; i < COUNT(own_boards); ++i) {
    const OwnBoard* const board = &own_boards[i];
    char                  line[512];
    size_t                n_made = 0;
    if (board->of) {
      (void)snprintf(line,
                     sizeof(line),
                     "\"$VOLLEYWEAVE\" boards %s | sed '%s' >%s.board.ini",
                     board->of,
                     board->keys,
                     board->name);
      Run made = run_shell(line);
      run_clear(&made);
    }
    for (size_t k = 0; k < COUNT(commands); ++k) {
      ok &= (commands[k].all && !board->all) || passes_check(board, k, &n_made);
    }
    ok &= check_at_least(
      (double)n_made, 8.0, "commands that %s takes", board->name);
    n += n_made;
  }
  print_message("%zu commands on %zu boards\n", n, COUNT(own_boards));
  assert_true(ok);
}

/// A file of shots holds as many as a take and as a loop.
static void
test_counted(void** state) {
  (void)state;
  static const char* const names[] = {
    "flag_drop", "flag_lost", "explosion", "hunt_select", "spree4"};
  bool ok = true;
  if (!recordings_find(NULL)) {
    skip();
  }
  for (size_t i = 0; i < COUNT(names); ++i) {
    static const char* const words[] = {"inspect", "check"};
    double                   shots[2] = {0.0, 0.0};
    for (size_t k = 0; k < COUNT(words); ++k) {
      char line[512];
      (void)snprintf(
        line,
        sizeof(line),
        "\"$VOLLEYWEAVE\" %s --json %s/%s.wav 2>said || test $? = 3",
        words[k],
        recordings_place(),
        names[i]);
      Run           got = run_shell(line);
      json_t* const report = parse_line(got.out, 0);
      shots[k] = number_at(report, k ? "loop.shots" : "shot.shots_in_take");
      json_decref(report);
      run_clear(&got);
    }
    ok &= check_equal(shots[1], shots[0], "%s: shots", names[i]);
  }
  assert_true(ok);
}

/// A file of the folder "out", full scale 1.
static VwSound
sound_of(const char* path) {
  VwBytes bytes = {0};
  Riff    riff = {0};
  bytes.data = (unsigned char*)read_file(path, &bytes.n_bytes);
  assert_non_null(bytes.data);
  assert_true(riff_parse(&bytes, &riff));
  const VwSound sound = riff_sound(&riff, &bytes);
  free(bytes.data);
  return sound;
}

#define KEEP "--loudness keep --dither none wave.wav"
#define KEEP_GOOD "--loudness keep --dither none good/a.wav"

/// A take that starts and ends in the middle of a wave comes from zero and goes
/// to zero within 3 ms, and is the same in between.
static void
test_faded(void** state) {
  (void)state;
  static const char* const lines[] = {"convert -q -o faded " KEEP,
                                      "convert -q --fade 0 -o plain " KEEP};
  plain_wav_put("wave.wav", &(PlainWav){.first = 0.4, .last = -0.3});
  for (size_t i = 0; i < COUNT(lines); ++i) {
    const RunCase wanted = {lines[i], 0, NULL, NULL};
    assert_true(run_gave(run(lines[i]), &wanted));
  }
  VwSound      plain = sound_of("plain/wave.wav");
  VwSound      faded = sound_of("faded/wave.wav");
  const size_t n = plain.n_frames;
  const size_t n_fade = 132U; // 3 ms at 44.1 kHz
  bool         ok = check_equal((double)faded.n_frames, (double)n, "frames");
  ok &=
    check_at_least(fabs((double)plain.values[0]), 0.39, "start, as it came");
  ok &= check_equal((double)faded.values[0], 0.0, "start");
  ok &= check_equal((double)faded.values[n - 1U], 0.0, "end");
  for (size_t i = 0; i < n; ++i) {
    const bool inside = i > n_fade && i + n_fade < n - 1U;
    ok &= check_at_most(fabs((double)faded.values[i]),
                        fabs((double)plain.values[i]) + 1e-9,
                        "frame %zu",
                        i);
    ok &= !inside || faded.values[i] == plain.values[i];
  }
  vw_sound_clear(&plain);
  vw_sound_clear(&faded);
  assert_true(ok);
  // What starts and ends near zero is left alone.
  static const RunCase same = {"\"$VOLLEYWEAVE\" convert -q -o one " KEEP_GOOD
                               " && \"$VOLLEYWEAVE\" convert -q --fade "
                               "0 -o two " KEEP_GOOD
                               " && cmp one/a.wav two/a.wav",
                               0,
                               NULL,
                               NULL};
  assert_true(run_gave(run_shell(same.line), &same));
}

int
main(int argc, char** argv) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_lines),
    cmocka_unit_test(test_loops),
    cmocka_unit_test(test_late_side),
    cmocka_unit_test(test_as),
    cmocka_unit_test(test_json),
    cmocka_unit_test(test_own_files),
    cmocka_unit_test(test_padding),
    cmocka_unit_test(test_terminal),
    cmocka_unit_test(test_faded),
    cmocka_unit_test(test_own_outputs),
    cmocka_unit_test(test_counted),
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
