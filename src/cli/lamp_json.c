#include "lamp_report.h"

#include "status.h"
#include "text.h"

#include <jansson.h>
#include <math.h>
#include <stdlib.h>

// Digits that tell any two doubles apart (IEEE 754-2019, 5.12.2).
#define DIGITS 17

static json_t*
number(double value) {
  return isfinite(value) ? json_real(value) : json_null();
}

/// Text; bytes that are no UTF-8 are made safe.
static json_t*
string(const char* text) {
  json_t* const plain = json_string(text);
  if (plain) {
    return plain;
  }
  char* const   safe = text_safe(text);
  json_t* const made = json_string(safe ? safe : "");
  free(safe);
  return made;
}

static json_t*
error_of(VwStatus status) {
  char* const   message = status ? status_message(status) : NULL;
  json_t* const made = status ? json_pack("{s:s, s:o}",
                                          "status",
                                          status_word(status),
                                          "message",
                                          string(message ? message : ""))
                              : json_null();
  free(message);
  return made;
}

static json_t*
spread_of(const VwSpread* spread) {
  return json_pack("{s:f, s:f, s:f}",
                   "least",
                   spread->least,
                   "middle",
                   spread->middle,
                   "most",
                   spread->most);
}

static json_t*
lamp_of(const LampReport* report) {
  static const char* const reasons[] = {
    "usual", "asked", "sound", "least", "most", "half"};
  const Settings* const settings = report->settings;
  const bool    known = settings->has_board && settings->board.delay_ms > 0.0;
  json_t* const lamp = json_object();
  json_object_set_new(lamp, "pulse_hz", number(report->lamp.pulse_hz));
  json_object_set_new(lamp, "period_ms", number(report->lamp.period_ms));
  json_object_set_new(lamp, "on_ms", number(report->lamp.on_ms));
  json_object_set_new(lamp, "duty", number(report->lamp.duty));
  json_object_set_new(
    lamp, "on_reason", json_string(reasons[report->on_time.reason]));
  json_object_set_new(lamp, "shot_near_ms", number(report->on_time.near_ms));
  json_object_set_new(lamp,
                      "hold_back_ms",
                      known ? json_real(settings->board.delay_ms)
                            : json_null());
  return lamp;
}

static json_t*
found_of(const LampReport* report) {
  return report->source == LAMP_FROM_RATE
           ? json_null()
           : json_pack("{s:s, s:I, s:f, s:f}",
                       "kind",
                       report->source == LAMP_FROM_LOOP ? "loop" : "recording",
                       "shots",
                       (json_int_t)report->found.shots,
                       "fire_rate_per_s",
                       report->found.fire_rate_per_s,
                       "jitter_ms",
                       report->found.jitter_ms);
}

static json_t*
timer_of(const LampTimer* of) {
  const VwTimer* const timer = &of->timer;
  json_t* const        made = json_object();
  json_object_set_new(made, "error", error_of(of->status));
  json_object_set_new(made, "supply_v", number(of->wish.supply_v));
  json_object_set_new(
    made,
    "chip",
    json_string(of->wish.chip == VW_CHIP_CMOS ? "cmos" : "bipolar"));
  if (of->status) {
    return made;
  }
  const VwAstable parts = vw_timer_parts(&of->wish, timer);
  json_object_set_new(
    made, "lit_while", json_string(timer->lit_while_low ? "low" : "high"));
  json_object_set_new(made, "c_farad", number(timer->c_farad));
  json_object_set_new(made, "ra_ohm", number(parts.ra_ohm));
  json_object_set_new(made, "rb_ohm", number(parts.rb_ohm));
  json_object_set_new(
    made, "trimmed", json_string(timer->trims_ra ? "ra" : "rb"));
  json_object_set_new(made, "fixed_ohm", number(timer->fixed_ohm));
  json_object_set_new(made, "trimmer_ohm", number(timer->trimmer_ohm));
  json_object_set_new(made, "set_ohm", number(timer->set_ohm));
  json_object_set_new(made, "set_share", number(timer->set_share));
  json_object_set_new(
    made, "capacitor_tolerance", number(timer->capacitor_tolerance));
  json_object_set_new(
    made, "resistor_tolerance", number(timer->resistor_tolerance));
  json_object_set_new(made, "rate_hz", spread_of(&timer->rate_hz));
  json_object_set_new(made, "on_ms", spread_of(&timer->on_ms));
  json_object_set_new(made, "rate_range_hz", spread_of(&timer->rate_range_hz));
  json_object_set_new(
    made, "rate_0_to_40_c_hz", spread_of(&timer->rate_warm_hz));
  json_object_set_new(made, "on_0_to_40_c_ms", spread_of(&timer->on_warm_ms));
  return made;
}

static json_t*
counts_of(const LampReport* report) {
  if (!report->has_counts || report->counts_status) {
    return json_null();
  }
  const VwCounts* const counts = &report->counts;
  return json_pack("{s:I, s:I, s:I, s:f, s:f, s:f}",
                   "prescaler",
                   (json_int_t)counts->prescaler,
                   "period_counts",
                   (json_int_t)counts->period_counts,
                   "on_counts",
                   (json_int_t)counts->on_counts,
                   "rate_hz",
                   counts->rate_hz,
                   "on_ms",
                   counts->on_ms,
                   "error_ppm",
                   counts->error_ppm);
}

static json_t*
controller_of(const LampReport* report) {
  return json_pack("{s:I, s:I, s:o, s:o}",
                   "period_us",
                   (json_int_t)llround(1000.0 * report->lamp.period_ms),
                   "on_us",
                   (json_int_t)llround(1000.0 * report->lamp.on_ms),
                   "counts",
                   counts_of(report),
                   "error",
                   error_of(report->counts_status));
}

static json_t*
led_of(const LampReport* report) {
  const VwLed* const led = &report->led;
  json_t* const      made = json_object();
  json_object_set_new(made, "error", error_of(report->led_status));
  json_object_set_new(
    made, "driver_drop_v", number(report->led_wish.driver_drop_v));
  if (!report->led_status) {
    json_object_set_new(made, "resistor_ohm", number(led->resistor_ohm));
    json_object_set_new(made, "power_w", number(led->power_w));
    json_object_set_new(made, "next_e24_ohm", number(led->next_ohm));
    json_object_set_new(made, "next_e24_w", number(led->next_w));
    json_object_set_new(made, "current_a", number(led->current_a));
  }
  return made;
}

static json_t*
drift_of(const LampReport* report) {
  json_t* const all = json_array();
  for (size_t i = 0; i < LAMP_DRIFTS; ++i) {
    const LampDrift* const drift = &report->drifts[i];
    json_array_append_new(all,
                          json_pack("{s:s, s:f, s:o}",
                                    "way",
                                    drift->key,
                                    "error",
                                    drift->error,
                                    "seconds_to_45_ms",
                                    number(drift->seconds)));
  }
  return all;
}

static json_t*
brightness_of(const LampReport* report) {
  json_t* const steps = json_array();
  for (size_t i = 0; i < report->n_steps; ++i) {
    json_array_append_new(steps, json_integer(report->steps[i]));
  }
  return json_pack(
    "{s:f, s:o}", "gamma", report->settings->lamp.gamma, "steps", steps);
}

static json_t*
cautions_of(const LampReport* report) {
  json_t*     cautions = json_object();
  const char* text = NULL;
  for (size_t i = 0; (text = lamp_caution(report, i)); ++i) {
    json_object_set_new(
      cautions, lamp_caution_key(report, i), json_string(text));
  }
  return cautions;
}

bool
lamp_json(const LampReport* report, FILE* out) {
  json_t* const object = json_object();
  json_object_set_new(object, "schema", json_integer(1));
  json_object_set_new(object, "command", json_string("lamp"));
  json_object_set_new(object, "subject", string(report->subject));
  json_object_set_new(object, "error", json_null());
  json_object_set_new(object, "lamp", lamp_of(report));
  json_object_set_new(object, "found", found_of(report));
  json_object_set_new(object, "timer_with_diode", timer_of(&report->diode));
  json_object_set_new(object, "timer_two_resistors", timer_of(&report->plain));
  json_object_set_new(object, "microcontroller", controller_of(report));
  json_object_set_new(object,
                      "brightness",
                      report->n_steps ? brightness_of(report) : json_null());
  json_object_set_new(object, "led", led_of(report));
  json_object_set_new(object, "drift", drift_of(report));
  json_object_set_new(object, "cautions", cautions_of(report));
  char* const line = json_dumps(object, JSON_REAL_PRECISION(DIGITS));
  if (line) {
    fprintf(out, "%s\n", line);
  }
  free(line);
  json_decref(object);
  return line != NULL;
}
