// The parts of a 555 astable that flashes a lamp.

#include "base/ranges.h"
#include "base/units.h"
#include "lamp/lamp.h"

#include <float.h>
#include <math.h>

// Newton's steps on what is all but a straight line.
#define STEPS_MOST 20

// Below, the chip's discharge pin takes much current; above, moisture and hum
// count (common practice).
#define OHM_LEAST 1e3
#define OHM_MOST 1e6

// RA and RB together: 3.4 Mohm at 5 V, in proportion at 15 V (threshold
// current; NE555 data sheet SLFS022I).
#define OHM_MOST_PER_V 0.68e6

// Film capacitors up to 1 uF and +-10 %: common practice. Electrolytics above,
// +-20 %: from memory.
#define FILM_MOST_FARAD 1.05e-6
#define FILM_TOLERANCE 0.1
#define ELECTROLYTIC_TOLERANCE 0.2

// The temperatures of props out of doors (chosen here).
#define COOL_C 0.0
#define WARM_C 40.0

/// What is known of a chip.
static const struct {
  double least_v; ///< Of its supply.
  double most_v;
  double error;       ///< Of its times. Bipolar: typical, no most is given.
  double drift_per_k; ///< The same, for each kelvin from room temperature.
} chips[] = {
  // Supply: LM555 data sheet SNAS548D. Error and drift: Texas Instruments,
  // NE555 data sheet SLFS022I, 7.5.
  [VW_CHIP_BIPOLAR] = {4.5, 16.0, 0.0225, 150e-6},
  // Error and drift: SLFS043F; SNAS558J. Supply: from memory.
  [VW_CHIP_CMOS] = {2.0, 15.0, 0.03, 75e-6},
};

/// How on-time and rate can be set. With a diode RA makes the on-time and the
/// trimmed RB the time between.
static const struct {
  VwWiring wiring;
  bool     lit_while_low;
  bool     trims_ra;
} plans[] = {
  {VW_WIRING_DIODE, false, false},
  // RB the on-time; RA the rest.
  {VW_WIRING_TWO_RESISTORS, true, true},
  // The same, for a duty near a half.
  {VW_WIRING_TWO_RESISTORS, true, false},
  // Above a half.
  {VW_WIRING_TWO_RESISTORS, false, false},
};

#define N_PLANS (sizeof(plans) / sizeof(plans[0]))

/// Everything that may differ from what is printed on it.
typedef struct {
  double capacitor; ///< Factors.
  double plain;
  double trimmed;
  double chip; ///< Of the times.
  double supply;
  double drop_v;  ///< What is added to the diode's.
  double celsius; ///< Of the diode.
} Corner;

/// Everything as printed.
static const Corner nominal = {1.0, 1.0, 1.0, 1.0, 1.0, 0.0, VW_ROOM_C};

/// A search, and the best so far.
typedef struct {
  const VwTimerWish* wish;
  double             best_cost;
  VwTimer            best;
  VwStatus           why_not; ///< What stopped it, while nothing was found.
} Search;

double
vw_chip_least_v(VwChip chip) {
  return chips[chip].least_v;
}

double
vw_chip_error(VwChip chip) {
  return chips[chip].error;
}

/* Circuit */

VwAstable
vw_timer_parts(const VwTimerWish* wish, const VwTimer* timer) {
  const double trimmed = timer->fixed_ohm + timer->set_ohm;
  return (VwAstable){.wiring = timer->wiring,
                     .ra_ohm = timer->trims_ra ? trimmed : timer->plain_ohm,
                     .rb_ohm = timer->trims_ra ? timer->plain_ohm : trimmed,
                     .c_farad = timer->c_farad,
                     .supply_v = wish->supply_v,
                     .diode = wish->diode,
                     .celsius = VW_ROOM_C};
}

static VwAstableTimes
times_at(const VwTimerWish* wish, const VwTimer* timer, const Corner* corner) {
  VwAstable parts = vw_timer_parts(wish, timer);
  parts.ra_ohm *= timer->trims_ra ? corner->trimmed : corner->plain;
  parts.rb_ohm *= timer->trims_ra ? corner->plain : corner->trimmed;
  parts.c_farad *= corner->capacitor;
  parts.supply_v *= corner->supply;
  parts.diode.drop_v += corner->drop_v;
  parts.celsius = corner->celsius;
  VwAstableTimes times = vw_astable_times(&parts);
  times.high_ms *= corner->chip;
  times.first_high_ms *= corner->chip;
  times.low_ms *= corner->chip;
  times.period_ms *= corner->chip;
  times.rate_hz /= corner->chip;
  return times;
}

static double
on_ms_of(const VwTimer* timer, const VwAstableTimes* times) {
  return timer->lit_while_low ? times->low_ms : times->high_ms;
}

/// The trimmed resistance, as a whole, for which the period is the one wanted,
/// or 0 where there is none.
static double
trimmed_for_period(const VwTimerWish* wish,
                   const VwTimer*     timer,
                   const Corner*      corner) {
  const double period_ms = 1000.0 / wish->rate_hz;
  // RB discharges, and without a diode it charges too.
  const bool   once = timer->wiring == VW_WIRING_DIODE || timer->trims_ra;
  const double s_per_ohm =
    (once ? VW_LN2 : 2.0 * VW_LN2) * timer->c_farad * corner->capacitor;
  VwTimer at = *timer;
  at.fixed_ohm = 0.0;
  at.set_ohm = period_ms / 2000.0 / timer->c_farad;
  for (int i = 0; i < STEPS_MOST; ++i) {
    const VwAstableTimes times = times_at(wish, &at, corner);
    const double step = (period_ms - times.period_ms) / 1000.0 / s_per_ohm;
    if (fabs(step) < 1e-7 * at.set_ohm) {
      break;
    }
    at.set_ohm += step;
    if (at.set_ohm < 1.0) {
      return 0.0;
    }
  }
  return at.set_ohm;
}

/// With a diode: the RA with which the time high is the on-time.
static double
ra_for_on_time(const VwTimerWish* wish, const VwTimer* timer) {
  const double period_ms = 1000.0 / wish->rate_hz;
  VwTimer      at = *timer;
  double       factor = 0.0;
  at.set_ohm = (period_ms - wish->on_ms) / 1000.0 / VW_LN2 / timer->c_farad;
  at.plain_ohm = wish->on_ms / 1000.0 / timer->c_farad;
  for (int i = 0; i < STEPS_MOST && fabs(factor - 1.0) > 1e-6; ++i) {
    factor = wish->on_ms / times_at(wish, &at, &nominal).high_ms;
    at.plain_ohm *= factor;
  }
  return at.plain_ohm;
}

/// What the resistor without a trimmer would be, if any value could be had.
static double
plain_for_on_time(const VwTimerWish* wish, const VwTimer* timer) {
  const double ohm_per_ms = 1.0 / (1000.0 * VW_LN2 * timer->c_farad);
  const double on = wish->on_ms * ohm_per_ms;
  const double all = 1000.0 / wish->rate_hz * ohm_per_ms;
  if (timer->wiring == VW_WIRING_DIODE) {
    return ra_for_on_time(wish, timer);
  }
  if (timer->trims_ra) {
    return on; // RB
  }
  return fmax(timer->lit_while_low ? all - 2.0 * on : 2.0 * on - all,
              OHM_LEAST); // RA
}

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

/// Everything at one end of its tolerance: -1 for the shorter times, or 1. A
/// diode that drops more charges slower, and so does a lower supply behind one.
static Corner
corner_at(const VwTimer* timer, double sign) {
  const double resistor = 1.0 + sign * timer->resistor_tolerance;
  return (Corner){.capacitor = 1.0 + sign * timer->capacitor_tolerance,
                  .plain = resistor,
                  .trimmed = resistor,
                  .chip = 1.0 + sign * chips[timer->chip].error,
                  .supply = 1.0 - sign * VW_SUPPLY_TOLERANCE,
                  .drop_v = sign * VW_DIODE_TOLERANCE_V,
                  .celsius = VW_ROOM_C};
}

/// Fixed resistor and trimmer with which every corner can be set.
static VwStatus
choose_trimmer(const VwTimerWish* wish, VwTimer* timer) {
  const double tolerance = timer->resistor_tolerance;
  Corner       few = corner_at(timer, 1.0);
  Corner       many = corner_at(timer, -1.0);
  few.trimmed = 1.0; // what is looked for is what it has, not what it says
  many.trimmed = 1.0;
  const double least = trimmed_for_period(wish, timer, &few);
  const double most = trimmed_for_period(wish, timer, &many);
  if (least < OHM_LEAST * (1.0 + tolerance)) {
    return VW_CAPACITORS_BIG;
  }
  timer->fixed_ohm = vw_e_series_down(wish->series, least / (1.0 + tolerance));
  timer->trimmer_ohm =
    trimmer_up((most - timer->fixed_ohm * (1.0 - tolerance)) /
               (1.0 - wish->trimmer_tolerance));
  if (timer->trimmer_ohm <= 0.0 ||
      timer->fixed_ohm + timer->trimmer_ohm > OHM_MOST) {
    return VW_CAPACITORS_SMALL;
  }
  const double both = timer->plain_ohm + timer->fixed_ohm + timer->trimmer_ohm;
  return both <= OHM_MOST_PER_V * wish->supply_v ? VW_OK : VW_CAPACITORS_SMALL;
}

/* What it does */

/// The times with the trimmer turned to so many ohms.
static VwAstableTimes
times_turned(const VwTimerWish* wish,
             const VwTimer*     timer,
             double             set_ohm,
             const Corner*      corner) {
  VwTimer turned = *timer;
  turned.set_ohm = set_ohm;
  return times_at(wish, &turned, corner);
}

/// Widen both spreads to take in the times at a corner.
static void
take_in(VwSpread*             rate_hz,
        VwSpread*             on_ms,
        const VwTimer*        timer,
        const VwAstableTimes* times) {
  const double on = on_ms_of(timer, times);
  rate_hz->least = fmin(rate_hz->least, times->rate_hz);
  rate_hz->most = fmax(rate_hz->most, times->rate_hz);
  on_ms->least = fmin(on_ms->least, on);
  on_ms->most = fmax(on_ms->most, on);
}

static void
spread_over_tolerance(const VwTimerWish* wish, VwTimer* timer) {
  for (double sign = -1.0; sign <= 1.0; sign += 2.0) {
    Corner corner = corner_at(timer, sign);
    // Of what is trimmed, each part has its own tolerance.
    corner.trimmed = 1.0 + sign *
                             (timer->resistor_tolerance * timer->fixed_ohm +
                              wish->trimmer_tolerance * timer->set_ohm) /
                             (timer->fixed_ohm + timer->set_ohm);
    const VwAstableTimes times = times_at(wish, timer, &corner);
    take_in(&timer->rate_hz, &timer->on_ms, timer, &times);
  }
}

/// What the trimmer reaches whatever the tolerances: from its upper end where
/// all is low to its lower end where all is high.
static void
find_sure_range(const VwTimerWish* wish, VwTimer* timer) {
  const double fixed = timer->fixed_ohm * (1.0 - timer->resistor_tolerance);
  const double whole = timer->trimmer_ohm * (1.0 - wish->trimmer_tolerance);
  const Corner few = corner_at(timer, 1.0);
  Corner       many = corner_at(timer, -1.0);
  many.trimmed = (fixed + whole) / (timer->fixed_ohm + timer->trimmer_ohm);
  timer->rate_sure_hz = (VwSpread){
    .least = times_turned(wish, timer, timer->trimmer_ohm, &many).rate_hz,
    .middle = wish->rate_hz,
    .most = times_turned(wish, timer, 0.0, &few).rate_hz};
}

static void
spread_over_temperature(const VwTimerWish* wish, VwTimer* timer) {
  static const double at_c[] = {COOL_C, WARM_C};
  for (int i = 0; i < 4; ++i) {
    Corner       corner = nominal;
    const double drift =
      chips[timer->chip].drift_per_k * fabs(at_c[i / 2] - VW_ROOM_C);
    corner.celsius = at_c[i / 2];
    corner.chip = 1.0 + (i % 2 ? drift : -drift);
    const VwAstableTimes times = times_at(wish, timer, &corner);
    take_in(&timer->rate_warm_hz, &timer->on_warm_ms, timer, &times);
  }
}

static VwSpread
spread_about(double middle) {
  return (VwSpread){middle, middle, middle};
}

/// Set the trimmer, and find what comes of that.
static void
find_times(const VwTimerWish* wish, VwTimer* timer) {
  timer->set_ohm = trimmed_for_period(wish, timer, &nominal) - timer->fixed_ohm;
  timer->set_share = timer->set_ohm / timer->trimmer_ohm;
  const VwAstableTimes times = times_at(wish, timer, &nominal);
  timer->rate_hz = spread_about(times.rate_hz);
  timer->on_ms = spread_about(on_ms_of(timer, &times));
  timer->rate_warm_hz = timer->rate_hz;
  timer->on_warm_ms = timer->on_ms;
  timer->rate_range_hz = (VwSpread){
    .least = times_turned(wish, timer, timer->trimmer_ohm, &nominal).rate_hz,
    .middle = times.rate_hz,
    .most = times_turned(wish, timer, 0.0, &nominal).rate_hz};
}

/* Search */

/// What speaks against a circuit: first of all a wrong on-time, by its ratio.
static double
cost_of(const VwTimerWish* wish, const VwTimer* timer) {
  const double off = fabs(log(timer->on_ms.middle / wish->on_ms));
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
try_plain(Search* search, VwTimer timer, double plain_ohm) {
  const VwTimerWish* const wish = search->wish;
  timer.plain_ohm = plain_ohm;
  timer.textbook_on_ms = 1000.0 * VW_LN2 * plain_ohm * timer.c_farad;
  const VwStatus st = plain_ohm < OHM_LEAST  ? VW_CAPACITORS_BIG
                      : plain_ohm > OHM_MOST ? VW_CAPACITORS_SMALL
                                             : choose_trimmer(wish, &timer);
  if (st) {
    note_failure(search, st);
    return;
  }
  find_times(wish, &timer);
  const double cost = cost_of(wish, &timer);
  if (cost < search->best_cost) {
    spread_over_tolerance(wish, &timer);
    spread_over_temperature(wish, &timer);
    find_sure_range(wish, &timer);
    search->best_cost = cost;
    search->best = timer;
  }
}

/// Try a capacitor with the resistors next to those that would be exact.
static void
try_capacitor(Search* search, VwTimer timer, double c_farad) {
  const VwTimerWish* const wish = search->wish;
  const double             usual =
    c_farad <= FILM_MOST_FARAD ? FILM_TOLERANCE : ELECTROLYTIC_TOLERANCE;
  timer.c_farad = c_farad;
  timer.capacitor_tolerance =
    isfinite(wish->capacitor_tolerance) ? wish->capacitor_tolerance : usual;
  const double wanted = plain_for_on_time(wish, &timer);
  const double down = vw_e_series_down(wish->series, wanted);
  const double up = vw_e_series_up(wish->series, wanted);
  try_plain(search, timer, down);
  if (up > down) {
    try_plain(search, timer, up);
  }
}

/// Try all capacitors with a plan, where it can serve.
static void
try_plan(Search* search, size_t plan) {
  const VwTimerWish* const wish = search->wish;
  const bool               below = wish->on_ms * wish->rate_hz / 1000.0 <= 0.5;
  const VwTimer            timer = {.wiring = plans[plan].wiring,
                                    .chip = wish->chip,
                                    .lit_while_low = plans[plan].lit_while_low,
                                    .trims_ra = plans[plan].trims_ra,
                                    .resistor_tolerance =
                           isfinite(wish->resistor_tolerance)
                                        ? wish->resistor_tolerance
                                        : vw_e_series_tolerance(wish->series)};
  const bool               serves =
    timer.wiring == wish->wiring &&
    (timer.wiring == VW_WIRING_DIODE || timer.lit_while_low == below);
  for (size_t i = 0; serves && i < wish->n_capacitors; ++i) {
    try_capacitor(search, timer, wish->capacitors_farad[i]);
  }
}

static VwStatus
check_supply(const VwTimerWish* wish) {
  // At the end of charging a third of the supply is left for diode and RA.
  const bool blocked = wish->wiring == VW_WIRING_DIODE &&
                       wish->supply_v / 3.0 <= wish->diode.drop_v;
  return wish->supply_v < chips[wish->chip].least_v || blocked ? VW_SUPPLY_LOW
         : wish->supply_v > chips[wish->chip].most_v           ? VW_SUPPLY_HIGH
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
  Search search = {.wish = wish, .best_cost = DBL_MAX};
  for (size_t plan = 0; plan < N_PLANS; ++plan) {
    try_plan(&search, plan);
  }
  if (search.best_cost == DBL_MAX) {
    return search.why_not;
  }
  *timer = search.best;
  return VW_OK;
}
