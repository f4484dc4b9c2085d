// All that is told of a lamp, once: JSON prints it, words are put around it.

#include "cli/lamp/lamp.h"

#include "cli/message/figures.h"

#include <math.h>
#include <string.h>

// Errors of a microcontroller's own clock and of a crystal: common practice.
#define ERROR_INTERNAL 0.02
#define ERROR_CRYSTAL 100e-6

// What the drawn parts let through R1 where the track swings by 2.8 V
// (simulated here), and the most that a small transistor gains for sure (common
// practice).
#define BASE_A 0.0002
#define GAIN_MOST 300.0

// More than noise and rounding make of the same on-time: chosen here.
#define SAME_ON_MS 2.0

const char*
lamp_ohm(char text[40], double ohm) {
  const char* const unit = ohm < 1e3 ? "ohm" : ohm < 1e6 ? "kohm" : "Mohm";
  const double      factor = ohm < 1e3 ? 1.0 : ohm < 1e6 ? 1e3 : 1e6;
  (void)snprintf(text, 40, "%.4g %s", ohm / factor, unit);
  return text;
}

double
lamp_rounded(double value, int digits) {
  const double last = pow(10.0, floor(log10(value)) + 1.0 - digits);
  return round(value / last) * last;
}

/// A resistance that is to be set, with as many digits as an ohmmeter tells.
static const char*
set_ohm(char text[40], double ohm) {
  return lamp_ohm(text, lamp_rounded(fmax(ohm, 1.0), 2));
}

/// A capacitance as people write it: "4.7 uF".
static const char*
farad_text(char text[40], double farad) {
  const bool        micro = farad >= 0.9995e-6;
  const bool        nano = !micro && farad >= 0.9995e-9;
  const double      factor = micro ? 1e6 : nano ? 1e9 : 1e12;
  const char* const unit = micro ? "uF" : nano ? "nF" : "pF";
  (void)snprintf(text, 40, "%.4g %s", farad * factor, unit);
  return text;
}

/* As JSON has it */

/// How the flashes follow each other where that is uneven.
static Figures*
uneven_of(const LampReport* report) {
  const VwBeat* const beat = &report->beat;
  if (beat->shots < 2U) {
    return NULL;
  }
  Figures* const made = figures_new();
  figures_set(made, "shots", beat->shots);
  figures_set(made, "interval_ms", beat->interval_ms);
  figures_set(made, "last_interval_ms", beat->last_ms);
  figures_set(made, "timer_off_ms", vw_beat_off_ms(beat));
  return made;
}

static Figures*
lamp_of(const LampReport* report) {
  const VwLamp* const lamp = &report->lamp;
  const VwBoard*      board = &report->settings->board;
  const bool late = report->settings->has_board && board->delay_ms > 0.0;
  const bool flashes = lamp_flashes(report);
  if (report->status || !(lamp->on_ms > 0.0)) {
    return NULL;
  }
  Figures* const made = figures_new();
  figures_set(made, "pulse_hz", flashes ? lamp->pulse_hz : (double)NAN);
  figures_set(made, "period_ms", flashes ? lamp->period_ms : (double)NAN);
  figures_set(made, "on_ms", lamp->on_ms);
  figures_set(made, "duty", flashes ? lamp->duty : (double)NAN);
  figures_set(made, "uneven", uneven_of(report));
  figures_set(made,
              "on_reason",
              choice_word(words_on_reason, (int)report->on_time.reason));
  figures_set(made, "shot_near_ms", report->on_time.near_ms);
  figures_set(made, "track", figures_of_track(&report->track));
  figures_set(made, "hold_back_ms", late ? board->delay_ms : (double)NAN);
  return made;
}

/// What was found in a sound.
static Figures*
found_of(const LampReport* report) {
  static const char* const known[] = {"counted", "made", "given"};
  const VwRateFound* const found = &report->found;
  const bool               loop = report->source == LAMP_FROM_LOOP;
  if (!loop && report->source != LAMP_FROM_RECORDING) {
    return NULL;
  }
  Figures* const made = figures_new();
  figures_set(made, "kind", loop ? "loop" : "recording");
  figures_set(made, "shots", found->shots);
  figures_set(made, "shots_known", loop ? known[report->known] : NULL);
  figures_set_some(made, "other_shots", found->other_shots);
  figures_set(made, "fire_rate_per_s", found->fire_rate_per_s);
  figures_set(made, "gap_ms", found->gap_ms);
  figures_set(made, "gap_known", report->gap_known);
  figures_set(
    made, "uncertainty_per_s", loop ? (double)NAN : found->uncertainty_per_s);
  figures_set(made, "jitter_ms", found->jitter_ms);
  return made;
}

/// What a board makes of the fire rate asked for.
static Figures*
heard_of(const VwPlan* plan) {
  if (!plan->shots) {
    return NULL;
  }
  Figures* const made = figures_new();
  figures_set(made, "asked_per_s", plan->fire_rate_asked_per_s);
  figures_set(made, "fire_rate_per_s", plan->fire_rate_per_s);
  figures_set(made, "shots", plan->shots);
  figures_set(made, "frames", plan->n_frames - plan->gap_frames);
  figures_set(made, "gap_frames", plan->gap_frames);
  figures_set(made, "sample_rate_hz", plan->rate_hz);
  return made;
}

static Figures*
spread_of(const VwSpread* spread) {
  Figures* const made = figures_new();
  figures_set(made, "least", spread->least);
  figures_set(made, "middle", spread->middle);
  figures_set(made, "most", spread->most);
  return made;
}

static Figures*
timer_of(const LampTimer* of) {
  const VwTimer* const timer = &of->timer;
  const VwAstable      parts = vw_timer_parts(&of->wish, timer);
  Figures* const       made = figures_new();
  figures_set(made, "error", figures_of_status(of->status));
  figures_set(made, "supply_v", of->wish.supply_v);
  figures_set(made, "chip", choice_word(words_chip, (int)of->wish.chip));
  figures_set(made, "lit_while", timer->lit_while_low ? "low" : "high");
  figures_set(made, "c_farad", timer->c_farad);
  figures_set(made, "ra_ohm", parts.ra_ohm);
  figures_set(made, "rb_ohm", parts.rb_ohm);
  figures_set(made, "trimmed", timer->trims_ra ? "ra" : "rb");
  figures_set(made, "fixed_ohm", timer->fixed_ohm);
  figures_set(made, "trimmer_ohm", timer->trimmer_ohm);
  figures_set(made, "set_ohm", timer->set_ohm);
  figures_set(made, "set_share", timer->set_share);
  figures_set(made, "capacitor_tolerance", timer->capacitor_tolerance);
  figures_set(made, "resistor_tolerance", timer->resistor_tolerance);
  figures_set(made, "first_high_ms", vw_astable_times(&parts).first_high_ms);
  figures_set(made, "rate_hz", spread_of(&timer->rate_hz));
  figures_set(made, "on_ms", spread_of(&timer->on_ms));
  figures_set(made, "rate_range_hz", spread_of(&timer->rate_range_hz));
  figures_set(made, "rate_sure_hz", spread_of(&timer->rate_sure_hz));
  figures_set(made, "rate_0_to_40_c_hz", spread_of(&timer->rate_warm_hz));
  figures_set(made, "on_0_to_40_c_ms", spread_of(&timer->on_warm_ms));
  figures_set(made, "led", lamp_led_figures(&of->led));
  return made;
}

/// The timer if it is wired so; else nothing, or why there is none.
static Figures*
wiring_of(const LampReport* report, VwWiring wiring) {
  if (report->timer.wish.wiring == wiring) {
    return timer_of(&report->timer);
  }
  if (!report->no_diode) {
    return NULL;
  }
  Figures* const none = figures_new();
  figures_set(none, "error", figures_of_status(report->no_diode));
  figures_set(none, "supply_v", report->timer.wish.supply_v);
  figures_set(
    none, "chip", choice_word(words_chip, (int)report->timer.wish.chip));
  return none;
}

/// From the last flash of a cycle to the next one's first: with the others it
/// makes the cycle, to the microsecond.
static uint64_t
last_us(const LampReport* report) {
  const size_t    shots = report->beat.shots;
  const long long cycle =
    llround(1000.0 * report->lamp.period_ms * (double)shots);
  const long long interval = llround(1000.0 * report->beat.interval_ms);
  return (uint64_t)(cycle - (long long)(shots - 1U) * interval);
}

static Figures*
controller_of(const LampReport* report) {
  const VwCounts* const of = &report->counts;
  const bool            counted = report->has_counts && !report->counts_status;
  const bool            uneven = report->beat.shots > 1U;
  Figures* const        counts = counted ? figures_new() : NULL;
  if (counts) {
    figures_set(counts, "prescaler", of->prescaler);
    figures_set(counts, "period_counts", of->period_counts);
    figures_set_some(counts, "last_counts", uneven ? of->last_counts : 0U);
    figures_set(counts, "on_counts", of->on_counts);
    figures_set(counts, "rate_hz", of->rate_hz);
    figures_set(counts, "on_ms", of->on_ms);
    figures_set(counts, "error_ppm", of->error_ppm);
  }
  Figures* const made = figures_new();
  const double   period_ms =
    uneven ? report->beat.interval_ms : report->lamp.period_ms;
  figures_set(made, "period_us", (uint64_t)llround(1000.0 * period_ms));
  figures_set_some(made, "last_us", uneven ? last_us(report) : 0U);
  figures_set(made, "on_us", (uint64_t)llround(1000.0 * report->lamp.on_ms));
  figures_set(made, "counts", counts);
  figures_set(made, "error", figures_of_status(report->counts_status));
  return made;
}

/// How far a rate may be from the one wanted.
static double
error_of(const VwSpread* rate) {
  return fmax(rate->most / rate->middle, rate->middle / rate->least) - 1.0;
}

/// Ways to flash, and how long each holds; in words too, if it is told.
static Figures*
drift_of(const LampReport* report, bool told) {
  const VwTimer* const timer = &report->timer.timer;
  const struct {
    const char* way;
    const char* words;
    double      error; // Of its rate, relative to the sound's.
  } ways[] = {{"timer_untrimmed", "as built", error_of(&timer->rate_hz)},
              {"timer_trimmed", "trimmed", error_of(&timer->rate_warm_hz)},
              {"internal_clock", "own clock", ERROR_INTERNAL},
              {"crystal", "crystal", ERROR_CRYSTAL},
              {"lamp_track", "lamp track", 0.0}};
  // An even timer is off by so much from the first cycle on.
  const double   uneven = vw_beat_off_ms(&report->beat) / VW_NOTICED_MS;
  Figures* const all = figures_list();
  for (size_t i = 0; i < sizeof(ways) / sizeof(ways[0]); ++i) {
    Figures* const drift = figures_new();
    figures_set(drift, "way", ways[i].way);
    figures_set(drift, "error", ways[i].error);
    figures_set(drift,
                "seconds_to_45_ms",
                vw_drift_s(ways[i].error, report->lamp.period_ms) *
                  (i < 2U ? fmax(1.0 - 1e-9 - uneven, 0.0) : 1.0));
    if (told) {
      figures_set(drift, "words", ways[i].words);
    }
    figures_add(all, drift);
  }
  return all;
}

static Figures*
brightness_of(const LampReport* report) {
  if (!report->n_steps) {
    return NULL;
  }
  Figures* const made = figures_new();
  Figures* const steps = figures_list();
  for (size_t i = 0; i < report->n_steps; ++i) {
    figures_add(steps, (unsigned)report->steps[i]);
  }
  figures_set(made, "gamma", report->settings->lamp.gamma);
  figures_set(made, "steps", steps);
  return made;
}

Figures*
lamp_figures(const LampReport* report) {
  const bool     flashes = lamp_flashes(report);
  const bool     in_prop = report->sound != NULL;
  Figures* const all = figures_of_command("lamp");
  figures_set(all, "subject", report->subject);
  figures_set(all, "error", figures_of_status(report->status));
  figures_set(all, "board", in_prop ? report->settings->board.name : NULL);
  figures_set_some(all, "slot", in_prop ? report->slot : 0U);
  figures_set(all, "sound", report->sound);
  figures_set(
    all, "make", in_prop ? choice_word(words_make, (int)report->make) : NULL);
  figures_set(all, "lamp", lamp_of(report));
  figures_set(all, "found", found_of(report));
  figures_set(all, "heard", heard_of(&report->plan));
  figures_set(all,
              "timer_with_diode",
              flashes ? wiring_of(report, VW_WIRING_DIODE) : NULL);
  figures_set(all,
              "timer_two_resistors",
              flashes ? wiring_of(report, VW_WIRING_TWO_RESISTORS) : NULL);
  figures_set(all, "microcontroller", flashes ? controller_of(report) : NULL);
  figures_set(all, "brightness", brightness_of(report));
  figures_set(
    all, "led", flashes ? lamp_led_figures(&report->timer.led) : NULL);
  figures_set(all, "drift", flashes ? drift_of(report, false) : NULL);
  figures_set(all, "cautions", caution_figures(lamp_cautions(report)));
  return all;
}

/* Beside that */

/// A part, a voltage or a step that is the same in every circuit, by the name
/// under which words and drawing have it.
typedef struct {
  const char* name;
  const char* words;
} Fixed;

static const Fixed timer_fixed[] = {
  {"c_pin_5", "10 nF"},
  {"c_pin_8", "100 nF"},
  {"c_pin_8_place", "close to pins 8 and 1"},
  {"r_pin_4", "4.7 kohm"},
  {"trigger_contact", "a contact that is closed until the trigger is pulled"},
};

static const Fixed track_fixed[] = {
  {"c1_c2", "1 uF"},
  {"d1_d2", "small Schottky diodes"},
  {"r1", "4.7 kohm"},
  {"r2", "10 kohm"},
  {"t", "a small NPN transistor"},
  {"swing", "3 V from peak to peak"},
};

static void
set_fixed(Figures* of, const Fixed* fixed, size_t n_fixed) {
  for (size_t i = 0; i < n_fixed; ++i) {
    figures_set(of, fixed[i].name, fixed[i].words);
  }
}

/// The parts in words, and what is said of setting them.
static Figures*
timer_told(const LampReport* report) {
  const LampTimer* const of = &report->timer;
  const VwTimer* const   timer = &of->timer;
  const VwAstable        parts = vw_timer_parts(&of->wish, timer);
  const VwAstableTimes   times = vw_astable_times(&parts);
  const bool             cmos = of->wish.chip == VW_CHIP_CMOS;
  const bool             low = timer->lit_while_low;
  const bool             diode = of->wish.wiring == VW_WIRING_DIODE;
  const double   flashes_10_s = round(10.0 * timer->rate_range_hz.middle);
  const double   bipolar_v = vw_chip_least_v(VW_CHIP_BIPOLAR);
  char           text[40];
  Figures* const made = timer_of(of);
  figures_set(made, "verbose", report->settings->verbose);
  figures_set(made, "drawn", report->settings->plot != NULL);
  set_fixed(made, LINES(timer_fixed));
  figures_set(made, "diode", diode);
  figures_set(made, "no_diode", figures_of_status(report->no_diode));
  figures_set(made, "trims_ra", timer->trims_ra);
  figures_set(made, "low", low);
  figures_set(made, "chip_name", cmos ? "CMOS" : "bipolar");
  figures_set(made, "chip_percent", 100.0 * vw_chip_error(of->wish.chip));
  figures_set(made, "typical", !cmos);
  figures_set(made, "supply_tolerance", VW_SUPPLY_TOLERANCE);
  figures_set(made, "diode_tolerance_v", VW_DIODE_TOLERANCE_V);
  figures_set(
    made, "bipolar_v", of->wish.supply_v < bipolar_v ? bipolar_v : (double)NAN);
  figures_set(made, "c", farad_text(text, timer->c_farad));
  figures_set(made, "plain", lamp_ohm(text, timer->plain_ohm));
  figures_set(made, "fixed", lamp_ohm(text, timer->fixed_ohm));
  figures_set(made, "whole", lamp_ohm(text, timer->trimmer_ohm));
  figures_set(made, "set", set_ohm(text, timer->set_ohm));
  figures_set(made,
              "diode_name",
              report->settings->lamp.schottky ? "Schottky" : "small-signal");
  figures_set(made, "diode_drop_v", of->wish.diode.drop_v);
  figures_set(made, "textbook_on_ms", timer->textbook_on_ms);
  figures_set(made, "flashes_10_s", flashes_10_s);
  figures_set(made, "later_ms", times.first_high_ms - times.high_ms);
  figures_set(made, "led", lamp_led_told(&of->led, report->settings->verbose));
  // How the LED is drawn: to the upper rail or the lower, at the output or not.
  const bool behind = !of->led.status && of->led.led.alone != VW_OK;
  const bool half = of->wish.on_ms * of->wish.rate_hz <= 500.0;
  figures_set(made, "hang", half && lamp_led_can_hang(&of->led));
  figures_set(made, "above", low || behind);
  figures_set(made, "below", !low || behind);
  figures_set(made, "hangs", low);
  figures_set(made, "stands", !low && !behind);
  return made;
}

/// What a lamp track's transistor switches, and what it has to gain.
static Figures*
track_told(const LampReport* report) {
  const VwLampTrack* const track = &report->track;
  const double             led_a = report->settings->lamp.led_current_a;
  const double             off_ms = track->on_ms - report->lamp.on_ms;
  const double             gain = ceil(led_a / BASE_A - 1e-6);
  const VwDrop             drop = vw_transistor_drop(led_a);
  LampLed                  led = report->timer.led;
  if (!track->pulses) {
    return NULL;
  }
  led.status = gain > GAIN_MOST ? VW_LED_CURRENT
                                : vw_led_behind(&led.wish, &drop, &led.led);
  Figures* const made = figures_of_track(track);
  set_fixed(made, LINES(track_fixed));
  figures_set(made, "led", lamp_led_told(&led, report->settings->verbose));
  figures_set(made, "led_ma", lamp_rounded(1000.0 * led_a, 3));
  figures_set(made, "most_ma", 1000.0 * GAIN_MOST * BASE_A);
  figures_set(made, "gain", gain);
  figures_set(made, "other_on", fabs(off_ms) > SAME_ON_MS);
  return made;
}

/// Which of the lines on a rate are to be shown.
static void
add_source(const LampReport* report, Figures* all) {
  const Settings* const settings = report->settings;
  const VwPlan* const   plan = &report->plan;
  const bool            loop = report->source == LAMP_FROM_LOOP;
  const double          cycle_s =
    (double)report->found.shots / report->found.fire_rate_per_s;
  const double gap_ms = 1000.0 * (double)plan->gap_frames / plan->rate_hz;
  const bool   usual = report->on_time.reason == VW_ON_USUAL;
  figures_set(all, "loop", loop);
  figures_set(all, "recording", report->source == LAMP_FROM_RECORDING);
  figures_set(all, "rate", report->source == LAMP_FROM_RATE);
  figures_set(all, "counted", loop && report->known == LAMP_COUNTED);
  figures_set(all, "made", loop && report->known == LAMP_AS_MADE);
  figures_set(all, "said", loop && report->known == LAMP_AS_SAID);
  figures_set(all, "cycle_s", cycle_s);
  figures_set(all, "one_other", report->found.other_shots == 1U);
  figures_set(all, "gap", loop && report->found.gap_ms > 0.0);
  figures_set(all, "heard_gap_ms", plan->gap_frames ? gap_ms : (double)NAN);
  figures_set(all, "board_name", settings->board.name);
  figures_set(all, "usual", report->source == LAMP_FROM_RATE && usual);
  figures_set(all,
              "cut",
              report->on_time.reason == VW_ON_HALF &&
                settings->family.lamp_on_ms > 0.0);
  figures_set(
    all, "because", choice_word(words_on_because, (int)report->on_time.reason));
}

Figures*
lamp_told(const LampReport* report) {
  const LampSettings* const asked = &report->settings->lamp;
  const bool                flashes = lamp_flashes(report);
  Figures* const            all = lamp_figures(report);
  add_source(report, all);
  figures_set(all, "verbose", report->settings->verbose);
  figures_set(all, "flashes", flashes);
  figures_set(all, "lone", words_flash[report->lamp.on_ms > 0.0]);
  figures_set(all, "drift", flashes ? drift_of(report, true) : NULL);
  figures_set(all, "on_us", 1000.0 * report->lamp.on_ms);
  figures_set(all, "timer", flashes ? timer_told(report) : NULL);
  figures_set(all, "track", track_told(report));
  figures_set(all, "clocked", report->has_counts);
  figures_set_made(all, "clock", text_format("%.10g", asked->counter.clock_hz));
  figures_set(all, "bits", asked->timer_bits);
  figures_set(all, "top", report->counts.period_counts - 1U);
  return all;
}
