#include "cli/message/json_values.h"

#include "cli/message/text.h"

#include <math.h>
#include <stdlib.h>

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
