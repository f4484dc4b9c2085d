// What was found of a speaker, as figures and as text.

#include "base/ranges.h"
#include "cli/gauging/speaker.h"
#include "cli/message/message.h"

#include <math.h>
#include <stdlib.h>

// Recordings that a person is shown side by side; JSON has all.
#define SHOWN_MOST 4U

// Places that differ by more are told (chosen here).
#define UNLIKE_DB 3.0

// Less is shown as 0.0 %.
#define SHARE_LEAST 0.0005

// A speaker with more harmonics is overdriven (chosen here).
#define OVERDRIVEN 0.1

/* What cannot be trusted */

static const Choice words_doubts[] = {{"gain", VW_DOUBT_GAIN},
                                      {"noise-suppression", VW_DOUBT_SILENCE},
                                      {"echo", VW_DOUBT_ECHO},
                                      {"telephone-band", VW_DOUBT_NARROW},
                                      {"noise", VW_DOUBT_NOISE},
                                      {"clock", VW_DOUBT_CLOCK},
                                      {"misfit", VW_DOUBT_FIT},
                                      {NULL, 0}};

// One for each doubt, and what is still good.
static const Line doubts[] = {
  {"gain",
   "its gain changed by {gain_change_db}: levels, corner and cuts are in "
   "doubt, and only where resonances lie is right: turn automatic gain off"},
  {"noise-suppression",
   "its pauses are silenced, and soft lows may be, too; what is loud is right: "
   "turn noise suppression off"},
  {"echo",
   "an echo of {echo_db} after {echo_ms}: below {echo_hz:.0f} Hz levels, "
   "corner and cuts are in doubt: record nearer, or at several places"},
  {"telephone-band",
   "next to nothing above 4 kHz is in it, what lies below is right: record "
   "with the telephone, in no call"},
  {"noise",
   "noise is nearly as loud as the sweep, and soft lows are left out: record "
   "nearer, or where it is quieter"},
  {"clock",
   "the board's clock is {clock_ppm:+.0f} ppm off, which is allowed for: check "
   "at which sample rate it plays"},
  {"misfit",
   "corner and resonances are in doubt, they miss the response by {miss_db} in "
   "the mean: record nearer, or at several places"},
};

// A frequency is looked at for so many of its periods after the sound.
#define ECHO_PERIODS 24.0

static Figures*
figures_of_doubts(const SpeakerRecording* of) {
  Figures* const list = figures_list();
  for (const Choice* at = words_doubts; at->word; ++at) {
    if (of->gauged.doubts & (unsigned)at->value) {
      figures_add(list, at->word);
    }
  }
  if (of->lossy) {
    figures_add(list, "compressed");
  }
  return list;
}

static Figures*
figures_of_resonances(const VwSpeakerGauged* of) {
  Figures* const list = figures_list();
  for (size_t i = 0; i < of->n_resonances; ++i) {
    Figures* const one = figures_new();
    figures_set(one, "frequency_hz", of->resonances[i].hz);
    figures_set(one, "height_db", of->resonances[i].db);
    figures_set(one, "q", of->resonances[i].q);
    figures_add(list, one);
  }
  return list;
}

/// What a speaker is like, in so many words too.
static void
set_gauged(Figures* all, const VwSpeakerGauged* of) {
  figures_set(all, "corner_hz", of->corner_hz);
  figures_set(all,
              "slope_db_per_octave",
              isnan(of->corner_hz) ? (double)NAN : of->slope_db);
  figures_set(all, "low_hz", of->low_hz);
  figures_set(all, "high_hz", of->high_hz);
  figures_set(all, "resonances", figures_of_resonances(of));
  figures_set(all, "miss_db", of->miss_db);
  figures_set(all, "harmonics_share", of->share);
  figures_set(all, "harmonics_most_share", of->share_most);
  figures_set(all, "harmonics_most_hz", of->share_hz);
}

static Figures*
figures_of_recording(const SpeakerRecording* of) {
  const VwSweepHeard* const heard = &of->heard;
  Figures* const            all = figures_new();
  figures_set(all, "file", of->path);
  figures_set(all, "error", figures_of_error(of->status, of->message));
  if (!of->used) {
    return all;
  }
  const bool echo = heard->doubts & VW_DOUBT_ECHO;
  figures_set(all, "level_db", heard->level_db);
  figures_set(all, "noise_db", heard->noise_db);
  figures_set(all, "clock_ppm", heard->ppm);
  figures_set(all, "gain_change_db", heard->gain_db);
  figures_set(all, "clipped_share", heard->clipped);
  figures_set(all, "echo_db", echo ? heard->echo_db : (double)NAN);
  figures_set(all, "echo_ms", echo ? heard->echo_ms : (double)NAN);
  figures_set(all,
              "echo_hz",
              echo ? 1000.0 * ECHO_PERIODS / heard->echo_ms : (double)NAN);
  figures_set(all, "doubts", figures_of_doubts(of));
  set_gauged(all, &of->gauged);
  return all;
}

void
speaker_warn(const SpeakerRecording* of) {
  Figures* const all = figures_of_recording(of);
  for (size_t i = 0; i < sizeof(doubts) / sizeof(doubts[0]); ++i) {
    if (of->gauged.doubts & (unsigned)words_doubts[i].value) {
      char* const words = figures_words(all, doubts[i].words);
      say(of->path, "%s", words ? words : doubts[i].label);
      free(words);
    }
  }
  if (of->lossy) {
    say(
      of->path,
      "its format leaves out what is hardly heard: harmonics and highs may be "
      "wrong, the rest is right: record as WAV");
  }
  figures_free(all);
}

/* Figures */

/// By how much a point of a sixth of an octave is changed, dB.
static double
after(const VwSpeakerGauged* of, size_t coarse) {
  const size_t each = VW_RESPONSE_FINE / VW_RESPONSE_COARSE;
  const size_t fine = each / 2U + coarse * each;
  return vw_speaker_db(
    &of->proposed, of->fine[fine].hz, VW_SAMPLE_RATE_USUAL_HZ);
}

static Figures*
figures_of_response(const VwSpeakerGauged* of) {
  Figures* const list = figures_list();
  for (size_t i = 0; i < of->n_coarse; ++i) {
    const VwResponse* const at = &of->coarse[i];
    Figures* const          one = figures_new();
    figures_set(one, "frequency_hz", at->hz);
    figures_set(one, "level_db", at->db);
    figures_set(one, "after_db", at->db + after(of, i));
    figures_set(one, "harmonics_share", at->share);
    figures_add(list, one);
  }
  return list;
}

static Figures*
figures_of_proposed(const VwSpeaker* of) {
  Figures* const all = figures_new();
  Figures* const cuts = figures_list();
  figures_set(all, "high_pass_hz", of->corner_hz);
  for (unsigned i = 0; i < of->n_cuts; ++i) {
    Figures* const one = figures_new();
    figures_set(one, "frequency_hz", of->cuts[i].hz);
    figures_set(one, "gain_db", of->cuts[i].db);
    figures_set(one, "q", of->cuts[i].q);
    figures_add(cuts, one);
  }
  figures_set(all, "cuts", cuts);
  return all;
}

Figures*
speaker_figures(const SpeakerReport* report) {
  Figures* const all = figures_of_command("gauge");
  Figures* const recordings = figures_list();
  const bool     best = report->transducer && report->n_used > 1U;
  figures_set(all, "gauged", "speaker");
  figures_set(all,
              "error",
              report->n_used ? NULL
                             : figures_of_error(report->recordings[0].status,
                                                report->recordings[0].message));
  figures_set(all, "transducer", report->transducer);
  for (size_t i = 0; i < report->n_recordings; ++i) {
    figures_add(recordings, figures_of_recording(&report->recordings[i]));
  }
  figures_set(all, "recordings", recordings);
  figures_set(all, "used", report->n_used);
  figures_set(all, "best", best ? report->recordings[report->best].path : NULL);
  if (report->n_used) {
    set_gauged(all, &report->gauged);
    figures_set(all, "unlike_db", report->gauged.unlike_db);
    figures_set(all, "unlike_hz", report->gauged.unlike_hz);
    figures_set(
      all, "made_for_it", figures_of_proposed(&report->gauged.proposed));
    figures_set(all, "response", figures_of_response(&report->gauged));
  }
  figures_set(all, "path", report->saved);
  return all;
}

/* Text */

/// Resonances, or cuts, in one line. To be freed.
static char*
list_of(const Figures* all, const char* name, const char* words) {
  const Figures* const list = figures_at(all, name);
  char*                text = text_format("%s", "");
  for (size_t i = 0; text && figures_entry(list, i); ++i) {
    char* const one = figures_words(figures_entry(list, i), words);
    char* const more =
      one ? text_format("%s%s%s", text, i ? ", " : "", one) : NULL;
    free(one);
    free(text);
    text = more;
  }
  return text;
}

#define RINGS "{frequency_hz:.0f} Hz {height_db:+.1f} dB"

/// The strongest resonance, in words. To be freed.
static char*
strongest(const VwSpeakerGauged* of) {
  const VwResonance* best = NULL;
  for (size_t i = 0; i < of->n_resonances; ++i) {
    best = !best || of->resonances[i].db > best->db ? &of->resonances[i] : best;
  }
  return best ? text_format("%.0f Hz %+.1f dB", best->hz, best->db)
              : text_format("%s", "");
}

static void
print_side_by_side(const SpeakerReport* report, FILE* out) {
  static const Line lines[] = {
    {"{file}",
     "level {level_db}, corner {corner_hz?{corner_hz:.0f} Hz}"
     "{!corner_hz?below 95 Hz}{rings?, }{rings}"},
  };
  size_t n = 0;
  for (size_t i = 0; i < report->n_recordings; ++i) {
    if (!report->recordings[i].used ||
        (n >= SHOWN_MOST && !report->settings->verbose)) {
      continue;
    }
    Figures* const one = figures_of_recording(&report->recordings[i]);
    figures_set_made(one, "rings", strongest(&report->recordings[i].gauged));
    figures_lines(one, LINES(lines), out);
    figures_free(one);
    ++n;
  }
}

static void
print_response(const SpeakerReport* report, FILE* out) {
  const VwSpeakerGauged* const of = &report->gauged;
  for (size_t i = 0; i < of->n_coarse; ++i) {
    const VwResponse* const at = &of->coarse[i];
    char                    label[20];
    (void)snprintf(label, sizeof(label), "%.0f Hz", at->hz);
    if (isnan(at->db)) {
      line_print(out, label, "hidden by noise");
    } else {
      line_print(out,
                 label,
                 "%+.1f dB, made for it %+.1f dB",
                 at->db,
                 at->db + after(of, i));
    }
  }
}

static const Line lines_gauged[] = {
  {"gauged",
   "{transducer?transducer}{!transducer?speaker}, "
   "{used} recording{used:s}{best?, by {best}}"},
  {"corner",
   "{corner_hz?{corner_hz:.0f} Hz, {slope_db_per_octave:.0f} dB an octave "
   "below it}{!corner_hz?below 95 Hz, where the sweep begins}"},
  {"range",
   "{low_hz?{low_hz:.0f} Hz}{!low_hz?below 84 Hz} to "
   "{high_hz?{high_hz:.0f} Hz}{!high_hz?the sweep's end}, within 10 dB "
   "of its loudest octave",
   NULL,
   true},
  {"resonances", "{rings}{!rings?none that stands out}", NULL, true},
  {"harmonics",
   "{!distorts?less than 0.1 %}"
   "{distorts?{percent:.1f} % above the corner, most {most_percent:.1f} % at "
   "{harmonics_most_hz:.0f} Hz}{overdriven?: turn it down}",
   "harmonics_share"},
  {"places",
   "they differ by up to {unlike_db:.1f} dB, at {unlike_hz:.0f} Hz",
   "differ"},
  {"pack it",
   "as in {best}: the loudest, or nearly so and with weaker resonances",
   "best"},
  {"made for it",
   "high-pass {made_for_it.high_pass_hz:.0f} Hz{cuts?, }{cuts}",
   NULL,
   true},
  {"saved", "{path:q}", "path"},
};

void
speaker_text(const SpeakerReport* report, FILE* out) {
  Figures* const all = speaker_figures(report);
  figures_set_made(all, "rings", list_of(all, "resonances", RINGS));
  figures_set_made(
    all,
    "cuts",
    list_of(all,
            "made_for_it.cuts",
            "{gain_db:.1f} dB at {frequency_hz:.0f} Hz (Q {q:.1f})"));
  figures_set(all, "percent", 100.0 * report->gauged.share);
  figures_set(all, "most_percent", 100.0 * report->gauged.share_most);
  figures_set(all, "distorts", report->gauged.share_most >= SHARE_LEAST);
  figures_set(all, "overdriven", report->gauged.share > OVERDRIVEN);
  figures_set(all, "differ", report->gauged.unlike_db > UNLIKE_DB);
  figures_lines(all, LINES(lines_gauged), out);
  if (report->n_used > 1U) {
    print_side_by_side(report, out);
  }
  if (report->settings->verbose) {
    print_response(report, out);
  }
  if (report->saved && !report->settings->dry_run) {
    line_flow_made(
      figures_words(all, "Next: volleyweave shot --speaker {path:q} TAKE.wav"));
  } else if (!report->saved) {
    line_flow_made(
      text_format("Keep it with --save NAME, and use it with --speaker NAME"));
  }
  figures_free(all);
}
