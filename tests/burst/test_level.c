// What is written is as loud as was asked, of real recordings: the 34 WAV files
// of the Debian package bzflag-data.

#include "base/status.h"
#include "support/check.h"
#include "support/made.h"
#include "support/measure.h"
#include "support/meter.h"
#include "support/recordings.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const unsigned rates_hz[] = {8000, 11025, 22050, 44100, 48000};

enum { N_RATES = sizeof(rates_hz) / sizeof(rates_hz[0]) };

/* Loudness */

// How the loudness of a family is asked for.
typedef struct {
  double     target_lufs;
  VwLoudAs   loud_as;
  VwForm     form;
  VwEncoding encoding;
} Wish;

static const Wish wishes[] = {
  {-22.0, VW_LOUD_AS_SHOT, VW_FORM_PIECES, VW_ENCODING_S16},
  {-22.0, VW_LOUD_AS_BURST, VW_FORM_PIECES, VW_ENCODING_U8},
  {-14.0, VW_LOUD_AS_SHOT, VW_FORM_PIECES, VW_ENCODING_U8},
  {-14.0, VW_LOUD_AS_BURST, VW_FORM_PIECES, VW_ENCODING_S16},
  {-18.0, VW_LOUD_AS_BURST, VW_FORM_WHOLE_FILE, VW_ENCODING_S16},
  {-6.0, VW_LOUD_AS_BURST, VW_FORM_WHOLE_FILE, VW_ENCODING_S16},
};

enum { N_WISHES = sizeof(wishes) / sizeof(wishes[0]) };

static double
written_lufs(const VwFamily* family, VwPart part) {
  VwSound      sound = made_written(family, part, family->n_pieces);
  const double lufs =
    part == VW_PART_LOOP ? meter_loop_lufs(&sound) : meter_effect_lufs(&sound);
  vw_sound_clear(&sound);
  return lufs;
}

// What is reported is what is measured; but at 8 bits the noise of dither,
// near -45 LUFS, adds to what is far quieter than was asked.
static bool
check_reported(const char*     name,
               const VwFamily* family,
               const Wish*     wish,
               VwPart          part) {
  const bool   shot = part == VW_PART_SHOT;
  const bool   meant = shot == (wish->loud_as == VW_LOUD_AS_SHOT);
  const bool   coarse = wish->encoding == VW_ENCODING_U8;
  const double reported =
    shot ? family->level.shot_loudness_lufs : family->level.burst_loudness_lufs;
  const double written = written_lufs(family, part);
  bool         ok = true;
  if (meant || !coarse) {
    ok &= check_at_most(fabs(written - reported),
                        coarse ? 0.2 : 0.1,
                        "%s, %u Hz, %g LUFS, %s: %s reported",
                        name,
                        family->format.rate_hz,
                        wish->target_lufs,
                        vw_form_name(wish->form),
                        vw_part_name(part));
  }
  if (meant && family->level.reached) {
    ok &= check_at_most(fabs(written - wish->target_lufs),
                        coarse ? 0.2 : 0.1,
                        "%s, %u Hz, %g LUFS, %s: %s written",
                        name,
                        family->format.rate_hz,
                        wish->target_lufs,
                        vw_form_name(wish->form),
                        vw_part_name(part));
  }
  return ok;
}

static bool
check_wish(const char* name, const VwFamily* family, const Wish* wish) {
  const VwLevel* const level = &family->level;
  bool                 ok = check_reported(name, family, wish, VW_PART_SHOT);
  ok &= check_reported(name, family, wish, VW_PART_LOOP);
  ok &= check_equal(level->target_lufs, wish->target_lufs, "%s: target", name);
  if (level->reached) {
    return ok & check_at_most(level->limiting_db, 3.001, "%s: limiting", name);
  }
  ok &= check_at_most(fabs(level->limiting_db - 3.0),
                      0.01,
                      "%s, %u Hz, %g LUFS: limiting taken",
                      name,
                      family->format.rate_hz,
                      wish->target_lufs);
  return ok & check_at_least(
                level->limiting_needed_db, 3.0, "%s: limiting needed", name);
}

static size_t n_reached;
static size_t n_left;

static bool
check_loudness(const char* name, const VwSound* raw) {
  bool ok = true;
  // From file to file another fifth of all rates and wishes.
  static size_t turn;
  for (size_t i = turn++ % 5U; i < N_RATES * N_WISHES; i += 5U) {
    const Wish* const wish = &wishes[i % N_WISHES];
    VwFamilyOptions   options = vw_family_defaults();
    options.format.rate_hz = rates_hz[i / N_WISHES];
    options.format.encoding = wish->encoding;
    options.form = wish->form;
    options.level.aim = VW_AIM_LOUDNESS;
    options.level.loudness_lufs = wish->target_lufs;
    options.level.loud_as = wish->loud_as;
    Made made;
    if (!made_new(raw, &options, &made)) {
      return false;
    }
    ok &= check_wish(name, &made.family, wish);
    n_reached += made.family.level.reached ? 1U : 0U;
    n_left += made.family.level.reached ? 0U : 1U;
    made_clear(&made);
  }
  return ok;
}

static void
test_loudness(void** state) {
  (void)state;
  assert_int_equal(recordings_each(check_loudness), RECORDINGS);
  // Both happen.
  assert_true(n_reached > 40 && n_left > 40);
}

/* Peaks */

static double
loop_peak_dbtp(const VwFamily* family) {
  VwSound      loop = made_written(family, VW_PART_LOOP, 1);
  const double peak = meter_true_peak_dbtp(&loop, METER_ITSELF);
  vw_sound_clear(&loop);
  return peak;
}

// The pieces one after the other, as they are written.
static double
joined_peak_dbtp(VwFamily* family) {
  for (size_t i = 0; i < family->n_pieces; ++i) {
    VwPiece* const piece = &family->pieces[i];
    VwSound        written = made_written(family, piece->part, 1);
    vw_sound_clear(&piece->sound);
    piece->sound = written;
  }
  VwSound      joined = made_joined(family, 2);
  const double peak =
    fmax(meter_true_peak_dbtp(&joined, METER_SILENCE),
         meter_true_peak_dbtp(&made_piece(family, VW_PART_SHOT)->sound,
                              METER_SILENCE));
  vw_sound_clear(&joined);
  return peak;
}

static bool
check_peaks(const char* name, const VwSound* raw) {
  static const VwEncoding encodings[] = {
    VW_ENCODING_U8, VW_ENCODING_S16, VW_ENCODING_S24};
  bool ok = true;
  // From file to file the other form.
  static size_t turn;
  for (size_t i = turn++ % 2U; i < 2U * N_RATES; i += 2U) {
    VwFamilyOptions options = vw_family_defaults();
    options.format.rate_hz = rates_hz[i / 2U];
    options.format.encoding = encodings[i % 3U];
    options.form = i % 2U ? VW_FORM_WHOLE_FILE : VW_FORM_PIECES;
    Made made;
    if (!made_new(raw, &options, &made)) {
      return false;
    }
    double peak = loop_peak_dbtp(&made.family);
    if (options.form == VW_FORM_PIECES) {
      peak = fmax(peak, joined_peak_dbtp(&made.family));
    }
    ok &= check_at_most(peak,
                        -0.9,
                        "%s, %u Hz, %s, %s: true peak",
                        name,
                        rates_hz[i / 2U],
                        vw_form_name(options.form),
                        vw_encoding_name(options.format.encoding));
    if (options.form == VW_FORM_PIECES) {
      ok &= check_at_most(fabs(peak - made.family.level.true_peak_dbtp),
                          i % 3U ? 0.1 : 0.3,
                          "%s, %u Hz: true peak reported",
                          name,
                          rates_hz[i / 2U]);
    }
    made_clear(&made);
  }
  return ok;
}

static void
test_peaks(void** state) {
  (void)state;
  assert_int_equal(recordings_each(check_peaks), RECORDINGS);
}

/* The identity of the pieces, limited */

// RMS of the difference of two cycles of a burst, dB relative to the first.
static double
residual_db(const VwSound* burst, size_t from, size_t n_cycle) {
  double energy = 0.0;
  double residual = 0.0;
  for (size_t i = from; i < from + n_cycle; ++i) {
    const double one = burst->values[i];
    const double next = burst->values[i + n_cycle];
    energy += one * one;
    residual += (next - one) * (next - one);
  }
  return residual > 0.0 ? 10.0 * log10(residual / energy) : -200.0;
}

static bool
check_burst(const char*            name,
            const VwSound*         raw,
            const VwFamilyOptions* options,
            const Made*            made,
            size_t                 k) {
  const VwPlan* const plan = &made->family.plan;
  const unsigned      rate_hz = plan->rate_hz;
  VwFamilyOptions     wish = *options;
  Made                whole;
  wish.form = VW_FORM_BURST;
  wish.burst_shots = made->family.run_in_shots + (unsigned)k * plan->shots;
  if (!made_new(raw, &wish, &whole)) {
    return false;
  }
  const VwSound* const burst = &made_piece(&whole.family, VW_PART_BURST)->sound;
  VwSound              joined = made_joined(&made->family, k);
  bool                 ok = check_at_most(measure_difference(&joined, burst),
                          rate_hz < 22050 ? 2e-5 : 1e-6,
                          "%s, %u Hz, k = %zu: difference",
                          name,
                          rate_hz,
                          k);
  if (k == 3) {
    const size_t start =
      made_piece(&made->family, VW_PART_RUN_IN)->sound.n_frames;
    ok &= check_at_most(residual_db(burst, start, plan->n_frames),
                        -90.0,
                        "%s, %u Hz: join residual",
                        name,
                        rate_hz);
  }
  vw_sound_clear(&joined);
  made_clear(&whole);
  return ok;
}

static bool
check_identity(const char* name, const VwSound* raw) {
  bool ok = true;
  // From file to file at another two of the rates.
  static size_t turn;
  for (size_t i = 0; i < 2; ++i, ++turn) {
    VwFamilyOptions options = made_options();
    options.format.rate_hz = rates_hz[turn % N_RATES];
    options.level.limiting_max_db = 3.0;
    Made made;
    if (!made_new(raw, &options, &made)) {
      return false;
    }
    ok &= check_at_most(
      fabs(made.family.level.limiting_db - 3.0), 0.01, "%s: limiting", name);
    ok &= check_at_most(
      made.family.join_residual_db, -90.0, "%s: join residual", name);
    for (size_t k = 0; k <= 3; ++k) {
      ok &= check_burst(name, raw, &options, &made, k);
    }
    made_clear(&made);
  }
  return ok;
}

static void
test_identity(void** state) {
  (void)state;
  assert_int_equal(recordings_each(check_identity), RECORDINGS);
}

int
main(int argc, char** argv) {
  if (!recordings_find(argc > 1 ? argv[1] : NULL)) {
    return RECORDINGS_MISSING;
  }
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_loudness),
    cmocka_unit_test(test_peaks),
    cmocka_unit_test(test_identity),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
