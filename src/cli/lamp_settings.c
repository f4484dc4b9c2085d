#include "lamp_settings.h"

#include <math.h>

LampSettings
lamp_settings_defaults(void) {
  return (LampSettings){.supply_v = 5.0,
                        .chip = -1,
                        .diode_drop_v = NAN,
                        .capacitor_tolerance = NAN,
                        .series = VW_E24,
                        // A general one: common practice.
                        .counter = {.clock_hz = 0.0,
                                    .bits = 16U,
                                    .prescalers = {1U, 8U, 64U, 256U, 1024U},
                                    .n_prescalers = 5U},
                        .timer_bits = 16.0,
                        .gamma = 2.2,
                        .led_forward_v = 2.0,
                        .led_current_a = 0.02,
                        .n_leds = 1.0};
}
