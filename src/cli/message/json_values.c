#include "cli/message/json_values.h"

#include "cli/message/caution.h"
#include "cli/message/status.h"
#include "cli/message/text.h"

#include <math.h>
#include <stdlib.h>

// Digits that tell any two doubles apart (IEEE 754-2019, 5.12.2).
#define DIGITS 17

json_t*
json_of_number(double value) {
  return isfinite(value) ? json_real(value) : json_null();
}

json_t*
json_of_count(uint64_t n) {
  return json_integer((json_int_t)n);
}

json_t*
json_of_text(const char* text) {
  json_t* const plain = text ? json_string(text) : json_null();
  if (plain) {
    return plain;
  }
  char* const   safe = text_safe(text);
  json_t* const made = json_string(safe ? safe : "");
  free(safe);
  return made;
}

json_t*
json_of_error(VwStatus status, const char* message) {
  return status ? json_pack("{s:s, s:o}",
                            "status",
                            status_word(status),
                            "message",
                            json_of_text(message ? message : ""))
                : json_null();
}

json_t*
json_of_status(VwStatus status) {
  char* const   message = status ? status_message(status) : NULL;
  json_t* const made = json_of_error(status, message);
  free(message);
  return made;
}

void
json_set_number(json_t* object, const char* name, double value) {
  json_object_set_new(object, name, json_of_number(value));
}

void
json_set_count(json_t* object, const char* name, uint64_t n) {
  json_object_set_new(object, name, json_of_count(n));
}

void
json_set_text(json_t* object, const char* name, const char* text) {
  json_object_set_new(object, name, json_of_text(text));
}

json_t*
json_of_cautions(double pulse_hz) {
  json_t* const     cautions = json_object();
  const char* const flash = caution_flash(pulse_hz);
  if (flash) {
    json_set_text(cautions, "flash", flash);
  }
  json_set_text(cautions, "hearing", caution_hearing());
  return cautions;
}

json_t*
json_of_prop_cautions(double pulse_hz) {
  json_t* const cautions = json_of_cautions(pulse_hz);
  json_set_text(cautions, "look_alike", caution_look_alike());
  return cautions;
}

bool
json_print(json_t* object, FILE* out) {
  char* const line = json_dumps(object, JSON_REAL_PRECISION(DIGITS));
  if (line) {
    fprintf(out, "%s\n", line);
  }
  free(line);
  json_decref(object);
  return line != NULL;
}

json_t*
json_of_track(const VwLampTrack* track) {
  if (!track->pulses) {
    return json_null();
  }
  json_t* const made = json_object();
  json_object_set_new(made, "channel", json_integer(2));
  json_set_number(made, "tone_hz", track->tone_hz);
  json_set_number(made, "level_dbfs", track->level_dbfs);
  json_set_number(made, "on_ms", track->on_ms);
  json_set_count(made, "pulses", track->pulses);
  return made;
}
