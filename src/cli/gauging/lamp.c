// A lamp: what its recording, or the list of a video's pictures, holds.

#include "gauge/lamp/lamp.h"
#include "base/size.h"
#include "cli/gauging/gauging.h"
#include "cli/message/figures.h"
#include "cli/plot/plot.h"
#include "store/store.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// A flash of fewer pictures may lie in parts of them alone: how bright it is,
// and so how long, is then not seen (chosen here).
#define PICTURES_LEAST 2.0

// A picture shows so many flashes, and of a video so many values a second at
// least.
#define FLASHES_SHOWN 6U
#define SHOWN_LEAST_HZ 4800.0

// Of what the panel is high, which ends at 1.
#define HEIGHT 0.55

// A rate given that is so far off that of the times is named (chosen here).
#define RATE_OFF 0.001

// A rate is shown in such steps.
#define RATE_STEP_HZ 0.001

/// A lamp, or why there is none.
typedef struct {
  const char*  path;
  double       pictures_per_s; ///< 0: of a recording.
  VideoList    list;           ///< Of a video.
  VwSound      light;          ///< As it was recorded. Owned.
  VwLampGauged lamp;
  VwStatus     status;
  char*        message; ///< Owned.
} Found;

/* The list of a video's pictures. */

/// The brightness of pictures as a sound that is drawn: each of them for some
/// frames.
static VwStatus
sound_of(const VideoList* list, double pictures_per_s, VwSound* sound) {
  const size_t   each = (size_t)(SHOWN_LEAST_HZ / pictures_per_s) + 1U;
  const VwStatus st = vw_sound_init(
    sound, list->n * each, 1U, (unsigned)(pictures_per_s * (double)each + 0.5));
  double least = HUGE_VAL;
  double most = -HUGE_VAL;
  for (size_t i = 0; i < list->n; ++i) {
    least = fmin(least, list->brightness[i]);
    most = fmax(most, list->brightness[i]);
  }
  const double middle = 0.5 * (least + most);
  for (size_t i = 0; !st && i < list->n * each; ++i) {
    sound->values[i] = (float)((list->brightness[i / each] - middle) /
                               (HEIGHT * (most - least)));
  }
  return st;
}

static VwStatus
gauge_list(Found* found) {
  const double     per_s = found->pictures_per_s;
  VideoList* const list = &found->list;
  VwStatus         st = video_list_read(found->path, per_s, list);
  st = st ? st
          : vw_lamp_gauge_video(list->brightness, list->n, per_s, &found->lamp);
  st = st ? st : sound_of(list, per_s, &found->light);
  free(list->brightness);
  list->brightness = NULL;
  return st;
}

/* A recording. */

static VwStatus
gauge_recording(const Settings* settings, Found* found) {
  VwSound  sound = {0};
  VwStatus st = vw_read(found->path, &settings->reading, &sound, NULL);
  st = st ? st : vw_lamp_gauge(&sound, &found->lamp);
  st = st ? st : vw_sound_channel(&sound, found->lamp.channel, &found->light);
  vw_sound_clear(&sound);
  return st;
}

static char*
message_of(VwStatus status, bool is_list) {
  if (status == VW_NO_STEADY_RATE) {
    return is_list
             ? text_format("no even flashes in it: give the brightness of one "
                           "spot, a picture a line, of a second or more")
             : text_format("no even flashes in it: hold the cell at the lamp, "
                           "set its level lower, and record 3 s");
  }
  if (status == VW_TOO_SHORT && is_list) {
    return text_format("too few of its lines end in a number: give the "
                       "brightness of one spot, a picture a line");
  }
  if (status == VW_TOO_SHORT) {
    return text_format("it is too short for a rate: record 3 s or more");
  }
  return status_message(status);
}

/* The report. */

/// Set what the list of a video's pictures leaves open.
static void
set_list(Figures* of, const Found* found) {
  const VideoList* const list = &found->list;
  const double           given = found->pictures_per_s;
  const bool             off =
    given > 0.0 && fabs(list->times_per_s / given - 1.0) > RATE_OFF;
  figures_set(of, "untimed", given > 0.0 && !list->timed);
  figures_set_some(of, "pictures_missing", list->n_missing);
  figures_set(of, "pictures_per_s", off ? list->times_per_s : (double)NAN);
}

static Figures*
figures_of(const Found* found) {
  const VwLampGauged* const lamp = found->status ? NULL : &found->lamp;
  Figures* const            all = figures_of_command("gauge");
  figures_set(all, "gauged", "lamp");
  figures_set(all, "recording", found->path);
  figures_set(all, "error", figures_of_error(found->status, found->message));
  if (!lamp) {
    return all;
  }
  const double period_ms = 1e3 / lamp->rate_hz;
  const double error = lamp->rate_hz / lamp->sound_rate_hz - 1.0;
  figures_set(all, "flashes", lamp->flashes);
  figures_set(all, "pulse_hz", lamp->rate_hz);
  figures_set(all, "pulse_uncertainty_hz", lamp->uncertainty_hz);
  figures_set(all, "rate_change_percent", 100.0 * lamp->rate_change);
  figures_set(all, "jitter_ms", lamp->jitter_ms);
  figures_set(all, "period_ms", period_ms);
  figures_set(all, "on_ms", lamp->on_ms);
  figures_set(all, "on_jitter_ms", lamp->on_jitter_ms);
  figures_set(all, "dark_ms", lamp->dark_ms);
  figures_set(all, "duty", lamp->on_ms / period_ms);
  figures_set(all, "in_doubt", !lamp->shown);
  figures_set(all, "may_be_sound", lamp->may_be_sound);
  figures_set(all,
              "lamp_channel",
              found->pictures_per_s > 0.0 ? NAN : lamp->channel + 1.0);
  figures_set(all,
              "few_pictures",
              lamp->on_ms * found->pictures_per_s < 1e3 * PICTURES_LEAST &&
                found->pictures_per_s > 0.0);
  set_list(all, found);
  figures_set(all, "mains_hz", lamp->hum_hz);
  figures_set_some(all, "shots", lamp->shots);
  figures_set(all, "lag_ms", lamp->sound_lag_ms);
  figures_set(
    all, "early_ms", lamp->sound_lag_ms < 0.0 ? -lamp->sound_lag_ms : NAN);
  figures_set(all, "fire_rate_per_s", lamp->sound_rate_hz);
  figures_set(all, "drift_s", vw_drift_s(error, period_ms));
  figures_set(
    all, "cautions", caution_figures(caution_of_flashes(lamp->rate_hz)));
  return all;
}

/// What is said of a lamp, row by row.
static const Line told[] = {
  {"lamp",
   "{flashes} flashes, {pulse_hz:.3f} a second, each {on_ms:.1f} ms, then "
   "{dark_ms:.1f} ms dark",
   NULL,
   true},
  {"in doubt",
   "no pause shows which part is lit: it may be {dark_ms:.1f} ms: record it "
   "from before the first flash on",
   "in_doubt",
   true},
  {"in doubt",
   "a flash has fewer than two pictures, so its length is not sure, nor is a "
   "fast rate: take more pictures a second",
   "few_pictures",
   true},
  {"in doubt",
   "by its times the video has {pictures_per_s:.3f} pictures a second: give "
   "that as --video-rate",
   "pictures_per_s",
   true},
  {"in doubt",
   "no times stand in the list, so nothing shows if pictures were dropped: one "
   "in 200 makes the rate 0.5 % too high",
   "untimed",
   true},
  {"pictures",
   "{pictures_missing} had been dropped: filled in by those beside",
   "pictures_missing",
   true},
  {"in doubt",
   "channel {lamp_channel:.0f} counts as the lamp, and may be the sound: both "
   "channels are even, or it is lit for under 5 ms",
   "may_be_sound",
   true},
  {"rate",
   "it changes by {rate_change_percent:+.1f} % from the first flash to the "
   "last",
   "rate_change_percent",
   true},
  {"accuracy",
   "rate to {rate_to_hz:.3f} a second, {!varies?each flash to 0.1 "
   "ms}{varies?flashes vary by {jitter_ms:.1f} ms}{on_varies?, their on-times "
   "by {on_jitter_ms:.1f} ms}",
   NULL,
   true},
  {"sound",
   "{shots} shots, {lag_ms:.1f} ms after their flashes",
   "shots !early_ms",
   true},
  {"sound",
   "{shots} shots, {early_ms:.1f} ms before their flashes",
   "early_ms",
   true},
  {"drift",
   "{fire_rate_per_s:.3f} shots a second: lamp and sound are 45 ms apart after "
   "{drift_s:.1f} s",
   "drift_s",
   true},
};

static bool
report(const Settings* settings, const Found* found) {
  Figures* const all = figures_of(found);
  if (settings->json) {
    return figures_json(all, stdout);
  }
  if (!found->status && !settings->quiet) {
    figures_set(
      all, "rate_to_hz", gauge_to(found->lamp.uncertainty_hz, RATE_STEP_HZ));
    figures_set(all, "varies", found->lamp.jitter_ms >= 0.5 * GAUGE_STEP_MS);
    figures_set(
      all, "on_varies", found->lamp.on_jitter_ms >= 0.5 * GAUGE_STEP_MS);
    figures_lines(all, LINES(told), stdout);
    caution_lines(caution_of_flashes(found->lamp.rate_hz), NULL, stdout);
  }
  figures_free(all);
  return true;
}

/* The picture */

static VwStatus
draw(const Found* found, const char* plot, VwBytes* bytes) {
  const VwLampGauged* const lamp = &found->lamp;
  const GaugePicture        of = {
           .path = found->path,
           .sound = &found->light,
           .headline = "A lamp's flashes",
           .description = "The light of a lamp as it was recorded, with its "
                                 "flashes, and the first of them closely.",
           .heading = "Light, as it was recorded",
           .name = "lit",
           .begins = "lit",
           .ends = "dark",
           .first_s = lamp->first_s,
           .long_s = 1e-3 * lamp->on_ms,
           .each_s = 1.0 / lamp->rate_hz,
           .n = lamp->flashes < FLASHES_SHOWN ? lamp->flashes : FLASHES_SHOWN};
  return gauge_plot(&of, plot, bytes);
}

/// Draw it and write that. False, and said, if that fails.
static bool
write_plot(const Settings* settings, const Found* found) {
  const VwWriteOptions options = {.force = settings->force,
                                  .dry_run = settings->dry_run,
                                  .takes = settings->takes + 1,
                                  .n_takes = settings->n_takes - 1U};
  VwOutput             output = {.path = settings->plot};
  size_t               at = 0;
  VwStatus             st = draw(found, settings->plot, &output.bytes);
  st = st ? st : vw_write(&output, 1U, &options, &at);
  vw_bytes_clear(&output.bytes);
  if (st) {
    plot_say(settings->plot, st);
  }
  return !st;
}

static bool
gauge_one(const Settings* settings, const char* path) {
  const double pictures_per_s = settings->gauge.video_rate_hz;
  const bool   is_list = pictures_per_s > 0.0;
  Found        found = {.path = path, .pictures_per_s = pictures_per_s};
  found.status =
    is_list ? gauge_list(&found) : gauge_recording(settings, &found);
  if (found.status) {
    found.message = message_of(found.status, is_list);
    say(path, "%s", found.message ? found.message : "failed");
  }
  if (!report(settings, &found)) {
    say_status(path, VW_NO_MEMORY);
    found.status = VW_NO_MEMORY;
  }
  const bool good =
    !found.status && (!settings->plot || write_plot(settings, &found));
  vw_sound_clear(&found.light);
  free(found.message);
  return good;
}

int
gauge_lamp(const CommandName* command, const Settings* settings) {
  (void)command;
  bool good = true;
  if (settings->n_takes < 2U) {
    return say_usage("gauge lamp",
                     "a recording of the lamp is missing: put its name behind "
                     "`lamp`");
  }
  if (settings->plot && settings->n_takes > 2U) {
    return say_usage("--plot",
                     "one picture, but %zu recordings are given: give one, or "
                     "leave --plot out",
                     settings->n_takes - 1U);
  }
  const int status = plot_check(settings);
  if (status != EXIT_DONE) {
    return status;
  }
  for (size_t i = 1; i < settings->n_takes; ++i) {
    good = gauge_one(settings, settings->takes[i]) && good;
  }
  return good ? EXIT_DONE : EXIT_FILE;
}
