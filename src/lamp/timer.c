// The parts of a 555 astable that flashes a lamp.

#include "base/ranges.h"
#include "lamp/circuit.h"
#include "lamp/lamp.h"

#include <float.h>
#include <math.h>

#define LN2 0.69314718055994531

// Below, the chip's discharge pin takes much current; above, moisture and hum
// count (common practice).
#define OHM_LEAST 1e3
#define OHM_MOST 1e6

// RA and RB together: 3.4 Mohm at 5 V, in proportion at 15 V (threshold
// current; NE555 data sheet SLFS022I).
#define OHM_MOST_PER_V 0.68e6

#define BIPOLAR_LEAST_V 4.5 // LM555 data sheet SNAS548D, as is the most.
#define BIPOLAR_MOST_V 16.0
#define CMOS_LEAST_V 2.0 // From memory, as is the most.
#define CMOS_MOST_V 15.0

// Film capacitors up to 1 uF and +-10 %: common practice. Electrolytics above,
// +-20 %: from memory.
#define FILM_MOST_FARAD 1.05e-6
#define FILM_TOLERANCE 0.1
#define ELECTROLYTIC_TOLERANCE 0.2

// The data sheets state their figures at 25 degrees C. The others are those of
// props out of doors (chosen here).
#define COOL_C 0.0
#define ROOM_C 25.0
#define WARM_C 40.0

/// What the chip adds to the tolerances of the parts about it.
static const struct {
  double error;       ///< Of its times. Bipolar: typical, no most is given.
  double drift_per_k; ///< The same, for each kelvin from 25 degrees C.
} chips[] = {
  [VW_CHIP_BIPOLAR] = {0.0225, 150e-6}, // SLFS022I, 7.5.
  [VW_CHIP_CMOS] = {0.03, 75e-6},       // SLFS043F; SNAS558J.
};

/// A search, and the best so far.
typedef struct {
  VwCircuit circuit;
  double    resistor_tolerance;
  double    best_cost;
  VwTimer   best;
  VwStatus  why_not; ///< What stopped it, while nothing was found.
} Search;

/* Trimmer */

/// The smallest trimmer not below `ohm`, 1, 2 and 5 in each decade (common
/// practice), or 0.
static double
trimmer_up(double ohm) {
  static const double steps[] = {1.0, 2.0, 5.0};
  for (double decade = OHM_LEAST; decade <= OHM_MOST; decade *= 10.0) {
    for (int i = 0; i < 3; ++i) {
      if (steps[i] * decade >= ohm && steps[i] * decade <= OHM_MOST) {
        return steps[i] * decade;
      }
    }
  }
  return 0.0;
}

static double
capacitor_tolerance(const VwTimerWish* wish, double c_farad) {
  if (isfinite(wish->capacitor_tolerance)) {
    return wish->capacitor_tolerance;
  }
  return c_farad <= FILM_MOST_FARAD ? FILM_TOLERANCE : ELECTROLYTIC_TOLERANCE;
}

/// All parts and the chip at one end of their tolerances: -1 or 1.
static VwCorner
corner_at(const Search* search, double c_farad, double sign) {
  const double resistor = 1.0 + sign * search->resistor_tolerance;
  return (VwCorner){
    .capacitor =
      1.0 + sign * capacitor_tolerance(search->circuit.wish, c_farad),
    .plain = resistor,
    .trimmed = resistor,
    .chip = 1.0 + sign * chips[search->circuit.wish->chip].error,
    .celsius = ROOM_C};
}

/// Fixed resistor and trimmer with which every corner can be set.
static VwStatus
choose_trimmer(const Search* search, VwTimer* timer) {
  const double tolerance = search->resistor_tolerance;
  const double c = timer->c_farad;
  VwCorner     few = corner_at(search, c, 1.0);
  VwCorner     many = corner_at(search, c, -1.0);
  few.trimmed = 1.0; // what is looked for is what it has, not what it says
  many.trimmed = 1.0;
  const double least =
    vw_circuit_trimmed(&search->circuit, c, timer->plain_ohm, &few);
  const double most =
    vw_circuit_trimmed(&search->circuit, c, timer->plain_ohm, &many);
  if (least < OHM_LEAST * (1.0 + tolerance)) {
    return VW_CAPACITORS_BIG;
  }
  timer->fixed_ohm =
    vw_e_series_down(search->circuit.wish->series, least / (1.0 + tolerance));
  timer->trimmer_ohm =
    trimmer_up((most - timer->fixed_ohm * (1.0 - tolerance)) /
               (1.0 - search->circuit.wish->trimmer_tolerance));
  if (timer->trimmer_ohm <= 0.0 ||
      timer->fixed_ohm + timer->trimmer_ohm > OHM_MOST) {
    return VW_CAPACITORS_SMALL;
  }
  const double both = timer->plain_ohm + timer->fixed_ohm + timer->trimmer_ohm;
  return both <= OHM_MOST_PER_V * search->circuit.wish->supply_v
           ? VW_OK
           : VW_CAPACITORS_SMALL;
}

/* What it does */

static VwAstableTimes
set_times(const Search* search, const VwTimer* timer, const VwCorner* corner) {
  const VwOhms ohms = {timer->plain_ohm, timer->fixed_ohm + timer->set_ohm};
  return vw_circuit_times(&search->circuit, timer->c_farad, ohms, corner);
}

static void
take_in(VwSpread* spread, double value) {
  spread->least = fmin(spread->least, value);
  spread->most = fmax(spread->most, value);
}

static void
spread_over_tolerance(const Search* search, VwTimer* timer) {
  for (double sign = -1.0; sign <= 1.0; sign += 2.0) {
    VwCorner corner = corner_at(search, timer->c_farad, sign);
    // Of what is trimmed, each part has its own tolerance.
    corner.trimmed =
      1.0 + sign *
              (search->resistor_tolerance * timer->fixed_ohm +
               search->circuit.wish->trimmer_tolerance * timer->set_ohm) /
              (timer->fixed_ohm + timer->set_ohm);
    const VwAstableTimes times = set_times(search, timer, &corner);
    take_in(&timer->rate_hz, times.rate_hz);
    take_in(&timer->on_ms, vw_circuit_on_ms(&search->circuit, &times));
  }
}

/// What the trimmer reaches whatever the tolerances: from its upper end where
/// all is low to its lower end where all is high.
static void
find_sure_range(const Search* search, VwTimer* timer) {
  const VwTimerWish* const wish = search->circuit.wish;
  const double   fixed = timer->fixed_ohm * (1.0 - search->resistor_tolerance);
  const double   whole = timer->trimmer_ohm * (1.0 - wish->trimmer_tolerance);
  VwTimer        end = *timer;
  const VwCorner few = corner_at(search, timer->c_farad, 1.0);
  VwCorner       many = corner_at(search, timer->c_farad, -1.0);
  end.set_ohm = 0.0;
  timer->rate_sure_hz.most = set_times(search, &end, &few).rate_hz;
  end.set_ohm = timer->trimmer_ohm;
  many.trimmed = (fixed + whole) / (timer->fixed_ohm + timer->trimmer_ohm);
  timer->rate_sure_hz.least = set_times(search, &end, &many).rate_hz;
  timer->rate_sure_hz.middle = wish->rate_hz;
}

static void
spread_over_temperature(const Search* search, VwTimer* timer) {
  static const double at_c[] = {COOL_C, WARM_C};
  for (int i = 0; i < 4; ++i) {
    VwCorner     corner = vw_corner_nominal;
    const double drift =
      chips[timer->chip].drift_per_k * fabs(at_c[i / 2] - ROOM_C);
    corner.celsius = at_c[i / 2];
    corner.chip = 1.0 + (i % 2 ? drift : -drift);
    const VwAstableTimes times = set_times(search, timer, &corner);
    take_in(&timer->rate_warm_hz, times.rate_hz);
    take_in(&timer->on_warm_ms, vw_circuit_on_ms(&search->circuit, &times));
  }
}

static VwSpread
spread_about(double middle) {
  return (VwSpread){middle, middle, middle};
}

static void
find_times(const Search* search, VwTimer* timer) {
  const double total = vw_circuit_trimmed(
    &search->circuit, timer->c_farad, timer->plain_ohm, &vw_corner_nominal);
  timer->set_ohm = total - timer->fixed_ohm;
  timer->set_share = timer->set_ohm / timer->trimmer_ohm;
  const VwAstableTimes times = set_times(search, timer, &vw_corner_nominal);
  timer->rate_hz = spread_about(times.rate_hz);
  timer->on_ms = spread_about(vw_circuit_on_ms(&search->circuit, &times));
  timer->rate_warm_hz = timer->rate_hz;
  timer->on_warm_ms = timer->on_ms;
  timer->rate_range_hz = timer->rate_hz;
  VwTimer end = *timer;
  end.set_ohm = 0.0;
  timer->rate_range_hz.most =
    set_times(search, &end, &vw_corner_nominal).rate_hz;
  end.set_ohm = timer->trimmer_ohm;
  timer->rate_range_hz.least =
    set_times(search, &end, &vw_corner_nominal).rate_hz;
}

/* Search */

/// What speaks against a circuit: first of all a wrong on-time, by its ratio.
static double
cost_of(const Search* search, const VwTimer* timer) {
  const double off =
    fabs(log(timer->on_ms.middle / search->circuit.wish->on_ms));
  // Electrolytics age and leak; great resistances pick up hum and moisture.
  // Each weighs as much as 2 or 3 % of the on-time (chosen here).
  const double capacitor = timer->c_farad > FILM_MOST_FARAD ? 0.03 : 0.0;
  const double great =
    timer->fixed_ohm + timer->trimmer_ohm > OHM_MOST / 2.0 ? 0.02 : 0.0;
  const double small = timer->plain_ohm < 2.0 * OHM_LEAST ? 0.02 : 0.0;
  return off + capacitor + great + small;
}

/// Remember what stopped a candidate: the trimmer, or else the capacitors.
static void
note_failure(Search* search, VwStatus why) {
  if (search->why_not != VW_OK && search->why_not != why) {
    why = VW_TRIMMER_SHORT;
  }
  search->why_not = why;
}

static void
try_plain(Search* search, double c_farad, double plain_ohm) {
  const VwTimerWish* const wish = search->circuit.wish;
  VwTimer                  timer = {.wiring = wish->wiring,
                                    .chip = wish->chip,
                                    .lit_while_low = vw_circuit_is_low(&search->circuit),
                                    .trims_ra = vw_circuit_trims_ra(&search->circuit),
                                    .c_farad = c_farad,
                                    .capacitor_tolerance = capacitor_tolerance(wish, c_farad),
                                    .resistor_tolerance = search->resistor_tolerance,
                                    .plain_ohm = plain_ohm,
                                    .textbook_on_ms = 1000.0 * LN2 * plain_ohm * c_farad};
  const VwStatus           st = plain_ohm < OHM_LEAST  ? VW_CAPACITORS_BIG
                                : plain_ohm > OHM_MOST ? VW_CAPACITORS_SMALL
                                                       : choose_trimmer(search, &timer);
  if (st) {
    note_failure(search, st);
    return;
  }
  find_times(search, &timer);
  const double cost = cost_of(search, &timer);
  if (cost < search->best_cost) {
    spread_over_tolerance(search, &timer);
    spread_over_temperature(search, &timer);
    find_sure_range(search, &timer);
    search->best_cost = cost;
    search->best = timer;
  }
}

static void
try_capacitor(Search* search, double c_farad) {
  const VwESeries series = search->circuit.wish->series;
  const double wanted = vw_circuit_plain(&search->circuit, c_farad, OHM_LEAST);
  const double down = vw_e_series_down(series, wanted);
  const double up = vw_e_series_up(series, wanted);
  try_plain(search, c_farad, down);
  if (up > down) {
    try_plain(search, c_farad, up);
  }
}

/// Whether a plan can serve a wish.
static bool
serves(VwPartsPlan plan, const VwTimerWish* wish) {
  const bool below = wish->on_ms * wish->rate_hz / 1000.0 <= 0.5;
  if (wish->wiring == VW_WIRING_DIODE) {
    return plan == VW_PARTS_DIODE;
  }
  return plan == VW_PARTS_HIGH_TRIM_RB ? !below
                                       : plan != VW_PARTS_DIODE && below;
}

static VwStatus
check_supply(const VwTimerWish* wish) {
  const bool   bipolar = wish->chip == VW_CHIP_BIPOLAR;
  const double least = bipolar ? BIPOLAR_LEAST_V : CMOS_LEAST_V;
  const double most = bipolar ? BIPOLAR_MOST_V : CMOS_MOST_V;
  // At the end of charging a third of the supply is left for diode and RA.
  const bool blocked = wish->wiring == VW_WIRING_DIODE &&
                       wish->supply_v / 3.0 <= wish->diode.drop_v;
  return wish->supply_v < least || blocked ? VW_SUPPLY_LOW
         : wish->supply_v > most           ? VW_SUPPLY_HIGH
                                           : VW_OK;
}

static VwStatus
check(const VwTimerWish* wish) {
  bool sound =
    vw_is_within(wish->rate_hz, (VwRange)VW_RANGE_FIRE_RATE_PER_S) &&
    isfinite(wish->supply_v) && wish->n_capacitors >= 1U &&
    wish->n_capacitors <= VW_CAPACITORS_MOST &&
    vw_is_within(wish->diode.drop_v, (VwRange)VW_RANGE_DIODE_DROP_V) &&
    vw_is_within(wish->trimmer_tolerance, (VwRange){0.0, 0.3}) &&
    (isnan(wish->resistor_tolerance) ||
     vw_is_within(wish->resistor_tolerance, (VwRange){0.0, 0.2})) &&
    (isnan(wish->capacitor_tolerance) ||
     vw_is_within(wish->capacitor_tolerance,
                  (VwRange)VW_RANGE_CAPACITOR_TOLERANCE));
  for (size_t i = 0; sound && i < wish->n_capacitors; ++i) {
    sound = vw_is_within(wish->capacitors_farad[i], (VwRange){1e-12, 1e-2});
  }
  if (!sound) {
    return VW_BAD_OPTION;
  }
  const double period_ms = 1000.0 / wish->rate_hz;
  return wish->on_ms > 0.0 && wish->on_ms < period_ms ? check_supply(wish)
                                                      : VW_ON_TIME;
}

// Supply, trimmer of +-20 % and capacitors at hand: common practice.
VwTimerWish
vw_timer_defaults(const VwLamp* lamp) {
  return (VwTimerWish){
    .rate_hz = lamp->pulse_hz,
    .on_ms = lamp->on_ms,
    .wiring = VW_WIRING_DIODE,
    .supply_v = 5.0,
    .chip = VW_CHIP_BIPOLAR,
    .diode = vw_diode_small_signal(),
    .series = VW_E24,
    .resistor_tolerance = NAN,
    .capacitor_tolerance = NAN,
    .trimmer_tolerance = 0.2,
    .capacitors_farad = {100e-9, 220e-9, 470e-9, 1e-6, 2.2e-6, 4.7e-6, 10e-6},
    .n_capacitors = 7U};
}

VwStatus
vw_timer_find(const VwTimerWish* wish, VwTimer* timer) {
  const VwStatus st = check(wish);
  if (st) {
    return st;
  }
  Search search = {
    .circuit = {.wish = wish, .period_ms = 1000.0 / wish->rate_hz},
    .resistor_tolerance = isfinite(wish->resistor_tolerance)
                            ? wish->resistor_tolerance
                            : vw_e_series_tolerance(wish->series),
    .best_cost = DBL_MAX};
  for (int plan = 0; plan < VW_N_PARTS; ++plan) {
    search.circuit.plan = (VwPartsPlan)plan;
    for (size_t i = 0;
         serves(search.circuit.plan, wish) && i < wish->n_capacitors;
         ++i) {
      try_capacitor(&search, wish->capacitors_farad[i]);
    }
  }
  if (search.best_cost == DBL_MAX) {
    return search.why_not;
  }
  *timer = search.best;
  return VW_OK;
}

VwAstable
vw_timer_parts(const VwTimerWish* wish, const VwTimer* timer) {
  const double trimmed = timer->fixed_ohm + timer->set_ohm;
  return (VwAstable){.wiring = timer->wiring,
                     .ra_ohm = timer->trims_ra ? trimmed : timer->plain_ohm,
                     .rb_ohm = timer->trims_ra ? timer->plain_ohm : trimmed,
                     .c_farad = timer->c_farad,
                     .supply_v = wish->supply_v,
                     .diode = wish->diode,
                     .celsius = ROOM_C};
}
