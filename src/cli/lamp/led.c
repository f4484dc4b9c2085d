#include "cli/lamp/lamp.h"

#include <math.h>
#include <stdio.h>

/// The rating of a resistor: "1/4 W", "2 W".
static const char*
lamp_watt(char text[40], double watt) {
  const bool part = watt > 0.0 && watt < 1.0;
  (void)snprintf(
    text, 40, "%s%.4g W", part ? "1/" : "", part ? 1.0 / watt : watt);
  return text;
}

/// In mA, to what one can measure.
static double
milli(double ampere) {
  return lamp_rounded(1000.0 * ampere, 3);
}

Figures*
lamp_led_figures(const LampLed* of) {
  const VwLed* const led = &of->led;
  Figures* const     made = figures_new();
  figures_set(made, "error", figures_of_status(of->status));
  if (!of->status) {
    figures_set(made, "transistor", led->alone != VW_OK);
    figures_set(made, "driver_drop_v", led->drop.typical_v);
    figures_set(made, "driver_drop_worst_v", led->drop.worst_v);
    figures_set(made, "driver_drop_most_a", led->drop.most_a);
    figures_set(
      made, "base_ohm", led->base_ohm > 0.0 ? led->base_ohm : (double)NAN);
    figures_set(
      made, "gain_least", led->base_ohm > 0.0 ? led->gain : (double)NAN);
    figures_set(made, "resistor_ohm", led->resistor_ohm);
    figures_set(made, "power_w", led->power_w);
    figures_set(made, "next_e24_ohm", led->next_ohm);
    figures_set(made, "next_e24_w", led->next_w);
    figures_set(made, "rating_w", led->rating_w);
    figures_set(made, "current_a", led->current_a);
    figures_set(made, "current_least_a", led->least_a);
  }
  return made;
}

bool
lamp_led_can_hang(const LampLed* of) {
  VwLedWish wish = of->wish;
  VwLed     led = {0};
  wish.lit_while_low = true;
  return !vw_led_find(&wish, &led);
}

/// The least supply, in tenths of a volt, for an LED that needs more; NaN where
/// none that every chip stands does.
static double
enough_v(const LampLed* of) {
  VwLedWish wish = of->wish;
  VwLed     led = {0};
  VwStatus  st = of->status;
  for (double tenths = ceil(10.0 * wish.supply_v);
       st == VW_SUPPLY_LOW && tenths <= 150.0;
       ++tenths) {
    wish.supply_v = tenths / 10.0;
    st = vw_led_find(&wish, &led);
  }
  return of->status && !st ? wish.supply_v : (double)NAN;
}

Figures*
lamp_led_told(const LampLed* of, bool verbose) {
  const VwLed* const led = &of->led;
  char               text[40];
  Figures* const     made = lamp_led_figures(of);
  figures_set(made, "verbose", verbose);
  figures_set(made, "next", lamp_ohm(text, led->next_ohm));
  figures_set(made, "base", lamp_ohm(text, led->base_ohm));
  figures_set(made, "small", of->wish.current_a <= VW_SMALL_TRANSISTOR_A);
  figures_set(made, "low_left", led->alone == VW_SUPPLY_LOW);
  const bool cmos = of->wish.chip == VW_CHIP_CMOS;
  figures_set(made, "sheet", cmos ? "SLFS043F" : "SLFS022I");
  figures_set(made, "read", !cmos && !of->wish.lit_while_low);
  figures_set(made, "rating", lamp_watt(text, led->rating_w));
  figures_set(made, "output_worst_v", led->output.worst_v);
  figures_set(made, "output_ma", 1000.0 * led->output.most_a);
  figures_set(made, "stated_v", led->output.stated_v);
  figures_set(made, "wished_ma", milli(of->wish.current_a));
  figures_set(made, "current_ma", milli(led->current_a));
  figures_set(made, "least_ma", milli(led->least_a));
  figures_set(made, "supply_v", of->wish.supply_v);
  figures_set(made, "n_leds", of->wish.n_leds);
  figures_set(made, "enough_v", enough_v(of));
  figures_set(made, "several", of->wish.n_leds > 1U);
  figures_set(made, "forward_v", of->wish.forward_v);
  return made;
}
