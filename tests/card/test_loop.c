// Loops with one thing wrong in each: it is found, nothing is found in those
// that are as they were made, and mended nothing is left. What is planted, and
// what stays unchanged, is measured here. VOLLEYWEAVE_LOOPS says how many.

#include "card/loop.h"
#include "signal/signal.h"
#include "support/made.h"
#include "support/recordings.h"
#include "support/signals.h"

#include "volleyweave/volleyweave.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define LOOPS 30U
#define SOUNDS_MOST 64U
#define FAULTS 6U
#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

static const VwLoopAsked unasked = {.gap_ms = 0.0};

static VwSound sounds[SOUNDS_MOST];
static size_t  n_sounds;

static bool
keep(const char* name, const VwSound* raw) {
  (void)name;
  return vw_sound_copy(raw, &sounds[n_sounds++]) == VW_OK;
}

static int
set_up(void** state) {
  (void)state;
  if (recordings_find(NULL)) {
    (void)recordings_each(keep);
  }
  for (size_t i = 0; i < 16U; ++i) {
    SignalRandom      random = signal_random(i + 1U);
    const SignalBurst burst = {
      .start_s = 0.05,
      .rise_s = 0.002 * signal_uniform(&random),
      .decay_s = 0.1 + 0.5 * signal_uniform(&random),
      .level = 0.5,
      .pitch_hz = i % 3U ? 200.0 + 2000.0 * signal_uniform(&random) : 0.0,
      .glide_octaves_per_s = i % 2U ? -4.0 : 0.0};
    sounds[n_sounds++] = signal_take(0.8, 44100U, &burst, i + 1U);
  }
  return 0;
}

static int
tear_down(void** state) {
  (void)state;
  for (size_t i = 0; i < n_sounds; ++i) {
    vw_sound_clear(&sounds[i]);
  }
  return 0;
}

/* Loops as they are made */

/// A loop, and what the test knows of it.
typedef struct {
  VwSound sound; ///< Owned.
  size_t  shots; ///< 0: a hum.
  double  step;  ///< Of its codes.
} Clean;

static void
to_codes(Clean* clean) {
  for (size_t i = 0; i < clean->sound.n_frames * clean->sound.n_channels; ++i) {
    float* const x = &clean->sound.values[i];
    *x = (float)(clean->step * fmin(floor((double)*x / clean->step + 0.5),
                                    1.0 / clean->step - 1.0));
  }
}

/// A hum of some tones with whole periods.
static bool
make_hum(SignalRandom* random, unsigned rate_hz, Clean* clean) {
  const size_t n = (size_t)((0.3 + signal_uniform(random)) * rate_hz);
  if (vw_sound_init(&clean->sound, n, 1U, rate_hz)) {
    return false;
  }
  for (size_t k = 0; k < 3U; ++k) {
    const double hz = floor(60.0 + 600.0 * signal_uniform(random));
    const double whole = floor(hz * (double)n / rate_hz);
    signal_add_tone(
      &clean->sound, whole * rate_hz / (double)n, 0.2, signal_uniform(random));
  }
  clean->shots = 0;
  return true;
}

static bool
make_clean(size_t index, SignalRandom* random, Clean* clean) {
  static const unsigned rates_hz[] = {
    8000U, 11025U, 16000U, 22050U, 44100U, 44100U, 48000U, 96000U};
  static const double   fire[] = {4.0, 5.0, 7.3, 8.0, 9.0, 10.0, 12.0, 15.0};
  static const unsigned shots[] = {1U, 2U, 4U, 4U, 6U, 8U};
  static const double   steps[] = {0x1.0p-7, 0x1.0p-15, 0x1.0p-15, 0x1.0p-23};
  const double          u = signal_uniform(random);
  const unsigned rate_hz = rates_hz[(size_t)(u * (double)COUNT(rates_hz))];
  clean->step = steps[(size_t)(signal_uniform(random) * 4.0)];
  if (index % 10U == 9U) {
    const bool made = make_hum(random, rate_hz, clean);
    to_codes(clean);
    return made;
  }
  VwFamilyOptions options = made_options();
  options.format.rate_hz = rate_hz;
  options.format.n_channels = signal_uniform(random) < 0.2 ? 2U : 1U;
  options.fire_rate_per_s = fire[(size_t)(signal_uniform(random) * 8.0)];
  options.shots = shots[(size_t)(signal_uniform(random) * 6.0)];
  options.form =
    signal_uniform(random) < 0.5 ? VW_FORM_WHOLE_FILE : VW_FORM_PIECES;
  options.tail = signal_uniform(random) < 0.3 ? VW_TAIL_CHOKE : VW_TAIL_OVERLAP;
  if (signal_uniform(random) < 0.2) {
    options.detune_cents = 20.0;
    options.level_spread_db = 1.0;
  }
  Made made;
  if (!made_new(&sounds[index % n_sounds], &options, &made)) {
    return false;
  }
  const VwPiece* const loop = made_piece(&made.family, VW_PART_LOOP);
  const bool good = loop && !vw_sound_copy(&loop->sound, &clean->sound);
  clean->shots = made.family.plan.shots;
  made_clear(&made);
  if (good) {
    to_codes(clean);
  }
  return good;
}

/* Faults */

static int
compare(const void* a, const void* b) {
  const double x = *(const double*)a;
  const double y = *(const double*)b;
  return x < y ? -1 : x > y;
}

static double
value_of(const VwSound* loop, size_t i) {
  return (double)loop->values[(i % loop->n_frames) * loop->n_channels];
}

/// The 99.9th percentile of all steps, or of their changes.
static double
own_percentile(const VwSound* loop, bool slope) {
  const size_t  n = loop->n_frames - 2U;
  double* const found = malloc(n * sizeof(double));
  assert_non_null(found);
  for (size_t i = 0; i < n; ++i) {
    const double step = value_of(loop, i + 2U) - value_of(loop, i + 1U);
    const double before = value_of(loop, i + 1U) - value_of(loop, i);
    found[i] = fabs(slope ? step - before : step);
  }
  qsort(found, n, sizeof(double), compare);
  const double own = found[(size_t)(0.999 * (double)(n - 1U))];
  free(found);
  return own;
}

/// Frames of the longest silence.
static size_t
longest_silence(const VwSound* loop) {
  size_t most = 0;
  size_t run = 0;
  for (size_t i = 0; i < loop->n_frames; ++i) {
    run = vw_sound_height(loop, i) <= 0.0 ? run + 1U : 0U;
    most = run > most ? run : most;
  }
  return most;
}

static VwSound
with_silence(const VwSound* loop, size_t front, size_t back) {
  VwSound made = {0};
  assert_int_equal(
    vw_sound_init(
      &made, front + loop->n_frames + back, loop->n_channels, loop->rate_hz),
    VW_OK);
  memcpy(made.values + front * loop->n_channels,
         loop->values,
         loop->n_frames * loop->n_channels * sizeof(float));
  return made;
}

/// Bend the last 5 ms away from the start, to a step or to a kink.
static VwSound
with_step(const Clean* clean, bool slope, double times) {
  const VwSound* const loop = &clean->sound;
  VwSound              made = with_silence(loop, 0U, 0U);
  const size_t         n = loop->rate_hz / 200U;
  const size_t         last = loop->n_frames - 1U;
  const double own = fmax(own_percentile(loop, slope), 2.0 * clean->step);
  const double sign = value_of(loop, last) >= value_of(loop, 0U) ? 1.0 : -1.0;
  for (size_t i = 0; i < n && i <= last; ++i) {
    const double share = 1.0 - (double)i / (double)n;
    // Of a kink the middle of a slow hill is the seam: it turns there at once.
    const double add =
      slope ? own * times * (double)i * share * share : own * times * share;
    for (unsigned c = 0; c < made.n_channels; ++c) {
      float* const x = &made.values[(last - i) * made.n_channels + c];
      *x = (float)((double)*x + sign * add);
    }
  }
  return made;
}

/// Plant a fault; false if this loop can have none such.
static bool
plant(const Clean* clean, size_t fault, SignalRandom* random, VwSound* made) {
  const VwSound* const loop = &clean->sound;
  const size_t         n = loop->n_frames;
  const bool           front = signal_uniform(random) < 0.5;
  const double         times = 2.1 + 3.0 * signal_uniform(random);
  const size_t         silence = longest_silence(loop);
  const size_t         gap =
    silence +
    (size_t)((0.005 + 0.045 * signal_uniform(random)) * loop->rate_hz);
  switch (fault) {
    case 0:
    case 1:
      *made = with_step(clean, fault == 1U, times);
      return true;
    case 2: // One shot that has died away may be followed by any silence.
      if (clean->shots == 1U && silence) {
        return false;
      }
      *made = with_silence(loop, front ? gap : 0U, front ? 0U : gap);
      return true;
    case 3:
      if (clean->shots < 2U) {
        return false;
      }
      *made = with_silence(loop, 0U, 0U);
      made->n_frames -= n / clean->shots / 2U;
      if (front) {
        memmove(made->values,
                made->values + (n - made->n_frames) * made->n_channels,
                made->n_frames * made->n_channels * sizeof(float));
      }
      return true;
    case 4:
      *made =
        with_silence(loop, 1105U, front ? 1152U - (n + 1105U) % 1152U : 0U);
      return true;
    default:
      *made = with_silence(loop, 0U, 0U);
      for (size_t i = 0; i < n * made->n_channels; ++i) {
        made->values[i] +=
          (float)(clean->step * floor(0.01 / clean->step + 0.5));
      }
      return true;
  }
}

/* What is found, and what is left */

/// What is found, as bits.
static unsigned
flaws_of(const VwLoopFacts* facts) {
  unsigned flaws = 0;
  for (unsigned i = 0; i < VW_N_FLAWS; ++i) {
    flaws |= facts->flaws[i].there ? 1U << i : 0U;
  }
  return flaws;
}

/// Whether all but 20 ms on either side of the seam is a stretch of the loop
/// before, frame for frame, less one constant a channel.
static bool
is_unchanged(const VwSound* before, const VwSound* after, size_t front) {
  const size_t near = before->rate_hz / 50U + 1U;
  for (size_t i = near; i + near < after->n_frames; ++i) {
    for (unsigned c = 0; c < after->n_channels; ++c) {
      const size_t k = after->n_channels;
      const float  off =
        before->values[(front + near) * k + c] - after->values[near * k + c];
      if (fabsf(before->values[(front + i) * k + c] - after->values[i * k + c] -
                off) > 1e-7F) {
        return false;
      }
    }
  }
  return true;
}

static size_t
loops_wanted(void) {
  const char* const asked = getenv("VOLLEYWEAVE_LOOPS");
  const long        n = asked ? strtol(asked, NULL, 10) : 0;
  return n > 0 ? (size_t)n : LOOPS;
}

/// How it went with one fault.
typedef struct {
  size_t n, found, mended, unchanged;
} Tally;

static void
try_fault(const Clean* clean, const VwSound* bad, const char* what, Tally* to) {
  VwLoopFacts facts = {0};
  VwMending   mending = {0};
  VwSound     mended = with_silence(bad, 0U, 0U);
  ++to->n;
  assert_int_equal(vw_loop_judge(bad, &unasked, &facts), VW_OK);
  const bool found = flaws_of(&facts) != 0U;
  assert_int_equal(
    vw_loop_mend(&mended, &unasked, clean->step, &facts, &mending), VW_OK);
  size_t front = 0;
  for (int i = 0; i < VW_N_FLAWS; ++i) {
    front += mending.done[i].front;
  }
  const bool left = flaws_of(&facts) != 0U;
  const bool same = is_unchanged(bad, &mended, front);
  to->found += found;
  to->mended += !left;
  to->unchanged += same;
  if (!found || left || !same) {
    print_message("  %s, %zu frames at %u Hz, %zu shots:%s%s%s\n",
                  what,
                  bad->n_frames,
                  bad->rate_hz,
                  clean->shots,
                  found ? "" : " not found",
                  left ? " not mended" : "",
                  same ? "" : " changed");
  }
  vw_sound_clear(&mended);
}

/// Plant the fault that came least so far of those that a loop can have: each
/// can have most.
static size_t
plant_scarcest(const Clean*  clean,
               const Tally*  tallies,
               SignalRandom* random,
               VwSound*      made) {
  bool   tried[FAULTS] = {false};
  size_t fault = FAULTS;
  do {
    fault = FAULTS;
    for (size_t i = 0; i < FAULTS; ++i) {
      if (!tried[i] && (fault == FAULTS || tallies[i].n < tallies[fault].n)) {
        fault = i;
      }
    }
    assert_true(fault < FAULTS);
    tried[fault] = true;
  } while (!plant(clean, fault, random, made));
  return fault;
}

static void
test_planted(void** state) {
  (void)state;
  static const char* const names[FAULTS] = {
    "a step", "a kink", "a gap", "half a period", "padding", "a constant"};
  SignalRandom random = signal_random(20U);
  SignalRandom planted = signal_random(500000U);
  const size_t n_wanted = loops_wanted();
  Tally        tallies[FAULTS] = {{0}};
  size_t       n_clean = 0;
  size_t       n_false = 0;
  size_t       n = 0;
  size_t       n_found = 0;
  size_t       n_mended = 0;
  for (size_t i = 0; n_clean < n_wanted && i < 4U * n_wanted; ++i) {
    Clean       clean = {0};
    VwLoopFacts facts = {0};
    VwSound     bad = {0};
    if (!make_clean(i, &random, &clean)) {
      continue;
    }
    assert_int_equal(vw_loop_judge(&clean.sound, &unasked, &facts), VW_OK);
    ++n_clean;
    if (flaws_of(&facts) != 0U) {
      ++n_false;
      print_message("  false (%#x, seam %.2f %.2f %.2f): sound %zu, %zu frames "
                    "at %u Hz, %zu shots\n",
                    flaws_of(&facts),
                    facts.seam.step,
                    facts.seam.slope,
                    facts.seam.residual,
                    i % n_sounds,
                    clean.sound.n_frames,
                    clean.sound.rate_hz,
                    clean.shots);
    }
    const size_t fault = plant_scarcest(&clean, tallies, &planted, &bad);
    try_fault(&clean, &bad, names[fault], &tallies[fault]);
    vw_sound_clear(&bad);
    vw_sound_clear(&clean.sound);
  }
  for (size_t i = 0; i < FAULTS; ++i) {
    const Tally* const of = &tallies[i];
    print_message("%s: %zu found, %zu mended, %zu unchanged of %zu\n",
                  names[i],
                  of->found,
                  of->mended,
                  of->unchanged,
                  of->n);
    n += of->n;
    n_found += of->found;
    n_mended += of->mended;
    assert_true(of->unchanged == of->n);
  }
  print_message("%zu of %zu found, %zu mended; %zu of %zu false\n",
                n_found,
                n,
                n_mended,
                n_false,
                n_clean);
  assert_int_equal(n, n_wanted);
  assert_true(n - n_found <= (n + 99U) / 100U);
  assert_true(n - n_mended <= n / 100U);
  assert_true(n_false <= (n_clean + 99U) / 100U);
}

/* One side late */

/// What the other side of a loop is.
typedef enum { SIDE_LATE, SIDE_WIDE, SIDE_CHORUS, SIDE_TONE, N_SIDES } Side;

/// The value of a loop's first channel at any time, played on.
static double
value_at_frame(const VwSound* loop, double at) {
  const double n = (double)loop->n_frames;
  const double in = at - n * floor(at / n);
  const size_t i = (size_t)in;
  const double share = in - (double)i;
  return value_of(loop, i) * (1.0 - share) + value_of(loop, i + 1U) * share;
}

/// A loop in stereo, its right side `late_ms` late or only as wide as reverb,
/// a chorus, or the phase of a tone make it.
static VwSound
in_stereo(const VwSound* loop, Side side, double late_ms) {
  VwSound      made = {0};
  SignalRandom random = signal_random(70U);
  const double late = floor(late_ms / 1000.0 * loop->rate_hz + 0.5);
  const double turn = 6.283185307179586 / (double)loop->n_frames;
  assert_int_equal(vw_sound_init(&made, loop->n_frames, 2U, loop->rate_hz),
                   VW_OK);
  for (size_t i = 0; i < loop->n_frames; ++i) {
    const double at = (double)i;
    const double left = value_of(loop, i);
    const double sway = 0.003 * loop->rate_hz * (1.0 + sin(turn * at));
    const double wide = 0.7 * left * signal_normal(&random);
    const double right[N_SIDES] = {
      0.8 * value_at_frame(loop, at - late),
      0.5 * (left + wide),
      0.5 * (left + value_at_frame(loop, at - late - sway)),
      0.3 * cos(60.0 * turn * at)};
    made.values[2U * i] =
      (float)(side == SIDE_TONE ? 0.3 * sin(60.0 * turn * at) : left);
    made.values[2U * i + 1U] = (float)right[side];
  }
  return made;
}

// A side that is late is found with its lag to a frame, but of tones, which
// repeat; and nothing in what is only wide.
static void
test_late_side(void** state) {
  (void)state;
  static const double lates_ms[] = {-15.0, -3.0, 1.7, 8.0, 18.0};
  VwFamilyOptions     options = made_options();
  size_t              n = 0;
  size_t              n_found = 0;
  options.fire_rate_per_s = 8.0;
  for (size_t i = 0; i < n_sounds; i += 3U) {
    Made made;
    assert_true(made_new(&sounds[i], &options, &made));
    const VwSound* const loop = &made_piece(&made.family, VW_PART_LOOP)->sound;
    for (size_t k = 0; k < COUNT(lates_ms); ++k) {
      for (Side side = SIDE_LATE; side < N_SIDES; ++side) {
        VwSound      sound = in_stereo(loop, side, lates_ms[k]);
        const double late_ms = side == SIDE_LATE ? lates_ms[k] : 0.0;
        double       found_ms = NAN;
        assert_int_equal(vw_side_late(&sound, &found_ms), VW_OK);
        const bool right = fabs(found_ms - late_ms) <= 1000.0 / sound.rate_hz;
        assert_true(right || fabs(found_ms) <= 0.0);
        n += side == SIDE_LATE;
        n_found += side == SIDE_LATE && right;
        vw_sound_clear(&sound);
      }
    }
    made_clear(&made);
  }
  print_message("%zu of %zu sides found late\n", n_found, n);
  assert_true(20U * n_found >= 17U * n);
}

/// Whether a gap at the end of a loop is cut off, to 1 ms, and nothing left.
static bool
gap_is_cut(const VwSound* loop, double gap_ms) {
  VwSound bad =
    with_silence(loop, 0U, (size_t)(gap_ms * loop->rate_hz / 1000.0));
  VwLoopFacts facts = {0};
  VwMending   mending = {0};
  assert_int_equal(vw_loop_judge(&bad, &unasked, &facts), VW_OK);
  assert_int_equal(vw_loop_mend(&bad, &unasked, 0x1.0p-15, &facts, &mending),
                   VW_OK);
  const double off_ms =
    1000.0 * ((double)bad.n_frames - (double)loop->n_frames) / loop->rate_hz;
  const bool good = fabs(off_ms) <= 1.0 && !flaws_of(&facts);
  if (!good) {
    print_message(
      "%.0f ms: %.1f ms left, %#x\n", gap_ms, off_ms, flaws_of(&facts));
  }
  vw_sound_clear(&bad);
  return good;
}

/// Four shots of two that take turns, at 9/s; every other one rises 4 ms late.
static VwSound
taking_turns(void) {
  VwSound made = signal_silence(4.0 / 9.0, 22050U);
  for (size_t i = 0; i < 4U; ++i) {
    const double      late_s = i % 2U ? 0.004 : 0.0;
    SignalRandom      random = signal_random(30U + i % 2U);
    const SignalBurst burst = {.start_s = 0.002 + late_s + (double)i / 9.0,
                               .rise_s = 0.005,
                               .decay_s = 0.2,
                               .level = 0.2};
    signal_add_burst(&made, &burst, &random);
  }
  return made;
}

// However short they are, and the loop; whether the tails before them ring on
// or have died away. A wide sweep of 180 leaves four, of one loop of two shots
// in which nothing else tells of the period.
static void
test_added_gaps(void** state) {
  (void)state;
  static const double gaps_ms[] = {3.0, 10.0, 50.0};
  VwSound             turns = taking_turns();
  assert_true(gap_is_cut(&turns, 20.0));
  vw_sound_clear(&turns);
  for (size_t i = 0; i < 12U; ++i) {
    VwFamilyOptions options = made_options();
    Made            made;
    options.shots = 2U << i % 3U;
    options.fire_rate_per_s = i % 2U ? 9.0 : 12.0;
    options.tail = i / 3U % 2U ? VW_TAIL_CHOKE : VW_TAIL_OVERLAP;
    options.form = i / 6U ? VW_FORM_WHOLE_FILE : VW_FORM_PIECES;
    assert_true(made_new(&sounds[n_sounds - 1U - i], &options, &made));
    const VwPiece* const loop = made_piece(&made.family, VW_PART_LOOP);
    for (size_t k = 0; k < COUNT(gaps_ms); ++k) {
      assert_true(gap_is_cut(&loop->sound, gaps_ms[k]));
    }
    made_clear(&made);
  }
}

// Made for a board's gap and judged with it, a loop holds the shots that were
// laid down, also if the gap is too long to lie in the last one's period; that
// is said, and is no fault.
static void
test_gaps(void** state) {
  (void)state;
  static const double   gaps_ms[] = {15.0, 50.0, 90.0};
  static const double   fire[] = {5.0, 9.0, 12.0};
  static const unsigned shots[] = {2U, 4U, 7U};
  VwFamilyOptions       options = made_options();
  options.form = VW_FORM_WHOLE_FILE;
  size_t n = 0;
  size_t n_right = 0;
  for (size_t i = 0; i < 27U; ++i) {
    VwLoopFacts facts = {0};
    Made        made;
    options.gap_ms = gaps_ms[i / 9U];
    options.fire_rate_per_s = fire[i / 3U % 3U];
    options.shots = shots[i % 3U];
    const VwLoopAsked asked = {.gap_ms = options.gap_ms};
    const double      part = options.gap_ms / 1000.0 * options.fire_rate_per_s;
    assert_true(made_new(&sounds[n_sounds - 3U], &options, &made));
    const VwPiece* const loop = made_piece(&made.family, VW_PART_LOOP);
    assert_int_equal(vw_loop_judge(&loop->sound, &asked, &facts), VW_OK);
    assert_int_equal(flaws_of(&facts), 0U);
    assert_true((facts.heard_gap_ms > 0.0) == (part > 0.4));
    n_right += facts.shots == options.shots;
    ++n;
    made_clear(&made);
  }
  print_message("%zu of %zu loops for a gap counted right\n", n_right, n);
  assert_true(n_right == n);
}

/// Whether a constant is found in a sound's loop, and none in it as it is made.
static bool
has_constant_found(size_t i, const VwFamilyOptions* options) {
  Made made;
  assert_true(made_new(&sounds[i], options, &made));
  const VwPiece* const loop = made_piece(&made.family, VW_PART_LOOP);
  VwSound              bad = with_silence(&loop->sound, 0U, 0U);
  VwLoopFacts          clean = {0};
  VwLoopFacts          facts = {0};
  signal_add_offset(&bad, i % 2U ? 0.01 : -0.01);
  assert_int_equal(vw_loop_judge(&loop->sound, &unasked, &clean), VW_OK);
  assert_int_equal(vw_loop_judge(&bad, &unasked, &facts), VW_OK);
  vw_sound_clear(&bad);
  made_clear(&made);
  assert_false(clean.flaws[VW_FLAW_OFFSET].there);
  return facts.flaws[VW_FLAW_OFFSET].there;
}

// Also under low and lopsided sounds, if they are faded at the seam; if not, it
// cannot be told under one of them.
static void
test_constants(void** state) {
  (void)state;
  static const VwForm forms[] = {VW_FORM_WHOLE_FILE, VW_FORM_PIECES};
  VwFamilyOptions     options = made_options();
  options.tail = VW_TAIL_CHOKE;
  options.fire_rate_per_s = 8.0;
  options.shots = 1U;
  for (size_t form = 0; form < COUNT(forms); ++form) {
    size_t n_found = 0;
    options.form = forms[form];
    for (size_t i = 0; i < n_sounds; ++i) {
      n_found += has_constant_found(i, &options);
    }
    assert_true(n_found + form >= n_sounds);
  }
}

/// The mean of a loop.
static double
mean_of(const VwSound* loop) {
  double sum = 0.0;
  for (size_t i = 0; i < loop->n_frames; ++i) {
    sum += value_of(loop, i);
  }
  return sum / (double)loop->n_frames;
}

// A slow thump, whose decay is bent and cut, would leave its loop on a constant
// of 0.0056.
static void
test_thump(void** state) {
  (void)state;
  SignalRandom      random = signal_random(6U);
  const SignalBurst thump = {.start_s = 0.02,
                             .rise_s = 0.05,
                             .decay_s = 0.8,
                             .level = 0.7,
                             .pitch_hz = 29.0};
  const SignalBurst hiss = {
    .start_s = 0.02, .rise_s = 0.03, .decay_s = 0.6, .level = 0.3};
  VwSound         take = signal_take(0.8, 22050U, &thump, 6U);
  VwFamilyOptions options = made_options();
  VwLoopFacts     facts = {0};
  Made            made;
  signal_add_burst(&take, &hiss, &random);
  options.fire_rate_per_s = 11.0;
  options.form = VW_FORM_WHOLE_FILE;
  assert_true(made_new(&take, &options, &made));
  const VwSound* const loop = &made_piece(&made.family, VW_PART_LOOP)->sound;
  print_message("the mean of the loop of a thump is %.4f\n", mean_of(loop));
  assert_true(fabs(mean_of(loop)) < 0.003);
  assert_int_equal(vw_loop_judge(loop, &unasked, &facts), VW_OK);
  assert_false(facts.flaws[VW_FLAW_OFFSET].there);
  made_clear(&made);
  vw_sound_clear(&take);
}

/// A loop of even shots that are all the same, but `short_s` shorter at its
/// end.
static VwSound
even(size_t shots, double rate_per_s, double short_s) {
  VwSound made = signal_silence((double)shots / rate_per_s - short_s, 44100U);
  for (size_t i = 0; i < shots; ++i) {
    SignalRandom      random = signal_random(7U);
    const SignalBurst burst = {.start_s = 0.002 + (double)i / rate_per_s,
                               .rise_s = 0.0005,
                               .decay_s = 0.14,
                               .level = 0.3};
    signal_add_burst(&made, &burst, &random);
  }
  SignalRandom random = signal_random(8U);
  signal_add_noise(&made, 1e-4, &random);
  return made;
}

// However many the shots, each is one, and half of one is found missing, or to
// be too many.
static void
test_many(void** state) {
  (void)state;
  static const struct {
    size_t shots;
    double rate_per_s;
  } cases[] = {{27U, 9.0}, {30U, 12.0}, {38U, 22.3}, {20U, 9.0}};
  for (size_t i = 0; i < COUNT(cases); ++i) {
    const double half_s = 0.5 / cases[i].rate_per_s;
    VwSound      cut = even(cases[i].shots, cases[i].rate_per_s, half_s);
    VwLoopFacts  facts = {0};
    assert_int_equal(vw_loop_judge(&cut, &unasked, &facts), VW_OK);
    print_message("%zu shots, %.2f/s, half of one missing: %zu, %.2f/s\n",
                  cases[i].shots,
                  cases[i].rate_per_s,
                  facts.shots,
                  facts.fire_rate_per_s);
    assert_true(facts.flaws[VW_FLAW_CYCLE].there);
    assert_true(facts.shots + 1U >= cases[i].shots &&
                facts.shots <= cases[i].shots);
    vw_sound_clear(&cut);
  }
}

/// A recording of shots that follow each other, in a floor of noise.
typedef struct {
  size_t   shots;
  double   rate_per_s, before_s, behind_s;
  double   floor_db; ///< RMS of the noise below the shots.
  double   decay_s;
  unsigned rate_hz;
} Recorded;

static VwSound
record(const Recorded* of) {
  SignalRandom random = signal_random(40U);
  const double fire_s = (double)of->shots / of->rate_per_s;
  VwSound      made =
    signal_silence(of->before_s + fire_s + of->behind_s, of->rate_hz);
  for (size_t i = 0; i < of->shots; ++i) {
    // Few shots make no line that evens them out.
    const double      jitter_s = of->shots > 3U ? 0.001 : 0.0;
    const double      off_s = jitter_s * signal_normal(&random);
    const SignalBurst burst = {
      .start_s = fmax(of->before_s + (double)i / of->rate_per_s + off_s, 0.0),
      .rise_s = 0.0005,
      .decay_s = of->decay_s,
      .level = 0.2};
    signal_add_burst(&made, &burst, &random);
  }
  signal_add_noise(&made, 0.2 * pow(10.0, -of->floor_db / 20.0), &random);
  return made;
}

// It says where and for how long no shot comes, and counts those that are
// there; cut to whole shots it is a loop.
static void
test_recorded(void** state) {
  (void)state;
  static const Recorded cases[] = {{24U, 12.0, 0.3, 0.3, 40.0, 0.25, 44100U},
                                   {24U, 12.0, 0.3, 0.3, 50.0, 0.1, 44100U},
                                   {24U, 12.0, 0.3, 0.3, 30.0, 0.5, 22050U},
                                   {24U, 11.0, 0.2, 0.6, 60.0, 0.15, 8000U},
                                   {40U, 20.0, 0.0, 0.3, 45.0, 0.2, 44100U},
                                   {10U, 6.0, 0.3, 0.0, 45.0, 0.2, 44100U},
                                   {6U, 12.0, 1.0, 1.0, 45.0, 0.2, 96000U},
                                   {24U, 12.0, 0.06, 0.04, 45.0, 0.2, 44100U},
                                   {3U, 12.0, 0.3, 0.3, 45.0, 0.2, 44100U}};
  for (size_t i = 0; i < COUNT(cases); ++i) {
    const Recorded* const of = &cases[i];
    const double          rest_s = of->before_s + of->behind_s;
    VwSound               sound = record(of);
    VwLoopFacts           facts = {0};
    VwMending             mending = {0};
    assert_int_equal(vw_loop_judge(&sound, &unasked, &facts), VW_OK);
    const VwFlaw* const gap = &facts.flaws[VW_FLAW_GAP];
    const double        found_s =
      (double)(gap->front + gap->back) / (double)of->rate_hz;
    print_message("recorded %zu: %zu shots, %.4f for %.4f s, %.1f ms quiet\n",
                  i,
                  facts.shots,
                  found_s,
                  rest_s,
                  facts.rest_ms);
    assert_true(gap->there);
    assert_int_equal(facts.shots, of->shots);
    assert_true(fabs(facts.fire_rate_per_s / of->rate_per_s - 1.0) < 0.01);
    assert_true(fabs(found_s - rest_s) < 0.006);
    assert_true(facts.rest_ms > 500.0 * rest_s);
    VwFindings said = {0};
    assert_int_equal(vw_loop_note(&sound, "it.wav", &facts, &said), VW_OK);
    assert_non_null(strstr(said.faults.faults[0].what, "its seam is quiet"));
    assert_non_null(strstr(said.faults.faults[0].remedy, "make a loop of it"));
    assert_true(said.faults.faults[0].placed);
    vw_findings_clear(&said);
    assert_int_equal(
      vw_loop_mend(&sound, &unasked, 0x1.0p-15, &facts, &mending), VW_OK);
    assert_int_equal(flaws_of(&facts), 0U);
    assert_int_equal(facts.shots, of->shots);
    vw_sound_clear(&sound);
  }
}

/// A loop of fire with jitter, from the start of a shot to that of another, its
/// last tail going on at its start; `short_s` shorter.
static VwSound
uneven(size_t shots, double rate_per_s, unsigned seed, double short_s) {
  SignalRandom random = signal_random(seed);
  const double before_s = 0.3;
  const double jitter_s = 0.0025;
  VwSound      burst_of =
    signal_silence(before_s + ((double)shots + 1.0) / rate_per_s, 44100U);
  double start_s = 0.0;
  double end_s = 0.0;
  for (size_t i = 0; i <= shots; ++i) {
    const double off_s =
      i == shots ? 0.06 / rate_per_s
                 : fmax(-2.0, fmin(2.0, signal_normal(&random))) * jitter_s;
    const SignalBurst burst = {.start_s =
                                 before_s + (double)i / rate_per_s + off_s,
                               .rise_s = 0.0005,
                               .decay_s = 0.14,
                               .level = 0.3};
    start_s = i ? start_s : burst.start_s;
    end_s = burst.start_s;
    if (i < shots) {
      SignalRandom same = signal_random(7U);
      signal_add_burst(&burst_of, &burst, &same);
    }
  }
  signal_add_noise(&burst_of, 1e-4, &random);
  const size_t from = (size_t)((start_s - 0.002) * 44100.0);
  const size_t n = (size_t)((end_s - start_s - short_s) * 44100.0);
  memmove(burst_of.values, burst_of.values + from, n * sizeof(float));
  burst_of.n_frames = n;
  return burst_of;
}

// Real fire that is joined may be 5 % of a period too long, as it is uneven
// within; half a period that is missing is found all the same.
static void
test_uneven(void** state) {
  (void)state;
  size_t n_false = 0;
  size_t n_missed = 0;
  for (size_t i = 0; i < 24U; ++i) {
    const size_t shots = 5U + i % 4U * 2U;
    const double rate_per_s = 6.0 + (double)(i % 7U);
    VwSound      whole = uneven(shots, rate_per_s, 90U + (unsigned)i, 0.0);
    VwSound      cut =
      uneven(shots, rate_per_s, 90U + (unsigned)i, 0.56 / rate_per_s);
    VwLoopFacts facts = {0};
    assert_int_equal(vw_loop_judge(&whole, &unasked, &facts), VW_OK);
    n_false += facts.flaws[VW_FLAW_CYCLE].there || facts.several;
    assert_int_equal(vw_loop_judge(&cut, &unasked, &facts), VW_OK);
    n_missed += !facts.flaws[VW_FLAW_CYCLE].there;
    vw_sound_clear(&whole);
    vw_sound_clear(&cut);
  }
  print_message(
    "of 24 uneven loops %zu false, %zu missed\n", n_false, n_missed);
  assert_int_equal(n_false, 0U);
  assert_int_equal(n_missed, 0U);
}

/* As takes */

/// Noise of as much power in each octave: steps of white noise, each octave's
/// twice as long as those of the next.
static VwSound
pink(double seconds, unsigned rate_hz, unsigned seed) {
  VwSound      made = signal_silence(seconds, rate_hz);
  SignalRandom random = signal_random(seed);
  double       steps[12] = {0.0};
  for (size_t i = 0; i < made.n_frames; ++i) {
    double sum = 0.0;
    for (size_t k = 0; k < COUNT(steps); ++k) {
      steps[k] = i % ((size_t)1 << k) ? steps[k] : signal_normal(&random);
      sum += 0.04 * steps[k];
    }
    made.values[i] = (float)sum;
  }
  return made;
}

/// Whether what is counted in a sound that is judged as a loop, and in what a
/// lamp follows, are the shots of the same sound as a take: none of a sustained
/// one.
static bool
is_counted_alike(const VwSound* raw, size_t* shots) {
  const VwFindOptions options = vw_find_defaults();
  const VwLoopKnown   unknown = vw_loop_unknown();
  VwTake              take = {0};
  VwShotFacts         heard = {0};
  VwLoopFacts         judged = {0};
  VwRateFound         followed = {0};
  assert_int_equal(vw_take_prepare(raw, &take), VW_OK);
  assert_int_equal(vw_find(&take, &options, &heard), VW_OK);
  assert_int_equal(vw_loop_judge(raw, &unasked, &judged), VW_OK);
  vw_take_clear(&take);
  *shots = heard.kind == VW_KIND_SUSTAINED ? 0U : heard.shots_in_take;
  const bool alike =
    judged.shots == *shots && judged.goes_on == !*shots &&
    (vw_rate_of_loop(raw, &unknown, &followed) || followed.shots == *shots);
  if (!alike) {
    print_message("%s: %u shots, as a loop %zu, for a lamp %zu\n",
                  vw_kind_name(heard.kind),
                  heard.shots_in_take,
                  judged.shots,
                  followed.shots);
  }
  return alike;
}

static void
test_takes(void** state) {
  (void)state;
  size_t n_alike = 0;
  size_t shots = 0;
  for (size_t i = 0; i < n_sounds; ++i) {
    n_alike += is_counted_alike(&sounds[i], &shots);
  }
  assert_int_equal(n_alike, n_sounds);
}

// A click that starts in the last 12 ms counts nowhere.
static void
test_last_click(void** state) {
  (void)state;
  static const double starts_s[] = {0.3, 0.75, 1.494};
  VwSound             made = signal_silence(1.5, 44100U);
  SignalRandom        random = signal_random(61U);
  size_t              shots = 0;
  for (size_t i = 0; i < COUNT(starts_s); ++i) {
    const SignalBurst burst = {
      .start_s = starts_s[i], .decay_s = 0.03, .level = 0.3};
    signal_add_burst(&made, &burst, &random);
  }
  signal_add_noise(&made, 1e-4, &random);
  assert_true(is_counted_alike(&made, &shots));
  assert_int_equal(shots, 2U);
  vw_sound_clear(&made);
}

// Noise holds no shots.
static void
test_noise(void** state) {
  (void)state;
  static const double seconds[] = {1.0, 3.0, 5.0, 10.0};
  for (size_t i = 0; i < 2U * COUNT(seconds); ++i) {
    VwSound noise = pink(seconds[i / 2U], i % 2U ? 44100U : 22050U, 60U);
    size_t  shots = 1;
    assert_true(is_counted_alike(&noise, &shots));
    assert_int_equal(shots, 0U);
    vw_sound_clear(&noise);
  }
}

int
main(void) {
  const struct CMUnitTest tests[] = {

    cmocka_unit_test(test_planted),
    cmocka_unit_test(test_added_gaps),
    cmocka_unit_test(test_late_side),
    cmocka_unit_test(test_many),
    cmocka_unit_test(test_recorded),
    cmocka_unit_test(test_uneven),
    cmocka_unit_test(test_takes),
    cmocka_unit_test(test_noise),
    cmocka_unit_test(test_last_click),
    cmocka_unit_test(test_gaps),
    cmocka_unit_test(test_constants),
    cmocka_unit_test(test_thump),
  };
  return cmocka_run_group_tests(tests, set_up, tear_down);
}
