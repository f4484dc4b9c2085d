/// @file
/// What values may be: the options of the program and the checks of the library
/// take them from here.
#ifndef VW_RANGES_H
#define VW_RANGES_H

#include <stdbool.h>

/// From the least to the most, both included.
typedef struct {
  double least;
  double most;
} VwRange;

// Initializers of a VwRange; units are in the names. One a line.
// clang-format off
#define VW_RANGE_SAMPLE_RATE_HZ {4000.0, 384000.0}
#define VW_RANGE_TAKE_CHANNELS {1.0, 8.0}
#define VW_RANGE_CHANNELS {1.0, 2.0} // of what is made
#define VW_RANGE_FIRE_RATE_PER_S {0.5, 40.0}
#define VW_RANGE_BURST_SHOTS {1.0, 1000.0}
#define VW_CYCLE_SHOTS_MOST 64U
#define VW_RANGE_CYCLE_SHOTS {1.0, VW_CYCLE_SHOTS_MOST}
#define VW_RANGE_CYCLE_S {0.05, 60.0}
#define VW_RANGE_OVERRUN_S {0.05, 60.0}
#define VW_RANGE_RUN_IN_S {0.05, 60.0}
#define VW_RANGE_VALLEY_DB {3.0, 40.0}
#define VW_RANGE_KICK_DB {0.0, 24.0} // 0: none
#define VW_RANGE_DETUNE_CENTS {0.0, 100.0}
#define VW_RANGE_LEVEL_SPREAD_DB {0.0, 6.0}
#define VW_RANGE_LOUDNESS_LUFS {-60.0, 0.0}
#define VW_RANGE_VARIANTS {2.0, 12.0} // 0: none
#define VW_RANGE_GAIN_DB {-60.0, 60.0}
#define VW_RANGE_CEILING_DBTP {-20.0, 0.0}
#define VW_RANGE_LIMITING_DB {0.0, 12.0}
#define VW_RANGE_SPEAKER_HZ {50.0, 2000.0}
#define VW_RANGE_CUT_HZ {50.0, 16000.0}
#define VW_RANGE_CUT_DB {-9.0, 0.0} // common practice
#define VW_RANGE_CUT_Q {0.2, 30.0}
#define VW_RANGE_FADE_MS {0.0, 100.0}
#define VW_RANGE_GAP_MS {0.0, 1000.0}

// A gap up to this part of the period is hidden in the last decay of a loop made
// for it: the crest lies in the first 0.4, and what lies between still tells the
// two apart (chosen here). There is room for its rounding where one is found.
#define VW_GAP_HIDDEN 0.4
#define VW_GAP_FOUND_MOST 0.42

#define VW_RANGE_WAIT_MS {0.0, 5000.0} // delay and shortest press of a board
#define VW_RANGE_BUFFER_FRAMES {1.0, 65536.0}
#define VW_RANGE_LAMP_ON_MS {5.0, 500.0}
#define VW_RANGE_TRACK_HZ {2000.0, 4000.0}
#define VW_RANGE_TRACK_DBFS {-20.0, 0.0}
#define VW_RANGE_DIODE_DROP_V {0.05, 2.0}
#define VW_RANGE_CAPACITOR_TOLERANCE {0.01, 0.3} // a share
#define VW_RANGE_CLOCK_HZ {1e3, 1e9}
#define VW_RANGE_TIMER_BITS {8.0, 32.0}
#define VW_RANGE_PRESCALER {1.0, 65536.0}
#define VW_RANGE_POWER_V {1.0, 60.0}
#define VW_RANGE_IMPEDANCE_OHM {1.0, 100.0}
#define VW_RANGE_EFFICIENCY {0.1, 1.0} // a share
#define VW_RANGE_QUIESCENT_A {0.0, 5.0}
#define VW_RANGE_LAMP_A {0.0, 20.0}
#define VW_RANGE_CELL_AH {0.01, 1000.0}
#define VW_RANGE_CELL_OHM {0.0, 10.0} // of its wires, too
#define VW_RANGE_FIRING_SHARE {0.0, 1.0}
#define VW_RANGE_SUPPLY_MIN_V {0.5, 60.0}
// clang-format on

// What is taken where nothing is asked; a speaker of 40 mm is the most usual,
// its corner common practice. A board that finishes its file may go on so long
// after the release: the shortest of what is usual, 0.4 to 1 s, would leave no
// room for several shots (common practice).
#define VW_SAMPLE_RATE_USUAL_HZ 44100U
#define VW_OVERRUN_USUAL_S 1.0
#define VW_SPEAKER_USUAL_HZ 375.0

// A surface transducer shakes the body of the prop, and its lows are felt where
// they are no longer heard: an octave below the resonance on its panel is left
// (chosen here), of one that was not gauged below the lowest of what is usual,
// 150 to 500 Hz (common practice).
#define VW_TRANSDUCER_OCTAVES 1.0
#define VW_TRANSDUCER_USUAL_HZ 75.0

// An attack that takes a greater part of the period makes a burst swell like a
// tremolo, whose level rises for half of it (chosen here, see DEVELOPERS.md).
#define VW_ATTACK_SHARE_MOST 0.4

// How far variants of a shot lie from it, each way: detuning is common
// practice, all else is chosen here, so that neighbours are unlike, yet within
// 35 cents and 1.5 dB of each other once their tails are tightened (measured).
#define VW_VARIANT_TAIL 0.15   // a share
#define VW_VARIANT_TILT_DB 1.5 // an octave
#define VW_VARIANT_DETUNE_CENTS 15.0
#define VW_VARIANT_LEVEL_DB 0.3
#define VW_VARIANT_TIMING_MS 2.0

// The ends of a whole take are faded over 3 ms: 1 to 5 ms take a click away
// and no attack (common practice).
#define VW_FADE_USUAL_MS 3.0

/// Whether a value lies in a range; not where it is NaN.
static inline bool
vw_is_within(double value, VwRange range) {
  return value >= range.least && value <= range.most;
}

/// The same where 0 stands for a value that is not given.
static inline bool
vw_is_zero_or_within(double value, VwRange range) {
  return value == 0.0 || vw_is_within(value, range);
}

#endif
