// The circuit that is drawn behind a lamp track, simulated here: 1 uF and two
// Schottky diodes into 1 uF, 10 kohm across it, 4.7 kohm to a base.

#include "lamp/lamp.h"
#include "support/check.h"
#include "support/made.h"
#include "support/signals.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

// A small Schottky diode: 0.25 V at 1 mA; a base-emitter junction that
// conducts: 0.65 V (common practice). The output that drives it has 100 ohm.
#define NVT (1.05 * 0.02569)
#define OHM_OUTPUT 100.0
#define OHM_ACROSS 10e3
#define OHM_BASE 4.7e3
#define BASE_V 0.65
#define FARAD 1e-6

// What lights 20 mA with a gain of 100 (closed form).
#define LIT_A 0.0002

// Steps from frame to frame.
enum { STEPS = 8, CYCLES = 4 };

/// Voltages of the circuit, and what its lamp has done.
typedef struct {
  double in_v;  // Across the first capacitor.
  double out_v; // Across the second.
  bool   lit;
  size_t n_flashes;
  size_t n_lit; // Steps.
} Detector;

static double
diode_a(double volts) {
  const double is = 1e-3 / (exp(0.25 / NVT) - 1.0);
  return is * (exp(fmin(volts / NVT, 60.0)) - 1.0);
}

// The voltage between the diodes at which as much flows in as out.
static double
between_v(const Detector* detector, double source_v) {
  double low = -1.0;
  double high = 20.0;
  for (int i = 0; i < 32; ++i) {
    const double at = 0.5 * (low + high);
    const double in_a = (source_v - detector->in_v - at) / OHM_OUTPUT;
    const double out_a = diode_a(at - detector->out_v) - diode_a(-at);
    low = in_a > out_a ? at : low;
    high = in_a > out_a ? high : at;
  }
  return low;
}

static void
step(Detector* detector, double source_v, double dt) {
  const double at = between_v(detector, source_v);
  const double in_a = (source_v - detector->in_v - at) / OHM_OUTPUT;
  const double base_a = fmax(detector->out_v - BASE_V, 0.0) / OHM_BASE;
  const double out_a =
    diode_a(at - detector->out_v) - detector->out_v / OHM_ACROSS - base_a;
  detector->in_v += dt * in_a / FARAD;
  detector->out_v += dt * out_a / FARAD;
  // A transistor that is half on neither begins nor ends a flash.
  const bool lit = base_a >= LIT_A || (detector->lit && base_a > LIT_A / 2.0);
  detector->n_flashes += lit && !detector->lit ? 1U : 0U;
  detector->lit = lit;
  detector->n_lit += base_a >= LIT_A ? 1U : 0U;
}

// The second channel, played so often, with so many volts from peak to peak of
// its tone.
static Detector
play(const VwSound* loop, double level_dbfs, double swing_v) {
  const double volts = 0.5 * swing_v / pow(10.0, level_dbfs / 20.0);
  const double dt = 1.0 / ((double)loop->rate_hz * STEPS);
  Detector     detector = {0.0, 0.0, false, 0, 0};
  for (size_t i = 0; i < CYCLES * loop->n_frames; ++i) {
    const size_t at = i % loop->n_frames;
    const size_t next = (at + 1U) % loop->n_frames;
    const double a = (double)loop->values[2U * at + 1U];
    const double b = (double)loop->values[2U * next + 1U];
    for (size_t k = 0; k < STEPS; ++k) {
      step(&detector, volts * (a + (b - a) * (double)k / STEPS), dt);
    }
  }
  return detector;
}

typedef struct {
  unsigned rate_hz;
  double   fire_rate_per_s;
  double   on_ms; // 0: by the sound.
  double   level_dbfs;
} Case;

static const Case cases[] = {
  {44100, 9.0, 0.0, -6.0},
  {44100, 14.0, 0.0, 0.0},
  {44100, 9.0, 25.0, -12.0},
  {48000, 4.0, 120.0, -6.0},
};

static bool
make(const Case* wanted, Made* made) {
  const SignalBurst burst = {
    .start_s = 0.1, .rise_s = 0.001, .decay_s = 0.5, .level = 0.4};
  VwSound         take = signal_take(0.8, wanted->rate_hz, &burst, 3);
  VwFamilyOptions options = made_options();
  options.format.rate_hz = wanted->rate_hz;
  options.format.n_channels = 2;
  options.fire_rate_per_s = wanted->fire_rate_per_s;
  options.lamp_on_ms = wanted->on_ms;
  options.lamp_track.wanted = true;
  options.lamp_track.level_dbfs = wanted->level_dbfs;
  const bool ok = made_new(&take, &options, made);
  vw_sound_clear(&take);
  return ok;
}

// With the swing that is asked for, and more, it flashes once per shot, as long
// as the lamp is to be on.
static bool
check_flashes(const Case* wanted, const Made* made, double swing_v) {
  const VwSound* const loop = &made_piece(&made->family, VW_PART_LOOP)->sound;
  const Detector       got = play(loop, wanted->level_dbfs, swing_v);
  const double         n = (double)made->family.plan.shots * CYCLES;
  const double         on_ms =
    1000.0 * (double)got.n_lit / n / ((double)loop->rate_hz * STEPS);
  bool ok = check_equal((double)got.n_flashes,
                        n,
                        "%g/s, %g V: flashes",
                        wanted->fire_rate_per_s,
                        swing_v);
  return ok & check_at_most(fabs(on_ms - made->family.lamp.on_ms),
                            4.0,
                            "%g/s, %g V: on for %g ms, off by",
                            wanted->fire_rate_per_s,
                            swing_v,
                            on_ms);
}

static void
test_flashes(void** state) {
  (void)state;
  static const double swings_v[] = {3.0, 4.0, 6.0};
  bool                ok = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    Made       made;
    const bool there = make(&cases[i], &made);
    ok &= there;
    for (size_t k = 0; there && k < COUNT(swings_v); ++k) {
      ok &= check_flashes(&cases[i], &made, swings_v[k]);
    }
    if (there) {
      made_clear(&made);
    }
  }
  assert_true(ok);
}

// It says no more than is needed.
static void
test_too_little(void** state) {
  (void)state;
  Made made;
  assert_true(make(&cases[0], &made));
  const VwSound* const loop = &made_piece(&made.family, VW_PART_LOOP)->sound;
  assert_int_equal(play(loop, cases[0].level_dbfs, 2.3).n_flashes, 0);
  made_clear(&made);
}

// What is found of a track in a written loop.
static void
test_found(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    Made made;
    if (!make(&cases[i], &made)) {
      ok = false;
      continue;
    }
    VwLampTrack        found = {0};
    const VwLampTrack* track = &made.family.lamp_track;
    VwSound            loop = made_written(&made.family, VW_PART_LOOP, 1);
    ok &= check_that(vw_lamp_track_find(&loop, &found), "case %zu: found", i);
    ok &= check_equal(found.pulses, track->pulses, "case %zu: pulses", i);
    ok &= check_at_most(
      fabs(found.on_ms - track->on_ms), 0.2, "case %zu: on-time, off", i);
    ok &= check_at_most(fabs(found.tone_hz / track->tone_hz - 1.0),
                        0.002,
                        "case %zu: tone, off",
                        i);
    ok &= check_at_most(fabs(found.level_dbfs - track->level_dbfs),
                        0.3,
                        "case %zu: level, off",
                        i);
    vw_sound_clear(&loop);
    made_clear(&made);
  }
  assert_true(ok);
  VwSound     silence = signal_silence(0.1, 44100);
  VwLampTrack none = {0};
  assert_false(vw_lamp_track_find(&silence, &none));
  assert_int_equal(none.pulses, 0);
  vw_sound_clear(&silence);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_flashes),
    cmocka_unit_test(test_too_little),
    cmocka_unit_test(test_found),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
