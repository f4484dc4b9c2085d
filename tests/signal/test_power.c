// What sounds take from an amplifier and a cell, beside closed forms.

#include "signal/power.h"

#include "support/check.h"
#include "support/signals.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>

#define RATE_HZ 44100U
#define NEAR 0.01 // a share

/// A tone of 1 kHz that is on for `on_s` of every `period_s`, for a second.
static VwSound
bursts(double level, double on_s, double period_s) {
  VwSound sound = signal_silence(1.0, RATE_HZ);
  signal_add_tone(&sound, 1000.0, level, 0.0);
  for (size_t i = 0; i < sound.n_frames; ++i) {
    if (fmod((double)i / RATE_HZ, period_s) >= on_s) {
      sound.values[i] = 0.0F;
    }
  }
  return sound;
}

static bool
near(const char* what, double found, double wanted) {
  return check_at_most(
    fabs(found - wanted), NEAR * fabs(wanted), "%s, of %g", what, wanted);
}

/// A tone's power is half that of its peak, and a burst's by its duty cycle.
static void
finds_what_goes_into_the_speaker(void** state) {
  (void)state;
  static const struct {
    double level;
    double on_s;
    double period_s;
  } cases[] = {{1.0, 1.0, 1.0},
               {0.5, 1.0, 1.0},
               {1.0, 0.05, 0.1},
               {0.7, 0.025, 0.1},
               {0.1, 0.02, 0.2}};
  bool good = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    const double level = cases[i].level;
    const double duty = cases[i].on_s / cases[i].period_s;
    VwPowerWish  wish = vw_power_unknown();
    VwSound      sound = bursts(level, cases[i].on_s, cases[i].period_s);
    wish.supply_v = 5.0;
    wish.impedance_ohm = 8.0;
    const VwDrive drive = vw_drive_of(&sound, 0U, true);
    const VwPower of = vw_power_of(&drive, &wish);
    const double  peak_w = 25.0 * level * level / 8.0;
    good = near("peak", of.speaker_w.peak, peak_w) && good;
    good = near("10 ms", of.speaker_w.most_10ms, peak_w / 2.0) && good;
    good = near("mean", of.speaker_w.mean, duty * peak_w / 2.0) && good;
    // Nothing else is known.
    good = good && isnan(of.supply_a.mean) && isnan(of.supply_v.peak) &&
           isnan(of.cell_h) && !of.low;
    vw_sound_clear(&sound);
  }
  assert_true(good);
}

/// Of what is repeated, windows run on over the end; a gap counts as silence,
/// and channels add up.
static void
knows_how_it_is_played(void** state) {
  (void)state;
  VwSound sound = signal_silence(0.1, RATE_HZ);
  for (size_t i = 0; i < sound.n_frames; ++i) {
    const double at_s = (double)i / RATE_HZ;
    sound.values[i] = at_s < 0.005 || at_s >= 0.095 ? 0.5F : 0.0F;
  }
  bool good =
    near("again", vw_drive_of(&sound, 0U, true).most_10ms, 0.25) &&
    near("once", vw_drive_of(&sound, 0U, false).most_10ms, 0.125) &&
    near("gap", vw_drive_of(&sound, RATE_HZ / 200U, true).most_10ms, 0.125) &&
    near("mean", vw_drive_of(&sound, 0U, true).mean, 0.025) &&
    near("mean, gap", vw_drive_of(&sound, RATE_HZ / 10U, true).mean, 0.0125);
  sound.n_channels = 2U;
  sound.n_frames /= 2U;
  good = near("two", vw_drive_of(&sound, 0U, true).mean, 0.05) && good;
  sound.n_channels = 1U;
  vw_sound_clear(&sound);
  const VwDrive none = vw_drive_of(&sound, 0U, true);
  assert_true(good && none.mean == 0.0 && none.peak == 0.0);
}

static void
finds_what_the_supply_gives(void** state) {
  (void)state;
  const VwDrive     drive = {0.02, 0.2, 0.8};
  const VwPowerWish wish = {.supply_v = 4.0,
                            .impedance_ohm = 4.0,
                            .efficiency = 0.8,
                            .quiescent_a = 0.05,
                            .lamp_a = 0.1,
                            .lamp_duty = 0.4,
                            .cell_ah = 1.0,
                            .cell_ohm = 0.2,
                            .wire_ohm = 0.1,
                            .firing_share = 0.25,
                            .supply_min_v = 3.6};
  VwPower           of = vw_power_of(&drive, &wish);
  // Into 4 ohm 4 V are 4 W at full scale, for which 1.25 A come from 4 V.
  bool good = near("mean", of.supply_a.mean, 0.025 + 0.05 + 0.04) &&
              near("10 ms", of.supply_a.most_10ms, 0.25 + 0.05 + 0.1) &&
              near("peak", of.supply_a.peak, 1.0 + 0.05 + 0.1) &&
              near("left", of.supply_v.peak, 4.0 - 0.3 * 1.15) &&
              near("left of 10 ms", of.supply_v.most_10ms, 4.0 - 0.3 * 0.4) &&
              near("pauses", of.mean_a, 0.25 * 0.065 + 0.05) &&
              near("hours", of.cell_h, 1.0 / 0.06625) && !of.low;
  VwPowerWish less = wish;
  less.supply_min_v = 3.7;
  good = vw_power_of(&drive, &less).low && good;
  less.cell_ohm = 10.0;
  good = vw_power_of(&drive, &less).supply_v.peak == 0.0 && good;
  // Without what the amplifier takes in silence there are no hours, without
  // the wires the cell alone counts.
  less = wish;
  less.quiescent_a = NAN;
  less.wire_ohm = NAN;
  of = vw_power_of(&drive, &less);
  good = near("no quiescent", of.supply_a.peak, 1.1) && isnan(of.cell_h) &&
         near("no wires", of.supply_v.peak, 4.0 - 0.2 * 1.1) && good;
  assert_true(good);
}

int
main(void) {
  static const struct CMUnitTest tests[] = {
    cmocka_unit_test(finds_what_goes_into_the_speaker),
    cmocka_unit_test(knows_how_it_is_played),
    cmocka_unit_test(finds_what_the_supply_gives),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
