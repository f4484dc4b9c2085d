// Packs that are too big: what is lowered so that they fit.

#define _XOPEN_SOURCE 700

#include "board/board.h"
#include "burst/burst.h"
#include "container/container.h"
#include "pack/pack.h"
#include "support/check.h"
#include "support/folder.h"
#include "support/packs.h"

#include "volleyweave/volleyweave.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

enum { SOUNDS = 4, RATE_HZ = 44100, LOWEST = 3 };

#define TOP_HZ 10000.0
#define TURN (2.0 * 3.14159265358979)

static const unsigned rates_hz[] = {44100, 32000, 22050, 11025};

// Decaying tones: which of the rates holds them, by half of it less a little
// (closed form), a corner of 200 Hz below.
static const double      tones_hz[SOUNDS] = {1000.0, 4000.0, 9000.0, 18000.0};
static const unsigned    lowest_hz[SOUNDS] = {11025, 11025, 22050, 44100};
static const char* const takes[SOUNDS] = {"low.wav",
                                          "middle.wav",
                                          "high.wav",
                                          "top.wav"};

static void
put_tone(const char* path, double tone_hz, double seconds) {
  VwPiece  piece = {.part = VW_PART_WHOLE};
  VwFormat format = vw_format_defaults();
  VwBytes  bytes = {NULL, 0};
  assert_int_equal(
    vw_sound_init(&piece.sound, (size_t)(seconds * RATE_HZ), 1, RATE_HZ),
    VW_OK);
  for (size_t i = 441; i < piece.sound.n_frames; ++i) {
    const double t_s = (double)(i - 441) / RATE_HZ;
    // A soft start: a hard one would spread over all frequencies.
    const double level = 0.4 * fmin(t_s / 0.004, 1.0) * exp(-t_s / 0.05);
    // A tenth of the power of the last is where 32 kHz cannot follow.
    const double top = tone_hz > TOP_HZ ? 1.0 / 3.0 : 0.0;
    const double hz = tone_hz > TOP_HZ ? 1000.0 : tone_hz;
    piece.sound.values[i] =
      (float)(level * (sin(TURN * hz * t_s) + top * sin(TURN * tone_hz * t_s)));
  }
  format.dither = VW_DITHER_NONE;
  assert_int_equal(vw_encode_wav(&piece, &format, 1, &bytes), VW_OK);
  folder_put(path, bytes.data, bytes.n_bytes);
  vw_bytes_clear(&bytes);
  vw_sound_clear(&piece.sound);
}

static int
set_up(void** state) {
  if (folder_enter(state)) {
    return -1;
  }
  for (size_t i = 0; i < SOUNDS; ++i) {
    put_tone(takes[i], tones_hz[i], 0.5 + 0.1 * (double)i);
  }
  return 0;
}

static VwBoard
board_of_rates(uint64_t capacity_bytes) {
  VwBoard board = packs_board();
  memcpy(board.sample_rates_hz, rates_hz, sizeof(rates_hz));
  board.n_sample_rates = 4;
  board.capacity_bytes = capacity_bytes;
  return board;
}

static void
make_wishes(VwSoundWish wishes[SOUNDS]) {
  static const char* const names[] = {"low", "middle", "high", "top"};
  for (size_t i = 0; i < SOUNDS; ++i) {
    wishes[i] = packs_wish(names[i], VW_MAKE_WHOLE, &takes[i]);
  }
}

static uint64_t
whole_size(const VwSoundWish* wishes) {
  const VwBoard       board = board_of_rates(UINT64_C(1) << 40U);
  const VwPackOptions options = packs_options(&board, "out");
  VwPack              pack;
  assert_true(packs_settle(wishes, SOUNDS, &options, 1, &pack));
  const uint64_t n_bytes = pack.sums.n_bytes_on_card;
  vw_pack_clear(&pack);
  return n_bytes;
}

// The sample rate and the bytes that a file itself tells: RIFF, `fmt ` first.
static unsigned
rate_in(const char* name, size_t* n_bytes) {
  char path[64];
  snprintf(path, sizeof(path), "out/%s.wav", name);
  char* const bytes = folder_get(path, n_bytes);
  assert_non_null(bytes);
  const unsigned char* const at = (const unsigned char*)bytes + 24;
  const unsigned             rate_hz =
    at[0] | (unsigned)at[1] << 8U | (unsigned)at[2] << 16U;
  free(bytes);
  return rate_hz;
}

// As small as it gets: each at the lowest rate that holds its tone.
static void
test_lowest(void** state) {
  (void)state;
  VwSoundWish wishes[SOUNDS];
  uint64_t    n_bytes = 0;
  make_wishes(wishes);
  const uint64_t before = whole_size(wishes);
  const VwBoard  narrow = board_of_rates(before * 6U / 10U);
  VwPackOptions  options = packs_options(&narrow, "out");
  VwPack         pack;
  assert_true(packs_settle(wishes, SOUNDS, &options, 1, &pack));
  const VwPackChange* const fit = &pack.sums.changes[0];
  assert_int_equal(fit->kind, VW_PACK_FIT);
  const double estimated = (double)fit->n_bytes_on_card;
  vw_pack_clear(&pack);
  const VwBoard board = board_of_rates((uint64_t)(estimated * 1.01));
  options.board = &board;
  options.fit = true;
  assert_true(packs_make(wishes, SOUNDS, &options, 2, &pack));
  assert_int_equal(pack.sums.n_bytes_over, 0);
  for (size_t i = 0; i < SOUNDS; ++i) {
    size_t         n = 0;
    const unsigned rate_hz = rate_in(wishes[i].name, &n);
    n_bytes += n;
    assert_true(check_that(
      rate_hz == lowest_hz[i], "%s at %u Hz", wishes[i].name, rate_hz));
    assert_int_equal(pack.sounds[i].rate_before_hz,
                     lowest_hz[i] == RATE_HZ ? 0 : RATE_HZ);
  }
  vw_pack_clear(&pack);
  assert_true(n_bytes <= board.capacity_bytes && n_bytes < before);
  assert_true(check_at_most(
    fabs((double)n_bytes / estimated - 1.0), 0.01, "estimate of the size"));
  // The next run finds all as it is.
  assert_true(packs_make(wishes, SOUNDS, &options, 1, &pack));
  assert_int_equal(pack.sums.n_other, 0);
  vw_pack_clear(&pack);
}

// No more is lowered than is needed, the least audible first.
static void
test_least(void** state) {
  (void)state;
  VwSoundWish wishes[SOUNDS];
  make_wishes(wishes);
  const uint64_t before = whole_size(wishes);
  const VwBoard  board = board_of_rates(before - 1000U);
  VwPackOptions  options = packs_options(&board, "out");
  VwPack         pack;
  options.fit = true;
  assert_true(packs_settle(wishes, SOUNDS, &options, 1, &pack));
  size_t n_lowered = 0;
  double kept = 0.0;
  double kept_most = 0.0;
  for (size_t i = 0; i < SOUNDS; ++i) {
    const VwPackSound* const sound = &pack.sounds[i];
    n_lowered += sound->rate_before_hz ? 1U : 0U;
    kept = sound->rate_before_hz ? sound->kept[i == 2 ? 2 : LOWEST] : kept;
    kept_most =
      i < 3 ? fmax(kept_most, sound->kept[i == 2 ? 2 : LOWEST]) : kept_most;
  }
  assert_int_equal(n_lowered, 1);
  assert_true(kept == kept_most && kept > 0.95);
  assert_int_equal(pack.sums.n_bytes_over, 0);
  vw_pack_clear(&pack);
}

// Where all that may be lowered is not enough, it is said by how much.
static void
test_not_enough(void** state) {
  (void)state;
  VwSoundWish wishes[SOUNDS];
  make_wishes(wishes);
  const VwBoard board = board_of_rates(whole_size(wishes) / 10U);
  VwPackOptions options = packs_options(&board, "out");
  VwPack        pack;
  options.fit = true;
  assert_true(packs_settle(wishes, SOUNDS, &options, 1, &pack));
  assert_int_equal(pack.sums.n_bytes_over,
                   pack.sums.n_bytes_on_card - board.capacity_bytes);
  assert_true(pack.sums.n_bytes_over > 0);
  for (size_t i = 0; i < SOUNDS; ++i) {
    assert_int_equal(pack.sounds[i].options.format.rate_hz, lowest_hz[i]);
  }
  vw_pack_clear(&pack);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown(test_lowest, set_up, folder_leave),
    cmocka_unit_test_setup_teardown(test_least, set_up, folder_leave),
    cmocka_unit_test_setup_teardown(test_not_enough, set_up, folder_leave),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
