// The files that the program is given and makes: bad ones are refused in one
// line, and nothing is ever left half done.

#include "support/check.h"
#include "support/run.h"
#include "support/wav_files.h"

#include <volleyweave/volleyweave.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

// Takes lie in ../in, and each test starts in an empty folder beside it.
#define TAKE "../in/zap.wav"

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

static char*  take_bytes;
static size_t n_take_bytes;

#define TEST(function)                                                         \
  cmocka_unit_test_setup_teardown(function, run_enter_folder, run_leave_folder)

static bool
take_is_untouched(void) {
  return has_bytes(TAKE, take_bytes, n_take_bytes);
}

// Run a line that should go well, and forget what it printed.
static bool
done(const char* line) {
  Run        got = run(line);
  const bool good = run_check(got.status == 0, &got, line);
  run_clear(&got);
  return good;
}

// Run a line that should fail in one line with these words, leaving the folder
// with as many files as before.
static bool
fails(const char* line, const char* names, const char* remedy) {
  const size_t n_files = count_files(".");
  Run          got = run(line);
  const bool   good = got.status == 1 && is_one_line_with(got.err, names) &&
                    strstr(got.err, remedy) && !got.n_out &&
                    count_files(".") == n_files && take_is_untouched();
  run_check(good, &got, line);
  run_clear(&got);
  return good;
}

/* Takes */

typedef struct {
  const char* name;
  VwStatus    status;
} BadTake;

static const BadTake bad_takes[] = {
  {"../in/empty.wav", VW_EMPTY},
  {"../in/words.wav", VW_NOT_AUDIO},
  {"../in/voice.m4a", VW_CONTAINER},
  {"../in/header.wav", VW_NO_FRAMES},
  {"../in/short.wav", VW_CUT_SHORT},
  {"../in/one.wav", VW_TOO_SHORT},
  {"../in/brief.wav", VW_TOO_SHORT},
  {"../in/silent.wav", VW_SILENT},
  {"../in/constant.wav", VW_SILENT},
  {"../in/nan.wav", VW_NOT_FINITE},
  {"../in/infinite.wav", VW_NOT_FINITE},
  {"../in/none.wav", VW_CHANNELS},
  {"../in/nine.wav", VW_CHANNELS},
  {"/dev/zero", VW_NOT_REGULAR},
  {"../in/pipe.wav", VW_NOT_REGULAR},
  {"../in/missing.wav", VW_MISSING},
};

static void
make_takes(void) {
  static const WavFile files[] = {
    {.path = "in/zap.wav", .seconds = 1.0},
    {.path = "in/zip.wav", .seconds = 0.9, .rate_hz = 22050},
    {.path = "in/header.wav"},
    {.path = "in/short.wav", .seconds = 1.0, .there = 0.5},
    {.path = "in/one.wav", .n_frames = 1},
    {.path = "in/brief.wav", .n_frames = 200},
    {.path = "in/silent.wav", .fill = FILL_SILENCE, .seconds = 1.0},
    {.path = "in/constant.wav", .fill = FILL_CONSTANT, .seconds = 1.0},
    {.path = "in/noise.wav", .fill = FILL_NOISE, .seconds = 1.0},
    {.path = "in/nan.wav", .fill = FILL_NAN, .seconds = 1.0, .is_float = 1},
    {.path = "in/infinite.wav",
     .fill = FILL_INFINITE,
     .seconds = 1.0,
     .is_float = 1},
    {.path = "in/none.wav", .seconds = 0.1, .no_channels = 1},
    {.path = "in/nine.wav", .seconds = 0.1, .n_channels = 9},
    {.path = "in/long.wav", .seconds = 2.0},
    {.path = "in/\xFF.wav", .seconds = 1.0},
    {.path = "in/clipped.wav", .fill = FILL_CLIPPED, .seconds = 1.0},
    {.path = "in/offset.wav", .fill = FILL_OFFSET, .seconds = 1.0},
    {.path = "in/opposed.wav",
     .fill = FILL_OPPOSED,
     .seconds = 1.0,
     .n_channels = 2},
    {.path = "in/twice.wav", .fill = FILL_TWICE, .seconds = 2.0},
    {.path = "in/slow.wav", .fill = FILL_SLOW, .seconds = 1.5},
    {.path = "in/stopped.wav", .seconds = 0.25},
  };
  // The first box of an MPEG-4 file (ISO/IEC 14496-12): its size and type.
  static const char box[] = "\0\0\0\x18"
                            "ftypM4A \0\0\0\0M4A mp42isom\0\0\0\x08"
                            "free";
  for (size_t i = 0; i < COUNT(files); ++i) {
    wav_file_write(&files[i]);
  }
  bytes_write("in/empty.wav", "", 0);
  bytes_write("in/words.wav", "This is a letter, not a sound.\n", 31);
  bytes_write("in/voice.m4a", box, sizeof(box));
  if (mkfifo("in/pipe.wav", 0666)) {
    perror("in/pipe.wav");
    exit(1);
  }
}

static bool
fails_all(const BadTake* take) {
  static const char* const commands[] = {"inspect", "shot", "loop", "convert"};
  bool                     good = true;
  for (size_t i = 0; i < COUNT(commands); ++i) {
    char line[128];
    (void)snprintf(line, sizeof(line), "%s %s", commands[i], take->name);
    good &= fails(line, take->name, vw_remedy(take->status));
  }
  return good;
}

static void
test_bad_takes(void** state) {
  (void)state;
  bool good = true;
  for (size_t i = 0; i < COUNT(bad_takes); ++i) {
    good &= fails_all(&bad_takes[i]);
  }
  // what holds no shot can still be inspected, looped and converted
  good &= fails("shot ../in/noise.wav", "noise.wav", "use `loop` for its loop");
  good &= fails("loop ../in/voice.m4a", "it is an MPEG-4 file", "as WAV or");
  good &= fails("loop ../in", "../in: it is a folder", "name the sound files");
  good &= fails("loop ../in/\xFF.wav", "../in/\\xFF.wav", "rename it");
  good &= fails("loop --seconds-max 1.5 ../in/long.wav",
                "../in/long.wav: it is longer than 1.5 s",
                "--seconds-max");
  // 0.5 s of 1 s, as the header's promise and the file's length say
  good &= fails("loop ../in/short.wav", "0.500 s of 1.000 s", "save it again");
  assert_true(good);
}

static void
test_unreadable_take(void** state) {
  (void)state;
  Run got = {0};
  wav_file_write(&(WavFile){.path = "locked.wav", .seconds = 1.0});
  assert_int_equal(chmod("locked.wav", 0), 0);
  if (run_as_nobody("inspect locked.wav", &got)) {
    assert_true(run_check(got.status == 1 &&
                            is_one_line_with(got.err, "locked.wav") &&
                            strstr(got.err, vw_remedy(VW_UNREADABLE)),
                          &got,
                          "inspect locked.wav"));
  } else {
    print_message("the program cannot be reached by another user: not tried\n");
  }
  run_clear(&got);
}

// One bad take among many stops none of the others.
static void
test_bad_among_good(void** state) {
  (void)state;
  Run got = run("shot ../in/zap.wav ../in/empty.wav ../in/zip.wav");
  assert_true(run_check(got.status == 1 &&
                          strstr(got.err, "../in/empty.wav: ") &&
                          strstr(got.err, "1 of 3 failed\n") &&
                          strstr(got.out, "Found in ../in/zap.wav") &&
                          strstr(got.out, "Found in ../in/zip.wav"),
                        &got,
                        "shot"));
  run_clear(&got);
  assert_int_equal(count_files("volleyweave-out"), 3); // with the list
}

// A loop of all needs all.
static void
test_bad_turn(void** state) {
  (void)state;
  Run got = run("loop --take-turns ../in/zap.wav ../in/empty.wav");
  assert_true(run_check(got.status == 1 && !got.n_out &&
                          strstr(got.err, "../in/empty.wav: ") &&
                          strstr(got.err, "nothing is made"),
                        &got,
                        "loop --take-turns"));
  run_clear(&got);
  assert_int_equal(count_files("."), 0);
}

static void
test_own_output(void** state) {
  (void)state;
  assert_true(done("loop -q -o made ../in/zap.wav"));
  assert_true(
    fails("loop made/zap.loop.wav", "made/zap.loop.wav", "recording"));
  assert_true(
    fails("shot made/zap.shot.wav", "made/zap.shot.wav", "recording"));
  assert_true(done("inspect made/zap.shot.wav"));
}

/* Outputs */

static void
test_bad_outputs(void** state) {
  (void)state;
  bool good = true;
  bytes_write("mine.wav", "mine", 4);
  good &= fails("loop -o no/where " TAKE, "no", vw_remedy(VW_NO_FOLDER));
  good &= fails("shot -o no/a.wav " TAKE, "no", vw_remedy(VW_NO_FOLDER));
  good &= fails("shot -n -o no/x " TAKE, "no", vw_remedy(VW_NO_FOLDER));
  good &= fails(
    "shot -o mine.wav/a.wav " TAKE, "mine.wav", vw_remedy(VW_NOT_A_FOLDER));
  good &= fails("shot -o mine.wav " TAKE, "mine.wav", "--force");
  good &= fails("shot -n -o mine.wav " TAKE, "mine.wav", "--force");
  good &= fails("shot -o " TAKE " " TAKE, TAKE, vw_remedy(VW_IS_TAKE));
  good &= fails("shot -f -o " TAKE " " TAKE, TAKE, vw_remedy(VW_IS_TAKE));
  good &= fails("convert -f -o ../in " TAKE, TAKE, vw_remedy(VW_IS_TAKE));
  // No device of the system: were the refusal broken, it would be replaced.
  assert_int_equal(mkfifo("pipe.wav", 0666), 0);
  good &=
    fails("shot -f -o pipe.wav " TAKE, "pipe.wav", vw_remedy(VW_NOT_REGULAR));
  assert_true(has_bytes("mine.wav", "mine", 4));
  // the default folder's name taken by a file
  bytes_write("volleyweave-out", "mine", 4);
  good &= fails("loop " TAKE, "volleyweave-out", vw_remedy(VW_NOT_A_FOLDER));
  assert_true(good);
}

// A folder made for nothing is removed again; one that was there is not.
static void
test_no_folder_left(void** state) {
  (void)state;
  assert_true(fails("shot ../in/noise.wav", "noise.wav", "use `loop`"));
  assert_int_equal(mkdir("there", 0777), 0);
  assert_int_equal(mkdir("there/zap.loop.wav", 0777), 0);
  assert_true(fails(
    "loop -f -o there " TAKE, "there/zap.loop.wav", vw_remedy(VW_NOT_REGULAR)));
  assert_int_equal(count_files("there"), 1);
}

static void
test_read_only_folder(void** state) {
  (void)state;
  Run got = {0};
  assert_int_equal(mkdir("closed", 0555), 0);
  assert_int_equal(chmod(".", 0555), 0);
  const bool tried = run_as_nobody("shot -o closed " TAKE, &got);
  const bool good = got.status == 1 && is_one_line_with(got.err, "closed") &&
                    strstr(got.err, vw_remedy(VW_FOLDER_READONLY));
  assert_true(!tried || run_check(good, &got, "shot -o closed"));
  run_clear(&got);
  // a folder that cannot be made in a closed one
  const bool again = run_as_nobody("shot -o new " TAKE, &got);
  const bool refused = got.status == 1 && is_one_line_with(got.err, "new") &&
                       strstr(got.err, vw_remedy(VW_FOLDER_READONLY));
  assert_true(!again || run_check(refused, &got, "shot -o new"));
  run_clear(&got);
  assert_int_equal(chmod(".", 0755), 0);
  assert_int_equal(count_files("."), 1);
  assert_int_equal(count_files("closed"), 0);
}

// A folder made for files that then cannot be written goes again: none may be
// longer than 8 blocks here.
static void
test_made_for_nothing(void** state) {
  (void)state;
  Run got = run_shell("trap '' XFSZ; ulimit -f 8 && "
                      "exec \"$VOLLEYWEAVE\" loop -o new " TAKE);
  assert_true(run_check(got.status == 1 && is_one_line_with(got.err, "new/") &&
                          strstr(got.err, vw_remedy(VW_WRITE_FAILED)),
                        &got,
                        "loop -o new"));
  assert_int_equal(count_files("."), 0);
  run_clear(&got);
}

// A disk of 64 KiB of its own, where the system lets anybody mount one.
static void
test_full_disk(void** state) {
  (void)state;
  assert_int_equal(mkdir("disk", 0777), 0);
  Run got = run_shell("unshare -rm sh -c '"
                      "mount -t tmpfs -o size=64k none disk || exit 77\n"
                      "\"$VOLLEYWEAVE\" loop -o disk " TAKE "\n"
                      "echo status $?; ls -A disk' || echo cannot");
  if (strstr(got.out, "status")) {
    assert_true(run_check(!strcmp(got.out, "status 1\n") &&
                            is_one_line_with(got.err, "disk/") &&
                            strstr(got.err, vw_remedy(VW_DISK_FULL)),
                          &got,
                          "loop -o disk"));
  } else {
    print_message("no disk can be mounted here: not tried\n");
  }
  run_clear(&got);
}

static void
test_names(void** state) {
  (void)state;
  static const struct {
    const char* line;
    const char* files; // with a space after each
  } cases[] = {
    {"shot -q -o out " TAKE, "zap.shot.wav "},
    {"convert -q -o out " TAKE " ../in/zip.wav", "zap.wav zip.wav "},
    {"loop -q -o out " TAKE,
     "zap.loop.wav zap.ringout.wav zap.runin.wav zap.shot.wav "},
    {"loop -q --form whole-file -o out " TAKE, "zap.loop.wav zap.shot.wav "},
    {"loop -q --form loop-points -o out " TAKE, "zap.loop.wav zap.shot.wav "},
    {"loop -q --burst 3 -o out " TAKE, "zap.burst.wav zap.shot.wav "},
    {"loop -q --part ring-out -o out/ " TAKE, "zap.ringout.wav "},
    {"loop -q --form whole-file -o out " TAKE " ../in/zip.wav",
     "zap.loop.wav zap.shot.wav zip.loop.wav zip.shot.wav "},
    {"loop -q --take-turns -o out " TAKE " ../in/zip.wav",
     "zap.loop.wav zap.ringout.wav zap.runin.wav zap.shot.wav zip.shot.wav "},
  };
  bool good = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    good &= done(cases[i].line);
    Run listed = run_shell("LC_ALL=C ls out | tr '\\n' ' '");
    good &=
      run_check(!strcmp(listed.out, cases[i].files), &listed, cases[i].line);
    run_clear(&listed);
    remove_all("out");
  }
  assert_true(good && take_is_untouched());
}

// What is made of a hidden file is not hidden.
static void
test_hidden_take(void** state) {
  (void)state;
  Run made = run_shell("cp " TAKE " .wav && cp " TAKE " .zap.wav && "
                       "\"$VOLLEYWEAVE\" convert -q -o out .wav .zap.wav && "
                       "ls out | tr '\\n' ' '");
  assert_true(
    run_check(!strcmp(made.out, "wav.wav zap.wav "), &made, "hidden takes"));
  run_clear(&made);
}

// Names that differ in how an accent is coded are one on some systems.
static void
test_accents(void** state) {
  (void)state;
  Run made = run_shell(
    "cp " TAKE " 'caf\u00E9.wav' && cp " TAKE " 'cafe\u0301.wav' && "
    "\"$VOLLEYWEAVE\" convert -q -o out 'caf\u00E9.wav' 'cafe\u0301.wav'");
  assert_true(run_check(made.status == 2 &&
                          is_one_line_with(made.err, "would have the names of"),
                        &made,
                        "accents"));
  run_clear(&made);
}

// What we made may be made again; what somebody changed only with --force.
static void
test_force(void** state) {
  (void)state;
  assert_true(done("shot -q -o out.wav " TAKE));
  assert_true(done("shot -q -o out.wav --bits 8 " TAKE));
  bytes_write("out.wav", "mine", 4);
  assert_true(fails("shot -o out.wav " TAKE, "out.wav", "--force"));
  assert_true(has_bytes("out.wav", "mine", 4));
  assert_true(done("shot -q --force -o out.wav " TAKE));
  assert_false(has_bytes("out.wav", "mine", 4));
}

static void
test_dry_run(void** state) {
  (void)state;
  Run got = run("loop -v --dry-run --fire-rate 9 " TAKE);
  assert_true(run_check(got.status == 0 && !got.n_err &&
                          strstr(got.out, "volleyweave-out/zap.loop.wav") &&
                          strstr(got.out, "dry run"),
                        &got,
                        "loop --dry-run"));
  run_clear(&got);
  got = run("shot --dry-run -o - " TAKE);
  assert_true(run_check(
    got.status == 0 && !got.n_out && got.n_err, &got, "shot -n -o -"));
  assert_int_equal(count_files("."), 0);
  run_clear(&got);
}

static void
test_quiet(void** state) {
  (void)state;
  Run got = run("loop --quiet " TAKE);
  assert_true(
    run_check(got.status == 0 && !got.n_out && !got.n_err, &got, "loop -q"));
  assert_int_equal(count_files("volleyweave-out"), 5); // with the list
  run_clear(&got);
  assert_true(fails("loop -q ../in/empty.wav", "empty.wav", "record"));
}

/* Standard output */

static void
test_pipe(void** state) {
  (void)state;
  assert_true(done("loop -q --fire-rate 9 --part loop -o a.wav " TAKE));
  Run got = run("loop -v --fire-rate 9 --part loop -o - " TAKE);
  assert_true(run_check(got.status == 0 && strstr(got.err, "Lamp") &&
                          has_bytes("a.wav", got.out, got.n_out),
                        &got,
                        "loop -o -"));
  run_clear(&got);
  got = run("loop -q --fire-rate 9 --part loop -o - " TAKE);
  assert_true(run_check(got.status == 0 && !got.n_err &&
                          has_bytes("a.wav", got.out, got.n_out),
                        &got,
                        "loop -q -o -"));
  run_clear(&got);
}

// What cannot be written is an error, whenever it is noticed.
static void
test_full_output(void** state) {
  (void)state;
  static const char* const lines[] = {"inspect " TAKE,
                                      "inspect --json " TAKE,
                                      "help",
                                      "loop --help",
                                      "--version",
                                      "shot -q -o - " TAKE,
                                      "shot --json -n " TAKE};
  bool                     good = true;
  for (size_t i = 0; i < COUNT(lines); ++i) {
    Run        got = run_into("/dev/full", lines[i]);
    const bool fine =
      got.status == 1 && is_one_line_with(got.err, "standard output: ");
    good &= run_check(fine, &got, lines[i]);
    run_clear(&got);
  }
  Run closed = run_shell("\"$VOLLEYWEAVE\" shot -o out.wav " TAKE " >&-");
  good &= run_check(closed.status == 1 &&
                      is_one_line_with(closed.err, "standard output: ") &&
                      count_files(".") == 2U,
                    &closed,
                    "shot >&-");
  run_clear(&closed);
  assert_true(good);
}

/* Warnings */

static void
test_warnings(void** state) {
  (void)state;
  static const struct {
    const char* line;
    const char* warning;
  } cases[] = {
    {"loop -n " TAKE, "zap.wav: warning: no fire rate was given, "},
    {"loop -n --sample-rate 4000 --cycle-max 50ms --fire-rate 39.7 " TAKE,
     "zap.wav: warning: 39.604 shots per second, over 0.1 % off 39.7"},
    {"loop -n --fire-rate 2 --detune 20 " TAKE,
     "zap.wav: warning: the cycle holds only 4 shots"},
    {"loop -n --fire-rate 12 ../in/slow.wav",
     "slow.wav: warning: it takes 94 of 83 ms to get loud"},
    {"inspect ../in/noise.wav", "noise.wav: warning: no shot rises"},
    {"inspect ../in/slow.wav", "slow.wav: warning: a slow attack"},
    {"inspect ../in/twice.wav", "twice.wav: warning: 2 shots: "},
    {"inspect ../in/stopped.wav", "stopped.wav: warning: the take ends"},
    {"inspect ../in/clipped.wav", "clipped frames: record at a lower level"},
    {"inspect ../in/offset.wav", "warning: an offset (DC) of +0.2"},
    {"shot -n ../in/opposed.wav", "warning: its channels cancel each other"},
    {"loop -n --take-turns --fire-rate 9 " TAKE " ../in/offset.wav",
     "offset.wav: warning: an offset"},
  };
  bool good = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    Run        got = run(cases[i].line);
    const bool fine = got.status == 0 && strstr(got.err, cases[i].warning);
    good &= run_check(fine, &got, cases[i].line);
    run_clear(&got);
  }
  assert_true(good);
}

// A name behind a take may be where to write.
static void
test_place_as_a_take(void** state) {
  (void)state;
  Run        got = run("shot -q -n " TAKE " ../in");
  const bool good =
    got.status == 1 && strstr(got.err, "it is a folder: give -o ../in to");
  assert_true(run_check(good, &got, "a folder"));
  run_clear(&got);
  got = run("shot -q -n " TAKE " gone");
  assert_true(run_check(
    got.status == 1 && strstr(got.err, "or give -o gone to"), &got, "gone"));
  run_clear(&got);
}

// What an earlier loop has beside it is named, until somebody changed it.
static void
test_parts_of_an_earlier_loop(void** state) {
  (void)state;
  static const char whole[] =
    "loop -f -o left --form whole-file --fire-rate 6 " TAKE;
  Run got = run("loop -q -o left --fire-rate 9 " TAKE);
  assert_true(run_check(!got.status && !got.n_err, &got, "pieces"));
  run_clear(&got);
  got = run(whole);
  assert_true(run_check(
    strstr(got.err,
           ": warning: zap.runin.wav and zap.ringout.wav of an earlier loop "
           "are left: delete what") != NULL,
    &got,
    "left"));
  run_clear(&got);
  assert_int_equal(unlink("left/zap.runin.wav"), 0);
  got = run(whole);
  assert_true(run_check(
    strstr(got.err, ": warning: zap.ringout.wav of an earlier loop is left") !=
      NULL,
    &got,
    "one left"));
  run_clear(&got);
  bytes_write("left/zap.ringout.wav", "mine", 4U);
  got = run(whole);
  assert_true(run_check(!strstr(got.err, "earlier loop"), &got, "none left"));
  run_clear(&got);
  remove_all("left");
}

// A take with nothing amiss and a fire rate that is met warn of nothing.
static void
test_no_warning(void** state) {
  (void)state;
  Run got = run("loop -n --fire-rate 9 " TAKE);
  assert_true(run_check(got.status == 0 && !got.n_err, &got, "loop"));
  run_clear(&got);
}

int
main(int argc, char** argv) {
  run_set_up(argc, argv);
  if (mkdir("in", 0777)) {
    return 1;
  }
  make_takes();
  take_bytes = read_file("in/zap.wav", &n_take_bytes);
  const struct CMUnitTest tests[] = {
    TEST(test_bad_takes),
    TEST(test_unreadable_take),
    TEST(test_bad_among_good),
    TEST(test_bad_turn),
    TEST(test_own_output),
    TEST(test_bad_outputs),
    TEST(test_no_folder_left),
    TEST(test_read_only_folder),
    TEST(test_made_for_nothing),
    TEST(test_full_disk),
    TEST(test_names),
    TEST(test_hidden_take),
    TEST(test_accents),
    TEST(test_force),
    TEST(test_dry_run),
    TEST(test_quiet),
    TEST(test_pipe),
    TEST(test_full_output),
    TEST(test_place_as_a_take),
    TEST(test_parts_of_an_earlier_loop),
    TEST(test_warnings),
    TEST(test_no_warning),
  };
  const int n_failed = cmocka_run_group_tests(tests, NULL, NULL);
  free(take_bytes);
  run_tear_down();
  return n_failed;
}
