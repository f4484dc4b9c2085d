#include "cli/lamp/lamp_prop.h"
#include "cli/message/caution.h"
#include "cli/message/json_values.h"
#include "cli/message/words.h"
#include "cli/prop/prop.h"
#include "lamp/lamp.h"

#include <math.h>
#include <stdlib.h>

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
  const Settings* const settings = report->settings;
  const bool    known = settings->has_board && settings->board.delay_ms > 0.0;
  json_t* const lamp = json_object();
  const bool    once = !lamp_flashes(report);
  json_set_number(lamp, "pulse_hz", once ? (double)NAN : report->lamp.pulse_hz);
  json_set_number(
    lamp, "period_ms", once ? (double)NAN : report->lamp.period_ms);
  json_set_number(lamp, "on_ms", report->lamp.on_ms);
  json_set_number(lamp, "duty", once ? (double)NAN : report->lamp.duty);
  json_object_set_new(
    lamp,
    "on_reason",
    json_string(choice_word(words_on_reason, (int)report->on_time.reason)));
  json_set_number(lamp, "shot_near_ms", report->on_time.near_ms);
  figures_set(lamp, "track", figures_of_track(&report->track));
  json_object_set_new(lamp,
                      "hold_back_ms",
                      known ? json_real(settings->board.delay_ms)
                            : json_null());
  return lamp;
}

static json_t*
found_of(const LampReport* report) {
  static const char* const known[] = {"counted", "made", "given"};
  const VwRateFound* const found = &report->found;
  if (report->source != LAMP_FROM_LOOP &&
      report->source != LAMP_FROM_RECORDING) {
    return json_null();
  }
  const bool    loop = report->source == LAMP_FROM_LOOP;
  json_t* const made = json_object();
  json_object_set_new(made, "kind", json_string(loop ? "loop" : "recording"));
  json_object_set_new(made, "shots", json_integer((json_int_t)found->shots));
  json_object_set_new(made,
                      "shots_known",
                      loop ? json_string(known[report->known]) : json_null());
  json_object_set_new(made,
                      "other_shots",
                      found->other_shots
                        ? json_integer((json_int_t)found->other_shots)
                        : json_null());
  json_set_number(made, "fire_rate_per_s", found->fire_rate_per_s);
  json_set_number(made, "gap_ms", found->gap_ms);
  json_object_set_new(made, "gap_known", json_boolean(report->gap_known));
  json_set_number(made, "jitter_ms", found->jitter_ms);
  return made;
}

/// What a board makes of the fire rate asked for.
static json_t*
heard_of(const VwPlan* plan) {
  return !plan->shots
           ? json_null()
           : json_pack("{s:f, s:f, s:I, s:I, s:I, s:I}",
                       "asked_per_s",
                       plan->fire_rate_asked_per_s,
                       "fire_rate_per_s",
                       plan->fire_rate_per_s,
                       "shots",
                       (json_int_t)plan->shots,
                       "frames",
                       (json_int_t)(plan->n_frames - plan->gap_frames),
                       "gap_frames",
                       (json_int_t)plan->gap_frames,
                       "sample_rate_hz",
                       (json_int_t)plan->rate_hz);
}

static json_t*
led_of(const LampLed* of) {
  const VwLed* const led = &of->led;
  json_t* const      made = json_object();
  figures_set(made, "error", figures_of_status(of->status));
  json_set_number(made, "driver_drop_v", of->wish.driver_drop_v);
  if (!of->status) {
    json_set_number(made, "resistor_ohm", led->resistor_ohm);
    json_set_number(made, "power_w", led->power_w);
    json_set_number(made, "next_e24_ohm", led->next_ohm);
    json_set_number(made, "next_e24_w", led->next_w);
    json_set_number(made, "current_a", led->current_a);
  }
  return made;
}

static json_t*
timer_of(const LampTimer* of) {
  const VwTimer* const timer = &of->timer;
  json_t* const        made = json_object();
  figures_set(made, "error", figures_of_status(of->status));
  json_set_number(made, "supply_v", of->wish.supply_v);
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
  json_set_number(made, "c_farad", timer->c_farad);
  json_set_number(made, "ra_ohm", parts.ra_ohm);
  json_set_number(made, "rb_ohm", parts.rb_ohm);
  json_object_set_new(
    made, "trimmed", json_string(timer->trims_ra ? "ra" : "rb"));
  json_set_number(made, "fixed_ohm", timer->fixed_ohm);
  json_set_number(made, "trimmer_ohm", timer->trimmer_ohm);
  json_set_number(made, "set_ohm", timer->set_ohm);
  json_set_number(made, "set_share", timer->set_share);
  json_set_number(made, "capacitor_tolerance", timer->capacitor_tolerance);
  json_set_number(made, "resistor_tolerance", timer->resistor_tolerance);
  json_set_number(
    made, "first_high_ms", vw_astable_times(&parts).first_high_ms);
  json_object_set_new(made, "rate_hz", spread_of(&timer->rate_hz));
  json_object_set_new(made, "on_ms", spread_of(&timer->on_ms));
  json_object_set_new(made, "rate_range_hz", spread_of(&timer->rate_range_hz));
  json_object_set_new(made, "rate_sure_hz", spread_of(&timer->rate_sure_hz));
  json_object_set_new(
    made, "rate_0_to_40_c_hz", spread_of(&timer->rate_warm_hz));
  json_object_set_new(made, "on_0_to_40_c_ms", spread_of(&timer->on_warm_ms));
  json_object_set_new(made, "led", led_of(&of->led));
  return made;
}

/// The timer if it is wired so; else null, or why there is none.
static json_t*
wiring_of(const LampReport* report, VwWiring wiring) {
  if (!lamp_flashes(report)) {
    return json_null();
  }
  if (report->timer.wish.wiring == wiring) {
    return timer_of(&report->timer);
  }
  return report->no_diode
           ? json_pack("{s:o}", "error", figures_of_status(report->no_diode))
           : json_null();
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
                   report->counts_status
                     ? figures_of_status(report->counts_status)
                     : json_null());
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
                                    json_of_number(drift->seconds)));
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

/// What it is worked out for; null throughout unless it stands in a prop.
static void
set_place(const LampReport* report, json_t* object) {
  const bool in_prop = report->sound != NULL;
  json_set_text(object, "board", in_prop ? report->settings->board.name : NULL);
  json_object_set_new(object,
                      "slot",
                      in_prop && report->slot ? json_integer(report->slot)
                                              : json_null());
  json_set_text(object, "sound", report->sound);
  json_set_text(object,
                "make",
                in_prop ? choice_word(words_make, (int)report->make) : NULL);
}

/// What a lamp is built of, or null where it does not flash again and again.
static void
set_parts(const LampReport* report, json_t* object) {
  const bool flashes = lamp_flashes(report);
  json_object_set_new(
    object, "timer_with_diode", wiring_of(report, VW_WIRING_DIODE));
  json_object_set_new(
    object, "timer_two_resistors", wiring_of(report, VW_WIRING_TWO_RESISTORS));
  json_object_set_new(
    object, "microcontroller", flashes ? controller_of(report) : json_null());
  json_object_set_new(object,
                      "brightness",
                      report->n_steps ? brightness_of(report) : json_null());
  json_object_set_new(
    object, "led", flashes ? led_of(&report->timer.led) : json_null());
  json_object_set_new(
    object, "drift", flashes ? drift_of(report) : json_null());
}

bool
lamp_json(const LampReport* report, FILE* out) {
  json_t* const object = json_object();
  const bool    is = !report->status && report->lamp.on_ms > 0.0;
  json_object_set_new(object, "schema", json_integer(1));
  json_object_set_new(object, "command", json_string("lamp"));
  json_set_text(object, "subject", report->subject);
  figures_set(object, "error", figures_of_status(report->status));
  set_place(report, object);
  json_object_set_new(object, "lamp", is ? lamp_of(report) : json_null());
  json_object_set_new(object, "found", found_of(report));
  json_object_set_new(object, "heard", heard_of(&report->plan));
  set_parts(report, object);
  json_object_set_new(
    object, "cautions", caution_figures(lamp_cautions(report)));
  return figures_json(object, out);
}

/* Of a prop */

bool
lamp_prop_json(const LampProp* prop, FILE* out) {
  const LampReport* const fastest = lamp_prop_fastest(prop);
  const LampReport        none = {.settings = &prop->settings};
  bool                    good = true;
  for (size_t i = 0; good && i < prop->n_lamps; ++i) {
    good = lamp_json(&prop->lamps[i], out);
  }
  json_t* const object = json_object();
  json_object_set_new(object, "schema", json_integer(1));
  json_object_set_new(object, "command", json_string("lamp"));
  json_set_text(object, "subject", prop->subject);
  json_set_text(object, "board", prop->settings.board.name);
  json_object_set_new(object, "packed", json_boolean(prop->packed));
  json_object_set_new(
    object,
    "cautions",
    caution_figures(lamp_cautions(fastest ? fastest : &none)));
  return figures_json(object, out) && good;
}
