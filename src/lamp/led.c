// What switches light-emitting diodes behind a timer, and their resistor.

#include "base/units.h"
#include "lamp/lamp.h"

#include <math.h>
#include <stddef.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

// With less over the resistor a small change of any voltage is a great one of
// the current (chosen here).
#define OVER_LEAST_V 1.0

// A base-emitter junction that conducts, and the share of its current that
// keeps a transistor fully on: common practice.
#define BASE_V 0.7
#define BASE_SHARE 0.05

// A resistor stays cool with half of what it stands: common practice.
#define POWER_SHARE 0.5

/// What an output of a chip loses, up to a current and from a supply on.
static const struct {
  VwChip chip;
  bool   low;
  double least_v;
  VwDrop drop;
} outputs[] = {
  // Texas Instruments, NE555 data sheet SLFS022I, 7.5: at 100 mA 3.3 V of 5 V
  // are left, 2.75 V at least. Low: from memory; those at 15 V are taken for
  // lower supplies too (chosen here).
  {VW_CHIP_BIPOLAR, false, 4.5, {0.1, 1.7, 2.25, 5.0}},
  {VW_CHIP_BIPOLAR, true, 4.5, {0.008, 0.15, 0.4, 5.0}},
  {VW_CHIP_BIPOLAR, true, 4.5, {0.05, 0.4, 0.75, 15.0}},
  {VW_CHIP_BIPOLAR, true, 4.5, {0.1, 2.0, 2.5, 15.0}},
  // TLC555 data sheet SLFS043F, from memory; 20 mA in proportion to 8 mA.
  {VW_CHIP_CMOS, false, 15.0, {0.01, 0.8, 2.5, 15.0}},
  {VW_CHIP_CMOS, false, 5.0, {0.001, 0.2, 0.9, 5.0}},
  {VW_CHIP_CMOS, false, 2.0, {0.0003, 0.1, 0.5, 2.0}},
  {VW_CHIP_CMOS, true, 5.0, {0.008, 0.21, 0.4, 5.0}},
  {VW_CHIP_CMOS, true, 5.0, {0.02, 0.53, 1.0, 5.0}},
  {VW_CHIP_CMOS, true, 2.0, {0.001, 0.07, 0.3, 2.0}},
};

/// The drop of an output at a current, or at the most that it is stated for.
static VwDrop
output_drop(const VwLedWish* wish) {
  VwDrop drop = {0};
  for (size_t i = 0; i < COUNT(outputs) && drop.most_a < wish->current_a; ++i) {
    if (outputs[i].chip == wish->chip &&
        outputs[i].low == wish->lit_while_low &&
        outputs[i].least_v <= wish->supply_v &&
        outputs[i].drop.most_a > drop.most_a) {
      drop = outputs[i].drop;
    }
  }
  return drop;
}

/// What switches up to a current, the last one any; what it drops fully on, and
/// the gain that it surely has: common practice.
typedef struct {
  const char* name;
  double      most_a;
  double      typical_v;
  double      worst_v;
  double      gain;
} Transistor;

static const Transistor transistors[] = {
  {"a small NPN transistor", 0.1, 0.2, 0.3, 100.0},
  {"an NPN transistor", HUGE_VAL, 0.5, 1.0, 20.0},
};

static const Transistor*
transistor_for(double current_a) {
  size_t i = 0;
  while (i + 1U < COUNT(transistors) && !(current_a <= transistors[i].most_a)) {
    ++i;
  }
  return &transistors[i];
}

const char*
vw_transistor_name(double current_a) {
  return transistor_for(current_a)->name;
}

VwDrop
vw_transistor_drop(double current_a) {
  const Transistor* const row = transistor_for(current_a);
  return (VwDrop){current_a, row->typical_v, row->worst_v, 0.0};
}

/// The next rating of a resistor for a power: common practice.
static double
rating_for(double power_w) {
  static const double ratings_w[] = {0.125, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0};
  const double        wanted = power_w / POWER_SHARE;
  for (size_t i = 0; i < COUNT(ratings_w); ++i) {
    if (ratings_w[i] >= wanted) {
      return ratings_w[i];
    }
  }
  return ceil(wanted / 25.0) * 25.0;
}

VwStatus
vw_led_behind(const VwLedWish* wish, const VwDrop* drop, VwLed* led) {
  if (!(wish->current_a > 0.0) || !wish->n_leds || !(wish->forward_v > 0.0)) {
    return VW_BAD_OPTION;
  }
  const double left_v = wish->supply_v - wish->n_leds * wish->forward_v;
  const double usual_v = left_v - drop->typical_v;
  const double least_v = left_v - drop->worst_v;
  if (!(least_v >= OVER_LEAST_V - 1e-9)) {
    return VW_SUPPLY_LOW;
  }
  const double ohm = usual_v / wish->current_a;
  const double next = vw_e_series_up(VW_E24, ohm);
  *led = (VwLed){.drop = *drop,
                 .resistor_ohm = ohm,
                 .power_w = wish->current_a * wish->current_a * ohm,
                 .next_ohm = next,
                 .next_w = usual_v * usual_v / next,
                 .rating_w = rating_for(usual_v * usual_v / next),
                 .current_a = usual_v / next,
                 .least_a = least_v / next};
  return VW_OK;
}

/// A transistor's base resistor, from an output that is high.
static VwStatus
find_base(const VwLedWish* wish, VwLed* led) {
  VwLedWish base = *wish;
  base.current_a = BASE_SHARE * wish->current_a;
  const VwDrop drop = output_drop(&base);
  const double left_v = wish->supply_v - drop.worst_v - BASE_V;
  if (!(left_v > 0.0) || !(drop.most_a > 0.0)) {
    return VW_SUPPLY_LOW;
  }
  // No more than the output is known to give.
  led->base_ohm = fmax(vw_e_series_down(VW_E24, left_v / base.current_a),
                       vw_e_series_up(VW_E24, left_v / drop.most_a));
  led->gain = wish->current_a * led->base_ohm / left_v;
  return led->gain <= transistor_for(wish->current_a)->gain + 1e-9
           ? VW_OK
           : VW_LED_CURRENT;
}

VwStatus
vw_led_find(const VwLedWish* wish, VwLed* led) {
  const VwDrop output = output_drop(wish);
  const bool   stands = output.most_a >= wish->current_a;
  VwLed        found = {0};
  VwStatus st = stands ? vw_led_behind(wish, &output, &found) : VW_LED_CURRENT;
  const VwStatus alone = st;
  // A transistor inverts; behind an output that is low there is none.
  if (alone && alone != VW_BAD_OPTION && !wish->lit_while_low) {
    const VwDrop drop = vw_transistor_drop(wish->current_a);
    st = vw_led_behind(wish, &drop, &found);
    st = st ? st : find_base(wish, &found);
  }
  if (!st) {
    found.alone = alone;
    found.output = output;
    *led = found;
  }
  return st;
}
