/// @file
/// A board that plays a file in a room, and the phone that records it.
#ifndef TESTS_PHONE_H
#define TESTS_PHONE_H

#include "volleyweave/volleyweave.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/// What a board makes of two channels.
typedef enum { PHONE_SUM, PHONE_STEREO, PHONE_LEFT, PHONE_RIGHT } PhoneChannels;

/// How a recording is packed.
typedef enum { PHONE_PLAIN, PHONE_OGG, PHONE_MP3 } PhonePacking;

/// How its gain follows the level.
typedef enum { PHONE_STILL, PHONE_QUICK, PHONE_SLOW } PhoneGain;

/// As many times as a trigger is held and let go.
#define PHONE_TIMES 16

/// A board, a room and a phone. All zero but the file and the times: all of
/// them without a fault, and no noise.
typedef struct {
  const VwSound* file;
  double         times_s[PHONE_TIMES]; ///< Wait, hold, wait, hold ... and wait.
  size_t         n_times;

  /* The board */
  double        gap_ms;
  double        jitter_ms; ///< Deviation of each gap, of a normal distribution.
  double        delay_ms;  ///< From the press to the sound.
  double        press_ms;  ///< The shortest that sounds.
  bool          finishes;
  double        board_ppm; ///< Its clock is faster by this.
  PhoneChannels channels;

  /* The room */
  double click;    ///< Height of the switch's click beside the marks'.
  double noise_db; ///< Beside what sounds; 0: none.
  double echo;     ///< Height of the first echo; 0: no room at all.

  /* The phone */
  unsigned     rate_hz; ///< 0: 22050.
  double       phone_ppm;
  double       level; ///< Peak before the phone clips; 0: 0.5.
  PhoneGain    gain;
  bool         gates;  ///< It takes noise away between sounds.
  bool         narrow; ///< It has nothing above 3.4 kHz.
  PhonePacking packing;
  uint64_t     seed;
} Phone;

/// What was so.
typedef struct {
  VwSound recording;  ///< Free with vw_sound_clear().
  double  gap_ms;     ///< Mean of the gaps that were played, by the board.
  size_t  n_gaps;     ///< Behind repeats that another one follows.
  double  clock_ppm;  ///< How much faster the board is than the phone.
  size_t  n_sounding; ///< Presses that sounded.
} PhoneHeard;

/// Record it. Stops the test where that fails.
PhoneHeard phone_record(const Phone* phone);

/// Write a recording as a WAV file. Stops the test where that fails.
void phone_write(const char* path, const VwSound* recording);

#endif // TESTS_PHONE_H
