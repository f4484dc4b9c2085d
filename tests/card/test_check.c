// Files made byte by byte, one thing wrong in each: it is found, and nothing
// else. Chunks and their fields: Microsoft and IBM, "Multimedia Programming
// Interface and Data Specifications" 1.0, 1991, and for loops Microsoft, "New
// Multimedia Data Types and Data Techniques" 3.0, 1994. That a board plays or
// refuses what comes before the sound is common practice.

#define _XOPEN_SOURCE 700

#include "base/status.h"
#include "board/board.h"
#include "card/card.h"
#include "card/internal.h"
#include "support/check.h"
#include "support/folder.h"
#include "support/made.h"
#include "support/plain_wav.h"
#include "support/said.h"
#include "support/signals.h"

#include "volleyweave/volleyweave.h"

#include <fcntl.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

static VwBoard
board_plain(void) {
  return (VwBoard){.name = "test",
                   .container = VW_CONTAINER_WAV,
                   .encodings = {VW_ENCODING_S16},
                   .n_encodings = 1,
                   .sample_rates_hz = {44100},
                   .n_sample_rates = 1,
                   .channels = {1},
                   .n_channels = 1,
                   .cluster_bytes = 1,
                   .naming = {.sound = true, .parts = true, .joiner = "."},
                   .buffer_frames = 1};
}

/* Faults and warnings as expected */

static void
print_all(const VwFaults* faults, const char* what) {
  for (size_t i = 0; i < faults->n_faults; ++i) {
    const VwFault* const fault = &faults->faults[i];
    print_error("  %s: %s: %s: %s\n",
                what,
                fault->path ? fault->path : "",
                fault->what,
                fault->remedy);
  }
}

/// Whether there is exactly one fault, with `word` in it and a remedy; none
/// where there is no word.
static bool
is_only(const VwFaults* faults, const char* word) {
  if (!word) {
    return faults->n_faults == 0;
  }
  return faults->n_faults == 1 && strstr(faults->faults[0].what, word) &&
         faults->faults[0].remedy[0];
}

/// Whether what is said of a file with a name of 24 characters is short, and
/// has a remedy.
static bool
are_short(const VwFaults* faults, const char* mark) {
  bool ok = true;
  for (size_t i = 0; i < faults->n_faults; ++i) {
    char line[2048];
    (void)snprintf(line,
                   sizeof(line),
                   "volleyweave: a-knock-of-the-knaps.wav: %s%s: %s",
                   mark,
                   faults->faults[i].what,
                   faults->faults[i].remedy);
    ok &= said_lines(line) <= 2U && said_remedy(line);
    if (!ok) {
      print_error("too long, or without a remedy: %s\n", line);
    }
  }
  return ok;
}

/// Check a path and expect one fault, or one warning, or none.
static bool
expect(const char*    path,
       const VwBoard* board,
       const char*    fault,
       const char*    warning) {
  VwFindings     found = {0};
  const VwStatus st = vw_check(path, board, &found);
  const bool     good =
    !st && is_only(&found.faults, fault) && is_only(&found.warnings, warning) &&
    are_short(&found.faults, "") && are_short(&found.warnings, "warning: ");
  if (!good) {
    print_error("%s: status %d, expected fault `%s`, warning `%s`\n",
                path,
                (int)st,
                fault ? fault : "none",
                warning ? warning : "none");
    print_all(&found.faults, "fault");
    print_all(&found.warnings, "warning");
  }
  vw_findings_clear(&found);
  return good;
}

/* Headers */

static void
test_headers(void** state) {
  (void)state;
  static const struct {
    const char* name;
    PlainWav    wav;
    const char* fault;
  } cases[] = {
    {"good", {0}, NULL},
    {"list before", {.before = "LIST"}, "`LIST`"},
    {"wave extension before", {.before = "bext"}, "`bext`"},
    {"filler before", {.before = "JUNK"}, "`JUNK`"},
    {"peaks before", {.before = "PEAK"}, "`PEAK`"},
    {"facts before", {.before = "fact"}, "`fact`"},
    {"no letters", {.before = "\x01\x02\x03\x04"}, "`????`"},
    {"extensible", {.tag = 0xFFFE, .fmt_bytes = 40}, "0xFFFE"},
    {"format of 18", {.fmt_bytes = 18}, "18 bytes instead of 16"},
    {"no format", {.data_first = true}, "before its sound"},
    {"data of none", {.has_size = true}, "states no sound"},
    {"empty", {.no_frames = true}, "no sound in it"},
    {"open", {.has_size = true, .data_size = 0xFFFFFFFFU}, "open"},
    {"past the end", {.has_size = true, .data_size = 8822}, "promises 8822"},
    {"one past the end",
     {.has_size = true, .data_size = 8821},
     "promises 8821"},
    {"frames contradict", {.block_add = 2}, "contradicts"},
    {"amid a frame", {.has_size = true, .data_size = 8819}, "amid a frame"},
    {"first size too great", {.riff_add = 10}, "8874 bytes in all"},
    {"first size none", {.riff_add = (uint32_t)-8856}, "8 bytes in all"},
    {"compressed", {.tag = 0x11, .bits = 16}, "tag 17"},
  };
  const VwBoard board = board_plain();
  bool          ok = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    plain_wav_put("a.wav", &cases[i].wav);
    ok &= check_that(
      expect("a.wav", &board, cases[i].fault, NULL), "%s", cases[i].name);
  }
  assert_true(ok);
}

static void
test_odd_length(void** state) {
  (void)state;
  VwBoard board = board_plain();
  board.encodings[0] = VW_ENCODING_U8;
  plain_wav_put("odd.wav", &(PlainWav){.bits = 8, .n_frames = 4411});
  plain_wav_put("even.wav", &(PlainWav){.bits = 8, .n_frames = 4410});
  assert_true(expect("odd.wav", &board, "odd number of bytes, 4411", NULL));
  assert_true(expect("even.wav", &board, NULL, NULL));
}

static void
test_chunk_behind(void** state) {
  (void)state;
  const VwBoard board = board_plain();
  plain_wav_put("a.wav", &(PlainWav){.behind = "LIST"});
  assert_true(expect("a.wav", &board, NULL, "`LIST`"));
}

// What is no WAV file at all, or stops within its header.
static void
test_no_wav(void** state) {
  (void)state;
  static const struct {
    const char* bytes;
    size_t      n_bytes;
    const char* fault;
  } cases[] = {
    {"", 0, "empty"},
    {"R", 1, "no WAV"},
    {"RIFX\x24\0\0\0WAVEfmt ", 16, "no WAV"},
    {"fLaC\0\0\0\x22 and so on", 18, "no WAV"},
    {"RIFF\x24\0\0\0WAVE", 12, "no sound"},
    {"RIFF\x24\0\0\0WAVEfmt \x10\0\0\0\1\0\1\0", 24, "no sound"},
    {"RIFF\x24\0\0\0WAVEdata\0\0\0\0", 20, "before its sound"},
  };
  const VwBoard board = board_plain();
  bool          ok = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    folder_put("a.wav", cases[i].bytes, cases[i].n_bytes);
    ok &= check_that(expect("a.wav", &board, cases[i].fault, NULL), "%zu", i);
  }
  assert_true(ok);
}

// Floating point has its `fact` before the data, and 18 bytes of format are
// its own.
static void
test_float(void** state) {
  (void)state;
  VwBoard board = board_plain();
  board.encodings[0] = VW_ENCODING_FLOAT;
  plain_wav_put("a.wav", &(PlainWav){.tag = 3, .bits = 32, .before = "fact"});
  assert_true(expect("a.wav", &board, NULL, NULL));
  plain_wav_put("a.wav", &(PlainWav){.tag = 3, .bits = 32, .fmt_bytes = 18});
  assert_true(expect("a.wav", &board, NULL, NULL));
  plain_wav_put("a.wav", &(PlainWav){.tag = 3, .bits = 32, .before = "PEAK"});
  assert_true(expect("a.wav", &board, "`PEAK`", NULL));
}

/* Loop points */

static void
test_loop_points(void** state) {
  (void)state;
  // A period of 440 Hz has 100.2 frames: 1002 apart the steps are small.
  static const struct {
    const char* name;
    PlainWav    wav;
    const char* fault;
  } cases[] = {
    {"good", {.n_loops = 1, .loop_start = 1, .loop_last = 1002}, NULL},
    {"to the last", {.n_loops = 1, .loop_last = 4409}, NULL},
    {"end not counted", {.n_loops = 1, .loop_last = 4410}, "0 to 4409"},
    {"backwards",
     {.n_loops = 1, .loop_start = 1002, .loop_last = 1001},
     "1002 to 1001"},
    {"to and fro",
     {.n_loops = 1, .loop_type = 1, .loop_start = 1, .loop_last = 1002},
     "forward"},
    {"none", {.no_loop = true}, "no loop points in it"},
    {"short", {.n_loops = 1, .loop_last = 9, .loop_cut = 2}, "too short"},
    {"a step at the seam",
     {.n_loops = 1, .loop_start = 26, .loop_last = 676},
     "loop clicks"},
  };
  VwBoard board = board_plain();
  bool    ok = true;
  board.loop_points = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    plain_wav_put("a.wav", &cases[i].wav);
    ok &= check_that(
      expect("a.wav", &board, cases[i].fault, NULL), "%s", cases[i].name);
  }
  board.loop_points = false;
  plain_wav_put("a.wav", &cases[0].wav);
  ok &= expect("a.wav", &board, "does not read", NULL);
  assert_true(ok);
}

static void
test_loop_without_points(void** state) {
  (void)state;
  VwBoard board = board_plain();
  board.loop_points = true;
  board.repeat = VW_REPEAT_LOOP_POINTS;
  plain_wav_put("a.loop.wav", &(PlainWav){0});
  plain_wav_put("a.shot.wav", &(PlainWav){0});
  assert_true(expect("a.loop.wav", &board, "it has no loop points", NULL));
  assert_true(expect("a.shot.wav", &board, NULL, NULL));
}

/* Format */

static void
test_format(void** state) {
  (void)state;
  static const struct {
    PlainWav    wav;
    const char* fault;
  } cases[] = {
    {{.rate_hz = 44100}, NULL},
    {{.rate_hz = 22050, .n_frames = 4410}, NULL},
    {{.rate_hz = 48000}, "48000 Hz, the board takes 22050 or 44100"},
    {{.bits = 8}, "8-bit PCM, the board takes 16-bit PCM or 24-bit PCM"},
    {{.bits = 24}, NULL},
    {{.bits = 32}, "32-bit PCM"},
    {{.bits = 32, .tag = 3}, "32-bit floating point"},
    {{.n_channels = 2}, NULL},
    {{.n_channels = 3}, "3 channels, the board takes 1 or 2"},
  };
  VwBoard board = board_plain();
  board.n_encodings = 2;
  board.encodings[1] = VW_ENCODING_S24;
  board.n_sample_rates = 2;
  board.sample_rates_hz[0] = 22050;
  board.sample_rates_hz[1] = 44100;
  board.n_channels = 2;
  board.channels[1] = 2;
  bool ok = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    plain_wav_put("a.wav", &cases[i].wav);
    ok &= check_that(
      expect("a.wav", &board, cases[i].fault, NULL), "format %zu", i);
  }
  board.channels[0] = 2;
  board.n_channels = 1;
  plain_wav_put("a.wav", &(PlainWav){0});
  ok &= expect("a.wav", &board, "1 channel, the board takes 2", NULL);
  assert_true(ok);
}

/// Write a sound as the library does.
static void
put_packed(const char* path, VwContainer container, VwEncoding encoding) {
  VwSound sound = {0};
  VwBytes bytes = {0};
  assert_int_equal(vw_sound_init(&sound, 4410, 1, 44100), VW_OK);
  for (size_t i = 1; i + 1U < sound.n_frames; ++i) {
    sound.values[i] = 0.3F * (float)((double)(i % 100U) / 50.0 - 1.0) *
                      (i < 100U ? (float)i / 100.0F : 1.0F) *
                      (i > 4310U ? (float)(4410U - i) / 100.0F : 1.0F);
  }
  const VwPiece    piece = {.sound = sound};
  const VwWrapping wrapping = {.container = container,
                               .format = {44100, 1, encoding, VW_DITHER_NONE},
                               .name = "a",
                               .seed = 1};
  assert_int_equal(vw_encode(&piece, &wrapping, &bytes), VW_OK);
  folder_put(path, bytes.data, bytes.n_bytes);
  vw_bytes_clear(&bytes);
  vw_sound_clear(&sound);
}

static void
test_other_containers(void** state) {
  (void)state;
  VwBoard board = board_plain();
  put_packed("a.flac", VW_CONTAINER_FLAC, VW_ENCODING_S16);
  put_packed("b.flac", VW_CONTAINER_FLAC, VW_ENCODING_S24);
  put_packed("a.ogg", VW_CONTAINER_OGG, VW_ENCODING_S16);
  put_packed("a.raw", VW_CONTAINER_RAW, VW_ENCODING_S16);
  put_packed("a.h", VW_CONTAINER_C_ARRAY, VW_ENCODING_S16);
  plain_wav_put("wav.flac", &(PlainWav){0});
  plain_wav_put("wav.ogg", &(PlainWav){0});
  board.container = VW_CONTAINER_FLAC;
  bool ok = expect("a.flac", &board, NULL, NULL);
  ok &= expect("b.flac", &board, "24-bit PCM, the board takes 16", NULL);
  ok &= expect("wav.flac", &board, "no FLAC file inside", NULL);
  ok &= expect("a.ogg", &board, "no .flac file", NULL);
  board.container = VW_CONTAINER_OGG;
  ok &= expect("a.ogg", &board, NULL, NULL);
  ok &= expect("wav.ogg", &board, "no Ogg file inside", NULL);
  board.sample_rates_hz[0] = 22050;
  ok &= expect("a.ogg", &board, "44100 Hz, the board takes 22050", NULL);
  board.container = VW_CONTAINER_RAW;
  ok &= expect("a.raw", &board, NULL, NULL);
  board.file_bytes_max = 8819;
  ok &= expect("a.raw", &board, "8820 bytes, the board takes 8819", NULL);
  board.file_bytes_max = 0;
  board.container = VW_CONTAINER_C_ARRAY;
  ok &= expect("a.h", &board, NULL, NULL);
  assert_true(ok);
}

/* Sound */

static void
test_sound(void** state) {
  (void)state;
  static const struct {
    const char* name;
    PlainWav    wav;
    const char* fault;
    const char* warning;
  } cases[] = {
    {"clicks at the start", {.first = 0.5}, "first frame", NULL},
    // The greatest step of the tone is 0.5 * 2 pi 440 / 44100 = 0.031 (closed
    // form).
    {"three steps at the start", {.first = 0.094}, "first frame", NULL},
    {"one and a half", {.first = 0.047}, NULL, "first frame"},
    {"clicks at the end", {.last = -0.5}, "last frame", NULL},
    {"one code at the start", {.first = 1.0 / 32768}, NULL, "first frame"},
    {"one code at the end", {.last = 1.0 / 32768}, NULL, "last frame"},
    {"too loud", {.amplitude = 1.2}, NULL, "true peak"},
    {"too loud by little", {.amplitude = 1.02}, NULL, "peak is 0.003"},
    {"as loud as may be", {.amplitude = 0.95}, NULL, NULL},
    {"late", {.lead = 441}, NULL, "10 ms of silence"},
    {"late by 2 ms", {.lead = 88}, NULL, NULL},
    {"on an offset", {.offset = 0.05}, NULL, "offset"},
    {"silent", {.amplitude = 1e-9}, NULL, "silent"},
  };
  const VwBoard board = board_plain();
  bool          ok = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    plain_wav_put("a.shot.wav", &cases[i].wav);
    ok &=
      check_that(expect("a.shot.wav", &board, cases[i].fault, cases[i].warning),
                 "%s",
                 cases[i].name);
  }
  // A recording as it came, written whole: only a click is a fault.
  plain_wav_put("b.wav", &(PlainWav){.first = 1.0 / 32768});
  ok &= check_that(expect("b.wav", &board, NULL, NULL), "one code, whole");
  plain_wav_put("b.wav", &(PlainWav){.first = 0.094});
  ok &= check_that(expect("b.wav", &board, "first frame", NULL), "whole");
  assert_true(ok);
}

// Where in the sound faults lie. Too loud a tone is clipped, so that its true
// peak may be any of its crests that full scale cuts off.
static void
test_where(void** state) {
  (void)state;
  static const struct {
    const char* name;
    PlainWav    wav;
    double      from;
    double      to;
    double      within;
  } cases[] = {
    {"start", {.first = 0.5}, 0.0, 1.0, 0.0},
    {"end", {.last = -0.5}, 4409.0, 4410.0, 0.0},
    {"late", {.lead = 441}, 0.0, 441.0, 3.0},
    {"offset", {.offset = 0.02}, NAN, NAN, 0.0},
    {"peak", {.amplitude = 1.2}, 400.0, 401.0, 400.0},
  };
  const VwBoard board = board_plain();
  bool          ok = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    VwFindings found = {0};
    plain_wav_put("a.wav", &cases[i].wav);
    assert_int_equal(vw_check("a.wav", &board, &found), VW_OK);
    const VwFaults* const list =
      found.faults.n_faults ? &found.faults : &found.warnings;
    assert_true(list->n_faults > 0U);
    const VwFault* const fault = &list->faults[0];
    const double         from = (double)fault->from_frame;
    const double         to = (double)fault->to_frame;
    ok &= check_that(fault->placed == isfinite(cases[i].from),
                     "%s: has a place",
                     cases[i].name);
    if (fault->placed) {
      ok &= check_at_most(fabs(from - cases[i].from),
                          cases[i].within,
                          "%s: start",
                          cases[i].name);
      ok &= check_at_most(
        fabs(to - cases[i].to), cases[i].within, "%s: end", cases[i].name);
    }
    if (cases[i].wav.amplitude > 1.0) {
      const double t_s = from / 44100.0;
      ok &= check_at_least(fabs(1.2 * sin(6.283185307179586 * 440.0 * t_s)) *
                             exp(-10.0 * t_s),
                           0.99,
                           "height where the peak is");
    }
    vw_findings_clear(&found);
  }
  assert_true(ok);
}

// One of three files runs into the next: its ends need not be zero, but the
// loop's must meet.
static void
test_three_files(void** state) {
  (void)state;
  VwBoard board = board_plain();
  bool    ok = true;
  plain_wav_put("a.runin.wav", &(PlainWav){.last = 0.5});
  plain_wav_put("a.loop.wav", &(PlainWav){.first = 0.5, .last = 0.49});
  plain_wav_put("a.ringout.wav", &(PlainWav){.first = 0.5});
  plain_wav_put("b.loop.wav", &(PlainWav){.last = 0.5});
  plain_wav_put("b.runin.wav", &(PlainWav){.first = 0.5, .last = 0.5});
  plain_wav_put("b.shot.wav", &(PlainWav){0});
  ok &= expect("b.loop.wav", &board, "last frame", NULL);
  board.repeat = VW_REPEAT_THREE_FILES;
  ok &= expect("a.runin.wav", &board, NULL, NULL);
  ok &= expect("a.loop.wav", &board, NULL, NULL);
  ok &= expect("a.ringout.wav", &board, NULL, NULL);
  ok &= expect("b.loop.wav", &board, "loop clicks", NULL);
  ok &= expect("b.runin.wav", &board, "first frame", NULL);
  ok &= expect("b.shot.wav", &board, NULL, NULL);
  assert_true(ok);
}

static void
test_buffer(void** state) {
  (void)state;
  VwBoard board = board_plain();
  bool    ok = true;
  board.buffer_frames = 256;
  plain_wav_put("a.loop.wav", &(PlainWav){.n_frames = 4410});
  plain_wav_put("b.loop.wav", &(PlainWav){.n_frames = 4352});
  plain_wav_put("a.shot.wav", &(PlainWav){.n_frames = 4410});
  ok &= expect("a.loop.wav", &board, "buffer of 256", NULL);
  ok &= expect("b.loop.wav", &board, NULL, NULL);
  ok &= expect("a.shot.wav", &board, NULL, NULL);
  board.naming.parts = false;
  ok &= expect("a.shot.wav", &board, NULL, "buffer of 256");
  assert_true(ok);
}

/* Names */

static void
test_names(void** state) {
  (void)state;
  static const struct {
    const char* name;
    VwNaming    naming;
    const char* fault;
  } cases[] = {
    {"12345678.wav", {.eight_three = true}, NULL},
    {"123456789.wav", {.eight_three = true}, "8+3"},
    {"1.2.wav", {.eight_three = true}, "8+3"},
    {"a-b_c.wav", {.eight_three = true}, NULL},
    {"FOG~1.wav", {.eight_three = true}, NULL},
    {"a b.wav", {.eight_three = true}, "a character"},
    {"123456789.wav", {.length_max = 13}, NULL},
    {"1234567890.wav", {.length_max = 13}, "14 characters"},
    {"\u00E4\u00F6\u00FC.wav", {.length_max = 7}, NULL},
    {"abc.wav", {.letters = VW_LETTERS_LOWER}, NULL},
    {"Abc.wav", {.letters = VW_LETTERS_LOWER}, "capital letters"},
    {"ABC.WAV", {.letters = VW_LETTERS_UPPER}, NULL},
    {"ABC.wav", {.letters = VW_LETTERS_UPPER}, "small letters"},
    {"a_b.wav", {.allowed = "_"}, NULL},
    {"a-b.wav", {.allowed = "_"}, ": -"},
    {"a.b.wav", {.allowed = "_"}, ": ."},
    {"a b.wav", {.allowed = "_"}, "a character that the board does not take"},
    {"a\u00E4.wav", {.allowed = "_"}, "a character"},
    {"a\u00E4.wav", {.allowed = ""}, NULL},
    {"a:b.wav", {.allowed = ""}, ": :"},
    {"a\nb.wav", {.allowed = ""}, "a character"},
    {"a\xFF.wav", {.allowed = ""}, "not UTF-8"},
    {"con.wav", {.allowed = ""}, "device"},
    {"Lpt1.shot.wav", {.allowed = ""}, "device"},
    {"cone.wav", {.allowed = ""}, NULL},
    {"07.a.wav", {.digits = 2, .joiner = "."}, NULL},
    {"7.a.wav", {.digits = 2, .joiner = "."}, "2 digits"},
    {"007.a.wav", {.digits = 2, .joiner = "."}, "2 digits"},
    {"0.wav", {.digits = 1, .joiner = "."}, "slot is 0, the board has 1 to 9"},
    {"20.wav", {.digits = 2}, NULL},
    {"21.wav", {.digits = 2}, "slot is 21, the board has 1 to 20"},
  };
  VwBoard board = board_plain();
  bool    ok = true;
  board.slots_max = 20;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    board.naming = cases[i].naming;
    plain_wav_put(cases[i].name, &(PlainWav){0});
    ok &= check_that(expect(cases[i].name, &board, cases[i].fault, NULL),
                     "name %zu, %s",
                     i,
                     cases[i].name);
  }
  assert_true(ok);
}

/* Folders */

/// A folder of good files, which each test spoils.
static VwBoard
put_folder(void) {
  static const char* const names[] = {
    "d/01.zap.loop.wav", "d/01.zap.shot.wav", "d/02.hum.wav", "d/03.boom.wav"};
  VwBoard board = board_plain();
  board.naming.digits = 2;
  assert_int_equal(mkdir("d", 0777), 0);
  for (size_t i = 0; i < COUNT(names); ++i) {
    plain_wav_put(names[i], &(PlainWav){0});
  }
  return board;
}

static void
test_good_folder(void** state) {
  (void)state;
  VwBoard    board = put_folder();
  VwFindings found = {0};
  board.cluster_bytes = 4096;
  board.files_max = 4;
  // 44 + 8820 bytes are three clusters.
  board.capacity_bytes = UINT64_C(4) * 3U * 4096U;
  assert_int_equal(vw_check("d", &board, &found), VW_OK);
  print_all(&found.faults, "fault");
  assert_int_equal(found.faults.n_faults, 0);
  assert_int_equal(found.warnings.n_faults, 0);
  assert_int_equal(found.n_files, 4);
  assert_int_equal(found.n_bytes, 4 * 8864);
  assert_int_equal(found.n_bytes_on_card, 4 * 12288);
  vw_findings_clear(&found);
  --board.capacity_bytes;
  assert_true(expect("d", &board, "49152 bytes on the card", NULL));
  board.capacity_bytes = 0;
  board.files_max = 3;
  assert_true(expect("d", &board, "4 files, the board takes 3", NULL));
}

// A folder takes a cluster too.
static void
test_group_folders(void** state) {
  (void)state;
  VwBoard    board = put_folder();
  VwFindings found = {0};
  mkdir("d/e", 0777);
  plain_wav_put("d/e/04.wav", &(PlainWav){0});
  assert_true(expect("d", &board, "where this board does not look", NULL));
  board.naming.group_folders = true;
  board.cluster_bytes = 4096;
  assert_true(expect("d", &board, NULL, NULL));
  assert_int_equal(vw_check("d", &board, &found), VW_OK);
  assert_int_equal(found.n_bytes_on_card, 5 * 12288 + 4096);
  vw_findings_clear(&found);
  mkdir("d/e/f", 0777);
  plain_wav_put("d/e/f/05.wav", &(PlainWav){0});
  assert_true(expect("d", &board, "deeper", NULL));
}

static void
test_same_slot(void** state) {
  (void)state;
  VwBoard board = put_folder();
  plain_wav_put("d/02.siren.wav", &(PlainWav){0});
  assert_true(expect("d", &board, "another sound lies on its slot", NULL));
  remove("d/02.siren.wav");
  // Parts of one sound share a slot, those of another do not.
  plain_wav_put("d/01.zap.ringout.wav", &(PlainWav){0});
  assert_true(expect("d", &board, NULL, NULL));
  plain_wav_put("d/01.zip.shot.wav", &(PlainWav){0});
  assert_true(expect("d", &board, "another sound lies on its slot", NULL));
  remove("d/01.zip.shot.wav");
  // In another folder it is another slot.
  board.naming.group_folders = true;
  mkdir("d/e", 0777);
  plain_wav_put("d/e/02.siren.wav", &(PlainWav){0});
  assert_true(expect("d", &board, NULL, NULL));
}

static void
test_case_alone(void** state) {
  (void)state;
  const VwBoard board = put_folder();
  plain_wav_put("d/02.HUM.wav", &(PlainWav){0});
  assert_true(expect("d", &board, "case of letters alone", NULL));
  remove("d/02.HUM.wav");
  // Cards fold the case of other letters too.
  plain_wav_put("d/04.\u00E9clat.shot.wav", &(PlainWav){0});
  plain_wav_put("d/04.\u00C9CLAT.loop.wav", &(PlainWav){0});
  assert_true(expect("d", &board, NULL, NULL));
  plain_wav_put("d/04.\u00C9CLAT.SHOT.WAV", &(PlainWav){0});
  assert_true(expect("d", &board, "case of letters alone", NULL));
}

static void
test_litter(void** state) {
  (void)state;
  static const struct {
    const char* name;
    const char* fault;
    const char* warning;
    bool        counted; ///< A fault on a board that counts all files.
  } cases[] = {
    {"d/._01.zap.loop.wav", "a hidden file", NULL, true},
    {"d/04.more.mp3", "a sound that is no .wav file", NULL, true},
    {"d/04.more.OGG", "a sound that is no .wav file", NULL, true},
    {"d/readme.txt", NULL, "no sound of the board", true},
    {"d/.thumbs", NULL, "no sound of the board", true},
    {"d/.volleyweave.list", NULL, NULL, false},
  };
  VwBoard board = put_folder();
  bool    ok = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    folder_put(cases[i].name, "x", 1);
    board.order = VW_ORDER_BY_NAME;
    ok &= expect("d", &board, cases[i].fault, cases[i].warning);
    board.order = VW_ORDER_WRITTEN;
    ok &= expect("d",
                 &board,
                 cases[i].counted && cases[i].warning ? "counts all files"
                                                      : cases[i].fault,
                 cases[i].counted ? NULL : cases[i].warning);
    remove(cases[i].name);
  }
  assert_int_equal(symlink("02.hum.wav", "d/04.wav"), 0);
  ok &= expect("d", &board, "link", NULL);
  assert_true(ok);
}

static void
test_nothing_there(void** state) {
  (void)state;
  const VwBoard board = board_plain();
  VwFindings    found = {0};
  mkdir("d", 0777);
  assert_true(expect("d", &board, "no .wav file", NULL));
  assert_int_equal(vw_check("gone", &board, &found), VW_MISSING);
  assert_int_equal(mkfifo("pipe.wav", 0666), 0);
  assert_int_equal(vw_check("pipe.wav", &board, &found), VW_NOT_REGULAR);
  assert_int_equal(found.faults.n_faults, 0);
  assert_true(expect("d", &board, "no .wav file", NULL));
}

/* What the library makes for a board. */

/// Write all pieces of a family as the board wants them. False, and said, where
/// a step fails.
static bool
put_family(const VwFamily* family, const VwBoard* board, const char* folder) {
  bool ok = true;
  for (size_t i = 0; ok && i < family->n_pieces; ++i) {
    const VwPiece* const piece = &family->pieces[i];
    const VwWrapping     wrapping = {.container = board->container,
                                     .format = family->format,
                                     .loop_points = board->loop_points,
                                     .name = "zap",
                                     .seed = 1};
    VwBytes              bytes = {0};
    char*                name = NULL;
    char                 path[300] = "";
    ok =
      check_that(
        !vw_board_file_name(
          board, &(VwFileLabel){7, "bench", "fog knapper", piece->part}, &name),
        "a name") &&
      check_that(!vw_encode(piece, &wrapping, &bytes), "bytes");
    if (ok) {
      (void)snprintf(path, sizeof(path), "%s/%s", folder, name);
      folder_put(path, bytes.data, bytes.n_bytes);
    }
    vw_bytes_clear(&bytes);
    free(name);
  }
  return ok;
}

static bool
check_made(const VwSound* raw, const VwBoard* board, unsigned index) {
  const VwBoardWish wish = {0};
  VwFamilyOptions   options = vw_family_defaults();
  Made              made = {0};
  char              folder[32];
  char              group[64];
  if (!check_that(!vw_board_apply(board, &wish, &options), "applied") ||
      !made_new(raw, &options, &made)) {
    return false;
  }
  (void)snprintf(folder, sizeof(folder), "made%u", index);
  (void)snprintf(group, sizeof(group), "%s/bench", folder);
  mkdir(folder, 0777);
  if (board->naming.group_folders) {
    mkdir(group, 0777);
  }
  bool ok = put_family(&made.family, board, folder);
  made_clear(&made);
  return ok && expect(folder, board, NULL, NULL);
}

// What is made for a board suits it: every way of repeating, with names of
// every kind, in every encoding.
static void
test_own_families(void** state) {
  (void)state;
  static const VwNaming namings[] = {
    {.sound = true, .parts = true, .joiner = "."},
    {.digits = 3,
     .eight_three = true,
     .letters = VW_LETTERS_UPPER,
     .sound = true,
     .parts = true,
     .joiner = "."},
    {.digits = 2, .sound = false, .parts = true, .joiner = ""},
    {.digits = 1,
     .length_max = 12,
     .sound = true,
     .parts = true,
     .joiner = "-",
     .allowed = "-",
     .letters = VW_LETTERS_LOWER,
     .group_folders = true},
  };
  static const VwEncoding encodings[] = {
    VW_ENCODING_U8, VW_ENCODING_S16, VW_ENCODING_S24, VW_ENCODING_FLOAT};

  const SignalBurst burst = {
    .start_s = 0.1, .decay_s = 0.4, .level = 0.5, .pitch_hz = 700};
  VwSound raw = signal_take(1.0, 44100, &burst, 1);
  bool    ok = true;
  for (unsigned i = 0; i < 4U * 4U * 4U; ++i) {
    VwBoard board = board_plain();
    board.repeat = (VwRepeat)(i % 4U);
    board.loop_points = board.repeat == VW_REPEAT_LOOP_POINTS;
    board.naming = namings[i / 4U % 4U];
    board.encodings[0] = encodings[i / 16U];
    board.buffer_frames = i % 3U ? 256U : 1U;
    board.gap_ms = board.repeat == VW_REPEAT_WHOLE_FILE ? 25.0 : 0.0;
    board.sample_rates_hz[0] = i % 2U ? 22050U : 44100U;
    board.channels[0] = 1U + i / 2U % 2U;
    ok &= check_that(check_made(&raw, &board, i), "board %u", i);
  }
  vw_sound_clear(&raw);
  assert_true(ok);
}

/* Order */

static void
set_time(const char* path, long seconds) {
  const struct timespec times[] = {{.tv_sec = seconds}, {.tv_sec = seconds}};
  assert_int_equal(utimensat(AT_FDCWD, path, times, 0), 0);
}

static void
test_times(void** state) {
  (void)state;
  VwBoard board = put_folder();
  set_time("d/01.zap.loop.wav", 1000000000);
  set_time("d/01.zap.shot.wav", 1000000000);
  set_time("d/02.hum.wav", 1000000002);
  set_time("d/03.boom.wav", 1000000004);
  board.order = VW_ORDER_WRITTEN;
  assert_true(expect("d", &board, NULL, NULL));
  set_time("d/03.boom.wav", 1000000001);
  assert_true(expect("d", &board, "written before 02.hum.wav", NULL));
  board.order = VW_ORDER_BY_NAME;
  assert_true(expect("d", &board, NULL, NULL));
}

// How a card names its files, which only a file system of cards tells.
static void
test_places(void** state) {
  (void)state;
  char           names[][8] = {"1.wav", "2.wav", "e/1.wav", "e/2.wav"};
  VwEntry        entries[] = {{.path = names[0], .place = 1},
                              {.path = names[1], .place = 3},
                              {.path = names[2], .place = 0},
                              {.path = names[3], .place = 2}};
  const VwEntry* files[] = {&entries[0], &entries[1], &entries[2], &entries[3]};
  VwFindings     found = {0};
  VwNotes        notes = {.findings = &found, .path = "card", .status = VW_OK};
  vw_check_order(files, 4, true, &notes);
  assert_int_equal(found.faults.n_faults, 0);
  entries[3].place = 0;
  entries[2].place = 2;
  vw_check_order(files, 4, true, &notes);
  assert_int_equal(found.faults.n_faults, 1);
  assert_string_equal(found.faults.faults[0].path, "card/e/2.wav");
  vw_findings_clear(&found);
}

int
main(void) {
#define IN_FOLDER(test)                                                        \
  cmocka_unit_test_setup_teardown(test, folder_enter, folder_leave)
  const struct CMUnitTest tests[] = {
    IN_FOLDER(test_headers),
    IN_FOLDER(test_odd_length),
    IN_FOLDER(test_chunk_behind),
    IN_FOLDER(test_no_wav),
    IN_FOLDER(test_float),
    IN_FOLDER(test_loop_points),
    IN_FOLDER(test_loop_without_points),
    IN_FOLDER(test_format),
    IN_FOLDER(test_other_containers),
    IN_FOLDER(test_sound),
    IN_FOLDER(test_where),
    IN_FOLDER(test_three_files),
    IN_FOLDER(test_buffer),
    IN_FOLDER(test_names),
    IN_FOLDER(test_good_folder),
    IN_FOLDER(test_group_folders),
    IN_FOLDER(test_same_slot),
    IN_FOLDER(test_case_alone),
    IN_FOLDER(test_litter),
    IN_FOLDER(test_nothing_there),
    IN_FOLDER(test_own_families),
    IN_FOLDER(test_times),
    IN_FOLDER(test_places),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
