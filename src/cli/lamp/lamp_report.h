/// @file
/// What is reported of a lamp.
#ifndef VW_CLI_LAMP_REPORT_H
#define VW_CLI_LAMP_REPORT_H

#include "board/board.h"
#include "cli/options/settings.h"
#include "lamp/lamp.h"
#include "pack/pack.h"

#include <stdio.h>

/// From where the fire rate is known.
typedef enum {
  LAMP_FROM_RATE,
  LAMP_FROM_LOOP,
  LAMP_FROM_RECORDING,
  LAMP_FROM_PROP ///< Of a sound as it is packed.
} LampSource;

/// How the number of shots in a loop is known.
typedef enum {
  LAMP_COUNTED, ///< In the sound.
  LAMP_AS_MADE, ///< By the list beside a file that was made here.
  LAMP_AS_SAID  ///< By --shots.
} LampKnown;

/// The resistor of the LEDs that a timer's output drives.
typedef struct {
  VwLedWish wish;
  VwStatus  status; ///< Why there is none.
  VwLed     led;
} LampLed;

/// One wiring of the timer.
typedef struct {
  VwTimerWish wish;
  VwStatus    status; ///< Why there are no parts.
  VwTimer     timer;
  LampLed     led; ///< By the drop of this wiring's output.
} LampTimer;

/// A way to flash, and how long it holds.
typedef struct {
  const char* way;     ///< For a person.
  const char* key;     ///< For a program.
  double      error;   ///< Of its rate, relative to the sound's.
  double      seconds; ///< Until 45 ms apart; NaN: never.
} LampDrift;

#define LAMP_DRIFTS 5

/// Everything that a report on a lamp tells.
typedef struct {
  const Settings* settings;
  const char*     subject; ///< Fire rate or file, as given.
  LampSource      source;
  VwRateFound     found;     ///< Of a sound.
  LampKnown       known;     ///< Of a loop: how its number of shots is.
  bool            gap_known; ///< Its gap is, and not told by the shots.
  bool            marked;    ///< Of the loop that its file marks.
  VwPlan          plan;      ///< Of a fire rate on a board; else all zero.
  VwLamp          lamp;
  VwOnTime        on_time;
  LampTimer       timer;
  VwStatus        no_diode;   ///< Why it has none, which is not asked for.
  bool            has_counts; ///< A clock was given.
  VwStatus        counts_status;
  VwCounts        counts;
  LampDrift       drifts[LAMP_DRIFTS];
  unsigned char   steps[1024]; ///< `n_steps` of them.
  size_t          n_steps;
  VwLampTrack     track; ///< Beside the sound; all zero: none.
  const char*     sound; ///< Its name in a prop, or NULL; then also these:
  unsigned        slot;  ///< 0: none.
  VwMake          make;
  VwStatus        status; ///< Why there is no lamp.
} LampReport;

/// Whether a lamp flashes again and again, not once or never.
bool lamp_flashes(const LampReport* report);

/// Find the parts, counts and drifts of a lamp. False, and said, where no timer
/// can be built.
bool lamp_find(LampReport* report);

/// The most flashes a second of the sound, or of a timer for it as built,
/// before its trimmer is set.
double lamp_most_hz(const LampReport* report);

/// What there is to caution of, see caution.h.
unsigned lamp_cautions(const LampReport* report);

/// The texts, NULL past the last one. Static.
const char* lamp_caution(const LampReport* report, size_t index);

/// A resistance or a capacitance as people write it: "47 kohm", "4.7 uF".
const char* lamp_ohm(char text[40], double ohm);
const char* lamp_farad(char text[40], double farad);

/// Print it for a person.
void lamp_text(const LampReport* report, FILE* out);

/// Print the timer: parts, joints, how to set it.
void lamp_timer_text(const LampReport* report, FILE* out);

/// Print the resistor of the LEDs that a timer drives.
void lamp_led_text(const LampTimer* of, FILE* out);

/// Print how late a board is, and which lamp can be as late.
void lamp_hold_back_text(const VwBoard* board, FILE* out);

/// Print what switches the lamp by the track beside its loop.
void lamp_track_text(const LampReport* report, FILE* out);

/// The LEDs' resistor where the track's transistor switches them.
VwStatus lamp_track_led(const LampReport* report, VwLed* led);

/// What that transistor has to gain.
double lamp_track_gain(const LampReport* report);

/// Print one line of JSON. False without memory.
bool lamp_json(const LampReport* report, FILE* out);

/// The C header. To be freed; NULL without memory.
char* lamp_header(const LampReport* report);

/// The notes beside the picture of a circuit, cautions last. To be freed; NULL
/// without memory.
size_t lamp_n_notes(const LampReport* report);
char*  lamp_note(const LampReport* report, size_t index);

/// The picture of the circuit, by the name's ending.
VwStatus lamp_plot(const LampReport* report, const char* path, VwBytes* bytes);

#endif
