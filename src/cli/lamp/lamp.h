/// @file
/// The lamp that goes with a fire rate, a sound or a prop: found and reported.
#ifndef VW_CLI_LAMP_H
#define VW_CLI_LAMP_H

#include "board/board.h"
#include "cli/message/figures.h"
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

/// The resistor of the LEDs, and what switches them.
typedef struct {
  VwLedWish wish;
  VwStatus  status; ///< Why there is none.
  VwLed     led;
} LampLed;

/// The timer.
typedef struct {
  VwTimerWish wish;
  VwStatus    status; ///< Why there are no parts.
  VwTimer     timer;
  LampLed     led; ///< At its output.
} LampTimer;

/// Everything that a report on a lamp tells.
typedef struct {
  const Settings* settings;
  const char*     subject; ///< Fire rate, file or prop, as given.
  LampSource      source;
  VwRateFound     found;     ///< Of a sound.
  VwRateFound     heard;     ///< The same, as a recording; else all zero.
  LampKnown       known;     ///< Of a loop: how its number of shots is.
  bool            gap_known; ///< Its gap is, and not told by the shots.
  bool            marked;    ///< Of the loop that its file marks.
  VwPlan          plan;      ///< Of a fire rate on a board; else all zero.
  VwLamp          lamp;
  VwBeat          beat; ///< Uneven where a gap is heard.
  VwOnTime        on_time;
  LampTimer       timer;
  VwStatus        no_diode;   ///< Why it has none, which is not asked for.
  bool            has_counts; ///< A clock was given.
  VwStatus        counts_status;
  VwCounts        counts;
  unsigned char   steps[1024]; ///< `n_steps` of them.
  size_t          n_steps;
  VwLampTrack     track; ///< Beside the sound; all zero: none.
  const char*     sound; ///< Its name in a prop, or NULL; then also these:
  unsigned        slot;  ///< 0: none.
  VwMake          make;
  VwStatus        status; ///< Why there is no lamp.
} LampReport;

/* To find it */

/**
 * Find out what the lamp goes with.
 *
 * @param report Its settings and subject are read; source, rate, lamp, on-time
 * and, of a sound, brightness are filled in.
 * @return #EXIT_DONE, or #EXIT_USAGE or #EXIT_FILE, and said.
 */
int lamp_source_find(LampReport* report);

/// Find the parts and counts of a lamp. False, and said, if no timer can be
/// built.
bool lamp_find(LampReport* report);

/// Whether a lamp flashes again and again, not once or never.
bool lamp_flashes(const LampReport* report);

/// What there is to caution of, see caution.h.
unsigned lamp_cautions(const LampReport* report);

/* To tell of it */

/// A resistance as people write it: "47 kohm".
const char* lamp_ohm(char text[40], double ohm);

/// A value to so many digits.
double lamp_rounded(double value, int digits);

/// Of one LED's resistor, and what switches it: as JSON has it.
Figures* lamp_led_figures(const LampLed* of);

/// The same, and what words need beside.
Figures* lamp_led_told(const LampLed* of, bool verbose);

/// Whether the LED could go from the supply to the output, without a
/// transistor.
bool lamp_led_can_hang(const LampLed* of);

/// All that JSON tells.
Figures* lamp_figures(const LampReport* report);

/// The same, and what words, header and drawing need beside.
Figures* lamp_told(const LampReport* report);

/// What is said of flashes that are uneven, in such figures.
#define LAMP_UNEVEN                                                            \
  "{lamp.uneven.shots} flashes {lamp.uneven.interval_ms:.1f} ms apart, then "  \
  "{lamp.uneven.last_interval_ms:.1f} ms to the next, as the gap is heard: "   \
  "only a microcontroller or the lamp track follow; a timer chip is up to "    \
  "{lamp.uneven.timer_off_ms:.0f} ms off"

/// Print it for a person.
void lamp_text(const LampReport* report, FILE* out);

/// Print the resistor of the LEDs, told of a timer as "led".
void lamp_led_text(const Figures* led, FILE* out);

/// Print how late a board is, and which lamp can be as late.
void lamp_hold_back_text(const VwBoard* board, bool track, FILE* out);

/// The picture of the circuit, by the name's ending.
VwStatus lamp_plot(const LampReport* report, const char* path, VwBytes* bytes);

/// Write the C header and the picture that are asked for. False, and said,
/// if that failed.
bool lamp_write(const LampReport* report);

/* Of a prop */

/// Whether a word names a prop: a sound list or a folder.
bool lamp_prop_is(const char* word);

/// Report on a prop. Returns the exit status.
int lamp_prop(const CommandName* command, const Settings* settings);

#endif
