// The test sound of a board: its marks, and where they lie.

#include "base/random.h"
#include "base/units.h"
#include "gauge/board/board.h"

#include <assert.h>
#include <math.h>

// Ten seconds of it are four or five repeats; less than half of it has too few
// marks (chosen here).
#define TEST_S 2.0
#define TEST_LEAST_S 1.0

// A mark for each so many seconds.
#define MARK_EACH_S 0.125

// A glide over so many periods stands 20 dB above noise as strong as it is; it
// is shorter than a switch bounces and a room answers. The silence behind each
// is for the room, that at the file's end for a cut to be seen (chosen here).
#define MARK_S 0.024
#define MARK_APART_S 0.02
#define MARK_END_S 0.004

// Small speakers and telephones pass this (common practice); of low sample
// rates what converters pass.
#define LOW_HZ 900.0
#define HIGH_HZ 5400.0
#define HIGH_OF_RATE 0.42

// Its ends rise and fall over this part of a mark, so that it does not click.
#define MARK_EDGE 0.2

// 3 dB below full scale: no converter overshoots it (common practice).
#define MARK_PEAK 0.7

/// The channels of each mark where there are two: twice each of the single
/// ones in 2 s, none of them at the file's ends.
static const VwMarkIn channels_of_marks[VW_MARKS_MOST] = {
  [2] = VW_MARK_LEFT,
  [4] = VW_MARK_RIGHT,
  [6] = VW_MARK_OPPOSED,
  [9] = VW_MARK_LEFT,
  [11] = VW_MARK_RIGHT,
  [13] = VW_MARK_OPPOSED,
};

static size_t
frames_of(const VwTestWish* wish) {
  const size_t unit = wish->frames_unit;
  const size_t usual = vw_frames_of_s(TEST_S, wish->rate_hz);
  const size_t most = wish->frames_most / unit * unit;
  const size_t n = (usual + unit - 1U) / unit * unit;
  return wish->frames_most && most < n ? most : n;
}

/// Lay the marks into equal shares of the file, each anywhere in its own, the
/// last one at the end.
static void
place_marks(VwTestSound* test) {
  VwRandom     random = {(uint64_t)test->rate_hz << 32U ^ test->n_frames << 2U ^
                         test->n_channels};
  const double length_s = (double)test->n_frames / test->rate_hz;
  const double share_s = length_s / (double)test->n_marks;
  for (size_t i = 0; i < test->n_marks; ++i) {
    VwTestMark* const mark = &test->marks[i];
    const double      room_s = share_s - test->mark_s - MARK_APART_S;
    const double      part = (double)vw_random_below(&random, 1000U) / 1000.0;
    mark->place_s = (double)i * share_s + (i ? part * room_s : 0.0);
    mark->falls = !i || vw_random_below(&random, 2U);
    mark->in = test->n_channels > 1U ? channels_of_marks[i] : VW_MARK_ALL;
  }
  test->marks[test->n_marks - 1U].place_s =
    length_s - test->mark_s - MARK_END_S;
}

VwStatus
vw_test_plan(const VwTestWish* wish, VwTestSound* test) {
  assert(wish && test && wish->rate_hz && wish->frames_unit);
  VwTestSound  plan = {.mark_s = MARK_S,
                       .low_hz = LOW_HZ,
                       .high_hz = fmin(HIGH_HZ, HIGH_OF_RATE * wish->rate_hz),
                       .rate_hz = wish->rate_hz,
                       .n_channels = wish->n_channels,
                       .n_frames = frames_of(wish)};
  const double length_s = (double)plan.n_frames / wish->rate_hz;
  if (length_s < TEST_LEAST_S) {
    return VW_FILE_TOO_BIG;
  }
  plan.n_marks = (size_t)fmin(length_s / MARK_EACH_S, VW_MARKS_MOST);
  place_marks(&plan);
  *test = plan;
  return VW_OK;
}

double
vw_test_mark_at(const VwTestSound* test, bool falls, double time_s) {
  const double part = time_s / test->mark_s;
  if (part <= 0.0 || part >= 1.0) {
    return 0.0;
  }
  const double from_hz = falls ? test->high_hz : test->low_hz;
  const double to_hz = falls ? test->low_hz : test->high_hz;
  const double turns = time_s * (from_hz + 0.5 * (to_hz - from_hz) * part);
  const double edge = fmin(fmin(part, 1.0 - part) / MARK_EDGE, 1.0);
  return 0.5 * (1.0 - cos(VW_PI * edge)) * sin(2.0 * VW_PI * turns);
}

/// By what a mark is multiplied in a channel.
static double
share_of(VwMarkIn in, unsigned channel) {
  static const double shares[][2] = {[VW_MARK_ALL] = {1.0, 1.0},
                                     [VW_MARK_LEFT] = {1.0, 0.0},
                                     [VW_MARK_RIGHT] = {0.0, 1.0},
                                     [VW_MARK_OPPOSED] = {1.0, -1.0}};
  return shares[in][channel ? 1 : 0];
}

static void
add_mark(const VwTestSound* test, const VwTestMark* mark, VwSound* sound) {
  const double rate_hz = sound->rate_hz;
  const size_t from = (size_t)(mark->place_s * rate_hz);
  const size_t n = (size_t)(test->mark_s * rate_hz) + 2U;
  for (size_t i = from; i < from + n && i < sound->n_frames; ++i) {
    const double value =
      vw_test_mark_at(test, mark->falls, (double)i / rate_hz - mark->place_s);
    for (unsigned c = 0; c < sound->n_channels; ++c) {
      sound->values[i * sound->n_channels + c] +=
        (float)(MARK_PEAK * share_of(mark->in, c) * value);
    }
  }
}

VwStatus
vw_test_make(const VwTestSound* test, VwSound* sound) {
  VwSound  made = {0};
  VwStatus st =
    vw_sound_init(&made, test->n_frames, test->n_channels, test->rate_hz);
  for (size_t i = 0; !st && i < test->n_marks; ++i) {
    add_mark(test, &test->marks[i], &made);
  }
  if (!st) {
    *sound = made;
  }
  return st;
}
