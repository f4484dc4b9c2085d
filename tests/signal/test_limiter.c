// The limiter, looked at from outside: what it leaves alone, what it distorts,
// how fast it acts, and whether what is written keeps under the ceiling.

#include "base/status.h"
#include "signal/limiter.h"
#include "support/check.h"
#include "support/made.h"
#include "support/measure.h"
#include "support/meter.h"
#include "support/signals.h"
#include "support/tones.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const unsigned rates_hz[] = {8000, 11025, 22050, 44100, 48000};

enum { N_RATES = sizeof(rates_hz) / sizeof(rates_hz[0]) };

#define CEILING_DB (-1.0)
#define CEILING 0.8912509381337456

// Of 3 dB (closed form).
#define THREE_DB 1.4125375446227544

static VwSound
copy_of(const VwSound* sound) {
  VwSound copy = {NULL, 0, 0, 0};
  if (vw_sound_init(
        &copy, sound->n_frames, sound->n_channels, sound->rate_hz)) {
    abort();
  }
  memcpy(copy.values,
         sound->values,
         sound->n_frames * sound->n_channels * sizeof(float));
  return copy;
}

static VwLimited
limit(VwSound* sound) {
  VwLimited limited = {NAN, NAN};
  assert_int_equal(vw_limiter_run(CEILING, sound, &limited), VW_OK);
  return limited;
}

/* Under the ceiling */

static void
test_identical(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < N_RATES; ++i) {
    SignalRandom random = signal_random(31 + i);
    VwSound      sound = signal_silence(0.5, rates_hz[i]);
    signal_add_tone(&sound, 997.0, 0.5, 0.1);
    signal_add_noise(&sound, 0.05, &random);
    const double gain = pow(
      10.0,
      (CEILING_DB - 0.05 - meter_true_peak_dbtp(&sound, METER_SILENCE)) / 20.0);
    for (size_t j = 0; j < sound.n_frames; ++j) {
      sound.values[j] = (float)(gain * (double)sound.values[j]);
    }
    VwSound         before = copy_of(&sound);
    const VwLimited limited = limit(&sound);
    ok &= check_that(
      !memcmp(before.values, sound.values, sound.n_frames * sizeof(float)),
      "%u Hz: identical",
      rates_hz[i]);
    ok &= check_equal(limited.most_db, 0.0, "%u Hz: taken", rates_hz[i]);
    ok &= check_equal(limited.time_ms, 0.0, "%u Hz: time", rates_hz[i]);
    vw_sound_clear(&before);
    vw_sound_clear(&sound);
  }
  assert_true(ok);
}

/* Distortion */

// Total harmonic distortion of a second well within a sound.
static double
distortion_of(const VwSound* sound, double pitch_hz) {
  const Stretch stretch = {sound, sound->rate_hz, sound->rate_hz, 0};
  Tones         tones = {.n_tones = 16};
  for (size_t i = 0; i < tones.n_tones; ++i) {
    tones.hz[i] = pitch_hz * (double)(i + 1);
  }
  tones_fit(&stretch, &tones);
  double power = 2.0 * tones.rest_rms * tones.rest_rms;
  for (size_t i = 1; i < tones.n_tones; ++i) {
    power += tones.level[i] * tones.level[i];
  }
  return sqrt(power) / tones.level[0];
}

// A steady tone that is 3 dB over (bound of this project).
static void
test_distortion(void** state) {
  (void)state;
  static const double pitches_hz[] = {60.0, 80.0, 100.0, 200.0};

  bool ok = true;
  for (size_t i = 0; i < N_RATES * 4U; ++i) {
    const unsigned rate_hz = rates_hz[i / 4U];
    const double   pitch_hz = pitches_hz[i % 4U];
    VwSound        sound = signal_silence(3.0, rate_hz);
    signal_add_tone(&sound, pitch_hz, CEILING * THREE_DB, 0.0);
    const VwLimited limited = limit(&sound);
    ok &= check_at_most(fabs(limited.most_db - 3.0),
                        0.02,
                        "%g Hz at %u Hz: taken",
                        pitch_hz,
                        rate_hz);
    ok &= check_at_most(distortion_of(&sound, pitch_hz),
                        0.001,
                        "%g Hz at %u Hz: distortion",
                        pitch_hz,
                        rate_hz);
    vw_sound_clear(&sound);
  }
  assert_true(ok);
}

/* Speed */

// A tone that rises by a step, and a small constant in a second channel, which
// shows the gain since channels are turned down alike.
static VwSound
step_and_pilot(unsigned rate_hz, double pitch_hz, double step_db) {
  VwSound      sound = {NULL, 0, 0, 0};
  const size_t n = rate_hz / 2U;
  if (vw_sound_init(&sound, n, 2, rate_hz)) {
    abort();
  }
  for (size_t i = 0; i < n; ++i) {
    const double level =
      CEILING * (i < n / 2U ? 0.99 : pow(10.0, step_db / 20.0));
    const double turns = pitch_hz * (double)i / rate_hz;
    sound.values[2U * i] = (float)(level * sin(6.283185307179586 * turns));
    sound.values[2U * i + 1U] = 0.01F;
  }
  return sound;
}

// Fastest fall of the gain, dB in 0.1 ms, as the second channel shows it.
static double
fastest_fall(const VwSound* limited) {
  double fastest = 0.0;
  for (size_t i = 1; i < limited->n_frames; ++i) {
    const double ratio = (double)limited->values[2U * i - 1U] /
                         (double)limited->values[2U * i + 1U];
    fastest = fmax(fastest, 20.0 * log10(ratio));
  }
  return fastest * limited->rate_hz * 1e-4;
}

static void
test_speed(void** state) {
  (void)state;
  static const double pitches_hz[] = {100.0, 440.0, 997.0, 2500.0};
  static const double steps_db[] = {0.5, 1.5, 3.0};

  bool ok = true;
  for (size_t i = 0; i < N_RATES; ++i) {
    for (size_t j = 0; j < 4U * 3U; ++j) {
      const double    pitch_hz = pitches_hz[j % 4U];
      const double    step_db = steps_db[j / 4U];
      VwSound         sound = step_and_pilot(rates_hz[i], pitch_hz, step_db);
      const VwLimited limited = limit(&sound);
      // What a sudden step overshoots by comes on top.
      ok &= check_at_least(limited.most_db, step_db - 0.1, "it acts");
      if (limited.most_db <= 3.2) {
        ok &= check_at_most(fastest_fall(&sound),
                            0.5,
                            "%u Hz, %g dB of %g Hz: fall in 0.1 ms",
                            rates_hz[i],
                            step_db,
                            pitch_hz);
      }
      ok &= check_at_most(meter_true_peak_dbtp(&sound, METER_SILENCE),
                          CEILING_DB + 0.1,
                          "%u Hz, %g dB of %g Hz: peak",
                          rates_hz[i],
                          step_db,
                          pitch_hz);
      vw_sound_clear(&sound);
    }
  }
  assert_true(ok);
}

/* Course */

// A frame at twice the ceiling (6.02 dB) in the first channel, with the small
// constant in the second.
static VwSound
click_and_pilot(unsigned rate_hz) {
  VwSound      sound = {NULL, 0, 0, 0};
  const size_t n = rate_hz / 2U;
  if (vw_sound_init(&sound, n, 2, rate_hz)) {
    abort();
  }
  for (size_t i = 0; i < n; ++i) {
    sound.values[2U * i] = i == n / 2U ? (float)(2.0 * CEILING) : 0.0F;
    sound.values[2U * i + 1U] = 0.01F;
  }
  return sound;
}

// What is taken at so many seconds after the click, dB.
static double
taken_db(const VwSound* limited, double after_s) {
  const double middle = (double)(limited->n_frames / 2U);
  const size_t at = (size_t)lround(middle + after_s * limited->rate_hz);
  return -20.0 * log10((double)limited->values[2U * at + 1U] / (double)0.01F);
}

// A straight line in dB over the 1.5 ms before a peak, held for 9 ms, down to a
// tenth in every 50 ms; and for how long it is more than 0.1 dB.
static void
test_course(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < N_RATES; ++i) {
    const unsigned  hz = rates_hz[i];
    const double    frame_db = 6.02 / (0.0015 * hz);
    VwSound         sound = click_and_pilot(hz);
    const VwLimited limited = limit(&sound);
    ok &= check_at_most(taken_db(&sound, -0.0016), 0.0, "%u Hz: before", hz);
    ok &= check_at_most(fabs(taken_db(&sound, -0.00075) - 3.01),
                        2.0 * frame_db,
                        "%u Hz: on the way, dB",
                        hz);
    ok &= check_at_most(
      fabs(taken_db(&sound, 0.0085) - 6.02), 0.05, "%u Hz: held, dB", hz);
    ok &= check_at_most(
      taken_db(&sound, 0.0105), 6.02 - 0.2, "%u Hz: let go, dB", hz);
    for (double after_s = 0.010; after_s < 0.080; after_s += 0.020) {
      ok &= check_at_most(fabs(log10(taken_db(&sound, after_s) /
                                     taken_db(&sound, after_s + 0.025)) -
                               0.5),
                          0.01,
                          "%u Hz, %g s: decades in 25 ms",
                          hz,
                          after_s);
    }
    size_t n = 0;
    for (size_t frame = 0; frame < sound.n_frames; ++frame) {
      const double value = (double)sound.values[2U * frame + 1U];
      n += value < (double)0.01F * pow(10.0, -0.1 / 20.0) ? 1U : 0U;
    }
    ok &= check_at_most(fabs(limited.time_ms - 1000.0 * (double)n / hz),
                        2000.0 / hz,
                        "%u Hz: limited for, ms",
                        hz);
    vw_sound_clear(&sound);
  }
  assert_true(ok);
}

/* A steady cycle */

// Shots that decay, one a cycle: what the limiter leaves of the sixth of them
// it leaves of the cycle taken alone; a ceiling that takes too much is raised.
static void
test_steady(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < N_RATES * 2U; ++i) {
    const unsigned hz = rates_hz[i / 2U];
    const double   length_s = i % 2U ? 0.3 : 0.05;
    VwSound        cycle = signal_silence(length_s, hz);
    signal_add_tone(&cycle, 440.0, CEILING * THREE_DB, 0.1);
    for (size_t j = 0; j < cycle.n_frames; ++j) {
      cycle.values[j] *= (float)exp(-10.0 * (double)j / hz);
    }
    VwSound raised = copy_of(&cycle);
    VwSound played = measure_played(&cycle, 8);
    (void)limit(&played);
    assert_int_equal(vw_limiter_run_steady(CEILING, HUGE_VAL, &cycle), VW_OK);
    VwSound sixth = played;
    sixth.values += 5U * cycle.n_frames;
    sixth.n_frames = cycle.n_frames;
    ok &= check_at_most(measure_difference(&sixth, &cycle),
                        1e-6,
                        "%u Hz, %g s: the sixth cycle",
                        hz,
                        length_s);
    const double before = meter_true_peak_dbtp(&raised, METER_ITSELF);
    assert_int_equal(vw_limiter_run_steady(0.0, 2.0, &raised), VW_OK);
    ok &= check_at_most(
      fabs(before - 2.0 - meter_true_peak_dbtp(&raised, METER_ITSELF)),
      0.15, // A gain that moves makes new peaks between frames.
      "%u Hz, %g s: taken",
      hz,
      length_s);
    vw_sound_clear(&played);
    vw_sound_clear(&raised);
    vw_sound_clear(&cycle);
  }
  assert_true(ok);
}

/* Margins */

// Under what is asked a family stays 0.1 dB, and 0.03 for each dB of limiting
// from 3 on: what eight-fold oversampling does not see (figures of this
// project); at 8 bits another LSB of dither and a half of rounding (closed
// form). A low thump shows its peaks in its frames.
static void
test_margins(void** state) {
  (void)state;
  static const struct {
    VwEncoding encoding;
    double     limiting_db;
    double     ceiling_dbtp;
    double     under_db;
    double     under_lsb;
  } cases[] = {
    {VW_ENCODING_S16, 3.0, -1.0, 0.1, 0.0},
    {VW_ENCODING_S16, 2.0, -1.0, 0.1, 0.0},
    {VW_ENCODING_S16, 4.0, -3.0, 0.13, 0.0},
    {VW_ENCODING_S24, 12.0, -1.0, 0.37, 0.0},
    {VW_ENCODING_U8, 3.0, -1.0, 0.1, 1.5},
  };
  const SignalBurst burst = {.start_s = 0.1,
                             .rise_s = 0.001,
                             .decay_s = 0.5,
                             .level = 0.3,
                             .pitch_hz = 80};
  bool              ok = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    VwSound         raw = signal_take(0.7, 44100, &burst, 11);
    VwFamilyOptions options = vw_family_defaults();
    Made            made;
    options.format.encoding = cases[i].encoding;
    options.shot_only = true;
    options.level.ceiling_dbtp = cases[i].ceiling_dbtp;
    options.level.limiting_max_db = cases[i].limiting_db;
    assert_true(made_new(&raw, &options, &made));
    const double peak = measure_peak(&made.family.pieces[0].sound);
    const double wanted =
      pow(10.0, (cases[i].ceiling_dbtp - cases[i].under_db) / 20.0) -
      cases[i].under_lsb / 128.0;
    ok &= check_at_most(
      fabs(20.0 * log10(peak / wanted)), 0.01, "case %zu: peak, dB off", i);
    made_clear(&made);
    vw_sound_clear(&raw);
  }
  assert_true(ok);
}

/* Settled */

// Of two shots at a time the second takes most of the first away again, so that
// 12 dB are taken of the first shot alone and nothing later: the loop is the
// burst's only where the limiter has let go for good.
static void
test_settled(void** state) {
  (void)state;
  const unsigned hz = 48000;
  const size_t   period = hz / 40U; // 12 turns and a half of the tone
  VwTake         take = {signal_silence(0.08, hz), 0.0, 0U};
  for (size_t i = 96; i < 96 + 2 * period; ++i) {
    const double level = i < 96 + period ? 0.2 : 0.16;
    const double turns = 500.0 * (double)(i - 96) / hz;
    take.sound.values[i] = (float)(level * sin(6.283185307179586 * turns));
  }
  const VwShotFacts facts = {
    .attack_frame = 96, .crest_frame = 480, .end_frame = take.sound.n_frames};
  VwFamilyOptions options = made_options();
  VwFamily        family = {0};
  VwFamily        whole = {0};
  options.format.rate_hz = hz;
  options.fire_rate_per_s = 40.0;
  options.shots = 1;
  options.valley_db = NAN;
  options.level.limiting_max_db = 12.0;
  assert_int_equal(vw_family_make(&take, &facts, 1, &options, &family), VW_OK);
  options.form = VW_FORM_BURST;
  options.burst_shots = family.run_in_shots + 20U;
  assert_int_equal(vw_family_make(&take, &facts, 1, &options, &whole), VW_OK);
  VwSound joined = made_joined(&family, 20);
  bool    ok = check_at_most(
    fabs(family.level.limiting_db - 12.0), 0.05, "limiting, dB off");
  ok &= check_at_most(
    measure_difference(&joined, &made_piece(&whole, VW_PART_BURST)->sound),
    1e-6,
    "the burst and its pieces");
  vw_sound_clear(&joined);
  vw_family_clear(&family);
  vw_family_clear(&whole);
  vw_take_clear(&take);
  assert_true(ok);
}

/* What is written */

typedef struct {
  const char* name;
  double      pitch_hz;
  double      decay_s;
  double      rise_s;
} ShotCase;

static const ShotCase shots[] = {
  {"noise", 0.0, 0.4, 0.0},
  {"long noise", 0.0, 1.2, 0.002},
  {"low thump", 80.0, 0.5, 0.001},
  {"tone", 1900.0, 0.3, 0.0},
};

static const VwForm forms[] = {VW_FORM_PIECES,
                               VW_FORM_WHOLE_FILE,
                               VW_FORM_BURST};

static const VwEncoding encodings[] = {VW_ENCODING_U8,
                                       VW_ENCODING_S16,
                                       VW_ENCODING_S24};

// A family with its parts encoded and read back.
static void
write_all(VwFamily* family) {
  for (size_t i = 0; i < family->n_pieces; ++i) {
    VwPiece* const piece = &family->pieces[i];
    VwSound        written = made_written(family, piece->part, 1);
    vw_sound_clear(&piece->sound);
    piece->sound = written;
  }
}

static double
written_peak_dbtp(const VwFamily* family) {
  double peak = meter_true_peak_dbtp(&made_piece(family, VW_PART_SHOT)->sound,
                                     METER_SILENCE);
  if (family->form == VW_FORM_PIECES) {
    VwSound joined = made_joined(family, 2);
    peak = fmax(peak, meter_true_peak_dbtp(&joined, METER_SILENCE));
    peak = fmax(peak,
                meter_true_peak_dbtp(&made_piece(family, VW_PART_LOOP)->sound,
                                     METER_ITSELF));
    vw_sound_clear(&joined);
  } else if (family->form == VW_FORM_WHOLE_FILE) {
    peak = fmax(peak,
                meter_true_peak_dbtp(&made_piece(family, VW_PART_LOOP)->sound,
                                     METER_ITSELF));
  } else {
    peak = fmax(peak,
                meter_true_peak_dbtp(&made_piece(family, VW_PART_BURST)->sound,
                                     METER_SILENCE));
  }
  return peak;
}

static bool
check_written(const ShotCase* shot,
              unsigned        rate_hz,
              size_t          form,
              size_t          bits) {
  const SignalBurst burst = {.start_s = 0.1,
                             .rise_s = shot->rise_s,
                             .decay_s = shot->decay_s,
                             .level = 0.3,
                             .pitch_hz = shot->pitch_hz};
  VwSound           raw = signal_take(0.2 + shot->decay_s, rate_hz, &burst, 11);
  VwFamilyOptions   options = vw_family_defaults();
  options.format.rate_hz = rate_hz;
  options.format.encoding = encodings[bits];
  options.form = forms[form];
  options.burst_shots = 5;
  Made made;
  bool ok = made_new(&raw, &options, &made);
  vw_sound_clear(&raw);
  if (!ok) {
    return false;
  }
  ok &= check_at_most(
    fabs(made.family.level.limiting_db - 3.0), 0.01, "%s: taken", shot->name);
  const double reported = made.family.level.true_peak_dbtp;
  write_all(&made.family);
  const double peak = written_peak_dbtp(&made.family);
  ok &= check_at_most(peak,
                      CEILING_DB + 0.1,
                      "%s at %u Hz, %s, %s: true peak",
                      shot->name,
                      rate_hz,
                      vw_form_name(forms[form]),
                      vw_encoding_name(encodings[bits]));
  // As loud as it may be, but for the steps of 8 bits.
  ok &= check_at_least(peak,
                       CEILING_DB - (bits ? 0.2 : 0.5),
                       "%s at %u Hz, %s, %s: true peak",
                       shot->name,
                       rate_hz,
                       vw_form_name(forms[form]),
                       vw_encoding_name(encodings[bits]));
  ok &= check_at_most(fabs(reported - peak),
                      bits ? 0.1 : 0.3,
                      "%s at %u Hz: true peak reported",
                      shot->name,
                      rate_hz);
  made_clear(&made);
  return ok;
}

static void
test_written(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < sizeof(shots) / sizeof(shots[0]); ++i) {
    for (size_t rate = 0; rate < N_RATES; ++rate) {
      // From one to the next other bits for each form.
      for (size_t form = 0; form < 3U; ++form) {
        ok &= check_written(
          &shots[i], rates_hz[rate], form, (form + i + rate) % 3U);
      }
    }
  }
  assert_true(ok);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_identical),
    cmocka_unit_test(test_distortion),
    cmocka_unit_test(test_speed),
    cmocka_unit_test(test_course),
    cmocka_unit_test(test_steady),
    cmocka_unit_test(test_margins),
    cmocka_unit_test(test_settled),
    cmocka_unit_test(test_written),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
