/// @file
/// What the command line asks for.
#ifndef VW_CLI_SETTINGS_H
#define VW_CLI_SETTINGS_H

#include "board/board.h"
#include "lamp/lamp.h"
#include "signal/power.h"

#include <volleyweave/volleyweave.h>

#include <stdbool.h>
#include <stddef.h>

/// The commands that work on takes, as bits.
enum {
  COMMAND_INSPECT = 1U,
  COMMAND_SHOT = 2U,
  COMMAND_LOOP = 4U,
  COMMAND_CONVERT = 8U,
  COMMAND_CHECK = 16U,
  COMMAND_DELIVER = 32U,
  COMMAND_PACK = 64U,
  COMMAND_BOARDS = 128U,
  COMMAND_LAMP = 256U,
  COMMAND_REHEARSE = 512U,
  COMMAND_TRYOUT = 1024U,
  COMMAND_SPLIT = 2048U,
  COMMAND_MEND = 4096U,
  COMMAND_GAUGE = 8192U,
  COMMANDS_CUT = COMMAND_SHOT | COMMAND_LOOP,
  COMMANDS_MAKE = COMMANDS_CUT | COMMAND_CONVERT | COMMAND_SPLIT,
  COMMANDS_ALL = COMMAND_INSPECT | COMMANDS_MAKE | COMMAND_PACK,
  COMMANDS_CARD = COMMAND_CHECK | COMMAND_DELIVER,
  /// No command: the option may stand as a key in a sound list.
  PROP_KEY = 1U << 16U,
  /// No command: the option may stand as a key in the section of a sound alone.
  PROP_SOUND = 1U << 20U,
  /// No command: as a key it holds for all sounds of a prop.
  PROP_ALL = 1U << 18U,
  /// No command: the option may be given to `pack` more than once.
  PACK_REPEATS = 1U << 17U,
  /// No command: the option may stand in a sound list's section [lamp].
  PROP_LAMP = 1U << 19U,
  /// No command: the option may stand in a sound list's section [power].
  PROP_POWER = 1U << 21U,
};

/// As many fire rates as one ladder has.
#define LADDER_MOST 32U

/// As many times as --hold takes.
#define HOLDS_MOST 64U

/// A command, and what help says of it.
typedef struct {
  const char* name;
  unsigned    bit;
  const char* usage;   ///< What follows the name.
  const char* summary; ///< One line.
  const char* example; ///< What follows "volleyweave".
  const char* common;  ///< Options of the short help, in its order; NULL: all.
} CommandName;

/// An option as it was given. Points into the option table and the arguments.
typedef struct {
  const char* name;  ///< Long name, without the dashes.
  const char* value; ///< NULL for a flag.
} Given;

/// What loop alone is asked for.
typedef struct {
  const char* fire_rate_text;            ///< As given, or NULL.
  double      ladder_per_s[LADDER_MOST]; ///< Fire rates, one or more.
  size_t      n_ladder;
  double      burst_seconds; ///< How long each of them is heard, or 0.
  bool        take_turns;
  const char* run_in_take;   ///< A take instead of the loop's own, or NULL.
  const char* ring_out_take; ///< Likewise.
} LoopSettings;

/// What lamp alone is asked for: zero, or NaN where said, stands for what was
/// not given.
typedef struct {
  double      duty;         ///< A share of the period.
  double      supply_v;     ///< Default 5.
  int         chip;         ///< #VwChip; -1: as the supply allows.
  int         wiring;       ///< #VwWiring; -1: with a diode, if it can be.
  int         schottky;     ///< 1: the diode is one.
  double      diode_drop_v; ///< At 1 mA.
  double      capacitor_tolerance; ///< A share; NaN: as is usual.
  VwESeries   series;
  double      capacitors_farad[VW_CAPACITORS_MOST];
  size_t      n_capacitors;
  VwCounter   counter;    ///< Counts where a clock is given.
  double      timer_bits; ///< Default 16.
  double      brightness_steps;
  double      gamma;         ///< Default 2.2.
  int         led_mv;        ///< What an LED of its colour drops.
  double      led_forward_v; ///< NaN: that.
  double      led_current_a;
  double      n_leds;
  const char* header; ///< A file, or NULL.
} LampSettings;

/// What pack alone is asked for.
typedef struct {
  const char* write_list; ///< A sound list to write, as given, or NULL.
  bool        all_reach;
  bool        fit;
} PackSettings;

/// What deliver alone is asked for.
typedef struct {
  const char* to; ///< Where the card is, as given, or NULL.
} DeliverSettings;

/// What rehearse alone is asked for.
typedef struct {
  double      hold_s[HOLDS_MOST]; ///< Held, released, held ...
  size_t      n_hold;
  bool        through_speaker;
  const char* sound; ///< Of a pack, as given, or NULL.
} RehearseSettings;

/// What gauge alone is asked for. What is gauged is the first of the takes.
typedef struct {
  bool        write;         ///< The test sound is to be written.
  const char* loop;          ///< What the board plays instead of it, or NULL.
  const char* save;          ///< The name of what is found, as given, or NULL.
  double      video_rate_hz; ///< Pictures a second of a video, or 0.
} GaugeSettings;

/// Everything asked for. Names point into the program's arguments.
typedef struct {
  VwFamilyOptions  family;
  VwReadOptions    reading;
  const char*      output;       ///< As given, or NULL.
  const char*      board_asked;  ///< As given, or NULL.
  const char*      plot;         ///< A picture to draw, or NULL.
  bool             has_form;     ///< --form was given.
  bool             has_channels; ///< --channels was given.
  bool             has_bits;     ///< --bits was given.
  bool             has_burst;    ///< --burst was given.
  bool             has_loudness; ///< --loudness was given.
  bool             has_gain;     ///< --gain was given.
  bool             has_part;     ///< --part was given; `part` counts.
  VwPart           part;
  bool             help; ///< --help was given: nothing else counts.
  bool             json;
  bool             quiet;
  bool             verbose;
  bool             dry_run;
  bool             print_section;
  bool             force;
  double           jobs;      ///< Threads; 0: one for each core.
  bool             has_board; ///< One was found: `board` counts.
  VwBoard          board;
  VwBoardWish      board_wish;
  LoopSettings     loop;
  unsigned         keep; ///< Shots of split; 0: all.
  LampSettings     lamp;
  VwPowerWish      power; ///< But for the lamp's duty cycle.
  PackSettings     pack;
  DeliverSettings  deliver;
  RehearseSettings rehearse;
  GaugeSettings    gauge;
  unsigned         slot;       ///< Of the first take, 1 and up; 0: none.
  const char*      sound_name; ///< Instead of the take's; as given, or NULL.
  const char**     takes;      ///< Names of the takes. Owned.
  size_t           n_takes;
  size_t           n_ends; ///< Of other takes for run-in and ring-out, the
                           ///< names of which stand behind those.
  Given* given; ///< The options in the order of the arguments. Owned.
  size_t n_given;
} Settings;

/// The defaults, without room for takes and options.
Settings settings_defaults(void);

/// The defaults for so many takes and options at most.
void settings_init(Settings* settings, size_t n_takes, size_t n_given);

/// Free what `settings` owns.
void settings_clear(Settings* settings);

/// Whether an option of that long name was given.
bool settings_is_given(const Settings* settings, const char* name);

/// Check what one option alone cannot tell. False, and said, if options
/// contradict each other or the takes.
bool settings_check(const CommandName* command, const Settings* settings);

/// Check whether the shots of a loop fit into its cycle.
///
/// @param subject What is at fault where they do not; NULL: the option.
bool settings_check_loop(const Settings* settings, const char* subject);

/// Whether a command, so asked, writes a part.
bool settings_write(const CommandName* command,
                    const Settings*    settings,
                    VwPart             part);

/// How many files a command writes, so asked.
size_t settings_n_files(const CommandName* command, const Settings* settings);

#endif
