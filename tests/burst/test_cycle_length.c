// The length of a cycle where the board has a say: buffer, gap, and most
// bytes. Expected values by exhaustion over all lengths and numbers of shots
// that are allowed (closed form).

#include "base/status.h"
#include "burst/burst.h"
#include "support/check.h"
#include "support/made.h"
#include "support/signals.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>

// What is asked.
typedef struct {
  double     fire_rate_per_s;
  unsigned   rate_hz;
  unsigned   buffer;
  double     gap_ms;
  unsigned   n_bytes; // Most of a file; 0: no limit.
  VwEncoding encoding;
  double     cycle_max_s;
  double     detune_cents;
  unsigned   n_takes;
} LengthCase;

// The numbers of shots allowed, and what of a length.
typedef struct {
  size_t least;
  size_t most;
  size_t step;
  size_t n_gap; // Frames of the gap among the periods.
  size_t unit;
  size_t longest;
} Allowed;

typedef struct {
  size_t shots; // 0: none fits.
  size_t length;
  double error;
} Best;

static Allowed
allowed_for(const LengthCase* asked) {
  static const size_t bytes_of[] = {1, 2, 3, 4};
  const size_t        n_value = bytes_of[asked->encoding];
  const bool          varied = asked->n_takes > 1 || asked->detune_cents > 0.0;
  const size_t n_gap = (size_t)lround(asked->gap_ms * asked->rate_hz / 1000.0);
  Allowed      allowed = {1, 64, asked->n_takes, 0, asked->buffer, 0};
  if (asked->gap_ms > 0.0) {
    allowed.least = 4;
    allowed.most = 8;
  }
  allowed.least = varied ? 6 : allowed.least;
  if (asked->gap_ms / 1000.0 <= 0.4 / asked->fire_rate_per_s) {
    allowed.n_gap = n_gap;
  }
  while (allowed.unit * n_value % 2) {
    allowed.unit += asked->buffer;
  }
  allowed.longest = (size_t)floor(asked->cycle_max_s * asked->rate_hz + 1e-6);
  if (asked->n_bytes) {
    const size_t fits = (asked->n_bytes - 44) / n_value;
    allowed.longest = fits < allowed.longest ? fits : allowed.longest;
  }
  return allowed;
}

static double
error_of(const LengthCase* asked, size_t shots, size_t n_frames) {
  return fabs((double)shots * asked->rate_hz / (double)n_frames /
                asked->fire_rate_per_s -
              1.0);
}

// The best length for so many shots; none where only one that is too long comes
// nearest, and those that are not miss by over 0.1 %.
static Best
best_length(const LengthCase* asked, const Allowed* allowed, size_t shots) {
  Best         best = {0, 0, INFINITY};
  double       nearest = INFINITY;
  const size_t end = allowed->longest + 2 * allowed->unit;
  for (size_t l = allowed->unit; l <= end; l += allowed->unit) {
    const double error = error_of(asked, shots, l + allowed->n_gap);
    nearest = fmin(nearest, error);
    if (l <= allowed->longest && error < best.error) {
      best = (Best){shots, l, error};
    }
  }
  return best.error > nearest && best.error > 0.001 ? (Best){0, 0, INFINITY}
                                                    : best;
}

static Best
best_of(const LengthCase* asked, const Allowed* allowed, size_t least) {
  Best best = {0, 0, INFINITY};
  for (size_t n = least; n <= 64 && best.error > 0.001; n += allowed->step) {
    if (n > least && n > allowed->most) {
      break;
    }
    const Best one = best_length(asked, allowed, n);
    best = one.error < best.error ? one : best;
  }
  return best;
}

// As many as wanted, or as many as there is room for.
static Best
best_cycle(const LengthCase* asked) {
  const Allowed allowed = allowed_for(asked);
  size_t        least = (allowed.least + allowed.step - 1) / allowed.step;
  for (; least > 0; --least) {
    if (best_length(asked, &allowed, least * allowed.step).shots) {
      return best_of(asked, &allowed, least * allowed.step);
    }
  }
  return (Best){0, 0, INFINITY};
}

static VwFamilyOptions
options_of(const LengthCase* asked) {
  VwFamilyOptions options = made_options();
  options.format.rate_hz = asked->rate_hz;
  options.format.encoding = asked->encoding;
  options.form = VW_FORM_WHOLE_FILE;
  options.fire_rate_per_s = asked->fire_rate_per_s;
  options.cycle_max_s = asked->cycle_max_s;
  options.gap_ms = asked->gap_ms;
  options.buffer_frames = asked->buffer;
  options.file_bytes_max = asked->n_bytes;
  options.detune_cents = asked->detune_cents;
  return options;
}

static bool
check_length(const LengthCase* asked) {
  const VwShotFacts     facts[3] = {{.fastest_fire_rate_per_s = NAN}};
  const VwFamilyOptions options = options_of(asked);
  const VwPlanWish      wish =
    vw_wish_make(&options, facts, asked->n_takes, asked->rate_hz);
  const Best     best = best_cycle(asked);
  VwPlan         plan = {.shots = 0};
  const VwStatus st = vw_plan_make(&wish, &plan);
  char           name[120];
  snprintf(name,
           sizeof(name),
           "%g/s at %u Hz, buffer %u, gap %g ms, %u bytes, encoding %d",
           asked->fire_rate_per_s,
           asked->rate_hz,
           asked->buffer,
           asked->gap_ms,
           asked->n_bytes,
           (int)asked->encoding);
  if (!best.shots) {
    return check_that(
      st == VW_FILE_TOO_BIG || st == VW_CYCLE_TOO_LONG, "%s: refused", name);
  }
  const size_t n_gap = (size_t)lround(asked->gap_ms * asked->rate_hz / 1000.0);
  bool         ok = check_equal(st, VW_OK, "%s: status", name);
  ok &= check_equal(plan.shots, (double)best.shots, "%s: N", name);
  ok &= check_equal((double)(plan.n_frames - plan.gap_frames),
                    (double)best.length,
                    "%s: L",
                    name);
  return ok & check_equal(plan.fire_rate_per_s,
                          (double)best.shots * asked->rate_hz /
                            (double)(best.length + n_gap),
                          "%s: fire rate",
                          name);
}

static const unsigned rates_hz[] =
  {8000, 11025, 16000, 22050, 32000, 44100, 48000};
static const unsigned buffers[] = {1, 128, 256, 512};

// All buffers and sample rates, one fire rate.
static bool
check_all(LengthCase asked, size_t* n) {
  bool ok = true;
  for (size_t i = 0; i < sizeof(rates_hz) / sizeof(rates_hz[0]); ++i) {
    for (size_t j = 0; j < sizeof(buffers) / sizeof(buffers[0]); ++j) {
      asked.rate_hz = rates_hz[i];
      asked.buffer = buffers[j];
      ok &= check_length(&asked);
      ++*n;
    }
  }
  return ok;
}

static void
test_lengths(void** state) {
  (void)state;
  static const LengthCase boards[] = {
    {.encoding = VW_ENCODING_S16, .cycle_max_s = 2.0, .n_takes = 1},
    {.encoding = VW_ENCODING_U8, .cycle_max_s = 1.0, .n_takes = 1},
    {.encoding = VW_ENCODING_S16,
     .cycle_max_s = 2.0,
     .n_takes = 1,
     .gap_ms = 20.0},
    {.encoding = VW_ENCODING_S24,
     .cycle_max_s = 1.0,
     .n_takes = 1,
     .gap_ms = 60.0},
    {.encoding = VW_ENCODING_S16,
     .cycle_max_s = 2.0,
     .n_takes = 1,
     .n_bytes = 16384},
    {.encoding = VW_ENCODING_U8,
     .cycle_max_s = 2.0,
     .n_takes = 1,
     .n_bytes = 6000,
     .gap_ms = 30.0},
    {.encoding = VW_ENCODING_S16,
     .cycle_max_s = 2.0,
     .n_takes = 1,
     .n_bytes = 40000,
     .gap_ms = 15.0,
     .detune_cents = 20.0},
    {.encoding = VW_ENCODING_S24, .cycle_max_s = 1.5, .n_takes = 3},
    {.encoding = VW_ENCODING_S16,
     .cycle_max_s = 0.4,
     .n_takes = 2,
     .gap_ms = 10.0},
  };
  bool   ok = true;
  size_t n = 0;
  for (size_t i = 0; i < sizeof(boards) / sizeof(boards[0]); ++i) {
    for (double rate = 2.0; rate <= 20.0; rate += 1.37) {
      LengthCase asked = boards[i];
      asked.fire_rate_per_s = rate;
      ok &= check_all(asked, &n);
    }
  }
  assert_true(ok);
  assert_int_equal(n, 9 * 14 * 7 * 4);
}

// What is refused, and why.
static void
test_refused(void** state) {
  (void)state;
  const SignalBurst burst = {.start_s = 0.05, .decay_s = 0.1, .level = 0.4};
  VwSound           take = signal_take(0.2, 22050, &burst, 8);
  VwFamilyOptions   options = made_options();
  options.form = VW_FORM_WHOLE_FILE;
  options.format.encoding = VW_ENCODING_S16;
  options.fire_rate_per_s = 9.0;
  Made made;
  assert_true(made_new(&take, &options, &made));
  VwFamily     family;
  const size_t period = 22050 / 9; // 2450, exactly
  options.file_bytes_max = 44 + 2 * period - 2;
  options.shots = 1;
  // A frame less is met within 0.1 %, a hundred less are not.
  assert_int_equal(
    vw_family_make(&made.take, &made.facts, 1, &options, &family), VW_OK);
  assert_true(
    check_equal((double)family.plan.n_frames, 2449.0, "a frame less"));
  vw_family_clear(&family);
  options.file_bytes_max -= 200;
  assert_int_equal(
    vw_family_make(&made.take, &made.facts, 1, &options, &family),
    VW_FILE_TOO_BIG);
  options.shots = 0;
  assert_int_equal(
    vw_family_make(&made.take, &made.facts, 1, &options, &family),
    VW_FILE_TOO_BIG);
  for (options.file_bytes_max = 1; options.file_bytes_max < 50;
       ++options.file_bytes_max) {
    assert_int_equal(
      vw_family_make(&made.take, &made.facts, 1, &options, &family),
      VW_FILE_TOO_BIG);
  }
  options.file_bytes_max = 0;
  options.buffer_frames = 65536; // 2.97 s
  assert_int_equal(
    vw_family_make(&made.take, &made.facts, 1, &options, &family),
    VW_CYCLE_TOO_LONG);
  made_clear(&made);
  vw_sound_clear(&take);
}

static void
test_ranges(void** state) {
  (void)state;
  const SignalBurst burst = {.start_s = 0.05, .decay_s = 0.1, .level = 0.4};
  VwSound           take = signal_take(0.2, 22050, &burst, 8);
  VwFamilyOptions   options = made_options();
  Made              made;
  VwFamily          family;
  assert_true(made_new(&take, &options, &made));
  const VwFamilyOptions good = options;
  const double          bad_gaps[] = {-1.0, 1000.5, NAN};
  const unsigned        bad_buffers[] = {0, 65537};
  const double          bad_run_ins[] = {-0.1, 0.04, 60.1, NAN};
  for (size_t i = 0; i < 3; ++i) {
    options.gap_ms = bad_gaps[i];
    assert_int_equal(
      vw_family_make(&made.take, &made.facts, 1, &options, &family),
      VW_BAD_OPTION);
  }
  options = good;
  for (size_t i = 0; i < 2; ++i) {
    options.buffer_frames = bad_buffers[i];
    assert_int_equal(
      vw_family_make(&made.take, &made.facts, 1, &options, &family),
      VW_BAD_OPTION);
  }
  options = good;
  for (size_t i = 0; i < 4; ++i) {
    options.run_in_max_s = bad_run_ins[i];
    assert_int_equal(
      vw_family_make(&made.take, &made.facts, 1, &options, &family),
      VW_BAD_OPTION);
  }
  made_clear(&made);
  vw_sound_clear(&take);
}

// What is written keeps to all of them, whatever the form.
static bool
check_pieces(VwForm form, unsigned buffer, const VwSound* take) {
  VwFamilyOptions options = made_options();
  Made            made;
  options.format.encoding = VW_ENCODING_U8;
  options.form = form;
  options.fire_rate_per_s = 7.3;
  options.buffer_frames = buffer;
  options.file_bytes_max = 20000;
  if (!made_new(take, &options, &made)) {
    return false;
  }
  const char* const name = vw_form_name(form);
  const size_t      unit = buffer % 2 ? 2 * buffer : buffer;
  bool              ok = true;
  for (size_t i = 0; i < made.family.n_pieces; ++i) {
    const VwPiece* const piece = &made.family.pieces[i];
    const bool           exact = piece->part == VW_PART_RUN_IN ||
                       (piece->part == VW_PART_LOOP && !piece->has_loop);
    ok &= check_equal((double)(piece->sound.n_frames % (exact ? unit : 2)),
                      0.0,
                      "%s, buffer %u, part %d: frames left over",
                      name,
                      buffer,
                      (int)piece->part);
    ok &= check_equal((double)(piece->loop_start % unit),
                      0.0,
                      "%s, buffer %u: loop's start",
                      name,
                      buffer);
    ok &= check_equal((double)((piece->loop_end - piece->loop_start) % unit),
                      0.0,
                      "%s, buffer %u: loop's length",
                      name,
                      buffer);
  }
  const VwPlan* const plan = &made.family.plan;
  if (form == VW_FORM_BURST) {
    // It is no loop: the fire rate is all that counts.
    ok &= check_at_most(fabs(plan->error_ppm), 1000.0, "burst: error, ppm");
  } else {
    ok &= check_at_most((double)plan->n_frames, 20000.0 - 44.0, "%s: L", name);
  }
  made_clear(&made);
  return ok;
}

static void
test_pieces(void** state) {
  (void)state;
  static const unsigned odd_and_even[] = {1, 2, 37, 256, 4096};
  const SignalBurst     burst = {.start_s = 0.05, .decay_s = 0.5, .level = 0.4};
  VwSound               take = signal_take(0.5, 11025, &burst, 8);
  bool                  ok = true;
  for (size_t i = 0; i < 5; ++i) {
    for (int form = VW_FORM_PIECES; form <= VW_FORM_BURST; ++form) {
      ok &= check_pieces((VwForm)form, odd_and_even[i], &take);
    }
  }
  vw_sound_clear(&take);
  assert_true(ok);
}

// Every figure has its range; one that lies outside it spoils the rest.
static void
test_each_range(void** state) {
  (void)state;
  const VwFamilyOptions good = vw_family_defaults();
  VwFamilyOptions       bad[34];
  VwFamilyOptions*      at = bad;
  for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); ++i) {
    bad[i] = good;
  }
  (at++)->burst_shots = 0U;
  (at++)->burst_shots = 1001U;
  (at++)->fire_rate_per_s = 0.4;
  (at++)->fire_rate_per_s = 41.0;
  (at++)->fire_rate_per_s = NAN;
  (at++)->shots = 65U;
  (at++)->cycle_max_s = 0.04;
  (at++)->cycle_max_s = 61.0;
  (at++)->valley_db = 2.0;
  (at++)->valley_db = 41.0;
  (at++)->detune_cents = -1.0;
  (at++)->detune_cents = 101.0;
  (at++)->level_spread_db = -0.1;
  (at++)->level_spread_db = 6.1;
  (at++)->gap_ms = 1001.0;
  (at++)->buffer_frames = 0U;
  (at++)->run_in_max_s = 0.04;
  (at++)->run_in_max_s = 61.0;
  (at++)->lamp_on_ms = 4.0;
  (at++)->lamp_on_ms = 501.0;
  (at++)->lamp_track.tone_hz = 1999.0;
  (at++)->lamp_track.tone_hz = 4001.0;
  (at++)->lamp_track.level_dbfs = -21.0;
  (at++)->lamp_track.level_dbfs = 0.1;
  (at++)->format.rate_hz = 3999U;
  (at++)->format.rate_hz = 384001U;
  (at++)->format.n_channels = 0U;
  (at++)->format.n_channels = 3U;
  (at++)->level.ceiling_dbtp = -21.0;
  (at++)->level.limiting_max_db = 12.1;
  (at++)->level.gain_db = -61.0;
  (at++)->level.loudness_lufs = 0.1;
  (at++)->level.speaker.corner_hz = 49.0;
  (at++)->level.speaker.corner_hz = 2001.0;
  assert_ptr_equal(at, bad + sizeof(bad) / sizeof(bad[0]));
  bool ok = check_that(vw_options_are_sound(&good, 1), "as they come");
  for (const VwFamilyOptions* one = bad; one < at; ++one) {
    ok &=
      check_that(!vw_options_are_sound(one, 1), "options %d", (int)(one - bad));
  }
  ok &= check_that(!vw_options_are_sound(&good, 65), "65 takes");
  assert_true(ok);
}

// Where no fire rate is asked it is the fastest that every take stands, but 8
// per second at least (from memory).
static void
test_chosen(void** state) {
  (void)state;
  static const struct {
    double fastest[2], chosen;
  } cases[] = {{{5.0, 12.0}, 8.0},
               {{NAN, 12.0}, 8.0},
               {{9.5, 12.0}, 9.5},
               {{15.0, 12.0}, 12.0}};
  const VwFamilyOptions options = made_options();
  bool                  ok = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    const VwShotFacts facts[2] = {
      {.fastest_fire_rate_per_s = cases[i].fastest[0]},
      {.fastest_fire_rate_per_s = cases[i].fastest[1]}};
    ok &= check_equal(vw_wish_make(&options, facts, 2, 44100).fire_rate_per_s,
                      cases[i].chosen,
                      "case %zu: per second",
                      i);
  }
  assert_true(ok);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_lengths),
    cmocka_unit_test(test_refused),
    cmocka_unit_test(test_ranges),
    cmocka_unit_test(test_pieces),
    cmocka_unit_test(test_each_range),
    cmocka_unit_test(test_chosen),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
