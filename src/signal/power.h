/// @file
/// What a sound takes from an amplifier, and that from its supply.
///
/// Every figure is of the plain circuit: a sound that repeats, an amplifier of
/// class D in a bridge, a cell and its wires as one resistance, without a
/// capacitor beside them.
#ifndef VW_POWER_H
#define VW_POWER_H

#include "volleyweave/volleyweave.h"

/**
 * How hard a sound drives an amplifier.
 *
 * @param n_silent Frames of silence that follow it.
 * @param repeats It is heard again and again, and windows run on over its end;
 * else it is heard once.
 * @return All zero of digital silence, and of a sound without frames.
 */
VwDrive vw_drive_of(const VwSound* sound, size_t n_silent, bool repeats);

/// What is known of amplifier, speaker, lamp and cell; NaN: it is not.
typedef struct {
  double supply_v;      ///< Of the amplifier and the cell without load, 1 to
                        ///< 60.
  double impedance_ohm; ///< Of a speaker, 1 to 100.
  double efficiency;    ///< Of the amplifier, a share of 0.1 to 1.
  double quiescent_a;   ///< What amplifier and board take in silence, 0 to 5.
  double lamp_a;        ///< What the lamp takes while it is on, 0 to 20.
  double lamp_duty;     ///< For what share of the firing that is, 0 to 1.
  double cell_ah;       ///< Charge of the cell, 0.01 to 1000.
  double cell_ohm;      ///< Its inner resistance, 0 to 10.
  double wire_ohm;      ///< Of the wires, there and back, 0 to 10.
  double firing_share;  ///< For what share of the time it fires, 0 to 1.
  double supply_min_v;  ///< Lowest voltage at which the board runs, 0.5 to 60.
} VwPowerWish;

/// Nothing is known.
VwPowerWish vw_power_unknown(void);

/// The same figure on average, and at its highest.
typedef struct {
  double mean;      ///< Over all of the sound.
  double most_10ms; ///< Over the 10 ms in which it is highest.
  double peak;      ///< At the highest peak.
} VwPowerCourse;

/// What a sound takes; NaN: what is known does not say.
typedef struct {
  VwPowerCourse speaker_w; ///< Into the speakers, one a channel.
  VwPowerCourse supply_a;  ///< From the supply while it fires; if a lamp is
                           ///< known, on for its duty cycle, and on at the
                           ///< peaks.
  VwPowerCourse supply_v;  ///< What the cell and its wires leave of the supply.
  double        mean_a;    ///< From the supply, with the pauses between firing.
  double        cell_h;    ///< For so long a full cell lasts, hours.
  bool          low;       ///< The peaks pull it below `supply_min_v`.
} VwPower;

/**
 * Find what a sound takes.
 *
 * - A class-D amplifier in a bridge gives the supply as its highest voltage
 *   (common practice), so full scale is taken as that: P = V^2 / R.
 * - I = P / (efficiency V) + I_quiescent + I_lamp (energy balance: closed
 *   form). What is not known of the last two is left out, but of the hours.
 * - V = E - I (R_cell + R_wire) (Ohm's law: closed form), at least 0. Wires
 *   that are not known are left out. The current is that at the full supply.
 * - hours = charge / (share (I - I_quiescent) + I_quiescent) (closed form). A
 *   real cell gives less the higher the current and the colder it is.
 */
VwPower vw_power_of(const VwDrive* drive, const VwPowerWish* wish);

#endif
