#include "cli/lamp/lamp_report.h"
#include "cli/message/flash.h"

#include <math.h>
#include <string.h>

bool
lamp_flashes(const LampReport* report) {
  return !report->status && report->lamp.pulse_hz > 0.0;
}

// Flashes: G. Harding and others, and R. S. Fisher and others, Epilepsia 46(9),
// 2005. On a screen the documents are named, not the people.

#define FLASHES                                                                \
  "lamps flashing faster than 3 times a second can trigger seizures in "       \
  "people with photosensitive epilepsy (Epilepsia 46(9), 2005; most at 15 to " \
  "25 per second). "
#define RULES "warn people, and follow local rules for shows and events"

/// A caution, and the word for it.
static const struct {
  const char* key;
  const char* text;
} cautions[] = {
  // Of the first two at most one: where the sound's own flashes are fast, and
  // where those of its timer may be.
  {"flash",
   FLASHES "This one is not below the thresholds of WCAG 2.3.1 / Rec. ITU-R "
           "BT.1702; " RULES},
  {"flash",
   FLASHES "A timer chip may make this one as fast until its trimmer is set, "
           "above the thresholds of WCAG 2.3.1 / Rec. ITU-R BT.1702; " RULES},
  {"hearing",
   "sound near an ear is far louder than at arm's length: keep it below 85 "
   "dB(A) where the ear is (NIOSH 98-126: 8 hours), 15 minutes at 100"},
  {"wiring",
   "follow the data sheets of battery and chip; fuse the battery, check the "
   "polarity before power comes on, and never leave it charging alone"},
};

#define N_CAUTIONS (sizeof(cautions) / sizeof(cautions[0]))
#define OWN 0U
#define UNTRIMMED 1U
#define REST 2U

double
lamp_most_hz(const LampReport* report) {
  // What was not found is zero.
  return fmax(report->lamp.pulse_hz, report->timer.timer.rate_hz.most);
}

/// Index of the caution that is the `index`th to be given.
static size_t
which(const LampReport* report, size_t index) {
  const bool fast = flash_is_fast(report->lamp.pulse_hz);
  if (!flash_is_fast(lamp_most_hz(report))) {
    return REST + index;
  }
  return index ? REST + index - 1U : fast ? OWN : UNTRIMMED;
}

const char*
lamp_caution(const LampReport* report, size_t index) {
  const size_t i = which(report, index);
  return i < N_CAUTIONS ? cautions[i].text : NULL;
}

const char*
lamp_caution_key(const LampReport* report, size_t index) {
  const size_t i = which(report, index);
  return i < N_CAUTIONS ? cautions[i].key : NULL;
}

/* Parts */

const char*
lamp_ohm(char text[40], double ohm) {
  const char* const unit = ohm < 1e3 ? "ohm" : ohm < 1e6 ? "kohm" : "Mohm";
  const double      factor = ohm < 1e3 ? 1.0 : ohm < 1e6 ? 1e3 : 1e6;
  (void)snprintf(text, 40, "%.4g %s", ohm / factor, unit);
  return text;
}

const char*
lamp_farad(char text[40], double farad) {
  const bool   micro = farad >= 0.9995e-6;
  const bool   nano = !micro && farad >= 0.9995e-9;
  const double factor = micro ? 1e6 : nano ? 1e9 : 1e12;
  (void)snprintf(text,
                 40,
                 "%.4g %s",
                 farad * factor,
                 micro  ? "uF"
                 : nano ? "nF"
                        : "pF");
  return text;
}
