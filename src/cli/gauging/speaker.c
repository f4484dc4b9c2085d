// A speaker: its test sound, and what recordings of it tell.

#include "cli/gauging/speaker.h"

#include "base/caution.h"
#include "base/ranges.h"
#include "cli/gauging/gauging.h"
#include "cli/message/message.h"
#include "cli/options/speaker.h"
#include "cli/plot/plot.h"
#include "store/store.h"

#include <stdlib.h>
#include <string.h>

// Slower ones are a telephone call's.
#define RATE_LEAST_HZ 16000U

// An echo this loud and this early looks like resonances and a higher corner
// (chosen here, by simulated speakers).
#define ECHO_MOST_DB (-12.0)
#define ECHO_EARLY_MS 14.0

/* The test sound */

static int
write_test(const CommandName* command, const Settings* settings) {
  const VwFormat* const format = &settings->family.format;
  VwSound               sound = {0};
  const VwStatus        st = vw_sweep_test_make(
    format->rate_hz ? format->rate_hz : VW_SAMPLE_RATE_USUAL_HZ,
    format->n_channels,
    &sound);
  if (st) {
    say_status(command->name, st);
    return EXIT_FILE;
  }
  const GaugeSound test = {
    &sound,
    "gauge-speaker",
    VW_CAUTION_SWEEP,
    "build the speaker in, and play it once; the phone lies a hand's breadth "
    "away, set to WAV if it can, automatic gain and noise suppression off: "
    "begin before the sound, end after it, and record at several places"};
  const int status = gauge_write(command, settings, &test);
  vw_sound_clear(&sound);
  return status;
}

/* Recordings */

/// Why a test sound that was found does not show its speaker, to be freed; NULL
/// if it does.
static char*
hidden_message(const VwSweepHeard* heard) {
  if (heard->doubts & VW_DOUBT_CLIPPED) {
    return text_format("%.0f %% of its sweep is clipped, from %.0f to %.0f Hz: "
                       "turn the board down, or record farther away",
                       100.0 * heard->clipped,
                       heard->clipped_hz,
                       heard->clipped_to_hz);
  }
  if (heard->echo_db > ECHO_MOST_DB && heard->echo_ms < ECHO_EARLY_MS) {
    return text_format("an echo of %.1f dB after %.1f ms hides corner and "
                       "resonances: record nearer, or in a bigger room, away "
                       "from walls",
                       heard->echo_db,
                       heard->echo_ms);
  }
  return NULL;
}

/// Why a recording cannot be used, to be freed; NULL if it can.
static char*
missing_message(const VwSweepHeard* heard) {
  switch (heard->missing) {
    case VW_SWEEP_FOUND:
      return hidden_message(heard);
    case VW_SWEEP_SILENT:
      return text_format("it is silent: check that the speaker plays, and that "
                         "the right microphone records");
    case VW_SWEEP_NO_MARKS:
      return text_format("the sweep of gauge-speaker.wav is not in it: record "
                         "all of that file's sound, nearer to the speaker");
    case VW_SWEEP_CUT_FRONT:
      return text_format("the chirp before the sweep is missing: let it record "
                         "before the board plays");
    case VW_SWEEP_CUT_END:
      return text_format("it ends before the chirp behind the sweep: record "
                         "until the board is silent");
    case VW_SWEEP_APART:
      return text_format(
        "its chirps lie too near or too far apart: cut nothing "
        "out, and check at which rate the board plays");
  }
  return NULL;
}

static bool
is_lossy(const char* path) {
  static const char* const endings[] = {
    ".mp3", ".ogg", ".oga", ".opus", ".MP3", ".OGG", ".OPUS"};
  for (size_t i = 0; i < sizeof(endings) / sizeof(endings[0]); ++i) {
    if (vw_path_ends_in(path, endings[i])) {
      return true;
    }
  }
  return false;
}

/// Read a recording, one channel of it.
static VwStatus
read_one(const Settings* settings, SpeakerRecording* to, VwSound* sound) {
  VwSound     raw = {0};
  VwDownmix   how;
  VwReadFault fault = {0};
  VwStatus    st = vw_read(to->path, &settings->reading, &raw, &fault);
  if (st == VW_TOO_LONG) {
    to->message = text_format("it is longer than %.10g s: cut the sweep out of "
                              "it with both chirps, or give --seconds-max",
                              settings->reading.seconds_max);
  } else if (!st && raw.rate_hz < RATE_LEAST_HZ) {
    to->message = text_format(
      "its sample rate of %u Hz is a telephone call's: record with the "
      "telephone itself, at 44100 Hz or more",
      raw.rate_hz);
    st = VW_SAMPLE_RATE;
  }
  st = st ? st : vw_downmix(&raw, 1U, &how, sound);
  vw_sound_clear(&raw);
  return st;
}

/// Find what is in one recording. False, and said, if it cannot be used.
static bool
hear_one(const SpeakerReport* report, SpeakerRecording* to) {
  VwSound  sound = {0};
  VwStatus st = read_one(report->settings, to, &sound);
  st = st ? st : vw_sweep_hear(&sound, &to->heard);
  vw_sound_clear(&sound);
  if (!st) {
    to->message = missing_message(&to->heard);
  }
  if (!st && !to->message) {
    st = vw_speaker_gauge(&to->heard, 1U, report->transducer, &to->gauged);
    if (st == VW_SILENT) {
      to->message = text_format("noise hides the sweep: record nearer, in a "
                                "quieter place");
    }
  }
  if (st && !to->message) {
    to->message = status_message(st);
  }
  to->status = st || !to->message ? st : VW_NO_SHOT;
  to->lossy = is_lossy(to->path);
  to->used = !st && !to->message;
  if (!to->used) {
    say(to->path, "%s", to->message ? to->message : "not enough memory");
  }
  return to->used;
}

/// Put together what all tell, or take the best of a transducer's.
static VwStatus
gather(SpeakerReport* report) {
  VwSweepHeard* const    heard = calloc(report->n_used, sizeof(VwSweepHeard));
  VwSpeakerGauged* const gauged =
    calloc(report->n_used, sizeof(VwSpeakerGauged));
  VwStatus st = heard && gauged ? VW_OK : VW_NO_MEMORY;
  size_t   n = 0;
  for (size_t i = 0; !st && i < report->n_recordings; ++i) {
    if (report->recordings[i].used) {
      heard[n] = report->recordings[i].heard;
      gauged[n++] = report->recordings[i].gauged;
    }
  }
  if (!st && report->transducer) {
    size_t at = vw_transducer_best(heard, gauged, n);
    report->gauged = gauged[at];
    for (size_t i = 0; i < report->n_recordings; ++i) {
      if (report->recordings[i].used && !at--) {
        report->best = i;
        break;
      }
    }
  } else if (!st) {
    st = vw_speaker_gauge(heard, n, false, &report->gauged);
  }
  free(heard);
  free(gauged);
  return st;
}

/* Files */

/// The file of a speaker, its figures in front as comments. To be freed.
static char*
file_of(const SpeakerReport* report) {
  char*       text = NULL;
  size_t      n = 0;
  FILE* const out = open_memstream(&text, &n);
  if (!out) {
    return NULL;
  }
  const VwSpeakerGauged* const of = &report->gauged;
  fprintf(out,
          "# A speaker as gauged by %zu recording%s. To be used as --speaker "
          "NAME.\n",
          report->n_used,
          report->n_used > 1U ? "s" : "");
  if (of->corner_hz > 0.0) {
    fprintf(
      out,
      "# Its corner lies at %.0f Hz, and it falls by %.0f dB an octave.\n",
      of->corner_hz,
      of->slope_db);
  }
  for (size_t i = 0; i < of->n_resonances; ++i) {
    const VwResonance* const at = &of->resonances[i];
    fprintf(out, "# It rings at %.0f Hz, by %.1f dB.\n", at->hz, at->db);
  }
  fputc('\n', out);
  speaker_file_print(&of->proposed, out);
  if (fclose(out)) {
    free(text);
    return NULL;
  }
  return text;
}

/// Write what is asked for, all or nothing. False, and said, if that fails.
static bool
write_files(const SpeakerReport* report) {
  const Settings* const settings = report->settings;
  const VwWriteOptions  options = {.force = settings->force,
                                   .dry_run = settings->dry_run,
                                   .takes = settings->takes + 1,
                                   .n_takes = settings->n_takes - 1U};
  VwOutput              outputs[2];
  VwBytes               drawn = {0};
  size_t                n = 0;
  size_t                at = 0;
  VwStatus              st = VW_OK;
  char* const           text = report->saved ? file_of(report) : NULL;
  if (text) {
    outputs[n++] = (VwOutput){.path = report->saved,
                              .bytes = {(unsigned char*)text, strlen(text)}};
  } else if (report->saved) {
    st = VW_NO_MEMORY;
  }
  if (!st && settings->plot) {
    st = speaker_plot(report, &drawn);
    at = n;
    outputs[n++] = (VwOutput){.path = settings->plot, .bytes = drawn};
  }
  st = st || !n ? st : vw_write(outputs, n, &options, &at);
  if (st) {
    plot_say(n ? outputs[at < n ? at : 0U].path : "gauge", st);
  }
  vw_bytes_clear(&drawn);
  free(text);
  return !st;
}

/* All */

static bool
print(const SpeakerReport* report) {
  const Settings* const settings = report->settings;
  if (settings->json) {
    return figures_json(speaker_figures(report), stdout);
  }
  if (!settings->quiet && report->n_used) {
    speaker_text(report, stdout);
  }
  return true;
}

static int
gauge(SpeakerReport* report) {
  for (size_t i = 0; i < report->n_recordings; ++i) {
    SpeakerRecording* const to = &report->recordings[i];
    to->path = report->settings->takes[i + 1U];
    if (hear_one(report, to)) {
      speaker_warn(to);
      ++report->n_used;
    }
  }
  const VwStatus st = report->n_used ? gather(report) : VW_OK;
  if (st) {
    say_status("gauge speaker", st);
    return EXIT_FILE;
  }
  if (report->n_used && !write_files(report)) {
    return EXIT_FILE;
  }
  if (!print(report)) {
    say_status("gauge speaker", VW_NO_MEMORY);
    return EXIT_FILE;
  }
  return report->n_used == report->n_recordings ? EXIT_DONE : EXIT_FILE;
}

/// The file that --save names. To be freed; NULL without memory.
static char*
saved_path(const char* name) {
  return text_format(
    "%s%s",
    name,
    vw_path_ends_in(name, SPEAKER_FILE_ENDING) ? "" : SPEAKER_FILE_ENDING);
}

/// Whether the only speaker that may be named, a transducer, is.
static int
check_speaker(const Settings* settings, bool* transducer) {
  for (size_t i = 0; i < settings->n_given; ++i) {
    const Given* const given = &settings->given[i];
    if (strcmp(given->name, "speaker") != 0) {
      continue;
    }
    *transducer = !strcmp(given->value, SPEAKER_TRANSDUCER);
    if (!*transducer) {
      return say_usage("--speaker",
                       "it is what is gauged: leave it out, or give transducer "
                       "if it shakes the prop's body");
    }
  }
  return EXIT_DONE;
}

static int
check(const Settings* settings) {
  if (settings->gauge.write && settings->n_takes > 1U) {
    return say_usage(settings->takes[1],
                     "--write takes no recording: leave one of them out");
  }
  if (!settings->gauge.write && settings->n_takes < 2U) {
    return say_usage("gauge speaker",
                     "no recording is given: begin with `volleyweave gauge "
                     "speaker --write`");
  }
  return plot_check(settings);
}

int
gauge_speaker(const CommandName* command, const Settings* settings) {
  SpeakerReport report = {.settings = settings,
                          .n_recordings = settings->n_takes - 1U};
  int           status = check(settings);
  if (status == EXIT_DONE) {
    status = check_speaker(settings, &report.transducer);
  }
  if (status != EXIT_DONE || settings->gauge.write) {
    return status == EXIT_DONE ? write_test(command, settings) : status;
  }
  report.recordings = calloc(report.n_recordings, sizeof(SpeakerRecording));
  report.saved = settings->gauge.save ? saved_path(settings->gauge.save) : NULL;
  if (!report.recordings || (settings->gauge.save && !report.saved)) {
    say_status(command->name, VW_NO_MEMORY);
    status = EXIT_FILE;
  } else {
    status = gauge(&report);
  }
  for (size_t i = 0; report.recordings && i < report.n_recordings; ++i) {
    free(report.recordings[i].message);
  }
  free(report.recordings);
  free(report.saved);
  return status;
}
