// From a fire rate or a sound file to a lamp.

#include "cli/lamp/lamp.h"

#include "burst/burst.h"
#include "cli/files/files.h"
#include "cli/message/message.h"
#include "cli/options/options.h"
#include "container/container.h"
#include "store/store.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

// A loop starts with its first shot, whose start is found no later than this;
// and behind the start of its last one there are so many periods at most: one,
// or another if the last shot is too faint for an event of its own, which
// leaves both rates the same.
#define LOOP_STARTS_S 0.040
#define LOOP_LEFT 1.15
#define LOOP_LEFT_FAINT 2.15
#define RATE_SAME 0.005

// Slower than this nobody fires rapidly: it is the slowest rate that `loop`
// chooses by itself.
#define RAPID_LEAST_PER_S 4.0

// The slowest fire rate that can be asked for.
#define RATE_LEAST_PER_S 0.5

// A sound that dies away has fallen by this at its end; a loop only if all its
// shots stand clear of each other (chosen here).
#define QUIET_DB 20.0
#define WINDOW_S 0.02

/// Whether a word ends in what makes it a rate.
static bool
is_rate(const char* word) {
  const char* const slash = strrchr(word, '/');
  return slash && (!strcmp(slash, "/s") || !strcmp(slash, "/min"));
}

/// Whether a word is a file: there is one, or it is named like one.
static bool
is_file(const char* word) {
  const char* const point = strrchr(word, '.');
  const bool        ends = point && isalpha((unsigned char)point[1]);
  const bool        number = isdigit((unsigned char)word[0]) != 0;
  return !access(word, F_OK) || ends ||
         (strchr(word, '/') && !number && !is_rate(word));
}

/* Board */

/// The gap between repeats: as asked, or else the board's.
static double
heard_gap_ms(const Settings* settings) {
  return settings->has_board && !settings_is_given(settings, "gap")
           ? settings->board.gap_ms
           : settings->family.gap_ms;
}

/// The cycle that `loop` would make of one take for the board.
static VwStatus
find_heard(const Settings* settings, double fire_rate_per_s, VwPlan* plan) {
  VwFamilyOptions options = settings->family;
  VwBoard         board = settings->board;
  board.gap_ms = heard_gap_ms(settings);
  const VwStatus st = vw_board_apply(&board, &settings->board_wish, &options);
  options.fire_rate_per_s = fire_rate_per_s;
  return st ? st : vw_plan_find(&options, plan);
}

/* Loop */

/// What the settings, and else the list beside the file, say of it.
static VwLoopKnown
known_of(LampReport* report) {
  const Settings* const settings = report->settings;
  VwLoopKnown           known = vw_loop_unknown();
  report->known =
    vw_made_loop(report->subject, &known) ? LAMP_AS_MADE : LAMP_COUNTED;
  if (settings->family.shots) {
    known.shots = settings->family.shots;
    report->known = LAMP_AS_SAID;
  }
  if (settings->has_board || settings_is_given(settings, "gap")) {
    known.gap_ms = heard_gap_ms(settings);
    report->gap_known = true;
  } else {
    report->gap_known = !isnan(known.gap_ms);
  }
  return known;
}

/// Periods from the last shot's start to the end.
static double
left_of(const VwRateFound* heard) {
  return heard->left_s * heard->fire_rate_per_s;
}

/// Whether rapid fire cannot be a loop: it neither starts nor ends as one.
static bool
is_recording(const VwRateFound* heard) {
  return heard->first_s > LOOP_STARTS_S || left_of(heard) > LOOP_LEFT_FAINT;
}

/// Whether it is a recording beside what a loop of it would be.
static bool
is_no_such_loop(const VwRateFound* heard, const VwRateFound* loop) {
  const double apart = heard->fire_rate_per_s / loop->fire_rate_per_s;
  return left_of(heard) > LOOP_LEFT && !(fabs(apart - 1.0) < RATE_SAME);
}

/// Find the rate of a recording, or else of a loop, and how it is known. What
/// is said to be a take is no loop.
static VwStatus
find_loop(const VwSound* sound, LampReport* report) {
  const VwFindOptions* const finding = &report->settings->family.find;
  const VwLoopKnown          known = known_of(report);
  VwRateFound                loop = {0};
  VwRateFound                heard = {0};
  const bool                 said = finding->has_kind;
  const bool                 rapid = (said || report->known == LAMP_COUNTED) &&
                     !vw_rate_of_recording(sound, finding, &heard);
  VwStatus st = said && !rapid ? VW_NO_STEADY_RATE : VW_OK;
  bool     recorded = said || (rapid && is_recording(&heard));
  if (!recorded) {
    st = vw_rate_of_loop(sound, &known, &loop);
    recorded = rapid && (st == VW_NO_STEADY_RATE ||
                         (!st && is_no_such_loop(&heard, &loop)));
  }
  report->source = recorded ? LAMP_FROM_RECORDING : LAMP_FROM_LOOP;
  report->found = recorded ? heard : loop;
  report->heard = heard;
  return recorded && !said ? VW_OK : st;
}

/* Single shot */

static double
power_of(const VwSound* sound, size_t from, size_t n) {
  double power = 0.0;
  for (size_t i = from; i < from + n; ++i) {
    const double x = (double)sound->values[i * sound->n_channels];
    power += x * x;
  }
  return power;
}

/// Whether a sound ends far below its loudest part, as a shot that dies away.
static bool
ends_quiet(const VwSound* sound) {
  const size_t n = (size_t)(WINDOW_S * sound->rate_hz);
  double       most = 0.0;
  for (size_t i = 0; n && i + n <= sound->n_frames; i += n) {
    most = fmax(most, power_of(sound, i, n));
  }
  return n && n < sound->n_frames &&
         power_of(sound, sound->n_frames - n, n) <
           most * pow(10.0, -QUIET_DB / 10.0);
}

/// The loop of the same sound, where there is one. To be freed; or NULL.
static char*
loop_beside(const SoundName* name) {
  char* const loop =
    name->has_part ? sound_name_sibling(name, VW_PART_LOOP) : NULL;
  if (loop && !access(loop, F_OK)) {
    return loop;
  }
  free(loop);
  return NULL;
}

static void
refuse_part(const SoundName* name) {
  static const char* const parts[] = {
    [VW_PART_SHOT] = "a single shot",
    [VW_PART_RUN_IN] = "the run-in of a loop",
    [VW_PART_LOOP] = "a loop",
    [VW_PART_RING_OUT] = "the ring-out of a loop",
    [VW_PART_BURST] = "a finished burst of few shots",
    [VW_PART_WHOLE] = "a whole sound"};
  char* const loop = loop_beside(name);
  char* const give = loop ? text_format("%s, or a fire rate", loop)
                          : text_format("a loop, or a fire rate");
  say(name->path,
      "%s by its name: give %s, as in 9/s",
      parts[name->part],
      give ? give : "a fire rate");
  free(give);
  free(loop);
}

/// Whether a name tells of something that has no rate.
static bool
is_other_part(const SoundName* name, const LampReport* report) {
  if (!name->has_part || name->part == VW_PART_LOOP) {
    return false;
  }
  return name->part != VW_PART_BURST || report->source == LAMP_FROM_LOOP;
}

static void
refuse_slow(const LampReport* report) {
  const double rate = report->found.fire_rate_per_s;
  char* const  anyway =
    rate >= RATE_LEAST_PER_S
       ? text_format("; if it is a loop, write `volleyweave lamp %.6g/s`", rate)
       : text_format("%s", "");
  say(report->subject,
      "one shot in %.3g s is no rapid fire: give a loop or a fire rate, as in "
      "9/s%s",
      1.0 / rate,
      anyway ? anyway : "");
  free(anyway);
}

/// Whether a count of shots cannot be trusted: what dies away and is no rapid
/// fire, or is several shots, is no loop unless each shot is an event.
static bool
is_no_loop(const LampReport* report, bool quiet) {
  const VwRateFound* const heard = &report->heard;
  const size_t             shots = report->found.shots;
  const bool               several = heard->kind == VW_KIND_SEVERAL_SHOTS;
  return heard->kind != VW_KIND_RAPID_FIRE && heard->events != shots &&
         ((several && heard->events > 1U) ||
          (quiet && heard->events && shots > 1U));
}

/// Say what holds no even shots and what to do about it.
static void
refuse_kind(const LampReport* report, VwKind kind) {
  static const char* const reasons[] = {
    [VW_KIND_SHOT] = "a single shot, which dies away: give its loop, or a fire "
                     "rate",
    [VW_KIND_SEVERAL_SHOTS] =
      "several uneven shots: cut them apart with `split`, or give a fire rate",
    [VW_KIND_SUSTAINED] = "a sustained sound, in which no shot repeats: give "
                          "the lamp's rate",
    [VW_KIND_RAPID_FIRE] = "rapid fire, whose rate is in doubt: give a fire "
                           "rate"};
  say(report->subject,
      "%s, as in 9/s%s",
      reasons[kind],
      report->settings->family.find.has_kind
        ? ""
        : "; if it is a loop, give --shots");
}

/// One shot that fills a file may be a loop or not; only a name would tell.
static void
warn_one(const LampReport* report, bool quiet) {
  say(report->subject,
      "read as a loop of one shot, but %s: if it is none, give its loop or a "
      "fire rate, as in 9/s",
      quiet ? "it dies away" : "its name does not say so");
}

/// Refuse what by its name, or by its length, is a single shot or a sound that
/// goes on; warn of what may be one. False, and said, if it is refused.
static bool
check_single(const LampReport* report, bool quiet) {
  const SoundName name = sound_name_of(report->subject);
  const bool      counted =
    report->source == LAMP_FROM_LOOP && report->known == LAMP_COUNTED;
  if (counted && sound_name_sounds_on(&name)) {
    refuse_kind(report, VW_KIND_SUSTAINED);
    return false;
  }
  if (report->marked || report->settings->family.find.has_kind) {
    return true;
  }
  if (is_other_part(&name, report)) {
    refuse_part(&name);
    return false;
  }
  if (name.has_part || !counted) {
    return true;
  }
  if (vw_is_made_otherwise(report->subject)) {
    return say(
      report->subject,
      "it was made here as no loop: give its loop or a fire rate, as in 9/s; "
      "if it is one, give --shots");
  }
  if (is_no_loop(report, quiet)) {
    refuse_kind(report, report->heard.kind);
    return false;
  }
  if (report->found.shots != 1U) {
    return true;
  }
  if (report->found.fire_rate_per_s < RAPID_LEAST_PER_S) {
    refuse_slow(report);
    return false;
  }
  if (!report->settings->quiet) {
    warn_one(report, quiet);
  }
  return true;
}

/* Sound */

/// Keep the loop that a file marks, if it does, instead of all of it.
static VwStatus
keep_marked(const char* path, VwSound* sound, bool* marked) {
  size_t         start = 0;
  size_t         end = 0;
  const VwStatus st = vw_read_loop_points(path, &start, &end);
  *marked = !st && end && end <= sound->n_frames;
  if (!*marked) {
    return st;
  }
  memmove(sound->values,
          sound->values + start * sound->n_channels,
          (end - start) * sound->n_channels * sizeof(float));
  sound->n_frames = end - start;
  return VW_OK;
}

static VwStatus
follow_sound(const VwSound* sound, LampReport* report) {
  const Settings* const settings = report->settings;
  if (report->source != LAMP_FROM_LOOP) {
    return VW_OK;
  }
  VwStatus st = vw_on_time_of_loop(
    sound, report->found.shots, report->found.gap_ms, &report->on_time);
  if (!st && settings->lamp.brightness_steps > 0.0) {
    report->n_steps = (size_t)settings->lamp.brightness_steps;
    st = vw_brightness_of_loop(sound,
                               report->found.shots,
                               settings->lamp.gamma,
                               report->n_steps,
                               report->steps);
  }
  return st;
}

static VwStatus
listen(LampReport* report, bool* quiet) {
  const Settings* const settings = report->settings;
  VwSound               sound = {0};
  VwStatus st = vw_read(report->subject, &settings->reading, &sound, NULL);
  st = st ? st : keep_marked(report->subject, &sound, &report->marked);
  if (st) {
    vw_sound_clear(&sound);
    return st;
  }
  *quiet = ends_quiet(&sound);
  (void)vw_lamp_track_find(&sound, &report->track);
  st = loop_holds_shots(settings->family.shots, &sound, heard_gap_ms(settings))
         ? find_loop(&sound, report)
         : VW_BAD_OPTION;
  st = st ? st : follow_sound(&sound, report);
  vw_sound_clear(&sound);
  return st;
}

static int
from_sound(LampReport* report, double* rate) {
  bool           quiet = false;
  const VwStatus st = listen(report, &quiet);
  if (st == VW_NO_STEADY_RATE && report->heard.events) {
    const SoundName name = sound_name_of(report->subject);
    if (!report->settings->family.find.has_kind &&
        is_other_part(&name, report)) {
      refuse_part(&name);
    } else {
      refuse_kind(report, report->heard.kind);
    }
    return EXIT_FILE;
  }
  if (st == VW_BAD_OPTION) {
    return EXIT_FILE; // said
  }
  if (st) {
    say_status(report->subject, st);
    return EXIT_FILE;
  }
  if (!check_single(report, quiet)) {
    return EXIT_FILE;
  }
  *rate = report->found.fire_rate_per_s;
  return EXIT_DONE;
}

/* Rate */

static int
from_rate(LampReport* report, double* rate) {
  const char* const word = report->subject;
  report->source = LAMP_FROM_RATE;
  if (!isdigit((unsigned char)word[0]) && !strchr("+-.", word[0])) {
    return say_usage(word,
                     "neither a file nor a fire rate: write 9/s, 540/min or "
                     "110ms, or name a loop");
  }
  if (!units_read_fire_rate(word, word, rate)) {
    return EXIT_USAGE;
  }
  if (!report->settings->has_board) {
    return EXIT_DONE;
  }
  const VwStatus st = find_heard(report->settings, *rate, &report->plan);
  if (st) {
    say_status(word, st);
    return EXIT_USAGE;
  }
  *rate = report->plan.fire_rate_per_s;
  return EXIT_DONE;
}

/* On-time */

/// The on-time: as asked, of the sound, or as usual. A duty cycle may leave the
/// lamp dark for less than half the time.
static void
choose_on_time(LampReport* report, double rate) {
  const Settings* const settings = report->settings;
  const double          duty = settings->lamp.duty;
  if (report->source != LAMP_FROM_LOOP) {
    report->on_time = vw_on_time_usual(
      1000.0 *
      (report->plan.shots ? vw_plan_period_s(&report->plan) : 1.0 / rate));
  }
  vw_on_time_ask(settings->family.lamp_on_ms, &report->on_time);
  if (duty > 0.0) {
    report->on_time.on_ms = duty * 1000.0 / rate;
    report->on_time.reason = VW_ON_ASKED;
  }
  report->lamp = vw_lamp_with(rate, report->on_time.on_ms);
}

/// Refuse a kind beside what has none.
static int
check_kind(const LampReport* report, bool file) {
  const Settings* const settings = report->settings;
  if (!settings->family.find.has_kind) {
    return EXIT_DONE;
  }
  if (settings->family.shots) {
    return say_usage("--as",
                     "of a recording, and --shots of a loop: give one of both");
  }
  return file ? EXIT_DONE
              : say_usage("--as", "of a recording: name its file, not a rate");
}

int
lamp_source_find(LampReport* report) {
  const bool file = is_file(report->subject);
  double     rate = 0.0;
  int        status = check_kind(report, file);
  report->on_time.near_ms = NAN;
  if (status == EXIT_DONE) {
    status = file ? from_sound(report, &rate) : from_rate(report, &rate);
  }
  if (status != EXIT_DONE) {
    return status;
  }
  choose_on_time(report, rate);
  const size_t n_steps = (size_t)report->settings->lamp.brightness_steps;
  if (report->source != LAMP_FROM_LOOP && n_steps) {
    report->n_steps = n_steps;
    vw_brightness_of_decay(
      &report->lamp, report->settings->lamp.gamma, n_steps, report->steps);
  }
  return EXIT_DONE;
}
