// Lamps that are simulated: a light with its rise, mains hum, daylight, noise,
// and the coupling of a microphone's input, which lets no constant through.

#include "gauge/lamp/lamp.h"

#include "support/signals.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdlib.h>

#define TURN 6.28318530717958647692

// All with VOLLEYWEAVE_WHOLE_SWEEPS.
#define CASES_FEW 60U
#define CASES_ALL 300U

static unsigned
cases(void) {
  return getenv("VOLLEYWEAVE_WHOLE_SWEEPS") ? CASES_ALL : CASES_FEW;
}

/// A lamp and how it is recorded.
typedef struct {
  double   rate_hz;
  double   on_s;
  double   first_s;
  double   rise_s; ///< Of the cell that sees it.
  double   hum;    ///< Beside the lamp's own height.
  double   mains_hz;
  double   coupling_hz; ///< What the input lets through lies above it.
  double   sign;
  double   lag_s; ///< Of the sound; NAN without.
  unsigned rate;
  double   length_s;
  double   held_s; ///< The trigger, again and again; 0: once.
  double   dim_hz; ///< Switched so often, to be dimmed; 0: not.
  double   slows;  ///< Its rate falls by that share while it is lit; 0: not.
} Case;

static double
between(SignalRandom* random, double from, double to) {
  return from + (to - from) * signal_uniform(random);
}

static Case
draw(SignalRandom* random) {
  Case         drawn = {.rate_hz = between(random, 4.0, 30.0),
                        .first_s = between(random, 0.4, 0.8),
                        .rise_s = signal_uniform(random) < 0.5 ? 0.00008 : 0.0006,
                        .hum = between(random, 0.0, 0.5),
                        .mains_hz = (signal_uniform(random) < 0.5 ? 50.0 : 60.0) *
                                    between(random, 0.998, 1.002),
                        .coupling_hz = between(random, 1.0, 120.0),
                        .sign = signal_uniform(random) < 0.5 ? -0.2 : 0.2,
                        .lag_s = between(random, -0.015, 0.015),
                        .rate = signal_uniform(random) < 0.5 ? 44100U : 48000U,
                        .length_s = between(random, 3.0, 8.0)};
  const double most_s = fmin(0.06, 0.9 / drawn.rate_hz);
  drawn.on_s = between(random, 0.01, most_s);
  drawn.lag_s =
    fmin(fmax(drawn.lag_s, -0.3 / drawn.rate_hz), 0.3 / drawn.rate_hz);
  return drawn;
}

/// The light that a cell sees, before anything is added: 1 while it is lit.
/// Each time the trigger is held, for a little longer than before, the flashes
/// start anew.
static double
lit_at(const Case* of, double time_s) {
  double since_s = time_s - of->first_s;
  for (double held_s = of->held_s; of->held_s > 0.0 && since_s > held_s + 0.37;
       held_s += 0.2) {
    since_s -= held_s + 0.37;
  }
  const bool held = since_s >= 0.0 && time_s < of->length_s - 0.2 &&
                    (of->held_s <= 0.0 || since_s < of->held_s);
  const bool on = of->dim_hz <= 0.0 || fmod(time_s * of->dim_hz, 1.0) < 0.4;
  // In periods, at a rate that falls evenly.
  const double fall_per_s = of->slows / (of->length_s - of->first_s);
  const double flashes =
    of->rate_hz * since_s * (1.0 - 0.5 * fall_per_s * since_s);
  const double rate_hz = of->rate_hz * (1.0 - fall_per_s * since_s);
  return held && on && fmod(flashes, 1.0) / rate_hz < of->on_s ? 1.0 : 0.0;
}

static double
hum_at(const Case* of, double time_s) {
  static const double shares[] = {0.3, 1.0, 0.2, 0.15, 0.0, 0.1};
  double              hum = 0.0;
  for (unsigned i = 0; i < 6U; ++i) {
    hum += shares[i] *
           sin(TURN * (of->mains_hz * (i + 1U) * time_s + 0.37 * (double)i));
  }
  return of->hum * hum;
}

/// Four times a frame the cell follows the light.
static double
follow(const Case* of, size_t frame, double* cell) {
  const double each_s = 0.25 / of->rate;
  const double share = 1.0 - exp(-each_s / of->rise_s);
  double       sum = 0.0;
  for (unsigned i = 0; i < 4U; ++i) {
    const double time_s = (double)frame / of->rate + each_s * i;
    *cell += share * (lit_at(of, time_s) - *cell);
    sum += 0.25 * *cell;
  }
  return sum;
}

/// Put the light into a channel.
static void
record(const Case* of, unsigned channel, SignalRandom* random, VwSound* sound) {
  const double part =
    1.0 / (1.0 + TURN * of->coupling_hz / of->rate); // of a first-order filter
  double cell = 0.0;
  double before = 0.0;
  double through = 0.0;
  for (size_t i = 0; i < sound->n_frames; ++i) {
    const double time_s = (double)i / of->rate;
    const double seen = follow(of, i, &cell) + hum_at(of, time_s) +
                        0.5 * sin(TURN * 0.2 * time_s) +
                        0.03 * signal_normal(random);
    through = part * (through + seen - before);
    before = seen;
    sound->values[i * sound->n_channels + channel] =
      (float)(of->sign * through);
  }
}

/// Put a shot for each flash into a channel.
static void
fire(const Case* of, unsigned channel, SignalRandom* random, VwSound* sound) {
  for (size_t i = 0; i < sound->n_frames; ++i) {
    const double since_s = (double)i / of->rate - of->first_s - of->lag_s;
    const double in_s = fmod(since_s, 1.0 / of->rate_hz);
    const bool   fires =
      since_s >= 0.0 && (double)i / of->rate < of->length_s - 0.2 + of->lag_s;
    sound->values[i * sound->n_channels + channel] =
      (float)(0.0005 * signal_normal(random) +
              (fires ? 0.2 * exp(-in_s * 6.9 * 1.5 * of->rate_hz) *
                         signal_normal(random)
                     : 0.0));
  }
}

/// If nothing shows which part is lit it may be the other one.
static bool
is_near(const Case* of, const VwLampGauged* found) {
  const double wanted_ms = 1e3 * of->on_s;
  const double other_ms = found->shown ? found->on_ms : found->dark_ms;
  const bool   good = fabs(found->rate_hz / of->rate_hz - 1.0) < 0.001 &&
                    (fabs(found->on_ms - wanted_ms) < 1.0 ||
                     fabs(other_ms - wanted_ms) < 1.0) &&
                    isnan(found->rate_change);
  if (!good) {
    print_error("%.3f Hz %.2f ms, hum %.2f, rise %.2f ms, coupling %.0f Hz: "
                "%.3f Hz %.2f ms of %zu\n",
                of->rate_hz,
                1e3 * of->on_s,
                of->hum,
                1e3 * of->rise_s,
                of->coupling_hz,
                found->rate_hz,
                found->on_ms,
                found->flashes);
  }
  return good;
}

/// How far a flash is from the place that it was given, ms; of even ones.
static double
place_error_ms(const Case* of, const VwLampGauged* found) {
  const double period_s = 1.0 / of->rate_hz;
  return 1e3 * fabs(remainder(found->first_s - of->first_s, period_s));
}

static void
reads_rate_and_on_time_in_hum_and_daylight(void** state) {
  (void)state;
  SignalRandom random = signal_random(20);
  unsigned     bad = 0;
  unsigned     refused = 0;
  for (unsigned i = 0; i < cases(); ++i) {
    const Case   of = draw(&random);
    VwSound      sound = signal_silence(of.length_s, of.rate);
    VwLampGauged found = {0};
    record(&of, 0, &random, &sound);
    const VwStatus st = vw_lamp_gauge(&sound, &found);
    bad += !st && !is_near(&of, &found);
    refused += st || !found.shown ? 1U : 0U;
    vw_sound_clear(&sound);
  }
  assert_int_equal(bad, 0);
  assert_true(refused <= cases() / 20U);
}

static void
reads_the_longest_of_several_bursts(void** state) {
  (void)state;
  SignalRandom random = signal_random(24);
  unsigned     bad = 0;
  for (unsigned i = 0; i < cases() / 4U; ++i) {
    Case         of = draw(&random);
    VwSound      sound = signal_silence(6.0, of.rate);
    VwLampGauged found = {0};
    of.length_s = 6.0;
    of.held_s = between(&random, 1.6, 2.0);
    of.rate_hz = fmax(of.rate_hz, 5.0);
    of.on_s = fmin(of.on_s, 0.6 / of.rate_hz);
    record(&of, 0, &random, &sound);
    const VwStatus st = vw_lamp_gauge(&sound, &found);
    bad += st || !is_near(&of, &found) || !found.shown;
    vw_sound_clear(&sound);
  }
  assert_int_equal(bad, 0);
}

static void
reads_a_lamp_that_is_dimmed_by_switching(void** state) {
  (void)state;
  SignalRandom random = signal_random(25);
  unsigned     bad = 0;
  unsigned     refused = 0;
  for (unsigned i = 0; i < cases() / 4U; ++i) {
    Case         of = draw(&random);
    VwSound      sound = signal_silence(of.length_s, of.rate);
    VwLampGauged found = {0};
    of.dim_hz = between(&random, 900.0, 1100.0);
    of.rise_s = 0.00008;
    of.hum = 0.05;
    of.rate_hz = fmin(of.rate_hz, 15.0);
    of.on_s = fmin(of.on_s, 0.5 / of.rate_hz);
    record(&of, 0, &random, &sound);
    const VwStatus st = vw_lamp_gauge(&sound, &found);
    bad += !st && (fabs(found.rate_hz / of.rate_hz - 1.0) > 0.001 ||
                   fabs(found.on_ms - 1e3 * of.on_s) > 1.5 ||
                   (found.shown && place_error_ms(&of, &found) > 1.0));
    refused += st ? 1U : 0U;
    vw_sound_clear(&sound);
  }
  assert_int_equal(bad, 0);
  assert_true(refused <= cases() / 8U);
}

/// Without a pause nothing shows which part is lit.
static void
says_if_no_pause_shows_what_is_lit(void** state) {
  (void)state;
  SignalRandom random = signal_random(26);
  Case         of = draw(&random);
  VwSound      sound = signal_silence(of.length_s, of.rate);
  VwLampGauged found = {0};
  of.length_s += 1.0;
  of.first_s = -1.0;
  of.on_s = 0.3 / of.rate_hz;
  record(&of, 0, &random, &sound);
  assert_int_equal(vw_lamp_gauge(&sound, &found), VW_OK);
  assert_false(found.shown);
  assert_true(fabs(found.on_ms - 1e3 * of.on_s) < 1.0);
  vw_sound_clear(&sound);
}

/// A timer that warms: what is even but slower and slower is no jitter.
static void
tells_a_rate_that_changes_from_jitter(void** state) {
  (void)state;
  SignalRandom random = signal_random(27);
  unsigned     bad = 0;
  for (unsigned i = 0; i < cases() / 5U; ++i) {
    Case         of = draw(&random);
    VwLampGauged found = {0};
    of.slows = (i % 2U ? -1.0 : 1.0) * between(&random, 0.008, 0.02);
    of.length_s = between(&random, 3.0, 5.0);
    of.rate_hz = fmin(of.rate_hz, 12.0);
    of.hum = 0.1;
    VwSound sound = signal_silence(of.length_s, of.rate);
    record(&of, 0, &random, &sound);
    const VwStatus st = vw_lamp_gauge(&sound, &found);
    const bool     good = !st && fabs(found.rate_change + of.slows) < 0.003 &&
                      found.jitter_ms < 0.3;
    if (!good) {
      print_error("%d %.2f Hz slows by %.4f: %.4f, jitter %.3f ms\n",
                  st,
                  of.rate_hz,
                  of.slows,
                  -found.rate_change,
                  found.jitter_ms);
    }
    bad += !good;
    vw_sound_clear(&sound);
  }
  assert_int_equal(bad, 0);
}

/// A sound of which each shot is the same to the frame: a thump or a hiss.
static void
fire_alike(const Case* of, unsigned channel, uint64_t seed, VwSound* sound) {
  SignalRandom random = signal_random(seed);
  const double decay_s = between(&random, 0.01, 0.1);
  const double pitch_hz = between(&random, 40.0, 300.0);
  const double hiss = signal_uniform(&random) < 0.5 ? 1.0 : 0.2;
  double       before_s = HUGE_VAL;
  for (size_t i = 0; i < sound->n_frames; ++i) {
    const double since_s = (double)i / of->rate - of->first_s;
    const double in_s = fmod(since_s, 1.0 / of->rate_hz);
    if (in_s < before_s) {
      random = signal_random(seed + 1U);
    }
    before_s = in_s;
    const double wave = hiss * signal_normal(&random) +
                        (1.0 - hiss) * cos(TURN * pitch_hz * in_s);
    const bool fires =
      since_s >= 0.0 && (double)i / of->rate < of->length_s - 0.2;
    sound->values[i * sound->n_channels + channel] =
      fires ? (float)(0.2 * exp(-in_s / decay_s) * wave) : 0.0F;
  }
}

/// An even sound is taken for the lamp only if that is named as in doubt.
static void
tells_the_light_from_an_even_sound(void** state) {
  (void)state;
  SignalRandom random = signal_random(28);
  unsigned     mistaken = 0;
  unsigned     unsaid = 0;
  for (unsigned i = 0; i < cases() / 2U; ++i) {
    const Case     of = draw(&random);
    const unsigned channel = i % 2U;
    VwSound        sound = {0};
    VwLampGauged   found = {0};
    assert_int_equal(
      vw_sound_init(&sound, (size_t)(of.length_s * of.rate), 2U, of.rate),
      VW_OK);
    record(&of, channel, &random, &sound);
    fire_alike(&of, !channel, 100U * i, &sound);
    const bool other =
      !vw_lamp_gauge(&sound, &found) && found.channel != channel;
    mistaken += other;
    unsaid += other && !found.may_be_sound;
    vw_sound_clear(&sound);
  }
  print_message("%u mistaken, %u of them unsaid\n", mistaken, unsaid);
  assert_true(mistaken <= cases() / 60U);
  assert_int_equal(unsaid, 0);
}

static void
reads_the_lag_of_the_sound(void** state) {
  (void)state;
  SignalRandom random = signal_random(21);
  unsigned     bad = 0;
  for (unsigned i = 0; i < cases() / 5U; ++i) {
    const Case     of = draw(&random);
    const unsigned channel = i % 2U;
    VwSound        sound = {0};
    VwLampGauged   found = {0};
    assert_int_equal(
      vw_sound_init(&sound, (size_t)(of.length_s * of.rate), 2U, of.rate),
      VW_OK);
    record(&of, channel, &random, &sound);
    fire(&of, !channel, &random, &sound);
    const VwStatus st = vw_lamp_gauge(&sound, &found);
    const bool good = !st && found.channel == channel && is_near(&of, &found) &&
                      place_error_ms(&of, &found) < 0.4 &&
                      fabs(found.sound_lag_ms - 1e3 * of.lag_s) < 0.4;
    if (!good) {
      print_error("%d %.2f Hz lag %.2f ms: %.2f\n",
                  st,
                  of.rate_hz,
                  1e3 * of.lag_s,
                  found.sound_lag_ms);
    }
    bad += !good;
    vw_sound_clear(&sound);
  }
  assert_int_equal(bad, 0);
}

/// Each picture has the light of a part of its time.
static void
reads_a_video(void** state) {
  (void)state;
  SignalRandom random = signal_random(22);
  unsigned     bad = 0;
  for (unsigned i = 0; i < cases(); ++i) {
    Case         of = draw(&random);
    const double pictures_per_s = 240.0;
    const size_t n = (size_t)(of.length_s * pictures_per_s);
    double*      brightness = malloc(n * sizeof(*brightness));
    VwLampGauged found = {0};
    of.on_s = fmin(of.on_s, 0.47 / of.rate_hz);
    for (size_t k = 0; k < n; ++k) {
      brightness[k] = 20.0 + signal_normal(&random);
      for (unsigned p = 0; p < 64U; ++p) {
        brightness[k] +=
          180.0 / 64.0 *
          lit_at(&of, ((double)k + 0.9 * (double)p / 64.0) / pictures_per_s);
      }
    }
    const VwStatus st =
      vw_lamp_gauge_video(brightness, n, pictures_per_s, &found);
    bad += st || !is_near(&of, &found);
    free(brightness);
  }
  assert_true(bad <= cases() / 100U);
}

static void
refuses_what_is_no_lamp(void** state) {
  (void)state;
  SignalRandom random = signal_random(23);
  VwSound      noise = signal_silence(4.0, 44100U);
  VwLampGauged found = {0};
  assert_int_equal(vw_lamp_gauge(&noise, &found), VW_SILENT);
  signal_add_noise(&noise, 0.1, &random);
  assert_int_equal(vw_lamp_gauge(&noise, &found), VW_NO_STEADY_RATE);
  noise.n_frames = 20000U;
  assert_int_equal(vw_lamp_gauge(&noise, &found), VW_TOO_SHORT);
  vw_sound_clear(&noise);
}

int
main(void) {
  static const struct CMUnitTest tests[] = {
    cmocka_unit_test(reads_rate_and_on_time_in_hum_and_daylight),
    cmocka_unit_test(reads_the_longest_of_several_bursts),
    cmocka_unit_test(reads_a_lamp_that_is_dimmed_by_switching),
    cmocka_unit_test(says_if_no_pause_shows_what_is_lit),
    cmocka_unit_test(tells_a_rate_that_changes_from_jitter),
    cmocka_unit_test(tells_the_light_from_an_even_sound),
    cmocka_unit_test(reads_the_lag_of_the_sound),
    cmocka_unit_test(reads_a_video),
    cmocka_unit_test(refuses_what_is_no_lamp),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
