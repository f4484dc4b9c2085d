#include "base/text.h"
#include "cli/ladder.h"
#include "cli/message/say.h"
#include "cli/options/board_options.h"
#include "cli/options/choice.h"
#include "cli/options/format_options.h"
#include "cli/options/hold.h"
#include "cli/options/lamp_options.h"
#include "cli/options/level_options.h"
#include "cli/options/options.h"
#include "cli/options/track_options.h"
#include "cli/options/units.h"
#include "cli/plot/plot.h"

#include <math.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

/* The commands */

const CommandName command_names[] = {
  {"inspect",
   COMMAND_INSPECT,
   "[OPTIONS] TAKE...",
   "what is in a take, and how fast it can fire",
   "inspect zap.wav"},
  {"shot",
   COMMAND_SHOT,
   "[OPTIONS] TAKE...",
   "a clean single shot",
   "shot --sample-rate 22050 --bits 8 zap.wav"},
  {"loop",
   COMMAND_LOOP,
   "[OPTIONS] TAKE...",
   "the rapid fire of a take, as your board plays it",
   "loop --fire-rate 9/s zap.wav"},
  {"convert",
   COMMAND_CONVERT,
   "[OPTIONS] FILE...",
   "any other sound of the prop: horn, voice, reload",
   "convert --loudness -16 horn.wav"},
  {"check",
   COMMAND_CHECK,
   "[--board BOARD] [OPTIONS] FILE|FOLDER...",
   "whether files suit a board: header, format, names, room",
   "check --board wav-22k-mono volleyweave-out/wav-22k-mono"},
  {"deliver",
   COMMAND_DELIVER,
   "FOLDER --to CARD [OPTIONS]",
   "put a pack onto a card, in order, and read it back",
   "deliver volleyweave-out/wav-22k-mono --to /media/card"},
  {"pack",
   COMMAND_PACK | PROP_KEY,
   "[OPTIONS] FILE|FOLDER",
   "all sounds of a prop for its boards, and a page to try them on",
   "pack --board wav-22k-mono takes"},
  {"rehearse",
   COMMAND_REHEARSE,
   "--hold TIMES --board BOARD -o FILE.wav [OPTIONS] LOOP|PACK",
   "what is heard when a board's trigger is held so long",
   "rehearse --hold 1.2s --board wav-44k-mono zap.loop.wav -o held.wav"},
  {"tryout",
   COMMAND_TRYOUT,
   "[OPTIONS] TAKE...",
   "a page on which the sounds of takes can be tried",
   "tryout --board wav-44k-mono zap.wav"},
  {"boards",
   COMMAND_BOARDS,
   "[OPTIONS] [BOARD]",
   "the boards at hand; or one as a file to edit",
   "boards wav-22k-mono"},
  {"lamp",
   COMMAND_LAMP,
   "[OPTIONS] FIRE-RATE|LOOP.wav|PROP",
   "what to build or program so that a lamp flashes with it",
   "lamp --supply 5V 9/s"},
};

const size_t n_commands = COUNT(command_names);

/* Quantities */

static const Unit seconds_units[] = {{"", 1.0, 1.0, false},
                                     {"s", 1.0, 1.0, false},
                                     {"ms", 1.0, 1000.0, false},
                                     {"min", 60.0, 1.0, false}};

static const Unit cents_units[] = {{"", 1.0, 1.0, false},
                                   {"cents", 1.0, 1.0, false},
                                   {"cent", 1.0, 1.0, false},
                                   {"ct", 1.0, 1.0, false}};

static const Quantity cycle_max =
  {"seconds", "2, 2s or 500ms", 0.05, 60.0, UNITS(seconds_units), false};

static const Quantity burst_seconds = {"seconds",
                                       "2, 2s or 1500ms",
                                       0.2,
                                       30.0,
                                       seconds_units,
                                       COUNT(seconds_units),
                                       false};

static const Quantity seconds_max = {"seconds",
                                     "600, 600s or 10min",
                                     0.005,
                                     86400.0,
                                     UNITS(seconds_units),
                                     false};

static const Quantity valley =
  {"dB", "12, 12dB or none", 3.0, 40.0, UNITS(units_db), false};

static const Quantity level_spread =
  {"dB", "1 or 1dB", 0.0, 6.0, UNITS(units_db), false};

static const Quantity limiting_max =
  {"dB", "3 or 3dB", 0.0, 12.0, UNITS(units_db), false};

static const Quantity detune = {"cents (100 are a semitone)",
                                "20 or 20cents",
                                0.0,
                                100.0,
                                UNITS(cents_units),
                                false};

static const Quantity jobs =
  {"", "4, say", 1.0, 1024.0, UNITS(units_none), true};

static const Quantity burst_shots =
  {"", "3, say", 1.0, 1000.0, UNITS(units_none), true};

static const Quantity cycle_shots =
  {"", "3, say", 1.0, 64.0, UNITS(units_none), true};

/* Burst */

static bool
set_fire_rate(Settings* settings, const char* shown, const char* value) {
  settings->loop.fire_rate_text = value;
  return ladder_set(settings, shown, value);
}

static bool
set_form(Settings* settings, const char* shown, const char* value) {
  static const Choice forms[] = {{"pieces", VW_FORM_PIECES},
                                 {"whole-file", VW_FORM_WHOLE_FILE},
                                 {"loop-points", VW_FORM_LOOP_POINTS},
                                 {NULL, 0}};
  int                 form = 0;
  if (!strcmp(value, "burst")) {
    say(shown, "a burst wants a number of shots: write --burst 3, say");
    return false;
  }
  if (!choose(forms, shown, value, &form)) {
    return false;
  }
  settings->family.form = (VwForm)form;
  settings->has_form = true;
  return true;
}

static bool
set_burst(Settings* settings, const char* shown, const char* value) {
  settings->family.form = VW_FORM_BURST;
  settings->has_burst = true;
  return units_read_count(
    &burst_shots, shown, value, &settings->family.burst_shots);
}

static bool
set_tail(Settings* settings, const char* shown, const char* value) {
  int tail = 0;
  if (!choose(words_tail, shown, value, &tail)) {
    return false;
  }
  settings->family.tail = (VwTail)tail;
  return true;
}

static bool
set_valley(Settings* settings, const char* shown, const char* value) {
  if (!strcmp(value, "none")) {
    settings->family.valley_db = NAN;
    return true;
  }
  return units_read(&valley, shown, value, &settings->family.valley_db);
}

static bool
set_shots(Settings* settings, const char* shown, const char* value) {
  return units_read_count(&cycle_shots, shown, value, &settings->family.shots);
}

static bool
set_seed(Settings* settings, const char* shown, const char* value) {
  return units_read_seed(shown, value, &settings->family.seed);
}

/* Files */

/// Whether a name is one for a file.
static bool
check_name(const char* shown, const char* value) {
  if (!vw_utf8_is_valid(value)) {
    say(shown, "the name is not UTF-8: choose another");
    return false;
  }
  if (!*value) {
    say(shown, "an empty name: name a folder or a file");
    return false;
  }
  return true;
}

static bool
set_output(Settings* settings, const char* shown, const char* value) {
  settings->output = value;
  return check_name(shown, value);
}

static bool
set_write_prop(Settings* settings, const char* shown, const char* value) {
  settings->pack.write_prop = value;
  return check_name(shown, value);
}

static bool
set_board(Settings* settings, const char* shown, const char* value) {
  (void)shown;
  settings->board_asked = value;
  return true;
}

static bool
set_sound(Settings* settings, const char* shown, const char* value) {
  settings->rehearse.sound = value;
  return check_name(shown, value);
}

static bool
set_to(Settings* settings, const char* shown, const char* value) {
  if (!*value) {
    say(shown, "an empty name: name the folder where the card is mounted");
    return false;
  }
  settings->deliver.to = value;
  return true;
}

static bool
set_part(Settings* settings, const char* shown, const char* value) {
  static const Choice parts[] = {{"shot", VW_PART_SHOT},
                                 {"run-in", VW_PART_RUN_IN},
                                 {"loop", VW_PART_LOOP},
                                 {"ring-out", VW_PART_RING_OUT},
                                 {"burst", VW_PART_BURST},
                                 {"runin", VW_PART_RUN_IN},
                                 {"ringout", VW_PART_RING_OUT},
                                 {NULL, 0}};
  int                 part = 0;
  if (!choose(parts, shown, value, &part)) {
    return false;
  }
  settings->part = (VwPart)part;
  settings->has_part = true;
  return true;
}

/* The table */

#define AT(member) offsetof(Settings, member)

// Options in the order in which help prints them; two lines a row.
// clang-format off
const Option option_table[] = {
  {"fire-rate", 0, "FIRE-RATE", "9/s", COMMAND_LOOP | COMMAND_TRYOUT | PROP_KEY, NULL, 0, set_fire_rate,
   "shots per second, 0.5 to 40: 9/s, 540/min, 110ms"},
  {"take-turns", 0, NULL, NULL, COMMAND_LOOP, NULL, AT(loop.take_turns), NULL,
   "one loop of all takes, never one twice running"},
  {"form", 0, "FORM", "whole-file", COMMAND_LOOP | COMMAND_TRYOUT | PROP_KEY, NULL, 0, set_form,
   "pieces (default), whole-file or loop-points"},
  {"burst", 0, "N", "3", COMMAND_LOOP | COMMAND_TRYOUT, NULL, 0, set_burst,
   "a finished file of N shots instead of a loop"},
  {"burst-seconds", 0, "SECONDS", "2", COMMAND_LOOP, &burst_seconds,
   AT(loop.burst_seconds), NULL,
   "with --fire-rate 6,8,10: each so long in one file"},
  {"tail", 0, "HOW", "choke", COMMAND_LOOP | COMMAND_TRYOUT | PROP_KEY, NULL, 0, set_tail,
   "overlap (default), or choke at the next shot"},
  {"valley", 0, "DB", "12", COMMAND_LOOP | COMMAND_TRYOUT | PROP_KEY, NULL, 0, set_valley,
   "drop in dB between shots, 3 to 40 (9), or none"},
  {"shots", 0, "N", "4", COMMAND_LOOP | COMMAND_REHEARSE | COMMAND_TRYOUT | COMMAND_LAMP | PROP_KEY, NULL, 0, set_shots,
   "shots in one cycle, 1 to 64 (default: as needed)"},
  {"detune", 0, "CENTS", "20", COMMAND_LOOP | COMMAND_TRYOUT | PROP_KEY, &detune,
   AT(family.detune_cents), NULL,
   "detune each shot by up to CENTS, 0 to 100"},
  {"level-spread", 0, "DB", "1", COMMAND_LOOP | COMMAND_TRYOUT | PROP_KEY, &level_spread,
   AT(family.level_spread_db), NULL,
   "change each shot's level by up to DB, 0 to 6"},
  {"seed", 0, "N", "7", COMMANDS_MAKE | COMMAND_TRYOUT | PROP_KEY, NULL, 0, set_seed,
   "a number (default 1) for variation and dither"},
  {"cycle-max", 0, "SECONDS", "2s", COMMAND_LOOP | COMMAND_TRYOUT | PROP_KEY, &cycle_max,
   AT(family.cycle_max_s), NULL,
   "longest cycle, 0.05 to 60 s (default 2)"},
  {"sample-rate", 0, "HZ", "22050", COMMANDS_MAKE | COMMAND_TRYOUT | PROP_KEY, NULL, 0, format_set_sample_rate,
   "22050, 22.05kHz (default 44100 or the take's)"},
  {"channels", 0, "N", "1", COMMANDS_MAKE | COMMAND_TRYOUT | PROP_KEY, NULL, 0, format_set_channels,
   "1 (default) or 2"},
  {"bits", 0, "BITS", "16", COMMANDS_MAKE | COMMAND_REHEARSE | COMMAND_TRYOUT | PROP_KEY, NULL, 0, format_set_bits,
   "8, 16 (default), 24 or float"},
  {"dither", 0, "HOW", "none", COMMANDS_MAKE | COMMAND_TRYOUT | PROP_KEY, NULL, 0, format_set_dither,
   "tpdf (default) or none"},
  {"loudness", 0, "LUFS", "-16", COMMANDS_MAKE | COMMAND_TRYOUT | PROP_KEY, NULL, 0, level_set_loudness,
   "-60 to 0, as in -16; loudest (default) or keep"},
  {"loud-as", 0, "WHAT", "burst", COMMANDS_CUT | COMMAND_TRYOUT | PROP_KEY, NULL, 0, level_set_loud_as,
   "shot (default) or burst: what is so loud"},
  {"gain", 0, "DB", "6", COMMANDS_MAKE | COMMAND_TRYOUT | PROP_KEY, NULL, 0, level_set_gain,
   "a gain of -60 to 60 dB instead of a loudness"},
  {"ceiling", 0, "DBTP", "-1", COMMANDS_MAKE | COMMAND_TRYOUT | PROP_KEY, NULL, 0, level_set_ceiling,
   "highest true peak, -20 to 0 (default -1)"},
  {"limiting-max", 0, "DB", "3", COMMANDS_MAKE | COMMAND_TRYOUT | PROP_KEY, &limiting_max,
   AT(family.level.limiting_max_db), NULL,
   "most that the limiter takes, 0 to 12 (3)"},
  {"speaker", 0, "WHICH", "40mm", COMMANDS_MAKE | COMMAND_REHEARSE | COMMAND_TRYOUT | PROP_KEY, NULL, 0, level_set_speaker,
   "leave out what it cannot play: 40mm, 350Hz, none"},
  {"board", 0, "BOARD", "wav-44k-mono", COMMANDS_MAKE | COMMAND_REHEARSE | COMMAND_TRYOUT | COMMAND_CHECK | COMMAND_PACK | COMMAND_LAMP | PACK_REPEATS, NULL, 0,
   set_board, "what is to play: wav-22k-mono, say, or none"},
  {"slot", 0, "N", "1", COMMANDS_MAKE | COMMAND_TRYOUT, NULL, 0, board_set_slot,
   "the board's number for it; more takes follow on"},
  {"name", 0, "NAME", "zap", COMMANDS_MAKE | COMMAND_TRYOUT, NULL, 0, board_set_name,
   "the sound's name in those of the files"},
  {"overrun-max", 0, "SECONDS", "400ms", COMMAND_LOOP | COMMAND_TRYOUT | PROP_KEY,
   &board_overrun_max, AT(board_wish.overrun_max_s), NULL,
   "longest that it goes on after the release (1 s)"},
  {"run-in-max", 0, "SECONDS", "500ms", COMMAND_LOOP | COMMAND_TRYOUT | PROP_KEY,
   &board_run_in_max, AT(board_wish.run_in_max_s), NULL,
   "longest run-in, where bytes are dear"},
  {"gap", 0, "MS", "25ms", COMMAND_LOOP | COMMAND_TRYOUT | COMMAND_LAMP, &board_gap, AT(family.gap_ms), NULL,
   "the board's gap between repeats, 0 to 1000 ms"},
  {"buffer", 0, "FRAMES", "256", COMMAND_LOOP | COMMAND_TRYOUT, NULL, 0, board_set_buffer,
   "the loop is a multiple of it, 1 to 65536 frames"},
  {"on-time", 0, "MS", "30ms", COMMAND_LOOP | COMMAND_REHEARSE | COMMAND_TRYOUT | COMMAND_LAMP | PROP_KEY, &track_on_time,
   AT(family.lamp_on_ms), NULL,
   "how long the lamp is on, 5 to 500 ms"},
  {"lamp-track", 0, NULL, NULL, COMMAND_LOOP | PROP_KEY, NULL, AT(family.lamp_track.wanted), NULL,
   "a tone a shot in channel 2, to switch the lamp"},
  {"track-frequency", 0, "HZ", "3kHz", COMMAND_LOOP | PROP_KEY, &track_frequency,
   AT(family.lamp_track.tone_hz), NULL,
   "of that tone, 2000 to 4000 Hz (default 3000)"},
  {"track-level", 0, "DBFS", "-6", COMMAND_LOOP | PROP_KEY, &track_level,
   AT(family.lamp_track.level_dbfs), NULL,
   "of that tone, -20 to 0 dBFS (default -6)"},
  {"duty", 0, "SHARE", "0.3", COMMAND_LAMP, &lamp_duty, AT(lamp.duty), NULL,
   "on-time as a share of the period: 0.3 or 30%"},
  {"supply", 0, "V", "5V", COMMAND_LAMP, &lamp_supply, AT(lamp.supply_v), NULL,
   "of timer and lamp (default 5 V)"},
  {"chip", 0, "CHIP", "cmos", COMMAND_LAMP, NULL, 0, lamp_set_chip,
   "the 555: bipolar (from 4.5 V) or cmos"},
  {"wiring", 0, "WIRING", "two-resistors", COMMAND_LAMP, NULL, 0, lamp_set_wiring,
   "of the 555: diode, across RB (default), or two-resistors"},
  {"diode", 0, "DIODE", "schottky", COMMAND_LAMP, NULL, 0, lamp_set_diode,
   "across RB: small-signal (default) or schottky"},
  {"diode-drop", 0, "V", "0.6V", COMMAND_LAMP, &lamp_diode_drop, AT(lamp.diode_drop_v), NULL,
   "its drop at 1 mA (0.6 V, schottky 0.25 V)"},
  {"capacitors", 0, "LIST", "100nF,1uF", COMMAND_LAMP, NULL, 0, lamp_set_capacitors,
   "those at hand, as in 100nF,1uF,10uF"},
  {"capacitor-tolerance", 0, "%", "10%", COMMAND_LAMP, &lamp_capacitor_tolerance,
   AT(lamp.capacitor_tolerance), NULL, "1% to 30% (10%, above 1 uF 20%)"},
  {"e-series", 0, "SERIES", "E24", COMMAND_LAMP, NULL, 0, lamp_set_series,
   "of the resistors: E6, E12, E24 (default) or E96"},
  {"clock", 0, "HZ", "12MHz", COMMAND_LAMP, &lamp_clock, AT(lamp.counter.clock_hz), NULL,
   "of a microcontroller's timer: 12MHz, 32768Hz"},
  {"timer-bits", 0, "N", "16", COMMAND_LAMP, &lamp_timer_bits, AT(lamp.timer_bits), NULL,
   "width of that timer, 8 to 32 (default 16)"},
  {"prescalers", 0, "LIST", "1,4,32", COMMAND_LAMP, NULL, 0, lamp_set_prescalers,
   "those it has (default powers of 2 to 1024)"},
  {"brightness-steps", 0, "N", "32", COMMAND_LAMP, &lamp_brightness_steps,
   AT(lamp.brightness_steps), NULL, "a table of 2 to 1024 that follows the shot"},
  {"brightness-gamma", 0, "GAMMA", "2.2", COMMAND_LAMP, &lamp_gamma, AT(lamp.gamma), NULL,
   "of that table (default 2.2)"},
  {"led-forward", 0, "V", "2V", COMMAND_LAMP, &lamp_led_forward, AT(lamp.led_forward_v), NULL,
   "forward voltage of an LED (default 2 V)"},
  {"led-current", 0, "A", "20mA", COMMAND_LAMP, &lamp_led_current, AT(lamp.led_current_a), NULL,
   "its current (default 20mA)"},
  {"leds", 0, "N", "1", COMMAND_LAMP, &lamp_leds, AT(lamp.n_leds), NULL,
   "how many in series (default 1)"},
  {"header", 0, "FILE", "lamp.h", COMMAND_LAMP, NULL, 0, lamp_set_header,
   "write times, counts and table as a C header"},
  {"plot", 0, "FILE", "zap.svg", COMMAND_INSPECT | COMMANDS_MAKE | COMMAND_CHECK | COMMAND_LAMP,
   NULL, 0, plot_set, "draw what was found or made: zap.svg or zap.png"},
  {"hold", 0, "TIMES", "1.2s,0.3s,0.8s", COMMAND_REHEARSE, NULL, 0, hold_set,
   "held, released, held ...: 1.2s,0.3s,0.8s"},
  {"through-speaker", 0, NULL, NULL, COMMAND_REHEARSE, NULL, AT(rehearse.through_speaker), NULL,
   "as a small speaker plays it (40mm, or --speaker)"},
  {"sound", 0, "NAME", "zap", COMMAND_REHEARSE, NULL, 0, set_sound,
   "which sound of a pack is meant"},
  {"output", 'o', "WHERE", "sounds", COMMANDS_MAKE | COMMAND_REHEARSE | COMMAND_TRYOUT | COMMAND_PACK, NULL, 0, set_output,
   "folder (default volleyweave-out), a file, or -"},
  {"print-section", 0, NULL, NULL, COMMANDS_MAKE, NULL, AT(print_section), NULL,
   "print the sound's section for a prop file"},
  {"part", 0, "PART", "loop", COMMANDS_CUT, NULL, 0, set_part,
   "only shot, run-in, loop, ring-out or burst"},
  {"to", 0, "FOLDER", "/media/card", COMMAND_DELIVER, NULL, 0, set_to,
   "where the card is mounted"},
  {"force", 'f', NULL, NULL, COMMAND_INSPECT | COMMAND_CHECK | COMMANDS_MAKE | COMMAND_REHEARSE | COMMAND_TRYOUT | COMMAND_PACK | COMMAND_DELIVER | COMMAND_LAMP, NULL, AT(force), NULL,
   "replace files not made here; never a take"},
  {"dry-run", 'n', NULL, NULL, COMMAND_INSPECT | COMMAND_CHECK | COMMANDS_MAKE | COMMAND_REHEARSE | COMMAND_TRYOUT | COMMAND_PACK | COMMAND_DELIVER | COMMAND_LAMP, NULL, AT(dry_run), NULL,
   "check and report everything, write nothing"},
  {"jobs", 'j', "N", "4", COMMAND_PACK | COMMAND_LAMP, &jobs, AT(jobs), NULL,
   "sounds at a time (default: one for each core)"},
  {"all-reach", 0, NULL, NULL, COMMAND_PACK, NULL, AT(pack.all_reach), NULL,
   "only as loud as every sound of the pack can be"},
  {"fit", 0, NULL, NULL, COMMAND_PACK, NULL, AT(pack.fit), NULL,
   "lower sample rates until all fits on the board"},
  {"write-prop", 0, "FILE", "prop.ini", COMMAND_PACK, NULL, 0, set_write_prop,
   "write what is guessed of a folder as a prop file"},
  {"prune", 0, NULL, NULL, COMMAND_PACK, NULL, AT(pack.prune), NULL,
   "remove files made here that no sound makes now"},
  {"seconds-max", 0, "SECONDS", "600", COMMANDS_ALL | COMMAND_REHEARSE | COMMAND_TRYOUT | COMMAND_LAMP, &seconds_max,
   AT(reading.seconds_max), NULL,
   "longest take that is read (default 600 s)"},
  {"json", 0, NULL, NULL, COMMANDS_ALL | COMMAND_REHEARSE | COMMAND_TRYOUT | COMMANDS_CARD | COMMAND_BOARDS | COMMAND_LAMP, NULL, AT(json), NULL,
   "report as JSON, one object a line"},
  {"quiet", 'q', NULL, NULL, COMMANDS_ALL | COMMAND_REHEARSE | COMMAND_TRYOUT | COMMANDS_CARD | COMMAND_LAMP, NULL, AT(quiet), NULL,
   "say nothing but faults"},
  {"help", 'h', NULL, NULL, COMMANDS_ALL | COMMAND_REHEARSE | COMMAND_TRYOUT | COMMANDS_CARD | COMMAND_BOARDS | COMMAND_LAMP, NULL, AT(help), NULL,
   "print this"},
};
// clang-format on

const size_t n_options = COUNT(option_table);
