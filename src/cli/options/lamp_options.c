#include "cli/options/lamp_options.h"

#include "cli/message/say.h"
#include "cli/options/choice.h"
#include "lamp/lamp.h"
#include "store/store.h"

#include <stdlib.h>
#include <string.h>

/* Quantities */

static const Unit share_units[] = {{"", 1.0, 1.0, false},
                                   {"%", 1.0, 100.0, false}};

static const Unit percent_units[] = {{"%", 1.0, 100.0, false}};

static const Unit volt_units[] = {{"", 1.0, 1.0, false},
                                  {"V", 1.0, 1.0, false},
                                  {"mV", 1.0, 1000.0, false}};

static const Unit ampere_units[] = {{"A", 1.0, 1.0, false},
                                    {"mA", 1.0, 1000.0, false}};

static const Unit hz_units[] = {{"", 1.0, 1.0, false},
                                {"Hz", 1.0, 1.0, false},
                                {"kHz", 1e3, 1.0, false},
                                {"MHz", 1e6, 1.0, false}};

// A capacitor's own unit is the microfarad.
static const Unit farad_units[] = {{"pF", 1.0, 1e6, false},
                                   {"nF", 1.0, 1e3, false},
                                   {"uF", 1.0, 1.0, false},
                                   {"\xC2\xB5"
                                    "F",
                                    1.0,
                                    1.0,
                                    false}};

const Quantity lamp_duty =
  {"of the period", "0.3 or 30%", 0.01, 0.99, UNITS(share_units), false};

const Quantity lamp_supply =
  {"V", "5 or 5V", 0.1, 60.0, UNITS(volt_units), false};

const Quantity lamp_diode_drop =
  {"V", "0.6V", 0.05, 2.0, UNITS(volt_units), false};

const Quantity lamp_capacitor_tolerance =
  {"(5% to 20% are usual)", "10%", 0.01, 0.3, UNITS(percent_units), false};

const Quantity lamp_clock = {"Hz", "12MHz", 1e3, 1e9, UNITS(hz_units), false};

const Quantity lamp_timer_bits =
  {"", "16, say", 8.0, 32.0, UNITS(units_none), true};

const Quantity lamp_brightness_steps =
  {"", "32, say", 2.0, 1024.0, UNITS(units_none), true};

const Quantity lamp_gamma =
  {"", "2.2, say", 0.2, 5.0, UNITS(units_none), false};

const Quantity lamp_led_forward =
  {"V", "2 or 2V", 0.5, 100.0, UNITS(volt_units), false};

const Quantity lamp_led_current =
  {"A", "20mA", 0.0001, 5.0, UNITS(ampere_units), false};

const Quantity lamp_leds = {"", "1, say", 1.0, 100.0, UNITS(units_none), true};

static const Quantity capacitor =
  {"uF", "100nF,1uF,10uF", 1e-4, 1e4, UNITS(farad_units), false};

static const Quantity prescaler =
  {"", "1,8,64,256,1024", 1.0, 65536.0, UNITS(units_none), true};

/* Lists */

/// Somewhere to put the values of a list.
typedef struct {
  double* values;
  size_t  n_most;
  size_t  n;
} List;

/// Read values with commas between them. False, and said, at the first fault.
static bool
read_list(const Quantity* of,
          const char*     shown,
          const char*     value,
          List*           list) {
  for (list->n = 0;;) {
    const size_t length = strcspn(value, ",");
    char* const  one = text_format("%.*s", (int)length, value);
    if (list->n == list->n_most) {
      say(shown, "too many of them: give %zu at most", list->n_most);
      free(one);
      return false;
    }
    const bool good =
      one && units_read(of, shown, one, &list->values[list->n++]);
    free(one);
    if (!good || !value[length]) {
      return good;
    }
    value += length + 1U;
  }
}

bool
lamp_set_capacitors(Settings* settings, const char* shown, const char* value) {
  List list = {settings->lamp.capacitors_farad, VW_CAPACITORS_MOST, 0};
  if (!read_list(&capacitor, shown, value, &list)) {
    return false;
  }
  settings->lamp.n_capacitors = list.n;
  for (size_t i = 0; i < list.n; ++i) {
    settings->lamp.capacitors_farad[i] /= 1e6;
  }
  return true;
}

bool
lamp_set_prescalers(Settings* settings, const char* shown, const char* value) {
  double values[VW_PRESCALERS_MOST];
  List   list = {values, VW_PRESCALERS_MOST, 0};
  if (!read_list(&prescaler, shown, value, &list)) {
    return false;
  }
  for (size_t i = 0; i < list.n; ++i) {
    settings->lamp.counter.prescalers[i] = (unsigned)values[i];
  }
  settings->lamp.counter.n_prescalers = list.n;
  return true;
}

/* Words */

bool
lamp_set_chip(Settings* settings, const char* shown, const char* value) {
  return choose(words_chip, shown, value, &settings->lamp.chip);
}

bool
lamp_set_wiring(Settings* settings, const char* shown, const char* value) {
  static const Choice wirings[] = {{"diode", VW_WIRING_DIODE},
                                   {"two-resistors", VW_WIRING_TWO_RESISTORS},
                                   {NULL, 0}};
  return choose(wirings, shown, value, &settings->lamp.wiring);
}

bool
lamp_set_diode(Settings* settings, const char* shown, const char* value) {
  static const Choice diodes[] = {
    {"small-signal", 0}, {"schottky", 1}, {NULL, 0}};
  int diode = 0;
  if (!choose(diodes, shown, value, &diode)) {
    return false;
  }
  settings->lamp.schottky = diode != 0;
  return true;
}

bool
lamp_set_series(Settings* settings, const char* shown, const char* value) {
  static const Choice all[] = {{"E6", VW_E6},
                               {"E12", VW_E12},
                               {"E24", VW_E24},
                               {"E96", VW_E96},
                               {NULL, 0}};
  int                 series = 0;
  if (!choose(all, shown, value, &series)) {
    return false;
  }
  settings->lamp.series = (VwESeries)series;
  return true;
}

/* Files */

bool
lamp_set_header(Settings* settings, const char* shown, const char* value) {
  if (!vw_path_ends_in(value, ".h")) {
    say(shown, "a C header: give a name that ends in .h");
    return false;
  }
  settings->lamp.header = value;
  return true;
}
