// Names of files as boards want them. What is expected follows from the public
// header; reserved names: Microsoft, "Naming Files, Paths, and Namespaces".

#include "board/board.h"
#include "support/check.h"

#include "volleyweave/volleyweave.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

// A board whose names are all of sound and part.
#define PLAIN .sound = true, .parts = true, .joiner = "."

typedef struct {
  VwNaming    naming;
  unsigned    slot;
  const char* sound;
  VwPart      part;
  const char* expected; ///< NULL: no name.
} Case;

static char*
name_of(const Case* a_case, const char* group) {
  VwBoard           board = {.naming = a_case->naming};
  char*             name = NULL;
  const VwFileLabel label = {a_case->slot, group, a_case->sound, a_case->part};
  const VwStatus    st = vw_board_file_name(&board, &label, &name);
  assert_true(st == VW_OK || (st == VW_NO_NAME && !name));
  return name;
}

static bool
check_case(const Case* a_case) {
  char* const       name = name_of(a_case, "group");
  const char* const expected = a_case->expected ? a_case->expected : "(none)";
  const char* const made = name ? name : "(none)";
  const bool        ok = check_that(!strcmp(made, expected),
                             "\"%s\" gives \"%s\", not \"%s\"",
                             a_case->sound,
                             made,
                             expected);
  free(name);
  return ok;
}

static void
check_cases(const Case* cases, size_t n_cases) {
  bool ok = true;
  for (size_t i = 0; i < n_cases; ++i) {
    ok &= check_case(&cases[i]);
  }
  assert_true(ok);
}

#define CHECK_CASES(cases) check_cases(cases, sizeof(cases) / sizeof(cases[0]))

static void
test_elements(void** state) {
  (void)state;
  static const Case cases[] = {
    {{PLAIN}, 0, "zap", VW_PART_SHOT, "zap.shot.wav"},
    {{PLAIN}, 7, "zap", VW_PART_RUN_IN, "zap.runin.wav"},
    {{PLAIN}, 0, "zap", VW_PART_WHOLE, "zap.wav"},
    {{.digits = 3, PLAIN}, 7, "zap", VW_PART_LOOP, "007.zap.loop.wav"},
    {{.digits = 3, .joiner = "_"}, 12, "zap", VW_PART_LOOP, "012.wav"},
    {{.digits = 2, .sound = true, .joiner = " - "},
     1,
     "zap",
     VW_PART_BURST,
     "01 - zap.wav"},
    {{.digits = 1, .sound = true, .parts = true},
     9,
     "zap",
     VW_PART_RING_OUT,
     "9zapringout.wav"},
    {{.parts = true, .joiner = "."}, 0, "zap", VW_PART_SHOT, "shot.wav"},
    {{.joiner = "."}, 0, "zap", VW_PART_SHOT, NULL},
  };
  CHECK_CASES(cases);
}

static void
test_slots(void** state) {
  (void)state;
  static const Case cases[] = {
    {{.digits = 2, PLAIN}, 0, "zap", VW_PART_SHOT, NULL},
    {{.digits = 2, PLAIN}, 99, "zap", VW_PART_SHOT, "99.zap.shot.wav"},
    {{.digits = 2, PLAIN}, 100, "zap", VW_PART_SHOT, NULL},
    {{.digits = 5, PLAIN}, 99999, "z", VW_PART_SHOT, "99999.z.shot.wav"},
    {{.digits = 5, PLAIN}, 100000, "z", VW_PART_SHOT, NULL},
    {{.digits = 5, PLAIN}, 4294967295U, "z", VW_PART_SHOT, NULL},
    {{PLAIN}, 4294967295U, "z", VW_PART_SHOT, "z.shot.wav"},
  };
  CHECK_CASES(cases);

  const VwBoard board = {.naming = {.digits = 2, PLAIN}, .slots_max = 8};
  char*         name = NULL;
  assert_int_equal(vw_board_file_name(
                     &board, &(VwFileLabel){9, NULL, "z", VW_PART_SHOT}, &name),
                   VW_NO_NAME);
  assert_null(name);
  assert_int_equal(vw_board_file_name(
                     &board, &(VwFileLabel){8, NULL, "z", VW_PART_SHOT}, &name),
                   VW_OK);
  assert_string_equal(name, "08.z.shot.wav");
  free(name);
}

static void
test_characters(void** state) {
  (void)state;
  static const Case cases[] = {
    {{PLAIN},
     0,
     "a/b\\c:d*e?f\"g<h>i|j",
     VW_PART_WHOLE,
     "a_b_c_d_e_f_g_h_i_j.wav"},
    {{PLAIN}, 0, "../../etc/passwd", VW_PART_WHOLE, "_.._etc_passwd.wav"},
    {{PLAIN}, 0, "/", VW_PART_WHOLE, "_.wav"},
    {{PLAIN}, 0, "a\nb\tc\x7F", VW_PART_WHOLE, "a_b_c_.wav"},
    {{PLAIN}, 0, "-rf", VW_PART_WHOLE, "rf.wav"},
    {{PLAIN}, 0, ".hidden. ", VW_PART_WHOLE, "hidden.wav"},
    {{PLAIN}, 0, "..", VW_PART_SHOT, NULL},
    {{PLAIN}, 0, "", VW_PART_SHOT, NULL},
    {{.digits = 1, PLAIN}, 4, "..", VW_PART_SHOT, "4.shot.wav"},
    {{PLAIN}, 0, "n\u00E4h 1 (2)", VW_PART_WHOLE, "n\u00E4h 1 (2).wav"},
    {{PLAIN}, 0, "a\xFF\xC3", VW_PART_WHOLE, "a__.wav"},
    {{PLAIN, .allowed = "-_."}, 0, "n\u00E4h m", VW_PART_WHOLE, "n_h_m.wav"},
    {{PLAIN, .allowed = "-"}, 0, "n\u00E4h-m.x", VW_PART_SHOT, "nh-mxshot.wav"},
    {{PLAIN, .allowed = "/._"}, 0, "a/b", VW_PART_SHOT, "a_b.shot.wav"},
    {{PLAIN, .letters = VW_LETTERS_UPPER},
     0,
     "n\u00E4h",
     VW_PART_LOOP,
     "N\u00E4H.LOOP.WAV"},
    {{PLAIN, .letters = VW_LETTERS_LOWER},
     0,
     "ZaP",
     VW_PART_LOOP,
     "zap.loop.wav"},
    {{.sound = true, .parts = true, .joiner = "/.."},
     0,
     "z",
     VW_PART_LOOP,
     "z_..loop.wav"},
  };
  CHECK_CASES(cases);
}

static void
test_devices(void** state) {
  (void)state;
  static const Case cases[] = {
    {{PLAIN}, 0, "CON", VW_PART_SHOT, "CON_.shot.wav"},
    {{PLAIN}, 0, "nul.tar", VW_PART_WHOLE, "nul_.tar.wav"},
    {{PLAIN}, 0, "Aux ", VW_PART_WHOLE, "Aux_.wav"},
    {{PLAIN}, 0, "prn .x", VW_PART_WHOLE, "prn _.x.wav"},
    {{PLAIN}, 0, "COM1", VW_PART_WHOLE, "COM1_.wav"},
    {{PLAIN}, 0, "lpt9", VW_PART_WHOLE, "lpt9_.wav"},
    {{PLAIN}, 0, "com\u00B9", VW_PART_WHOLE, "com\u00B9_.wav"},
    {{PLAIN}, 0, "com", VW_PART_WHOLE, "com.wav"},
    {{PLAIN}, 0, "com10", VW_PART_WHOLE, "com10.wav"},
    {{PLAIN}, 0, "console", VW_PART_WHOLE, "console.wav"},
    {{.digits = 2, PLAIN}, 1, "con", VW_PART_WHOLE, "01.con.wav"},
    {{.sound = true, .parts = true, .joiner = "_"},
     0,
     "con",
     VW_PART_SHOT,
     "con_shot.wav"},
    {{PLAIN, .allowed = "."}, 0, "con", VW_PART_SHOT, "conx.shot.wav"},
    {{PLAIN, .letters = VW_LETTERS_UPPER, .allowed = "."},
     0,
     "con",
     VW_PART_SHOT,
     "CONX.SHOT.WAV"},
    // Cut to a device's name, with no room for more.
    {{PLAIN, .length_max = 7}, 0, "console", VW_PART_WHOLE, "_on.wav"},
    {{PLAIN, .length_max = 8},
     0,
     "com\u00B9xx",
     VW_PART_WHOLE,
     "_om\u00B9.wav"},
  };
  CHECK_CASES(cases);
}

static void
test_lengths(void** state) {
  (void)state;
  static const Case cases[] = {
    {{PLAIN, .length_max = 20},
     0,
     "fog-knapper-two",
     VW_PART_RING_OUT,
     "fog-knap.ringout.wav"},
    {{PLAIN, .length_max = 20},
     0,
     "fog-kna. two",
     VW_PART_RING_OUT,
     "fog-kna.ringout.wav"},
    {{PLAIN, .length_max = 12},
     0,
     "fog-knapper",
     VW_PART_RING_OUT,
     "fog-kn.o.wav"},
    {{PLAIN, .length_max = 10},
     0,
     "\u00E4\u00E4\u00E4\u00E4\u00E4\u00E4\u00E4",
     VW_PART_WHOLE,
     "\u00E4\u00E4\u00E4\u00E4\u00E4\u00E4.wav"},
    {{.digits = 5, PLAIN, .length_max = 11},
     1,
     "zap",
     VW_PART_SHOT,
     "00001.s.wav"},
    {{.digits = 5, PLAIN, .length_max = 10}, 1, "zap", VW_PART_SHOT, NULL},
    {{PLAIN, .length_max = 6}, 0, "zap", VW_PART_SHOT, NULL},
    {{PLAIN, .length_max = 4}, 0, "zap", VW_PART_WHOLE, NULL},
    {{PLAIN, .eight_three = true},
     0,
     "fog-knapper",
     VW_PART_SHOT,
     "fog-kn_s.wav"},
    {{PLAIN, .eight_three = true}, 0, "fog", VW_PART_RUN_IN, "fog_i.wav"},
    {{.digits = 2,
      .sound = true,
      .parts = true,
      .eight_three = true,
      .letters = VW_LETTERS_UPPER},
     3,
     "fog knapper",
     VW_PART_BURST,
     "03FOG_KB.WAV"},
    {{PLAIN, .eight_three = true},
     0,
     "n\u00E4h.x y",
     VW_PART_WHOLE,
     "n_h_x_y.wav"},
  };
  CHECK_CASES(cases);
}

// 255 bytes at most, and no character cut in two.
static void
test_longest(void** state) {
  (void)state;
  static const char* const characters[] = {
    "a", "\u00E4", "\u20AC", "\U0001F50A"};

  bool ok = true;
  for (size_t i = 0; i < 4; ++i) {
    for (size_t n_lead = 0; n_lead < 4; ++n_lead) {
      char sound[1300] = "";
      memset(sound, 'x', n_lead);
      for (size_t j = 0; j < 300; ++j) {
        strcat(sound, characters[i]);
      }
      const Case  a_case = {{PLAIN}, 0, sound, VW_PART_RING_OUT, NULL};
      char* const name = name_of(&a_case, NULL);
      assert_non_null(name);
      const size_t n = strlen(name);
      const size_t n_stem = n - strlen(".ringout.wav");
      ok &= check_at_most((double)n, 255.0, "bytes, case %zu", i);
      ok &= check_at_least((double)n, 252.0, "bytes, case %zu", i);
      ok &= check_equal((double)((n_stem - n_lead) % strlen(characters[i])),
                        0.0,
                        "cut, case %zu",
                        i);
      ok &= check_that(!memcmp(name, sound, n_stem) &&
                         !strcmp(name + n_stem, ".ringout.wav"),
                       "case %zu: %s",
                       i,
                       name);
      free(name);
    }
  }
  assert_true(ok);
}

static void
test_groups(void** state) {
  (void)state;
  static const struct {
    const char* group;
    bool        eight_three;
    const char* expected;
  } cases[] = {
    {"one", false, "one/zap.wav"},
    {NULL, false, "zap.wav"},
    {"", false, "zap.wav"},
    {"..", false, "zap.wav"},
    {"../up", false, "_up/zap.wav"},
    {"a/b", false, "a_b/zap.wav"},
    {"con", false, "con_/zap.wav"},
    {"a long folder", true, "a_long_f/zap.wav"},
  };

  bool ok = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    const Case a_case = {
      {PLAIN, .group_folders = true, .eight_three = cases[i].eight_three},
      0,
      "zap",
      VW_PART_WHOLE,
      NULL};
    char* const name = name_of(&a_case, cases[i].group);
    assert_non_null(name);
    ok &= check_that(!strcmp(name, cases[i].expected), "%zu: %s", i, name);
    free(name);
  }
  assert_true(ok);
}

static void
test_endings(void** state) {
  (void)state;
  static const char* const endings[] = {".wav", ".ogg", ".flac", ".raw", ".h"};

  for (int i = 0; i < 5; ++i) {
    const VwBoard board = {.container = (VwContainer)i, .naming = {PLAIN}};
    char*         name = NULL;
    assert_int_equal(
      vw_board_file_name(
        &board, &(VwFileLabel){0, NULL, "z", VW_PART_WHOLE}, &name),
      VW_OK);
    assert_string_equal(name + 1, endings[i]);
    assert_string_equal(vw_container_ending((VwContainer)i), endings[i]);
    free(name);
  }
  assert_string_equal(vw_container_ending((VwContainer)5), "");

  // An ending of four letters is none of 8+3.
  const VwBoard board = {.container = VW_CONTAINER_FLAC,
                         .naming = {PLAIN, .eight_three = true}};
  char*         name = NULL;
  assert_int_equal(
    vw_board_file_name(
      &board, &(VwFileLabel){0, NULL, "z", VW_PART_WHOLE}, &name),
    VW_NO_NAME);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_elements),
    cmocka_unit_test(test_slots),
    cmocka_unit_test(test_characters),
    cmocka_unit_test(test_devices),
    cmocka_unit_test(test_lengths),
    cmocka_unit_test(test_longest),
    cmocka_unit_test(test_groups),
    cmocka_unit_test(test_endings),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
