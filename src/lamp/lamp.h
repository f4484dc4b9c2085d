#ifndef VW_LAMP_H
#define VW_LAMP_H

#include "take/events.h"

#include "volleyweave/volleyweave.h"

/**
 * Look for a lamp track in a sound's second channel.
 *
 * @param track Filled in where there is one, measured: its tone, its level, how
 * many pulses there are, and their mean length.
 * @return False where there is none.
 */
bool vw_lamp_track_find(const VwSound* sound, VwLampTrack* track);

/// Find the events of a loop as it repeats. As vw_events_find().
VwStatus vw_loop_events(const VwSound* loop, VwEvents* events);

/**
 * Whether a loop surely holds no shots: its level changes little, and as it
 * repeats it is one sound that goes on.
 *
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_loop_sounds_on(const VwSound* loop, bool* sounds_on);

/**
 * The on-time of a lamp that flashes with a loop: while the shot is within
 * 12 dB of its crest, 20 to 50 ms (common practice), at most half the time from
 * shot to shot within the loop. A family has the same, of the loop it writes.
 *
 * @param loop One or more whole cycles, played without end.
 * @param shots How many shots it holds.
 * @param gap_ms The board's gap between repeats.
 * @param on_time Filled in on success.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_SILENT.
 */
VwStatus vw_on_time_of_loop(const VwSound* loop,
                            size_t         shots,
                            double         gap_ms,
                            VwOnTime*      on_time);

/// The lamp of so many flashes per second that is on for `on_ms`.
VwLamp vw_lamp_with(double fire_rate_per_s, double on_ms);

/// Neither the number of shots nor the gap.
VwLoopKnown vw_loop_unknown(void);

/**
 * The fire rate of a loop: how many shots lie in it, the first at its start,
 * evenly spread over the file or over the file and the board's gap. With
 * their number the rate is exact.
 *
 * See vw_loop_count(). If no number is known, what sounds on has none, nor has
 * one shot that its events call something else.
 *
 * @param loop One whole cycle, as written.
 * @param found Filled in on success.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_NO_STEADY_RATE.
 */
VwStatus vw_rate_of_loop(const VwSound*     loop,
                         const VwLoopKnown* known,
                         VwRateFound*       found);

/// Find the events of a sound, of a lamp track's only the other channel, as
/// those of a take: without its offset. As vw_events_find().
VwStatus vw_events_heard(const VwSound* sound, VwEvents* events);

/**
 * The fire rate of a recording of rapid fire: that of the line through the
 * starts of its shots, as vw_events_find() finds them.
 *
 * @param options What is said of its kind overrules what is heard.
 * @param found Filled in on success; with no steady rate its kind and number of
 * events are, if there are events.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_NO_STEADY_RATE.
 */
VwStatus vw_rate_of_recording(const VwSound*       recording,
                              const VwFindOptions* options,
                              VwRateFound*         found);

/// The same of the events of a sound: what the line through its shots tells.
VwStatus vw_rate_of_events(const VwSound*  sound,
                           const VwEvents* events,
                           VwRateFound*    found);

/**
 * Whether the second of two channels is a lamp track: tones of one frequency
 * and one level with silence between, and nothing else.
 *
 * Nothing in a file says so. Of a sound that is taken for one, a steady whistle
 * beside something else, only the first channel is then heard and judged.
 */
bool vw_has_lamp_track(const VwSound* sound);

/**
 * How bright a lamp is, step after step of the period, to follow the loudness
 * of a loop's shots (their mean).
 *
 * Loudness doubles every 10 dB (S. S. Stevens, "The measurement of loudness",
 * J. Acoust. Soc. Am. 27, 1955); the value is that loudness relative to the
 * crest, to the power of `gamma`, times 255.
 *
 * @param gamma Of the eye: 2.2 is common practice.
 * @param steps Set to `n_steps` (2 to 1024) values, 0 to 255.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_SILENT.
 */
VwStatus vw_brightness_of_loop(const VwSound* loop,
                               size_t         shots,
                               double         gamma,
                               size_t         n_steps,
                               unsigned char* steps);

/// The same for no sound in particular: a level that falls by 12 dB in the
/// on-time, evenly in dB.
void vw_brightness_of_decay(const VwLamp*  lamp,
                            double         gamma,
                            size_t         n_steps,
                            unsigned char* steps);

/// Series of preferred values (IEC 60063:2015).
typedef enum { VW_E6, VW_E12, VW_E24, VW_E96 } VwESeries;

/// The customary tolerance of a series: 0.2, 0.1, 0.05, 0.01.
double vw_e_series_tolerance(VwESeries series);

/// The smallest value of the series that is not below `value` (above 0).
double vw_e_series_up(VwESeries series, double value);

/// The greatest value of the series that is not above `value` (above 0).
double vw_e_series_down(VwESeries series, double value);

/// The temperature at which data sheets state their figures, degrees C.
#define VW_ROOM_C 25.0

/// A diode, by the exponential law I = Is (exp(V / (n Vt)) - 1).
typedef struct {
  double drop_v;   ///< Drop at 1 mA and 25 degrees C.
  double emission; ///< n of the law.
  double gap_v;    ///< Energy gap, eV: how the drop falls with temperature.
  double power;    ///< How the saturation current rises beside that.
} VwDiode;

/// A small-signal silicon diode: 0.6 V at 1 mA.
VwDiode vw_diode_small_signal(void);

/// A small Schottky diode: 0.25 V at 1 mA.
VwDiode vw_diode_schottky(void);

/// The current through a diode at `volts` across it, ampere.
double vw_diode_current_a(const VwDiode* diode, double celsius, double volts);

/// Which 555 it is.
typedef enum { VW_CHIP_BIPOLAR, VW_CHIP_CMOS } VwChip;

/// The least supply of a chip, volts.
double vw_chip_least_v(VwChip chip);

/// The error of its times: of a bipolar one typical, no most is given.
double vw_chip_error(VwChip chip);

/// How the timer is wired.
typedef enum {
  VW_WIRING_TWO_RESISTORS, ///< Charged through RA and RB, discharged by RB.
  VW_WIRING_DIODE          ///< A diode across RB: charged through RA and it.
} VwWiring;

/// The parts about a timer. Ohms, farads, volts.
typedef struct {
  VwWiring wiring;
  double   ra_ohm;
  double   rb_ohm;
  double   c_farad;
  double   supply_v; ///< No matter without a diode.
  VwDiode  diode;    ///< No matter without one.
  double   celsius;  ///< Of the diode.
} VwAstable;

/// What a timer does. The output is high while the capacitor charges.
typedef struct {
  double high_ms;
  double
    first_high_ms; ///< The first one after a reset, from an empty capacitor.
  double low_ms;
  double period_ms;
  double rate_hz;
  double high_share; ///< `high_ms / period_ms`.
} VwAstableTimes;

/**
 * The times of an astable with thresholds at 1/3 and 2/3 of the supply, the
 * constant being ln 2 (0.693 in data sheets).
 *
 * With a diode the on-time is integrated along its curve, RB's share of the
 * current included; so is the diode's reverse current while RB discharges.
 */
VwAstableTimes vw_astable_times(const VwAstable* parts);

/// Most capacitors that are looked through.
#define VW_CAPACITORS_MOST 32

/// What a timer is to do, and what there is to build it from. Start from
/// vw_timer_defaults().
typedef struct {
  double    rate_hz;            ///< Pulses per second, 0.5 to 40.
  double    on_ms;              ///< On-time.
  VwWiring  wiring;             ///< Default #VW_WIRING_DIODE.
  double    supply_v;           ///< As the chip takes it. Default 5.
  VwChip    chip;               ///< Default #VW_CHIP_BIPOLAR.
  VwDiode   diode;              ///< Default vw_diode_small_signal().
  VwESeries series;             ///< Of the resistors. Default #VW_E24.
  double    resistor_tolerance; ///< 0 to 0.2; NaN (default): the series'.
  double capacitor_tolerance;   ///< 0.01 to 0.3; NaN (default): 0.1 up to 1 uF,
                                ///< 0.2 above (film, electrolytic).
  double trimmer_tolerance;     ///< Of its whole resistance. Default 0.2.
  double capacitors_farad[VW_CAPACITORS_MOST]; ///< Those at hand.
  size_t n_capacitors; ///< Default: 100 and 220 nF, 470 nF, 1, 2.2, 4.7, 10 uF.
} VwTimerWish;

/// How far a regulated supply may be off, a share (common practice), and the
/// drop of a small diode, volts (from memory).
#define VW_SUPPLY_TOLERANCE 0.05
#define VW_DIODE_TOLERANCE_V 0.05

/// The defaults of #VwTimerWish, for a lamp.
VwTimerWish vw_timer_defaults(const VwLamp* lamp);

/// Least, middle and most of a measure.
typedef struct {
  double least;
  double middle;
  double most;
} VwSpread;

/// A timer's parts and what they do.
typedef struct {
  VwWiring wiring;
  VwChip   chip;
  bool     lit_while_low; ///< The lamp goes from the supply to the output.
  bool     trims_ra;      ///< The trimmer is in series with RA, else with RB.
  double   c_farad;
  double   capacitor_tolerance;
  double   resistor_tolerance;
  double   plain_ohm;     ///< The resistor without a trimmer.
  double   fixed_ohm;     ///< The one in series with it.
  double   trimmer_ohm;   ///< Its whole resistance.
  double   set_ohm;       ///< What of it is wanted.
  double   set_share;     ///< The same as a share of its travel.
  VwSpread rate_hz;       ///< So set, over the tolerances of parts and chip, of
                          ///< the supply and of the diode.
  VwSpread on_ms;         ///< The same.
  VwSpread rate_range_hz; ///< What the trimmer reaches with these values; its
                          ///< middle is the rate wanted.
  VwSpread rate_sure_hz;  ///< What it reaches whatever the tolerances.
  VwSpread rate_warm_hz;  ///< So set, at 0, 25 and 40 degrees C at the worst
                          ///< of both signs of the chip's drift.
  VwSpread on_warm_ms;    ///< The same.
  double   textbook_on_ms; ///< What 0.693 RA C says, the diode's drop left out.
} VwTimer;

/**
 * Look for the parts of a timer.
 *
 * Of all capacitors and the resistors of the series the ones whose on-time is
 * nearest are taken, film capacitors preferred; a trimmer in series with a
 * fixed resistor then sets the rate, and its range covers all tolerances. Every
 * resistor lies within 1 kohm and 1 Mohm.
 *
 * @param timer Filled in on success.
 * @return #VW_OK, #VW_BAD_OPTION, #VW_SUPPLY_LOW, #VW_SUPPLY_HIGH, #VW_ON_TIME,
 * #VW_CAPACITORS_SMALL, #VW_CAPACITORS_BIG, #VW_TRIMMER_SHORT.
 */
VwStatus vw_timer_find(const VwTimerWish* wish, VwTimer* timer);

/// The timer's parts as they stand once set.
VwAstable vw_timer_parts(const VwTimerWish* wish, const VwTimer* timer);

/// How the flashes of a lamp follow each other.
typedef struct {
  size_t shots;       ///< Of a cycle; 1: each like the last.
  double interval_ms; ///< From flash to flash.
  double last_ms; ///< From the last of a cycle to the next one's first: where
                  ///< a gap is heard it is longer.
} VwBeat;

/// The beat of a lamp, so many flashes of which are even in a file, with a gap
/// that is heard behind them; 0: none is.
VwBeat vw_beat(const VwLamp* lamp, size_t shots, double heard_gap_ms);

/// How far a timer of the mean rate is off, that starts with the cycle, at
/// most.
double vw_beat_off_ms(const VwBeat* beat);

/// Most prescalers of a counter.
#define VW_PRESCALERS_MOST 32

/// A microcontroller's timer: it counts its clock, divided by a prescaler, from
/// 0 to `2^bits - 1` at most.
typedef struct {
  double   clock_hz;                       ///< 1000 to 1e9.
  unsigned bits;                           ///< 8 to 32.
  unsigned prescalers[VW_PRESCALERS_MOST]; ///< 1 to 65536 each.
  size_t   n_prescalers;                   ///< At least 1.
} VwCounter;

/// Counts for a lamp.
typedef struct {
  unsigned prescaler;
  uint64_t period_counts; ///< From flash to flash. The register that holds the
                          ///< highest count gets one less.
  uint64_t last_counts;   ///< The same behind the last of a cycle.
  uint64_t on_counts;     ///< While the lamp is on.
  double   rate_hz;       ///< What comes of it.
  double   on_ms;         ///< The same.
  double   error_ppm;     ///< Of the rate.
} VwCounts;

/**
 * Prescaler and counts with the least error of the mean rate, ties to the
 * smallest prescaler.
 *
 * @param counts Filled in on success.
 * @return #VW_OK, #VW_BAD_OPTION, #VW_COUNTS_FEW.
 */
VwStatus vw_counts_find(const VwLamp*    lamp,
                        const VwBeat*    beat,
                        const VwCounter* counter,
                        VwCounts*        counts);

/// What an output or a transistor loses.
typedef struct {
  double most_a; ///< Up to this current.
  double typical_v;
  double worst_v;
  double stated_v; ///< With this supply.
} VwDrop;

/// Light-emitting diodes in series, and the output that switches them.
typedef struct {
  VwChip   chip;
  bool     lit_while_low; ///< They go from the supply to the output.
  double   supply_v;
  double   forward_v; ///< Of each.
  unsigned n_leds;    ///< 1 or more.
  double   current_a; ///< Wanted.
} VwLedWish;

/// What switches them, and the resistor in series with them.
typedef struct {
  VwStatus alone;  ///< Why the output alone does not: #VW_OK (it does),
                   ///< #VW_LED_CURRENT, #VW_SUPPLY_LOW. Else a transistor does.
  VwDrop output;   ///< What the output loses that far.
  VwDrop drop;     ///< What that loses which switches them.
  double base_ohm; ///< In front of the transistor; 0 without one.
  double gain;     ///< That it has to have.
  double resistor_ohm; ///< For exactly that current, typically.
  double power_w;      ///< In that resistor.
  double next_ohm;     ///< The next value up of E24.
  double next_w;       ///< The power in that one.
  double rating_w;     ///< What it should stand, twice that: 1/8, 1/4 W ...
  double current_a;    ///< The current with that one, typically.
  double least_a;      ///< The same at the worst drop.
} VwLed;

/// What one asks for in a shop that switches such a current. Static.
const char* vw_transistor_name(double current_a);

/// What that drops, fully on.
VwDrop vw_transistor_drop(double current_a);

/**
 * R = (supply - drop - n V_F) / I_F behind what is known to stand the current,
 * with 1 V at least left for R at the worst drop.
 *
 * @param led Filled in on success: the drop, and all that follows from it.
 * @return #VW_OK, #VW_BAD_OPTION, #VW_SUPPLY_LOW.
 */
VwStatus vw_led_behind(const VwLedWish* wish, const VwDrop* drop, VwLed* led);

/**
 * The same behind a timer's output, or, where that is high and does not do
 * alone, behind a transistor.
 *
 * @param led Filled in on success.
 * @return #VW_OK, #VW_BAD_OPTION, #VW_SUPPLY_LOW, #VW_LED_CURRENT.
 */
VwStatus vw_led_find(const VwLedWish* wish, VwLed* led);

/// The time between light and sound that is noticed: sound 45 ms early (Rec.
/// ITU-R BT.1359-1).
#define VW_NOTICED_MS 45.0

/**
 * How long until light and sound are 45 ms apart, seconds.
 *
 * @param error Of the lamp's rate, relative to the sound's.
 * @return NaN where that never happens: without an error, or where half the
 * period, the farthest they can be apart, is less.
 */
double vw_drift_s(double error, double period_ms);

/// The on-time of no sound in particular, shots of which come so often.
VwOnTime vw_on_time_usual(double period_ms);

/// Put what is asked in place of an on-time, unless that is 0: at most half the
/// time from shot to shot, for a lamp that is as long dark.
void vw_on_time_ask(double asked_ms, VwOnTime* on_time);

/// How long the lamp of a single shot flashes.
VwOnTime vw_on_time_of_shot(const VwFamilyOptions* options);

/**
 * Set the lamp of a finished family that has a burst, and why it is on for so
 * long. No lamp track may lie beside its sound yet.
 *
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_lamp_of_family(const VwFamilyOptions* options, VwFamily* family);

/// Whether a lamp track has a channel: #VW_OK or #VW_TRACK_IN_MONO.
VwStatus vw_track_check(const VwFamilyOptions* options);

/// The options of the sound beside which a lamp track is laid: one channel, and
/// half of a file. Where no track is wanted, the same.
VwFamilyOptions vw_track_sound_options(const VwFamilyOptions* options);

/**
 * Lay the lamp track beside the sound of a finished family's pieces, where it
 * is wanted.
 *
 * @param options As asked, with two channels.
 * @param family Made with vw_track_sound_options(); its lamp is known.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_track_add(const VwFamilyOptions* options, VwFamily* family);

#endif
