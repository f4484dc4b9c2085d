/// @file
/// The options of the lamp command.
#ifndef VW_CLI_LAMP_OPTIONS_H
#define VW_CLI_LAMP_OPTIONS_H

#include "cli/options/settings.h"
#include "cli/options/units.h"

extern const Quantity lamp_duty;
extern const Quantity lamp_supply;
extern const Quantity lamp_diode_drop;
extern const Quantity lamp_capacitor_tolerance;
extern const Quantity lamp_clock;
extern const Quantity lamp_timer_bits;
extern const Quantity lamp_brightness_steps;
extern const Quantity lamp_gamma;
extern const Quantity lamp_led_forward;
extern const Quantity lamp_led_current;
extern const Quantity lamp_leds;

bool lamp_set_chip(Settings* settings, const char* shown, const char* value);
bool lamp_set_wiring(Settings* settings, const char* shown, const char* value);
bool lamp_set_diode(Settings* settings, const char* shown, const char* value);
bool lamp_set_series(Settings* settings, const char* shown, const char* value);
bool lamp_set_capacitors(Settings*   settings,
                         const char* shown,
                         const char* value);
bool lamp_set_prescalers(Settings*   settings,
                         const char* shown,
                         const char* value);
bool lamp_set_header(Settings* settings, const char* shown, const char* value);

#endif
