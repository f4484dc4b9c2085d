#include "cli/lamp/lamp_source.h"

#include "cli/lamp/lamp_heard.h"
#include "cli/lamp/lamp_loop.h"
#include "cli/lamp/lamp_single.h"
#include "cli/message/say.h"
#include "cli/message/status.h"
#include "cli/options/units.h"
#include "container/container.h"
#include "lamp/lamp.h"

#include <ctype.h>
#include <math.h>
#include <string.h>
#include <unistd.h>

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

/* Sound */

/// Keep the loop that a file marks, instead of all of it. False without one.
static bool
keep_marked(const char* path, VwSound* sound) {
  size_t start = 0;
  size_t end = 0;
  if (!vw_read_loop_points(path, &start, &end) || end > sound->n_frames) {
    return false;
  }
  memmove(sound->values,
          sound->values + start * sound->n_channels,
          (end - start) * sound->n_channels * sizeof(float));
  sound->n_frames = end - start;
  return true;
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
listen(LampReport* report, bool* ends_quiet) {
  const Settings* const settings = report->settings;
  VwSound               sound = {0};
  VwStatus st = vw_read(report->subject, &settings->reading, &sound, NULL);
  if (st) {
    return st;
  }
  report->marked = keep_marked(report->subject, &sound);
  *ends_quiet = lamp_single_ends_quiet(&sound);
  (void)vw_lamp_track_find(&sound, &report->track);
  st = lamp_loop_find(&sound, report);
  st = st ? st : follow_sound(&sound, report);
  vw_sound_clear(&sound);
  return st;
}

static int
from_sound(LampReport* report, double* rate) {
  bool           ends_quiet = false;
  const VwStatus st = listen(report, &ends_quiet);
  if (st) {
    say_status(report->subject, st);
    return EXIT_FILE;
  }
  if (!lamp_single_check(report, ends_quiet)) {
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
  const VwStatus st = lamp_heard_find(report->settings, *rate, &report->plan);
  if (st) {
    say_status(word, st);
    return EXIT_USAGE;
  }
  *rate = report->plan.fire_rate_per_s;
  return EXIT_DONE;
}

/* On-time */

/// The on-time: as asked, of the sound, or as usual.
static void
choose_on_time(LampReport* report, double rate) {
  const Settings* const settings = report->settings;
  const VwLamp          usual = vw_lamp(rate);
  const double          asked_ms = settings->lamp.duty > 0.0
                                     ? settings->lamp.duty * usual.period_ms
                                     : settings->family.lamp_on_ms;
  if (asked_ms > 0.0) {
    report->on_time.on_ms = asked_ms;
    report->on_time.reason = VW_ON_ASKED;
  } else if (report->source != LAMP_FROM_LOOP) {
    report->on_time = (VwOnTime){usual.on_ms, NAN, VW_ON_USUAL};
  }
  report->lamp = vw_lamp_with(rate, report->on_time.on_ms);
}

int
lamp_source_find(LampReport* report) {
  double rate = 0.0;
  report->on_time.near_ms = NAN;
  const int status = is_file(report->subject) ? from_sound(report, &rate)
                                              : from_rate(report, &rate);
  if (status != EXIT_DONE) {
    return status;
  }
  choose_on_time(report, rate);
  if (report->lamp.on_ms >= report->lamp.period_ms) {
    return say_usage("--on-time",
                     "%.4g ms do not fit into a period of %.4g ms: give a "
                     "shorter one",
                     report->lamp.on_ms,
                     report->lamp.period_ms);
  }
  const size_t n_steps = (size_t)report->settings->lamp.brightness_steps;
  if (report->source != LAMP_FROM_LOOP && n_steps) {
    report->n_steps = n_steps;
    vw_brightness_of_decay(
      &report->lamp, report->settings->lamp.gamma, n_steps, report->steps);
  }
  return EXIT_DONE;
}
