#include "cli/lamp/lamp_report.h"
#include "cli/message/caution.h"

#include <math.h>

bool
lamp_flashes(const LampReport* report) {
  return !report->status && report->lamp.pulse_hz > 0.0;
}

double
lamp_most_hz(const LampReport* report) {
  // What was not found is zero.
  return fmax(report->lamp.pulse_hz, report->timer.timer.rate_hz.most);
}

unsigned
lamp_cautions(const LampReport* report) {
  const bool own = caution_of_flashes(report->lamp.pulse_hz);
  const bool any = caution_of_flashes(lamp_most_hz(report));
  // Either the sound's own flashes are fast, or those of its timer may be.
  return CAUTION_LAMP_HEARING | CAUTION_WIRING |
         (!any  ? 0U
          : own ? CAUTION_LAMP_FLASH
                : CAUTION_UNTRIMMED);
}

const char*
lamp_caution(const LampReport* report, size_t index) {
  return caution_nth(lamp_cautions(report), index);
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
