#include "cli/lamp/lamp_single.h"

#include "cli/files/sound_name.h"
#include "cli/message/say.h"
#include "cli/message/text.h"
#include "store/store.h"

#include <math.h>
#include <stdlib.h>
#include <unistd.h>

// Slower than this nobody fires rapidly: it is the slowest rate that `loop`
// chooses by itself.
#define RAPID_LEAST_PER_S 4.0

// The slowest fire rate that can be asked for.
#define RATE_LEAST_PER_S 0.5

// A shot that dies away has fallen by this at its end; a loop seldom (chosen
// here).
#define QUIET_DB 30.0
#define WINDOW_S 0.02

static double
power_of(const VwSound* sound, size_t from, size_t n) {
  double power = 0.0;
  for (size_t i = from; i < from + n; ++i) {
    const double x = (double)sound->values[i * sound->n_channels];
    power += x * x;
  }
  return power;
}

bool
lamp_single_ends_quiet(const VwSound* sound) {
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
  char* const give =
    loop ? text_format("its loop, %s, or a fire rate", loop)
         : text_format("a loop made by `volleyweave loop`, or a fire rate");
  say(name->path,
      "%s by its name, and nothing repeats in it: give %s, as in `volleyweave "
      "lamp 9/s`",
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
       ? text_format("; if it is a loop of one shot all the same, write "
                     "`volleyweave lamp %.6g/s`",
                    rate)
       : text_format("%s", "");
  say(report->subject,
      "one shot in %.3g s is a single shot, or a sound that goes on: give its "
      "loop, made by `volleyweave loop`, or a fire rate, as in `volleyweave "
      "lamp 9/s`%s",
      1.0 / rate,
      anyway ? anyway : "");
  free(anyway);
}

/// One shot that fills a file may be a loop or not; only a name would tell.
static void
warn_one(const LampReport* report, bool quiet) {
  say(report->subject,
      "read as a loop of one shot, but %s: if it is a single shot, give its "
      "loop or a fire rate, as in `volleyweave lamp 9/s`",
      quiet ? "it dies away" : "its name tells nothing of a loop");
}

bool
lamp_single_check(const LampReport* report, bool quiet) {
  const SoundName name = sound_name_of(report->subject);
  if (report->marked) {
    return true;
  }
  if (is_other_part(&name, report)) {
    refuse_part(&name);
    return false;
  }
  if (name.has_part || report->source != LAMP_FROM_LOOP ||
      report->known != LAMP_COUNTED || report->found.shots != 1U) {
    return true;
  }
  if (report->found.fire_rate_per_s < RAPID_LEAST_PER_S) {
    refuse_slow(report);
    return false;
  }
  if (vw_is_own_output(report->subject)) {
    say(report->subject,
        "made here and no loop, says the list in its folder: give its loop, or "
        "a fire rate, as in `volleyweave lamp 9/s`");
    return false;
  }
  if (!report->settings->quiet) {
    warn_one(report, quiet);
  }
  return true;
}
