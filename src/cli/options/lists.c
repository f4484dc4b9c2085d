// Options of several values, with commas between them.

#include "cli/options/types.h"

#include "base/text.h"
#include "cli/message/message.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

/// Read values with commas between them, one by one.
static bool
read_list(const Value* value, bool (*take)(const Value* one)) {
  Value       one = *value;
  const char* at = value->text;
  for (;;) {
    const size_t length = strcspn(at, ",");
    char* const  text = text_format("%.*s", (int)length, at);
    one.text = text;
    const bool good = text && take(&one);
    free(text);
    if (!good || !at[length]) {
      return good;
    }
    at += length + 1U;
  }
}

static bool
take_fire_rate(const Value* one) {
  LoopSettings* const loop = &one->settings->loop;
  if (loop->n_ladder == LADDER_MOST) {
    return say(one->shown, "more than %u fire rates: give fewer", LADDER_MOST);
  }
  return units_read_fire_rate(
    one->shown, one->text, &loop->ladder_per_s[loop->n_ladder++]);
}

static bool
read_fire_rates(const Value* value) {
  value->settings->loop.fire_rate_text = value->text;
  value->settings->loop.n_ladder = 0;
  const bool good = read_list(value, take_fire_rate);
  value->settings->family.fire_rate_per_s =
    value->settings->loop.ladder_per_s[0];
  return good;
}

#define HOLDS "1.2s, or 1.2s,300ms,0.8s: held, released, held"
#define HOLDS_MOST_S 600.0

static bool
take_hold(const Value* one) {
  static const Quantity time = {
    "seconds", HOLDS, {0.001, 60.0}, UNITS(units_seconds), false};
  RehearseSettings* const rehearse = &one->settings->rehearse;
  double                  sum_s = 0.0;
  if (rehearse->n_hold == HOLDS_MOST) {
    return say(one->shown, "more than %u times: give fewer", HOLDS_MOST);
  }
  if (!units_read(
        &time, one->shown, one->text, &rehearse->hold_s[rehearse->n_hold++])) {
    return false;
  }
  for (size_t i = 0; i < rehearse->n_hold; ++i) {
    sum_s += rehearse->hold_s[i];
  }
  if (sum_s > HOLDS_MOST_S) {
    return say(
      one->shown, "more than %g s in all: hold it for shorter", HOLDS_MOST_S);
  }
  return true;
}

/// Whether some of a list end with a unit and others with a digit, as where a
/// comma was meant as a point.
static bool
is_mixed(const char* text) {
  size_t n_units = 0;
  size_t n_bare = 0;
  for (; *text; ++text) {
    if (!text[1] || text[1] == ',') {
      *(isdigit((unsigned char)*text) ? &n_bare : &n_units) += 1U;
    }
  }
  return n_units && n_bare;
}

static bool
read_holds(const Value* value) {
  if (!read_list(value, take_hold)) {
    return false;
  }
  return !is_mixed(value->text) ||
         say(value->shown,
             "some have no unit: write " HOLDS ", or 1.2 with a point");
}

/// Whether a list has room for one more. False, and said, if not.
static bool
has_room(const char* shown, size_t n, size_t n_most) {
  return n < n_most || say(shown, "too many of them: give %zu at most", n_most);
}

static bool
take_capacitor(const Value* one) {
  // A capacitor's own unit is the microfarad.
  static const Unit     units[] = {{"pF", 1.0, 1e6, false},
                                   {"nF", 1.0, 1e3, false},
                                   {"uF", 1.0, 1.0, false},
                                   {"\302\265F", 1.0, 1.0, false}};
  static const Quantity capacitor = {
    "uF", "100nF,1uF,10uF", {1e-4, 1e4}, UNITS(units), false};
  LampSettings* const lamp = &one->settings->lamp;
  double              uf = 0.0;
  if (!has_room(one->shown, lamp->n_capacitors, VW_CAPACITORS_MOST) ||
      !units_read(&capacitor, one->shown, one->text, &uf)) {
    return false;
  }
  lamp->capacitors_farad[lamp->n_capacitors++] = uf / 1e6;
  return true;
}

static bool
read_capacitors(const Value* value) {
  return read_list(value, take_capacitor);
}

static bool
take_prescaler(const Value* one) {
  static const Quantity prescaler = {
    "", "1,4,32", VW_RANGE_PRESCALER, UNITS(units_none), true};
  VwCounter* const counter = &one->settings->lamp.counter;
  return has_room(one->shown, counter->n_prescalers, VW_PRESCALERS_MOST) &&
         units_read_count(&prescaler,
                          one->shown,
                          one->text,
                          &counter->prescalers[counter->n_prescalers++]);
}

static bool
read_prescalers(const Value* value) {
  value->settings->lamp.counter.n_prescalers = 0;
  return read_list(value, take_prescaler);
}

const OptionType type_fire_rates = {.read = read_fire_rates};
const OptionType type_holds = {.read = read_holds};
const OptionType type_capacitors = {.read = read_capacitors};
const OptionType type_prescalers = {.read = read_prescalers};
