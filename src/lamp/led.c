#include "lamp/lamp.h"

#include "volleyweave/volleyweave.h"

VwStatus
vw_led_find(const VwLedWish* wish, VwLed* led) {
  if (!(wish->current_a > 0.0) || !wish->n_leds || !(wish->forward_v > 0.0) ||
      !(wish->driver_drop_v >= 0.0)) {
    return VW_BAD_OPTION;
  }
  const double left_v =
    wish->supply_v - wish->driver_drop_v - wish->n_leds * wish->forward_v;
  if (!(left_v > 0.0)) {
    return VW_SUPPLY_LOW;
  }
  const double ohm = left_v / wish->current_a;
  const double next = vw_e_series_up(VW_E24, ohm);
  *led = (VwLed){.resistor_ohm = ohm,
                 .power_w = wish->current_a * wish->current_a * ohm,
                 .next_ohm = next,
                 .next_w = left_v * left_v / next,
                 .current_a = left_v / next};
  return VW_OK;
}

// High: Texas Instruments, NE555 data sheet SLFS022I, 7.5 (at 5 V and 100 mA
// 3.3 V are left). Low and CMOS: from memory.
double
vw_chip_drop_v(VwChip chip, bool lit_while_low) {
  static const double drops_v[2][2] = {
    [VW_CHIP_BIPOLAR] = {1.7, 0.25}, [VW_CHIP_CMOS] = {0.5, 0.25}};
  return drops_v[chip][lit_while_low ? 1 : 0];
}
