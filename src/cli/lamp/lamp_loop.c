#include "cli/lamp/lamp_loop.h"

#include "cli/lamp/lamp_heard.h"
#include "cli/message/line.h"
#include "cli/message/text.h"
#include "lamp/lamp.h"
#include "store/store.h"

#include <math.h>

// With fewer shots a recording tells no rate.
#define RECORDED_LEAST 4U

// A recording is not taken for a loop with far fewer shots a second; nor for
// one with more shots where their rates are near, but no more so than chance
// has it. Simulated: rapid fire of 8 to 60 shots with jitter and noise.
#define RATE_APART 1.15
#define RATE_NEAR 0.05
#define RATE_SAME 0.005

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
    known.gap_ms = lamp_heard_gap_ms(settings);
    report->gap_known = true;
  } else {
    report->gap_known = !isnan(known.gap_ms);
  }
  return known;
}

/// Whether a sound that can be read both ways is a recording.
static bool
is_recording(const VwRateFound* loop, const VwRateFound* heard) {
  const double apart = heard->fire_rate_per_s / loop->fire_rate_per_s;
  const double off = fabs(apart - 1.0);
  if (loop->shots < RECORDED_LEAST) {
    // Few shots in one cycle may be many in a recording with a quiet start.
    return heard->shots > loop->shots;
  }
  return (apart > RATE_APART && heard->shots > loop->shots + 1U) ||
         (off > RATE_SAME && off < RATE_NEAR &&
          heard->shots + 1U < loop->shots);
}

VwStatus
lamp_loop_find(const VwSound* sound, LampReport* report) {
  const VwLoopKnown known = known_of(report);
  VwRateFound       loop = {0};
  VwRateFound       heard = {0};
  const VwStatus    st = vw_rate_of_loop(sound, &known, &loop);
  if (st && st != VW_NO_STEADY_RATE) {
    return st;
  }
  const bool counted = report->known == LAMP_COUNTED;
  if (counted && !vw_rate_of_recording(sound, &heard) &&
      is_recording(&loop, &heard)) {
    report->source = LAMP_FROM_RECORDING;
    report->found = heard;
    return VW_OK;
  }
  report->source = LAMP_FROM_LOOP;
  report->found = loop;
  return st;
}

/* Text */

/// How the number is known.
static void
print_source(const LampReport* report, FILE* out) {
  const VwRateFound* const found = &report->found;
  if (report->known == LAMP_AS_MADE) {
    line_wrap(out, "known", "as written when it was made");
  } else if (report->known == LAMP_AS_SAID) {
    line_wrap(out, "known", "as --shots says");
  } else if (found->other_shots) {
    line_wrap_made(
      out,
      "not sure",
      text_format("counted in the sound, and %zu shot%s nearly as likely: give "
                  "--shots %zu or --shots %zu",
                  found->other_shots,
                  found->other_shots == 1U ? " is" : "s are",
                  found->shots,
                  found->other_shots));
  } else {
    line_wrap(
      out, "counted", "in the sound; if it is another number, give --shots");
  }
}

void
lamp_loop_text(const LampReport* report, FILE* out) {
  const VwRateFound* const found = &report->found;
  const double cycle_s = (double)found->shots / found->fire_rate_per_s;
  line_print(out,
             "read as",
             "a loop of %zu shot%s in %.4g s, %.4g per second",
             found->shots,
             found->shots == 1U ? "" : "s",
             cycle_s,
             found->fire_rate_per_s);
  print_source(report, out);
  if (found->gap_ms > 0.0) {
    line_wrap_made(out,
                   "gap",
                   text_format(report->gap_known
                                 ? "%.1f ms between the repeats are counted in"
                                 : "%.1f ms between the repeats are counted "
                                   "in, as the distances of the shots tell: "
                                   "give --board or --gap for another",
                               found->gap_ms));
  }
}
