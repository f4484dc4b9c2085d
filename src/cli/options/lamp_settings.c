#include "cli/options/lamp_settings.h"

#include "lamp/lamp.h"

#include <math.h>

LampSettings
lamp_settings_defaults(void) {
  return (LampSettings){
    .supply_v = 5.0,
    .chip = -1,
    .wiring = -1,
    .diode_drop_v = NAN,
    .capacitor_tolerance = NAN,
    .series = VW_E24,
    // No timer in particular: every power of two.
    .counter =
      {.clock_hz = 0.0,
       .bits = 16U,
       .prescalers = {1U, 2U, 4U, 8U, 16U, 32U, 64U, 128U, 256U, 512U, 1024U},
       .n_prescalers = 11U},
    .timer_bits = 16.0,
    // Common practice; the voltage of a red LED from memory.
    .gamma = 2.2,
    .led_forward_v = 2.0,
    .led_current_a = 0.02,
    .n_leds = 1.0};
}
