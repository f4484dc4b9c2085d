#include "cli/options/options.h"

#include "base/ranges.h"
#include "base/status.h"
#include "cli/message/message.h"
#include "take/take.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// As many takes as one loop may hold.
#define TURNS_MOST 64U

/* Defaults */

static LampSettings
lamp_defaults(void) {
  return (LampSettings){
    .supply_v = 5.0,
    .chip = -1,
    .wiring = -1,
    .diode_drop_v = NAN,
    .capacitor_tolerance = NAN,
    .series = VW_E24,
    // No timer in particular: every power of two.
    .counter =
      {.clock_hz = 0.0,
       .bits = 16U,
       .prescalers = {1U, 2U, 4U, 8U, 16U, 32U, 64U, 128U, 256U, 512U, 1024U},
       .n_prescalers = 11U},
    .timer_bits = 16.0,
    // Common practice; 2 V: that of a red LED.
    .gamma = 2.2,
    .led_mv = 2000,
    .led_forward_v = NAN,
    .led_current_a = 0.02,
    .n_leds = 1.0};
}

Settings
settings_defaults(void) {
  return (Settings){.family = vw_family_defaults(),
                    .reading = vw_read_defaults(),
                    .lamp = lamp_defaults(),
                    .power = vw_power_unknown()};
}

void
settings_init(Settings* settings, size_t n_takes, size_t n_given) {
  *settings = settings_defaults();
  settings->takes = sure(calloc(n_takes + 1U, sizeof(char*)));
  settings->given = sure(calloc(n_given + 1U, sizeof(Given)));
}

void
settings_clear(Settings* settings) {
  free(settings->takes);
  free(settings->given);
  *settings = (Settings){0};
}

bool
settings_is_given(const Settings* settings, const char* name) {
  for (size_t i = 0; i < settings->n_given; ++i) {
    if (!strcmp(settings->given[i].name, name)) {
      return true;
    }
  }
  return false;
}

/* Parts */

/// The parts of a form, as bits.
static unsigned
parts_of_form(VwForm form) {
  static const unsigned parts[] = {
    [VW_FORM_PIECES] =
      1U << VW_PART_RUN_IN | 1U << VW_PART_LOOP | 1U << VW_PART_RING_OUT,
    [VW_FORM_WHOLE_FILE] = 1U << VW_PART_LOOP,
    [VW_FORM_LOOP_POINTS] = 1U << VW_PART_LOOP,
    [VW_FORM_BURST] = 1U << VW_PART_BURST,
  };
  return parts[form];
}

/// The parts that a command makes, as bits.
static unsigned
parts_made(const CommandName* command, const Settings* settings) {
  const unsigned loop =
    command->bit == COMMAND_LOOP ? parts_of_form(settings->family.form) : 0U;
  return command->bit == COMMAND_MEND ? 1U << VW_PART_LOOP
         : command->bit & (COMMAND_CONVERT | COMMAND_GAUGE)
           ? 1U << VW_PART_WHOLE
           : loop | 1U << VW_PART_SHOT;
}

bool
settings_write(const CommandName* command,
               const Settings*    settings,
               VwPart             part) {
  return (parts_made(command, settings) & 1U << part) &&
         (!settings->has_part || settings->part == part);
}

size_t
settings_n_files(const CommandName* command, const Settings* settings) {
  size_t n = 0;
  for (int part = VW_PART_SHOT; part <= VW_PART_WHOLE; ++part) {
    // Taking turns, each take has its shot and all have one loop.
    const bool each = part == VW_PART_SHOT || !settings->loop.take_turns;
    if (settings_write(command, settings, (VwPart)part)) {
      n += each ? settings->n_takes : 1U;
    }
  }
  return n;
}

/* Check */

/// A pack goes to one card.
static bool
check_delivery(const Settings* settings) {
  if (settings->n_takes != 1U) {
    return say("deliver",
               "one folder is delivered at a time: name it, as in `volleyweave "
               "deliver pack --to CARD`");
  }
  if (!settings->deliver.to) {
    return say("--to", "missing: name the folder where the card is mounted");
  }
  return true;
}

static bool
check_files(const CommandName* command, const Settings* settings) {
  if (!settings->n_takes && (command->bit & COMMAND_MEND)) {
    return say(command->name,
               "no file is given: name a loop, as in `volleyweave mend "
               "LOOP.wav`");
  }
  if (!settings->n_takes) {
    return say(
      command->name,
      "no file is given: name a file or a folder, as in `volleyweave check "
      "--board wav-44k-mono pack`");
  }
  return true;
}

static bool
check_takes(const CommandName* command, const Settings* settings) {
  if (!settings->n_takes && (command->bit & COMMAND_PACK)) {
    return say(
      command->name,
      "nothing to pack is given: name a sound list or a folder of takes");
  }
  if (!settings->n_takes) {
    return say(
      command->name,
      "no take is given: name a sound file, as in `volleyweave %s zap.wav`",
      command->name);
  }
  for (size_t i = 0; i < settings->n_takes; ++i) {
    if (!strcmp(settings->takes[i], "-")) {
      return say("-",
                 "a take cannot come through a pipe: save it as a file first");
    }
  }
  return true;
}

/// A stretch that ends before it starts, or at once.
static bool
check_stretch(const Settings* settings) {
  const VwFindOptions* const find = &settings->family.find;
  // The tolerance is that of rounding in the difference below.
  if (find->to_s == 0.0 || find->to_s - find->from_s > VW_SHORTEST_S - 1e-9) {
    return true;
  }
  return say("--to",
             find->to_s < find->from_s
               ? "it lies before --from: give a later one, or an earlier --from"
               : "the stretch is shorter than 5 ms: give a later one, or an "
                 "earlier --from");
}

static bool
check_form(const Settings* settings) {
  if (settings->has_form && settings->has_burst) {
    return say("--burst", "a form of its own: leave --form out");
  }
  return true;
}

/// Other takes for run-in and ring-out, of what has none.
static bool
check_ends(const Settings* settings) {
  const LoopSettings* const loop = &settings->loop;
  const char* const         subject =
    loop->run_in_take ? "--run-in-take" : "--ring-out-take";
  if (!loop->run_in_take && !loop->ring_out_take) {
    return true;
  }
  if (settings->family.form == VW_FORM_WHOLE_FILE) {
    return say(subject,
               "one file that repeats has no run-in and no ring-out: give "
               "--form pieces or --form loop-points, or leave it out");
  }
  if (loop->take_turns || loop->burst_seconds > 0.0) {
    return say(subject,
               "of one loop alone: leave it out, or give neither "
               "--take-turns nor --burst-seconds");
  }
  return true;
}

static bool
check_part(const CommandName* command, const Settings* settings) {
  if (!settings->has_part ||
      parts_made(command, settings) & 1U << settings->part) {
    return true;
  }
  const char* const part = vw_part_name(settings->part);
  char* const       shown = text_format("--part %s", part);
  const char* const subject = shown;
  if (command->bit != COMMAND_LOOP) {
    say(subject, "`volleyweave shot` makes the shot alone: use `loop`");
  } else if (settings->part == VW_PART_BURST) {
    say(subject, "no burst is made: add a number of shots, as in --burst 3");
  } else {
    say(subject,
        "the form %s has no such part: %s",
        vw_form_name(settings->family.form),
        settings->has_burst   ? "leave --burst out"
        : settings->has_form  ? "leave --form out"
        : settings->has_board ? "name another --board"
                              : "give another --form");
  }
  free(shown);
  return false;
}

static bool
check_turns(const Settings* settings, const char* subject) {
  const unsigned shots = settings->family.shots;
  if (!settings->loop.take_turns) {
    return true;
  }
  if (settings->n_takes > TURNS_MOST) {
    return say(subject ? subject : "--take-turns",
               "%zu takes, but one loop holds %u at most: give fewer",
               settings->n_takes,
               TURNS_MOST);
  }
  if (shots % settings->n_takes) {
    return say(
      subject ? subject : "--shots",
      "%u shots cannot be shared by %zu takes in turn: give a multiple of "
      "%zu",
      shots,
      settings->n_takes,
      settings->n_takes);
  }
  return true;
}

/// Whether a cycle is short for what goes on after the release.
static bool
is_held_short(const Settings* settings) {
  return settings_is_given(settings, "overrun-max") ||
         (settings->has_board &&
          settings->board.release == VW_RELEASE_FINISHES &&
          !settings_is_given(settings, "cycle-max"));
}

/// A cycle longer than asked for, where the options alone tell.
static bool
check_cycle(const Settings* settings, const char* subject) {
  const VwFamilyOptions* const wish = &settings->family;
  if (wish->fire_rate_per_s == 0.0) {
    return true; // chosen by the take
  }
  const size_t turns = settings->loop.take_turns ? settings->n_takes : 1U;
  const double shots = wish->shots ? wish->shots : (double)turns;
  const double cycle_s = shots / wish->fire_rate_per_s;
  // The tolerance is that of rounding in the division above.
  if (cycle_s <= wish->cycle_max_s * (1.0 + 1e-9)) {
    return true;
  }
  return say(
    subject       ? subject
    : wish->shots ? "--shots"
                  : "--fire-rate",
    "%g shot%s at %g per second take%s %.4g s, the cycle %.4g s at most: give "
    "fewer shots, or a longer %s",
    shots,
    shots > 1.0 ? "s" : "",
    wish->fire_rate_per_s,
    shots > 1.0 ? "" : "s",
    cycle_s,
    wish->cycle_max_s,
    is_held_short(settings) ? "--overrun-max" : "--cycle-max");
}

/// A buffer that lasts longer than a cycle may. At an unknown sample rate it
/// lasts as long or longer.
static bool
check_buffer(const CommandName* command, const Settings* settings) {
  const VwFamilyOptions* const wish = &settings->family;
  const double                 rate_hz =
    wish->format.rate_hz ? wish->format.rate_hz : VW_SAMPLE_RATE_USUAL_HZ;
  const double buffer_s = (double)wish->buffer_frames / rate_hz;
  if (command->bit != COMMAND_LOOP || wish->form == VW_FORM_BURST ||
      buffer_s <= wish->cycle_max_s) {
    return true;
  }
  return say(
    settings->has_board ? "--board" : "--buffer",
    "a buffer of %u frames lasts %.4g s, the cycle %.4g s at most: give a "
    "longer %s",
    wish->buffer_frames,
    buffer_s,
    wish->cycle_max_s,
    is_held_short(settings) ? "--overrun-max" : "--cycle-max");
}

static bool
check_level(const CommandName* command, const Settings* settings) {
  if (settings->has_loudness && settings->has_gain) {
    return say("--gain", "--loudness sets the gain too: give one of them");
  }
  if (!(command->bit & (COMMAND_LOOP | COMMAND_PACK | COMMAND_TRYOUT)) &&
      settings->family.level.loud_as == VW_LOUD_AS_BURST) {
    return say("--loud-as burst", "no burst is made: use `volleyweave loop`");
  }
  return true;
}

/// A lamp track without a channel of its own.
static bool
check_track(const Settings* settings) {
  const VwBoard* const board = &settings->board;
  bool                 two = !settings->has_board;
  if (!settings->family.lamp_track.wanted ||
      settings->family.format.n_channels > 1U) {
    return true;
  }
  for (unsigned i = 0; settings->has_board && i < board->n_channels; ++i) {
    two = two || board->channels[i] > 1U;
  }
  if (two) {
    say("--lamp-track",
        "it is a channel of its own: give --channels 2, or a board with two");
  } else {
    say("--lamp-track",
        "the board %s takes one channel, and it needs its own: name another "
        "board, or build a timer of `volleyweave lamp`",
        board->name);
  }
  return false;
}

/// Several fire rates make no loop.
static bool
check_one_rate(const Settings* settings, const char* subject) {
  if (settings->loop.n_ladder < 2U || settings->loop.burst_seconds > 0.0) {
    return true;
  }
  const char* const text = settings->loop.fire_rate_text;
  const bool        two = settings->loop.n_ladder == 2U;
  char* const       shown = text_format("--fire-rate %s", text);
  char* const       better = text_format("%s", text);
  char* const       comma = better ? strchr(better, ',') : NULL;
  if (comma) {
    // Two may be meant as one with a decimal comma.
    *comma = two ? '.' : '\0';
  }
  say(subject ? subject : shown,
      "%s: write %s; or, to hear several fire rates one after the other, add "
      "--burst-seconds 2",
      two ? "a comma in the number" : "several numbers for one",
      better);
  free(better);
  free(shown);
  return false;
}

static bool
check_ladder(const Settings* settings) {
  if (settings->loop.burst_seconds == 0.0) {
    return true;
  }
  if (!settings->loop.n_ladder) {
    return say(
      "--burst-seconds",
      "it needs several fire rates: write for example --fire-rate 6,8,10,12");
  }
  if (settings->n_takes > 1U || settings->has_burst ||
      settings->print_section) {
    return say("--burst-seconds",
               "a file to listen to: give one take, and neither --burst nor "
               "--print-section");
  }
  return true;
}

bool
settings_check_loop(const Settings* settings, const char* subject) {
  return check_one_rate(settings, subject) && check_turns(settings, subject) &&
         check_cycle(settings, subject);
}

/// Figures of a power that nothing tells.
static bool
check_power(const Settings* settings) {
  const VwPowerWish* const power = &settings->power;
  for (size_t i = 0; i < settings->n_given; ++i) {
    const char* const name = settings->given[i].name;
    if (!(options_find(name)->commands & PROP_POWER)) {
      continue;
    }
    char* const shown = text_format("--%s", name);
    const bool  good =
      settings->loop.burst_seconds > 0.0
         ? say(shown, "it is of one loop: leave it out")
       : isnan(power->supply_v) || isnan(power->impedance_ohm)
         ? say(shown,
              "no power is known without its voltage and the speaker: give "
               "--power-supply and --impedance")
       : power->supply_min_v > power->supply_v
         ? say("--supply-min",
              "more than the supply gives: give at most the %g V of "
               "--power-supply",
              power->supply_v)
         : true;
    free(shown);
    return good;
  }
  return true;
}

static bool
check_lamp(const Settings* settings) {
  if (settings->n_takes != 1U) {
    return say(
      "lamp",
      "%s: give a fire rate, a loop or a sound list, as in `volleyweave lamp "
      "9/s`",
      settings->n_takes ? "one lamp at a time" : "nothing is given");
  }
  if (settings->lamp.duty > 0.0 && settings->family.lamp_on_ms > 0.0) {
    return say("--duty", "--on-time sets it too: give one of them");
  }
  return true;
}

/// A picture shows what one take or file holds, or what is made of it.
static bool
check_plot(const CommandName* command, const Settings* settings) {
  const bool turns = command->bit == COMMAND_LOOP && settings->loop.take_turns;
  if (settings->plot && settings->loop.burst_seconds > 0.0) {
    return say("--plot",
               "a ladder of fire rates has no picture: leave --plot out");
  }
  if (!settings->plot || settings->n_takes < 2U || turns) {
    return true;
  }
  return say("--plot",
             "one picture, but %zu %s are given: give one, or leave --plot out",
             settings->n_takes,
             command->bit == COMMAND_CHECK ? "files" : "takes");
}

bool
settings_check(const CommandName* command, const Settings* settings) {
  if (command->bit & (COMMAND_BOARDS | COMMAND_REHEARSE | COMMAND_GAUGE)) {
    return true;
  }
  if (command->bit & COMMAND_MEND) {
    return check_files(command, settings);
  }
  if (command->bit & COMMAND_LAMP) {
    return check_lamp(settings);
  }
  if (command->bit & COMMANDS_CARD) {
    return command->bit == COMMAND_CHECK
             ? check_files(command, settings) && check_plot(command, settings)
             : check_delivery(settings);
  }
  return check_takes(command, settings) && check_plot(command, settings) &&
         check_stretch(settings) && check_ladder(settings) &&
         check_form(settings) && check_ends(settings) &&
         check_part(command, settings) && settings_check_loop(settings, NULL) &&
         check_buffer(command, settings) && check_level(command, settings) &&
         check_power(settings) &&
         (command->bit != COMMAND_LOOP || check_track(settings));
}
