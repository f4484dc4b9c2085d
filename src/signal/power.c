#include "signal/power.h"

#include "base/units.h"
#include "signal/signal.h"

#include <math.h>

// Over so long the highest power is a mean.
#define WINDOW_S 0.010

/* The sound */

/// Power of all channels together, in silence behind a sound too.
static inline double
power_at(const VwSound* sound, size_t frame) {
  return frame < sound->n_frames
           ? (double)sound->n_channels * vw_sound_power_at(sound, frame)
           : 0.0;
}

VwDrive
vw_drive_of(const VwSound* sound, size_t n_silent, bool repeats) {
  const size_t window = vw_frames_of_s(WINDOW_S, sound->rate_hz);
  const size_t n = sound->n_frames + n_silent;
  // Of what is heard once, silence follows for a window.
  const size_t n_round = n + (repeats ? 0U : window);
  VwDrive      drive = {0};
  double       all = 0.0;
  double       in_window = 0.0;
  double       most = 0.0;
  if (!sound->n_frames) {
    return drive;
  }
  for (size_t i = 0; i < window; ++i) {
    in_window += power_at(sound, i % n_round);
  }
  size_t ahead = window % n_round;
  for (size_t i = 0; i < n_round; ++i) {
    const double power = power_at(sound, i);
    all += power;
    most = in_window > most ? in_window : most;
    in_window += power_at(sound, ahead) - power;
    ahead = ahead + 1U < n_round ? ahead + 1U : 0U;
  }
  const double peak = vw_peak_find(sound, vw_sound_peak(sound) / 2.0, NULL);
  drive.mean = all / (double)n;
  drive.most_10ms = most / (double)window;
  drive.peak = (double)sound->n_channels * peak * peak;
  return drive;
}

/* The supply */

VwPowerWish
vw_power_unknown(void) {
  return (VwPowerWish){NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN};
}

/// A figure, or 0 if it is not known.
static double
known(double figure) {
  return isnan(figure) ? 0.0 : figure;
}

/// What the amplifier and a lamp that is on for a share of the time take for a
/// power.
static double
current(const VwPowerWish* wish, double speaker_w, double lamp_share) {
  return speaker_w / (wish->efficiency * wish->supply_v) +
         known(wish->quiescent_a) + known(wish->lamp_a) * lamp_share;
}

/// What is left of the supply at a current.
static double
voltage(const VwPowerWish* wish, double supply_a) {
  const double ohm = wish->cell_ohm + known(wish->wire_ohm);
  const double left = wish->supply_v - supply_a * ohm;
  return left < 0.0 ? 0.0 : left; // NaN stays
}

VwPower
vw_power_of(const VwDrive* drive, const VwPowerWish* wish) {
  const double full_w = wish->supply_v * wish->supply_v / wish->impedance_ohm;
  const double duty = known(wish->lamp_duty);
  const double flash = duty > 0.0 ? 1.0 : 0.0;
  VwPower      of = {
         .speaker_w = {full_w * drive->mean,
                       full_w * drive->most_10ms,
                       full_w * drive->peak},
  };
  of.supply_a = (VwPowerCourse){current(wish, of.speaker_w.mean, duty),
                                current(wish, of.speaker_w.most_10ms, flash),
                                current(wish, of.speaker_w.peak, flash)};
  of.supply_v = (VwPowerCourse){voltage(wish, of.supply_a.mean),
                                voltage(wish, of.supply_a.most_10ms),
                                voltage(wish, of.supply_a.peak)};
  of.mean_a = wish->firing_share * (of.supply_a.mean - wish->quiescent_a) +
              wish->quiescent_a;
  of.cell_h = wish->cell_ah / of.mean_a;
  of.low = of.supply_v.peak < wish->supply_min_v;
  return of;
}
